//! The object that `shape --forecast --json` prints.

use serde::Serialize;

use super::number::Milli;
use crate::geometry::WayForecast;
use crate::report::ForecastReport;

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
        }
    }
}
