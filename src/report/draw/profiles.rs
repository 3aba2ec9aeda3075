//! Charts of the bed: the cross slope and both ways along it.

use super::axis::Axis;
use super::chart::{Chart, Mark, Meaning, Point, Row, Trace, Under};
use crate::geometry::{BedShape, CrossSlope, Way};
use crate::plan::{ExpectedShape, Moved};
use crate::report::text::{Scale, place};
use crate::survey::{LengthUnit, Side, Survey};

/// Round numbers along the bed.
const MOST_PLACES: usize = 7;
/// Round numbers upwards.
const MOST_FIGURES: usize = 5;
/// Letters of a foot's name that are drawn.
pub(super) const LONGEST_NAME: usize = 8;

/// What is drawn of a bed.
#[derive(Debug, Clone, Copy)]
pub struct Seen<'a> {
    /// The survey.
    pub survey: &'a Survey,
    /// The unit of what is drawn.
    pub units: LengthUnit,
    /// What the readings show.
    pub shape: &'a BedShape,
    /// What they showed before.
    pub before: Option<&'a BedShape>,
    /// What the turns should leave.
    pub expected: Option<&'a ExpectedShape>,
}

impl Seen<'_> {
    /// Every chart that the readings allow: cross slope, front way, rear way.
    pub fn charts(&self) -> Vec<Chart> {
        let ways = [Side::Front, Side::Rear].into_iter();
        self.cross()
            .into_iter()
            .chain(ways.filter_map(|side| self.way(side)))
            .collect()
    }

    /// The cross slope along the bed.
    pub fn cross(&self) -> Option<Chart> {
        let slopes = &self.shape.cross;
        if slopes.len() < 2 {
            return None;
        }
        let unit = self.units.slope();
        let point =
            |slope: &CrossSlope| self.point(slope.at, slope.slope, slope.u95, |m| unit.from_si(m));
        let mut traces = Vec::new();
        if let Some(before) = self.before.filter(|before| before.cross.len() > 1) {
            let points = before.cross.iter().map(point).collect();
            traces.push(trace(Meaning::Before, Mark::Round, points));
        }
        if let Some(expected) = self.expected.filter(|expected| expected.cross.len() > 1) {
            let points = self.moved(&expected.cross, |m| unit.from_si(m));
            traces.push(trace(Meaning::Expected, Mark::Round, points));
        }
        let points: Vec<Point> = slopes.iter().map(point).collect();
        // A range may lie anywhere: its limits are drawn about the middle of what they are held against.
        let limits = self.survey.limits.twist.map_or_else(Vec::new, |limit| {
            around_middle(&points, unit.from_si(limit))
        });
        traces.push(trace(Meaning::Read, Mark::Round, points));
        let least = match self.units {
            LengthUnit::Millimetre => 0.01,
            LengthUnit::Inch => 0.0001,
        };
        let highest = |sign: f64| {
            slopes.iter().reduce(|a, b| {
                if sign * b.slope > sign * a.slope {
                    b
                } else {
                    a
                }
            })
        };
        let (front, rear) = (highest(1.0)?, highest(-1.0)?);
        let scale = Scale::slopes(self.units, slopes.iter().map(|s| s.u95).fold(0.0, f64::max));
        let description = format!(
            "Cross slope at {} places from {} to {}. It is {} {} at {} and {} {} at {}; front high is positive.{}{}",
            slopes.len(),
            place(slopes[0].at, self.units),
            place(slopes[slopes.len() - 1].at, self.units),
            scale.signed(front.slope),
            scale.unit(),
            place(front.at, self.units),
            scale.signed(rear.slope),
            scale.unit(),
            place(rear.at, self.units),
            self.survey
                .limits
                .twist
                .map_or_else(String::new, |limit| format!(
                    " Two lines {} apart show what the limit of the twist allows.",
                    scale.limit(limit)
                )),
            self.others(),
        );
        Some(Chart {
            name: "cross",
            title: "Cross slope along the bed".into(),
            description: description.replace('\u{a0}', " "),
            across: self.along(),
            up: upwards(
                format!("{}, front high is +", unit.name()),
                &traces,
                &limits,
                least,
            ),
            limits,
            traces,
            banded: true,
            rows: self.feet(),
        })
    }

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
            if b.off_line.abs() > a.off_line.abs() {
                b
            } else {
                a
            }
        })?;
        let description = format!(
            "{word} way at {} places from {} to {}, as departures from its line. The largest is {} {} at {}; above \
             the line is positive.{}{}{}",
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

    /// A figure at a place, in the units that are drawn.
    fn point(&self, at: f64, value: f64, u95: f64, shown: impl Fn(f64) -> f64) -> Point {
        Point {
            x: self.units.length().from_si(at),
            y: shown(value),
            low: shown(value - u95),
            high: shown(value + u95),
        }
    }

    fn moved(&self, moved: &[Moved], shown: impl Fn(f64) -> f64) -> Vec<Point> {
        moved
            .iter()
            .map(|moved| self.point(moved.at, moved.value, 0.0, &shown))
            .collect()
    }

    /// The axis along the bed.
    fn along(&self) -> Axis {
        let unit = self.units.length();
        let length = unit.from_si(self.survey.bed.length);
        let name = format!("{} from the headstock end", unit.name());
        Axis::between(name, 0.0, length, MOST_PLACES)
    }

    fn feet(&self) -> Vec<Row> {
        feet(self.survey, self.units)
    }

    fn others(&self) -> &'static str {
        match (self.before.is_some(), self.expected.is_some()) {
            (true, true) => {
                " A dashed line shows what was there before, a dotted one what the turns should leave."
            }
            (true, false) => " A dashed line shows what was there before.",
            (false, true) => " A dotted line shows what the turns should leave.",
            (false, false) => "",
        }
    }
}

/// The feet of each side, in order along the bed.
fn feet(survey: &Survey, units: LengthUnit) -> Vec<Row> {
    [(Side::Front, "front feet"), (Side::Rear, "rear feet")]
        .into_iter()
        .map(|(side, name)| {
            let mut words: Vec<Under> = survey
                .feet
                .iter()
                .filter(|foot| foot.side == side)
                .map(|foot| Under {
                    x: units.length().from_si(foot.at),
                    words: cut(&foot.name, LONGEST_NAME),
                })
                .collect();
            words.sort_by(|a, b| a.x.total_cmp(&b.x));
            Row {
                name,
                marked: true,
                words,
            }
        })
        .filter(|row| !row.words.is_empty())
        .collect()
}

/// At most this many letters of a name, none of them able to steer a screen or the direction of writing.
pub fn cut(name: &str, most: usize) -> String {
    let steers = |letter: char| {
        letter.is_control()
            || matches!(letter, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    let mut letters = name.chars().filter(|letter| !steers(*letter));
    let kept: String = letters.by_ref().take(most).collect();
    if letters.next().is_none() {
        return kept;
    }
    let shorter: String = kept.chars().take(most.saturating_sub(1)).collect();
    shorter + "…"
}

fn way_of(shape: &BedShape, side: Side) -> Option<&Way> {
    match side {
        Side::Front => shape.front.as_ref(),
        Side::Rear => shape.rear.as_ref(),
    }
}

fn trace(meaning: Meaning, mark: Mark, points: Vec<Point>) -> Trace {
    Trace {
        meaning,
        mark,
        name: meaning.word(),
        points,
    }
}

/// The limits of a range, about the middle of these points.
fn around_middle(points: &[Point], range: f64) -> Vec<f64> {
    let low = points.iter().map(|p| p.y).fold(f64::INFINITY, f64::min);
    let high = points.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max);
    let middle = f64::midpoint(low, high);
    vec![middle - range / 2.0, middle + range / 2.0]
}

/// An axis that holds all lines with their bands, the limits, and nothing itself.
fn upwards(name: String, traces: &[Trace], limits: &[f64], least: f64) -> Axis {
    let numbers = traces
        .iter()
        .flat_map(|trace| trace.points.iter())
        .flat_map(|point| [point.low, point.high])
        .chain(limits.iter().copied());
    let (low, high) = numbers.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), number| {
        (low.min(number), high.max(number))
    });
    // Zero is part of the picture unless everything lies far from it, as with an unknown zero error.
    let far = low > high - low || -high > high - low;
    let zero = (!far).then_some(0.0);
    Axis::around(
        name,
        [low, high].into_iter().chain(zero),
        least,
        MOST_FIGURES,
    )
}

#[cfg(test)]
mod tests {
    use super::cut;

    #[test]
    fn long_names_are_cut_and_steer_nothing() {
        assert_eq!(cut("F1", 8), "F1");
        assert_eq!(cut("left rear corner", 8), "left re…");
        assert_eq!(cut("\u{202e}1F\u{1b}[31m", 8), "1F[31m");
    }
}
