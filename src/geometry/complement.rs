//! The orthogonal complement of a few columns, by Householder QR.

use nalgebra::{ColPivQR, DMatrix, Dyn};

use super::least_squares::RANK_TOLERANCE;

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
        let factored = scaled.col_piv_qr();
        let r = factored.r();
        let rank = (0..r.nrows().min(r.ncols()))
            .take_while(|&k| r[(k, k)].abs() > RANK_TOLERANCE)
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
