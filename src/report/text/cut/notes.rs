//! What to bear in mind.

use super::super::prose::TIE;
use super::super::scale::{Scale, place};
use crate::cut::deflection::{Deflection, LIGHT_CUT};
use crate::cut::explained::crown_effect;
use crate::report::CutReport;
use crate::survey::LengthUnit;
use crate::survey::units::short_number;

/// All that bears on the figures.
pub(super) fn notes(report: &CutReport, units: LengthUnit) -> Vec<String> {
    let seen = report.conclusion;
    let mut notes = Vec::new();
    let scale = Scale::lengths(units, seen.bar.deviation);
    let u95 = scale.with_unit(seen.bar.deviation * crate::geometry::figure::COVERAGE_95);
    notes.push(if seen.bar.deviation_given {
        format!("Every diameter is taken as right within {u95}.")
    } else {
        format!("The survey does not say how well the diameters were measured: taken as right within {u95} \
                 (`micrometer`).")
    });
    if let Some(scatter) = seen
        .taper
        .scatter
        .filter(|scatter| scatter.widening() > 1.0)
    {
        notes.push(format!(
            "The collars scatter {} times more than that; the uncertainties above are widened as much.",
            short_number(scatter.widening(), 1)
        ));
    }
    if let Some(deflection) = seen.deflection {
        notes.push(overhang(&deflection, units));
    }
    if let (Some(crown), Some(radius)) = (largest_crown(report), radius(report)) {
        let effect = crown_effect(crown, radius);
        let scale = Scale::lengths(units, effect);
        notes.push(format!(
            "Crown and sag hardly count: {} change this radius by {}.",
            Scale::lengths(units, 0.0).limit(crown),
            scale.with_unit(effect)
        ));
    }
    notes
}

fn overhang(deflection: &Deflection, units: LengthUnit) -> String {
    let scale = Scale::lengths(units, deflection.farthest);
    let words = format!(
        "The bar stands out {}, {} diameters. Held at one end it gives way under the tool and comes out thicker away \
         from the chuck, as with a slewed headstock: with each {}{TIE}N, by {} at the farthest collar, if it is steel.",
        place(deflection.overhang, units),
        short_number(deflection.diameters, 1),
        short_number(LIGHT_CUT, 0),
        scale.with_unit(deflection.farthest)
    );
    if deflection.is_long() {
        words
            + " That is long for a chuck alone: go over it again without feeding until it stops cutting, or take \
                 a thicker bar."
    } else {
        words
    }
}

/// The largest crown that the limits allow, or as much as is usual.
fn largest_crown(report: &CutReport) -> Option<f64> {
    let [lowest, highest] = report.survey.limits.crown?;
    Some(lowest.abs().max(highest.abs()))
}

fn radius(report: &CutReport) -> Option<f64> {
    let diameters = report.cut.collars.iter().map(|collar| collar.diameter);
    let least = diameters
        .filter(|_| !report.cut.differences)
        .reduce(f64::min)?;
    Some(least / 2.0)
}
