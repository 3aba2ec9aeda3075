//! What to read of a bed as its file stands.

use super::card::Action;
use super::first_pass::first_passes;
use super::next_pass::NextPass;
use super::turns::{NoPlan, after_turning};
use crate::survey::{Entry, Pass, Survey};

/// What is to be read now.
#[derive(Debug, Clone, PartialEq)]
pub enum ToRead {
    /// This pass: the readings that are likely to decide soonest.
    Pass(NextPass),
    /// All of the bed: it was turned and nobody wrote down how far, or nothing can be foretold.
    All,
    /// Nothing: every limit is proven kept, and a pass is only to be the record.
    Nothing,
}

/// What to read of a bed: in the beginning the pass that promises most, later what the last pass and what was turned since leave
/// open. A pass of few places counts on what is known of the others, so all are read where turns are not written down.
pub fn to_read(survey: &Survey) -> ToRead {
    let is_read = |pass: &Pass| {
        let mut entries = pass.readings.iter().map(|reading| &reading.entry);
        entries.any(|entry| *entry != Entry::Missing)
    };
    let Some(last) = survey.passes.iter().rposition(is_read) else {
        let first = first_passes(survey);
        return first
            .first()
            .map_or(ToRead::All, |way| ToRead::Pass(way.next_pass()));
    };
    to_read_after(survey, last).unwrap_or(ToRead::All)
}

fn to_read_after(survey: &Survey, last: usize) -> Result<ToRead, NoPlan> {
    let plan = after_turning(survey, last)?;
    let this = &survey.passes[last];
    let turns = plan.lines.iter().any(|line| line.action != Action::Leave);
    let is_known = this.turned.is_some() || !turns;
    Ok(match plan.next_pass {
        _ if !is_known || this.conditions.unfinished => ToRead::All,
        Some(next) => ToRead::Pass(next),
        None if this.turned.iter().flatten().any(|(_, turn)| *turn != 0.0) => ToRead::All,
        None => ToRead::Nothing,
    })
}
