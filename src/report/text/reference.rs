//! Every key of the survey file, printed.

use super::{Page, Prose};
use crate::survey::LengthUnit;
use crate::survey::keys::catalogue::FILE;
use crate::survey::keys::{Bounds, Key, Kind, Section};
use crate::survey::units::{LENGTH, MASS, Quantity, SLOPE, short_number, show_length};

const BEFORE: &str = "\
One TOML file for one machine, kept for years. `#` begins a remark. A bare length is in the unit that `units` names; a length \
in quotes carries its own, as in \"2.5 mm\" or \"23 5/8 in\". A slope always carries its unit. Places are measured along the bed \
from the headstock end. What is left out is not known, and neither is what hangs on it. A key that is not in this list is a mistake, \
and every mistake is shown with its line and what would be right.";

const READINGS: &str = "\
A reading is 0, or divisions and the letter of the high side: F (front) or R (rear) across, H (headstock end) or T (tailstock end) along. \
\"1.5F 1.25F\" are repeats on the spot, \">10H\" is off the scale with the headstock end high, \"-\" was left out, \"\" is still to be read.";

/// The survey file, table by table.
pub fn survey_file(width: usize) -> String {
    let mut page = Page::new(width);
    page.paragraph(&Prose::new().strong("The survey file"));
    page.gap();
    page.paragraph(&BEFORE.into());
    page.gap();
    page.paragraph(&READINGS.into());
    page.gap();
    for quantity in [LENGTH, SLOPE, MASS] {
        page.paragraph(&units(&quantity).into());
    }
    section(&mut page, &FILE);
    page.finish()
}

fn units(quantity: &Quantity) -> String {
    let names: Vec<&str> = quantity.units.iter().map(|unit| unit.name()).collect();
    format!("Units of {}: {}.", quantity.name, names.join(", "))
}

/// The keys of a table, then the tables under it.
fn section(page: &mut Page, section: &Section) {
    page.gap();
    let heading = Prose::new().strong(section.heading);
    page.paragraph(&if section.meaning.is_empty() {
        heading
    } else {
        heading.plain(format!(": {}", section.meaning))
    });
    for key in section.keys {
        if !is_header(key) {
            one(page, key, "  ");
        }
    }
    for key in section.keys.iter().filter(|key| is_header(key)) {
        if let Some(under) = key.kind.section() {
            // Where the person chooses the names, the table that matters is the one under the name.
            let named = under.keys.first().and_then(|key| key.kind.section());
            self::section(
                page,
                named
                    .filter(|named| named.heading == under.heading)
                    .unwrap_or(under),
            );
        }
    }
}

/// Whether a key stands for a table with a header of its own.
fn is_header(key: &Key) -> bool {
    key.kind
        .section()
        .is_some_and(|section| section.heading.starts_with('['))
}

fn one(page: &mut Page, key: &Key, indent: &str) {
    let needed = if key.needed { ", needed" } else { "" };
    let kind = format!("  {}{needed}", kind(&key.kind));
    page.hanging(indent, &Prose::new().strong(key.line()).faint(kind));
    page.hanging(&format!("{indent}    "), &key.meaning.into());
    if let Some(section) = key.kind.section() {
        for key in section.keys {
            one(page, key, &format!("{indent}    "));
        }
    }
}

/// What a value is, with its bounds.
fn kind(kind: &Kind) -> String {
    let show = |metres: f64| show_length(metres, LengthUnit::Millimetre);
    let plain = |value: f64| short_number(value, 6);
    match kind {
        Kind::Whole(bounds) => format!("whole number{}", within(bounds, plain)),
        Kind::Number(of, bounds) => format!("number of {of}{}", within(bounds, plain)),
        Kind::Length(bounds) => format!("length{}", within(bounds, show)),
        Kind::Slope(bounds) if bounds.least > 0.0 => "slope above 0".to_owned(),
        Kind::Slope(_) => "slope".to_owned(),
        Kind::Mass(_) => "mass".to_owned(),
        Kind::Place => "place".to_owned(),
        Kind::PartOfTurn => "part of a turn, at most one".to_owned(),
        Kind::Flag => "true or false".to_owned(),
        Kind::Word(words) => words()
            .iter()
            .map(|word| format!("\"{word}\""))
            .collect::<Vec<_>>()
            .join(" or "),
        Kind::Text => "words".to_owned(),
        Kind::Date => "a day, or a day and a time".to_owned(),
        Kind::Reading => "readings".to_owned(),
        Kind::Pair(of) => format!("two, the lowest first, each a {}", self::kind(of)),
        Kind::List(Kind::Place) => "list of places".to_owned(),
        Kind::List(Kind::Reading) => "list of readings".to_owned(),
        Kind::List(Kind::Text) => "list of names".to_owned(),
        Kind::List(_) | Kind::Tables(_) => "list of tables in braces".to_owned(),
        Kind::Table(_) => "table in braces".to_owned(),
        Kind::Either(one, other) => format!("{} or {}", self::kind(one), self::kind(other)),
    }
}

/// The bounds in words, as far as they say something.
fn within(bounds: &Bounds, show: impl Fn(f64) -> String) -> String {
    /// No bound that a person meets is larger.
    const NO_BOUND: f64 = 1000.0;
    /// Nobody needs to be told of a bound below it.
    const TINY: f64 = 1e-3;
    let is_tiny = 0.0 < bounds.least && bounds.least <= TINY;
    let least = (bounds.least > -NO_BOUND).then(|| show(bounds.least));
    let most = (bounds.most < NO_BOUND).then(|| show(bounds.most));
    match (least, most) {
        (Some(least), Some(most)) if least == most => format!(" {least}"),
        (Some(_), Some(most)) if is_tiny => format!(" above 0, at most {most}"),
        (Some(_), None) if is_tiny => " above 0".to_owned(),
        (Some(least), Some(most)) => format!(" from {least} to {most}"),
        (Some(least), None) => format!(", {least} or more"),
        (None, Some(most)) => format!(", {most} or less"),
        (None, None) => String::new(),
    }
}
