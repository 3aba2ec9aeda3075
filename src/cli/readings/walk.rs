//! The way round the machine: which line after which, and from which end.

use std::str::FromStr;

use crate::geometry::layout::SAME_PLACE;
use crate::survey::edit::OpenList;
use crate::survey::{Line, Reading};

/// Follows the name of a line that is walked from the tailstock end.
const BACK: &str = "-back";

/// The lines in the order in which they are walked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::cli) struct Walk(pub(super) Vec<Leg>);

/// One line walked from end to end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Leg {
    /// The line.
    pub line: Line,
    /// Whether it is walked from the tailstock end to the headstock end.
    pub back: bool,
}

/// One reading to take on the walk.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    /// The line it belongs to.
    pub line: Line,
    /// Whether the level lies turned end for end.
    pub reversed: bool,
    /// Its index in the list in the file.
    pub index: usize,
    /// Middle of the level, m from the headstock end.
    pub at: f64,
    /// Whether it is walked from the tailstock end.
    pub back: bool,
}

impl Default for Walk {
    /// Across down the bed from the headstock end, back along the front, then along the rear.
    fn default() -> Self {
        let leg = |line, back| Leg { line, back };
        Self(vec![
            leg(Line::Cross, false),
            leg(Line::Front, true),
            leg(Line::Rear, false),
        ])
    }
}

impl FromStr for Walk {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let mut legs: Vec<Leg> = Vec::new();
        for word in text.split(',').map(str::trim) {
            let name = word.strip_suffix(BACK);
            let line = match name.unwrap_or(word) {
                "cross" => Line::Cross,
                "front" => Line::Front,
                "rear" => Line::Rear,
                _ => {
                    return Err(format!(
                        "`{word}` is none of cross, front, rear, or one of these with {BACK} for the way from the \
                         tailstock end"
                    ));
                }
            };
            if legs.iter().any(|leg| leg.line == line) {
                return Err(format!("`{}` is walked once", line.name()));
            }
            legs.push(Leg {
                line,
                back: name.is_some(),
            });
        }
        Ok(Self(legs))
    }
}

impl Walk {
    /// As it is typed.
    pub fn name(&self) -> String {
        let legs: Vec<String> = self
            .0
            .iter()
            .map(|leg| format!("{}{}", leg.line.name(), if leg.back { BACK } else { "" }))
            .collect();
        legs.join(",")
    }

    /// The same walk over these lines only.
    pub(super) fn over(mut self, lines: impl Fn(Line) -> bool) -> Self {
        self.0.retain(|leg| lines(leg.line));
        self
    }

    /// The walk that a half-typed pass was begun with, as far as it shows: its lists stand in the order of the
    /// walk, and a list that is filled from its end was walked from the tailstock end.
    pub fn of_lists(lists: &[OpenList]) -> Self {
        let usual = Self::default();
        let mut legs: Vec<Leg> = Vec::new();
        for list in lists.iter().filter(|list| !list.reversed) {
            let first_open = list.open.first().copied().unwrap_or(false);
            let last_open = list.open.last().copied().unwrap_or(false);
            let back = match (first_open, last_open) {
                (true, false) => true,
                (false, true) => false,
                _ => usual.0.iter().any(|leg| leg.line == list.line && leg.back),
            };
            legs.push(Leg {
                line: list.line,
                back,
            });
        }
        Self(legs)
    }

    /// The readings of a pass in the order of the walk; where the level is turned end for end too, that comes
    /// right after the plain reading, and a place that is there twice is read again on the way back.
    pub(super) fn steps(&self, readings: &[Reading]) -> Vec<Step> {
        let mut steps = Vec::new();
        for leg in &self.0 {
            let mut of_leg: Vec<(usize, Step)> = Vec::new();
            for reversed in [false, true] {
                let list = readings
                    .iter()
                    .filter(|r| r.line == leg.line && r.reversed == reversed);
                for (index, reading) in list.enumerate() {
                    let is_there = |(_, step): &&(usize, Step)| {
                        step.reversed == reversed && (step.at - reading.at).abs() < SAME_PLACE
                    };
                    let time = of_leg.iter().filter(is_there).count();
                    of_leg.push((
                        time,
                        Step {
                            line: leg.line,
                            reversed,
                            index,
                            at: reading.at,
                            back: leg.back != (time % 2 == 1),
                        },
                    ));
                }
            }
            of_leg.sort_by(|(time, a), (other, b)| {
                let along = if a.back {
                    b.at.total_cmp(&a.at)
                } else {
                    a.at.total_cmp(&b.at)
                };
                let on_the_way = time.cmp(other).then(along);
                on_the_way.then(a.reversed.cmp(&b.reversed))
            });
            steps.extend(of_leg.into_iter().map(|(_, step)| step));
        }
        steps
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::Entry;

    #[test]
    fn the_usual_walk_goes_round_the_machine() {
        let reading = |line, reversed, at| Reading {
            line,
            reversed,
            at,
            entry: Entry::Missing,
        };
        let readings = [
            reading(Line::Cross, false, 0.2),
            reading(Line::Cross, false, 0.4),
            reading(Line::Cross, true, 0.2),
            reading(Line::Cross, true, 0.4),
            reading(Line::Front, false, 0.2),
            reading(Line::Front, false, 0.4),
            reading(Line::Rear, false, 0.4),
            reading(Line::Rear, false, 0.2),
        ];
        let steps = Walk::default().steps(&readings);
        let walked: Vec<(&str, bool, f64, usize)> = steps
            .iter()
            .map(|step| (step.line.name(), step.reversed, step.at, step.index))
            .collect();
        assert_eq!(
            walked,
            [
                ("cross", false, 0.2, 0),
                ("cross", true, 0.2, 0),
                ("cross", false, 0.4, 1),
                ("cross", true, 0.4, 1),
                ("front", false, 0.4, 1),
                ("front", false, 0.2, 0),
                ("rear", false, 0.2, 1),
                ("rear", false, 0.4, 0),
            ]
        );
    }

    #[test]
    fn a_place_that_is_there_twice_is_read_again_on_the_way_back() {
        let readings = [0.2, 0.4, 0.9, 0.9, 0.2].map(|at| Reading {
            line: Line::Cross,
            reversed: false,
            at,
            entry: Entry::Missing,
        });
        for (walk, expected) in [("cross", [0, 1, 2, 3, 4]), ("cross-back", [2, 1, 0, 4, 3])] {
            let steps = walk.parse::<Walk>().unwrap().steps(&readings);
            let walked: Vec<usize> = steps.iter().map(|step| step.index).collect();
            assert_eq!(walked, expected, "{walk}");
            let back = walk == "cross-back";
            let ways: Vec<bool> = steps.iter().map(|step| step.back).collect();
            assert_eq!(ways, [back, back, back, !back, !back], "{walk}");
        }
    }

    #[test]
    fn a_walk_is_named_as_it_is_typed() {
        for name in ["cross,front-back,rear", "rear-back", "front,cross"] {
            assert_eq!(name.parse::<Walk>().unwrap().name(), name);
        }
        assert_eq!(Walk::default().name(), "cross,front-back,rear");
        for wrong in ["", "across", "front,front-back", "cross;rear"] {
            assert!(wrong.parse::<Walk>().is_err(), "{wrong}");
        }
    }

    #[test]
    fn a_half_typed_pass_shows_its_walk() {
        let list = |line, open: &[bool]| OpenList {
            line,
            reversed: false,
            open: open.to_vec(),
        };
        let lists = [
            list(Line::Rear, &[false, false]),
            list(Line::Cross, &[true, false]),
            list(Line::Front, &[true, true]),
        ];
        assert_eq!(Walk::of_lists(&lists).name(), "rear,cross-back,front-back");
    }
}
