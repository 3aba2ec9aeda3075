//! What to bear in mind.

use super::super::scale::Scale;
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
    notes.push(
        "A level cannot see the ways bend sideways, and that makes taper directly: a taut wire or a straightedge shows \
         it."
            .to_owned(),
    );
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
