//! How rough this bed is between the places that were read, estimated from the readings themselves.
//!
//! The size of the prior is a variance component. Its posterior is computed from the restricted
//! [likelihood](super::likelihood), in which the polynomials and the level's zero errors are integrated out, on a grid of logarithmic steps, with a wide prior of its own
//! (see [`belief`](super::belief)) so that three readings do not claim to know how rough a bed is.

use nalgebra::{DMatrix, DVector};

use super::belief::Belief;
use super::complement::Complement;
use super::layout::Roughness;
use super::likelihood::{minus_two_log_likelihood, root_mean_square};

/// How often the two sizes are sought in turn at most.
const ROUNDS_OF_TURNS: usize = 10;
/// A roughness this much worse than the best, in twice the log likelihood, has a ten-millionth of its weight.
const HOPELESS: f64 = 32.0;

/// How rough a bed is taken to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Supposed {
    /// Just so.
    Known(Roughness),
    /// About so, unless the readings tell.
    Guessed(Roughness),
}

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
    /// Whether they chain both ways end to end, so that they tell by themselves how rough the bed is.
    pub chained: bool,
}

impl Components {
    /// Root of the mean square roughness over its posterior, for the middle line and the half difference, on a
    /// bed that is guessed to be about this rough.
    pub fn roughness(&self, guess: Roughness) -> Roughness {
        let contrasts = Contrasts::new(self);
        let belief = self.belief(&contrasts, guess);
        let mut search = Search::new(contrasts, belief);
        let mode = search.mode();
        Roughness {
            middle: search.mean_size(mode, 0),
            half: search.mean_size(mode, 1),
        }
    }

    /// What is believed of the roughness beforehand.
    pub(super) fn belief(&self, contrasts: &Contrasts, guess: Roughness) -> Belief {
        if self.chained {
            Belief::of_scatter(contrasts, guess)
        } else {
            Belief::guess(guess)
        }
    }
}

/// The likelihood on the grid, every point computed once.
struct Search {
    contrasts: Contrasts,
    belief: Belief,
    known: Vec<Option<f64>>,
}

impl Search {
    fn new(contrasts: Contrasts, belief: Belief) -> Self {
        Self {
            contrasts,
            belief,
            known: vec![None; belief.points(0) * belief.points(1)],
        }
    }

    /// Minus twice the log likelihood, the belief beforehand included.
    fn cost(&mut self, at: [usize; 2]) -> f64 {
        let key = at[0] * self.belief.points(1) + at[1];
        if let Some(cost) = self.known[key] {
            return cost;
        }
        let likelihood = self.contrasts.minus_two_log_likelihood(self.belief.at(at));
        let cost = likelihood + self.belief.penalty(at);
        self.known[key] = Some(cost);
        cost
    }

    /// The most credible point.
    fn mode(&mut self) -> [usize; 2] {
        let mut at = [0, 1].map(|kind| self.belief.scale_step(kind));
        // Where both ways were read at the same places the two sizes do not meet at all, so that one
        // round of turns about is almost always enough.
        for _ in 0..ROUNDS_OF_TURNS {
            let before = at;
            for kind in 0..2 {
                let costs = self.scan(at, kind);
                let best = costs.into_iter().min_by(|a, b| a.1.total_cmp(&b.1));
                at[kind] = best.map_or(at[kind], |(step, _)| step);
            }
            if at == before {
                break;
            }
        }
        at
    }

    /// Root mean square of one kind over the posterior along its direction of the grid.
    fn mean_size(&mut self, at: [usize; 2], kind: usize) -> f64 {
        let costs: Vec<(f64, f64)> = self
            .scan(at, kind)
            .into_iter()
            .map(|(step, cost)| (self.belief.size(kind, step), cost))
            .collect();
        root_mean_square(&costs).unwrap_or_else(|| self.belief.size(kind, at[kind]))
    }

    /// Steps along one direction of the grid with their costs; between two that are hopeless nothing
    /// better is sought.
    fn scan(&mut self, at: [usize; 2], kind: usize) -> Vec<(usize, f64)> {
        let points = self.belief.points(kind);
        let mut cost = |step: usize| {
            let mut tried = at;
            tried[kind] = step;
            (step, self.cost(tried))
        };
        let mut costs: Vec<(usize, f64)> = (0..points).step_by(2).map(&mut cost).collect();
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
    told: [Told; 2],
}

/// What contrasts can tell of the roughness of one kind.
#[derive(Debug, Clone, Copy)]
pub(super) struct Told {
    /// How many of them it shows in.
    pub contrasts: usize,
    /// Their variance, all together, for unit roughness.
    pub variance: f64,
}

impl Told {
    /// Noise terms as they are in the contrasts, and the length they had before the fixed unknowns took their share.
    fn of(left: &DMatrix<f64>, before: f64) -> Self {
        if before <= 0.0 {
            return Self {
                contrasts: 0,
                variance: 0.0,
            };
        }
        Self {
            contrasts: Complement::of_remainders(left / before).rank(),
            variance: left.norm_squared(),
        }
    }
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
            told: [
                Told::of(&middle, components.middle.norm()),
                Told::of(&half, components.half.norm()),
            ],
            middle: &middle * middle.transpose(),
            half: &half * half.transpose(),
            target: target.column(0).into_owned(),
        }
    }

    /// What they can tell of the roughness of one kind.
    pub(super) fn told_of(&self, kind: usize) -> Told {
        self.told[kind]
    }

    fn minus_two_log_likelihood(&self, size: Roughness) -> f64 {
        minus_two_log_likelihood(self.variance(size), &self.target)
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
