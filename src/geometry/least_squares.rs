//! Weighted linear least squares by QR, with what a surveyor asks of it: covariance, redundancy numbers,
//! standardised residuals, and which functions of the unknowns the observations determine at all.
//!
//! The matrix is factored once by Householder QR with column pivoting (Golub & Van Loan, *Matrix
//! Computations*, section 5.4); normal equations are never formed. Datum defects are expected here, a bed
//! that leans as a whole is still the same bed, so a rank below the number of unknowns is a result and
//! not an error.

use nalgebra::{DMatrix, DVector, DVectorView};

/// A diagonal of R below this share of the largest counts as zero. Columns are scaled to unit length
/// first, so the number compares directions and not units.
pub const RANK_TOLERANCE: f64 = 1e-10;

/// A function of the unknowns is determined when its component along the undetermined directions is
/// below this share of its own length.
pub const ESTIMABLE_TOLERANCE: f64 = 1e-6;

/// Observations that have been divided by their standard deviations: `design · x ≈ target`, each row with
/// unit variance.
#[derive(Debug, Clone)]
pub struct LeastSquares {
    design: DMatrix<f64>,
    target: DVector<f64>,
}

/// The adjusted unknowns.
#[derive(Debug, Clone)]
pub struct Adjusted {
    /// The unknowns; where the datum is free, the one of many solutions with the fewest non-zero entries.
    pub unknowns: DVector<f64>,
    /// Number of directions that the observations determine.
    pub rank: usize,
    /// Standardised misfit of every row, target minus design times unknowns.
    pub residuals: DVector<f64>,
    /// `root · rootᵀ` is the covariance of the unknowns.
    root: DMatrix<f64>,
    /// Columns span the directions that the observations say nothing about.
    free: DMatrix<f64>,
    /// One over the length of each column of the design.
    scale: DVector<f64>,
    design: DMatrix<f64>,
}

impl LeastSquares {
    /// Takes rows that already have unit variance.
    ///
    /// # Panics
    ///
    /// When there is not one target per row.
    pub fn new(design: DMatrix<f64>, target: DVector<f64>) -> Self {
        assert_eq!(design.nrows(), target.len(), "one target per row");
        Self { design, target }
    }

    /// Divides every row by the standard deviation of its observation.
    pub fn weighted(mut design: DMatrix<f64>, mut target: DVector<f64>, sigma: &[f64]) -> Self {
        for (row, sigma) in sigma.iter().enumerate() {
            design.row_mut(row).scale_mut(sigma.recip());
            target[row] /= sigma;
        }
        Self::new(design, target)
    }

    /// Minimises the sum of squares.
    ///
    /// ```
    /// use nalgebra::{DMatrix, DVector};
    /// use quarterturn::geometry::LeastSquares;
    ///
    /// // A straight line through (1, 2), (2, 5), (3, 5): slope 1.5, intercept 1.
    /// let design = DMatrix::from_row_slice(3, 2, &[1., 1., 2., 1., 3., 1.]);
    /// let line = LeastSquares::new(design, DVector::from_vec(vec![2., 5., 5.])).solve();
    /// assert!((line.unknowns[0] - 1.5).abs() < 1e-12 && (line.unknowns[1] - 1.0).abs() < 1e-12);
    /// ```
    pub fn solve(self) -> Adjusted {
        let Self { design, target } = self;
        let (rows, columns) = design.shape();
        // Scaling makes the rank decision independent of units and loses nothing.
        let scale = DVector::from_fn(columns, |j, _| {
            let norm = design.column(j).norm();
            if norm > 0.0 { norm.recip() } else { 1.0 }
        });
        let mut scaled = design.clone();
        for j in 0..columns {
            scaled.column_mut(j).scale_mut(scale[j]);
        }
        // Rows of zeros change nothing and make R square.
        if rows < columns {
            scaled = scaled.resize(columns, columns, 0.0);
        }
        let mut right = target.clone().resize_vertically(scaled.nrows(), 0.0);
        let factored = scaled.col_piv_qr();
        factored.q_tr_mul(&mut right);
        let r = factored.r();
        let mut order = DMatrix::from_fn(1, columns, |_, j| j as f64);
        factored.p().permute_columns(&mut order);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let order: Vec<usize> = order.iter().map(|j| *j as usize).collect();

        let largest = if columns == 0 { 0.0 } else { r[(0, 0)].abs() };
        let rank = (0..columns)
            .take_while(|&k| r[(k, k)].abs() > RANK_TOLERANCE * largest)
            .count();
        let corner = r.view((0, 0), (rank, rank)).into_owned();
        let solved = back_substitute(&corner, right.rows(0, rank).into_owned());
        let inverse = back_substitute(&corner, DMatrix::identity(rank, rank));
        let dependent = back_substitute(
            &corner,
            r.view((0, rank), (rank, columns - rank)).into_owned(),
        );

        let mut unknowns = DVector::zeros(columns);
        let mut root = DMatrix::zeros(columns, rank);
        let mut free = DMatrix::zeros(columns, columns - rank);
        for (k, &j) in order.iter().enumerate() {
            if k < rank {
                unknowns[j] = solved[k] * scale[j];
                root.set_row(j, &(inverse.row(k) * scale[j]));
                free.set_row(j, &(dependent.row(k) * -scale[j]));
            } else {
                free[(j, k - rank)] = scale[j];
            }
        }
        let residuals = target - &design * &unknowns;
        Adjusted {
            unknowns,
            rank,
            residuals,
            root,
            free,
            scale,
            design,
        }
    }
}

impl Adjusted {
    /// Weighted sum of squared residuals.
    pub fn sum_of_squares(&self) -> f64 {
        self.residuals.norm_squared()
    }

    /// Value of a linear function of the unknowns, if the observations determine it.
    pub fn value(&self, function: DVectorView<f64>) -> Option<f64> {
        self.determines(function)
            .then(|| function.dot(&self.unknowns))
    }

    /// Whether the observations determine this linear function of the unknowns.
    pub fn determines(&self, function: DVectorView<f64>) -> bool {
        // Both are compared in units of what the observations resolve, so that metres of heave and slopes
        // of a zero error may stand side by side.
        let resolved = function.component_mul(&self.scale).norm();
        self.free.column_iter().all(|direction| {
            let length = direction.component_div(&self.scale).norm();
            function.dot(&direction).abs() <= ESTIMABLE_TOLERANCE * resolved * length
        })
    }

    /// A matrix whose product with its own transpose is the covariance of `functions · unknowns`.
    /// Rows that are not determined are meaningless; ask [`Self::determines`].
    pub fn covariance_root(&self, functions: &DMatrix<f64>) -> DMatrix<f64> {
        functions * &self.root
    }

    /// Covariance of the unknowns; meaningless along undetermined directions.
    pub fn covariance(&self) -> DMatrix<f64> {
        &self.root * self.root.transpose()
    }

    /// Redundancy number of every row: the share of an error in this observation that shows in its own
    /// residual, between 0 (unchecked) and 1 (Baarda).
    pub fn redundancy(&self) -> DVector<f64> {
        let hat = &self.design * &self.root;
        DVector::from_fn(hat.nrows(), |i, _| {
            (1.0 - hat.row(i).norm_squared()).clamp(0.0, 1.0)
        })
    }

    /// The matrix that turns (standardised) observations into their residuals, for the first `rows` rows.
    pub fn residual_maker(&self, rows: usize) -> DMatrix<f64> {
        let hat = self.design.rows(0, rows) * &self.root;
        DMatrix::identity(rows, rows) - &hat * hat.transpose()
    }
}

/// The triangle that has the same sum of squares for every vector of unknowns as all these rows, which have a column for
/// each. Rows are taken in as they come, so that no more than a few triangles of them are held at a time.
pub fn triangle_of(blocks: impl IntoIterator<Item = DMatrix<f64>>) -> DMatrix<f64> {
    /// Rows are gathered until there are so many times more of them than unknowns.
    const GATHERED: usize = 4;
    let mut blocks = blocks.into_iter();
    let mut rows = blocks.next().unwrap_or_else(|| DMatrix::zeros(0, 0));
    let unknowns = rows.ncols();
    let mut waiting = Vec::new();
    let mut count = rows.nrows();
    let gather = |rows: &DMatrix<f64>, waiting: &[DMatrix<f64>], count: usize| {
        let mut all = DMatrix::zeros(count, unknowns);
        let mut first = 0;
        for block in std::iter::once(rows).chain(waiting) {
            all.view_mut((first, 0), block.shape()).copy_from(block);
            first += block.nrows();
        }
        all.qr().r()
    };
    for block in blocks {
        count += block.nrows();
        waiting.push(block);
        if count > GATHERED * unknowns {
            rows = gather(&rows, &waiting, count);
            waiting.clear();
            count = rows.nrows();
        }
    }
    gather(&rows, &waiting, count)
}

/// Solves an upper triangular system whose diagonal is known to be non-zero.
fn back_substitute<C: nalgebra::Dim, S>(
    upper: &DMatrix<f64>,
    mut right: nalgebra::Matrix<f64, nalgebra::Dyn, C, S>,
) -> nalgebra::Matrix<f64, nalgebra::Dyn, C, S>
where
    S: nalgebra::StorageMut<f64, nalgebra::Dyn, C>,
{
    if upper.nrows() > 0 {
        upper.solve_upper_triangular_mut(&mut right);
    }
    right
}
