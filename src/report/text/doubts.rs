//! What speaks against the readings: one that does not fit, lines that do not close, a level that drifted,
//! bubbles off the scale.

use super::advice;
use super::page::Page;
use super::prose::{Prose, TIE, Tone};
use super::scale::place;
use super::turning::decimal_reading;
use super::words;
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::warmth::{WORTH_A_WORD, top_over_below};
use crate::geometry::{Slip, Suspect};
use crate::report::ShapeReport;
use crate::survey::units::short_number;
use crate::survey::{LengthUnit, format_entry, format_reading};

/// What becomes of a reading that is suspected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Used {
    /// It counts like any other.
    AsItStands,
    /// What is planned does without it.
    NotAtAll,
}

/// One paragraph for each doubt; nothing where there is none.
pub(super) fn doubts(page: &mut Page, report: &ShapeReport, units: LengthUnit, used: Used) {
    let paragraphs = [
        suspect(report, units, used),
        rough(report, units),
        misfit(report),
        drift(report, units),
        off_scale(report),
        warm(report, units),
    ];
    for paragraph in paragraphs.into_iter().flatten() {
        page.gap();
        page.paragraph(&paragraph);
    }
}

/// The reading to look at again, and those that cannot be told from it.
fn suspect(report: &ShapeReport, units: LengthUnit, used: Used) -> Option<Prose> {
    let suspect = report.suspects.suspect()?;
    let mut prose = Prose::new()
        .toned(Tone::Doubt, "Look again")
        .plain(format!(" at the {}", named(report, suspect, units)));
    for rival in report.suspects.rivals() {
        prose = prose.plain(format!(", or at the {}", named(report, rival, units)));
    }
    let rivals = !report.suspects.rivals().is_empty();
    Some(prose.plain(format!(
        ".{} {}",
        if rivals {
            " One of them does not fit the others; the readings cannot tell which."
        } else {
            " It does not fit the others."
        },
        match used {
            Used::NotAtAll if suspect.slip != Slip::TurnedBetweenLines => {
                "The turns do without it."
            }
            _ => "It was used as it stands.",
        }
    )))
}

/// A place where only a smooth bed speaks against what was read.
fn rough(report: &ShapeReport, units: LengthUnit) -> Option<Prose> {
    let rough = report.suspects.rough.as_ref()?;
    Some(Prose::new().toned(Tone::Doubt, "Rough").plain(format!(
        " at the {} reading at{TIE}{}: it stands out from its neighbours. No other reading speaks against it.",
        words::reading_of(rough.line, rough.reversed),
        place(rough.at, units)
    )))
}

/// A reading, what was read and what would fit.
fn named(report: &ShapeReport, suspect: &Suspect, units: LengthUnit) -> String {
    let line = words::reading_of(suspect.line, suspect.reversed);
    let at = place(suspect.at, units);
    let read = report.pass.readings.get(suspect.reading).map_or_else(
        || decimal_reading(suspect.line, suspect.read),
        |reading| format_entry(suspect.line, &reading.entry),
    );
    let likely = format_reading(
        suspect.line,
        suspect.likely,
        report.adjustment.observations().step,
    );
    let slip = match suspect.slip {
        Slip::Side => " (the other letter)",
        Slip::TenDivisions => " (ten divisions miscounted)",
        Slip::OneDivision => " (one division miscounted)",
        Slip::Neighbours => " (swapped with its neighbour)",
        Slip::TurnedBetweenLines => {
            return format!(
                "{line} line: it reads as if the level was turned end for end before that line"
            );
        }
        Slip::Unknown => "",
    };
    format!("{line} reading at{TIE}{at}: {read} was read, {likely} would fit{slip}")
}

/// A pass whose readings fit each other worse than they scatter.
fn misfit(report: &ShapeReport) -> Option<Prose> {
    let test = report.closure.global?;
    if test.passes() {
        return None;
    }
    Some(
        Prose::new()
            .toned(Tone::Doubt, "The readings do not fit each other")
            .plain(format!(
                " as well as they repeat: the uncertainties are made {} times as wide.",
                short_number(test.widening(), 1)
            )),
    )
}

/// A station that reads otherwise at the end than at the beginning.
fn drift(report: &ShapeReport, units: LengthUnit) -> Option<Prose> {
    let drift = report.closure.drifts.iter().find(|drift| drift.is_real())?;
    Some(
        Prose::new()
            .toned(Tone::Doubt, "Something moved during the pass")
            .plain(format!(
                ": the {} reading at {} changed by {} (±{}) divisions between the first time and the last. Was the \
                 level warm, the bed, or a foot settling?",
                words::reading_of(drift.line, false),
                place(drift.at, units),
                decimal_reading(drift.line, drift.divisions),
                short_number(drift.deviation * COVERAGE_95, 2)
            )),
    )
}

/// A bed whose top and underside were not of one temperature.
fn warm(report: &ShapeReport, units: LengthUnit) -> Option<Prose> {
    let kelvin = top_over_below(report.pass).filter(|kelvin| kelvin.abs() >= WORTH_A_WORD)?;
    Some(advice::warm(
        Some(kelvin),
        report.adjustment.bow(),
        None,
        units,
    ))
}

fn off_scale(report: &ShapeReport) -> Option<Prose> {
    let (fact, tells) = match report.adjustment.off_scale_total() {
        0 => return None,
        1 => ("1 reading was off the scale".to_owned(), "it says"),
        count => (format!("{count} readings were off the scale"), "they say"),
    };
    Some(Prose::new().toned(Tone::Doubt, fact).plain(format!(
        ": {tells} at least how far out the bed is, and it may be further."
    )))
}
