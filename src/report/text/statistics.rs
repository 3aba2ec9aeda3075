//! The statistics behind the shape, for who wants to see them.

use super::page::Page;
use super::profile;
use super::prose::TIE;
use super::scale::{Scale, place_number};
use super::table::Table;
use super::turning::decimal_reading;
use super::words;
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::{Bay, Figure};
use crate::report::ShapeReport;
use crate::survey::units::short_number;
use crate::survey::{LengthUnit, Level, Line};

/// Heights, then how the readings fit together.
pub(super) fn statistics(page: &mut Page, report: &ShapeReport, units: LengthUnit) {
    profile::heights(page, report, units);
    bays(page, report, units);
    page.heading("Statistics");
    let observations = report.adjustment.observations();
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
    page.hanging("- ", &global_test(report).into());
    page.hanging("- ", &checked(report).into());
    for (line, name, zero) in [
        (Line::Cross, "across", report.shape.zero_cross),
        (Line::Front, "along", report.shape.zero_along),
    ] {
        page.hanging("- ", &zero_error(line, name, zero, report.level).into());
    }
    page.hanging("- ", &give_or_take(report, units).into());
}

fn global_test(report: &ShapeReport) -> String {
    let Some(test) = report.closure.global else {
        return "Nothing checks the readings: no line closes on another.".to_owned();
    };
    let widened = match test.widening() {
        times if times > 1.0 => format!(
            " Every uncertainty is made {} times as wide for it.",
            short_number(times, 1)
        ),
        _ => String::new(),
    };
    format!(
        "Weighted sum of squared misfits {}, degrees of freedom {}: as much or more in{TIE}{}{TIE}% of good \
         passes.{widened}",
        short_number(test.chi_square, 2),
        test.freedom,
        short_number(test.p * 100.0, 1)
    )
}

fn checked(report: &ShapeReport) -> String {
    let checks = &report.closure.checks;
    let unchecked = checks.iter().filter(|check| check.w.is_none()).count();
    let largest = checks
        .iter()
        .filter_map(|check| check.w)
        .map(f64::abs)
        .reduce(f64::max);
    let by_nothing = match unchecked {
        0 => "Every reading is checked by others".to_owned(),
        count => format!(
            "{} checked by nothing",
            words::count(count, "reading is", "readings are")
        ),
    };
    match largest {
        None => format!("{by_nothing}."),
        Some(largest) => format!(
            "{by_nothing}; the largest misfit is {} standard deviations.",
            short_number(largest, 1)
        ),
    }
}

/// The loop of every bay, where along readings on both ways and cross readings close one.
fn bays(page: &mut Page, report: &ShapeReport, units: LengthUnit) {
    let bays = &report.closure.bays;
    let finest = bays.iter().map(|bay| bay.deviation).reduce(f64::min);
    let scale = Scale::lengths(units, finest.unwrap_or(0.0) * COVERAGE_95);
    let mut table = Table::new([
        format!("from\n{}", units.length().name()),
        format!("to\n{}", units.length().name()),
        format!("misclosure\n{}", scale.unit()),
    ]);
    for bay in bays {
        let closes = if bay.closes() { " " } else { "!" };
        table.row([
            place_number(bay.from, units),
            place_number(bay.to, units),
            format!(
                "{} ±{}{closes}",
                scale.signed(bay.misclosure),
                scale.number(bay.deviation * COVERAGE_95)
            ),
        ]);
    }
    if !bays.is_empty() {
        page.heading("Bays: along the front, across, back along the rear, across");
        page.table(&table);
        if !bays.iter().all(Bay::closes) {
            page.paragraph(&"! This bay does not close within what its readings scatter.".into());
        }
    }
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
