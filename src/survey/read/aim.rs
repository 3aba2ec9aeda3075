//! `[aim]`.

use crate::survey::document::Item;
use crate::survey::model::{Aim, Limits, PLACE_ROUNDING};
use crate::survey::units::show_range;

pub(super) fn read(item: Option<Item<'_>>, limits: &Limits) -> Aim {
    let Some(table) = item.and_then(|item| item.table()) else {
        return Aim::default();
    };
    let crown = table.get("crown").and_then(|item| crown(&item, limits));
    let aim = Aim {
        shape: table.word("shape").unwrap_or_default(),
        crown,
        twist: table.number("twist"),
    };
    table.close();
    aim
}

/// A crown that the limits allow.
fn crown(item: &Item<'_>, limits: &Limits) -> Option<f64> {
    let crown = item.number()?;
    if let Some([lowest, highest]) = limits.crown
        && (crown < lowest - PLACE_ROUNDING || crown > highest + PLACE_ROUNDING)
    {
        let units = item.reader.units();
        item.report(
            "the crown to aim for lies outside the limits",
            &format!("`[limits]` allows {}", show_range(lowest, highest, units)),
            "aim between the limits, or widen them",
        );
        return None;
    }
    Some(crown)
}
