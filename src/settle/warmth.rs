//! What a bed does that is warmer on top than below.
//!
//! A bar of height H that is warmer on top by T bends to the curvature `expansion · T / H`, so over the length
//! L its middle comes up by `expansion · T · L² / (8 H)`.

use crate::survey::{Pass, Survey};

/// Expansion of cast iron over a kelvin; common practice, no source.
pub const CAST_IRON: f64 = 10.5e-6;

/// The air may differ by this between two passes before it is worth a word, K (common practice, no source).
pub const AIR_DIFFERENCE: f64 = 2.0;

/// Top and underside may differ by this more in one pass than in the other before it is worth a word, K (common
/// practice, no source: about what a thermometer held against a casting is worth).
pub const LEAST_DIFFERENCE: f64 = 0.5;

/// What temperatures say about two passes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warmth {
    /// How much warmer the top has become against the underside, K.
    pub top_over_below: Option<f64>,
    /// Crown that this explains, m; needs the height of the bed.
    pub crown: Option<f64>,
    /// How much warmer the air has become, K.
    pub air: Option<f64>,
}

impl Warmth {
    /// Of two passes of a survey.
    pub fn between(survey: &Survey, first: &Pass, second: &Pass) -> Self {
        let over = |pass: &Pass| {
            let temperature = pass.conditions.temperature;
            Some(temperature.top? - temperature.below?)
        };
        let change = |first: Option<f64>, second: Option<f64>| Some(second? - first?);
        let top_over_below = change(over(first), over(second));
        let crown = top_over_below
            .zip(survey.machine.bed_height)
            .map(|(kelvin, height)| bow(kelvin, survey.bed.length, height));
        Self {
            top_over_below,
            crown,
            air: change(
                first.conditions.temperature.air,
                second.conditions.temperature.air,
            ),
        }
    }

    /// How much warmer the top has become against the underside, where that is worth a word, K.
    ///
    /// ```
    /// use quarterturn::settle::warmth::Warmth;
    ///
    /// let warmth = |kelvin| Warmth { top_over_below: Some(kelvin), crown: None, air: None };
    /// assert_eq!(warmth(0.1).worth_a_word(), None);
    /// assert_eq!(warmth(-0.5).worth_a_word(), Some(-0.5));
    /// ```
    pub fn worth_a_word(&self) -> Option<f64> {
        self.top_over_below
            .filter(|kelvin| kelvin.abs() >= LEAST_DIFFERENCE)
    }

    /// Whether the air is so different that the passes hardly compare.
    pub fn air_differs(&self) -> bool {
        self.air.is_some_and(|air| air.abs() > AIR_DIFFERENCE)
    }
}

/// How far the middle of a bed comes up, m, when its top is warmer than its underside (K); length and height
/// in m.
///
/// ```
/// // 1 K on a bed 3 m long and 0.5 m high: 23.6 um (derived).
/// let bow = quarterturn::settle::warmth::bow(1.0, 3.0, 0.5);
/// assert!((bow - 23.6e-6).abs() < 0.05e-6);
/// ```
pub fn bow(kelvin: f64, length: f64, height: f64) -> f64 {
    CAST_IRON * kelvin * length * length / (8.0 * height)
}
