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
use crate::survey::units::{INCH, show_length};

/// The finest part of a turn worth counting when the file does not say, turns.
const USUAL_SMALLEST_TURN: f64 = 0.25;

/// No foot of a machine bed lifts more in a turn, m; a larger value is a metric pitch read in inches.
const LARGEST_LIFT: f64 = 0.0254;

/// More feet than any bed has on one side.
const MOST_FEET: usize = 1000;

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
    let defaults = feet.and_then(|item| item.table("[feet]"));
    let defaults_span = defaults.as_ref().map(|table| table.span.clone());
    let mut drafts = match defaults {
        Some(table) => pairs::read(table, bed),
        None => Drafts::new(bed),
    };
    if let Some(table) = foot.and_then(|item| item.table("[foot.R4]")) {
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
            },
            has_lift: false,
        }
    }
}

/// The keys that `[feet]` and `[foot.NAME]` share, besides the lift.
fn own_keys(table: &Table<'_>, foot: &mut Foot) {
    if let Some(clockwise) = table.get("clockwise").and_then(|item| {
        item.choice(&[("raises", Clockwise::Raises), ("lowers", Clockwise::Lowers)])
    }) {
        foot.clockwise = clockwise;
    }
    if let Some(part) = table
        .get("smallest_turn")
        .and_then(|item| item.part_of_turn())
    {
        foot.smallest_turn = part;
    }
}

fn lift_per_turn(item: &Item<'_>) -> Option<f64> {
    let lift = item.size()?;
    if lift > LARGEST_LIFT {
        let units = item.reader.units();
        let help = if units.length() == INCH {
            format!(
                "a bare number is in inches here: write `\"{} mm\"` if it is a metric pitch",
                item.source_text()
            )
        } else {
            "write what one whole turn lifts: the pitch of the screw, or less for a wedge"
                .to_owned()
        };
        item.report(
            "no levelling foot lifts so much in one turn",
            &format!("this is {}", show_length(lift, units)),
            help,
        );
        return None;
    }
    Some(lift)
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
