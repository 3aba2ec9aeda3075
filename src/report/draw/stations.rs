//! Where the level goes: the bed from above with its stations, and how a bubble is written down.

use super::chart::fitting;
use super::drawing::{Anchor, Drawing, Fill, Ink, Spot, Voice, width_of};
use crate::report::text::place;
use crate::survey::{LengthUnit, Line, Survey};

/// Width of the paper.
const WIDTH: f64 = 420.0;
/// The ends of the bed on the paper.
const ENDS: (f64, f64) = (26.0, 394.0);
/// The rear and the front way, from the top.
const WAYS: (f64, f64) = (92.0, 164.0);
/// Half the width of a level.
const LEVEL: f64 = 5.0;

/// The places of one line, in the order in which they are read, m.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// The line.
    pub line: Line,
    /// The places in walking order.
    pub at: Vec<f64>,
    /// Whether some of them are read a second time with the level turned end for end.
    pub turned: bool,
}

/// The bed from above, where the level goes and which letter is which side.
pub fn stations(survey: &Survey, legs: &[Leg], base: Option<f64>, units: LengthUnit) -> Drawing {
    let told: Vec<String> = legs
        .iter()
        .filter(|leg| !leg.at.is_empty())
        .map(|leg| {
            format!(
                "{}, {} readings from {} to {}",
                name(leg.line),
                leg.at.len(),
                place(leg.at[0], units),
                place(leg.at[leg.at.len() - 1], units)
            )
        })
        .collect();
    let description = format!(
        "The bed from above. H is the headstock end on the left, T the tailstock end, F the front below, R the rear. \
         The level is read {}.",
        told.join("; then ")
    );
    let mut drawing = Drawing::new(
        "stations",
        "Where the level goes",
        description.replace('\u{a0}', " "),
        (WIDTH, 236.0),
    );
    let length = survey.bed.length;
    let x = |at: f64| ENDS.0 + (ENDS.1 - ENDS.0) * at / length;
    for (y, side) in [(WAYS.0, Ink::Rear), (WAYS.1, Ink::Front)] {
        drawing.line((ENDS.0, y), (ENDS.1, y), side);
    }
    for end in [ENDS.0, ENDS.1] {
        drawing.line((end, WAYS.0 - 8.0), (end, WAYS.1 + 8.0), Ink::Line);
    }
    let middle = f64::midpoint(WAYS.0, WAYS.1);
    drawing.words((8.0, middle + 4.0), Anchor::Middle, Voice::Strong, "H");
    drawing.words((412.0, middle + 4.0), Anchor::Middle, Voice::Strong, "T");
    for leg in legs {
        one_leg(&mut drawing, leg, base, length, x);
    }
    drawing.words((0.0, 50.0), Anchor::Start, Voice::Strong, "R");
    drawing.words(
        (16.0, 50.0),
        Anchor::Start,
        Voice::Plain,
        "rear, the far side",
    );
    drawing.words((0.0, 229.0), Anchor::Start, Voice::Strong, "F");
    drawing.words(
        (16.0, 229.0),
        Anchor::Start,
        Voice::Plain,
        "front, the operator's side",
    );
    drawing
}

fn one_leg(
    drawing: &mut Drawing,
    leg: &Leg,
    base: Option<f64>,
    length: f64,
    x: impl Fn(f64) -> f64,
) {
    let (Some(first), Some(last)) = (leg.at.first(), leg.at.last()) else {
        return;
    };
    let middle = f64::midpoint(WAYS.0, WAYS.1);
    // The ticks of the line, where its numbers stand, and the arrow of the walk.
    let (tick, numbers, arrow) = match leg.line {
        Line::Cross => ((middle - 6.0, middle + 6.0), None, middle + 16.0),
        Line::Front => (
            (WAYS.1 - 5.0, WAYS.1 + 5.0),
            Some(WAYS.1 + 20.0),
            WAYS.1 + 32.0,
        ),
        Line::Rear => (
            (WAYS.0 - 5.0, WAYS.0 + 5.0),
            Some(WAYS.0 - 10.0),
            WAYS.0 - 26.0,
        ),
    };
    for at in &leg.at {
        drawing.line((x(*at), tick.0), (x(*at), tick.1), Ink::Zero);
    }
    let y = numbers.unwrap_or(middle - 10.0);
    let mut order: Vec<(f64, usize)> = leg.at.iter().copied().zip(1..).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let places: Vec<(f64, f64)> = order
        .iter()
        .map(|(at, number)| (x(*at), width_of(&number.to_string())))
        .collect();
    for (index, start) in fitting(places, (ENDS.0 + 2.0, ENDS.1 - 2.0), 5.0) {
        let number = order[index].1.to_string();
        let spot = (start + width_of(&number) / 2.0, y);
        drawing.words(spot, Anchor::Middle, Voice::Faint, number);
    }
    // The level at the first place of the walk.
    let here = x(*first);
    let level = match leg.line {
        Line::Cross => (here - LEVEL, WAYS.0 - 4.0, here + LEVEL, WAYS.1 + 4.0),
        Line::Front | Line::Rear => {
            let half = (x(base.unwrap_or(length / 20.0)) - x(0.0)) / 2.0;
            let way = if leg.line == Line::Front {
                WAYS.1
            } else {
                WAYS.0
            };
            (here - half, way - LEVEL, here + half, way + LEVEL)
        }
    };
    let (left, top, right, bottom) = level;
    let corners = vec![(left, top), (right, top), (right, bottom), (left, bottom)];
    drawing.area(corners.clone(), Ink::Limit, Fill::Pale);
    drawing.area(corners, Ink::Zero, Fill::Nothing);
    let (from, to) = (x(*first), x(*last));
    if (to - from).abs() > 40.0 {
        walk_arrow(drawing, (from, arrow), (to, arrow));
    }
}

fn walk_arrow(drawing: &mut Drawing, from: Spot, to: Spot) {
    drawing.line(from, to, Ink::Faint);
    let back = if to.0 > from.0 { -7.0 } else { 7.0 };
    let corners = vec![to, (to.0 + back, to.1 - 3.5), (to.0 + back, to.1 + 3.5)];
    drawing.area(corners, Ink::Zero, Fill::Solid);
}

/// What a line is called on the way round the machine.
pub fn name(line: Line) -> &'static str {
    match line {
        Line::Cross => "across both ways",
        Line::Front => "along the front way",
        Line::Rear => "along the rear way",
    }
}

/// The outline of an ellipse.
fn ellipse(middle: Spot, radii: Spot) -> Vec<Spot> {
    const PIECES: u32 = 40;
    (0..PIECES)
        .map(|piece| {
            let angle = std::f64::consts::TAU * f64::from(piece) / f64::from(PIECES);
            (
                middle.0 + radii.0 * angle.cos(),
                middle.1 + radii.1 * angle.sin(),
            )
        })
        .collect()
}

/// A vial with its bubble one and a half divisions towards the high side.
pub fn bubble() -> Drawing {
    let mut drawing = Drawing::new(
        "bubble",
        "How to write a reading",
        "A vial from above. The end of the bubble towards the front has run one and a half divisions past the zero mark \
         there: the front is high, the reading is 1.5F. With both ends at their zero marks it is 0.",
        (WIDTH, 122.0),
    );
    let (left, right, top, bottom) = (90.0, 290.0, 42.0, 70.0);
    let corners = vec![(left, top), (right, top), (right, bottom), (left, bottom)];
    drawing.area(corners, Ink::Line, Fill::Paper);
    let (middle, division) = (190.0, 20.0);
    for k in 1..=4 {
        for sign in [-1.0, 1.0] {
            let x = middle + sign * division * f64::from(k);
            drawing.line((x, top), (x, bottom), Ink::Faint);
        }
    }
    // Each end of the bubble has its zero; on the high side they are counted from there.
    for (k, number) in (1..).zip(["0", "1", "2", "3"]) {
        let x = middle + division * f64::from(k);
        drawing.words((x, top - 5.0), Anchor::Middle, Voice::Faint, number);
    }
    drawing.words(
        (middle - division, top - 5.0),
        Anchor::Middle,
        Voice::Faint,
        "0",
    );
    let end = middle + 2.5 * division;
    drawing.line((end, top - 2.0), (end, bottom + 6.0), Ink::Turn);
    drawing.words(
        (end + 4.0, bottom + 14.0),
        Anchor::Start,
        Voice::Plain,
        "read this end",
    );
    // The bubble fills the two divisions in the middle when there is nothing to read.
    let spots = ellipse((middle + 1.5 * division, 56.0), (division, 8.5));
    drawing.area(spots.clone(), Ink::Limit, Fill::Pale);
    drawing.area(spots, Ink::Line, Fill::Nothing);
    drawing.words((left - 10.0, 60.0), Anchor::End, Voice::Plain, "rear side");
    drawing.words(
        (right + 10.0, 60.0),
        Anchor::Start,
        Voice::Plain,
        "front side, high",
    );
    drawing.words(
        (middle - division, 90.0),
        Anchor::Middle,
        Voice::Strong,
        "1.5F",
    );
    drawing.words(
        (0.0, 108.0),
        Anchor::Start,
        Voice::Faint,
        "the bubble runs to the high side: write the divisions and its letter",
    );
    drawing.words(
        (0.0, 121.0),
        Anchor::Start,
        Voice::Faint,
        "F or R across, H or T along; off the scale >10F; not taken -",
    );
    drawing
}
