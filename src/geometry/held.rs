//! What the prior may hold: the noise terms that no free slope sees.

use nalgebra::{DMatrix, RowDVector};

use super::layout::Layout;
use super::least_squares::RANK_TOLERANCE;

/// The part of the noise terms that the prior holds.
#[derive(Debug, Clone)]
pub struct Held {
    /// Takes the noise terms to their held part; as rows of unit variance it is the prior.
    pub projector: DMatrix<f64>,
    /// Number of directions held.
    pub rank: usize,
}

impl Held {
    /// The noise terms whose size is left free are those that the free slopes (functions of the surface's
    /// unknowns) see once the polynomials have taken their share; the prior holds the rest.
    pub fn beside(free: &[RowDVector<f64>], layout: &Layout) -> Self {
        let (polynomials, noise) = (Layout::polynomials(), layout.noise_terms());
        let mut seen = DMatrix::zeros(free.len(), polynomials + noise);
        for (k, row) in free.iter().enumerate() {
            // Near the headstock end the noise terms are tiny, and no less real: every row counts alike.
            let norm = row.columns(polynomials, noise).norm();
            seen.set_row(k, &if norm > 0.0 { row / norm } else { row.clone() });
        }
        let mut trend = seen.columns(0, polynomials).into_owned();
        for mut column in trend.column_iter_mut() {
            let norm = column.norm();
            if norm > 0.0 {
                column /= norm;
            }
        }
        let trend = orthonormal_columns(trend);
        let slopes = seen.columns(polynomials, noise);
        let left = slopes - &trend * (trend.transpose() * slopes);
        let basis = orthonormal_columns(left.transpose());
        Self {
            projector: DMatrix::identity(noise, noise) - &basis * basis.transpose(),
            rank: noise - basis.ncols(),
        }
    }
}

/// An orthonormal basis of the space that columns of about unit length span.
fn orthonormal_columns(matrix: DMatrix<f64>) -> DMatrix<f64> {
    let factored = matrix.col_piv_qr();
    let r = factored.r();
    let rank = (0..r.nrows().min(r.ncols()))
        .take_while(|&k| r[(k, k)].abs() > RANK_TOLERANCE)
        .count();
    factored.q().columns(0, rank).into_owned()
}
