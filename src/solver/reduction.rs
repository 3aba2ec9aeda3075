//! A better basis of the same lattice: short, nearly orthogonal columns, so that the search meets few nodes.
//!
//! Lenstra, Lenstra & Lovász, *Factoring polynomials with rational coefficients* (1982), in floating point
//! on the triangular factor, as is usual for integer least squares (Agrell, Eriksson, Vardy & Zeger, 2002);
//! both from memory. The whole-number side, the change of basis, is exact.

use nalgebra::DMatrix;

/// δ of the Lovász condition: δ·r²(k−1,k−1) ≤ r²(k−1,k) + r²(k,k). The closer to 1, the better the basis.
pub const LOVASZ: f64 = 0.999;

/// Exchanges allowed per column. A reduction of forty columns needs some tens; where rounding would make
/// it go on for ever, the basis reached is used: it is a basis of the same lattice all the same.
const EXCHANGES_PER_COLUMN: usize = 2_000;

/// Coefficients beyond this (2⁵⁰) would not be exact in `f64`; the reduction stops before.
const LARGEST: f64 = (1_u64 << 50) as f64;

/// A basis of a lattice in triangular form.
#[derive(Debug, Clone)]
pub struct Basis {
    /// Upper triangular factor of (original matrix)·`change`, without zeros on the diagonal.
    pub r: DMatrix<f64>,
    /// Unimodular: original components = `change`·reduced components.
    pub change: DMatrix<i64>,
}

impl Basis {
    /// The basis given by an upper triangular `r` itself.
    pub fn new(r: DMatrix<f64>) -> Self {
        let columns = r.ncols();
        Self {
            r,
            change: DMatrix::identity(columns, columns),
        }
    }

    /// Makes every column size-reduced and every neighbouring pair keep the Lovász condition.
    pub fn reduce(&mut self) {
        let columns = self.r.ncols();
        let mut exchanges_left = EXCHANGES_PER_COLUMN * columns;
        let mut k = 1;
        while k < columns {
            if !self.shorten(k, k - 1) {
                return;
            }
            if self.keeps_lovasz(k) || exchanges_left == 0 {
                for i in (0..k - 1).rev() {
                    if !self.shorten(k, i) {
                        return;
                    }
                }
                k += 1;
            } else {
                exchanges_left -= 1;
                self.exchange(k);
                k = (k - 1).max(1);
            }
        }
    }

    fn keeps_lovasz(&self, k: usize) -> bool {
        let r = &self.r;
        LOVASZ * r[(k - 1, k - 1)].powi(2) <= r[(k - 1, k)].powi(2) + r[(k, k)].powi(2)
    }

    /// Subtracts the multiple of column `i` that leaves column `k` shortest along it. False: too large.
    fn shorten(&mut self, k: usize, i: usize) -> bool {
        let times = (self.r[(i, k)] / self.r[(i, i)]).round();
        times == 0.0 || self.add_columns(k, i, -times)
    }

    /// Column `to` += `times` · column `from`; false and nothing done where the result would not be exact.
    fn add_columns(&mut self, to: usize, from: usize, times: f64) -> bool {
        let columns = self.r.ncols();
        let fits = times.abs() < LARGEST
            && (0..columns).all(|row| {
                let (old, added) = (self.change[(row, to)], self.change[(row, from)]);
                (old as f64).abs() + (times * added as f64).abs() < LARGEST
            });
        if !fits {
            return false;
        }
        #[expect(clippy::cast_possible_truncation, reason = "a whole number below 2⁵⁰")]
        let whole = times as i64;
        for row in 0..columns {
            let added = whole * self.change[(row, from)];
            self.change[(row, to)] += added;
        }
        for row in 0..=from {
            let added = times * self.r[(row, from)];
            self.r[(row, to)] += added;
        }
        true
    }

    /// Exchanges columns k−1 and k and rotates rows k−1 and k so that r is triangular again.
    fn exchange(&mut self, k: usize) {
        self.change.swap_columns(k - 1, k);
        self.r.swap_columns(k - 1, k);
        let (above, below) = (self.r[(k - 1, k - 1)], self.r[(k, k - 1)]);
        let length = above.hypot(below);
        let (cosine, sine) = (above / length, below / length);
        for column in k - 1..self.r.ncols() {
            let (upper, lower) = (self.r[(k - 1, column)], self.r[(k, column)]);
            self.r[(k - 1, column)] = cosine * upper + sine * lower;
            self.r[(k, column)] = cosine * lower - sine * upper;
        }
        self.r[(k, k - 1)] = 0.0;
    }

    /// `original` += `change`·`reduced`.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "whole numbers; `as` saturates"
    )]
    pub fn add_original(&self, reduced: &[f64], original: &mut [i64]) {
        for (column, &value) in reduced.iter().enumerate() {
            if value != 0.0 {
                for (sum, entry) in original.iter_mut().zip(self.change.column(column).iter()) {
                    *sum = sum.saturating_add(entry.saturating_mul(value as i64));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::triangle::triangle;
    use super::*;
    use proptest::prelude::*;

    /// Determinant of a matrix of whole numbers, exactly (Bareiss, 1968: every division leaves no rest).
    fn determinant(matrix: &DMatrix<i64>) -> i128 {
        let n = matrix.nrows();
        let mut m = matrix.map(i128::from);
        let (mut sign, mut previous) = (1, 1);
        for k in 0..n {
            let Some(pivot) = (k..n).find(|&row| m[(row, k)] != 0) else {
                return 0;
            };
            if pivot != k {
                m.swap_rows(pivot, k);
                sign = -sign;
            }
            for i in k + 1..n {
                for j in k + 1..n {
                    m[(i, j)] = (m[(i, j)] * m[(k, k)] - m[(i, k)] * m[(k, j)]) / previous;
                }
            }
            previous = m[(k, k)];
        }
        sign * previous
    }

    /// Columns that resemble each other, down to a thousandth.
    fn rows() -> impl Strategy<Value = DMatrix<f64>> {
        (1..=7_usize, -3.0..0.5).prop_flat_map(|(n, power)| {
            prop::collection::vec(-1.0..1.0, n * n).prop_map(move |entries| {
                let own = DMatrix::from_vec(n, n, entries) * 10_f64.powf(power);
                let common = DMatrix::from_fn(n, n, |row, _| 1.0 + row as f64);
                (common + own).resize_vertically(2 * n, 0.0)
                    + DMatrix::from_fn(
                        2 * n,
                        n,
                        |row, column| {
                            if row == n + column { 1e-3 } else { 0.0 }
                        },
                    )
            })
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        /// Size-reduced: |r(i,k)| ≤ ½·|r(i,i)|. Lovász: δ·r²(k−1,k−1) ≤ r²(k−1,k) + r²(k,k).
        #[test]
        fn the_reduced_basis_keeps_both_conditions(rows in rows()) {
            let mut basis = Basis::new(triangle(rows));
            basis.reduce();
            let r = &basis.r;
            for k in 1..r.ncols() {
                for i in 0..k {
                    prop_assert!(r[(i, k)].abs() <= (0.5 + 1e-9) * r[(i, i)].abs());
                }
                let kept = r[(k - 1, k)].powi(2) + r[(k, k)].powi(2);
                prop_assert!(LOVASZ * r[(k - 1, k - 1)].powi(2) <= kept * (1.0 + 1e-9));
            }
        }

        #[test]
        fn the_reduced_basis_spans_the_same_lattice(rows in rows()) {
            let mut basis = Basis::new(triangle(rows.clone()));
            basis.reduce();
            prop_assert_eq!(determinant(&basis.change).abs(), 1);
            let changed = rows * basis.change.map(|entry| entry as f64);
            let (want, got) = (changed.tr_mul(&changed), basis.r.tr_mul(&basis.r));
            prop_assert!((&want - &got).amax() <= 1e-9 * want.amax().max(1e-6));
        }
    }

    /// Worked by hand: (1, 0) and (10, 1) span the lattice of (1, 0) and (0, 1).
    #[test]
    fn a_skew_basis_of_the_square_lattice_becomes_square() {
        let mut basis = Basis::new(DMatrix::from_row_slice(2, 2, &[1.0, 10.0, 0.0, 1.0]));
        basis.reduce();
        assert_eq!(basis.change, DMatrix::from_row_slice(2, 2, &[1, -10, 0, 1]));
        assert_eq!(basis.r, DMatrix::identity(2, 2));
    }
}
