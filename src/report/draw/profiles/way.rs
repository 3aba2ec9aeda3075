//! The chart of one way.

use super::{Seen, around_middle, trace, upwards, way_of};
use crate::geometry::Way;
use crate::report::draw::chart::{Chart, Mark, Meaning, Point, Trace};
use crate::report::text::{Scale, place};
use crate::survey::{LengthUnit, Side};

/// Departures nearer to each other than this are as large: the first is told, whatever the rounding, m.
const SAME: f64 = 1e-9;

impl Seen<'_> {
    /// One way, its departures from its line. Both ways are drawn to the same scale.
    pub fn way(&self, side: Side) -> Option<Chart> {
        let way = way_of(self.shape, side).filter(|way| way.points.len() > 2)?;
        let traces = self.traces_of(side);
        let limits = self.way_limits(way);
        // The scale of both.
        let all: Vec<Trace> = [Side::Front, Side::Rear]
            .into_iter()
            .flat_map(|side| self.traces_of(side))
            .collect();
        let all_limits: Vec<f64> = self
            .shape
            .ways()
            .flat_map(|way| self.way_limits(way))
            .collect();
        let (name, word) = match side {
            Side::Front => ("front", "Front"),
            Side::Rear => ("rear", "Rear"),
        };
        let least = match self.units {
            LengthUnit::Millimetre => 0.002,
            LengthUnit::Inch => 0.0001,
        };
        let scale = Scale::lengths(
            self.units,
            way.points
                .iter()
                .map(|p| p.off_line_u95)
                .fold(0.0, f64::max),
        );
        let farthest = way.points.iter().reduce(|a, b| {
            if b.off_line.abs() > a.off_line.abs() + SAME {
                b
            } else {
                a
            }
        })?;
        let description = format!(
            "{word} way at {} places from {} to {}, as departures from its line. The largest is {} {} at {}; above \
             the line is positive.{}{}{}{}",
            way.points.len(),
            place(way.points[0].at, self.units),
            place(way.points[way.points.len() - 1].at, self.units),
            scale.signed(farthest.off_line),
            scale.unit(),
            place(farthest.at, self.units),
            match limits.as_slice() {
                [low, high] => format!(
                    " Two lines at {low:.4} and {high:.4} {} show what the limits allow.",
                    self.units.length().name()
                ),
                _ => String::new(),
            },
            self.undrawn_limits(&scale),
            if way.through_other {
                " It is known through the other way and the cross readings."
            } else {
                ""
            },
            self.others(),
        );
        Some(Chart {
            name,
            title: format!("{word} way off its line"),
            description: description.replace('\u{a0}', " "),
            across: self.along(),
            up: upwards(
                format!("{}, crown is +", self.units.length().name()),
                &all,
                &all_limits,
                least,
            ),
            limits,
            traces,
            banded: true,
            rows: self.feet(),
        })
    }

    fn traces_of(&self, side: Side) -> Vec<Trace> {
        let unit = self.units.length();
        let mark = match side {
            Side::Front => Mark::Round,
            Side::Rear => Mark::Square,
        };
        let points = |way: &Way| -> Vec<Point> {
            way.points
                .iter()
                .map(|p| self.point(p.at, p.off_line, p.off_line_u95, |m| unit.from_si(m)))
                .collect()
        };
        let mut traces = Vec::new();
        if let Some(way) = self.before.and_then(|before| way_of(before, side)) {
            traces.push(trace(Meaning::Before, mark, points(way)));
        }
        if let Some(expected) = self.expected {
            let moved = match side {
                Side::Front => &expected.front,
                Side::Rear => &expected.rear,
            };
            if moved.len() > 2 {
                let points = self.moved(moved, |m| unit.from_si(m));
                traces.push(trace(Meaning::Expected, mark, points));
            }
        }
        if let Some(way) = way_of(self.shape, side).filter(|way| way.points.len() > 2) {
            traces.push(trace(Meaning::Read, mark, points(way)));
        }
        traces
    }

    /// Limits that no line can show: they hold wherever a part is laid.
    fn undrawn_limits(&self, scale: &Scale) -> String {
        let limits = &self.survey.limits;
        let local = limits.local.iter().map(|local| {
            let over = place(local.over, self.units);
            format!(" Over any {over} {} is allowed.", scale.limit(local.height))
        });
        let convex = limits
            .convex_only
            .then(|| " Only convex is allowed.".to_owned());
        local.chain(convex).collect()
    }

    fn way_limits(&self, way: &Way) -> Vec<f64> {
        let unit = self.units.length();
        let limits = &self.survey.limits;
        match (limits.crown, limits.straightness) {
            (Some(ends), _) => ends.map(|end| unit.from_si(end)).to_vec(),
            (None, Some(range)) => {
                let points: Vec<Point> = way
                    .points
                    .iter()
                    .map(|p| self.point(p.at, p.off_line, 0.0, |m| unit.from_si(m)))
                    .collect();
                around_middle(&points, unit.from_si(range))
            }
            (None, None) => Vec::new(),
        }
    }
}
