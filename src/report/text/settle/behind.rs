//! What lies behind a change: where it is, and what the temperatures say.

use super::super::page::Page;
use super::super::prose::{Prose, TIE};
use super::super::scale::{Scale, place_number};
use super::super::table::Table;
use super::super::words;
use super::{scale_of, telling_step};
use crate::report::SettleReport;
use crate::settle::{Moved, Quantity, Step};
use crate::survey::LengthUnit;
use crate::survey::units::short_number;

/// A table of what changed where.
pub(super) fn changes(page: &mut Page, step: &Step, moved: &Moved, units: LengthUnit) {
    let Some(largest) = moved.places.iter().map(|place| place.u95).reduce(f64::max) else {
        return;
    };
    let span = format!("pass {} to {}", step.from + 1, step.to + 1);
    let scale = scale_of(moved.quantity, units, largest);
    page.heading(&match moved.quantity {
        Quantity::Twist => {
            format!("Across, {span}: front came up (+) or went down (-) against the mean")
        }
        Quantity::Crown(side) => format!(
            "{} way, {span}: came up (+) or went down (-) against its ends",
            if words::side(side) == "front" {
                "Front"
            } else {
                "Rear"
            }
        ),
    });
    let mut table = Table::new([
        format!("at\n{}", units.length().name()),
        format!("change\n{}", scale.unit()),
        format!("give or take\n{}", scale.unit()),
        String::new(),
    ]);
    for place in &moved.places {
        table.row([
            place_number(place.at, units),
            scale.signed(place.change),
            scale.number(place.u95),
            if place.is_real() { "moved" } else { "" }.to_owned(),
        ]);
    }
    page.table(&table);
}

/// What the temperatures say.
pub(super) fn warmth(report: &SettleReport, units: LengthUnit) -> Vec<Prose> {
    let Some(step) = telling_step(report) else {
        return Vec::new();
    };
    let mut notes = Vec::new();
    let warmth = step.warmth;
    if let Some(kelvin) = warmth.worth_a_word() {
        let warmer = if kelvin > 0.0 { "warmer" } else { "colder" };
        let words = format!(
            "Against its underside the bed's top was {}{TIE}K {warmer} in pass{TIE}{} than in pass{TIE}{}",
            short_number(kelvin.abs(), 1),
            step.to + 1,
            step.from + 1
        );
        notes.push(Prose::from(match warmth.crown {
            Some(crown) => {
                let scale = Scale::lengths(units, 0.0);
                format!(
                    "{words}: that alone is {} of {}, and is taken off. Wait until it has evened out before turning anything.",
                    scale.with_unit(crown.value.abs()),
                    words::form(crown.value)
                )
            }
            None => format!(
                "{words}, which bows it. Wait until it has evened out; `bed_height` under [machine] tells by how much."
            ),
        }));
    }
    if warmth.air_differs() {
        let air = short_number(warmth.air.unwrap_or(0.0).abs(), 1);
        notes.push(Prose::from(format!(
            "It was {air}{TIE}K warmer in one of the two passes: read at the same temperature to be sure.",
        )));
    }
    notes
}
