//! What a pass notes beside its readings: anchors and temperatures.

use toml::de::DeValue;

use crate::survey::document::{Item, Table};
use crate::survey::model::{Anchors, Conditions, Temperature};

/// No workshop is colder, °C.
const COLDEST: f64 = -40.0;
/// No workshop is hotter, °C.
const HOTTEST: f64 = 60.0;

const EXAMPLE: &str = "temperature = 19.5";

pub(super) fn read(table: &Table<'_>) -> Conditions {
    let anchors = table.get("anchors").and_then(|item| {
        item.choice(&[
            ("slack", Anchors::Slack),
            ("pulled down", Anchors::PulledDown),
        ])
    });
    let temperature = table
        .get("temperature")
        .map(|item| temperature(&item))
        .unwrap_or_default();
    Conditions {
        anchors,
        temperature,
    }
}

/// One temperature, or those of the bed's upper and lower side.
fn temperature(item: &Item<'_>) -> Temperature {
    if !matches!(item.value, DeValue::Table(_)) {
        return Temperature {
            air: degrees(item, EXAMPLE),
            ..Temperature::default()
        };
    }
    let Some(table) = item.table("temperature") else {
        return Temperature::default();
    };
    let get = |key| {
        table
            .get(key)
            .and_then(|item: Item<'_>| degrees(&item, "temperature = { top = 21, below = 19.5 }"))
    };
    let read = Temperature {
        air: get("air"),
        top: get("top"),
        below: get("below"),
    };
    table.close();
    read
}

/// A temperature, °C.
fn degrees(item: &Item<'_>, example: &str) -> Option<f64> {
    let value = item.number("a number of degrees Celsius", example)?;
    if !(COLDEST..=HOTTEST).contains(&value) {
        item.report(
            "no machine is read at this temperature",
            "degrees Celsius",
            format!("write degrees Celsius, like `{example}`"),
        );
        return None;
    }
    Some(value)
}
