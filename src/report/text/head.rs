//! What stands at the top of a page: which machine, which pass.

use super::page::Page;
use super::prose::{Prose, TIE};
use super::scale::place;
use super::words::count;
use crate::report::draw::cut;
use crate::survey::units::short_number;
use crate::survey::{LengthUnit, Pass, Survey};
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
    let mut parts = vec![of_all(survey, number)];
    parts.extend(pass.taken.as_ref().map(date));
    if let Some(level) = survey.level_of(pass) {
        let unit = units.slope();
        let division = short_number(unit.from_si(level.division), 6);
        parts.push(format!("level {}", level.name));
        parts.push(format!("{division}{TIE}{} a{TIE}division", unit.name()));
    }
    page.paragraph(&parts.join(", ").into());
    let before = number
        .checked_sub(2)
        .and_then(|index| survey.passes.get(index));
    if let Some(words) = before.and_then(|before| unlike(before, pass, units)) {
        page.paragraph(&Prose::from(format!(
            "Unlike pass{TIE}{}: {words}.",
            number - 1
        )));
    }
    if let Some(note) = &pass.note {
        page.paragraph(&self::note(note));
    }
}

/// Which of how many passes, with the plain words for one.
pub(in crate::report) fn of_all(survey: &Survey, number: usize) -> String {
    let all = count(survey.passes.len(), "set of readings", "sets of readings");
    format!("Pass {number} of {all}")
}

/// What was otherwise than in the pass before.
fn unlike(before: &Pass, pass: &Pass, units: LengthUnit) -> Option<String> {
    let [was, is] = [before.conditions, pass.conditions];
    let flag = |is: bool, yes, no| if is { yes } else { no };
    let stood = |what: &str, was: Option<f64>, is: Option<f64>| {
        let is = is.filter(|_| was != is)?;
        let was = was.map_or_else(String::new, |was| format!(", was at {}", place(was, units)));
        Some(format!("{what} at {}{was}", place(is, units)))
    };
    let changed =
        |was: Option<bool>, is: Option<bool>| is.filter(|is| was.is_some_and(|was| was != *is));
    let words: Vec<String> = [
        stood("carriage", was.carriage_at, is.carriage_at),
        stood("tailstock", was.tailstock_at, is.tailstock_at),
        changed(was.chuck_on, is.chuck_on).map(|is| flag(is, "chuck on", "chuck off").to_owned()),
        changed(was.coolant_in, is.coolant_in)
            .map(|is| flag(is, "coolant in", "coolant out").to_owned()),
        is.spindle_stopped
            .filter(|_| was.spindle_stopped != is.spindle_stopped)
            .map(|hours| format!("spindle stopped {}{TIE}h before", short_number(hours, 1))),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!words.is_empty()).then(|| words.join(", "))
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
