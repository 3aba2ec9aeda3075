//! What a pass notes beside its readings: anchors, temperatures, a round that was stopped.

use toml::de::DeValue;

use crate::survey::document::{Item, Table};
use crate::survey::model::{Conditions, Temperature};

pub(super) fn read(table: &Table<'_>) -> Conditions {
    Conditions {
        anchors: table.word("anchors"),
        temperature: table
            .get("temperature")
            .map(|item| temperature(&item))
            .unwrap_or_default(),
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
