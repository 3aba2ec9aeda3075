//! What temperatures say about two passes.

use crate::geometry::warmth::{self, AIR_DIFFERENCE, WORTH_A_WORD, top_over_below};
use crate::geometry::{Adjustment, Figure};
use crate::survey::{Pass, Survey};

/// What temperatures say about two passes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Warmth {
    /// How much warmer the top has become against the underside, K.
    pub top_over_below: Option<f64>,
    /// Crown that this explains over the part of the bed that was read along, m; needs the height of the bed. It is taken off
    /// what the passes show.
    pub crown: Option<Figure>,
    /// How much warmer the air has become, K.
    pub air: Option<f64>,
}

impl Warmth {
    /// Of two passes of a survey, adjusted.
    pub fn between(survey: &Survey, passes: [&Pass; 2], adjusted: [&Adjustment; 2]) -> Self {
        let change = |of: fn(&Pass) -> Option<f64>| Some(of(passes[1])? - of(passes[0])?);
        let kelvin = change(top_over_below);
        let read = adjusted
            .iter()
            .filter_map(|pass| pass.read_along())
            .reduce(f64::min);
        let crown = kelvin.zip(survey.machine.bed_height).zip(read);
        Self {
            top_over_below: kelvin,
            crown: crown
                .map(|((kelvin, height), read)| warmth::Warmth { kelvin, height }.bow(read)),
            air: change(|pass| pass.conditions.temperature.air),
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
            .filter(|kelvin| kelvin.abs() >= WORTH_A_WORD)
    }

    /// Whether the air is so different that the passes hardly compare.
    pub fn air_differs(&self) -> bool {
        self.air.is_some_and(|air| air.abs() > AIR_DIFFERENCE)
    }
}
