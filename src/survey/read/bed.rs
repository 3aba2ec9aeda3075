//! `[bed]`, and what it means to lie on it.

use crate::survey::document::{Item, Table};
use crate::survey::model::{Bed, PLACE_ROUNDING};
use crate::survey::units::{show_length, show_range};

pub(super) fn read(table: Table<'_>) -> Option<Bed> {
    let length = table.number("length");
    let way_spacing = table.number("way_spacing");
    let held_down = table.flag("held_down");
    let bed = length.zip(way_spacing).map(|(length, way_spacing)| Bed {
        length,
        way_spacing,
        held_down,
        free: [0.0, length],
    });
    let from = table.get("ways_from");
    let to = table.get("ways_to");
    table.close();
    let end = |item: &Option<Item<'_>>| item.as_ref().and_then(|item| place(item, bed.as_ref()));
    let (first, last) = (end(&from), end(&to));
    let mut bed = bed?;
    bed.free = [first.unwrap_or(0.0), last.unwrap_or(bed.length)];
    if bed.free[0] >= bed.free[1] {
        bed.free = [0.0, bed.length];
        if let Some(item) = from.or(to) {
            item.report(
                "the free ways end before they begin",
                "nothing of the ways is free",
                "`ways_from` and `ways_to` are measured from the headstock end; `ways_to` is the larger one",
            );
        }
    }
    Some(bed)
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
