//! What the bounds and the best point so far say together, before any search.
//!
//! For every z of the box (see [`Relaxed::pull`]), with t[i] = |z[i] − x[i]| from the relaxed solution x,
//!
//! f(z) = f(x) + ‖R·(z − x)‖² + 2 Σ pull[i]·t[i].
//!
//! A point that is to be listed has f(z) ≤ the worst listed, so it lies in a ball around x, not around the
//! unbounded minimum, and a component with a pull leaves its bound by T steps at most. While t ≤ T the linear
//! price 2·pull·t is at least (2·pull/T)·t², a quadratic one, which may be added to the rows of the
//! matrix; with T = 0 the component is fixed. The idea is that of fixing by reduced cost in
//! integer programming; Chang & Han, *Solving box-constrained integer least squares problems* (2008,
//! from memory), likewise narrow the ranges before they search.

use super::relaxation::{Place, Relaxed};
use super::triangle::{inverse, triangle};
use nalgebra::{DMatrix, DVector};

/// Ranges are widened by this before they are rounded to whole numbers: rounding stays far below.
const RANGE_ROUNDING: f64 = 1e-7;

/// Rounds of making prices from ranges and ranges from prices; after a few nothing moves.
const ROUNDS: usize = 3;

/// What is left for the search once the ranges are known.
#[derive(Debug)]
pub enum Narrowed {
    /// No other point can be listed.
    Nothing,
    /// These components have a single value left: (component, value).
    Fixed(Vec<(usize, i64)>),
    /// The search has to decide.
    Open(Ball),
}

/// The rows to search in and how far every component can get from the centre.
#[derive(Debug)]
pub struct Ball {
    /// The matrix with one row more for every priced component; its rows keep the squared norm
    /// ‖rows·(z − x)‖² below f(z) − f(x) for every z that could be listed.
    pub rows: DMatrix<f64>,
    /// The farthest each component gets from x inside the ball.
    pub reach: DVector<f64>,
}

/// Ranges and prices for ‖R·z − c‖² ≤ f(x) + `radius_squared` on the box.
pub fn narrow(
    r: &DMatrix<f64>,
    relaxed: &Relaxed,
    lower: &[i64],
    upper: &[i64],
    radius_squared: f64,
) -> Narrowed {
    let columns = r.ncols();
    let mut weight = vec![0.0; columns];
    let mut round = 0;
    loop {
        let rows = with_prices(r, &weight);
        let Some(spread) = spreads(&rows) else {
            return Narrowed::Open(Ball {
                rows,
                reach: DVector::repeat(columns, f64::INFINITY),
            });
        };
        let mut fixed = Vec::new();
        for i in 0..columns {
            let own = 1.0 / (spread[i] * spread[i]);
            let farthest = leaving(own - weight[i], relaxed.pull[i], radius_squared);
            let (low, high) = range(relaxed, i, farthest, lower[i], upper[i]);
            if low > high {
                return Narrowed::Nothing;
            }
            if low == high {
                fixed.push((i, low));
            } else if relaxed.pull[i] > 0.0 {
                weight[i] = 2.0 * relaxed.pull[i] / (high - low) as f64;
            }
        }
        if !fixed.is_empty() {
            return Narrowed::Fixed(fixed);
        }
        round += 1;
        if round == ROUNDS || relaxed.pull.iter().all(|&pull| pull == 0.0) {
            let rows = with_prices(r, &weight);
            let reach = spreads(&rows).unwrap_or(spread) * radius_squared.max(0.0).sqrt();
            return Narrowed::Open(Ball { rows, reach });
        }
    }
}

/// The greatest t with `square`·t² + 2·`pull`·t ≤ `limit`.
fn leaving(square: f64, pull: f64, limit: f64) -> f64 {
    let limit = limit.max(0.0);
    let root = (pull * pull + square.max(0.0) * limit).sqrt();
    if limit == 0.0 {
        0.0
    } else {
        limit / (pull + root)
    }
}

/// The whole numbers of component `i` inside its bounds and not farther than `farthest` from x.
#[expect(
    clippy::cast_possible_truncation,
    reason = "`as` saturates, and the bounds cut it"
)]
fn range(relaxed: &Relaxed, i: usize, farthest: f64, lower: i64, upper: i64) -> (i64, i64) {
    let far = farthest + RANGE_ROUNDING;
    let (below, above) = match relaxed.place[i] {
        Place::Inside => (far, far),
        Place::AtLower => (0.0, far),
        Place::AtUpper => (far, 0.0),
    };
    let low = (relaxed.at[i] - below).ceil() as i64;
    let high = (relaxed.at[i] + above).floor() as i64;
    (low.max(lower), high.min(upper))
}

fn with_prices(r: &DMatrix<f64>, weight: &[f64]) -> DMatrix<f64> {
    let priced: Vec<usize> = (0..weight.len()).filter(|&i| weight[i] > 0.0).collect();
    let mut rows = r.clone().resize_vertically(r.nrows() + priced.len(), 0.0);
    for (row, &i) in priced.iter().enumerate() {
        rows[(r.nrows() + row, i)] = weight[i].sqrt();
    }
    rows
}

/// How far each component gets on the ellipsoid ‖rows·d‖ = 1: √((rowsᵀ·rows)⁻¹(i,i)).
fn spreads(rows: &DMatrix<f64>) -> Option<DVector<f64>> {
    let inverse = inverse(&triangle(rows.clone()))?;
    Some(DVector::from_iterator(
        rows.ncols(),
        inverse.row_iter().map(|row| row.norm()),
    ))
}

#[cfg(test)]
mod tests {
    use super::super::relaxation::relax;
    use super::*;
    use proptest::prelude::*;

    const COLUMNS: usize = 4;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        /// Whatever is as good as the limit keeps the fixed values, the reach, and the priced squared norm.
        #[test]
        fn no_point_that_could_be_listed_is_lost(
            entries in prop::collection::vec(-1.0..1.0, COLUMNS * COLUMNS),
            c in prop::collection::vec(-6.0..6.0, COLUMNS),
            radius_squared in 0.01..6.0,
        ) {
            let mut r = DMatrix::from_vec(COLUMNS, COLUMNS, entries);
            r.set_diagonal(&r.diagonal().map(|entry| entry + 1.5));
            let c = DVector::from_vec(c);
            let (lower, upper) = ([-1, -2, 0, -3], [1, 0, 3, 3]);
            let real = |bounds: [i64; COLUMNS]| bounds.map(|bound| bound as f64);
            let relaxed = relax(&r, &c, &real(lower), &real(upper));
            let narrowed = narrow(&r, &relaxed, &lower, &upper, radius_squared);
            for index in 0..3 * 3 * 4 * 7 {
                let z = [index % 3 - 1, index / 3 % 3 - 2, index / 9 % 4, index / 36 - 3];
                let point = DVector::from_column_slice(&real(z));
                let above = (&r * &point - &c).norm_squared() - relaxed.squared_norm;
                if above > radius_squared {
                    continue;
                }
                match &narrowed {
                    Narrowed::Nothing => prop_assert!(false, "{z:?} is lost"),
                    Narrowed::Fixed(values) => {
                        for &(component, value) in values {
                            prop_assert_eq!(z[component], value);
                        }
                    }
                    Narrowed::Open(ball) => {
                        let offset = &point - &relaxed.at;
                        prop_assert!((&ball.rows * &offset).norm_squared() <= above + 1e-9);
                        for component in 0..COLUMNS {
                            prop_assert!(offset[component].abs() <= ball.reach[component] + 1e-9);
                        }
                    }
                }
            }
        }
    }
}
