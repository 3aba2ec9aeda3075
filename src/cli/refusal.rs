//! Why something typed at the machine is not taken.

use super::failure::{Failure, STATUS_UNUSABLE, STATUS_USAGE};
use crate::rehearse::CannotStand;
use crate::survey::{Diagnostic, Line};

/// A reason to leave the survey file as it is.
#[derive(Debug)]
pub enum Refusal {
    /// Standard input was named where a file is to be changed.
    NoFile,
    /// What was turned after this pass is recorded already.
    TurnedAlready {
        /// Its number, from 1.
        number: usize,
        /// What is recorded.
        recorded: String,
    },
    /// What was turned is not understood.
    Turns {
        /// What is wrong.
        fact: String,
        /// What would be right.
        help: String,
    },
    /// What was turned lies far from the plan.
    FarFromPlan {
        /// One foot each: what the card says and what was typed.
        feet: Vec<String>,
    },
    /// The pass to type has its places and its level already.
    PassBegun {
        /// Its number, from 1.
        number: usize,
    },
    /// The level to read with has to be named.
    WhichLevel {
        /// The levels of the survey.
        known: Vec<String>,
    },
    /// A level without a base cannot be read along a way.
    NoBase {
        /// Its name.
        level: String,
        /// The line that was to be read.
        line: Line,
    },
    /// No place to read at.
    NoStations,
    /// The places are not understood.
    Stations {
        /// What is wrong.
        fact: String,
    },
    /// A line through the pipe is not understood.
    Line {
        /// Its number, from 1.
        number: usize,
        /// What is wrong with it.
        mistake: Diagnostic,
    },
    /// More lines come through the pipe than there are places.
    MoreLines {
        /// Number of the first one too many, from 1.
        number: usize,
    },
    /// Something that a new survey needs was not said.
    NotSaid {
        /// The first option that would say it.
        option: Option<&'static str>,
    },
    /// What options say of a new survey is not understood.
    Options {
        /// Each with its option.
        mistakes: Vec<(String, Diagnostic)>,
    },
    /// An answer through the pipe is not understood.
    Answer {
        /// Number of its line, from 1.
        number: usize,
        /// What is wrong.
        fact: String,
        /// What would be right.
        help: Option<String>,
    },
    /// A pass of a real machine stands where a rehearsal would be written.
    RealReadings {
        /// Its number, from 1.
        number: usize,
    },
    /// Two passes of one file are of different rehearsals.
    AnotherSeed {
        /// Number of the second one, from 1.
        number: usize,
        /// Its seed.
        seed: u64,
        /// The seed of the first one.
        before: u64,
    },
    /// The rehearsal goes on with the seed that it was begun with.
    SeedChosen {
        /// The seed that was asked for.
        wished: u64,
        /// The seed in the file.
        recorded: u64,
    },
    /// No machine can stand on these feet.
    CannotStand(CannotStand),
    /// There is no such command.
    NoCommand {
        /// What was asked for.
        name: String,
    },
    /// The lines ended before all was answered.
    AnswersEnded,
}

impl From<Refusal> for Failure {
    fn from(refusal: Refusal) -> Self {
        Self::Refusal(refusal)
    }
}

impl Refusal {
    /// The exit status that says so.
    pub fn status(&self) -> u8 {
        match self {
            Self::NoFile
            | Self::Turns { .. }
            | Self::PassBegun { .. }
            | Self::WhichLevel { .. }
            | Self::NoBase { .. }
            | Self::NoStations
            | Self::NotSaid { .. }
            | Self::Answer { .. }
            | Self::SeedChosen { .. }
            | Self::NoCommand { .. }
            | Self::Stations { .. } => STATUS_USAGE,
            _ => STATUS_UNUSABLE,
        }
    }

    /// What is wrong, and what would be right.
    pub fn words(&self) -> (String, Option<String>) {
        match self {
            Self::NoFile => (
                "this command writes into the survey, so it needs a file".into(),
                Some("name the survey file, as in `quarterturn turned lathe.toml F2 +3`".into()),
            ),
            Self::TurnedAlready { number, recorded } => (
                format!("what was turned after pass {number} is recorded already: {recorded}"),
                Some("`--again` puts the new record in its place".into()),
            ),
            Self::Turns { fact, help } => (fact.clone(), Some(help.clone())),
            Self::FarFromPlan { feet } => (
                format!("far from the plan: {}", feet.join("; ")),
                Some(
                    "nothing was recorded; + raises, - lowers; `--sure` records it as it is".into(),
                ),
            ),
            Self::PassBegun { number } => (
                format!("pass {number} is begun or planned, with its places and its level"),
                Some("leave these options out to go on with it, or add `--new` for a pass after it".into()),
            ),
            Self::WhichLevel { known } if known.is_empty() => (
                "the survey describes no level".into(),
                Some("add a table like `[level.master]` with `division = \"0.02 mm/m\"` and `base = 200`".into()),
            ),
            Self::WhichLevel { known } => (
                "which level is in hand?".into(),
                Some(format!("`--level` and one of {}", known.join(", "))),
            ),
            Self::NoBase { level, line } => (
                format!("level `{level}` has no `base` and cannot read along the {} way", line.name()),
                Some(format!(
                    "add a line like `base = 200` to `[level.{level}]`, the length that rests on the way"
                )),
            ),
            Self::NoStations => (
                "there is no place to read at".into(),
                Some("say where with `--stations 150,350,550`, the middle of the level".into()),
            ),
            Self::Stations { fact } => (
                format!("the stations are not understood: {fact}"),
                Some("write them like `--stations 150,350,550`, the middle of the level".into()),
            ),
            Self::Line { number, mistake } => (
                format!("line {number}: {}", mistake.title),
                Some(match &mistake.help {
                    Some(help) => format!("{help}; the readings before it are in the file"),
                    None => "the readings before it are in the file".into(),
                }),
            ),
            Self::MoreLines { number } => (
                format!("line {number} has no place left in the pass"),
                Some("the lines before it are in the file; is one of them at the wrong place?".into()),
            ),
            Self::NotSaid { option } => (
                match option {
                    Some(option) => format!("`{option}` was not said"),
                    None => "the answers ended before the last question".into(),
                },
                Some("nothing was written; answer the questions, or see `quarterturn new --help`".into()),
            ),
            Self::Options { mistakes } => (
                by_option(mistakes),
                Some("nothing was written; see `quarterturn new --help`".into()),
            ),
            Self::Answer { number, fact, help } => (format!("line {number}: {fact}"), help.clone()),
            Self::RealReadings { number } => (
                format!("pass {number} holds readings of a real machine"),
                Some("rehearse in a survey file without readings, such as a new one; nothing was changed".into()),
            ),
            Self::AnotherSeed { number, seed, before } => (
                format!("pass {number} is of made-up bed {seed}, those before it of bed {before}"),
                Some("one file holds one rehearsal".into()),
            ),
            Self::SeedChosen { wished, recorded } => (
                format!("the file rehearses made-up bed {recorded}, not {wished}"),
                Some("leave `--seed` out to go on, or rehearse in a new survey file".into()),
            ),
            Self::CannotStand(CannotStand::Unsupported(_)) => (
                "the feet in the survey do not hold the bed".into(),
                Some("a bed stands on three feet or more that are not in one line: see `[feet]`".into()),
            ),
            Self::CannotStand(CannotStand::Tips { .. }) => (
                "the machine would tip over: its headstock stands too far beyond its feet".into(),
                Some("see `[feet]`, `headstock_mass` and `headstock_at`, or set `held_down = true`".into()),
            ),
            Self::NoCommand { name } => (
                format!("there is no command `{name}`"),
                Some("`quarterturn --help` lists them".into()),
            ),
            Self::AnswersEnded => (
                "the answers ended before the last question".into(),
                Some("nothing was recorded".into()),
            ),
        }
    }
}

/// One line each: the option, what is wrong with it, and what would be right.
fn by_option(mistakes: &[(String, Diagnostic)]) -> String {
    let told: Vec<String> = mistakes
        .iter()
        .map(|(option, mistake)| {
            let label = Some(&mistake.label).filter(|label| !label.is_empty());
            let parts: Vec<&str> = [Some(&mistake.title), label, mistake.help.as_ref()]
                .into_iter()
                .flatten()
                .map(String::as_str)
                .collect();
            format!("`{option}`: {}", parts.join("; "))
        })
        .collect();
    told.join("\n       ")
}
