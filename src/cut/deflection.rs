//! How far a bar gives way under the tool.
//!
//! A round bar that is held at one end and pushed sideways by a force F at the distance L gives way by
//! `F L³ / (3 E I)`, `I = π d⁴ / 64` (cantilever, Euler-Bernoulli), the chuck taken as rigid. The diameter
//! there comes out larger by twice that: a free end that is larger, as if the headstock pointed away from the
//! tool.

use std::f64::consts::PI;

use super::bar::Bar;
use crate::survey::{BarHeld, Cut};

/// Young's modulus of steel, Pa; order of magnitude, common practice, no source.
const STEEL: f64 = 210e9;

/// A bar that stands out farther than this many diameters is better held by more than a chuck (common
/// practice, no source).
pub const LONG_BAR: f64 = 4.0;

/// Force with which a light finishing cut pushes the bar away, N (a round number for comparison, no source).
pub const LIGHT_CUT: f64 = 10.0;

/// What a light cut does to a bar that stands out of the chuck.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deflection {
    /// How far the bar stands out, m.
    pub overhang: f64,
    /// The same in diameters of the bar.
    pub diameters: f64,
    /// By how much [`LIGHT_CUT`] at the farthest collar makes it larger than at the chuck, m of diameter.
    pub farthest: f64,
}

impl Deflection {
    /// Of the bar of a cut; `None` between centres or where its diameter is not known.
    pub fn of(cut: &Cut) -> Option<Self> {
        let BarHeld::InChuck { overhang, .. } = cut.held else {
            return None;
        };
        let bar = Bar::of(cut);
        let [_, farthest] = bar.span();
        let diameter = bar
            .collars
            .iter()
            .map(|collar| collar.diameter)
            .filter(|_| !cut.differences)
            .reduce(f64::min)?;
        let overhang = overhang.unwrap_or(farthest);
        Some(Self {
            overhang,
            diameters: overhang / diameter,
            farthest: 2.0 * gives_way(LIGHT_CUT, farthest, diameter),
        })
    }

    /// Whether the bar stands out farther than a chuck alone should hold.
    pub fn is_long(&self) -> bool {
        self.diameters > LONG_BAR
    }
}

/// How far a steel bar of this diameter gives way under a force (N) at a distance from the chuck, m.
///
/// ```
/// // I = pi 0.06^4 / 64 = 6.362e-7 m4; 10 N at 0.28 m: 10 * 0.021952 / (3 * 2.1e11 * 6.362e-7) = 0.548 um.
/// let give = quarterturn::cut::deflection::gives_way(10.0, 0.28, 0.06);
/// assert!((give - 0.548e-6).abs() < 0.001e-6);
/// ```
pub fn gives_way(force: f64, distance: f64, diameter: f64) -> f64 {
    let inertia = PI * diameter.powi(4) / 64.0;
    force * distance.powi(3) / (3.0 * STEEL * inertia)
}
