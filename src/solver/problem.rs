//! What is asked: a matrix, a target and a box of whole numbers.

use super::Refusal;
use nalgebra::{DMatrix, DVector};

/// Whole numbers beyond this size (2⁵⁰) are not told apart safely in `f64`: wider bounds count as absent.
pub const WIDEST: i64 = 1 << 50;

/// Find whole numbers `z` inside `lower ..= upper` for which ‖`matrix`·z − `target`‖² is smallest.
///
/// `lower[i] == upper[i]` fixes a component; bounds wider than ±[`WIDEST`] (such as `i64::MIN` and
/// `i64::MAX`) count as absent. Columns that depend on each other are refused unless they are fixed:
/// add rows that put a price on every component.
///
/// ```
/// use nalgebra::{DMatrix, DVector};
/// use quarterturn::solver::{IntegerLeastSquares, Settings, solve};
///
/// let matrix = DMatrix::from_row_slice(2, 2, &[1.0, 0.9, 0.0, 0.2]);
/// let problem = IntegerLeastSquares::unbounded(matrix, DVector::from_vec(vec![2.4, 0.45]));
/// let solution = solve(&problem, &Settings::default()).unwrap();
/// // The real solution is (0.375, 2.25); rounding it to (0, 2) would leave 0.3625.
/// assert_eq!(solution.z, [0, 3]);
/// assert!((solution.squared_norm - 0.1125).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct IntegerLeastSquares {
    /// m × n, real; one column for every component of the answer.
    pub matrix: DMatrix<f64>,
    /// m values to come close to.
    pub target: DVector<f64>,
    /// The least value allowed to every component.
    pub lower: Vec<i64>,
    /// The greatest value allowed to every component.
    pub upper: Vec<i64>,
}

impl IntegerLeastSquares {
    /// A problem whose components may be any whole number.
    pub fn unbounded(matrix: DMatrix<f64>, target: DVector<f64>) -> Self {
        let columns = matrix.ncols();
        Self {
            matrix,
            target,
            lower: vec![i64::MIN; columns],
            upper: vec![i64::MAX; columns],
        }
    }

    /// The whole numbers closest to a real estimate, distance measured in its covariance `Q`:
    /// (z − `float`)ᵀ `Q`⁻¹ (z − `float`), as ambiguities are fixed in satellite geodesy.
    ///
    /// With the Cholesky factor `Q` = C·Cᵀ the matrix is C⁻¹ and the target C⁻¹·`float`. No bounds.
    /// Only the lower triangle of `covariance` is read.
    pub fn from_estimate(float: &DVector<f64>, covariance: &DMatrix<f64>) -> Result<Self, Refusal> {
        let columns = float.len();
        if covariance.shape() != (columns, columns) {
            return Err(Refusal::Shape {
                what: "covariance",
                expected: (columns, columns),
                found: covariance.shape(),
            });
        }
        require_finite("covariance", covariance.as_slice(), columns)?;
        require_finite("float", float.as_slice(), columns)?;
        let factor = covariance
            .clone()
            .cholesky()
            .ok_or(Refusal::NotPositiveDefinite)?
            .unpack();
        let matrix = factor
            .solve_lower_triangular(&DMatrix::identity(columns, columns))
            .ok_or(Refusal::NotPositiveDefinite)?;
        let target = &matrix * float;
        Ok(Self::unbounded(matrix, target))
    }

    /// ‖`matrix`·z − `target`‖², summed in the order of the rows; `None` if `z` has another length.
    pub fn squared_norm(&self, z: &[i64]) -> Option<f64> {
        (z.len() == self.matrix.ncols() && self.matrix.nrows() == self.target.len())
            .then(|| squared_distance(&self.matrix, &self.target, z))
    }

    /// Whether every component of `z` keeps its bounds.
    pub fn contains(&self, z: &[i64]) -> bool {
        z.len() == self.lower.len()
            && z.iter()
                .zip(self.lower.iter().zip(&self.upper))
                .all(|(value, (least, greatest))| least <= value && value <= greatest)
    }

    /// Refuses what has no meaning: sizes that do not fit, numbers that are none, a box with nothing inside.
    pub(super) fn check(&self) -> Result<(), Refusal> {
        let (rows, columns) = self.matrix.shape();
        let sizes = [
            ("target", self.target.len(), rows),
            ("lower", self.lower.len(), columns),
            ("upper", self.upper.len(), columns),
        ];
        for (what, found, expected) in sizes {
            if found != expected {
                return Err(Refusal::Shape {
                    what,
                    expected: (expected, 1),
                    found: (found, 1),
                });
            }
        }
        require_finite("matrix", self.matrix.as_slice(), rows)?;
        require_finite("target", self.target.as_slice(), rows)?;
        for component in 0..columns {
            let (lower, upper) = (self.lower[component], self.upper[component]);
            if lower > upper {
                return Err(Refusal::EmptyBox {
                    component,
                    lower,
                    upper,
                });
            }
            if lower > WIDEST || upper < -WIDEST {
                return Err(Refusal::TooLarge { component });
            }
        }
        Ok(())
    }
}

/// ‖`matrix`·z − `target`‖².
pub(super) fn squared_distance(matrix: &DMatrix<f64>, target: &DVector<f64>, z: &[i64]) -> f64 {
    let mut residual = -target;
    for (column, &value) in z.iter().enumerate() {
        if value != 0 {
            residual.axpy(value as f64, &matrix.column(column), 1.0);
        }
    }
    residual.norm_squared()
}

fn require_finite(what: &'static str, values: &[f64], rows: usize) -> Result<(), Refusal> {
    match values.iter().position(|value| !value.is_finite()) {
        None => Ok(()),
        Some(place) => Err(Refusal::NotFinite {
            what,
            row: place % rows,
            column: place / rows,
        }),
    }
}
