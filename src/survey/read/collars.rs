//! The collars of a test bar.

use toml::de::DeValue;

use crate::survey::diagnostic::{Diagnostic, count};
use crate::survey::document::{Item, Table};
use crate::survey::model::{Collar, PLACE_ROUNDING};
use crate::survey::units::show_length;

/// More collars than anybody turns on one bar.
const MOST_COLLARS: usize = 100;

/// The bar a collar is on unless it says otherwise.
const FIRST_BAR: u32 = 1;

/// How collars are written.
#[derive(Clone, Copy)]
pub(super) struct Writing {
    /// The key of a collar's place.
    pub place: &'static str,
    /// A line that would be right.
    pub example: &'static str,
    /// A place that would be right.
    pub place_example: &'static str,
}

/// The collars, and whether they give differences instead of diameters.
pub(super) fn read(item: &Item<'_>, writing: Writing) -> (Vec<Collar>, bool) {
    let Some(items) = item.list(writing.example) else {
        return (Vec::new(), false);
    };
    if items.len() < 2 {
        item.report(
            "a taper shows between two collars at least",
            &format!("only {}", count(items.len(), "collar", "collars")),
            format!("write it like `{}`", writing.example),
        );
    }
    if items.len() > MOST_COLLARS {
        item.reader.report(
            Diagnostic::new(item.key_span.clone(), "nobody turns so many collars")
                .label(count(items.len(), "collar", "collars"))
                .help(format!("a cut has at most {MOST_COLLARS} collars")),
        );
        return (Vec::new(), false);
    }
    let mut collars: Vec<Collar> = Vec::new();
    let mut differences = None;
    for item in items {
        let DeValue::Table(entries) = item.value else {
            item.report_kind("a list of collars", writing.example);
            continue;
        };
        let table = Table::new(item.reader, "a collar", item.span.clone(), entries);
        if let Some((collar, is_difference)) = collar(table, writing, &collars, differences) {
            differences.get_or_insert(is_difference);
            collars.push(collar);
        }
    }
    (collars, differences.unwrap_or(false))
}

/// One collar, unlike those before it.
fn collar(
    table: Table<'_>,
    writing: Writing,
    others: &[Collar],
    differences: Option<bool>,
) -> Option<(Collar, bool)> {
    let span = table.span.clone();
    let reader = table.reader;
    let from_chuck = table
        .need(writing.place, writing.place_example)
        .and_then(|item| from_chuck(&item));
    let difference = table.get("difference");
    let diameter = if difference.is_some() {
        table.get("diameter")
    } else {
        table.need("diameter", "diameter = 60.012")
    };
    let bar = table.get("bar").and_then(|item| bar(&item));
    table.close();
    if let (Some(difference), Some(_)) = (&difference, &diameter) {
        difference.report(
            "a collar has a diameter or a difference, not both",
            "beside `diameter`",
            "leave one of the two out",
        );
        return None;
    }
    let is_difference = difference.is_some();
    let size = match (difference, diameter) {
        (Some(difference), _) => difference.length(),
        (None, diameter) => diameter.and_then(|item| item.size()),
    };
    let bar = bar.unwrap_or(FIRST_BAR);
    let (from_chuck, size) = (from_chuck?, size?);
    if differences.is_some_and(|differences| differences != is_difference) {
        reader.report(
            Diagnostic::new(span, "diameters and differences do not mix")
                .label("unlike the collars before it")
                .help("write `diameter` for all collars of a cut, or `difference` for all"),
        );
    } else if others
        .iter()
        .any(|other| other.bar == bar && (other.from_chuck - from_chuck).abs() < PLACE_ROUNDING)
    {
        let from = if writing.place == "from_chuck" {
            "chuck"
        } else {
            "headstock's centre"
        };
        reader.report(
            Diagnostic::new(span, "two collars at the same place")
                .label(format!(
                    "another collar is {} from the {from}",
                    show_length(from_chuck, reader.units())
                ))
                .help(format!(
                    "give each collar its own `{}`; average diameters measured on one collar",
                    writing.place
                )),
        );
    }
    let collar = Collar {
        from_chuck,
        diameter: size,
        bar,
    };
    Some((collar, is_difference))
}

fn from_chuck(item: &Item<'_>) -> Option<f64> {
    let value = item.length()?;
    if value < 0.0 {
        let (title, help) = if item.key == "from_chuck" {
            (
                "`from_chuck` is measured away from the chuck",
                "write the distance from the chuck's face without a sign",
            )
        } else {
            (
                "`from_headstock` is measured away from the headstock's centre",
                "write the distance from the headstock's centre without a sign",
            )
        };
        item.report(title, "less than zero", help);
        return None;
    }
    Some(value)
}

/// The number of a bar.
fn bar(item: &Item<'_>) -> Option<u32> {
    let number = match item.value {
        DeValue::Integer(digits) => u32::from_str_radix(digits.as_str(), digits.radix()).ok(),
        _ => None,
    };
    if number.is_none_or(|number| number == 0) {
        item.report(
            "bars are numbered 1, 2, 3 ...",
            "not the number of a bar",
            "write it like `bar = 2`; collars without it are on bar 1",
        );
        return None;
    }
    number
}
