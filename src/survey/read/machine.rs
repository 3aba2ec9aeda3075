//! `[machine]`.

use super::bed::place;
use crate::survey::diagnostic::Diagnostic;
use crate::survey::document::{Item, Table};
use crate::survey::model::{Bed, Machine, PointMass};

pub(super) fn read(item: Option<Item<'_>>, bed: Option<&Bed>) -> Machine {
    let Some(table) = item.and_then(|item| item.table("[machine]")) else {
        return Machine::default();
    };
    let name = table
        .get("name")
        .and_then(|item| item.text("name = \"Centre lathe\""));
    let centre_height = table.get("centre_height").and_then(|item| item.size());
    let mass = table.get("mass").and_then(|item| item.mass());
    let headstock = headstock(&table, mass, bed);
    let chuck_at = table.get("chuck_at").and_then(|item| place(&item, bed));
    let extent = |key| table.get(key).and_then(|item: Item<'_>| item.extent());
    let headstock_length = extent("headstock_length");
    let distance_between_centres = extent("distance_between_centres");
    let swing = extent("swing");
    let bed_height = extent("bed_height");
    table.close();
    Machine {
        name: name.map(str::to_owned),
        centre_height,
        mass,
        headstock,
        chuck_at,
        headstock_length,
        distance_between_centres,
        swing,
        bed_height,
    }
}

/// The headstock's mass and place, which only make sense together.
fn headstock(table: &Table<'_>, whole: Option<f64>, bed: Option<&Bed>) -> Option<PointMass> {
    let mass_item = table.get("headstock_mass");
    let at_item = table.get("headstock_at");
    let mass = mass_item.as_ref().and_then(Item::mass);
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
