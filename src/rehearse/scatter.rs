//! How far a made-up machine and the hands at it stray from what a planner assumes.

use rand::Rng;
use rand_distr::{Distribution, StandardNormal};

/// Sizes of everything that is not as a plan assumes. All are made up: what a machine of this kind may well
/// have, with no source.
///
/// A *scatter* is a standard deviation of the natural logarithm of a factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Scatter of EI about what the usual reaches say.
    pub bending_stiffness: f64,
    /// Scatter of GJ about what the usual reaches say.
    pub torsion_stiffness: f64,
    /// Scatter of the stiffness of each foot by itself.
    pub foot_stiffness: f64,
    /// Factor by which the headstock stiffens the bed under it.
    pub headstock_stiffening: f64,
    /// Coupling of bending and twist by ribs, standard deviation, `C / sqrt(EI GJ)`.
    pub rib_coupling: f64,
    /// Share of the section that carries shear; infinite for a bed that does not shear.
    pub shear_area: f64,
    /// Scatter of the stiffness of the half towards the tailstock about that of the other.
    pub section: f64,
    /// Lean of the floor along and across, standard deviation, m/m.
    pub floor_lean: f64,
    /// Slow waves of the floor, standard deviation of the longest, m.
    pub floor_waves: f64,
    /// Height of each foot by itself, standard deviation, m.
    pub foot_height: f64,
    /// Depth of the hollow worn into the front way near the headstock, m; the rear way has half of it.
    pub wear_hollow: f64,
    /// Slow waves left by grinding, standard deviation of the longest, m.
    pub wear_waves: f64,
    /// Error of each thread, standard deviation, as a share of its lift.
    pub thread: f64,
    /// Error of the hand in every move, standard deviation, degrees of the screw.
    pub hand: f64,
    /// What a screw turns without lifting after it is reversed, degrees.
    pub backlash: f64,
    /// Zero error of a level and its blocks in one set-up, standard deviation, divisions.
    pub zero_error: f64,
    /// Noise of laying the level down, standard deviation, divisions, where the level has none of its own.
    pub reading_noise: f64,
    /// What part of a division a reading is rounded to; 0 does not round.
    pub rounding: f64,
}

impl Default for Scatter {
    /// Threads 4 % wrong, hands 2 degrees unsteady, a fine level read to a quarter division, stiffnesses
    /// wrong by a factor of 1.6 either way, and a floor that takes the bubble to the end of its scale.
    fn default() -> Self {
        Self {
            bending_stiffness: 0.5,
            torsion_stiffness: 0.5,
            foot_stiffness: 0.4,
            headstock_stiffening: 1.5,
            rib_coupling: 0.2,
            shear_area: 0.5,
            section: 0.2,
            floor_lean: 5e-5,
            floor_waves: 1e-4,
            foot_height: 3e-5,
            wear_hollow: 4e-6,
            wear_waves: 1e-6,
            thread: 0.04,
            hand: 2.0,
            backlash: 5.0,
            zero_error: 1.0,
            reading_noise: 0.15,
            rounding: 0.25,
        }
    }
}

impl Scatter {
    /// A machine just set down: the floor leans by millimetres to the metre and every foot stands where it was left.
    pub fn just_set_down() -> Self {
        Self {
            floor_lean: 1.5e-3,
            foot_height: 5e-4,
            ..Self::default()
        }
    }

    /// A machine just as a planner assumes, on a flat floor, with perfect hands and a level that is read
    /// exactly.
    pub fn none() -> Self {
        Self {
            bending_stiffness: 0.0,
            torsion_stiffness: 0.0,
            foot_stiffness: 0.0,
            headstock_stiffening: 1.0,
            rib_coupling: 0.0,
            shear_area: f64::INFINITY,
            section: 0.0,
            floor_lean: 0.0,
            floor_waves: 0.0,
            foot_height: 0.0,
            wear_hollow: 0.0,
            wear_waves: 0.0,
            thread: 0.0,
            hand: 0.0,
            backlash: 0.0,
            zero_error: 0.0,
            reading_noise: 0.0,
            rounding: 0.0,
        }
    }
}

/// A normal number with mean zero.
pub(super) fn normal(random: &mut impl Rng, deviation: f64) -> f64 {
    let unit: f64 = StandardNormal.sample(random);
    deviation * unit
}

/// A factor about one whose logarithm is normal.
pub(super) fn factor(random: &mut impl Rng, scatter: f64) -> f64 {
    normal(random, scatter).exp()
}
