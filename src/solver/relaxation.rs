//! The best real point of a box: where the search for whole numbers is centred.
//!
//! Follows the active-set method for bounded-variable least squares of Stark & Parker (1995), an
//! extension of Lawson & Hanson's method (*Solving Least Squares Problems*, chapter 23); both from memory.

use super::triangle::triangular;
use nalgebra::{DMatrix, DVector};

/// Of the size of a column times the size of the residual: pulls smaller than this count as none.
const NO_PULL: f64 = 1e-12;

/// Rounds of the active-set method per column; it needs about one, the rest is a guard against cycling.
const ROUNDS_PER_COLUMN: usize = 20;

/// Where a component of the relaxed solution lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    Inside,
    AtLower,
    AtUpper,
}

/// The minimum of ‖R·x − c‖² over real x in a box.
#[derive(Debug, Clone)]
pub struct Relaxed {
    pub at: DVector<f64>,
    /// ‖R·`at` − c‖².
    pub squared_norm: f64,
    /// Half the rate at which the squared norm grows when a component leaves its bound: 0 for those
    /// inside, never negative. For every z of the box, exactly:
    /// ‖R·z − c‖² = `squared_norm` + ‖R·(z − `at`)‖² + 2 Σ `pull[i]`·|z[i] − `at[i]`|.
    pub pull: DVector<f64>,
    pub place: Vec<Place>,
}

/// Minimises ‖R·x − c‖² for `lower` ≤ x ≤ `upper`; bounds may be infinite, R has full column rank.
///
/// Should the active sets not settle, the unbounded minimum is returned: it carries no pull, and the
/// equation at [`Relaxed::pull`] holds for it as well.
pub fn relax(r: &DMatrix<f64>, c: &DVector<f64>, lower: &[f64], upper: &[f64]) -> Relaxed {
    let columns = r.ncols();
    let all_inside = vec![Place::Inside; columns];
    let unbounded = minimum_over(r, c, &all_inside, &DVector::zeros(columns));
    if (0..columns).all(|i| lower[i] <= unbounded[i] && unbounded[i] <= upper[i]) {
        return settled(r, c, unbounded, all_inside);
    }
    match active_sets(r, c, lower, upper, &unbounded) {
        Some((at, place)) => settled(r, c, at, place),
        None => settled(r, c, unbounded, all_inside),
    }
}

fn active_sets(
    r: &DMatrix<f64>,
    c: &DVector<f64>,
    lower: &[f64],
    upper: &[f64],
    start: &DVector<f64>,
) -> Option<(DVector<f64>, Vec<Place>)> {
    let columns = r.ncols();
    let mut at = start.clone();
    let mut place = vec![Place::Inside; columns];
    for i in 0..columns {
        if at[i] <= lower[i] {
            (at[i], place[i]) = (lower[i], Place::AtLower);
        } else if at[i] >= upper[i] {
            (at[i], place[i]) = (upper[i], Place::AtUpper);
        }
    }
    let mut just_freed = None;
    let mut blocked = vec![false; columns];
    for _ in 0..ROUNDS_PER_COLUMN * (columns + 1) {
        let wanted = minimum_over(r, c, &place, &at);
        if let Some((share, first, side)) = first_bound_met(&at, &wanted, lower, upper, &place) {
            at += (&wanted - &at) * share;
            at[first] = if side == Place::AtLower {
                lower[first]
            } else {
                upper[first]
            };
            place[first] = side;
            // Rounding sent a freed component straight back: it has no pull worth following.
            blocked[first] |= just_freed == Some(first) && share == 0.0;
            continue;
        }
        at = wanted;
        let (slope, noise) = slopes(r, c, &at);
        let worst = (0..columns)
            .filter(|&i| !blocked[i] && lower[i] < upper[i])
            .map(|i| match place[i] {
                Place::Inside => (i, 0.0),
                Place::AtLower => (i, -slope[i] / noise[i]),
                Place::AtUpper => (i, slope[i] / noise[i]),
            })
            .max_by(|a, b| a.1.total_cmp(&b.1));
        match worst {
            Some((i, wrong_way)) if wrong_way > 1.0 => {
                place[i] = Place::Inside;
                just_freed = Some(i);
            }
            _ => {
                return keeps_every_pull(&slope, &noise, &place).then_some((at, place));
            }
        }
    }
    None
}

fn keeps_every_pull(slope: &DVector<f64>, noise: &DVector<f64>, place: &[Place]) -> bool {
    place.iter().enumerate().all(|(i, place)| match place {
        Place::Inside => true,
        Place::AtLower => slope[i] >= -noise[i],
        Place::AtUpper => slope[i] <= noise[i],
    })
}

/// Half the gradient of ‖R·x − c‖², and how much of it is rounding.
fn slopes(r: &DMatrix<f64>, c: &DVector<f64>, at: &DVector<f64>) -> (DVector<f64>, DVector<f64>) {
    let residual = r * at - c;
    let size = c.norm() + (r * at).norm();
    let noise = DVector::from_iterator(
        r.ncols(),
        r.column_iter()
            .map(|column| (NO_PULL * size * column.norm()).max(f64::MIN_POSITIVE)),
    );
    (r.tr_mul(&residual), noise)
}

/// How far towards `wanted` the box lets us go, and the component that stops us.
fn first_bound_met(
    at: &DVector<f64>,
    wanted: &DVector<f64>,
    lower: &[f64],
    upper: &[f64],
    place: &[Place],
) -> Option<(f64, usize, Place)> {
    let mut first: Option<(f64, usize, Place)> = None;
    for i in (0..at.len()).filter(|&i| place[i] == Place::Inside) {
        let (bound, side) = if wanted[i] < lower[i] {
            (lower[i], Place::AtLower)
        } else if wanted[i] > upper[i] {
            (upper[i], Place::AtUpper)
        } else {
            continue;
        };
        let share = ((bound - at[i]) / (wanted[i] - at[i])).clamp(0.0, 1.0);
        if first.is_none_or(|(least, ..)| share < least) {
            first = Some((share, i, side));
        }
    }
    first
}

/// The minimum over the components that are inside, the others held where they are.
fn minimum_over(
    r: &DMatrix<f64>,
    c: &DVector<f64>,
    place: &[Place],
    held: &DVector<f64>,
) -> DVector<f64> {
    let inside: Vec<usize> = (0..r.ncols())
        .filter(|&i| place[i] == Place::Inside)
        .collect();
    let mut at = held.clone();
    let mut left = c.clone();
    for i in (0..r.ncols()).filter(|&i| place[i] != Place::Inside) {
        left.axpy(-held[i], &r.column(i), 1.0);
    }
    let (triangle, right) = triangular(r.select_columns(&inside), left);
    let right = right.rows(0, inside.len()).into_owned();
    if let Some(found) = triangle.solve_upper_triangular(&right) {
        for (value, &i) in found.iter().zip(&inside) {
            at[i] = *value;
        }
    }
    at
}

fn settled(r: &DMatrix<f64>, c: &DVector<f64>, at: DVector<f64>, place: Vec<Place>) -> Relaxed {
    let residual = r * &at - c;
    let slope = r.tr_mul(&residual);
    let pull = DVector::from_iterator(
        at.len(),
        place.iter().enumerate().map(|(i, place)| match place {
            Place::Inside => 0.0,
            Place::AtLower => slope[i].max(0.0),
            Place::AtUpper => (-slope[i]).max(0.0),
        }),
    );
    Relaxed {
        squared_norm: residual.norm_squared(),
        at,
        pull,
        place,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn problem(columns: usize) -> impl Strategy<Value = (DMatrix<f64>, DVector<f64>, Vec<f64>)> {
        let rows = columns + 1;
        (
            prop::collection::vec(-1.0..1.0, rows * columns),
            prop::collection::vec(-5.0..5.0, rows),
            prop::collection::vec(0.0..1.5, columns),
        )
            .prop_map(move |(entries, target, half_width)| {
                let mut r = DMatrix::from_vec(rows, columns, entries);
                for i in 0..columns {
                    r[(i, i)] += 1.5;
                }
                (r, DVector::from_vec(target), half_width)
            })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// The pulls are those of a minimum (Karush-Kuhn-Tucker): none inside, none inwards at a bound.
        #[test]
        fn no_direction_that_the_box_allows_leads_down((r, c, half_width) in problem(6)) {
            let lower: Vec<f64> = half_width.iter().map(|w| -w).collect();
            let relaxed = relax(&r, &c, &lower, &half_width);
            let slope = r.tr_mul(&(&r * &relaxed.at - &c));
            for i in 0..6 {
                prop_assert!(lower[i] <= relaxed.at[i] && relaxed.at[i] <= half_width[i]);
                match relaxed.place[i] {
                    Place::Inside => prop_assert!(slope[i].abs() < 1e-9),
                    Place::AtLower => prop_assert!(relaxed.at[i] <= lower[i] && slope[i] > -1e-9),
                    Place::AtUpper => prop_assert!(relaxed.at[i] >= half_width[i] && slope[i] < 1e-9),
                }
            }
        }
    }
}
