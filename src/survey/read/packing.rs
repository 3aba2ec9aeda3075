//! `packing = { cross = "0.55 mm R" }`: what lay under one end of the level.

use crate::survey::diagnostic::Diagnostic;
use crate::survey::document::{Item, Table};
use crate::survey::model::{LengthUnit, Line, Packing};
use crate::survey::units::LENGTH;

/// Nothing thicker is steady under one end of a level, m (order of magnitude, no source).
const THICKEST: f64 = 20e-3;

/// How to write one, as in `write it like ...`.
const EXAMPLES: [&str; 2] = ["0.55 mm R", "0.3 mm T"];

pub(super) fn read(table: &Table<'_>) -> Packing {
    let Some(table) = table.table("packing") else {
        return Packing::default();
    };
    let strip = |key, line| {
        let item = table.get(key)?;
        strip(&item, line)
    };
    let packing = Packing {
        cross: strip("cross", Line::Cross).unwrap_or_default(),
        along: strip("along", Line::Front).unwrap_or_default(),
    };
    table.close();
    packing
}

/// A thickness and the letter of the end that it raises, m.
fn strip(item: &Item<'_>, line: Line) -> Option<f64> {
    let text = item.text()?;
    match parse_packing(text, line, None) {
        Ok(height) => Some(height),
        Err(mistake) => {
            item.report_inside(text, mistake);
            None
        }
    }
}

/// A thickness and the letter of the end under which it lies, m, with the sign of that end: `0.55 mm R`. A bare number is in `units`,
/// where they are given.
pub fn parse_packing(text: &str, line: Line, units: Option<LengthUnit>) -> Result<f64, Diagnostic> {
    let [positive, negative] = line.letters();
    let [across, along] = EXAMPLES;
    let example = if line == Line::Cross { across } else { along };
    let written = text.trim_end();
    let letter = written.chars().last().map(|last| last.to_ascii_uppercase());
    let sign = match letter {
        Some(letter) if letter == positive => 1.0,
        Some(letter) if letter == negative => -1.0,
        _ => {
            let (label, ends) = if line == Line::Cross {
                (
                    "under which block?",
                    "`F` or `R` for the front or the rear block",
                )
            } else {
                (
                    "under which end?",
                    "`H` or `T` for the headstock or the tailstock end",
                )
            };
            return Err(
                Diagnostic::new(0..text.len(), "packing lies under one end of the level")
                    .label(label)
                    .help(format!("add {ends}, as in `\"{example}\"`")),
            );
        }
    };
    // The letter is one byte long.
    let unit = units.map(LengthUnit::length);
    let height = LENGTH.parse(&written[..written.len() - 1], unit)?;
    if height > 0.0 && height <= THICKEST {
        return Ok(sign * height);
    }
    let (title, label) = if height > 0.0 {
        ("packing so thick is not steady", "too thick")
    } else {
        ("packing has a thickness above zero", "not above zero")
    };
    Err(Diagnostic::new(0..text.len(), title)
        .label(label)
        .help(format!(
            "write its thickness and the end it lies under, as in `\"{example}\"`; the side says the sign"
        )))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn packing_is_a_thickness_and_the_end_it_raises() {
        let metres =
            |text, line| parse_packing(text, line, None).map(|height| (height * 1e9).round() / 1e9);
        assert_eq!(metres("0.55 mm R", Line::Cross), Ok(-0.55e-3));
        assert_eq!(metres("0.02 in f ", Line::Cross), Ok(0.508e-3));
        assert_eq!(metres("0.3mm T", Line::Front), Ok(0.3e-3));
        let bare = parse_packing("0.5 R", Line::Cross, Some(LengthUnit::Millimetre));
        assert_eq!(bare, Ok(-0.5e-3));
        for (text, title) in [
            ("0.55 mm", "packing lies under one end of the level"),
            ("0.55 mm T", "packing lies under one end of the level"),
            ("", "packing lies under one end of the level"),
            ("0.55 R", "a length carries its unit"),
            ("-0.5 mm R", "packing has a thickness above zero"),
            ("55 mm R", "packing so thick is not steady"),
            ("\u{e9}", "packing lies under one end of the level"),
        ] {
            assert_eq!(
                parse_packing(text, Line::Cross, None).unwrap_err().title,
                title,
                "{text}"
            );
        }
    }
}
