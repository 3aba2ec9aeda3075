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
        .and_then(|item| collars(&item))
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

fn collars(item: &Item<'_>) -> Option<Vec<Collar>> {
    let items = item.list(EXAMPLE)?;
    if items.len() < 2 {
        item.report(
            "a taper shows between two collars at least",
            &format!("only {}", count(items.len(), "collar", "collars")),
            format!("write it like `{EXAMPLE}`"),
        );
    }
    if items.len() > MOST_COLLARS {
        item.reader.report(
            Diagnostic::new(item.key_span.clone(), "nobody turns so many collars")
                .label(count(items.len(), "collar", "collars"))
                .help(format!("a cut has at most {MOST_COLLARS} collars")),
        );
        return None;
    }
    let mut collars: Vec<Collar> = Vec::new();
    for item in items {
        let DeValue::Table(entries) = item.value else {
            item.report_kind("a list of collars", EXAMPLE);
            continue;
        };
        let table = Table::new(item.reader, "a collar", item.span.clone(), entries);
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
            item.reader.report(
                Diagnostic::new(item.span.clone(), "two collars at the same place")
                    .label(format!(
                        "another collar is {} from the chuck",
                        show_length(from_chuck, item.reader.units())
                    ))
                    .help("give each collar its own `from_chuck`; average diameters measured on one collar"),
            );
        }
        collars.push(Collar {
            from_chuck,
            diameter,
        });
    }
    Some(collars)
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
