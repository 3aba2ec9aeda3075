//! Points to begin with: the closer the first guess, the smaller the ball to search.

use super::best::Best;
use super::problem::IntegerLeastSquares;
use nalgebra::{DMatrix, DVector};
use std::collections::BTreeSet;
use std::iter;

/// Sweeps over all moves; each lowers the squared norm, and a few reach the bottom.
const SWEEPS: usize = 50;

/// A move counts only if it gains more than this share of the squared norm: no going round in circles.
const LEAST_GAIN: f64 = 1e-12;

/// Improves `z` inside the bounds by ±1 steps of one component or of two at a time, until none helps.
///
/// Pairs matter because neighbouring columns resemble each other: what helps is then to exchange
/// a step of one for a step of the other.
pub fn descend(problem: &IntegerLeastSquares, z: &mut [i64]) {
    let columns = z.len();
    let gram = problem.matrix.tr_mul(&problem.matrix);
    let at = DVector::from_iterator(columns, z.iter().map(|&value| value as f64));
    let residual = &problem.matrix * at - &problem.target;
    let least_gain = LEAST_GAIN * residual.norm_squared();
    let mut slope = problem.matrix.tr_mul(&residual);
    for _ in 0..SWEEPS {
        let mut moved = false;
        for i in 0..columns {
            for up in [1, -1] {
                for (component, change) in best_move(problem, &gram, &slope, z, (i, up), least_gain)
                {
                    z[component] += change;
                    slope.axpy(change as f64, &gram.column(component), 1.0);
                    moved = true;
                }
            }
        }
        if !moved {
            break;
        }
    }
}

/// The step `first`, alone or with the partner that gains most; nothing if nothing gains.
fn best_move(
    problem: &IntegerLeastSquares,
    gram: &DMatrix<f64>,
    slope: &DVector<f64>,
    z: &[i64],
    first: (usize, i64),
    least_gain: f64,
) -> Vec<(usize, i64)> {
    let allowed = |(component, change): (usize, i64)| {
        let value = z[component] + change;
        problem.lower[component] <= value && value <= problem.upper[component]
    };
    let growth = |(component, change): (usize, i64)| {
        2.0 * change as f64 * slope[component] + gram[(component, component)]
    };
    if !allowed(first) {
        return Vec::new();
    }
    let (i, up) = first;
    let alone = growth(first);
    let mut least = (alone, None);
    for j in (0..z.len()).filter(|&j| j != i) {
        for change in [1, -1] {
            let both = alone + growth((j, change)) + 2.0 * (up * change) as f64 * gram[(i, j)];
            if both < least.0 && allowed((j, change)) {
                least = (both, Some((j, change)));
            }
        }
    }
    match least {
        (growth, partner) if growth < -least_gain => iter::once(first).chain(partner).collect(),
        _ => Vec::new(),
    }
}

/// Fills the list from `start` outwards, always stepping on from the best point not yet stepped on from.
///
/// If the bounds hold too few points to fill it, all of them are listed.
pub fn fill(problem: &IntegerLeastSquares, start: &[i64], best: &mut Best) {
    best.offer(start);
    let mut reached = BTreeSet::from([start.to_vec()]);
    let mut waiting = vec![(0.0_f64, start.to_vec())];
    while !best.is_full() {
        let Some(nearest) =
            (0..waiting.len()).min_by(|&a, &b| waiting[a].0.total_cmp(&waiting[b].0))
        else {
            return;
        };
        let (_, from) = waiting.swap_remove(nearest);
        for i in 0..from.len() {
            for change in [1, -1] {
                let mut next = from.clone();
                next[i] += change;
                if problem.contains(&next) && reached.insert(next.clone()) {
                    best.offer(&next);
                    let squared_norm = problem.squared_norm(&next).unwrap_or(f64::INFINITY);
                    waiting.push((squared_norm, next));
                }
            }
        }
    }
}
