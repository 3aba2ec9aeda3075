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

/// The collars, whose places stand under this key, and whether they give differences instead of diameters.
pub(super) fn read(item: &Item<'_>, place_key: &'static str) -> (Vec<Collar>, bool) {
    let Some(items) = item.list() else {
        return (Vec::new(), false);
    };
    if items.len() < 2 {
        item.report(
            "a taper shows between two collars at least",
            &format!("only {}", count(items.len(), "collar", "collars")),
            format!("write it like `{}`", item.spec.line()),
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
            item.report_kind("a list of collars");
            continue;
        };
        if let Some((collar, is_difference)) = item
            .as_table("a collar", entries)
            .and_then(|table| collar(table, place_key, &collars, differences))
        {
            differences.get_or_insert(is_difference);
            collars.push(collar);
        }
    }
    (collars, differences.unwrap_or(false))
}

/// One collar, unlike those before it.
fn collar(
    table: Table<'_>,
    place_key: &'static str,
    others: &[Collar],
    differences: Option<bool>,
) -> Option<(Collar, bool)> {
    let span = table.span.clone();
    let reader = table.reader;
    let from_chuck = table.number(place_key);
    let difference = table.get("difference");
    let diameter = if difference.is_some() {
        table.optional("diameter")
    } else {
        table.get("diameter")
    };
    let bar = table.number("bar");
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
        (Some(difference), _) => difference.number(),
        (None, diameter) => diameter.and_then(|item| item.number()),
    };
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the list of keys bounds it"
    )]
    let bar = bar.map_or(FIRST_BAR, |bar| bar as u32);
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
        let from = if place_key == "from_chuck" {
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
                    "give each collar its own `{place_key}`; average diameters measured on one collar"
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
