//! A pass added at the end, and its readings filled in one by one.

use toml::Spanned;
use toml::de::DeValue;

use super::splice::{Splice, after_gap, insert_lines, line_start, next_line, spliced, under};
use super::{CannotEdit, Document, layout};
use crate::survey::model::{Entry, LengthUnit, Line, Packing, Reading};
use crate::survey::notation::format_entry;
use crate::survey::units::{MILLIMETRE, short_number};

/// A pass to write down.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Draft<'a> {
    /// When it is taken, as a TOML date.
    pub taken: Option<String>,
    /// Name of its level.
    pub level: &'a str,
    /// The places, line by line, in the order in which the lists are to stand; `Entry::Missing` is a place
    /// that is still open.
    pub readings: &'a [Reading],
    /// Names of the feet that are found loose.
    pub hanging: Vec<&'a str>,
    /// The note.
    pub note: Option<&'a str>,
    /// What lies under one end of the level.
    pub packing: Packing,
    /// Whether only its places are written down, for a pass that is still to be begun.
    pub planned: bool,
}

/// A list of readings in the file, and which of its places are open: written as `""`, neither read nor left
/// out with `"-"`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenList {
    /// The line.
    pub line: Line,
    /// Whether it holds the readings with the level turned end for end.
    pub reversed: bool,
    /// Whether each place is open.
    pub open: Vec<bool>,
}

/// A list of readings: the line, whether it is reversed.
type Key = (Line, bool);

const LINES: [Line; 3] = [Line::Cross, Line::Front, Line::Rear];

fn list_name((line, reversed): Key) -> String {
    let name = line.name();
    if reversed {
        format!("{name}_reversed")
    } else {
        name.to_owned()
    }
}

/// The lists of some readings, each in the order of its first reading.
fn keys_of(readings: &[Reading]) -> Vec<Key> {
    let mut keys = Vec::new();
    for reading in readings {
        let key = (reading.line, reading.reversed);
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    keys
}

/// Adds a pass at the end of a survey file.
///
/// Bare places are written in `units`, which are the file's.
pub fn append_pass(text: &str, units: LengthUnit, draft: &Draft<'_>) -> Result<String, CannotEdit> {
    let document = Document::of(text)?;
    let mut lines = Vec::new();
    if !after_gap(document.body, document.body.len()) {
        lines.push(String::new());
    }
    lines.push("[[pass]]".to_owned());
    if let Some(taken) = &draft.taken {
        lines.push(format!("taken = {taken}"));
    }
    lines.push(format!("level = {}", layout::text(draft.level)));
    lines.extend(places(units, draft));
    if !draft.planned {
        lines.extend(reading_lists(draft.readings));
    }
    if !draft.hanging.is_empty() {
        let names: Vec<String> = draft
            .hanging
            .iter()
            .map(|name| layout::text(name))
            .collect();
        lines.extend(layout::list("hanging", &names));
    }
    if draft.packing != Packing::default() {
        lines.push(format!("packing = {}", strips(draft.packing)));
    }
    if let Some(note) = draft.note {
        lines.push(format!("note = {}", layout::text(note)));
    }
    let splice = insert_lines(document.body, document.body.len(), &lines);
    Ok(spliced(text, document.offset, &[splice]))
}

/// What lies under one end of the level, as a table in braces.
fn strips(packing: Packing) -> String {
    let strips: Vec<String> = [("cross", Line::Cross), ("along", Line::Front)]
        .into_iter()
        .filter(|(_, line)| packing.on(*line) != 0.0)
        .map(|(key, line)| {
            let height = packing.on(line);
            let millimetres = short_number(MILLIMETRE.from_si(height.abs()), 3);
            let letter = Packing::letter(line, height);
            format!("{key} = \"{millimetres} mm {letter}\"")
        })
        .collect();
    format!("{{ {} }}", strips.join(", "))
}

/// The places that lines share, and those of lines that have others.
fn places(units: LengthUnit, draft: &Draft<'_>) -> Vec<String> {
    let readings = draft.readings;
    let of = |line: Line| -> Vec<String> {
        let plain = readings.iter().any(|r| r.line == line && !r.reversed);
        readings
            .iter()
            .filter(|r| r.line == line && r.reversed != plain)
            .map(|r| layout::place(r.at, units))
            .collect()
    };
    let own: Vec<(Line, Vec<String>)> = LINES.map(|line| (line, of(line))).into();
    let read = own.iter().filter(|(_, places)| !places.is_empty());
    let shared = read
        .clone()
        .find(|(line, _)| *line != Line::Cross)
        .or_else(|| read.clone().next())
        .map(|(_, places)| places.clone())
        .unwrap_or_default();
    // A planned pass is planned on every line that has places, so those of one line alone are its own.
    let shared = if draft.planned && read.clone().count() == 1 {
        Vec::new()
    } else {
        shared
    };
    let mut lines = Vec::new();
    if !shared.is_empty() {
        lines.extend(layout::list("stations", &shared));
    }
    for (line, places) in read.filter(|(_, places)| *places != shared) {
        lines.extend(layout::list(&format!("{}_at", line.name()), places));
    }
    lines
}

/// The lists of readings.
fn reading_lists(readings: &[Reading]) -> Vec<String> {
    keys_of(readings)
        .into_iter()
        .flat_map(|key| {
            let entries: Vec<String> = readings
                .iter()
                .filter(|reading| (reading.line, reading.reversed) == key)
                .map(|reading| match &reading.entry {
                    Entry::Missing => "\"\"".to_owned(),
                    entry => layout::text(&format_entry(reading.line, entry)),
                })
                .collect();
            layout::list(&list_name(key), &entries)
        })
        .collect()
}

/// Gives a planned pass, which has places and no readings yet, its lists.
pub fn begin_pass(text: &str, pass: usize, readings: &[Reading]) -> Result<String, CannotEdit> {
    let document = Document::of(text)?;
    let table = document.pass(pass)?;
    let at = under(document.body, table.end(document.body)?);
    let splice = insert_lines(document.body, at, &reading_lists(readings));
    Ok(spliced(text, document.offset, &[splice]))
}

/// Gives a pass more places, open ones, after those that it has; what it holds stays as it is written.
///
/// A line that shared its places gets a list of its own; where it was also read with the level turned end for end, that is left
/// out at the new places.
pub fn extend_pass(
    text: &str,
    units: LengthUnit,
    pass: usize,
    more: &[Reading],
) -> Result<String, CannotEdit> {
    let document = Document::of(text)?;
    let table = document.pass(pass)?;
    let body = document.body;
    let elements = |name: &str| match table.entries.get(name).map(Spanned::get_ref) {
        Some(DeValue::Array(elements)) => Some(elements),
        _ => None,
    };
    let appended = |name: &str, new: &[String]| -> Option<Splice> {
        let with = new.join(", ");
        Some(match elements(name)?.last() {
            Some(last) => Splice::insert(last.span().end, format!(", {with}")),
            None => Splice::insert(table.entries.get(name)?.span().start + 1, with),
        })
    };
    let mut splices = Vec::new();
    let mut lines = Vec::new();
    for line in LINES {
        let new: Vec<&Reading> = more.iter().filter(|r| r.line == line).collect();
        if new.is_empty() {
            continue;
        }
        let places: Vec<String> = new.iter().map(|r| layout::place(r.at, units)).collect();
        let open = vec!["\"\"".to_owned(); new.len()];
        let own = format!("{}_at", line.name());
        let (plain, reversed) = (list_name((line, false)), list_name((line, true)));
        let is_read = [&plain, &reversed].map(|name| elements(name).is_some());
        if let Some(splice) = appended(&own, &places) {
            splices.push(splice);
        } else {
            let shared = elements("stations").filter(|_| is_read.contains(&true));
            let shared = shared.into_iter().flatten();
            let all: Vec<String> = shared
                .map(|place| body[place.span()].to_owned())
                .chain(places)
                .collect();
            lines.extend(layout::list(&own, &all));
        }
        match appended(&plain, &open) {
            Some(splice) => splices.push(splice),
            None => lines.extend(layout::list(&plain, &open)),
        }
        let left_out = vec!["\"-\"".to_owned(); new.len()];
        splices.extend(appended(&reversed, &left_out));
    }
    let at = under(body, table.end(body)?);
    splices.push(insert_lines(body, at, &lines));
    splices.sort_by_key(|splice| splice.range.start);
    Ok(spliced(text, document.offset, &splices))
}

/// The lists of a pass in the order of the file.
pub fn lists(text: &str, pass: usize) -> Result<Vec<OpenList>, CannotEdit> {
    let document = Document::of(text)?;
    let table = document.pass(pass)?;
    let key = |name: &str| {
        LINES
            .into_iter()
            .flat_map(|line| [(line, false), (line, true)])
            .find(|key| list_name(*key) == name)
    };
    Ok(table
        .entries
        .iter()
        .filter_map(|(name, value)| {
            let (line, reversed) = key(name.get_ref())?;
            let DeValue::Array(entries) = value.get_ref() else {
                return None;
            };
            let is_open =
                |entry: &Spanned<DeValue<'_>>| entry.get_ref().as_str().is_some_and(str::is_empty);
            Some(OpenList {
                line,
                reversed,
                open: entries.iter().map(is_open).collect(),
            })
        })
        .collect())
}

/// Writes one reading in its place; `None` leaves the place open.
pub fn set_reading(
    text: &str,
    pass: usize,
    (line, reversed): (Line, bool),
    index: usize,
    entry: Option<&Entry>,
) -> Result<String, CannotEdit> {
    let document = Document::of(text)?;
    let table = document.pass(pass)?;
    let name = list_name((line, reversed));
    let Some(DeValue::Array(entries)) = table.entries.get(name.as_str()).map(Spanned::get_ref)
    else {
        return Err(CannotEdit::NoReading);
    };
    let place = entries.get(index).ok_or(CannotEdit::NoReading)?;
    let words = entry.map_or_else(String::new, |entry| format_entry(line, entry));
    let splice = Splice {
        range: place.span(),
        with: format!("\"{words}\""),
    };
    Ok(spliced(text, document.offset, &[splice]))
}

/// Writes the note of a pass, in place of the one that is there.
pub fn set_note(text: &str, pass: usize, note: &str) -> Result<String, CannotEdit> {
    set_value(text, pass, "note", &layout::text(note))
}

/// Writes the names of the feet that a hand found so, under `hanging` or `barely`, in place of those that are there.
pub fn set_felt(text: &str, pass: usize, key: &str, feet: &[&str]) -> Result<String, CannotEdit> {
    let names: Vec<String> = feet.iter().map(|name| layout::text(name)).collect();
    set_value(text, pass, key, &format!("[{}]", names.join(", ")))
}

/// Notes that the round after a pass is not finished, or takes that note away.
pub fn set_unfinished(text: &str, pass: usize, unfinished: bool) -> Result<String, CannotEdit> {
    if unfinished {
        return set_value(text, pass, "unfinished", "true");
    }
    let document = Document::of(text)?;
    let table = document.pass(pass)?;
    let Some((key, value)) = table.entries.get_key_value("unfinished") else {
        return Ok(text.to_owned());
    };
    let body = document.body;
    let splice = Splice {
        range: line_start(body, key.span().start)..next_line(body, value.span().end),
        with: String::new(),
    };
    Ok(spliced(text, document.offset, &[splice]))
}

/// Writes what lies under one end of the level.
pub fn set_packing(text: &str, pass: usize, packing: Packing) -> Result<String, CannotEdit> {
    set_value(text, pass, "packing", &strips(packing))
}

/// Writes when a pass is taken, a TOML date.
pub fn set_taken(text: &str, pass: usize, taken: &str) -> Result<String, CannotEdit> {
    set_value(text, pass, "taken", taken)
}

/// Writes the name of the level of a pass.
pub fn set_level(text: &str, pass: usize, level: &str) -> Result<String, CannotEdit> {
    set_value(text, pass, "level", &layout::text(level))
}

fn set_value(text: &str, pass: usize, key: &str, value: &str) -> Result<String, CannotEdit> {
    let document = Document::of(text)?;
    let table = document.pass(pass)?;
    let splice = if let Some(written) = table.entries.get(key) {
        Splice {
            range: written.span(),
            with: value.to_owned(),
        }
    } else {
        let at = under(document.body, table.end(document.body)?);
        insert_lines(document.body, at, &[format!("{key} = {value}")])
    };
    Ok(spliced(text, document.offset, &[splice]))
}
