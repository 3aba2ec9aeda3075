//! How credible a variance is, from contrasts that owe nothing to it (restricted likelihood: Patterson & Thompson 1971;
//! Harville 1977; from memory).

use nalgebra::{DMatrix, DVector};

use crate::work::Work;

/// Minus twice the log likelihood of normal contrasts with this covariance, up to a constant; infinite where it is
/// none.
///
/// ```
/// use nalgebra::{DMatrix, DVector};
/// use quarterturn::geometry::likelihood::minus_two_log_likelihood;
///
/// // ln(4) + 3²/4
/// let cost = minus_two_log_likelihood(DMatrix::from_element(1, 1, 4.0), &DVector::from_element(1, 3.0));
/// assert!((cost - (4.0_f64.ln() + 2.25)).abs() < 1e-12);
/// ```
pub fn minus_two_log_likelihood(variance: DMatrix<f64>, contrasts: &DVector<f64>) -> f64 {
    if contrasts.is_empty() {
        return 0.0;
    }
    Work::Likelihood.done(1);
    let Some(factor) = variance.cholesky() else {
        return f64::INFINITY;
    };
    let lower = factor.l_dirty();
    let mut white = contrasts.clone();
    lower.solve_lower_triangular_mut(&mut white);
    let log_determinant: f64 = lower.diagonal().iter().map(|pivot| 2.0 * pivot.ln()).sum();
    log_determinant + white.norm_squared()
}

/// Root of the mean square size over a posterior, from sizes each with minus twice the logarithm of its density, up to
/// a constant; `None` where none is possible.
pub fn root_mean_square(costs: &[(f64, f64)]) -> Option<f64> {
    let best = costs
        .iter()
        .map(|(_, cost)| *cost)
        .fold(f64::INFINITY, f64::min);
    let (mut weights, mut squares) = (0.0, 0.0);
    for (size, cost) in costs {
        let weight = ((best - cost) / 2.0).exp();
        weights += weight;
        squares += weight * size.powi(2);
    }
    (weights > 0.0).then(|| (squares / weights).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two sizes, the second a third as credible: (1 + 16/3) / (4/3).
    #[test]
    fn the_mean_square_is_weighed_by_density() {
        let found = root_mean_square(&[(1.0, 5.0), (4.0, 5.0 + 2.0 * 3.0_f64.ln())]).unwrap();
        approx::assert_relative_eq!(found, 4.75_f64.sqrt(), max_relative = 1e-12);
        assert_eq!(root_mean_square(&[(1.0, f64::INFINITY)]), None);
    }
}
