//! What a hand has done so far, and what is left to do.

use std::collections::{BTreeMap, BTreeSet};

use crate::cli::failure::{self, Failure};
use crate::cli::turned::{beyond_travel, both, typed};
use crate::plan::{Action, CardLine, Look, NoPlan, TurnPlan, midway, plan};
use crate::report::text::turning::{at_most, reading};
use crate::survey::{Entry, Foot, Line, Survey, parse_reading};

/// What is done and what is left of a round.
#[derive(Debug, Clone, Default)]
pub(super) struct Hand {
    /// Quarter-turns by foot that arrived at the bed, + raises; nought of a foot that was only handled.
    pub turned: BTreeMap<usize, f64>,
    /// Feet that are turned no more.
    pub stay: BTreeSet<usize>,
    /// Feet that hung and were seated.
    pub seated: BTreeSet<usize>,
    /// Lines of the card that are left.
    pub lines: Vec<CardLine>,
    /// Readings to go round that are left.
    pub looks: Vec<Look>,
    /// All of them.
    pub all_looks: Vec<Look>,
    /// How often they were gone round.
    pub times_round: usize,
    /// Whether one was off this time.
    pub goes_round_again: bool,
}

impl Hand {
    /// Of a round that was stopped after these turns. A foot that was handled and not turned is left as it is.
    pub fn after(turned: BTreeMap<usize, f64>) -> Self {
        let handled = turned.iter().filter(|(_, quarters)| **quarters == 0.0);
        let stay: BTreeSet<usize> = handled.map(|(foot, _)| *foot).collect();
        Self {
            seated: turned.keys().copied().collect(),
            stay,
            turned,
            ..Self::default()
        }
    }

    /// The same with what a plan leaves to do.
    pub fn with(self, plan: &TurnPlan) -> Self {
        let lines = plan.lines.iter();
        let lines = lines.filter(|line| line.action != Action::Leave);
        let looks = plan.looks.iter();
        let looks: Vec<Look> = looks
            .filter(|look| !self.stay.contains(&look.foot))
            .copied()
            .collect();
        Self {
            lines: lines.cloned().collect(),
            looks: looks.clone(),
            all_looks: looks,
            ..self
        }
    }

    /// What to do from where the bed stands now.
    pub fn plan(&self, survey: &Survey, index: usize) -> Result<TurnPlan, NoPlan> {
        if self.turned.is_empty() && self.stay.is_empty() {
            return plan(survey, index);
        }
        let mut now = midway(survey, index, &self.turned, &self.stay)?;
        now.passes[index]
            .hanging
            .retain(|foot| !self.seated.contains(foot));
        plan(&now, index)
    }

    /// Adds what was done at a foot.
    pub fn has_done(&mut self, foot: usize, quarter_turns: f64) {
        *self.turned.entry(foot).or_insert(0.0) += quarter_turns;
        self.seated.insert(foot);
    }

    /// What is written down when the round is done: feet that were not turned are not named.
    pub fn in_the_end(&self) -> BTreeMap<usize, f64> {
        self.turned
            .iter()
            .filter(|(foot, quarters)| **quarters != 0.0 || !self.stay.contains(foot))
            .map(|(foot, quarters)| (*foot, *quarters))
            .collect()
    }
}

/// What a person says of a foot that was turned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Seen {
    /// The level shows this now, divisions.
    Shows(f64),
    /// The screw was turned so far, quarter-turns.
    Turned(f64),
}

impl Seen {
    /// A reading nearer than this to what was foretold is as foretold, in parts of a division that can be read.
    pub const FORETOLD: f64 = 2.0;

    /// Understands what was typed at a line of the card: a reading of the level that is watched, or a turn.
    pub fn of(words: &str, line: &CardLine, range: Option<f64>) -> Result<Self, Failure> {
        let watched = line.watch.map(|watch| watch.line);
        Self::either(words, watched, line.quarter_turns, range)
    }

    /// The same at a reading that is gone round; a number alone is degrees.
    pub fn of_look(words: &str, look: &Look, range: Option<f64>) -> Result<Self, Failure> {
        Self::either(words, Some(look.line), 0.5, range)
    }

    fn either(
        words: &str,
        watched: Option<Line>,
        shown: f64,
        range: Option<f64>,
    ) -> Result<Self, Failure> {
        let letters = watched.map(Line::letters).unwrap_or_default();
        let ends_in_letter = words
            .chars()
            .last()
            .is_some_and(|last| letters.contains(&last.to_ascii_uppercase()));
        match watched {
            Some(watched) if ends_in_letter || words == "0" => {
                match parse_reading(words, watched, range) {
                    Ok(Entry::Read(seen)) if !seen.is_empty() => {
                        Ok(Self::Shows(seen.iter().sum::<f64>() / seen.len() as f64))
                    }
                    Ok(_) => Err(failure::not_understood(
                        "off the scale is no number",
                        "type how far the screw was turned, as in `15°`".to_owned(),
                    )),
                    Err(mistake) => Err(failure::not_understood(
                        mistake.title,
                        mistake.help.unwrap_or_default(),
                    )),
                }
            }
            _ => typed(words, shown).map(Self::Turned),
        }
    }

    /// What that was in turns, and whether it is what the card foretold; `part` is what can be read of a division.
    pub fn done(self, line: &CardLine, part: f64) -> Done {
        match (self, line.watch) {
            (Self::Shows(shows), Some(watch)) => {
                let share = (shows - watch.from) / (watch.to - watch.from);
                let foretold = (shows - watch.to).abs() < Self::FORETOLD * part;
                Done {
                    quarter_turns: if foretold {
                        line.quarter_turns
                    } else {
                        share * line.quarter_turns
                    },
                    foretold,
                    shows: Some((watch.line, shows)),
                }
            }
            (Self::Shows(_), None) => Done::as_planned(line),
            (Self::Turned(quarters), _) => Done {
                quarter_turns: quarters,
                foretold: (quarters - line.quarter_turns).abs() < HAND,
                shows: None,
            },
        }
    }
}

/// A count that differs by less from the card is as the card says, quarter-turns: two degrees.
const HAND: f64 = 2.0 / 90.0;

/// What was done at a foot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Done {
    /// Quarter-turns that arrived, + raises.
    pub quarter_turns: f64,
    /// Whether that is what the card foretold.
    pub foretold: bool,
    /// What the level shows, if that was said.
    shows: Option<(Line, f64)>,
}

impl Done {
    /// Just what the card says.
    pub fn as_planned(line: &CardLine) -> Self {
        Self {
            quarter_turns: line.quarter_turns,
            foretold: true,
            shows: None,
        }
    }

    /// What the person said, repeated.
    pub fn said(&self, foot: &Foot, part: f64) -> String {
        match self.shows {
            Some((line, shows)) => {
                format!(
                    "{}: the level shows {}",
                    foot.name,
                    reading(line, shows, part)
                )
            }
            None => format!("{} is {}", foot.name, both(self.quarter_turns)),
        }
    }

    /// What speaks against it; `before` is what the foot was turned earlier in the round.
    pub fn doubts(&self, foot: &Foot, line: &CardLine, before: f64, part: f64) -> Vec<String> {
        let mut doubts: Vec<String> = beyond_travel(foot, before + self.quarter_turns)
            .into_iter()
            .collect();
        let done = self.quarter_turns;
        if done * line.quarter_turns < 0.0 && (done - line.quarter_turns).abs() > HAND {
            doubts.push(match (self.shows, line.watch) {
                (Some(_), Some(watch)) => format!(
                    "it went the other way than from {} to {}",
                    reading(watch.line, watch.from, part),
                    reading(watch.line, watch.to, part)
                ),
                _ => format!("the card says {}", both(line.quarter_turns)),
            });
        } else if line.watch.is_some() && done.abs() > line.no_further.abs() + HAND {
            doubts.push(match self.shows {
                Some(_) => "that is further than the card lets it go".to_owned(),
                None => format!("the card says never past {}", at_most(line.no_further)),
            });
        } else if line.watch.is_none() && done.abs() > 2.0 * line.quarter_turns.abs() + HAND {
            doubts.push(format!("the card says {}", both(line.quarter_turns)));
        }
        doubts
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Watch;

    fn line() -> CardLine {
        CardLine {
            trip: 1,
            foot: 0,
            action: Action::Raise,
            quarter_turns: 0.5,
            lift: 1e-4,
            watch: Some(Watch {
                line: Line::Cross,
                at: 0.15,
                from: -4.0,
                to: -1.0,
            }),
            no_further: 0.7,
        }
    }

    #[test]
    fn readings_and_turns_are_told_apart() {
        let seen = |words: &str| Seen::of(words, &line(), Some(10.0)).ok();
        assert_eq!(seen("1 1/4 R"), Some(Seen::Shows(-1.25)));
        assert_eq!(seen("0"), Some(Seen::Shows(0.0)));
        assert_eq!(seen("45"), Some(Seen::Turned(0.5)));
        assert_eq!(seen("-45°"), Some(Seen::Turned(-0.5)));
        assert_eq!(seen("1/2"), Some(Seen::Turned(0.5)));
        assert_eq!(seen(">10R"), None);
        assert_eq!(seen("what"), None);
    }

    #[test]
    fn a_reading_says_how_much_arrived() {
        let done = |shows| Seen::Shows(shows).done(&line(), 0.25);
        assert!(done(-1.25).foretold && (done(-1.25).quarter_turns - 0.5).abs() < 1e-12);
        assert!(!done(-2.5).foretold && (done(-2.5).quarter_turns - 0.25).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_is_asked_about() {
        let foot = crate::survey::read(
            "format = 1\nbed = { length = 2900, way_spacing = 380 }\n\
             feet = { at = [120, 2700], lift_per_turn = 1.5 }\n",
        )
        .unwrap()
        .feet[0]
            .clone();
        let doubts = |seen: Seen| {
            seen.done(&line(), 0.25)
                .doubts(&foot, &line(), 0.0, 0.25)
                .len()
        };
        assert_eq!(doubts(Seen::Shows(-1.0)), 0);
        assert_eq!(doubts(Seen::Shows(-7.0)), 1, "the other way");
        assert_eq!(doubts(Seen::Shows(3.0)), 1, "too far");
        assert_eq!(doubts(Seen::Turned(0.6)), 0);
        assert_eq!(doubts(Seen::Turned(-0.5)), 1);
    }
}
