//! How places become spots on the paper, and what is drawn at them.

use super::surface::{Heights, Surface, between};
use super::{DEPTH, LEFT, PLANE, REACH, WIDTH};
use crate::report::draw::chart::fitting;
use crate::report::draw::drawing::{Anchor, Drawing, Fill, Ink, Spot, Voice, width_of};
use crate::report::draw::profiles::{LONGEST_NAME, Seen, cut};
use crate::report::draw::ticks::round_down;
use crate::report::text::turning::signed_degrees;
use crate::survey::units::short_number;
use crate::survey::{LengthUnit, Side};

/// The floor under the front way, from the top.
const FLOOR: f64 = 278.0;
/// Most ties between the ways.
const MOST_TIES: usize = 24;
/// Half the width of a foot.
const PAD: f64 = 6.0;

/// How places become spots on the paper.
pub(super) struct View {
    /// Units of paper per metre along the bed.
    pub along: f64,
    /// Units of paper per metre of height.
    pub up: f64,
    /// Distance between the ways, m.
    pub spacing: f64,
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

    pub fn floor(&self, drawing: &mut Drawing, length: f64) {
        drawing.area(self.outline(length, FLOOR), Ink::Faint, Fill::Pale);
    }

    pub fn plane(&self, drawing: &mut Drawing, length: f64) {
        drawing.area(self.outline(length, PLANE), Ink::Faint, Fill::Nothing);
    }

    /// A height that is easy to compare with.
    pub fn scale(&self, drawing: &mut Drawing, units: LengthUnit) {
        let unit = units.length();
        let shown = round_down(unit.from_si(REACH / self.up));
        let length = unit.to_si(shown) * self.up;
        let (x, bottom) = (24.0, PLANE);
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

    pub fn way(&self, drawing: &mut Drawing, heights: &Heights, side: Side) {
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

    pub fn before(&self, drawing: &mut Drawing, before: &Surface) {
        for (heights, side) in [(&before.rear, Side::Rear), (&before.front, Side::Front)] {
            if heights.len() > 1 {
                drawing.path(self.spots(heights, side), Ink::Before);
            }
        }
    }

    /// Lines from way to way, where both are known.
    pub fn ties(&self, drawing: &mut Drawing, surface: &Surface) {
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

    pub fn feet(&self, drawing: &mut Drawing, seen: &Seen, turned: Option<&[f64]>, side: Side) {
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
                format!("{name} {}", signed_degrees(quarters))
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
            fitting(places, (0.0, WIDTH), 5.0)
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
