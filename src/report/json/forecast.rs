//! The object that `shape --forecast --json` prints.

use serde::Serialize;

use super::next_pass::NextPassObject;
use super::number::{Milli, Place, Plain};
use crate::geometry::forecast::{proves_at_most, proves_between};
use crate::geometry::{LocalForecast, WayForecast};
use crate::plan::FirstPass;
use crate::report::ForecastReport;
use crate::survey::Limits;

/// Version of the object; a field may be added without a new one.
const FORMAT: u32 = 1;

/// The whole object: expanded uncertainties, `null` for what these places cannot tell.
#[derive(Debug, Serialize)]
pub struct ForecastObject {
    format: u32,
    pass: usize,
    readings: usize,
    twist_u95_mm_per_m: Option<Milli>,
    crown_front_u95_mm: Option<Milli>,
    crown_rear_u95_mm: Option<Milli>,
    straightness_front_u95_mm: Option<Milli>,
    straightness_rear_u95_mm: Option<Milli>,
    twist_per_metre_u95_mm_per_m: Option<Milli>,
    local: Vec<LocalObject>,
    can_prove: Proofs,
}

/// The ways to take the first pass, and the one that is likely to take least until all is proven.
#[derive(Debug, Serialize)]
pub struct FirstPassObject {
    format: u32,
    ways: Vec<WayObject>,
    next_pass: Option<NextPassObject>,
}

/// One way to take it.
#[derive(Debug, Serialize)]
struct WayObject {
    level: String,
    readings: usize,
    minutes: Plain,
    minutes_until_proven: Plain,
    twist_u95_mm_per_m: Option<Milli>,
    crown_front_u95_mm: Option<Milli>,
    crown_rear_u95_mm: Option<Milli>,
}

impl FirstPassObject {
    /// Fills the object; the best way comes first.
    pub fn of(ways: &[FirstPass<'_>]) -> Self {
        let crown = |way: Option<WayForecast>| way.map(|way| Milli::of(way.crown));
        let way = |way: &FirstPass<'_>| WayObject {
            level: way.level.name.clone(),
            readings: way.readings(),
            minutes: Plain::of(way.minutes),
            minutes_until_proven: Plain::of(way.until_proven),
            twist_u95_mm_per_m: way.forecast.twist.map(Milli::of),
            crown_front_u95_mm: crown(way.forecast.front),
            crown_rear_u95_mm: crown(way.forecast.rear),
        };
        Self {
            format: FORMAT,
            ways: ways.iter().map(way).collect(),
            next_pass: ways.first().map(|way| NextPassObject::of(&way.next_pass())),
        }
    }
}

/// The straightness of any part.
#[derive(Debug, Serialize)]
struct LocalObject {
    over_mm: Place,
    limit_mm: Milli,
    front_u95_mm: Option<Milli>,
    rear_u95_mm: Option<Milli>,
    can_prove: Option<bool>,
}

/// Whether one pass can prove a limit kept on a bed that is nearly right; `null` without a limit or where these
/// places tell nothing.
#[derive(Debug, Serialize)]
struct Proofs {
    twist: Option<bool>,
    twist_per_metre: Option<bool>,
    crown: Option<bool>,
    straightness: Option<bool>,
}

impl LocalObject {
    fn of(local: &LocalForecast) -> Self {
        let ways = [local.front, local.rear].into_iter().flatten();
        Self {
            over_mm: Place::of(local.limit.over),
            limit_mm: Milli::of(local.limit.height),
            front_u95_mm: local.front.map(Milli::of),
            rear_u95_mm: local.rear.map(Milli::of),
            can_prove: ways
                .reduce(f64::max)
                .map(|u95| proves_at_most(u95, local.limit.height)),
        }
    }
}

impl Proofs {
    fn of(report: &ForecastReport) -> Self {
        let forecast = &report.forecast;
        let limits: &Limits = &report.survey.limits;
        let at_most = |u95: Option<f64>, limit: Option<f64>| {
            u95.zip(limit)
                .map(|(u95, limit)| proves_at_most(u95, limit))
        };
        let ways = || forecast.front.iter().chain(&forecast.rear);
        let crown = ways().map(|way| way.crown).reduce(f64::max);
        let straightness = ways().map(|way| way.straightness).reduce(f64::max);
        Self {
            twist: at_most(forecast.twist, limits.twist),
            twist_per_metre: at_most(forecast.twist_per_metre, limits.twist_per_metre),
            crown: crown
                .zip(limits.crown)
                .map(|(u95, ends)| proves_between(u95, ends)),
            straightness: at_most(straightness, limits.straightness),
        }
    }
}

impl ForecastObject {
    /// Fills the object.
    pub fn of(report: &ForecastReport) -> Self {
        let forecast = &report.forecast;
        let crown = |way: Option<WayForecast>| way.map(|way| Milli::of(way.crown));
        let straightness = |way: Option<WayForecast>| way.map(|way| Milli::of(way.straightness));
        Self {
            format: FORMAT,
            pass: report.number,
            readings: report.readings,
            twist_u95_mm_per_m: forecast.twist.map(Milli::of),
            crown_front_u95_mm: crown(forecast.front),
            crown_rear_u95_mm: crown(forecast.rear),
            straightness_front_u95_mm: straightness(forecast.front),
            straightness_rear_u95_mm: straightness(forecast.rear),
            twist_per_metre_u95_mm_per_m: forecast.twist_per_metre.map(Milli::of),
            local: forecast.local.iter().map(LocalObject::of).collect(),
            can_prove: Proofs::of(report),
        }
    }
}
