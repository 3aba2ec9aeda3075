//! Triangular factors of banded least-squares matrices.
//!
//! The unknowns of a bed lie in a line and every spring couples only the two nodes of one element. So the
//! stiffness matrix `K = sum stiffness row rowᵀ` is a narrow band, and a bed on a thousand feet is factored
//! in a few thousand small steps. `K` is never formed: its Cholesky factor `R`, `Rᵀ R = K`, is the
//! triangle that Givens rotations make of the rows `sqrt(stiffness) rowᵀ`, taken in from the headstock end
//! (Golub & Van Loan, Matrix Computations, section 5.2, from memory). A stiff short element beside a soft
//! long one then costs the square root of the rounding that it costs in `K`.

/// Unknowns that a row may couple: those of the two nodes of an element.
pub(super) const WIDTH: usize = 6;

/// A diagonal entry below this share of the length of its column has been cancelled away: the matrix is
/// singular. Rounding leaves about 1e-16 of it.
const SINGULAR: f64 = 1e-13;

/// An upper triangle `R` with `Rᵀ R = K`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct BandedFactor {
    /// Row by row, from the diagonal on.
    rows: Vec<[f64; WIDTH]>,
}

impl BandedFactor {
    /// The factor for rows that start at these unknowns, in rising order of these; nothing when the rows do
    /// not determine all unknowns.
    pub fn of_rows(
        order: usize,
        rows: impl Iterator<Item = (usize, [f64; WIDTH])>,
    ) -> Option<Self> {
        let mut factor = Self {
            rows: vec![[0.0; WIDTH]; order],
        };
        let mut squares = vec![0.0; order];
        for (first, row) in rows {
            for (entry, square) in row.iter().zip(&mut squares[first..]) {
                *square += entry * entry;
            }
            factor.take_in(first, row);
        }
        let regular = factor.rows.iter().zip(&squares).all(|(row, square)| {
            // A diagonal that is not a number fails too.
            row[0].abs() > SINGULAR * square.sqrt()
        });
        regular.then_some(factor)
    }

    /// Rotates a row into the triangle.
    fn take_in(&mut self, first: usize, mut row: [f64; WIDTH]) {
        for above in &mut self.rows[first..] {
            if row[0] != 0.0 {
                if above[0] == 0.0 {
                    *above = row;
                    return;
                }
                let length = above[0].hypot(row[0]);
                let (cos, sin) = (above[0] / length, row[0] / length);
                for (upper, lower) in above.iter_mut().zip(&mut row) {
                    (*upper, *lower) = (cos * *upper + sin * *lower, cos * *lower - sin * *upper);
                }
            }
            row.rotate_left(1);
            row[WIDTH - 1] = 0.0;
            if row.iter().all(|&entry| entry == 0.0) {
                return;
            }
        }
    }

    /// Replaces the right-hand side `b` by the solution of `K x = b`.
    pub fn solve(&self, vector: &mut [f64]) {
        for (first, row) in self.rows.iter().enumerate() {
            let (value, below) = vector[first..].split_first_mut().expect("one for each row");
            *value /= row[0];
            for (entry, target) in row[1..].iter().zip(below) {
                *target -= entry * *value;
            }
        }
        for (first, row) in self.rows.iter().enumerate().rev() {
            let (value, below) = vector[first..].split_first_mut().expect("one for each row");
            let sum: f64 = row[1..].iter().zip(below).map(|(a, b)| a * *b).sum();
            *value = (*value - sum) / row[0];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Second route: the dense Cholesky factor of nalgebra.
        #[test]
        fn banded_equals_dense(
            order in WIDTH..40,
            values in prop::collection::vec(prop::array::uniform6(-1.0..1.0), 40),
            right in prop::collection::vec(-1.0..1.0, 40),
        ) {
            let mut rows: Vec<(usize, [f64; WIDTH])> = (0..order)
                .map(|unknown| (unknown, [0.3, 0.0, 0.0, 0.0, 0.0, 0.0]))
                .collect();
            rows.extend((0..=order - WIDTH).zip(values));
            rows.sort_by_key(|row| row.0);
            let mut dense = DMatrix::zeros(order, order);
            for (first, values) in &rows {
                let mut row = DVector::zeros(order);
                for (offset, value) in values.iter().enumerate().take(order - first) {
                    row[first + offset] = *value;
                }
                dense += &row * row.transpose();
            }
            let right = DVector::from_column_slice(&right[..order]);
            let want = dense.cholesky().unwrap().solve(&right);
            let mut got = right.clone();
            BandedFactor::of_rows(order, rows.into_iter()).unwrap().solve(got.as_mut_slice());
            prop_assert!((&got - &want).amax() < 1e-11 * want.amax().max(1.0), "{got} {want}");
        }
    }

    /// Two masses joined by a spring.
    const JOINED: (usize, [f64; WIDTH]) = (0, [1.0, -1.0, 0.0, 0.0, 0.0, 0.0]);

    fn held_by(stiffness: f64) -> Option<BandedFactor> {
        let foot = (0, [stiffness, 0.0, 0.0, 0.0, 0.0, 0.0]);
        BandedFactor::of_rows(2, [JOINED, foot].into_iter())
    }

    #[test]
    fn rows_that_leave_an_unknown_free_have_no_factor() {
        assert_eq!(BandedFactor::of_rows(2, [JOINED].into_iter()), None);
        assert_eq!(held_by(0.0), None);
        assert_eq!(held_by(1e-15), None);
        assert_eq!(held_by(f64::NAN), None);
        assert!(held_by(1e-9).is_some());
    }
}
