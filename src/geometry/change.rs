//! Whether two passes can have seen the same bed.
//!
//! Each pass is adjusted on a surface of its own. Everything that either of them read is asked of both
//! surfaces, less the mean of its kind, in which zero errors and lean are; on a bed that has not moved these
//! differences d have a covariance S = N + B, N from the readings' scatter and B, where the stations differ,
//! from how rough the bed is between them. At the same stations the bed itself drops out. Then `dᵀ S⁺ d` is
//! chi-square distributed with the rank of S for its degrees of freedom (Koch, *Parameter Estimation and
//! Hypothesis Testing in Linear Models*, on the general linear hypothesis; from memory).
//!
//! How rough a bed is between stations is the least certain of all, so what rests on it is left out: in the
//! coordinates in which N is the identity and B diagonal, only those are compared in which the bed adds next
//! to nothing (`MOST_FROM_BED`). The others would tell a roughness that was guessed too low or too high.

use nalgebra::DMatrix;
use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::adjustment::Adjustment;
use super::differences::Differences;
use super::joint::Joint;

/// A change is called real when chance alone does as much less often than this: so often a bed that has not
/// moved is called moved.
pub const FALSE_ALARMS: f64 = 0.05;

/// Variance that the bed between the readings may add to a difference that is compared, as a share of what
/// the readings' scatter gives it. Ten times as much makes 3 to 4 false alarms in 100 of pairs on other stations,
/// no bound at all 1 to 3, as the example `false_alarms` counts.
const MOST_FROM_BED: f64 = 0.1;

/// Differences whose deviation is below this share of the largest are no differences of their own.
const RANK_TOLERANCE: f64 = 1e-6;

/// The joint test of two passes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Sum of squared differences of the two surfaces in their standard deviations.
    pub chi_square: f64,
    /// How many differences the readings tell.
    pub freedom: usize,
    /// How often chance alone does as much.
    pub chance: f64,
    /// Of how many changes this is one that are asked at a time.
    pub asked: usize,
}

/// A difference that is independent of all others.
struct Contrast {
    /// Its square over the variance that the readings' scatter gives it.
    square: f64,
    /// Variance that the bed between the readings adds, in the same unit.
    from_bed: f64,
}

impl Change {
    /// Tests two adjusted passes of one bed. `None` when they have nothing in common that could differ.
    pub fn between(first: &Adjustment, second: &Adjustment) -> Option<Self> {
        let contrasts = contrasts(&Joint::of(first, second).differences());
        let compared = || {
            contrasts
                .iter()
                .filter(|contrast| contrast.from_bed <= MOST_FROM_BED)
        };
        let freedom = compared().count();
        let chi_square: f64 = compared()
            .map(|contrast| contrast.square / (1.0 + contrast.from_bed))
            .sum();
        let distribution = ChiSquared::new(freedom as f64).ok()?;
        Some(Self {
            chi_square,
            freedom,
            chance: distribution.sf(chi_square),
            asked: 1,
        })
    }

    /// Whether the bed has changed: of as many changes as are asked of a bed that has not moved, the likeliest is as
    /// unlikely as this with [`FALSE_ALARMS`] at most (Šidák).
    ///
    /// ```
    /// use quarterturn::geometry::Change;
    ///
    /// let once = Change { chi_square: 9.5, freedom: 3, chance: 0.023, asked: 1 };
    /// assert!(once.is_real() && !Change { asked: 4, ..once }.is_real());
    /// ```
    pub fn is_real(&self) -> bool {
        1.0 - (1.0 - self.chance).powf(self.asked as f64) < FALSE_ALARMS
    }
}

/// The differences in the coordinates in which the readings' scatter is the identity and the bed's share
/// diagonal.
fn contrasts(differences: &Differences) -> Vec<Contrast> {
    let Differences { values, noise, bed } = differences;
    if values.is_empty() {
        return Vec::new();
    }
    // N = P Rᵀ R Pᵀ, the first `rank` rows of R telling all of it.
    let factored = noise.transpose().col_piv_qr();
    let r = factored.r();
    let rank = (0..r.nrows().min(r.ncols()))
        .take_while(|&k| r[(k, k)].abs() > RANK_TOLERANCE * r[(0, 0)].abs())
        .count();
    let lower = r.view((0, 0), (rank, rank)).transpose();
    let whitened = |mut columns: DMatrix<f64>| {
        factored.p().permute_rows(&mut columns);
        let mut columns = columns.rows(0, rank).into_owned();
        lower.solve_lower_triangular_mut(&mut columns);
        columns
    };
    let bed = whitened(bed.clone());
    let values = whitened(DMatrix::from_columns(std::slice::from_ref(values)));
    let eigen = (&bed * bed.transpose()).symmetric_eigen();
    eigen
        .eigenvectors
        .column_iter()
        .zip(eigen.eigenvalues.iter())
        .map(|(direction, share)| Contrast {
            square: direction.dot(&values.column(0)).powi(2),
            from_bed: share.max(0.0),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use nalgebra::DVector;

    use super::*;

    /// Two differences of variance 4 and 9 that a third repeats, none of them from the bed: `dᵀ S⁺ d`.
    #[test]
    fn squares_are_in_deviations_and_what_stands_twice_counts_once() {
        let noise = DMatrix::from_row_slice(3, 2, &[2.0, 0.0, 0.0, 3.0, 2.0, 3.0]);
        let bed = DMatrix::zeros(3, 1);
        let values = DVector::from_vec(vec![4.0, -3.0, 1.0]);
        let found = contrasts(&Differences { values, noise, bed });
        assert_eq!(found.len(), 2);
        let squares: f64 = found.iter().map(|contrast| contrast.square).sum();
        // (4/2)² + (3/3)²
        approx::assert_relative_eq!(squares, 5.0, max_relative = 1e-12);
    }

    /// The bed moves the second of two differences by three times its scatter.
    #[test]
    fn the_share_of_the_bed_is_in_units_of_the_scatter() {
        let noise = DMatrix::from_row_slice(2, 2, &[2.0, 0.0, 0.0, 3.0]);
        let bed = DMatrix::from_row_slice(2, 1, &[0.0, 9.0]);
        let values = DVector::from_vec(vec![4.0, -6.0]);
        let mut found = contrasts(&Differences { values, noise, bed });
        found.sort_by(|a, b| a.from_bed.total_cmp(&b.from_bed));
        for (contrast, [square, from_bed]) in found.iter().zip([[4.0, 0.0], [4.0, 9.0]]) {
            approx::assert_relative_eq!(contrast.square, square, max_relative = 1e-12);
            approx::assert_relative_eq!(contrast.from_bed, from_bed, epsilon = 1e-12);
        }
    }
}
