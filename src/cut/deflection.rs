//! How far a bar gives way under the tool.
//!
//! A steel bar of the diameter d, `I = π d⁴ / 64`, pushed sideways by the force F (Euler-Bernoulli; closed formulas
//! in every handbook of mechanical engineering, from memory) gives way
//!
//! * by `F x³ / (3 E I)` where it is held at one end, x from the chuck, which is taken as rigid;
//! * by `F a² b² / (3 E I L)` between two centres, a from one and b from the other: `F L³ / (48 E I)` in the middle.
//!
//! The diameter there comes out larger by twice that. In the chuck that looks as if the headstock pointed away from
//! the tool, between centres as a barrel. How hard the tool pushes is not known: anything from nothing to the largest
//! force is taken as equally likely (JCGM 100:2008, 4.3.7: half its width over √3 is the standard deviation).

use std::f64::consts::PI;

use nalgebra::{DVector, RowDVector};

use super::bar::Bar;
use crate::geometry::Figure;
use crate::survey::{BarHeld, Cut};

/// Young's modulus of steel, Pa; order of magnitude, common practice, no source.
const STEEL: f64 = 210e9;

/// Nothing is concluded from a bar that stands out farther than this many diameters with nothing at its other end
/// (common practice, no source).
pub const LONGEST_UNSUPPORTED: f64 = 4.0;

/// The largest force with which a finishing cut pushes the bar away, where the cut does not say, N (common practice,
/// no source).
pub const USUAL_FORCE: f64 = 50.0;

/// How a bar gives way under the tool.
#[derive(Debug, Clone, PartialEq)]
pub struct Deflection {
    /// How far the bar stands out of the chuck, m; `None` between centres.
    pub overhang: Option<f64>,
    /// Its smallest diameter, m.
    pub diameter: f64,
    /// The largest force of the cut, N.
    pub force: f64,
    /// By how much every collar comes out larger under one newton, m/N.
    pub per_newton: DVector<f64>,
}

impl Deflection {
    /// Of the bar of a cut; `None` where its diameter is not known.
    pub fn of(cut: &Cut) -> Option<Self> {
        let bar = Bar::of(cut);
        let of_collars = bar.collars.iter().map(|collar| collar.diameter);
        let diameter = cut
            .bar_diameter
            .or_else(|| of_collars.filter(|_| !cut.differences).reduce(f64::min))?;
        let (overhang, length) = match cut.held {
            BarHeld::InChuck { overhang, .. } => (Some(overhang.unwrap_or(bar.span()[1])), None),
            BarHeld::BetweenCentres { length, .. } => (None, Some(length)),
        };
        let gives_way = |place| match length {
            None => cantilever(place, diameter),
            Some(length) => between_centres(length, place, diameter),
        };
        Some(Self {
            overhang,
            diameter,
            force: cut.force.unwrap_or(USUAL_FORCE),
            per_newton: DVector::from_iterator(
                bar.collars.len(),
                bar.places().into_iter().map(|place| 2.0 * gives_way(place)),
            ),
        })
    }

    /// How far the bar stands out of the chuck, in diameters.
    pub fn diameters(&self) -> Option<f64> {
        Some(self.overhang? / self.diameter)
    }

    /// Whether it stands out farther than anything may be concluded from.
    pub fn is_unsupported(&self) -> bool {
        self.diameters()
            .is_some_and(|diameters| diameters > LONGEST_UNSUPPORTED)
    }

    /// By how much the largest force parts the diameters of the collars, m.
    pub fn most(&self) -> f64 {
        self.force * (self.per_newton.max() - self.per_newton.min())
    }

    /// What the force does to the collars: in the middle of its range, and its standard deviation, m.
    pub fn diameters_under_force(&self) -> [DVector<f64>; 2] {
        let half = self.force / 2.0;
        [
            &self.per_newton * half,
            &self.per_newton * (half / 3.0_f64.sqrt()),
        ]
    }

    /// What it does to a function of the diameters.
    pub fn figure(&self, row: &RowDVector<f64>) -> Figure {
        let [middle, deviation] = self.diameters_under_force();
        Figure::normal((row * middle)[0] + 0.0, (row * deviation)[0].abs())
    }
}

fn rigidity(diameter: f64) -> f64 {
    STEEL * PI * diameter.powi(4) / 64.0
}

/// How far a steel bar of this diameter that a chuck alone holds gives way under one newton at this place, m/N.
///
/// ```
/// // I = pi 0.06^4 / 64 = 6.362e-7 m4; 0.28 m: 0.021952 / (3 * 2.1e11 * 6.362e-7) = 0.0548 um.
/// let give = quarterturn::cut::deflection::cantilever(0.28, 0.06);
/// assert!((give - 0.0548e-6).abs() < 1e-10);
/// ```
pub fn cantilever(place: f64, diameter: f64) -> f64 {
    place.powi(3) / (3.0 * rigidity(diameter))
}

/// The same of a bar of this length between two centres.
///
/// ```
/// // In the middle L^3 / 48 E I: 1 / (48 * 2.1e11 * 3.068e-7) = 0.3234 um for 50 mm and 1 m.
/// let give = quarterturn::cut::deflection::between_centres(1.0, 0.5, 0.05);
/// assert!((give - 0.3234e-6).abs() < 1e-10);
/// ```
pub fn between_centres(length: f64, place: f64, diameter: f64) -> f64 {
    (place * (length - place)).powi(2) / (3.0 * rigidity(diameter) * length)
}
