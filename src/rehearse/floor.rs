//! How high the feet stand on an uneven floor before anybody has turned them.

use std::f64::consts::PI;

use rand::Rng;

use super::scatter::{Scatter, normal};
use crate::survey::Survey;

/// Waves of a floor: half a wave, one and one and a half over the bed.
const WAVES: i32 = 3;

/// Heights of the feet, m, above one level.
pub(super) fn foot_heights(survey: &Survey, scatter: &Scatter, random: &mut impl Rng) -> Vec<f64> {
    let length = survey.bed.length;
    let mut draw = |deviation| normal(random, deviation);
    let (tilt, roll) = (draw(scatter.floor_lean), draw(scatter.floor_lean));
    let waves: Vec<[f64; 5]> = (1..=WAVES)
        .map(|wave| {
            let size = scatter.floor_waves / f64::from(wave);
            let number = PI * f64::from(wave) / length;
            // A wave across the bed's axis at any angle rolls as much as it tilts.
            [number, draw(size), draw(PI), draw(size * number), draw(PI)]
        })
        .collect();
    survey
        .feet
        .iter()
        .map(|foot| {
            let smooth: f64 = waves
                .iter()
                .map(|[number, height, height_phase, roll, roll_phase]| {
                    height * (number * foot.at + height_phase).sin()
                        + foot.across * roll * (number * foot.at + roll_phase).sin()
                })
                .sum();
            tilt * (foot.at - length / 2.0)
                + roll * foot.across
                + smooth
                + draw(scatter.foot_height)
        })
        .collect()
}
