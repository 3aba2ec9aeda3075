//! Why there is no page and no drawing.

use std::io;

use super::failure::Failure;

/// A reason why a page or a drawing cannot be made or written.
#[derive(Debug)]
pub enum SheetTrouble {
    /// The drawing has nothing to show.
    NothingToDraw,
    /// A page would land on a terminal.
    NoOutput,
    /// The pass before comes after the one after.
    BeforeAfter {
        /// Number of the pass that should show the bed before.
        before: usize,
        /// Number of the pass that shows it after.
        after: usize,
    },
    /// The file to write is the survey.
    IsTheSurvey {
        /// Its name.
        name: String,
    },
    /// The file to write is there already.
    AlreadyThere {
        /// Its name.
        name: String,
    },
    /// The file cannot be written.
    CannotWrite {
        /// Its name.
        name: String,
        /// What the system says.
        error: io::Error,
    },
}

impl From<SheetTrouble> for Failure {
    fn from(trouble: SheetTrouble) -> Self {
        Self::Sheet(trouble)
    }
}

impl SheetTrouble {
    /// Whether the command line asks for what cannot be.
    pub fn is_usage(&self) -> bool {
        match self {
            Self::NoOutput
            | Self::BeforeAfter { .. }
            | Self::AlreadyThere { .. }
            | Self::IsTheSurvey { .. } => true,
            Self::NothingToDraw | Self::CannotWrite { .. } => false,
        }
    }

    /// What is wrong, and what would be right.
    pub fn words(&self) -> (String, Option<String>) {
        match self {
            Self::NothingToDraw => (
                "the readings do not show what this drawing would".into(),
                Some(
                    "`cross` takes cross readings at two places, `front` and `rear` the level along a way, the rounds \
                     two passes"
                        .into(),
                ),
            ),
            Self::NoOutput => (
                "where to?".into(),
                Some("name a file to write, as in `-o card.html`; `-o -` prints here".into()),
            ),
            Self::BeforeAfter { before, after } => (
                format!("pass {before} does not come before pass {after}"),
                Some("`--from` names the pass before, `--pass` the one after".into()),
            ),
            Self::IsTheSurvey { name } => (
                format!("`{name}` is the survey itself"),
                Some("nothing was changed; name another file to write".into()),
            ),
            Self::AlreadyThere { name } => (
                format!("`{name}` is there already"),
                Some("choose another name, or replace it with `--force`".into()),
            ),
            Self::CannotWrite { name, error } => (format!("cannot write `{name}`: {error}"), None),
        }
    }
}
