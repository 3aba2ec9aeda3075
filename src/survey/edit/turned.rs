//! `[pass.turned]`.

use std::ops::Range;

use toml::de::{DeTable, DeValue};

use super::splice::{Splice, before_gap, insert_lines, line_start, next_line, spliced, under};
use super::{CannotEdit, Document, layout};

/// Records what was turned after a pass: quarter-turns by the name of the foot, + raises.
///
/// Feet that are recorded already keep their lines and get their new number, 0 when they are not named.
pub fn set_turned(text: &str, pass: usize, turned: &[(&str, f64)]) -> Result<String, CannotEdit> {
    let document = Document::of(text)?;
    let table = document.pass(pass)?;
    let body = document.body;
    let splices = if let Some(value) = table.entries.get("turned") {
        let DeValue::Table(entries) = value.get_ref() else {
            return Err(CannotEdit::NoPass);
        };
        again(body, value.span(), entries, turned)
    } else {
        let at = under(body, table.end(body)?);
        let mut lines = vec![String::new(), "[pass.turned]".to_owned()];
        lines.extend(
            turned
                .iter()
                .map(|(foot, quarters)| entry("", foot, *quarters)),
        );
        if !before_gap(body, at) {
            lines.push(String::new());
        }
        vec![insert_lines(body, at, &lines)]
    };
    Ok(spliced(text, document.offset, &splices))
}

fn entry(before: &str, foot: &str, quarters: f64) -> String {
    format!(
        "{before}{} = {}",
        layout::key(foot),
        layout::quarter_turns(quarters)
    )
}

/// New numbers in a record that is there already.
fn again(
    body: &str,
    table: Range<usize>,
    entries: &DeTable<'_>,
    turned: &[(&str, f64)],
) -> Vec<Splice> {
    let mut splices = Vec::new();
    for (foot, value) in entries {
        let named = turned
            .iter()
            .find(|(name, _)| name.eq_ignore_ascii_case(foot.get_ref()));
        splices.push(Splice {
            range: value.span(),
            with: layout::quarter_turns(named.map_or(0.0, |(_, quarters)| *quarters)),
        });
    }
    splices.sort_by_key(|splice| splice.range.start);
    let is_recorded = |name: &str| {
        entries
            .keys()
            .any(|foot| foot.get_ref().eq_ignore_ascii_case(name))
    };
    let fresh: Vec<&(&str, f64)> = turned
        .iter()
        .filter(|(name, _)| !is_recorded(name))
        .collect();
    if fresh.is_empty() {
        return splices;
    }
    let last = entries
        .iter()
        .max_by_key(|(_, value)| value.span().start)
        .map(|(foot, value)| (foot.span(), value.span()));
    let lines = |before: &str| -> Vec<String> {
        fresh
            .iter()
            .map(|(foot, quarters)| entry(before, foot, *quarters))
            .collect()
    };
    splices.push(match (body[table.clone()].starts_with('{'), last) {
        (true, None) => Splice {
            range: table,
            with: format!("{{ {} }}", lines("").join(", ")),
        },
        (true, Some((_, value))) => {
            Splice::insert(value.end, format!(", {}", lines("").join(", ")))
        }
        (false, None) => insert_lines(body, next_line(body, table.end), &lines("")),
        (false, Some((foot, value))) => {
            // What stands before the name: an indent, or `turned.` of a dotted key.
            let before = &body[line_start(body, foot.start)..foot.start];
            insert_lines(body, next_line(body, value.end), &lines(before))
        }
    });
    splices
}
