//! How credible a pass would be with some readings changed.
//!
//! For one roughness, minus twice the restricted log likelihood is a quadratic form of the observations:
//! ln det V + tᵀ P t, where P is the inverse of the covariance V with the fixed unknowns projected out
//! (Harville 1977; from memory). So once P is known, changing a few observations costs next to nothing, and
//! every explanation of a misfit can be weighed on the whole pass, with the roughness that suits it best.

use nalgebra::{DMatrix, DVector};

use super::belief::Belief;
use super::complement::Complement;
use super::layout::Roughness;
use super::smoothness::{Components, Contrasts};

/// Weighing needs no finer grid than every so many steps of the grid of roughness.
const STRIDE: usize = 2;

/// What is done to the observations (in their deviations), each named by its row.
#[derive(Debug, Clone, PartialEq)]
pub enum Change {
    /// These amounts are added.
    Fixed(Vec<(usize, f64)>),
    /// A multiple of this pattern is added, whichever suits best.
    Free(Vec<(usize, f64)>),
}

/// A change, weighed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighed {
    /// Minus twice the log likelihood at the most credible roughness.
    pub cost: f64,
    /// The point of the grid that is.
    at: [usize; 2],
}

/// The likelihood of a pass and of what it would be with some readings changed.
pub struct Weighing {
    contrasts: Contrasts,
    belief: Belief,
    /// Points of the grid along each direction.
    points_along: [usize; 2],
    /// Takes observations to contrasts.
    basis: DMatrix<f64>,
    target: DVector<f64>,
    points: Vec<Option<Point>>,
}

/// The quadratic form for one roughness.
struct Point {
    /// Minus twice the log likelihood of the observations as they are.
    cost: f64,
    /// P.
    precision: DMatrix<f64>,
    /// P t.
    pull: DVector<f64>,
}

impl Point {
    fn cost(&self, change: &Change) -> f64 {
        match change {
            Change::Fixed(amounts) => self.cost + 2.0 * self.along(amounts) + self.square(amounts),
            Change::Free(pattern) => {
                let square = self.square(pattern);
                if square <= 0.0 {
                    return self.cost;
                }
                self.cost - self.along(pattern).powi(2) / square
            }
        }
    }

    fn along(&self, pattern: &[(usize, f64)]) -> f64 {
        pattern.iter().map(|(i, by)| by * self.pull[*i]).sum()
    }

    fn square(&self, pattern: &[(usize, f64)]) -> f64 {
        let mut sum = 0.0;
        for (i, a) in pattern {
            for (j, b) in pattern {
                sum += a * b * self.precision[(*i, *j)];
            }
        }
        sum
    }
}

impl Weighing {
    /// Prepares to weigh changes of these observations of a bed that is guessed to be about this rough.
    pub fn new(components: &Components, guess: Roughness) -> Self {
        let rows = components.target.len();
        let contrasts = Contrasts::new(components);
        let belief = components.belief(&contrasts, guess);
        let points_along = [0, 1].map(|kind| belief.points(kind).div_ceil(STRIDE));
        Self {
            contrasts,
            belief,
            points_along,
            basis: Complement::new(&components.fixed).of(DMatrix::identity(rows, rows)),
            target: components.target.clone(),
            points: (0..points_along[0] * points_along[1])
                .map(|_| None)
                .collect(),
        }
    }

    /// Number of contrasts: how much the observations say beyond the fixed unknowns.
    pub fn contrasts(&self) -> usize {
        self.basis.nrows()
    }

    /// The most credible roughness for a change, sought downhill from that of another one.
    pub fn weigh(&mut self, change: &Change, from: Option<Weighed>) -> Weighed {
        let scale = [0, 1].map(|kind| self.belief.scale_step(kind) / STRIDE);
        let mut at = from.map_or(scale, |weighed| weighed.at);
        let mut cost = self.cost(at, change);
        loop {
            let mut best = Weighed { cost, at };
            for kind in 0..2 {
                for step in [at[kind].checked_sub(1), Some(at[kind] + 1)] {
                    let Some(step) = step.filter(|step| *step < self.points_along[kind]) else {
                        continue;
                    };
                    let mut tried = at;
                    tried[kind] = step;
                    let cost = self.cost(tried, change);
                    if cost < best.cost {
                        best = Weighed { cost, at: tried };
                    }
                }
            }
            if best.at == at {
                return best;
            }
            (cost, at) = (best.cost, best.at);
        }
    }

    /// The least cost of a change at the points that are known by now: never below the truth.
    pub fn bound(&self, change: &Change) -> f64 {
        self.points
            .iter()
            .flatten()
            .map(|point| point.cost(change))
            .fold(f64::INFINITY, f64::min)
    }

    /// The multiple of a pattern that suits best at a weighed point, and its standard deviation; `None`
    /// where nothing speaks of it.
    pub fn multiple(&self, pattern: &[(usize, f64)], weighed: Weighed) -> Option<(f64, f64)> {
        let point = self.points[self.key(weighed.at)].as_ref()?;
        let square = point.square(pattern);
        (square > 0.0).then(|| (-point.along(pattern) / square, square.sqrt().recip()))
    }

    fn cost(&mut self, at: [usize; 2], change: &Change) -> f64 {
        let key = self.key(at);
        if self.points[key].is_none() {
            self.points[key] = self.point(at);
        }
        self.points[key]
            .as_ref()
            .map_or(f64::INFINITY, |point| point.cost(change))
    }

    fn point(&self, at: [usize; 2]) -> Option<Point> {
        let step = at.map(|k| k * STRIDE);
        // The identity in it keeps the variance positive definite whatever the bed is like.
        let factor = self.contrasts.variance(self.belief.at(step)).cholesky()?;
        let lower = factor.l_dirty();
        let mut white = self.basis.clone();
        let rows = white.nrows();
        if rows > 0 {
            lower.solve_lower_triangular_mut(&mut white);
        }
        let log_determinant: f64 = (0..rows).map(|i| 2.0 * lower[(i, i)].ln()).sum();
        let precision = white.transpose() * white;
        let pull = &precision * &self.target;
        Some(Point {
            cost: log_determinant + pull.dot(&self.target) + self.belief.penalty(step),
            precision,
            pull,
        })
    }

    fn key(&self, at: [usize; 2]) -> usize {
        at[0] * self.points_along[1] + at[1]
    }
}
