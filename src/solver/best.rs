//! The best points so far, in order, ties decided.

use super::outcome::Point;
use super::problem::{IntegerLeastSquares, squared_distance};
use std::cmp::Ordering;

/// Of the size of what is added up: squared norms closer than what this leaves uncertain are equal.
///
/// Sums of some hundred terms in `f64` are good to about 10⁻¹⁴; a hundred times that decides ties and
/// widens every bound of the search, so that rounding never excludes the best point.
const ROUNDING_SHARE: f64 = 1e-12;

/// At most `capacity` points inside the bounds, best first.
#[derive(Debug)]
pub struct Best<'a> {
    problem: &'a IntegerLeastSquares,
    capacity: usize,
    points: Vec<Point>,
    /// ‖target‖ + Σ ‖column‖·|z| of a typical point: what a squared norm is the difference of.
    size: f64,
}

impl<'a> Best<'a> {
    pub fn new(problem: &'a IntegerLeastSquares, capacity: usize, typical: &[i64]) -> Self {
        let columns: f64 = problem
            .matrix
            .column_iter()
            .zip(typical)
            .map(|(column, &z)| column.norm() * (z as f64).abs())
            .sum();
        Self {
            problem,
            capacity,
            points: Vec::with_capacity(capacity.min(1_000) + 1),
            size: problem.target.norm() + columns,
        }
    }

    /// How far a squared norm near `value` may be off: d(f) = 2·√f·e + e² for an error e of the residual.
    pub fn tolerance(&self, value: f64) -> f64 {
        let error = ROUNDING_SHARE * self.size;
        2.0 * value.max(0.0).sqrt() * error + error * error
    }

    /// A point must not be worse than this to be listed: the last squared norm and its tolerance.
    pub fn bound(&self) -> f64 {
        let last = self.last();
        last + self.tolerance(last)
    }

    /// The last squared norm listed; infinite while places are free.
    pub fn last(&self) -> f64 {
        match self.points.last() {
            Some(last) if self.is_full() => last.squared_norm,
            _ => f64::INFINITY,
        }
    }

    pub fn is_full(&self) -> bool {
        self.points.len() == self.capacity
    }

    pub fn into_points(self) -> Vec<Point> {
        self.points
    }

    /// Lists a point if it is good enough and new; false if nothing changed.
    pub fn offer(&mut self, z: &[i64]) -> bool {
        let squared_norm = squared_distance(&self.problem.matrix, &self.problem.target, z);
        if squared_norm > self.bound() || self.points.iter().any(|known| known.z == z) {
            return false;
        }
        let point = Point {
            z: z.to_vec(),
            squared_norm,
        };
        let place = self
            .points
            .iter()
            .position(|known| self.compare(&point, known) == Ordering::Less)
            .unwrap_or(self.points.len());
        self.points.insert(place, point);
        self.points.truncate(self.capacity);
        place < self.capacity
    }

    /// Smaller squared norm first; of equal ones the smaller Σ|z|, then the lexicographically smaller.
    fn compare(&self, a: &Point, b: &Point) -> Ordering {
        let tolerance = self.tolerance(a.squared_norm.max(b.squared_norm));
        if (a.squared_norm - b.squared_norm).abs() > tolerance {
            return a.squared_norm.total_cmp(&b.squared_norm);
        }
        moved(&a.z).cmp(&moved(&b.z)).then_with(|| a.z.cmp(&b.z))
    }
}

/// Σ|z|.
fn moved(z: &[i64]) -> u128 {
    z.iter().map(|value| u128::from(value.unsigned_abs())).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};

    #[test]
    fn equal_points_are_ordered_by_how_much_moves_and_then_by_their_first_component() {
        let matrix = DMatrix::from_row_slice(1, 2, &[1.0, 1.0]);
        let problem = IntegerLeastSquares::unbounded(matrix, DVector::from_vec(vec![2.0]));
        let mut best = Best::new(&problem, 4, &[2, 0]);
        for z in [[3, -1], [2, 0], [0, 2], [1, 1], [1, 1], [5, 0]] {
            best.offer(&z);
        }
        let order: Vec<Vec<i64>> = best.into_points().into_iter().map(|p| p.z).collect();
        assert_eq!(order, [[0, 2], [1, 1], [2, 0], [3, -1]]);
    }
}
