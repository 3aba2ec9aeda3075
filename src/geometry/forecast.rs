//! What a level and a set of stations will be able to tell, before any reading is taken.

use super::adjustment::{Adjustment, Refusal};
use super::belief::USUAL_ROUGHNESS;
use super::figure::{Figure, Verdict};
use super::local::{LocalStraightness, twist_per_metre};
use super::observation::{Observations, Stations};
use super::reference_line::ReferenceLine;
use super::shape::{BedShape, Way};
use crate::survey::{Level, Limits, LocalLimit, Side};

/// Expanded uncertainties to be had on a bed that is nearly right; `None` for what these stations cannot
/// tell.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Forecast {
    /// Of the twist, m/m.
    pub twist: Option<f64>,
    /// Of the twist over any metre, m/m.
    pub twist_per_metre: Option<f64>,
    /// Of the front way.
    pub front: Option<WayForecast>,
    /// Of the rear way.
    pub rear: Option<WayForecast>,
    /// Of the straightness of any part, one for each local limit.
    pub local: Vec<LocalForecast>,
}

/// Expanded uncertainties of one way, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayForecast {
    /// Of its crown.
    pub crown: f64,
    /// Of its straightness.
    pub straightness: f64,
}

/// Expanded uncertainties of the straightness of any part of the ways, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocalForecast {
    /// The limit it is held against.
    pub limit: LocalLimit,
    /// Of the front way.
    pub front: Option<f64>,
    /// Of the rear way.
    pub rear: Option<f64>,
}

impl LocalForecast {
    /// Of one way.
    pub fn way(&self, side: Side) -> Option<f64> {
        match side {
            Side::Front => self.front,
            Side::Rear => self.rear,
        }
    }
}

/// Whether a figure that is known this well can be proven to keep a limit on its size: on a bed that shows nothing
/// of it, the figure may still be anything up to its expanded uncertainty.
///
/// ```
/// use quarterturn::geometry::forecast::proves_at_most;
///
/// assert!(proves_at_most(0.004, 0.005) && !proves_at_most(0.006, 0.005));
/// ```
pub fn proves_at_most(u95: f64, limit: f64) -> bool {
    let nothing = Figure {
        value: 0.0,
        u95,
        low: 0.0,
        high: u95,
    };
    nothing.verdict(0.0, limit) == Verdict::Inside
}

/// Whether a figure that is known this well can be proven to lie between two limits: in the middle it can, if
/// anywhere.
///
/// ```
/// use quarterturn::geometry::forecast::proves_between;
///
/// assert!(proves_between(0.009, [0.0, 0.02]) && !proves_between(0.011, [0.0, 0.02]));
/// ```
pub fn proves_between(u95: f64, [lowest, highest]: [f64; 2]) -> bool {
    let middle = f64::midpoint(lowest, highest);
    let figure = Figure {
        value: middle,
        u95,
        low: middle - u95,
        high: middle + u95,
    };
    figure.verdict(lowest, highest) == Verdict::Inside
}

/// Forecasts the uncertainties on a bed of this length and way spacing (m), as rough as beds usually are
/// where the level does not reach, of whatever has a limit. Only the covariance is used; twist, crown and
/// straightness being extreme values, the bed is taken as flat, which is where noise shows in them most.
///
/// ```
/// use quarterturn::geometry::{Stations, forecast};
/// use quarterturn::survey::{Level, Limits};
///
/// let level = Level { name: "master".into(), division: 2e-5, base: Some(0.2), range: None, repeat: Some(0.2), ..Level::default() };
/// let cross = vec![0.2, 0.8, 1.4, 2.0];
/// let stations = Stations { cross, ..Stations::default() };
/// let told = forecast(&stations, &level, 2.2, 0.4, &Limits::default())?;
/// // Four readings of about a fifth of a division each: the twist to within a division.
/// assert!(told.twist.is_some_and(|u95| u95 < 2e-5) && told.front.is_none());
/// # Ok::<(), quarterturn::geometry::Refusal>(())
/// ```
pub fn forecast(
    stations: &Stations,
    level: &Level,
    length: f64,
    way_spacing: f64,
    limits: &Limits,
) -> Result<Forecast, Refusal> {
    let observations = Observations::planned(stations, level);
    let adjustment = Adjustment::on_bed(observations, length, way_spacing, USUAL_ROUGHNESS)?;
    let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
    let way = |way: &Option<Way>| {
        let way = way.as_ref()?;
        Some(WayForecast {
            crown: way.crown?.u95,
            straightness: way.straightness?.u95,
        })
    };
    let local = |limit: &LocalLimit| {
        let told = LocalStraightness::of(&adjustment, &shape, *limit);
        let of = |side: Side| {
            let way = told.ways.iter().find(|way| way.side == side)?;
            Some(way.departure.u95)
        };
        LocalForecast {
            limit: *limit,
            front: of(Side::Front),
            rear: of(Side::Rear),
        }
    };
    Ok(Forecast {
        twist: shape.twist.map(|twist| twist.u95),
        twist_per_metre: limits
            .twist_per_metre
            .and_then(|_| twist_per_metre(&adjustment, &shape))
            .map(|twist| twist.u95),
        front: way(&shape.front),
        rear: way(&shape.rear),
        local: limits.local.iter().map(local).collect(),
    })
}
