//! The components that are still open, the others fixed at the only value their bounds leave.

use super::outcome::Refusal;
use super::problem::{IntegerLeastSquares, WIDEST};
use super::relaxation::{Relaxed, relax};
use super::triangle::triangular;
use nalgebra::{DMatrix, DVector};

/// A column whose own share of its length is smaller depends on those before it.
const DEPENDENT: f64 = 1e-11;

/// ‖A·z − b‖² = ‖R·z' − c‖² + `beyond`, with z' the open components.
#[derive(Debug)]
pub struct Rest {
    /// The open components, as columns of the whole problem.
    pub columns: Vec<usize>,
    /// Upper triangular.
    pub r: DMatrix<f64>,
    pub c: DVector<f64>,
    /// What no choice of the open components can reach.
    pub beyond: f64,
    pub lower: Vec<i64>,
    pub upper: Vec<i64>,
}

impl Rest {
    /// Fixes every component whose `lower` and `upper` are equal and triangulates the others.
    pub fn new(
        problem: &IntegerLeastSquares,
        lower: &[i64],
        upper: &[i64],
    ) -> Result<Self, Refusal> {
        let (fixed, columns): (Vec<usize>, Vec<usize>) =
            (0..lower.len()).partition(|&i| lower[i] == upper[i]);
        let mut left = problem.target.clone();
        for &i in &fixed {
            left.axpy(-(lower[i] as f64), &problem.matrix.column(i), 1.0);
        }
        let open = columns.len();
        if open > problem.matrix.nrows() {
            return Err(Refusal::RankDeficient {
                column: columns[problem.matrix.nrows()],
                independent_share: 0.0,
            });
        }
        let matrix = problem.matrix.select_columns(&columns);
        let (r, c) = triangular(matrix.clone(), left);
        for (place, &column) in columns.iter().enumerate() {
            let length = matrix.column(place).norm();
            let own = r[(place, place)].abs();
            if own <= DEPENDENT * length {
                return Err(Refusal::RankDeficient {
                    column,
                    independent_share: if length > 0.0 { own / length } else { 0.0 },
                });
            }
        }
        let beyond = c.rows(open, c.len() - open).norm_squared();
        let within = c.rows(0, open).into_owned();
        Ok(Self {
            lower: columns.iter().map(|&i| lower[i]).collect(),
            upper: columns.iter().map(|&i| upper[i]).collect(),
            columns,
            r,
            c: within,
            beyond,
        })
    }

    /// The best real point inside the bounds.
    pub fn relaxed(&self) -> Result<Relaxed, Refusal> {
        let real = |bounds: &[i64]| -> Vec<f64> { bounds.iter().map(|&b| b as f64).collect() };
        let relaxed = relax(&self.r, &self.c, &real(&self.lower), &real(&self.upper));
        let too_large = |value: &f64| value.is_nan() || value.abs() >= WIDEST as f64 / 2.0;
        match relaxed.at.iter().position(too_large) {
            Some(place) => Err(Refusal::TooLarge {
                component: self.columns[place],
            }),
            None => Ok(relaxed),
        }
    }

    /// The least squared norm that real components can reach.
    pub fn floor(&self, relaxed: &Relaxed) -> f64 {
        relaxed.squared_norm + self.beyond
    }

    /// Every open component rounded by itself.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "`relaxed` refuses what is too large"
    )]
    pub fn origin(&self, relaxed: &Relaxed) -> Vec<i64> {
        relaxed
            .at
            .iter()
            .zip(self.lower.iter().zip(&self.upper))
            .map(|(value, (&lower, &upper))| (value.round() as i64).clamp(lower, upper))
            .collect()
    }

    /// Whether the open components keep their bounds.
    pub fn contains(&self, open: &[i64]) -> bool {
        open.iter()
            .zip(self.lower.iter().zip(&self.upper))
            .all(|(value, (lower, upper))| lower <= value && value <= upper)
    }

    /// All components: `open` in their places, the others from `fixed`.
    pub fn with_fixed(&self, open: &[i64], fixed: &[i64]) -> Vec<i64> {
        let mut all = fixed.to_vec();
        for (&column, &value) in self.columns.iter().zip(open) {
            all[column] = value;
        }
        all
    }
}
