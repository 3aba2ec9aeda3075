//! `[foot.NAME]`: what differs for one foot, and feet outside the pairs.

use std::collections::HashMap;

use toml::de::DeValue;

use super::{Draft, Drafts, MOST_FEET, own_keys, signed};
use crate::survey::diagnostic::{Diagnostic, count};
use crate::survey::document::{Item, Table};
use crate::survey::keys::Word;
use crate::survey::model::{Bed, Foot, Side};
use crate::survey::read::bed::place;

/// Every `[foot.NAME]`, for feet of the pairs and others.
pub(super) fn read(table: &Table<'_>, bed: Option<&Bed>, drafts: &mut Drafts) {
    let pairs = drafts.feet.len();
    if table.items().count() > pairs + MOST_FEET {
        report_too_many(table);
        return;
    }
    let mut by_name: HashMap<String, usize> = drafts
        .feet
        .iter()
        .enumerate()
        .map(|(index, draft)| (draft.foot.name.to_ascii_uppercase(), index))
        .collect();
    let mut is_described = vec![false; pairs];
    let mut has_nameless = false;
    for item in table.items() {
        if !matches!(item.value, DeValue::Table(_)) {
            has_nameless = true;
            continue;
        }
        let heading = format!("[foot.{}]", item.key);
        let (Some(table), true) = (item.table_called(&heading), item.has_good_name("foot")) else {
            continue;
        };
        let name = item.key.to_ascii_uppercase();
        match by_name.get(&name) {
            Some(&index) if is_described[index] => report_twice(&item, &drafts.feet[index].foot),
            Some(&index) => {
                is_described[index] = true;
                override_foot(table, bed, &mut drafts.feet[index]);
            }
            None => {
                by_name.insert(name, drafts.feet.len());
                is_described.push(true);
                let draft = outside_foot(&item, table, bed, drafts, pairs);
                drafts.feet.push(draft);
            }
        }
    }
    if has_nameless {
        table.reader.lose_names();
        report_nameless(table);
    }
}

fn report_too_many(table: &Table<'_>) {
    let number = count(table.items().count(), "foot", "feet");
    table.reader.report(
        Diagnostic::new(table.span.clone(), "no bed has so many feet")
            .label(format!("{number} outside `[feet]`"))
            .help("describe the feet that differ; the pairs stand in `[feet]`"),
    );
}

fn report_twice(item: &Item<'_>, foot: &Foot) {
    item.reader.report(
        Diagnostic::new(
            item.key_span.clone(),
            format!("foot `{}` is described twice", foot.name),
        )
        .label("the second time")
        .help("upper and lower case count as the same: keep one of the two"),
    );
}

fn report_nameless(table: &Table<'_>) {
    table.reader.report(
        Diagnostic::new(table.span.clone(), "a foot stands under its own name")
            .label("no name")
            .help(
                "head its table with the foot's name, such as `[foot.R4]`; what all feet share stands in `[feet]`",
            ),
    );
}

fn override_foot(table: Table<'_>, bed: Option<&Bed>, draft: &mut Draft) {
    let side = table.get("side");
    if let Some(item) = &side
        && let Some(side) = item.word::<Side>()
        && side != draft.foot.side
    {
        item.report(
            format!(
                "`{}` is a {} foot by its name",
                draft.foot.name,
                draft.foot.side.word()
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
    if let Some(across) = table.number("across") {
        draft.foot.across = signed(side, across);
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
    let side = side_item
        .as_ref()
        .and_then(Item::word)
        .unwrap_or(Side::Front);
    let at = at_item.as_ref().and_then(|item| place(item, bed));
    let across = table.number("across");
    let mut draft = Draft {
        foot: Foot {
            name: item.key.to_owned(),
            side,
            at: at.unwrap_or_default(),
            across: signed(side, across.unwrap_or(drafts.pattern.across)),
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
        if let Some(lift) = item.number() {
            draft.foot.lift_per_turn = lift;
        }
    }
    own_keys(table, &mut draft.foot);
    draft.foot.lowest_turns = table.number("lowest_turns");
    draft.foot.highest_turns = table.number("highest_turns");
}
