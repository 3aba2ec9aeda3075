//! `[feet]` and `[foot.NAME]`.

use std::ops::Range;

use toml::de::DeValue;

use super::bed::place;
use crate::survey::diagnostic::Diagnostic;
use crate::survey::document::{Item, Reader, Table};
use crate::survey::model::{Bed, Clockwise, Foot, Side};
use crate::survey::units::{INCH, show_length};

/// The finest part of a turn worth asking for when the file does not say, turns.
const USUAL_SMALLEST_TURN: f64 = 0.25;

/// No foot of a machine bed lifts more in a turn, m; a larger value is a metric pitch read in inches.
const LARGEST_LIFT: f64 = 0.0254;

/// More places than any bed has.
const MOST_PLACES: usize = 10_000;

/// Two feet nearer than this stand at the same place, m.
const SAME_PLACE: f64 = 1e-3;

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
    let mut drafts = defaults.map(|table| pairs(table, bed)).unwrap_or_default();
    if let Some(table) = foot.and_then(|item| item.table("[foot.R4]")) {
        single_feet(&table, bed, &mut drafts);
    }
    report_same_places(reader, &drafts.feet);
    report_missing_lift(reader, defaults_span, &drafts.feet);
    drafts.feet.into_iter().map(|draft| draft.foot).collect()
}

/// The feet so far, and what one outside the pairs starts from.
struct Drafts {
    feet: Vec<Draft>,
    pattern: Foot,
    has_lift: bool,
}

impl Default for Drafts {
    fn default() -> Self {
        Self {
            feet: Vec::new(),
            pattern: Foot {
                name: String::new(),
                side: Side::Front,
                at: 0.0,
                across: 0.0,
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

fn pairs(table: Table<'_>, bed: Option<&Bed>) -> Drafts {
    let at = table.get("at").and_then(|item| places(&item, bed));
    let spacing_item = table.get("spacing");
    let spacing = spacing_item
        .and_then(|item| item.extent())
        .or(bed.map(|bed| bed.way_spacing));
    let lift = table.get("lift_per_turn");
    let mut drafts = Drafts {
        has_lift: lift.is_some(),
        ..Drafts::default()
    };
    let pattern = &mut drafts.pattern;
    pattern.across = spacing.unwrap_or_default() / 2.0;
    if let Some(lift) = lift.and_then(|item| lift_per_turn(&item)) {
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

type Place = (Option<f64>, Range<usize>);

/// The places of the pairs.
fn places(item: &Item<'_>, bed: Option<&Bed>) -> Option<Vec<Place>> {
    const EXAMPLE: &str = "at = [120, 980, 1840, 2700]";
    let items = item.list(EXAMPLE)?;
    if items.is_empty() || items.len() > MOST_PLACES {
        item.report(
            if items.is_empty() {
                "the list of feet is empty"
            } else {
                "no bed has so many feet"
            },
            &format!("{} places", items.len()),
            format!("write the place of each pair, like `{EXAMPLE}`"),
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

/// `[foot.NAME]`, for feet of the pairs and others.
fn single_feet(table: &Table<'_>, bed: Option<&Bed>, drafts: &mut Drafts) {
    let pairs = drafts.feet.len();
    let mut overridden: Vec<usize> = Vec::new();
    let mut has_nameless = false;
    for item in table.items() {
        if !matches!(item.value, DeValue::Table(_)) {
            has_nameless = true;
            continue;
        }
        let heading = format!("[foot.{}]", item.key);
        let Some(table) = item.table(&heading) else {
            continue;
        };
        let known = drafts
            .feet
            .iter()
            .position(|draft| draft.foot.name.eq_ignore_ascii_case(item.key));
        match known {
            Some(index) if index < pairs && !overridden.contains(&index) => {
                overridden.push(index);
                override_foot(table, bed, &mut drafts.feet[index]);
            }
            Some(index) => {
                table.reader.report(
                    Diagnostic::new(
                        item.key_span.clone(),
                        format!("foot `{}` is described twice", drafts.feet[index].foot.name),
                    )
                    .label("the second time")
                    .help("upper and lower case count as the same: keep one of the two"),
                );
            }
            None => {
                let draft = outside_foot(&item, table, bed, drafts, pairs);
                drafts.feet.push(draft);
            }
        }
    }
    if has_nameless {
        table.reader.lose_names();
        table.reader.report(
            Diagnostic::new(table.span.clone(), "a foot stands under its own name")
                .label("no name")
                .help(
                    "head its table with the foot's name, such as `[foot.R4]`; what all feet share stands in \
                     `[feet]`",
                ),
        );
    }
}

fn override_foot(table: Table<'_>, bed: Option<&Bed>, draft: &mut Draft) {
    let side = table.get("side");
    if let Some(item) = &side
        && let Some(side) = side_of(item)
        && side != draft.foot.side
    {
        item.report(
            format!(
                "`{}` is a {} foot by its name",
                draft.foot.name,
                side_name(draft.foot.side)
            ),
            "the other side",
            "leave `side` out, or give the foot another name",
        );
    }
    if let Some(item) = table.get("at")
        && let Some(at) = place(&item, bed)
    {
        draft.foot.at = at;
        draft.span = item.span;
    }
    let side = draft.foot.side;
    if let Some(across) = table.get("across").and_then(|item| across(&item, side)) {
        draft.foot.across = across;
    }
    single_keys(&table, draft);
    table.close();
}

/// A foot that is not of the pairs.
fn outside_foot(
    item: &Item<'_>,
    table: Table<'_>,
    bed: Option<&Bed>,
    drafts: &Drafts,
    pairs: usize,
) -> Draft {
    let side_item = table.get("side");
    let at_item = table.get("at");
    if side_item.is_none() || at_item.is_none() {
        report_not_placed(
            item,
            side_item.is_some(),
            at_item.is_some(),
            &drafts.feet[..pairs],
        );
    }
    let side = side_item.as_ref().and_then(side_of).unwrap_or(Side::Front);
    let at = at_item.as_ref().and_then(|item| place(item, bed));
    let across = table.get("across").and_then(|item| across(&item, side));
    let usual_across = if drafts.pattern.across > 0.0 {
        drafts.pattern.across
    } else {
        bed.map_or(0.0, |bed| bed.way_spacing / 2.0)
    };
    let mut draft = Draft {
        foot: Foot {
            name: item.key.to_owned(),
            side,
            at: at.unwrap_or_default(),
            across: across.unwrap_or(signed(side, usual_across)),
            ..drafts.pattern.clone()
        },
        span: match (&at_item, at) {
            (Some(item), Some(_)) => item.span.clone(),
            _ => 0..0,
        },
        heading: table.span.clone(),
        has_lift: drafts.has_lift,
    };
    single_keys(&table, &mut draft);
    table.close();
    draft
}

fn report_not_placed(item: &Item<'_>, has_side: bool, has_at: bool, pairs: &[Draft]) {
    let missing = match (has_side, has_at) {
        (false, false) => "`side` and `at` are missing",
        (false, true) => "`side` is missing",
        _ => "`at` is missing",
    };
    let diagnostic = Diagnostic::new(
        item.key_span.clone(),
        format!("`{}` is not a foot of the pairs", item.key),
    )
    .label(missing);
    let elsewhere = "a foot outside the pairs needs `side = \"front\"` or `side = \"rear\"`, and its place `at`";
    let help = match (pairs.first(), pairs.last()) {
        (Some(first), Some(last)) => format!(
            "the pairs are `{}` to `{}`; {elsewhere}",
            first.foot.name, last.foot.name
        ),
        _ => elsewhere.to_owned(),
    };
    item.reader.report_missing(diagnostic.help(help));
}

/// The keys that only `[foot.NAME]` has, and those it shares.
fn single_keys(table: &Table<'_>, draft: &mut Draft) {
    if let Some(item) = table.get("lift_per_turn") {
        draft.has_lift = true;
        if let Some(lift) = lift_per_turn(&item) {
            draft.foot.lift_per_turn = lift;
        }
    }
    own_keys(table, &mut draft.foot);
    draft.foot.lowest_turns = table
        .get("lowest_turns")
        .and_then(|item| travel(&item, -1.0));
    draft.foot.highest_turns = table
        .get("highest_turns")
        .and_then(|item| travel(&item, 1.0));
}

/// Travel left from now, turns, downwards (`sense` −1) or upwards (+1).
fn travel(item: &Item<'_>, sense: f64) -> Option<f64> {
    let (example, way) = if sense < 0.0 {
        ("lowest_turns = -3", "downwards, so it is zero or negative")
    } else {
        ("highest_turns = 2", "upwards, so it is zero or positive")
    };
    let turns = item.number("a number of turns", example)?;
    if turns * sense < 0.0 {
        item.report(
            format!("`{}` counts turns {way}", item.key),
            "wrong sign",
            format!(
                "write `{} = {}`",
                item.key,
                crate::survey::units::short_number(-turns, 6)
            ),
        );
        return None;
    }
    Some(turns)
}

fn side_of(item: &Item<'_>) -> Option<Side> {
    item.choice(&[("front", Side::Front), ("rear", Side::Rear)])
}

fn side_name(side: Side) -> &'static str {
    match side {
        Side::Front => "front",
        Side::Rear => "rear",
    }
}

fn signed(side: Side, across: f64) -> f64 {
    match side {
        Side::Front => across,
        Side::Rear => 0.0 - across,
    }
}

/// Distance from the centre line towards the foot's own side, given the sign of that side.
fn across(item: &Item<'_>, side: Side) -> Option<f64> {
    let across = item.length()?;
    if across < 0.0 {
        item.report(
            "`across` is measured from the centre line towards the foot's own side",
            "less than zero",
            "write it without a sign; `side` says where it is",
        );
        return None;
    }
    Some(signed(side, across))
}

/// Reports feet that stand where another one does, each place once.
fn report_same_places(reader: &Reader<'_>, feet: &[Draft]) {
    let mut order: Vec<&Draft> = feet.iter().filter(|draft| !draft.span.is_empty()).collect();
    order.sort_by(|one, other| {
        let key = |draft: &Draft| (draft.foot.side, draft.foot.at);
        let ((side, at), (other_side, other_at)) = (key(one), key(other));
        side.cmp(&other_side).then(at.total_cmp(&other_at))
    });
    let mut reported: Vec<Range<usize>> = Vec::new();
    for pair in order.windows(2) {
        let [one, other] = pair else { continue };
        let apart = (one.foot.at - other.foot.at).hypot(one.foot.across - other.foot.across);
        if apart >= SAME_PLACE {
            continue;
        }
        let (first, second) = if one.span.start <= other.span.start {
            (one, other)
        } else {
            (other, one)
        };
        if reported.contains(&second.span) {
            continue;
        }
        reported.push(second.span.clone());
        reader.report(
            Diagnostic::new(
                second.span.clone(),
                format!(
                    "`{}` stands where `{}` does",
                    second.foot.name, first.foot.name
                ),
            )
            .label("the same place")
            .help("give every foot its own place along the bed"),
        );
    }
}

/// Reports feet of which nobody said what a turn lifts: once for all when there is a table for all.
fn report_missing_lift(reader: &Reader<'_>, defaults: Option<Range<usize>>, feet: &[Draft]) {
    const EXAMPLE: &str = "add a line like `lift_per_turn = 1.5`, what one whole turn lifts";
    let Some(draft) = feet.iter().find(|draft| !draft.has_lift) else {
        return;
    };
    let (span, title) = match defaults {
        Some(span) => (span, "`[feet]` has no `lift_per_turn`".to_owned()),
        None => (
            draft.heading.clone(),
            format!("`{}` has no `lift_per_turn`", draft.foot.name),
        ),
    };
    reader.report_missing(
        Diagnostic::new(span, title)
            .label("`lift_per_turn` is missing")
            .help(EXAMPLE),
    );
}
