//! What is believed of a bed's roughness before its readings have their say.
//!
//! Between readings that leave gaps nothing but such a belief says how far a bed may bend, so it is a guess of
//! what beds are usually like, broad in the logarithm. A survey whose ways are both chained needs none, and
//! what it tells must not depend on what other beds are like. There the belief is about the standard deviation σ
//! of the noise, on the scale s of the readings' own scatter, the roughness that would add as much to what they
//! show as their scatter does (Gelman 2006, "Prior distributions for variance parameters in hierarchical
//! models", from memory):
//!
//! * even in σ where there are contrasts enough: k of them alone make the posterior fall off as σ to the power -k,
//!   and its mean square is finite from four on;
//! * half-Cauchy, 1/(1 + (σ/s)²), where there are fewer, which weighs no more than two more contrasts would. An
//!   even belief would let them claim any roughness at all, and nothing would be known beside a station.
//!
//! Of neither is there less towards a bed without any roughness.

use super::layout::Roughness;
use super::smoothness::Contrasts;

/// What a bed's roughness is thought to be before any reading: deviations of about 0.05 mm with a wave
/// length of half the bed make the middle line about this rough. A broad guess, to a factor of seven either way.
pub const USUAL_ROUGHNESS: Roughness = Roughness {
    middle: 0.02,
    half: 0.002,
};

/// Standard deviation of the natural logarithm of the true roughness about the guess: a factor of seven
/// either way.
const GUESS_DEVIATION: f64 = 2.0;

/// Step of the grid of roughness in the natural logarithm.
const GRID_STEP: f64 = 0.5;
/// Steps of the grid to either side of a guess.
const GUESS_REACH: usize = 10;
/// Steps of the grid below the scale of the readings: the bed there adds a three-thousandth of their variance.
const BELOW_SCATTER: usize = 8;
/// Steps of the grid above the scale of the readings: a bed whose deviations are 20 000 times their scatter.
const ABOVE_SCATTER: usize = 20;

/// Contrasts from which on the mean square of a roughness is finite whatever was believed beforehand.
const ENOUGH_CONTRASTS: usize = 4;

/// What is believed of the roughness of the middle line and of the half difference, each on a grid.
#[derive(Debug, Clone, Copy)]
pub struct Belief {
    kinds: [Grid; 2],
}

/// Roughness of one kind in logarithmic steps.
#[derive(Debug, Clone, Copy)]
struct Grid {
    scale: f64,
    form: Form,
}

#[derive(Debug, Clone, Copy)]
enum Form {
    /// Log-normal about the scale.
    Guess,
    /// Half-Cauchy on the scale.
    HalfCauchy,
    /// Even up to the end of the grid.
    Even,
}

impl Belief {
    /// Beds are about this rough.
    pub fn guess(usual: Roughness) -> Self {
        let about = |scale| Grid {
            scale,
            form: Form::Guess,
        };
        Self {
            kinds: [about(usual.middle), about(usual.half)],
        }
    }

    /// Nothing but how the readings scatter. Of a kind of which the contrasts say nothing the guess is kept:
    /// nothing that was read depends on it then, only what lies between.
    pub(super) fn of_scatter(contrasts: &Contrasts, usual: Roughness) -> Self {
        let mut belief = Self::guess(usual);
        for (kind, grid) in belief.kinds.iter_mut().enumerate() {
            let told = contrasts.told_of(kind);
            if told.contrasts > 0 {
                *grid = Grid {
                    scale: (told.contrasts as f64 / told.variance).sqrt(),
                    form: if told.contrasts < ENOUGH_CONTRASTS {
                        Form::HalfCauchy
                    } else {
                        Form::Even
                    },
                };
            }
        }
        belief
    }

    /// Points of the grid of one kind.
    pub(super) fn points(&self, kind: usize) -> usize {
        let [below, above] = self.kinds[kind].form.reach();
        below + 1 + above
    }

    /// The step of the grid of one kind that is its scale.
    pub(super) fn scale_step(&self, kind: usize) -> usize {
        self.kinds[kind].form.reach()[0]
    }

    /// The roughness at a pair of steps of the grid.
    pub(super) fn at(&self, [middle, half]: [usize; 2]) -> Roughness {
        Roughness {
            middle: self.kinds[0].at(middle),
            half: self.kinds[1].at(half),
        }
    }

    /// The roughness of one kind at a step of its grid.
    pub(super) fn size(&self, kind: usize, step: usize) -> f64 {
        self.kinds[kind].at(step)
    }

    /// What the belief adds to minus twice the log likelihood, both as densities of the logarithm.
    pub(super) fn penalty(&self, steps: [usize; 2]) -> f64 {
        (0..2)
            .map(|kind| self.kinds[kind].penalty(steps[kind]))
            .sum()
    }
}

impl Form {
    /// Steps below and above the scale.
    fn reach(self) -> [usize; 2] {
        match self {
            Self::Guess => [GUESS_REACH; 2],
            Self::HalfCauchy | Self::Even => [BELOW_SCATTER, ABOVE_SCATTER],
        }
    }
}

impl Grid {
    /// Natural logarithm of the roughness over the scale.
    fn logarithm(&self, step: usize) -> f64 {
        (step as f64 - self.form.reach()[0] as f64) * GRID_STEP
    }

    fn at(&self, step: usize) -> f64 {
        self.scale * self.logarithm(step).exp()
    }

    fn penalty(&self, step: usize) -> f64 {
        let logarithm = self.logarithm(step);
        match self.form {
            Form::Guess => (logarithm / GUESS_DEVIATION).powi(2),
            // The density of ln σ: σ/(1 + σ²) on the scale 1, and σ.
            Form::HalfCauchy => 2.0 * logarithm.cosh().ln(),
            Form::Even => -2.0 * logarithm,
        }
    }
}
