//! `[[cut]]`: test bars turned in the chuck.

use toml::de::DeValue;

use crate::survey::diagnostic::{Diagnostic, count};
use crate::survey::document::{Item, Table};
use crate::survey::model::{Collar, Cut, PLACE_ROUNDING};
use crate::survey::units::show_length;

/// More collars than anybody turns on one bar.
const MOST_COLLARS: usize = 100;

const EXAMPLE: &str =
    "collars = [{ from_chuck = 30, diameter = 60.012 }, { from_chuck = 280, diameter = 60.004 }]";

pub(super) fn read(item: Option<Item<'_>>) -> Vec<Cut> {
    item.map(|item| item.tables("[[cut]]"))
        .unwrap_or_default()
        .into_iter()
        .map(cut)
        .collect()
}

fn cut(table: Table<'_>) -> Cut {
    let taken = table.get("taken").and_then(|item| item.date());
    let collars = table
        .need("collars", EXAMPLE)
        .map(|item| collars(&item))
        .unwrap_or_default();
    let note = table
        .get("note")
        .and_then(|item| item.text("note = \"after lunch, door shut\""));
    table.close();
    Cut {
        taken: taken.map(|date| date.value),
        collars,
        note: note.map(str::to_owned),
    }
}

fn collars(item: &Item<'_>) -> Vec<Collar> {
    let tables: Vec<Table<'_>> = item
        .list(EXAMPLE)
        .unwrap_or_default()
        .into_iter()
        .filter_map(|item| {
            let DeValue::Table(entries) = item.value else {
                item.report_kind("a list of collars", EXAMPLE);
                return None;
            };
            Some(Table::new(item.reader, "a collar", item.span, entries))
        })
        .collect();
    if let (DeValue::Array(_), ..2) = (item.value, tables.len()) {
        item.report(
            "a taper shows between two collars at least",
            &format!("only {}", count(tables.len(), "collar", "collars")),
            format!("write it like `{EXAMPLE}`"),
        );
    }
    if tables.len() > MOST_COLLARS {
        item.reader.report(
            Diagnostic::new(item.key_span.clone(), "nobody turns so many collars")
                .label(count(tables.len(), "collar", "collars"))
                .help(format!("a cut has at most {MOST_COLLARS} collars")),
        );
        return Vec::new();
    }
    let mut collars: Vec<Collar> = Vec::new();
    for table in tables {
        let span = table.span.clone();
        let reader = table.reader;
        let from_chuck = table
            .need("from_chuck", "from_chuck = 30")
            .and_then(|item| from_chuck(&item));
        let diameter = table
            .need("diameter", "diameter = 60.012")
            .and_then(|item| item.size());
        table.close();
        let (Some(from_chuck), Some(diameter)) = (from_chuck, diameter) else {
            continue;
        };
        if collars
            .iter()
            .any(|other| (other.from_chuck - from_chuck).abs() < PLACE_ROUNDING)
        {
            reader.report(
                Diagnostic::new(span, "two collars at the same place")
                    .label(format!(
                        "another collar is {} from the chuck",
                        show_length(from_chuck, reader.units())
                    ))
                    .help("give each collar its own `from_chuck`; average diameters measured on one collar"),
            );
        }
        collars.push(Collar {
            from_chuck,
            diameter,
        });
    }
    collars
}

fn from_chuck(item: &Item<'_>) -> Option<f64> {
    let value = item.length()?;
    if value < 0.0 {
        item.report(
            "`from_chuck` is measured away from the chuck",
            "less than zero",
            "write the distance from the chuck's face without a sign",
        );
        return None;
    }
    Some(value)
}
