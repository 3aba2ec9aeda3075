//! `[[cut]]`: test bars turned in the chuck, and `[[between_centres]]`: bars turned between centres.

use super::bed::place;
use super::collars;
use crate::survey::document::{Item, Table};
use crate::survey::model::{BarHeld, Bed, Collar, Cut, Face, Side};
use crate::survey::units::show_length;

pub(super) fn read(
    in_chuck: Option<Item<'_>>,
    between_centres: Option<Item<'_>>,
    bed: Option<&Bed>,
) -> Vec<Cut> {
    let cuts = |item: Option<Item<'_>>, between_centres| {
        let tables = item.map(|item| item.tables()).unwrap_or_default();
        tables
            .into_iter()
            .filter_map(move |table| cut(table, bed, between_centres))
            .collect::<Vec<_>>()
    };
    [cuts(in_chuck, false), cuts(between_centres, true)].concat()
}

/// Faced discs.
pub(super) fn faces(item: Option<Item<'_>>) -> Vec<Face> {
    let tables = item.map(|item| item.tables()).unwrap_or_default();
    tables.into_iter().filter_map(face).collect()
}

fn face(table: Table<'_>) -> Option<Face> {
    let taken = table.date("taken");
    let (hollow, diameter) = (table.number("hollow"), table.number("diameter"));
    let tool = table.word("tool");
    let note = table.text("note");
    table.close();
    Some(Face {
        taken: taken.map(|date| date.value),
        hollow: hollow?,
        diameter: diameter?,
        tool: tool.unwrap_or(Side::Front),
        note,
    })
}

fn cut(table: Table<'_>, bed: Option<&Bed>, between_centres: bool) -> Option<Cut> {
    let taken = table.date("taken");
    let collars_item = table.get("collars");
    let place_key = if between_centres {
        "from_headstock"
    } else {
        "from_chuck"
    };
    let (collars, differences) = collars_item
        .as_ref()
        .map(|item| collars::read(item, place_key))
        .unwrap_or_default();
    let held = if between_centres {
        between_centres_of(&table, bed, collars_item.as_ref(), &collars)
    } else {
        Some(in_chuck_of(&table, bed, collars_item.as_ref(), &collars))
    };
    let tool = table.word("tool");
    let micrometer = table.number("micrometer");
    let force = table.number("force");
    let bar_diameter = table.number("bar_diameter");
    let sagged = table.flag("sagged");
    let note = table.text("note");
    table.close();
    Some(Cut {
        taken: taken.map(|date| date.value),
        held: held?,
        tool: tool.unwrap_or(Side::Front),
        collars,
        differences,
        micrometer,
        force,
        bar_diameter,
        sagged: sagged.unwrap_or(false),
        note,
    })
}

fn in_chuck_of(
    table: &Table<'_>,
    bed: Option<&Bed>,
    list: Option<&Item<'_>>,
    collars: &[Collar],
) -> BarHeld {
    let overhang_item = table.get("overhang");
    let overhang = overhang_item.as_ref().and_then(Item::number);
    if let (Some(item), Some(overhang)) = (&overhang_item, overhang) {
        beyond(item, overhang, collars, "the bar");
    }
    let chuck_at_item = table.get("chuck_at");
    let chuck_at = chuck_at_item.as_ref().and_then(|item| place(item, bed));
    if let (Some(list), Some(chuck_at), Some(bed)) = (list, chuck_at, bed) {
        off_the_bed(list, chuck_at, farthest(collars), bed);
    }
    let tailstock_used = table.flag("tailstock_used");
    BarHeld::InChuck {
        chuck_at,
        overhang,
        tailstock_used: tailstock_used.unwrap_or(false),
    }
}

fn between_centres_of(
    table: &Table<'_>,
    bed: Option<&Bed>,
    list: Option<&Item<'_>>,
    collars: &[Collar],
) -> Option<BarHeld> {
    let length_item = table.get("length");
    let length = length_item.as_ref().and_then(Item::number);
    let centre_at = table.get("centre_at").and_then(|item| place(&item, bed));
    if let (Some(item), Some(length)) = (&length_item, length) {
        beyond(item, length, collars, "the bar");
    }
    if let (Some(list), Some(centre_at), Some(length), Some(bed)) = (list, centre_at, length, bed) {
        off_the_bed(list, centre_at, length, bed);
    }
    Some(BarHeld::BetweenCentres {
        centre_at,
        length: length?,
    })
}

/// The collar farthest from the chuck, m.
fn farthest(collars: &[Collar]) -> f64 {
    collars
        .iter()
        .map(|collar| collar.from_chuck)
        .fold(0.0, f64::max)
}

/// Reports a collar that lies beyond the end of its bar.
fn beyond(item: &Item<'_>, length: f64, collars: &[Collar], what: &str) {
    let farthest = farthest(collars);
    if farthest > length {
        let units = item.reader.units();
        item.report(
            format!("a collar lies beyond the end of {what}"),
            &format!("the farthest collar is at {}", show_length(farthest, units)),
            "both are measured from the same place; look at the two numbers again",
        );
    }
}

/// Reports work that would reach beyond the bed.
fn off_the_bed(list: &Item<'_>, start: f64, length: f64, bed: &Bed) {
    if start + length > bed.length {
        let units = list.reader.units();
        list.report(
            "the work would end beyond the bed",
            &format!(
                "{} from {} on, and the bed is {} long",
                show_length(length, units),
                show_length(start, units),
                show_length(bed.length, units)
            ),
            "`chuck_at` and `centre_at` are measured along the bed from the headstock end",
        );
    }
}
