//! What comes back: the whole numbers, how good they are, and how well that is known.

use std::fmt;

/// A vector of whole numbers inside the bounds and what it leaves.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// The components, in the order of the columns.
    pub z: Vec<i64>,
    /// ‖`matrix`·z − `target`‖².
    pub squared_norm: f64,
}

/// The best point found and what is known about better ones.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// The components, in the order of the columns.
    pub z: Vec<i64>,
    /// ‖`matrix`·z − `target`‖².
    pub squared_norm: f64,
    /// Whether a better point is excluded.
    pub proof: Proof,
    /// Partial vectors looked at.
    pub nodes: u64,
}

impl Solution {
    /// By how much the squared norm could still fall: 0 when proven.
    pub fn gap(&self) -> f64 {
        match self.proof {
            Proof::Optimal => 0.0,
            Proof::Gap { lower_bound } => (self.squared_norm - lower_bound).max(0.0),
        }
    }
}

/// The best points found, best first, and what is known about the points that are not listed.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranking {
    /// Fewer than asked for only if the bounds hold no more points.
    pub points: Vec<Point>,
    /// Whether a point that is not listed could be better than the last one listed.
    pub proof: Proof,
    /// Partial vectors looked at.
    pub nodes: u64,
}

/// How well an answer is known to be the best.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Proof {
    /// Every point inside the bounds was visited or excluded: nothing better exists, up to the rounding
    /// error of the squared norms.
    Optimal,
    /// The node limit stopped the search.
    Gap {
        /// No point inside the bounds (that is not listed) has a smaller squared norm than this.
        lower_bound: f64,
    },
}

/// Why a problem has no answer here.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Refusal {
    /// The sizes of the parts do not fit together.
    Shape {
        /// The part that does not fit.
        what: &'static str,
        /// Rows and columns it should have.
        expected: (usize, usize),
        /// Rows and columns it has.
        found: (usize, usize),
    },
    /// A number is infinite or not a number, or grows beyond `f64` on the way.
    NotFinite {
        /// The part that holds it.
        what: &'static str,
        /// Its row.
        row: usize,
        /// Its column.
        column: usize,
    },
    /// A lower bound lies above the upper one.
    EmptyBox {
        /// The component without a value.
        component: usize,
        /// Its lower bound.
        lower: i64,
        /// Its upper bound.
        upper: i64,
    },
    /// A column depends on those before it: nothing tells their components apart.
    RankDeficient {
        /// The first column that depends on the others.
        column: usize,
        /// The share of the column's length that the columns before it do not explain.
        independent_share: f64,
    },
    /// A component would be larger than [`WIDEST`](super::WIDEST).
    TooLarge {
        /// The component.
        component: usize,
    },
    /// The covariance of an estimate is not positive definite.
    NotPositiveDefinite,
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Shape {
                what,
                expected,
                found,
            } => write!(
                f,
                "`{what}` is {} x {}, expected {} x {}",
                found.0, found.1, expected.0, expected.1
            ),
            Self::NotFinite { what, row, column } => {
                write!(f, "`{what}` is not finite at row {row}, column {column}")
            }
            Self::EmptyBox {
                component,
                lower,
                upper,
            } => write!(
                f,
                "component {component} has no value: its bounds are {lower} and {upper}"
            ),
            Self::RankDeficient {
                column,
                independent_share,
            } => write!(
                f,
                "column {column} depends on the columns before it: only {independent_share:.1e} of it is its own"
            ),
            Self::TooLarge { component } => {
                write!(
                    f,
                    "component {component} is too large for whole numbers in f64"
                )
            }
            Self::NotPositiveDefinite => write!(f, "the covariance is not positive definite"),
        }
    }
}

impl std::error::Error for Refusal {}
