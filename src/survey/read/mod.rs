//! From the text of a survey file to a [`Survey`], or to everything that is wrong with it.
//!
//! One file for one table of the survey file:
//!
//! * [`syntax`] says in the trade's words what TOML itself refuses.
//! * [`machine`], [`bed`], [`feet`], [`levels`], [`limits`], [`aim`] read the machine and what is wanted of it.
//! * [`passes`] reads the passes, [`lines`] their readings; [`hanging`] asks whether the other feet carry.
//! * [`conditions`] reads what a pass notes beside them, [`packing`] what lay under its level.
//! * [`cuts`] reads the test cuts, [`collars`] what was measured on them.

mod aim;
mod bed;
mod collars;
mod conditions;
mod cuts;
mod feet;
mod hanging;
mod levels;
mod limits;
mod lines;
mod machine;
mod packing;
mod passes;
mod syntax;

pub use packing::parse_packing;
use toml::de::{DeTable, DeValue};

use super::diagnostic::Diagnostic;
use super::document::{Item, Reader, Table};
use super::keys::catalogue::FILE;
use super::model::Survey;

/// What some editors put before the first character of a file.
pub(super) const BYTE_ORDER_MARK: char = '\u{feff}';

/// The one format there is so far.
const FORMAT: &str = "1";

/// Reads the text of a survey file.
///
/// # Errors
///
/// Every mistake in the file, in the order of the file. There is always at least one.
///
/// ```
/// let mistakes = quarterturn::survey::read("format = 1\nbed = { length = 2900 }").unwrap_err();
/// assert_eq!(mistakes[0].title, "the file has no feet");
/// assert_eq!(mistakes[1].title, "`[bed]` has no `way_spacing`");
/// ```
pub fn read(text: &str) -> Result<Survey, Vec<Diagnostic>> {
    let body = text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(text);
    let (document, errors) = DeTable::parse_recoverable(body);
    let reader = Reader::new(body, !errors.is_empty());
    let root = Table::new(&reader, &FILE, "the file", 0..0, document.get_ref());
    let survey = survey(root);
    let found = syntax::merge(body, &errors, reader.into_found());
    match survey {
        Some(survey) if found.is_empty() => Ok(survey),
        _ => Err(found
            .into_iter()
            .map(|diagnostic| diagnostic.shifted(text.len() - body.len()))
            .collect()),
    }
}

/// The whole file; `None` when something that cannot be done without is missing or wrong.
fn survey(root: Table<'_>) -> Option<Survey> {
    let reader = root.reader;
    if let Some(item) = root.get("format") {
        format(&item);
    }
    if let Some(units) = root.word("units") {
        reader.set_units(units);
    }
    let machine = root.get("machine");
    let bed = root.optional("bed");
    let feet = root.get("feet");
    let foot = root.get("foot");
    let level = root.get("level");
    let limits = root.get("limits");
    let aim = root.get("aim");
    let pass = root.get("pass");
    let cut = root.get("cut");
    let between_centres = root.get("between_centres");
    let face = root.get("face");
    if bed.is_none() {
        root.miss(
            "bed",
            absent("the file has no bed", "[bed]", "`length` and `way_spacing`"),
        );
    }
    if feet.is_none() && foot.is_none() {
        let content = "the places of the pairs, `at`, and `lift_per_turn`";
        root.miss("feet", absent("the file has no feet", "[feet]", content));
    }
    let misspelt = root.close();
    if !misspelt.is_empty() {
        reader.lose_names();
    }

    let bed = bed.and_then(|item| item.table()).and_then(bed::read);
    let machine = machine::read(machine, bed.as_ref());
    let feet = feet::read(feet, foot, bed.as_ref(), reader);
    let levels = levels::read(level);
    let limits = limits::read(limits, bed.as_ref(), &machine);
    let aim = aim::read(aim, &limits);
    let passes = passes::read(pass, bed.as_ref(), &machine, &feet, &levels);
    let cuts = cuts::read(cut, between_centres, bed.as_ref());
    Some(Survey {
        units: reader.units(),
        machine,
        bed: bed?,
        feet,
        levels: levels.into_map(),
        limits,
        aim,
        passes,
        cuts,
        faces: cuts::faces(face),
    })
}

/// A table that the file does not have, reported at the file's start.
fn absent(title: &str, heading: &str, content: &str) -> Diagnostic {
    Diagnostic::new(0..0, title)
        .label(format!("`{heading}` is missing"))
        .help(format!("add `{heading}` with {content}"))
}

fn format(item: &Item<'_>) {
    let is_known = matches!(item.value, DeValue::Integer(digits) if digits.as_str() == FORMAT);
    if is_known {
        return;
    }
    match item.value {
        DeValue::Integer(_) => item.report(
            format!("format {} is not known here", item.source_text()),
            "unknown format",
            "this program reads `format = 1`; a file of a later format needs a later program",
        ),
        _ => item.report_kind("a whole number"),
    }
}
