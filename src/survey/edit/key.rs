//! One value anywhere in the file.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::splice::{Splice, insert_lines, line_start, next_line, spliced};
use super::{CannotEdit, Document, layout};

/// The value at a path of keys, as it is written.
pub fn value_of(text: &str, path: &[&str]) -> Option<String> {
    let document = Document::of(text).ok()?;
    let (last, tables) = path.split_last()?;
    let table = descend(document.root.get_ref(), tables)?;
    let value = table.get(*last)?;
    Some(document.body[value.span()].to_owned())
}

/// Puts a value at a path of keys, in place of the one that is there. What is no TOML value is written as a text.
pub fn set_key(text: &str, path: &[&str], value: &str) -> Result<String, CannotEdit> {
    let document = Document::of(text)?;
    let body = document.body;
    let (last, tables) = path.split_last().ok_or(CannotEdit::NoKey)?;
    let is_toml = format!("a = {value}").parse::<toml::Table>().is_ok();
    let value = if is_toml {
        value.to_owned()
    } else {
        layout::text(value)
    };
    let line = format!("{} = {value}", layout::key(last));
    let root = document.root.get_ref();
    let splice = match (descend(root, tables), tables) {
        (Some(table), _) if table.contains_key(*last) => Splice {
            range: table[*last].span(),
            with: value,
        },
        (Some(table), [.., _]) => {
            let end = table
                .iter()
                .map(|(key, value)| (key.span().start, value.span().end))
                .max()
                .ok_or(CannotEdit::NoKey)?;
            let start = line_start(body, end.0);
            let before = &body[start..end.0];
            if before.contains('=') || before.contains('{') {
                // The table stands on one line.
                Splice::insert(end.1, format!(", {line}"))
            } else {
                // What stands before the key: an indent, or the dotted keys of its table.
                insert_lines(body, next_line(body, end.1), &[format!("{before}{line}")])
            }
        }
        (None, [only]) => {
            let passes = root.get("pass").map(Spanned::get_ref);
            let at = match passes {
                Some(DeValue::Array(passes)) => passes
                    .iter()
                    .next()
                    .map_or(body.len(), |first| line_start(body, first.span().start)),
                _ => body.len(),
            };
            let lines = [format!("[{}]", layout::key(only)), line, String::new()];
            insert_lines(body, at, &lines)
        }
        _ => return Err(CannotEdit::NoKey),
    };
    Ok(spliced(text, document.offset, &[splice]))
}

/// The table at a path of keys.
fn descend<'d, 't>(root: &'d DeTable<'t>, path: &[&str]) -> Option<&'d DeTable<'t>> {
    path.iter().try_fold(root, |table, key| {
        match table.get(*key).map(Spanned::get_ref) {
            Some(DeValue::Table(inner)) => Some(inner),
            _ => None,
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "\
format = 1   # kept
limits = { twist = \"0.04 mm/m\" }

[level.fine]
division = \"0.02 mm/m\"   # engraved
  range = 10

[[pass]]
cross = []
";

    #[test]
    fn a_value_is_put_in_the_place_of_another() {
        let changed = |path: &[&str], value| set_key(FILE, path, value).unwrap();
        assert_eq!(
            changed(&["limits", "twist"], "0.03 mm/m"),
            FILE.replace("0.04", "0.03")
        );
        assert_eq!(
            changed(&["level", "fine", "range"], "20"),
            FILE.replace("range = 10", "range = 20")
        );
        assert_eq!(
            value_of(FILE, &["limits", "twist"]).unwrap(),
            "\"0.04 mm/m\""
        );
        assert_eq!(value_of(FILE, &["limits", "crown"]), None);
    }

    #[test]
    fn a_value_that_was_not_there_stands_with_the_others() {
        let changed = |path: &[&str], value| set_key(FILE, path, value).unwrap();
        assert_eq!(
            changed(&["limits", "crown"], "[0, 0.02]"),
            FILE.replace("mm/m\" }\n\n", "mm/m\", crown = [0, 0.02] }\n\n")
        );
        assert_eq!(
            changed(&["level", "fine", "base"], "200"),
            FILE.replace("range = 10\n", "range = 10\n  base = 200\n")
        );
        assert_eq!(
            changed(&["aim", "shape"], "level"),
            FILE.replace("[[pass]]", "[aim]\nshape = \"level\"\n\n[[pass]]")
        );
        assert_eq!(
            set_key(FILE, &["level", "rough", "base"], "1"),
            Err(CannotEdit::NoKey)
        );
    }
}
