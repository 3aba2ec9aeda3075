//! The bed seen from the front and above, its heights much too large.

use super::drawing::{Anchor, Drawing, Fill, Ink, Spot, Voice, width_of};
use super::profiles::{LONGEST_NAME, Seen, cut};
use super::ticks::round_down;
use crate::geometry::{BedShape, Way};
use crate::report::text::turning::short_turn;
use crate::survey::units::short_number;
use crate::survey::{LengthUnit, Side};

/// Width of the paper.
const WIDTH: f64 = 480.0;
/// Height of the paper.
const HEIGHT: f64 = 322.0;
/// Room on the left for the scale.
const LEFT: f64 = 66.0;
/// How far the rear lies to the right of the front and above it.
const DEPTH: Spot = (44.0, 56.0);
/// The line of nothing of the front way, from the top.
const PLANE: f64 = 158.0;
/// How far heights reach from their line of nothing at most.
const REACH: f64 = 50.0;
/// The floor under the front way, from the top.
const FLOOR: f64 = 278.0;
/// Most ties between the ways.
const MOST_TIES: usize = 24;
/// Half the width of a foot.
const PAD: f64 = 6.0;

/// A way as places and heights, m.
type Heights = Vec<(f64, f64)>;

/// Heights of the front and of the rear way, those that are known.
#[derive(Debug, Clone, PartialEq, Default)]
struct Surface {
    front: Heights,
    rear: Heights,
    /// Whether only the twist is known and crown or sag are left out.
    twist_only: bool,
}

impl Surface {
    /// Heights of both ways; where only cross slopes are known, the twist alone, the middle of the bed left straight.
    fn of(shape: &BedShape, way_spacing: f64) -> Self {
        let heights = |way: &Option<Way>| -> Heights {
            way.iter()
                .flat_map(|way| way.points.iter())
                .map(|point| (point.at, point.height))
                .collect()
        };
        let (front, rear) = (heights(&shape.front), heights(&shape.rear));
        if !front.is_empty() || !rear.is_empty() || shape.cross.len() < 2 {
            return Self {
                front,
                rear,
                twist_only: false,
            };
        }
        let count = shape.cross.len() as f64;
        let mean = shape.cross.iter().map(|cross| cross.slope).sum::<f64>() / count;
        let half = |sign: f64| {
            shape
                .cross
                .iter()
                .map(|cross| (cross.at, sign * (cross.slope - mean) * way_spacing / 2.0))
                .collect()
        };
        Self {
            front: half(1.0),
            rear: half(-1.0),
            twist_only: true,
        }
    }

    fn largest(&self) -> f64 {
        self.front
            .iter()
            .chain(&self.rear)
            .map(|(_, height)| height.abs())
            .fold(0.0, f64::max)
    }
}

/// The bed with its feet; `turned` is what was or is to be turned, quarter-turns by foot.
pub fn bed(seen: &Seen, turned: Option<&[f64]>) -> Option<Drawing> {
    let survey = seen.survey;
    let spacing = survey.bed.way_spacing;
    let surface = Surface::of(seen.shape, spacing);
    if surface.front.len() + surface.rear.len() < 2 {
        return None;
    }
    let before = seen.before.map(|before| Surface::of(before, spacing));
    let largest = before
        .as_ref()
        .map_or(0.0, Surface::largest)
        .max(surface.largest());
    let along = (WIDTH - LEFT - DEPTH.0 - 2.0) / survey.bed.length;
    let most = REACH / largest.max(1e-9) / along;
    let times = round_down(most);
    let view = View {
        along,
        up: times * along,
        spacing,
    };
    let count = short_number(times, 0);
    let what = if surface.twist_only {
        "Only the twist is known; crown or sag are left out."
    } else {
        "Both ways above and below the plane that fits them best."
    };
    let description = format!(
        "The bed from the front and above, the headstock end on the left. {what} Heights are drawn {count} times too \
         large.{}{}",
        if before.is_some() {
            " Dashed lines show what was there before."
        } else {
            ""
        },
        feet_in_words(seen, turned),
    );
    let mut drawing = Drawing::new("bed", "The bed, exaggerated", description, (WIDTH, HEIGHT));
    drawing.words(
        (0.0, 31.0),
        Anchor::Start,
        Voice::Faint,
        format!("heights drawn {count} times too large"),
    );
    legend(&mut drawing, &surface, before.is_some());
    view.floor(&mut drawing, survey.bed.length);
    view.scale(&mut drawing, seen.units);
    view.plane(&mut drawing, survey.bed.length);
    view.feet(&mut drawing, seen, turned, Side::Rear);
    view.way(&mut drawing, &surface.rear, Side::Rear);
    if let Some(before) = &before {
        view.before(&mut drawing, before);
    }
    view.ties(&mut drawing, &surface);
    view.feet(&mut drawing, seen, turned, Side::Front);
    view.way(&mut drawing, &surface.front, Side::Front);
    drawing.words(
        (LEFT - 8.0, HEIGHT - 2.0),
        Anchor::Start,
        Voice::Faint,
        "headstock end",
    );
    drawing.words(
        (WIDTH - DEPTH.0, HEIGHT - 2.0),
        Anchor::End,
        Voice::Faint,
        "tailstock end",
    );
    Some(drawing)
}

/// The feet that move, for who cannot see them.
fn feet_in_words(seen: &Seen, turned: Option<&[f64]>) -> String {
    let Some(turned) = turned else {
        return String::new();
    };
    let moved: Vec<String> = seen
        .survey
        .feet
        .iter()
        .zip(turned)
        .filter(|(_, quarters)| **quarters != 0.0)
        .map(|(foot, quarters)| {
            format!(
                "{} {}",
                cut(&foot.name, LONGEST_NAME),
                short_turn(*quarters)
            )
        })
        .collect();
    if moved.is_empty() {
        " No foot is turned.".to_owned()
    } else {
        format!(
            " Quarter-turns at the feet, + raises: {}.",
            moved.join(", ")
        )
    }
    .replace('\u{a0}', " ")
}

fn legend(drawing: &mut Drawing, surface: &Surface, before: bool) {
    let mut right = WIDTH;
    let known = [
        (before, "before", Ink::Before),
        (!surface.rear.is_empty(), "rear way", Ink::Rear),
        (!surface.front.is_empty(), "front way", Ink::Front),
    ];
    for (_, word, ink) in known.into_iter().filter(|(known, ..)| *known) {
        drawing.words((right, 47.0), Anchor::End, Voice::Faint, word);
        right -= width_of(word) + 4.0;
        drawing.line((right - 22.0, 43.0), (right, 43.0), ink);
        right -= 36.0;
    }
}

/// How places become spots on the paper.
struct View {
    /// Units of paper per metre along the bed.
    along: f64,
    /// Units of paper per metre of height.
    up: f64,
    /// Distance between the ways, m.
    spacing: f64,
}

impl View {
    /// A place along and across (m, front positive) at a height (m) above a line given for the front way.
    fn spot(&self, at: f64, across: f64, height: f64, line: f64) -> Spot {
        let depth = 0.5 - across / self.spacing;
        (
            LEFT + at * self.along + depth * DEPTH.0,
            line - depth * DEPTH.1 - height * self.up,
        )
    }

    fn across(&self, side: Side) -> f64 {
        match side {
            Side::Front => self.spacing / 2.0,
            Side::Rear => -self.spacing / 2.0,
        }
    }

    fn outline(&self, length: f64, line: f64) -> Vec<Spot> {
        let (front, rear) = (self.across(Side::Front), self.across(Side::Rear));
        vec![
            self.spot(0.0, front, 0.0, line),
            self.spot(length, front, 0.0, line),
            self.spot(length, rear, 0.0, line),
            self.spot(0.0, rear, 0.0, line),
        ]
    }

    fn floor(&self, drawing: &mut Drawing, length: f64) {
        drawing.area(self.outline(length, FLOOR), Ink::Faint, Fill::Pale);
    }

    fn plane(&self, drawing: &mut Drawing, length: f64) {
        drawing.area(self.outline(length, PLANE), Ink::Faint, Fill::Nothing);
    }

    /// A height that is easy to compare with.
    fn scale(&self, drawing: &mut Drawing, units: LengthUnit) {
        let unit = units.length();
        let shown = round_down(unit.from_si(REACH / self.up));
        let length = unit.to_si(shown) * self.up;
        let (x, bottom) = (28.0, PLANE);
        drawing.line((x, bottom), (x, bottom - length), Ink::Line);
        for y in [bottom, bottom - length] {
            drawing.line((x - 4.0, y), (x + 4.0, y), Ink::Line);
        }
        let number = short_number(shown, 9);
        drawing.words((x, bottom + 14.0), Anchor::Middle, Voice::Plain, number);
        drawing.words(
            (x, bottom + 28.0),
            Anchor::Middle,
            Voice::Plain,
            unit.name(),
        );
    }

    fn spots(&self, heights: &Heights, side: Side) -> Vec<Spot> {
        heights
            .iter()
            .map(|(at, height)| self.spot(*at, self.across(side), *height, PLANE))
            .collect()
    }

    fn way(&self, drawing: &mut Drawing, heights: &Heights, side: Side) {
        let (Some((first, _)), Some((last, _))) = (heights.first(), heights.last()) else {
            return;
        };
        let ink = match side {
            Side::Front => Ink::Front,
            Side::Rear => Ink::Rear,
        };
        let spots = self.spots(heights, side);
        let mut shade = spots.clone();
        shade.extend([*last, *first].map(|at| self.spot(at, self.across(side), 0.0, PLANE)));
        drawing.area(shade, ink, Fill::Pale);
        drawing.path(spots, ink);
    }

    fn before(&self, drawing: &mut Drawing, before: &Surface) {
        for (heights, side) in [(&before.rear, Side::Rear), (&before.front, Side::Front)] {
            if heights.len() > 1 {
                drawing.path(self.spots(heights, side), Ink::Before);
            }
        }
    }

    /// Lines from way to way, where both are known.
    fn ties(&self, drawing: &mut Drawing, surface: &Surface) {
        let every = surface.front.len().div_ceil(MOST_TIES).max(1);
        for (at, front) in surface.front.iter().step_by(every) {
            if let Some(rear) = between(&surface.rear, *at) {
                drawing.line(
                    self.spot(*at, self.across(Side::Front), *front, PLANE),
                    self.spot(*at, self.across(Side::Rear), rear, PLANE),
                    Ink::Zero,
                );
            }
        }
    }

    fn feet(&self, drawing: &mut Drawing, seen: &Seen, turned: Option<&[f64]>, side: Side) {
        let mut feet: Vec<usize> = (0..seen.survey.feet.len())
            .filter(|foot| seen.survey.feet[*foot].side == side)
            .collect();
        feet.sort_by(|a, b| seen.survey.feet[*a].at.total_cmp(&seen.survey.feet[*b].at));
        let mut words = Vec::new();
        for &index in &feet {
            let foot = &seen.survey.feet[index];
            let quarters = turned
                .and_then(|turned| turned.get(index))
                .copied()
                .unwrap_or(0.0);
            let floor = self.spot(foot.at, foot.across, 0.0, FLOOR);
            let top = self.spot(foot.at, foot.across, 0.0, PLANE);
            let moves = quarters != 0.0;
            let ink = if moves { Ink::Turn } else { Ink::Faint };
            drawing.line((floor.0, floor.1 - 8.0), top, Ink::Faint);
            let corners = [
                (-PAD, 0.0),
                (PAD, 0.0),
                (PAD * 0.5, -8.0),
                (-PAD * 0.5, -8.0),
            ];
            let pad = corners.map(|(x, y)| (floor.0 + x, floor.1 + y)).to_vec();
            drawing.area(pad, ink, if moves { Fill::Solid } else { Fill::Paper });
            if moves {
                arrow(drawing, (floor.0, floor.1 - 13.0), quarters > 0.0);
            }
            let name = cut(&foot.name, LONGEST_NAME);
            let full = if moves {
                format!("{name} {}", short_turn(quarters))
            } else {
                name.clone()
            };
            words.push((floor, name, full));
        }
        let places = |pick: fn(&(Spot, String, String)) -> &String| {
            let places: Vec<(f64, f64)> = words
                .iter()
                .map(|word| (word.0.0, width_of(pick(word))))
                .collect();
            super::chart::fitting(places, (0.0, WIDTH), 5.0)
        };
        // The turns if they all fit, else the names alone, as many as fit.
        let full = places(|word| &word.2);
        let (placed, turns) = if full.len() == words.len() {
            (full, true)
        } else {
            (places(|word| &word.1), false)
        };
        for (index, start) in placed {
            let (spot, name, with_turn) = &words[index];
            let word = if turns { with_turn } else { name };
            let middle = start + width_of(word) / 2.0;
            drawing.words(
                (middle, spot.1 + 14.0),
                Anchor::Middle,
                Voice::Plain,
                word.clone(),
            );
        }
    }
}

/// An arrow above a foot, up or down.
fn arrow(drawing: &mut Drawing, (x, bottom): Spot, up: bool) {
    let top = bottom - 18.0;
    let (tail, head, back) = if up {
        (bottom, top, 6.0)
    } else {
        (top, bottom, -6.0)
    };
    drawing.line((x, tail), (x, head), Ink::Turn);
    drawing.path(
        vec![(x - 4.0, head + back), (x, head), (x + 4.0, head + back)],
        Ink::Turn,
    );
}

/// The height of a way at a place between two of its own.
fn between(heights: &Heights, at: f64) -> Option<f64> {
    heights.windows(2).find_map(|pair| {
        let [(from, low), (to, high)] = pair else {
            return None;
        };
        let inside = (*from - 1e-9..=*to + 1e-9).contains(&at) && to > from;
        inside.then(|| low + (high - low) * (at - from) / (to - from))
    })
}
