//! What a level and a set of stations will be able to tell, before any reading is taken.

use super::adjustment::{Adjustment, Refusal};
use super::observation::{Observations, Stations};
use super::reference_line::ReferenceLine;
use super::shape::{BedShape, Way};
use super::smoothness::USUAL_ROUGHNESS;
use crate::survey::Level;

/// Expanded uncertainties to be had on a bed that is nearly right; `None` for what these stations cannot
/// tell.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Forecast {
    /// Of the twist, m/m.
    pub twist: Option<f64>,
    /// Of the front way.
    pub front: Option<WayForecast>,
    /// Of the rear way.
    pub rear: Option<WayForecast>,
}

/// Expanded uncertainties of one way, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WayForecast {
    /// Of its crown.
    pub crown: f64,
    /// Of its straightness.
    pub straightness: f64,
}

/// Forecasts the uncertainties on a bed of this length and way spacing (m), as rough as beds usually are
/// where the level does not reach. Only the covariance is used; twist, crown and straightness being
/// extreme values, the bed is taken as flat, which is where noise shows in them most.
///
/// ```
/// use quarterturn::geometry::{Stations, forecast};
/// use quarterturn::survey::Level;
///
/// let level = Level { name: "master".into(), division: 2e-5, base: Some(0.2), range: None, repeat: Some(0.2) };
/// let cross = vec![0.2, 0.8, 1.4, 2.0];
/// let told = forecast(&Stations { cross, ..Stations::default() }, &level, 2.2, 0.4)?;
/// // Four readings of about a fifth of a division each: the twist to within a division.
/// assert!(told.twist.is_some_and(|u95| u95 < 2e-5) && told.front.is_none());
/// # Ok::<(), quarterturn::geometry::Refusal>(())
/// ```
pub fn forecast(
    stations: &Stations,
    level: &Level,
    length: f64,
    way_spacing: f64,
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
    Ok(Forecast {
        twist: shape.twist.map(|twist| twist.u95),
        front: way(&shape.front),
        rear: way(&shape.rear),
    })
}
