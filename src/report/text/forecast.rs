//! What a pass will be able to tell, in words.

use super::head::head;
use super::page::Page;
use super::prose::{Prose, TIE};
use super::scale::Scale;
use super::shape::Telling;
use super::words;
use crate::geometry::WayForecast;
use crate::report::ForecastReport;

/// The uncertainties to be had, figure by figure.
pub fn tell(report: &ForecastReport, telling: &Telling) -> String {
    let units = telling.units;
    let mut page = Page::new(telling.width);
    head(&mut page, report.survey, report.number, units);
    page.gap();
    page.paragraph(
        &format!(
            "{} at these places, with this level, on a bed that is nearly right, will tell:",
            words::count(report.readings, "reading", "readings")
        )
        .into(),
    );
    page.gap();
    let limits = &report.survey.limits;
    let twist = report.forecast.twist.map(|u95| {
        let scale = Scale::slopes(units, u95);
        let limit = limits.twist.map(|limit| scale.limit(limit));
        within(&format!("±{}", scale.with_unit(u95)), limit)
    });
    page.hanging("Twist  ", &twist.unwrap_or_else(nothing));
    for (label, way) in [
        ("Front  ", report.forecast.front),
        ("Rear   ", report.forecast.rear),
    ] {
        let told = way.map(
            |WayForecast {
                 crown,
                 straightness,
             }| {
                let scale = Scale::lengths(units, crown.min(straightness));
                let limit = limits.crown.map(|ends| words::crown_limit(ends, &scale));
                within(
                    &format!(
                        "crown{TIE}±{}, straightness{TIE}±{}",
                        scale.with_unit(crown),
                        scale.with_unit(straightness)
                    ),
                    limit,
                )
            },
        );
        page.hanging(label, &told.unwrap_or_else(nothing));
    }
    page.finish()
}

fn within(u95: &str, limit: Option<String>) -> Prose {
    let limit = limit.map_or_else(String::new, |limit| format!("; limit: {limit}"));
    Prose::new().strong(u95).plain(limit)
}

fn nothing() -> Prose {
    Prose::from("nothing: it takes readings at more places")
}
