//! `[feet]` and `[foot.NAME]`.
//!
//! * [`pairs`] reads what all feet share and the places of the pairs.
//! * [`single`] reads what differs for one foot, and feet outside the pairs.
//! * [`checks`] holds what must be right for all feet together.

mod checks;
mod pairs;
mod single;

use std::ops::Range;

use crate::survey::document::{Item, Reader, Table};
use crate::survey::model::{Bed, Clockwise, Foot, Side};

/// The finest part of a turn worth counting when the file does not say, turns.
const USUAL_SMALLEST_TURN: f64 = 0.25;

/// More pairs of feet than any bed has, and more feet outside of them: the rails of a portal have some sixty pairs.
const MOST_FEET: usize = 100;

/// A foot as far as it is known.
struct Draft {
    foot: Foot,
    /// Where its place is written.
    span: Range<usize>,
    /// Where it is described.
    heading: Range<usize>,
    has_lift: bool,
}

pub(super) fn read(
    feet: Option<Item<'_>>,
    foot: Option<Item<'_>>,
    bed: Option<&Bed>,
    reader: &Reader<'_>,
) -> Vec<Foot> {
    let defaults = feet.and_then(|item| item.table());
    let defaults_span = defaults.as_ref().map(|table| table.span.clone());
    let mut drafts = match defaults {
        Some(table) => pairs::read(table, bed),
        None => Drafts::new(bed),
    };
    if let Some(table) = foot.and_then(|item| item.table()) {
        single::read(&table, bed, &mut drafts);
    }
    checks::report_same_places(reader, &drafts.feet);
    checks::report_missing_lift(reader, defaults_span, &drafts.feet);
    drafts.feet.into_iter().map(|draft| draft.foot).collect()
}

/// The feet so far, and what one outside the pairs starts from.
struct Drafts {
    feet: Vec<Draft>,
    pattern: Foot,
    has_lift: bool,
}

impl Drafts {
    fn new(bed: Option<&Bed>) -> Self {
        Self {
            feet: Vec::new(),
            pattern: Foot {
                name: String::new(),
                side: Side::Front,
                at: 0.0,
                across: usual_across(bed),
                lift_per_turn: 0.0,
                clockwise: Clockwise::default(),
                smallest_turn: USUAL_SMALLEST_TURN,
                lowest_turns: None,
                highest_turns: None,
                kind: None,
                hold_down: bed.and_then(|bed| bed.held_down),
                lock_nut: None,
            },
            has_lift: false,
        }
    }
}

/// The keys that `[feet]` and `[foot.NAME]` share, besides the lift.
fn own_keys(table: &Table<'_>, foot: &mut Foot) {
    if let Some(clockwise) = table.word("clockwise") {
        foot.clockwise = clockwise;
    }
    if let Some(part) = table.number("smallest_turn") {
        foot.smallest_turn = part;
    }
    foot.kind = table.word("kind").or(foot.kind);
    foot.hold_down = table.flag("hold_down").or(foot.hold_down);
    foot.lock_nut = table.flag("lock_nut").or(foot.lock_nut);
}

/// Distance of the feet from the centre line when the file does not say, m.
fn usual_across(bed: Option<&Bed>) -> f64 {
    /// Any distance keeps the two feet of a pair apart while the bed, whose lack is reported, is unknown.
    const UNKNOWN: f64 = 0.5;
    bed.map_or(UNKNOWN, |bed| bed.way_spacing / 2.0)
}

fn signed(side: Side, across: f64) -> f64 {
    match side {
        Side::Front => across,
        Side::Rear => 0.0 - across,
    }
}
