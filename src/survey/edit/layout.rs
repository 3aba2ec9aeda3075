//! New lines, laid out as a person would write them.

use toml::Value;

use crate::survey::model::LengthUnit;
use crate::survey::units::short_number;

/// Longest line that is written, characters; a longer list goes over several lines.
const LONGEST_LINE: usize = 100;

/// Decimals of a place in its unit: a tenth of a micrometre, or less.
const PLACE_DECIMALS: usize = 6;

/// Decimals of a number of quarter-turns: a hundredth of a degree, or less.
const TURN_DECIMALS: usize = 6;

/// `key = [a, b, c]`, over several lines where it is long.
pub(super) fn list(key: &str, items: &[String]) -> Vec<String> {
    let line = format!("{key} = [{}]", items.join(", "));
    if line.chars().count() <= LONGEST_LINE {
        return vec![line];
    }
    let mut lines = vec![format!("{key} = [")];
    let mut line = String::from("   ");
    for item in items {
        if line.chars().count() + item.chars().count() + 2 > LONGEST_LINE {
            lines.push(line);
            line = String::from("   ");
        }
        line.push(' ');
        line.push_str(item);
        line.push(',');
    }
    lines.push(line);
    lines.push("]".to_owned());
    lines
}

/// A place along the bed as a bare number of the file.
pub(super) fn place(at: f64, units: LengthUnit) -> String {
    short_number(units.length().from_si(at), PLACE_DECIMALS)
}

/// A number of quarter-turns.
pub(super) fn quarter_turns(quarters: f64) -> String {
    short_number(quarters, TURN_DECIMALS)
}

/// A text in quotes.
pub(super) fn text(words: &str) -> String {
    Value::String(words.to_owned()).to_string()
}

/// A name as a key, in quotes where it needs them.
pub(super) fn key(name: &str) -> String {
    let is_bare = !name.is_empty()
        && name
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '-'));
    if is_bare {
        name.to_owned()
    } else {
        // JSON's escapes are those of TOML's basic strings, except that TOML escapes the delete character too.
        let quoted = serde_json::Value::String(name.to_owned()).to_string();
        quoted.replace('\u{7f}', "\\u007F")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_list_goes_over_several_lines() {
        let items: Vec<String> = (0..40).map(|k| format!("\"{k}.25F\"")).collect();
        let lines = list("cross", &items);
        assert!(lines.len() > 3);
        assert!(lines.iter().all(|line| line.len() <= LONGEST_LINE));
        let read: toml::Table = lines.join("\n").parse().unwrap();
        assert_eq!(read["cross"].as_array().unwrap().len(), 40);
    }

    #[test]
    fn any_name_is_a_key_and_any_note_a_text() {
        for name in [
            "F1",
            "left \"rear\" foot",
            "é",
            "",
            "a.b",
            "tab\t\u{7f}",
            "\u{1}",
        ] {
            let read: toml::Table = format!("{} = 1", key(name)).parse().unwrap();
            assert_eq!(read.keys().next().unwrap(), name);
            let read: toml::Table = format!("note = {}", text(name)).parse().unwrap();
            assert_eq!(read["note"].as_str().unwrap(), name);
        }
    }
}
