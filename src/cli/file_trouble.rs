//! Why a survey file stays as it is.

use std::io;

use super::failure::Failure;
use crate::survey::Diagnostic;
use crate::survey::edit::CannotEdit;

/// A reason why a file cannot be taken in hand, changed or saved.
#[derive(Debug)]
pub enum FileTrouble {
    /// Another program has the file in hand.
    InUse {
        /// What the survey is called.
        name: String,
    },
    /// The file must not be written.
    Protected {
        /// What the survey is called.
        name: String,
    },
    /// The file could not be saved.
    Unsaved {
        /// What the survey is called.
        name: String,
        /// What the system says.
        error: io::Error,
    },
    /// Somebody changed the same meanwhile.
    ChangedMeanwhile {
        /// What the survey is called.
        name: String,
        /// What changed, line by line.
        difference: Vec<String>,
    },
    /// It is no file that can be kept.
    NoRegularFile {
        /// What the survey is called.
        name: String,
    },
    /// There is a file of this name already.
    Exists {
        /// Its name.
        name: String,
    },
    /// The text is not written so that it can be changed this way.
    CannotEdit {
        /// What the survey is called.
        name: String,
        /// Why.
        reason: CannotEdit,
    },
    /// After the change it would be no survey.
    WouldSpoil {
        /// What the survey is called.
        name: String,
        /// What would be wrong with it.
        mistake: Diagnostic,
    },
}

impl From<FileTrouble> for Failure {
    fn from(trouble: FileTrouble) -> Self {
        Self::File(trouble)
    }
}

impl FileTrouble {
    /// What is wrong, and what would be right.
    pub fn words(&self) -> (String, Option<String>) {
        match self {
            Self::InUse { name } => (
                format!("`{name}` is in use by another quarterturn"),
                Some("end the other one first; nothing was changed here".into()),
            ),
            Self::Protected { name } => (
                format!("`{name}` is write-protected"),
                Some(
                    "nothing was changed; allow writing to it and to its folder, or work on a copy"
                        .into(),
                ),
            ),
            Self::Unsaved { name, error } => (
                format!("cannot save `{name}`: {error}"),
                Some("the file still says what it said before".into()),
            ),
            Self::ChangedMeanwhile { name, difference } => (
                format!("`{name}` was changed meanwhile, where this would change it too"),
                Some(format!(
                    "nothing more was saved; look at it and start again: what was saved before is in it\n{}",
                    difference
                        .iter()
                        .map(|line| format!("    {line}"))
                        .collect::<Vec<_>>()
                        .join("\n")
                )),
            ),
            Self::NoRegularFile { name } => (
                format!("`{name}` is no file that can be changed"),
                Some("name a survey file".into()),
            ),
            Self::Exists { name } => (
                format!("there is a `{name}` already"),
                Some("nothing was changed; give the new survey another name".into()),
            ),
            Self::CannotEdit { name, reason } => {
                let help = match reason {
                    CannotEdit::PassInList => {
                        "the passes stand in a list in brackets: give each a header `[[pass]]` of its own"
                    }
                    CannotEdit::NoKey => {
                        "no table of it has such a key; name it as in `level.fine.range 20`"
                    }
                    CannotEdit::NoPass | CannotEdit::NoReading => {
                        "the file was changed meanwhile; start again with what it says now"
                    }
                };
                (
                    format!("nothing can be added to `{name}`"),
                    Some(help.into()),
                )
            }
            Self::WouldSpoil { name, mistake } => (
                format!("this would make `{name}` unreadable: {}", mistake.title),
                mistake.help.clone(),
            ),
        }
    }
}
