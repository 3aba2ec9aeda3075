//! What a rehearsed pass remembers of its rehearsal, in its note.

use crate::rehearse::Scatter;
use crate::survey::{Pass, Survey};

use super::super::failure::{self, Failure};
use super::super::readings::is_read;

/// How every note of a rehearsed pass begins.
const BEGINNING: &str = "rehearsal with seed ";
/// How it goes on where the machine was just set down.
const SET_DOWN: &str = ", just set down";
/// How it goes on when a slip was made.
const WITH_SLIPS: &str = " and slips";

/// One rehearsal: the made-up bed, and whether readings are written down with slips.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Practice {
    /// All of the made-up bed follows from it.
    pub seed: u64,
    /// Whether it stands as the lorry left it.
    pub fresh: bool,
    /// Whether one reading of every pass goes wrong.
    pub slips: bool,
}

impl Practice {
    /// What to write with a pass.
    pub fn note(self) -> String {
        let fresh = if self.fresh { SET_DOWN } else { "" };
        let slips = if self.slips { WITH_SLIPS } else { "" };
        format!("{BEGINNING}{}{fresh}{slips}", self.seed)
    }

    /// How far the made-up machine strays from what a planner assumes.
    pub fn scatter(self) -> Scatter {
        if self.fresh {
            Scatter::just_set_down()
        } else {
            Scatter::default()
        }
    }

    /// What the note of a pass says.
    fn of_note(note: &str) -> Option<Self> {
        let rest = note.strip_prefix(BEGINNING)?;
        let digits = rest
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(rest.len());
        let seed = rest[..digits].parse().ok()?;
        let rest = &rest[digits..];
        let fresh = rest.strip_prefix(SET_DOWN);
        Some(Self {
            seed,
            fresh: fresh.is_some(),
            slips: fresh.unwrap_or(rest).starts_with(WITH_SLIPS),
        })
    }

    /// The rehearsal that a survey is part of; `None` when nothing in it was read yet. A real machine's readings
    /// are not mixed with made-up ones.
    pub fn of_survey(survey: &Survey) -> Result<Option<Self>, Failure> {
        let mut practice: Option<Self> = None;
        for (index, pass) in survey.passes.iter().enumerate().filter(|(_, p)| is_read(p)) {
            let number = index + 1;
            let of_pass = pass
                .note
                .as_deref()
                .and_then(Self::of_note)
                .ok_or_else(|| failure::real_readings(number))?;
            if let Some(before) = practice.filter(|before| before.seed != of_pass.seed) {
                return Err(failure::another_seed(number, of_pass.seed, before.seed));
            }
            practice = Some(of_pass);
        }
        Ok(practice)
    }
}

/// Whether a pass is of a made-up bed.
pub(in crate::cli) fn is_rehearsed(pass: &Pass) -> bool {
    let note = pass.note.as_deref();
    note.and_then(Practice::of_note).is_some()
}

#[cfg(test)]
mod tests {
    use super::Practice;

    #[test]
    fn a_note_remembers_the_rehearsal() {
        for (fresh, slips) in [(false, false), (false, true), (true, false), (true, true)] {
            let practice = Practice {
                seed: 7,
                fresh,
                slips,
            };
            let note = practice.note() + "; door open";
            assert_eq!(Practice::of_note(&note), Some(practice));
        }
        assert_eq!(Practice::of_note("after lunch"), None);
        assert_eq!(Practice::of_note("rehearsal with seed x"), None);
    }
}
