//! The orthogonal complement of a few columns, by Householder QR.

use nalgebra::{ColPivQR, DMatrix, Dyn};

use super::least_squares::RANK_TOLERANCE;

/// What is left of a column of unit length once a trend was taken out counts as nothing below this.
/// Rounding leaves 2e-14 of chains of 160 readings twice over; what readings really tell beside the trend is
/// above 8e-4 there, and above 4e-5 for steps of 20 mm at the far end of a bed of 9 m that hardly twists.
const REMAINDER_TOLERANCE: f64 = 1e-11;

/// Everything at right angles to some columns.
pub struct Complement {
    factored: ColPivQR<f64, Dyn, Dyn>,
    rank: usize,
}

impl Complement {
    /// The complement of the space that these columns span.
    pub fn new(fixed: &DMatrix<f64>) -> Self {
        // Columns of unit length make the rank a matter of directions and not of units.
        let mut scaled = fixed.clone();
        for mut column in scaled.column_iter_mut() {
            let norm = column.norm();
            if norm > 0.0 {
                column /= norm;
            }
        }
        Self::factor(scaled, RANK_TOLERANCE)
    }

    /// The complement of what is left of columns that were of about unit length before a trend was taken
    /// out of them. Where the trend explained a column only rounding is left of it, and that has no
    /// direction; so these columns are not scaled again.
    pub fn of_remainders(remainders: DMatrix<f64>) -> Self {
        Self::factor(remainders, REMAINDER_TOLERANCE)
    }

    fn factor(columns: DMatrix<f64>, nothing: f64) -> Self {
        let factored = columns.col_piv_qr();
        let r = factored.r();
        let rank = (0..r.nrows().min(r.ncols()))
            .take_while(|&k| r[(k, k)].abs() > nothing)
            .count();
        Self { factored, rank }
    }

    /// Coordinates of columns in an orthonormal basis of the complement.
    pub fn of(&self, mut columns: DMatrix<f64>) -> DMatrix<f64> {
        self.factored.q_tr_mul(&mut columns);
        columns.remove_rows(0, self.rank)
    }

    /// Number of directions that the columns span.
    pub fn rank(&self) -> usize {
        self.rank
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn contrasts_are_orthonormal_and_free_of_the_columns() {
        let fixed =
            DMatrix::from_row_slice(4, 3, &[1., 0., 1., 1., 1., 2., 1., 2., 3., 1., 3., 4.]);
        let rows = Complement::new(&fixed).of(DMatrix::identity(4, 4));
        assert_eq!(rows.nrows(), 2, "the columns have rank 2");
        assert!((&rows * &fixed).norm() < 1e-12);
        assert!((&rows * rows.transpose() - DMatrix::identity(2, 2)).norm() < 1e-12);
    }
}
