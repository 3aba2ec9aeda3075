//! Orthogonal triangulation by Householder reflections.

use nalgebra::{DMatrix, DVector};

/// R and Qᵀ·`target` of `matrix` = Q·R, with at least as many rows as columns.
///
/// The first values of Qᵀ·`target`, one for every column, belong to R; the squares of the others add up to
/// what no combination of the columns reaches.
pub fn triangular(matrix: DMatrix<f64>, mut target: DVector<f64>) -> (DMatrix<f64>, DVector<f64>) {
    if matrix.ncols() == 0 {
        return (DMatrix::zeros(0, 0), target);
    }
    let factors = matrix.qr();
    factors.q_tr_mul(&mut target);
    (factors.unpack_r(), target)
}

/// R alone.
pub fn triangle(matrix: DMatrix<f64>) -> DMatrix<f64> {
    let rows = matrix.nrows();
    triangular(matrix, DVector::zeros(rows)).0
}

/// R⁻¹; `None` for a zero on the diagonal.
pub fn inverse(r: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    r.solve_upper_triangular(&DMatrix::identity(r.nrows(), r.ncols()))
}
