//! `[[cut]]`: test bars turned in the chuck, and `[[between_centres]]`: bars turned between centres.

use super::bed::place;
use super::collars::{self, Writing};
use crate::survey::document::{Item, Table};
use crate::survey::model::{BarHeld, Bed, Collar, Cut, Side};
use crate::survey::units::show_length;

const IN_CHUCK: Writing = Writing {
    place: "from_chuck",
    example: "collars = [{ from_chuck = 30, diameter = 60.012 }, { from_chuck = 280, diameter = 60.004 }]",
    place_example: "from_chuck = 30",
};

const BETWEEN_CENTRES: Writing = Writing {
    place: "from_headstock",
    example: "collars = [{ from_headstock = 40, diameter = 60.012 }, { from_headstock = 960, diameter = 60.004 }]",
    place_example: "from_headstock = 40",
};

pub(super) fn read(
    in_chuck: Option<Item<'_>>,
    between_centres: Option<Item<'_>>,
    bed: Option<&Bed>,
) -> Vec<Cut> {
    let tables = |item: Option<Item<'_>>, heading: &str| match item {
        Some(item) => item
            .tables(heading)
            .into_iter()
            .map(|table| cut(table, bed, heading == "[[between_centres]]"))
            .collect(),
        None => Vec::new(),
    };
    let mut cuts: Vec<Option<Cut>> = tables(in_chuck, "[[cut]]");
    cuts.extend(tables(between_centres, "[[between_centres]]"));
    cuts.into_iter().flatten().collect()
}

fn cut(table: Table<'_>, bed: Option<&Bed>, between_centres: bool) -> Option<Cut> {
    let writing = if between_centres {
        BETWEEN_CENTRES
    } else {
        IN_CHUCK
    };
    let taken = table.get("taken").and_then(|item| item.date());
    let collars_item = table.need("collars", writing.example);
    let (collars, differences) = collars_item
        .as_ref()
        .map(|item| collars::read(item, writing))
        .unwrap_or_default();
    let held = if between_centres {
        between_centres_of(&table, bed, collars_item.as_ref(), &collars)
    } else {
        Some(in_chuck_of(&table, bed, collars_item.as_ref(), &collars))
    };
    let tool = table
        .get("tool")
        .and_then(|item| item.choice(&[("front", Side::Front), ("rear", Side::Rear)]));
    let micrometer = table.get("micrometer").and_then(|item| item.size());
    let sagged = table.get("sagged").and_then(|item| item.flag());
    let note = table
        .get("note")
        .and_then(|item| item.text("note = \"after lunch, door shut\""));
    table.close();
    Some(Cut {
        taken: taken.map(|date| date.value),
        held: held?,
        tool: tool.unwrap_or(Side::Front),
        collars,
        differences,
        micrometer,
        sagged: sagged.unwrap_or(false),
        note: note.map(str::to_owned),
    })
}

fn in_chuck_of(
    table: &Table<'_>,
    bed: Option<&Bed>,
    list: Option<&Item<'_>>,
    collars: &[Collar],
) -> BarHeld {
    let overhang_item = table.get("overhang");
    let overhang = overhang_item.as_ref().and_then(Item::extent);
    if let (Some(item), Some(overhang)) = (&overhang_item, overhang) {
        beyond(item, overhang, collars, "the bar");
    }
    let chuck_at_item = table.get("chuck_at");
    let chuck_at = chuck_at_item.as_ref().and_then(|item| place(item, bed));
    if let (Some(list), Some(chuck_at), Some(bed)) = (list, chuck_at, bed) {
        off_the_bed(list, chuck_at, farthest(collars), bed);
    }
    let tailstock_used = table.get("tailstock_used").and_then(|item| item.flag());
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
    let length_item = table.need("length", "length = 1000");
    let length = length_item.as_ref().and_then(Item::extent);
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
