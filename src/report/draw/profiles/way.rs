//! The chart of one way.

use super::{Seen, around_middle, trace, upwards, way_of};
use crate::geometry::Way;
use crate::geometry::particulars::crowned;
use crate::report::draw::chart::{Chart, Limit, Mark, Meaning, Point, Trace};
use crate::report::text::{Scale, place, words::form};
use crate::survey::{LengthUnit, Side};

/// Pieces in which a curve is drawn.
const PLACES_OF_A_CURVE: usize = 48;

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
        let all_limits: Vec<Limit> = self
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
            self.drawn_limits(&limits, &scale),
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

    /// A crown that is steered for; straightness is measured from it.
    fn chosen_crown(&self) -> Option<f64> {
        self.survey.aim.crown.filter(|crown| *crown != 0.0)
    }

    /// What the limits allow: the ends of the crown, and where a crown is chosen the band about it.
    fn way_limits(&self, way: &Way) -> Vec<Limit> {
        let unit = self.units.length();
        let limits = &self.survey.limits;
        let mut drawn = limits.crown.map_or_else(Vec::new, |ends| {
            Limit::levels(ends.map(|end| unit.from_si(end)))
        });
        match (limits.straightness, self.chosen_crown()) {
            (Some(range), Some(crown)) => drawn.extend(self.about_chosen(way, crown, range)),
            (Some(range), None) if limits.crown.is_none() => {
                let departures = way.points.iter().map(|p| unit.from_si(p.off_line));
                drawn = Limit::levels(around_middle(departures, unit.from_si(range)));
            }
            _ => {}
        }
        drawn
    }

    /// The band that a range of departures from the chosen crown allows, about the middle of what was read.
    fn about_chosen(&self, way: &Way, crown: f64, range: f64) -> Vec<Limit> {
        let unit = self.units.length();
        let [first, .., last] = way.points.as_slice() else {
            return Vec::new();
        };
        // The crown stands on the line through the outer places, whatever line the departures are from.
        let on_line = |at: f64| {
            let share = (at - first.at) / (last.at - first.at);
            first.off_line + share * (last.off_line - first.off_line)
        };
        let at: Vec<f64> = way.points.iter().map(|point| point.at).collect();
        let heights = crowned(&at, crown);
        let departures = way
            .points
            .iter()
            .zip(&heights)
            .map(|(point, height)| point.off_line - on_line(point.at) - height);
        let ends = around_middle(departures, range);
        let smooth: Vec<f64> = (0..=PLACES_OF_A_CURVE)
            .map(|k| first.at + (last.at - first.at) * k as f64 / PLACES_OF_A_CURVE as f64)
            .collect();
        let heights = crowned(&smooth, crown);
        ends.into_iter()
            .map(|end| {
                let places = smooth.iter().zip(&heights).map(|(at, height)| {
                    let figure = on_line(*at) + height + end;
                    (unit.from_si(*at), unit.from_si(figure))
                });
                Limit::Along(places.collect())
            })
            .collect()
    }

    /// What the lines of the limits show, in words.
    fn drawn_limits(&self, limits: &[Limit], scale: &Scale) -> String {
        let allowed = match limits {
            [Limit::Level(low), Limit::Level(high), ..] => format!(
                " Two lines at {low:.4} and {high:.4} {} show what the limits allow.",
                self.units.length().name()
            ),
            _ => String::new(),
        };
        let chosen = self.chosen_crown().map_or_else(String::new, |crown| {
            let crown = format!("{} of {}", form(crown), scale.limit(crown.abs()));
            match self.survey.limits.straightness {
                Some(range) => format!(
                    " A {crown} is chosen: two curves {} apart show how far the way may depart from it.",
                    scale.limit(range)
                ),
                None => format!(" A {crown} is chosen."),
            }
        });
        allowed + &chosen
    }
}
