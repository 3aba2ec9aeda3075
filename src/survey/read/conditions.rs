//! What a pass notes beside its readings: anchors, temperatures, what stood where, a round that was stopped.

use toml::de::DeValue;

use super::bed::place;
use super::packing;
use crate::survey::document::{Item, Table};
use crate::survey::model::{Bed, Conditions, Temperature};

/// Those of a pass; what lasts until somebody changes it is as in the pass `before`.
pub(super) fn read(table: &Table<'_>, bed: Option<&Bed>, before: Conditions) -> Conditions {
    let at = |key| table.get(key).and_then(|item| place(&item, bed));
    Conditions {
        carriage_at: at("carriage_at").or(before.carriage_at),
        tailstock_at: at("tailstock_at").or(before.tailstock_at),
        chuck_on: table.flag("chuck_on").or(before.chuck_on),
        coolant_in: table.flag("coolant_in").or(before.coolant_in),
        spindle_stopped: table.number("spindle_stopped"),
        anchors: table.word("anchors"),
        temperature: table
            .get("temperature")
            .map(|item| temperature(&item))
            .unwrap_or_default(),
        packing: packing::read(table),
        unfinished: table.flag("unfinished").unwrap_or(false),
    }
}

/// One temperature, or those of the bed's upper and lower side.
fn temperature(item: &Item<'_>) -> Temperature {
    if !matches!(item.value, DeValue::Table(_)) {
        return Temperature {
            air: item.number(),
            ..Temperature::default()
        };
    }
    let Some(table) = item.table() else {
        return Temperature::default();
    };
    let read = Temperature {
        air: table.number("air"),
        top: table.number("top"),
        below: table.number("below"),
    };
    table.close();
    read
}
