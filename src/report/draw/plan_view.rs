//! The feet from above, with the way every screw goes round.

use std::f64::consts::TAU;

use super::drawing::{Anchor, Drawing, Fill, Ink, Spot, Voice};
use super::profiles::cut;
use crate::plan::{Action, CardLine};
use crate::report::text::place;
use crate::report::text::turning::{short_turn, turn};
use crate::report::words::way_of_turn;
use crate::survey::{LengthUnit, Side, Survey};

/// Width of the paper.
const WIDTH: f64 = 420.0;
/// Room above for the title and what the signs mean.
const ABOVE: f64 = 40.0;
/// Room on the left for the names of the sides.
const LEFT: f64 = 38.0;
/// Places next to each other; a longer bed goes on below.
const PLACES_IN_A_ROW: usize = 4;
/// Places keep this distance.
const APART: f64 = 84.0;
/// Height of one row of places.
const ROW: f64 = 236.0;
/// Middles of the feet of the rear and of the front in a row, from its top.
const MIDDLES: [f64; 2] = [54.0, 160.0];
/// Radius of a foot.
const FOOT: f64 = 17.0;
/// Radius of the arc where it starts.
const ARC: f64 = 23.0;
/// What a whole turn adds to it.
const SPIRAL: f64 = 4.0;
/// Length of the arrow at its end.
const HEAD: f64 = 9.0;
/// More turns than this are only written.
const MOST_TURNS: f64 = 3.0;
/// Letters of a name that fit into a foot.
const LETTERS: usize = 4;
/// Feet nearer to each other along the bed than this stand at one place, m.
const SAME_PLACE: f64 = 0.02;

/// What is to be done with a foot, all its lines of the card together.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Order {
    action: Action,
    quarter_turns: f64,
}

/// Every foot from above: raised, lowered, brought up to bear or left alone.
pub fn plan_view(survey: &Survey, lines: &[CardLine], units: LengthUnit) -> Drawing {
    let orders = orders(survey, lines);
    let places = places(survey);
    // As many in each row as in the others.
    let count = places.len().div_ceil(PLACES_IN_A_ROW).max(1);
    let in_a_row = places.len().div_ceil(count).max(1);
    let rows: Vec<&[Vec<usize>]> = places.chunks(in_a_row).collect();
    let height = ABOVE + ROW * rows.len() as f64;
    let mut drawing = Drawing::new(
        "plan",
        "The feet from above",
        in_words(survey, &orders),
        (WIDTH, height),
    );
    drawing.words(
        (0.0, 31.0),
        Anchor::Start,
        Voice::Faint,
        "quarter-turns, and degrees of the screw; the headstock end is on the left",
    );
    for (k, row) in rows.iter().enumerate() {
        let top = ABOVE + ROW * k as f64;
        bed(&mut drawing, top, k > 0, k + 1 < rows.len());
        let at: Vec<f64> = row.iter().map(|feet| survey.feet[feet[0]].at).collect();
        for (x, feet) in spread(&at).into_iter().zip(*row) {
            let words = place(survey.feet[feet[0]].at, units);
            drawing.words((x, top + 14.0), Anchor::Middle, Voice::Faint, words);
            for &foot in feet {
                one_foot(&mut drawing, survey, foot, orders[foot], (x, top));
            }
        }
    }
    drawing
}

/// The sum of every foot's lines.
fn orders(survey: &Survey, lines: &[CardLine]) -> Vec<Order> {
    let leave = Order {
        action: Action::Leave,
        quarter_turns: 0.0,
    };
    let mut orders = vec![leave; survey.feet.len()];
    for line in lines {
        let Some(order) = orders.get_mut(line.foot) else {
            continue;
        };
        order.quarter_turns += line.quarter_turns;
        if order.action == Action::Leave {
            order.action = line.action;
        }
    }
    orders
}

/// The feet at each place along the bed.
fn places(survey: &Survey) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..survey.feet.len()).collect();
    order.sort_by(|a, b| survey.feet[*a].at.total_cmp(&survey.feet[*b].at));
    let mut places: Vec<Vec<usize>> = Vec::new();
    for foot in order {
        let here = &survey.feet[foot];
        match places.last_mut() {
            Some(feet)
                if here.at - survey.feet[feet[0]].at < SAME_PLACE
                    && feet
                        .iter()
                        .all(|other| survey.feet[*other].side != here.side) =>
            {
                feet.push(foot);
            }
            _ => places.push(vec![foot]),
        }
    }
    places
}

/// Where places stand on the paper: to scale where that leaves room for the words, else pushed apart.
fn spread(at: &[f64]) -> Vec<f64> {
    let (low, high) = (LEFT + APART / 2.0, WIDTH - APART / 2.0);
    let (Some(first), Some(last)) = (at.first(), at.last()) else {
        return Vec::new();
    };
    let span = last - first;
    let mut x: Vec<f64> = at
        .iter()
        .map(|at| {
            if span > 0.0 {
                low + (high - low) * (at - first) / span
            } else {
                f64::midpoint(low, high)
            }
        })
        .collect();
    for k in 1..x.len() {
        x[k] = x[k].max(x[k - 1] + APART);
    }
    // What was pushed beyond the end goes back, and pushes what is before it.
    let mut limit = high;
    for spot in x.iter_mut().rev() {
        *spot = spot.min(limit);
        limit = *spot - APART;
    }
    x
}

fn bed(drawing: &mut Drawing, top: f64, goes_back: bool, goes_on: bool) {
    let (left, right) = (LEFT - 4.0, WIDTH - 2.0);
    let (rear, front) = (top + MIDDLES[0], top + MIDDLES[1]);
    drawing.line((left, rear), (right, rear), Ink::Faint);
    drawing.line((left, front), (right, front), Ink::Faint);
    for (x, open) in [(left, goes_back), (right, goes_on)] {
        if !open {
            drawing.line((x, rear), (x, front), Ink::Faint);
        }
    }
    for (y, side) in [(rear, "rear"), (front, "front")] {
        drawing.words((0.0, y + 4.0), Anchor::Start, Voice::Faint, side);
    }
}

fn one_foot(drawing: &mut Drawing, survey: &Survey, foot: usize, order: Order, (x, top): Spot) {
    let foot = &survey.feet[foot];
    let middle = match foot.side {
        Side::Rear => (x, top + MIDDLES[0]),
        Side::Front => (x, top + MIDDLES[1]),
    };
    let (ink, voice) = match order.action {
        Action::Leave => (Ink::Faint, Voice::Faint),
        Action::Seat | Action::Raise | Action::Lower => (Ink::Line, Voice::Strong),
    };
    drawing.circle(middle, FOOT, ink, Fill::Paper);
    let name = cut(&foot.name, LETTERS);
    drawing.words((middle.0, middle.1 + 4.0), Anchor::Middle, voice, name);
    let (word, amount) = match order.action {
        Action::Leave => ("do not touch", None),
        Action::Seat => ("up to bear", None),
        Action::Raise => ("raise", Some(order.quarter_turns)),
        Action::Lower => ("lower", Some(order.quarter_turns)),
    };
    if let (Some(quarters), Some(way)) = (amount, way_of_turn(foot, order.quarter_turns)) {
        arc(drawing, middle, quarters.abs(), way == "clockwise");
    }
    let below = middle.1 + 46.0;
    drawing.words((x, below), Anchor::Middle, Voice::Plain, word);
    if let Some(quarters) = amount {
        let number = short_turn(quarters.abs());
        let number = number.trim_start_matches('+').to_owned();
        drawing.words((x, below + 14.0), Anchor::Middle, Voice::Strong, number);
    }
}

/// The way the screw goes round, from twelve o'clock on, with an arrow at its end.
fn arc(drawing: &mut Drawing, middle: Spot, quarters: f64, clockwise: bool) {
    /// Straight pieces in a whole turn.
    const PIECES: f64 = 48.0;
    let turns = (quarters / 4.0).min(MOST_TURNS);
    let sign = if clockwise { 1.0 } else { -1.0 };
    let spot = |turn: f64, out: f64| {
        let angle = sign * turn * TAU;
        let radius = ARC + SPIRAL * turn + out;
        (
            middle.0 + radius * angle.sin(),
            middle.1 - radius * angle.cos(),
        )
    };
    let pieces = (turns * PIECES).ceil().max(1.0);
    let mut spots = vec![spot(0.0, 0.0)];
    let mut piece = 1.0;
    while piece <= pieces {
        spots.push(spot(turns * piece / pieces, 0.0));
        piece += 1.0;
    }
    drawing.path(spots, Ink::Turn);
    drawing.line(spot(0.0, -5.0), spot(0.0, 8.0), Ink::Turn);
    // The arrow's tip is the end of the turn; of a short turn the arrow reaches back past the mark where it starts, so
    // that a turn of a few degrees is seen too.
    let length = HEAD / (TAU * (ARC + SPIRAL * turns));
    let half = HEAD / 2.0;
    let back = turns - length;
    let corners = vec![spot(turns, 0.0), spot(back, half), spot(back, -half)];
    drawing.area(corners, Ink::Turn, Fill::Solid);
}

/// What is to be done, for who cannot see it.
fn in_words(survey: &Survey, orders: &[Order]) -> String {
    let orders: Vec<String> = survey
        .feet
        .iter()
        .zip(orders)
        .map(|(foot, order)| {
            let name = cut(&foot.name, 8);
            match order.action {
                Action::Leave => format!("do not touch {name}"),
                Action::Seat => format!("bring {name} up to bear"),
                Action::Raise | Action::Lower => {
                    let way = way_of_turn(foot, order.quarter_turns).unwrap_or_default();
                    let verb = if order.action == Action::Raise {
                        "raise"
                    } else {
                        "lower"
                    };
                    let turn = turn(order.quarter_turns);
                    format!("{verb} {name} {turn} {way}")
                }
            }
        })
        .collect();
    format!(
        "The feet from above, the headstock end on the left, the front below: {}.",
        orders.join("; ")
    )
    .replace('\u{a0}', " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_keep_their_distance_and_stay_on_the_paper() {
        for at in [
            vec![0.1],
            vec![0.1, 0.9, 1.8, 2.7],
            vec![0.1, 0.15, 0.2, 0.25, 2.7],
            vec![0.1, 2.5, 2.55, 2.6, 2.7],
        ] {
            let x = spread(&at);
            assert!(
                x.windows(2).all(|pair| pair[1] - pair[0] > APART - 1e-9),
                "{x:?}"
            );
            assert!(
                x[0] >= LEFT && x[x.len() - 1] <= WIDTH - APART / 2.0 + 1e-9,
                "{x:?}"
            );
        }
    }
}
