//! Charts of the bed: the cross slope and both ways along it.

mod cross;
mod way;

use super::axis::Axis;
use super::chart::{Chart, Limit, Mark, Meaning, Point, Row, Trace, Under};
use crate::geometry::{BedShape, Way};
use crate::plan::{ExpectedShape, Moved};
use crate::survey::{LengthUnit, Side, Survey, seen};

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
    let mut letters = name.chars().map(seen);
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

/// The limits of a range, about the middle of these figures.
fn around_middle(figures: impl Iterator<Item = f64>, range: f64) -> [f64; 2] {
    let (low, high) = ends(figures);
    let middle = f64::midpoint(low, high);
    [middle - range / 2.0, middle + range / 2.0]
}

/// The lowest and the highest of these numbers.
fn ends(numbers: impl Iterator<Item = f64>) -> (f64, f64) {
    numbers.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), number| {
        (low.min(number), high.max(number))
    })
}

/// An axis that holds all lines with their bands, the limits, and nothing itself.
fn upwards(name: String, traces: &[Trace], limits: &[Limit], least: f64) -> Axis {
    let numbers = traces
        .iter()
        .flat_map(|trace| trace.points.iter())
        .flat_map(|point| [point.low, point.high])
        .chain(limits.iter().flat_map(Limit::figures));
    let (low, high) = ends(numbers);
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
        assert_eq!(cut("\u{202e}1F\u{1b}[31m", 8), "\u{fffd}1F\u{fffd}[31m");
    }
}
