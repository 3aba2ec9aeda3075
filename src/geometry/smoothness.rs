//! How rough this bed is between the places that were read, estimated from the readings themselves.
//!
//! The size of the prior is a variance component. Its posterior is computed from the restricted
//! likelihood, in which the polynomials and the level's zero errors are integrated out (Patterson &
//! Thompson 1971; Harville 1977; from memory), on a grid of logarithmic steps, with a wide prior of its own
//! so that three readings do not claim to know how rough a bed is.

use nalgebra::{DMatrix, DVector};

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
const GRID_REACH: i32 = 10;

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
        let prepared = Prepared::new(self);
        let mut size = USUAL_ROUGHNESS;
        // Where both ways were read at the same places the two sizes do not meet at all, so that one
        // round of turns about is almost always enough; two are certain.
        for _ in 0..2 {
            size.middle = grid_mode(USUAL_ROUGHNESS.middle, |middle| {
                prepared.minus_two_log_likelihood(Roughness { middle, ..size })
            });
            size.half = grid_mode(USUAL_ROUGHNESS.half, |half| {
                prepared.minus_two_log_likelihood(Roughness { half, ..size })
            });
        }
        Roughness {
            middle: grid_mean(USUAL_ROUGHNESS.middle, |middle| {
                prepared.minus_two_log_likelihood(Roughness { middle, ..size })
            }),
            half: grid_mean(USUAL_ROUGHNESS.half, |half| {
                prepared.minus_two_log_likelihood(Roughness { half, ..size })
            }),
        }
    }

    /// Minus twice the restricted log likelihood of the observations at the most likely roughness, up to
    /// a constant that is the same for all targets with these rows. Smaller is more credible.
    pub fn misfit(&self) -> f64 {
        let prepared = Prepared::new(self);
        let mut size = USUAL_ROUGHNESS;
        for _ in 0..2 {
            size.middle = grid_mode(USUAL_ROUGHNESS.middle, |middle| {
                prepared.minus_two_log_likelihood(Roughness { middle, ..size })
            });
            size.half = grid_mode(USUAL_ROUGHNESS.half, |half| {
                prepared.minus_two_log_likelihood(Roughness { half, ..size })
            });
        }
        prepared.minus_two_log_likelihood(size)
            + guess_penalty(size.middle / USUAL_ROUGHNESS.middle)
            + guess_penalty(size.half / USUAL_ROUGHNESS.half)
    }
}

/// What does not depend on the roughness, computed once: contrasts free of the fixed unknowns.
struct Prepared {
    middle: DMatrix<f64>,
    half: DMatrix<f64>,
    contrasts: DVector<f64>,
}

impl Prepared {
    fn new(components: &Components) -> Self {
        let null = complement(&components.fixed);
        let middle = &null * &components.middle;
        let half = &null * &components.half;
        Self {
            middle: &middle * middle.transpose(),
            half: &half * half.transpose(),
            contrasts: &null * &components.target,
        }
    }

    fn minus_two_log_likelihood(&self, size: Roughness) -> f64 {
        let n = self.contrasts.len();
        let variance = DMatrix::identity(n, n)
            + &self.middle * size.middle.powi(2)
            + &self.half * size.half.powi(2);
        // The identity in it keeps the variance positive definite whatever the bed is like.
        let Some(factor) = variance.cholesky() else {
            return f64::INFINITY;
        };
        let lower = factor.l_dirty();
        let mut white = self.contrasts.clone();
        if n > 0 {
            lower.solve_lower_triangular_mut(&mut white);
        }
        let log_determinant: f64 = (0..n).map(|i| 2.0 * lower[(i, i)].ln()).sum();
        log_determinant + white.norm_squared()
    }
}

/// Rows that span the orthogonal complement of the matrix's columns.
fn complement(fixed: &DMatrix<f64>) -> DMatrix<f64> {
    let rows = fixed.nrows();
    // The left singular vectors of a matrix padded to a square are a full orthonormal basis.
    let padded = fixed
        .clone()
        .resize_horizontally(rows.max(fixed.ncols()), 0.0);
    let Some((u, singular)) = padded
        .try_svd(true, false, f64::EPSILON, 0)
        .and_then(|svd| {
            let singular = svd.singular_values;
            svd.u.map(|u| (u, singular))
        })
    else {
        return DMatrix::identity(rows, rows);
    };
    let largest = singular.iter().copied().fold(0.0, f64::max);
    let kept: Vec<usize> = (0..u.ncols())
        .filter(|&k| {
            singular
                .get(k)
                .is_none_or(|s| *s <= super::least_squares::RANK_TOLERANCE * largest)
        })
        .collect();
    u.select_columns(&kept).transpose()
}

fn guess_penalty(ratio: f64) -> f64 {
    (ratio.ln() / GUESS_DEVIATION).powi(2)
}

/// The grid value of least misfit, penalty included.
fn grid_mode(usual: f64, misfit: impl Fn(f64) -> f64) -> f64 {
    grid(usual)
        .map(|value| (value, misfit(value) + guess_penalty(value / usual)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map_or(usual, |(value, _)| value)
}

/// Root mean square over the posterior on the grid.
fn grid_mean(usual: f64, misfit: impl Fn(f64) -> f64) -> f64 {
    let cells: Vec<(f64, f64)> = grid(usual)
        .map(|value| (value, misfit(value) + guess_penalty(value / usual)))
        .collect();
    let best = cells
        .iter()
        .map(|cell| cell.1)
        .fold(f64::INFINITY, f64::min);
    let (mut weights, mut squares) = (0.0, 0.0);
    for (value, cost) in cells {
        let weight = ((best - cost) / 2.0).exp();
        weights += weight;
        squares += weight * value * value;
    }
    if weights > 0.0 {
        (squares / weights).sqrt()
    } else {
        usual
    }
}

fn grid(usual: f64) -> impl Iterator<Item = f64> {
    (-GRID_REACH..=GRID_REACH).map(move |k| usual * (f64::from(k) * GRID_STEP).exp())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_complement_is_orthonormal_and_annihilates_the_columns() {
        let fixed =
            DMatrix::from_row_slice(4, 3, &[1., 0., 1., 1., 1., 2., 1., 2., 3., 1., 3., 4.]);
        let rows = complement(&fixed);
        assert_eq!(rows.nrows(), 2, "the columns have rank 2");
        assert!((&rows * &fixed).norm() < 1e-12);
        assert!((&rows * rows.transpose() - DMatrix::identity(2, 2)).norm() < 1e-12);
    }
}
