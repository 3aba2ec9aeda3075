//! What a bed does that is warmer on top than below.
//!
//! A bar of height h that is warmer on top by T bends to the curvature `expansion · T / h`, so over the length
//! L its middle comes up by `expansion · T · L² / (8 h)` (derived: the top is longer by `expansion · T · L`). A level along it
//! shows the slope of that bow, which is taken off its readings; how well the expansion is known stays in what they tell.

use super::figure::{COVERAGE_95, Figure};
use crate::survey::{Pass, Survey};

/// Expansion of cast iron over a kelvin, from the least to the most; common practice, no source.
pub const CAST_IRON: [f64; 2] = [10.5e-6, 12e-6];

/// A bed warmer on top than below by less than this is taken as it is read, K: thermometers tell no less.
pub const WORTH_A_WORD: f64 = 0.5;

/// The air may differ by this between two passes before it is worth a word, K (common practice, no source).
pub const AIR_DIFFERENCE: f64 = 2.0;

/// The bow of a warm bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warmth {
    /// How much warmer the top is than the underside, K.
    pub kelvin: f64,
    /// Height of the casting, m.
    pub height: f64,
}

impl Warmth {
    /// Of a bed whose top and underside were felt in this pass; `None` where they were not, or where nobody said how high it is.
    pub fn of(survey: &Survey, pass: &Pass) -> Option<Self> {
        Some(Self {
            kelvin: top_over_below(pass)?,
            height: survey.machine.bed_height?,
        })
    }

    /// Curvature, 1/m, the middle up.
    pub fn curvature(&self) -> f64 {
        let [least, most] = CAST_IRON;
        f64::midpoint(least, most) * self.kelvin / self.height
    }

    /// Its standard deviation, 1/m: the ends of the expansion hold it 95 times in 100.
    pub fn deviation(&self) -> f64 {
        let [least, most] = CAST_IRON;
        (most - least) / 2.0 / COVERAGE_95 * self.kelvin.abs() / self.height
    }

    /// How far the middle of a part of this length comes up, m.
    ///
    /// ```
    /// use quarterturn::geometry::warmth::Warmth;
    ///
    /// // 1 K on 3 m of a bed 0.6 m high: 0.0197 to 0.0225 mm (derived: 10.5 to 12 e-6 · 9 / 4.8).
    /// let bow = Warmth { kelvin: 1.0, height: 0.6 }.bow(3.0);
    /// assert!((bow.low - 19.7e-6).abs() < 0.05e-6 && (bow.high - 22.5e-6).abs() < 0.05e-6);
    /// ```
    pub fn bow(&self, length: f64) -> Figure {
        let over = length * length / 8.0;
        Figure::normal(self.curvature() * over, self.deviation() * over)
    }
}

/// How much warmer the top of the bed was than its underside in a pass, K; `None` where nobody felt both.
pub fn top_over_below(pass: &Pass) -> Option<f64> {
    let temperature = pass.conditions.temperature;
    Some(temperature.top? - temperature.below?)
}
