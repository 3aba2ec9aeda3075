//! Whether two passes can have seen the same bed.
//!
//! Each pass is adjusted on a surface of its own. Everything that either of them read is asked of both
//! surfaces, less the mean of its kind, in which zero errors and lean are; on a bed that has not moved these
//! differences d have a covariance S that follows from the readings' scatter and, where the stations differ,
//! from how rough the bed is between them. At the same stations the bed itself drops out. Then `dᵀ S⁺ d` is
//! chi-square distributed with the rank of S for its degrees of freedom (Koch, *Parameter Estimation and
//! Hypothesis Testing in Linear Models*, on the general linear hypothesis; from memory).

use nalgebra::DMatrix;
use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::joint::Joint;
use crate::geometry::Adjustment;

/// A change is called real when chance alone does as much less often than this: so often a bed that has not
/// moved is called moved.
pub const FALSE_ALARMS: f64 = 0.05;

/// Differences whose deviation is below this share of the largest are no differences of their own.
const RANK_TOLERANCE: f64 = 1e-6;

/// Most sweeps of the singular value decomposition; it takes a few for each value.
const MOST_SWEEPS: usize = 10_000;

/// The joint test of two passes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Sum of squared differences of the two surfaces in their standard deviations.
    pub chi_square: f64,
    /// How many differences the readings tell.
    pub freedom: usize,
    /// How often chance alone does as much.
    pub chance: f64,
}

impl Change {
    /// Tests two adjusted passes of one bed. `None` when they have nothing in common that could differ.
    pub fn between(first: &Adjustment, second: &Adjustment) -> Option<Self> {
        let differences = Joint::of(first, second).differences();
        let (chi_square, freedom) = standardised(&differences.root, &differences.values)?;
        let distribution = ChiSquared::new(freedom as f64).ok()?;
        Some(Self {
            chi_square,
            freedom,
            chance: distribution.sf(chi_square),
        })
    }

    /// Whether the bed has changed.
    pub fn is_real(&self) -> bool {
        self.chance < FALSE_ALARMS
    }
}

/// `|root⁺ values|²` and the rank of the root.
fn standardised(root: &DMatrix<f64>, values: &nalgebra::DVector<f64>) -> Option<(f64, usize)> {
    if values.is_empty() {
        return None;
    }
    // Fewer columns with the same product.
    let small = root.transpose().qr().r().transpose();
    let factored = small.try_svd(true, false, f64::EPSILON, MOST_SWEEPS)?;
    let left = factored.u?;
    let largest = factored.singular_values.max();
    let mut chi_square = 0.0;
    let mut rank = 0;
    for (direction, size) in left.column_iter().zip(factored.singular_values.iter()) {
        if *size > RANK_TOLERANCE * largest {
            chi_square += (direction.dot(values) / size).powi(2);
            rank += 1;
        }
    }
    Some((chi_square, rank))
}
