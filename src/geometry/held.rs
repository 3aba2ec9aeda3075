//! What the prior may hold: the noise terms that no free slope sees.

use nalgebra::{DMatrix, RowDVector};

use super::complement::Complement;
use super::layout::Layout;

/// The part of the noise terms that the prior holds.
#[derive(Debug, Clone)]
pub struct Held {
    /// Takes the noise terms to their held part, one held direction a row; as rows of unit variance it is
    /// the prior.
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
        let trend = Complement::new(&seen.columns(0, polynomials).into_owned());
        let left = trend.of(seen.columns(polynomials, noise).into_owned());
        let projector = Complement::new(&left.transpose()).of(DMatrix::identity(noise, noise));
        Self {
            rank: projector.nrows(),
            projector,
        }
    }
}
