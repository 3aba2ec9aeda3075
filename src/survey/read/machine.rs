//! `[machine]`.

use super::bed::place;
use crate::survey::diagnostic::Diagnostic;
use crate::survey::document::{Item, Table};
use crate::survey::model::{Bed, Machine, PointMass};

pub(super) fn read(item: Option<Item<'_>>, bed: Option<&Bed>) -> Machine {
    let Some(table) = item.and_then(|item| item.table()) else {
        return Machine::default();
    };
    let mass = table.number("mass");
    let machine = Machine {
        name: table.text("name"),
        centre_height: table.number("centre_height"),
        mass,
        headstock: headstock(&table, mass, bed),
        chuck_at: table.get("chuck_at").and_then(|item| place(&item, bed)),
        headstock_length: table.number("headstock_length"),
        distance_between_centres: table.number("distance_between_centres"),
        swing: table.number("swing"),
        bed_height: table.number("bed_height"),
    };
    table.close();
    machine
}

/// The headstock's mass and place, which only make sense together.
fn headstock(table: &Table<'_>, whole: Option<f64>, bed: Option<&Bed>) -> Option<PointMass> {
    let mass_item = table.get("headstock_mass");
    let at_item = table.get("headstock_at");
    let mass = mass_item.as_ref().and_then(Item::number);
    let at = at_item.as_ref().and_then(|item| place(item, bed));
    let alone = match (&mass_item, &at_item) {
        (Some(item), None) => Some((item, "headstock_at", "headstock_at = 350")),
        (None, Some(item)) => Some((item, "headstock_mass", "headstock_mass = \"700 kg\"")),
        _ => None,
    };
    if let Some((given, missing, example)) = alone {
        table.reader.report_missing(
            Diagnostic::new(
                given.key_span.clone(),
                format!("`{}` stands without `{missing}`", given.key),
            )
            .label(format!("`{missing}` is missing"))
            .help(format!("add a line like `{example}`, or leave both out")),
        );
    }
    let (mass, at) = (mass?, at?);
    if let (Some(item), Some(whole)) = (&mass_item, whole)
        && mass > whole
    {
        item.report(
            "the headstock is heavier than the whole machine",
            "more than `mass`",
            "`mass` is the whole machine with its headstock",
        );
        return None;
    }
    Some(PointMass { mass, at })
}
