//! How the readings fit each other, as objects.

use serde::Serialize;

use super::number::{Milli, Place, Plain};
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::{Bay, Slip, Suspect};
use crate::report::ShapeReport;
use crate::survey::{Line, format_entry, format_reading};

/// How well the pass closes.
#[derive(Debug, Serialize)]
pub struct ClosureObject {
    chi2: Plain,
    dof: usize,
    p: Option<Plain>,
    bays: Vec<BayObject>,
}

#[derive(Debug, Serialize)]
#[expect(
    clippy::struct_field_names,
    reason = "in JSON every name carries its unit"
)]
struct BayObject {
    from_mm: Place,
    to_mm: Place,
    misclosure_mm: Milli,
    u95_mm: Milli,
}

/// A reading that does not fit, or one that cannot be told from it.
#[derive(Debug, Serialize)]
pub struct SuspectObject {
    reading: &'static str,
    at_mm: Place,
    read: Option<String>,
    w: Plain,
    likely: String,
    slip: Option<&'static str>,
}

impl ClosureObject {
    /// Fills the object.
    pub fn of(report: &ShapeReport) -> Self {
        let (chi2, dof) = report.adjustment.chi_square();
        Self {
            chi2: Plain::of(chi2),
            dof,
            p: report.closure.global.map(|test| Plain::of(test.p)),
            bays: report.closure.bays.iter().map(bay).collect(),
        }
    }
}

fn bay(bay: &Bay) -> BayObject {
    BayObject {
        from_mm: Place::of(bay.from),
        to_mm: Place::of(bay.to),
        misclosure_mm: Milli::of(bay.misclosure),
        u95_mm: Milli::of(bay.deviation * COVERAGE_95),
    }
}

impl SuspectObject {
    /// The suspect and its rivals.
    pub fn all(report: &ShapeReport) -> Vec<Self> {
        let found = report.suspects.found.iter();
        found.map(|suspect| Self::of(suspect, report)).collect()
    }

    fn of(suspect: &Suspect, report: &ShapeReport) -> Self {
        let entry = report.pass.readings.get(suspect.reading);
        Self {
            reading: match (suspect.line, suspect.reversed) {
                (Line::Cross, true) => "cross_reversed",
                (line, _) => line.name(),
            },
            at_mm: Place::of(suspect.at),
            read: entry.map(|reading| format_entry(suspect.line, &reading.entry)),
            w: Plain::of(suspect.w),
            likely: format_reading(
                suspect.line,
                suspect.likely,
                report.adjustment.observations().step,
            ),
            slip: match suspect.slip {
                Slip::Side => Some("side"),
                Slip::TenDivisions => Some("ten_divisions"),
                Slip::OneDivision => Some("one_division"),
                Slip::Neighbours => Some("neighbours"),
                Slip::TurnedBetweenLines => Some("turned_between_lines"),
                Slip::Unknown => None,
            },
        }
    }
}
