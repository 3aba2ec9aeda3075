//! How rough this bed is between the places that were read, estimated from the readings themselves.
//!
//! The size of the prior is a variance component. Its posterior is computed from the restricted
//! likelihood, in which the polynomials and the level's zero errors are integrated out (Patterson &
//! Thompson 1971; Harville 1977; from memory), on a grid of logarithmic steps, with a wide prior of its own
//! so that three readings do not claim to know how rough a bed is.

use nalgebra::{DMatrix, DVector};

use super::complement::Complement;
use super::layout::Roughness;

/// What a bed's roughness is thought to be before any reading: deviations of about 0.05 mm with a wave
/// length of half the bed make the middle line about this rough. A broad guess, to a factor of seven either way.
pub const USUAL_ROUGHNESS: Roughness = Roughness {
    middle: 0.02,
    half: 0.002,
};

/// Standard deviation of the natural logarithm of the true roughness about [`USUAL_ROUGHNESS`]: a factor
/// of seven either way.
const GUESS_DEVIATION: f64 = 2.0;

/// Step of the grid in the natural logarithm.
const GRID_STEP: f64 = 0.5;
/// Steps of the grid to either side of the usual roughness.
pub(super) const GRID_REACH: usize = 10;
/// A roughness this much worse than the best, in twice the log likelihood, has a ten-millionth of its weight.
const HOPELESS: f64 = 32.0;
/// Points of the grid along one direction.
pub(super) const GRID_SIZE: usize = 2 * GRID_REACH + 1;

/// Observations, divided by their standard deviations, split into what each kind of unknown contributes.
#[derive(Debug, Clone)]
pub struct Components {
    /// Polynomials and zero errors: nothing is known of them beforehand.
    pub fixed: DMatrix<f64>,
    /// Noise terms of the middle line for unit roughness.
    pub middle: DMatrix<f64>,
    /// Noise terms of the half difference for unit roughness.
    pub half: DMatrix<f64>,
    /// The observations.
    pub target: DVector<f64>,
}

impl Components {
    /// Root of the mean square roughness over its posterior, for the middle line and the half difference.
    pub fn roughness(&self) -> Roughness {
        let mut search = Search::new(self);
        let mode = search.mode();
        Roughness {
            middle: USUAL_ROUGHNESS.middle * search.mean_ratio(mode, 0),
            half: USUAL_ROUGHNESS.half * search.mean_ratio(mode, 1),
        }
    }

    /// Minus twice the restricted log likelihood of the observations at the most likely roughness, up to
    /// a constant that is the same for all targets with these rows. Smaller is more credible.
    pub fn misfit(&self) -> f64 {
        let mut search = Search::new(self);
        let mode = search.mode();
        search.cost(mode)
    }
}

/// The roughness at a pair of steps of the grid.
pub(super) fn on_grid([middle, half]: [usize; 2]) -> Roughness {
    Roughness {
        middle: USUAL_ROUGHNESS.middle * ratio(middle),
        half: USUAL_ROUGHNESS.half * ratio(half),
    }
}

/// Roughness over the usual one at a step of the grid.
fn ratio(step: usize) -> f64 {
    ((step as f64 - GRID_REACH as f64) * GRID_STEP).exp()
}

/// What the guess beforehand adds to minus twice the log likelihood.
pub(super) fn guess_penalty(step: usize) -> f64 {
    (ratio(step).ln() / GUESS_DEVIATION).powi(2)
}

/// The likelihood on the grid, every point computed once.
struct Search {
    contrasts: Contrasts,
    known: Vec<Option<f64>>,
}

impl Search {
    fn new(components: &Components) -> Self {
        Self {
            contrasts: Contrasts::new(components),
            known: vec![None; GRID_SIZE * GRID_SIZE],
        }
    }

    /// Minus twice the log likelihood, the guess beforehand included.
    fn cost(&mut self, at: [usize; 2]) -> f64 {
        let key = at[0] * GRID_SIZE + at[1];
        if let Some(cost) = self.known[key] {
            return cost;
        }
        let cost = self.contrasts.minus_two_log_likelihood(on_grid(at))
            + guess_penalty(at[0])
            + guess_penalty(at[1]);
        self.known[key] = Some(cost);
        cost
    }

    /// The most credible point.
    fn mode(&mut self) -> [usize; 2] {
        let mut at = [GRID_REACH; 2];
        // Where both ways were read at the same places the two sizes do not meet at all, so that one
        // round of turns about is almost always enough; two are certain.
        for _ in 0..2 {
            for kind in 0..2 {
                let costs = self.scan(at, kind);
                let best = costs.into_iter().min_by(|a, b| a.1.total_cmp(&b.1));
                at[kind] = best.map_or(at[kind], |(step, _)| step);
            }
        }
        at
    }

    /// Root mean square over the posterior along one direction of the grid, over the usual roughness.
    fn mean_ratio(&mut self, at: [usize; 2], kind: usize) -> f64 {
        let costs = self.scan(at, kind);
        let best = least(&costs);
        let (mut weights, mut squares) = (0.0, 0.0);
        for (step, cost) in costs {
            let weight = ((best - cost) / 2.0).exp();
            weights += weight;
            squares += weight * ratio(step).powi(2);
        }
        if weights > 0.0 {
            (squares / weights).sqrt()
        } else {
            1.0
        }
    }

    /// Steps along one direction of the grid with their costs; between two that are hopeless nothing
    /// better is sought.
    fn scan(&mut self, at: [usize; 2], kind: usize) -> Vec<(usize, f64)> {
        let mut cost = |step: usize| {
            let mut tried = at;
            tried[kind] = step;
            (step, self.cost(tried))
        };
        let mut costs: Vec<(usize, f64)> = (0..GRID_SIZE).step_by(2).map(&mut cost).collect();
        let hopeless = least(&costs) + HOPELESS;
        let between: Vec<(usize, f64)> = costs
            .windows(2)
            .filter(|pair| pair.iter().any(|(_, cost)| *cost <= hopeless))
            .map(|pair| cost(pair[0].0 + 1))
            .collect();
        costs.extend(between);
        costs.sort_by_key(|(step, _)| *step);
        costs
    }
}

fn least(costs: &[(usize, f64)]) -> f64 {
    costs
        .iter()
        .map(|(_, cost)| *cost)
        .fold(f64::INFINITY, f64::min)
}

/// What does not depend on the roughness, computed once: contrasts free of the fixed unknowns.
pub(super) struct Contrasts {
    middle: DMatrix<f64>,
    half: DMatrix<f64>,
    target: DVector<f64>,
}

impl Contrasts {
    /// Takes the contrasts of these components.
    pub(super) fn new(components: &Components) -> Self {
        let free = Complement::new(&components.fixed);
        let middle = free.of(components.middle.clone());
        let half = free.of(components.half.clone());
        let target = free.of(DMatrix::from_column_slice(
            components.target.len(),
            1,
            components.target.as_slice(),
        ));
        Self {
            middle: &middle * middle.transpose(),
            half: &half * half.transpose(),
            target: target.column(0).into_owned(),
        }
    }

    fn minus_two_log_likelihood(&self, size: Roughness) -> f64 {
        let n = self.target.len();
        if n == 0 {
            return 0.0;
        }
        // The identity in it keeps the variance positive definite whatever the bed is like.
        let Some(factor) = self.variance(size).cholesky() else {
            return f64::INFINITY;
        };
        let lower = factor.l_dirty();
        let mut white = self.target.clone();
        lower.solve_lower_triangular_mut(&mut white);
        let log_determinant: f64 = (0..n).map(|i| 2.0 * lower[(i, i)].ln()).sum();
        log_determinant + white.norm_squared()
    }

    /// Covariance of the contrasts.
    pub(super) fn variance(&self, size: Roughness) -> DMatrix<f64> {
        let (middle, half) = (size.middle.powi(2), size.half.powi(2));
        let mut variance = self
            .middle
            .zip_map(&self.half, |m, h| middle * m + half * h);
        for i in 0..variance.nrows() {
            variance[(i, i)] += 1.0;
        }
        variance
    }
}
