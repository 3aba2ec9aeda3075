//! The chart of the cross slope.

use super::{Seen, around_middle, ends, trace, upwards};
use crate::geometry::CrossSlope;
use crate::plan::Moved;
use crate::report::draw::chart::{Chart, Limit, Mark, Meaning, Point, Trace};
use crate::report::text::{Scale, place};
use crate::survey::LengthUnit;

/// Slopes nearer to each other than this are as high: the first is told, whatever the rounding, m/m.
const SAME: f64 = 1e-9;

impl Seen<'_> {
    /// The cross slope along the bed. Where it is compared with another, each is drawn about its own middle: a twist
    /// is a range, and beds that lean differently are not twisted for that.
    pub fn cross(&self) -> Option<Chart> {
        let slopes = &self.shape.cross;
        if slopes.len() < 2 {
            return None;
        }
        let unit = self.units.slope();
        let traces = self.cross_traces();
        // A range may lie anywhere: its limits are drawn about the middle of what they are held against.
        let read = traces.last().map_or(&[][..], |trace| &trace.points);
        let limits = self.survey.limits.twist.map_or_else(Vec::new, |limit| {
            let read = read.iter().map(|point| point.y);
            Limit::levels(around_middle(read, unit.from_si(limit)))
        });
        let least = match self.units {
            LengthUnit::Millimetre => 0.01,
            LengthUnit::Inch => 0.0001,
        };
        let title = match (self.chosen_twist().is_some(), self.compared()) {
            (true, _) => "Cross slope less the chosen twist",
            (false, true) => "Cross slope about its middle",
            (false, false) => "Cross slope along the bed",
        };
        let name = format!("{}, front high is +", unit.name());
        Some(Chart {
            name: "cross",
            title: title.to_owned(),
            description: self.cross_in_words(slopes)?,
            across: self.along(),
            up: upwards(name, &traces, &limits, least),
            limits,
            traces,
            banded: true,
            rows: self.feet(),
        })
    }

    /// A twist that is steered for; the limits are about it.
    fn chosen_twist(&self) -> Option<f64> {
        self.survey.aim.twist.filter(|twist| *twist != 0.0)
    }

    /// What the chosen twist gives at a place, from the middle of the bed, m/m.
    fn chosen(&self, at: f64) -> f64 {
        let length = self.survey.bed.length;
        self.chosen_twist()
            .map_or(0.0, |twist| twist * (at - length / 2.0) / length)
    }

    fn compared(&self) -> bool {
        self.before.is_some() || self.expected.is_some()
    }

    /// All lines, what was read last.
    fn cross_traces(&self) -> Vec<Trace> {
        let unit = self.units.slope();
        let middle = |slopes: &mut dyn Iterator<Item = f64>| {
            let (low, high) = ends(slopes);
            if self.compared() {
                f64::midpoint(low, high)
            } else {
                0.0
            }
        };
        let points = |slopes: &[CrossSlope]| -> Vec<Point> {
            let beside = |slope: &CrossSlope| slope.slope - self.chosen(slope.at);
            let middle = middle(&mut slopes.iter().map(beside));
            slopes
                .iter()
                .map(|slope| {
                    let departure = beside(slope) - middle;
                    self.point(slope.at, departure, slope.u95, |m| unit.from_si(m))
                })
                .collect()
        };
        let mut traces = Vec::new();
        if let Some(before) = self.before.filter(|before| before.cross.len() > 1) {
            traces.push(trace(Meaning::Before, Mark::Round, points(&before.cross)));
        }
        if let Some(expected) = self.expected.filter(|expected| expected.cross.len() > 1) {
            let moved: Vec<Moved> = expected
                .cross
                .iter()
                .map(|moved| Moved {
                    value: moved.value - self.chosen(moved.at),
                    ..*moved
                })
                .collect();
            let middle = middle(&mut moved.iter().map(|moved| moved.value));
            let points = self.moved(&moved, |m| unit.from_si(m - middle));
            traces.push(trace(Meaning::Expected, Mark::Round, points));
        }
        traces.push(trace(Meaning::Read, Mark::Round, points(&self.shape.cross)));
        traces
    }

    fn cross_in_words(&self, slopes: &[CrossSlope]) -> Option<String> {
        let highest = |sign: f64| {
            slopes.iter().reduce(|a, b| {
                if sign * b.slope > sign * a.slope + SAME {
                    b
                } else {
                    a
                }
            })
        };
        let (first, last) = (slopes.first()?, slopes.last()?);
        let (front, rear) = (highest(1.0)?, highest(-1.0)?);
        let scale = Scale::slopes(self.units, slopes.iter().map(|s| s.u95).fold(0.0, f64::max));
        let limit = self.survey.limits.twist.map_or_else(String::new, |limit| {
            format!(
                " Two lines {} apart show what the limit of the twist allows.",
                scale.limit(limit)
            )
        });
        let chosen = self.chosen_twist().map_or_else(String::new, |twist| {
            format!(
                " A twist of {} over the bed is chosen and taken off what is drawn.",
                scale.limit(twist)
            )
        });
        // No line can show what holds wherever a metre is laid.
        let over_a_metre = self
            .survey
            .limits
            .twist_per_metre
            .map_or_else(String::new, |limit| {
                format!(" Over any metre {} is allowed.", scale.limit(limit))
            });
        let words = format!(
            "Cross slope at {} places from {} to {}. It is {} {unit} at {} and {} {unit} at {}; front high is \
             positive.{chosen}{limit}{over_a_metre}{}",
            slopes.len(),
            place(first.at, self.units),
            place(last.at, self.units),
            scale.signed(front.slope),
            place(front.at, self.units),
            scale.signed(rear.slope),
            place(rear.at, self.units),
            self.others(),
            unit = scale.unit(),
        );
        Some(words.replace('\u{a0}', " "))
    }
}
