//! What stands at the top of a page: which machine, which pass.

use super::page::Page;
use super::prose::{Prose, TIE};
use crate::report::draw::cut;
use crate::survey::units::short_number;
use crate::survey::{LengthUnit, Survey};
use toml::value::Datetime;

/// Letters of a machine's name that are shown.
const LONGEST_TITLE: usize = 120;

/// Letters of a note that are shown.
pub(in crate::report) const LONGEST_NOTE: usize = 600;

/// The machine's name and the pass, with its date, level and note.
pub(super) fn head(page: &mut Page, survey: &Survey, number: usize, units: LengthUnit) {
    page.paragraph(&Prose::new().strong(machine_name(survey)));
    let Some(pass) = survey.passes.get(number - 1) else {
        return;
    };
    let mut parts = vec![format!("Pass {number} of {}", survey.passes.len())];
    parts.extend(pass.taken.as_ref().map(date));
    if let Some(level) = survey.level_of(pass) {
        let unit = units.slope();
        let division = short_number(unit.from_si(level.division), 6);
        parts.push(format!("level {}", level.name));
        parts.push(format!("{division}{TIE}{} a{TIE}division", unit.name()));
    }
    page.paragraph(&parts.join(", ").into());
    if let Some(note) = &pass.note {
        page.paragraph(&self::note(note));
    }
}

/// What the machine is called, cut where it is too long to be read.
pub(in crate::report) fn machine_name(survey: &Survey) -> String {
    let name = survey.machine.name.as_deref().unwrap_or("Machine bed");
    cut(name, LONGEST_TITLE)
}

/// A note, cut where it is too long to be read.
pub(super) fn note(words: &str) -> Prose {
    Prose::new().faint(format!("Note: {}", cut(words, LONGEST_NOTE)))
}

/// Day and minute.
pub(in crate::report) fn date(taken: &Datetime) -> String {
    let day = taken.date.map(|date| date.to_string());
    let minute = taken
        .time
        .map(|time| format!("{:02}:{:02}", time.hour, time.minute));
    let parts: Vec<String> = [day, minute].into_iter().flatten().collect();
    parts.join(&TIE.to_string())
}
