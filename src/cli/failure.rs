//! Why a command has nothing to print.

use std::io;

use anstyle::{AnsiColor, Style};

use super::file_trouble::FileTrouble;
use super::refusal::Refusal;
use super::sheet_trouble::SheetTrouble;
use crate::plan::NoPlan;
use crate::response::Unsupported;
use crate::survey::{self, Diagnostic};

/// A reason to stop, for the person at the keyboard.
#[derive(Debug)]
pub enum Failure {
    /// No survey was named and none is piped in.
    NoSurvey,
    /// The survey cannot be read at all.
    Unreadable {
        /// What the survey is called.
        name: String,
        /// What the system says.
        error: io::Error,
    },
    /// The survey is larger than any survey is.
    TooLarge {
        /// What the survey is called.
        name: String,
    },
    /// Nothing came through the pipe.
    NothingPiped,
    /// The survey holds mistakes.
    Mistakes {
        /// What the survey is called.
        name: String,
        /// Its text.
        text: String,
        /// Everything that is wrong with it.
        diagnostics: Vec<Diagnostic>,
    },
    /// The survey holds no pass.
    NoPasses,
    /// The survey holds no pass of this number.
    NoSuchPass {
        /// The number that was asked for.
        number: usize,
        /// How many passes there are.
        passes: usize,
    },
    /// The survey holds no test cut of this number.
    NoSuchCut {
        /// The number that was asked for.
        number: usize,
        /// How many cuts there are.
        cuts: usize,
    },
    /// The collars of a cut show no taper.
    NoTaper {
        /// The cut's number, from 1.
        number: usize,
    },
    /// No pass before this one shows the bed without turns in between.
    NothingToCompare {
        /// The pass's number, from 1.
        number: usize,
    },
    /// The pass holds no reading.
    NoReadings {
        /// Its number, from 1.
        number: usize,
    },
    /// The pass names no places to read.
    NoPlaces {
        /// Its number, from 1.
        number: usize,
    },
    /// The survey file stays as it is.
    File(FileTrouble),
    /// Something typed at the machine is not taken.
    Refusal(Refusal),
    /// The readings of the pass show neither twist nor crown.
    NothingKnown {
        /// Its number, from 1.
        number: usize,
    },
    /// The feet do not hold the bed.
    Unsupported(Unsupported),
    /// There is no page and no drawing.
    Sheet(SheetTrouble),
    /// What was found cannot be written.
    Unwritable {
        /// What the system says.
        error: io::Error,
    },
}

/// Exit status when the survey or its readings cannot be used.
pub const STATUS_UNUSABLE: u8 = 1;
/// Exit status of wrong usage.
pub const STATUS_USAGE: u8 = 2;

/// How an error is marked on a terminal.
const ERROR_STYLE: Style = AnsiColor::Red.on_default().bold();

impl Failure {
    /// Why there is no plan after the pass of this number.
    pub fn of_plan(reason: NoPlan, number: usize) -> Self {
        match reason {
            NoPlan::NoPass => Self::NoPasses,
            NoPlan::NoReadings => Self::NoReadings { number },
            NoPlan::NothingKnown => Self::NothingKnown { number },
            NoPlan::Unsupported(reason) => Self::Unsupported(reason),
        }
    }

    /// The exit status that says so.
    pub fn status(&self) -> u8 {
        match self {
            Self::Refusal(refusal) => refusal.status(),
            Self::NoSurvey | Self::NoSuchPass { .. } | Self::NoSuchCut { cuts: 1.., .. } => {
                STATUS_USAGE
            }
            Self::Sheet(trouble) if trouble.is_usage() => STATUS_USAGE,
            Self::File(_)
            | Self::Unreadable { .. }
            | Self::TooLarge { .. }
            | Self::NothingPiped
            | Self::Mistakes { .. }
            | Self::NoPasses
            | Self::NoSuchCut { .. }
            | Self::NoTaper { .. }
            | Self::NothingToCompare { .. }
            | Self::NoReadings { .. }
            | Self::NoPlaces { .. }
            | Self::NothingKnown { .. }
            | Self::Unsupported(_)
            | Self::Sheet(_)
            | Self::Unwritable { .. } => STATUS_UNUSABLE,
        }
    }

    /// What to print, with a terminal's escape codes, ended by a newline.
    pub fn message(&self) -> String {
        if let Self::Mistakes {
            name,
            text,
            diagnostics,
        } = self
        {
            return survey::render(diagnostics, name, text, true);
        }
        let (fact, help) = self.words();
        let help = help.map_or_else(String::new, |help| format!("  help: {help}\n"));
        format!("{ERROR_STYLE}error{ERROR_STYLE:#}: {fact}\n{help}")
    }

    /// What is wrong, and what would be right.
    fn words(&self) -> (String, Option<String>) {
        match self {
            Self::NoSurvey => (
                "which survey?".into(),
                Some("name its file, as in `quarterturn shape lathe.toml`, or pipe it in".into()),
            ),
            Self::Unreadable { name, error } => (format!("cannot read `{name}`: {error}"), None),
            Self::TooLarge { name } => (
                format!("`{name}` is too large for a survey"),
                Some("a survey is a text file of some pages".into()),
            ),
            Self::NothingPiped => (
                "no survey came through the pipe".into(),
                Some("name a survey file, as in `quarterturn shape lathe.toml`".into()),
            ),
            Self::Mistakes { name, .. } => (format!("mistakes in `{name}`"), None),
            Self::NoPasses => (
                "the survey holds no pass".into(),
                Some("add a `[[pass]]` with readings".into()),
            ),
            Self::NoSuchPass { number, passes } => (
                format!("there is no pass {number}"),
                Some(match passes {
                    1 => "the survey holds one pass".into(),
                    _ => format!("the survey holds passes 1 to {passes}"),
                }),
            ),
            Self::NoSuchCut { cuts: 0, .. } => (
                "the survey holds no test cut".into(),
                Some("add a `[[cut]]` with the collars of a bar turned in the chuck".into()),
            ),
            Self::NoSuchCut { number, cuts } => (
                format!("there is no cut {number}"),
                Some(match cuts {
                    1 => "the survey holds one cut".into(),
                    _ => format!("the survey holds cuts 1 to {cuts}"),
                }),
            ),
            Self::NoTaper { number } => (
                format!("cut {number} shows no taper"),
                Some("a taper shows between two collars on the same bar".into()),
            ),
            Self::NothingToCompare { number } => (
                format!("pass {number} has no pass to compare it with"),
                Some(
                    "what moved by itself shows between two passes with nothing turned in between; read the bed \
                     again after some days"
                        .into(),
                ),
            ),
            Self::NoReadings { number } => (
                format!("pass {number} holds no readings"),
                Some("type them with `quarterturn readings`; a `-` is a reading not taken".into()),
            ),
            Self::File(trouble) => trouble.words(),
            Self::Refusal(refusal) => refusal.words(),
            Self::NoPlaces { number } => (
                format!("pass {number} names no places"),
                Some(
                    "write `stations` and, for every line to be read, as many `\"-\"`, as in `cross = [\"-\", \"-\"]`"
                        .into(),
                ),
            ),
            Self::NothingKnown { number } => (
                format!(
                    "pass {number} shows neither twist nor crown, so there is nothing to turn by"
                ),
                Some(
                    "read across at two places or more, or along one way at two places or more"
                        .into(),
                ),
            ),
            Self::Sheet(trouble) => trouble.words(),
            Self::Unsupported(reason) => (
                match reason {
                    Unsupported::TooFewFeet { feet } => {
                        format!("{feet} feet do not hold a bed")
                    }
                    Unsupported::FeetInLine { .. } => {
                        "the feet stand in one line and do not hold the bed".into()
                    }
                    Unsupported::NotStiff => {
                        "the feet and the bed have no stiffness to reckon with".into()
                    }
                },
                Some(
                    "a bed stands on three feet or more that are not in one line: see `[feet]`"
                        .into(),
                ),
            ),
            Self::Unwritable { error } => (format!("cannot write the result: {error}"), None),
        }
    }
}
