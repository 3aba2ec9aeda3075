//! `[bed]`, and what it means to lie on it.

use crate::survey::document::{Item, Table};
use crate::survey::model::{Bed, PLACE_ROUNDING};
use crate::survey::units::{show_length, show_range};

pub(super) fn read(table: Table<'_>) -> Option<Bed> {
    let length = table.number("length");
    let way_spacing = table.number("way_spacing");
    let held_down = table.flag("held_down");
    table.close();
    Some(Bed {
        length: length?,
        way_spacing: way_spacing?,
        held_down: held_down.unwrap_or(true),
    })
}

/// A place along the bed, m from the headstock end.
pub(super) fn place(item: &Item<'_>, bed: Option<&Bed>) -> Option<f64> {
    let at = item.number()?;
    let Some(bed) = bed else {
        return Some(at);
    };
    if at < -PLACE_ROUNDING || at > bed.length + PLACE_ROUNDING {
        let units = item.reader.units();
        item.report(
            format!("{} lies off the bed", show_length(at, units)),
            &format!("the bed is {} long", show_length(bed.length, units)),
            format!(
                "places are measured from the headstock end: {}",
                show_range(0.0, bed.length, units)
            ),
        );
        return None;
    }
    Some(at.clamp(0.0, bed.length))
}
