//! The statistics behind the shape, for who wants to see them.

use super::page::Page;
use super::profile;
use super::prose::TIE;
use super::scale::Scale;
use super::turning::decimal_reading;
use super::words;
use crate::geometry::Figure;
use crate::report::ShapeReport;
use crate::survey::units::short_number;
use crate::survey::{LengthUnit, Level, Line};

/// Heights, then how the readings fit together.
pub(super) fn statistics(page: &mut Page, report: &ShapeReport, units: LengthUnit) {
    profile::heights(page, report, units);
    page.heading("Statistics");
    let observations = report.adjustment.observations();
    let (chi_square, freedom) = report.adjustment.chi_square();
    page.hanging(
        "- ",
        &format!(
            "{} readings; one reading repeats to {} divisions (standard deviation) and was read to {}.",
            observations.rows.len(),
            short_number(observations.repeat, 2),
            match observations.step {
                step if step > 0.0 => format!("{}{TIE}division", short_number(step, 2)),
                _ => "no common part of a division".to_owned(),
            }
        )
        .into(),
    );
    page.hanging(
        "- ",
        &format!(
            "Weighted sum of squared misfits {}, degrees of freedom {freedom}.",
            short_number(chi_square, 2)
        )
        .into(),
    );
    for (line, name, zero) in [
        (Line::Cross, "across", report.shape.zero_cross),
        (Line::Front, "along", report.shape.zero_along),
    ] {
        page.hanging("- ", &zero_error(line, name, zero, report.level).into());
    }
    page.hanging("- ", &give_or_take(report, units).into());
}

fn zero_error(line: Line, name: &str, zero: Option<Figure>, level: &Level) -> String {
    match zero {
        None => format!("Zero error {name}: not known, nothing was reversed."),
        Some(zero) => format!(
            "Zero error {name}: {}, ±{} divisions.",
            decimal_reading(line, zero.value / level.division),
            short_number(zero.u95 / level.division, 2),
        ),
    }
}

/// The symmetrical uncertainties; the intervals above are not centred on the figure.
fn give_or_take(report: &ShapeReport, units: LengthUnit) -> String {
    let mut parts = Vec::new();
    if let Some(twist) = report.shape.twist {
        let scale = Scale::slopes(units, twist.u95);
        parts.push(format!("twist{TIE}±{}", scale.with_unit(twist.u95)));
    }
    for way in report.shape.ways() {
        if let (Some(crown), Some(straightness)) = (way.crown, way.straightness) {
            let scale = Scale::lengths(units, crown.u95);
            let side = words::side(way.side);
            parts.push(format!(
                "{side} crown{TIE}±{}, {side} straightness{TIE}±{}",
                scale.with_unit(crown.u95),
                scale.with_unit(straightness.u95)
            ));
        }
    }
    if parts.is_empty() {
        "No figure has an uncertainty.".to_owned()
    } else {
        format!(
            "Expanded uncertainty (95 of 100): {}. Noise can only widen a range, so the intervals above do not lie \
             evenly about their figures.",
            parts.join(", ")
        )
    }
}
