//! `[feet]`: what all feet share, and the pairs.

use std::ops::Range;

use super::{Draft, Drafts, MOST_FEET, own_keys, signed, usual_across};
use crate::survey::document::{Item, Table};
use crate::survey::model::{Bed, Foot, Side};
use crate::survey::read::bed::place;

/// What all feet share, and the feet of the pairs.
pub(super) fn read(table: Table<'_>, bed: Option<&Bed>) -> Drafts {
    let at = table.get("at").and_then(|item| places(&item, bed));
    let spacing = table.number("spacing");
    let lift = table.get("lift_per_turn");
    let mut drafts = Drafts {
        has_lift: lift.is_some(),
        ..Drafts::new(bed)
    };
    let pattern = &mut drafts.pattern;
    pattern.across = spacing.map_or(usual_across(bed), |spacing| spacing / 2.0);
    if let Some(lift) = lift.and_then(|item| item.number()) {
        pattern.lift_per_turn = lift;
    }
    own_keys(&table, pattern);
    for (index, (at, span)) in at.unwrap_or_default().into_iter().enumerate() {
        for side in [Side::Front, Side::Rear] {
            drafts.feet.push(Draft {
                foot: Foot {
                    name: format!("{}{}", side.letter(), index + 1),
                    side,
                    at: at.unwrap_or_default(),
                    across: signed(side, drafts.pattern.across),
                    ..drafts.pattern.clone()
                },
                // A place that is wrong was reported already and takes no part in the search for equal ones.
                span: if at.is_some() { span.clone() } else { 0..0 },
                heading: table.span.clone(),
                has_lift: drafts.has_lift,
            });
        }
    }
    table.close();
    drafts
}

type Place = (Option<f64>, Range<usize>);

/// The places of the pairs.
fn places(item: &Item<'_>, bed: Option<&Bed>) -> Option<Vec<Place>> {
    let items = item.list()?;
    if items.is_empty() || items.len() > MOST_FEET {
        item.report(
            if items.is_empty() {
                "the list of feet is empty"
            } else {
                "no bed has so many feet"
            },
            &format!("{} places", items.len()),
            format!("write the place of each pair, like `{}`", item.spec.line()),
        );
        return None;
    }
    Some(
        items
            .iter()
            .map(|item| (place(item, bed), item.span.clone()))
            .collect(),
    )
}
