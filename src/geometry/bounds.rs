//! Readings off the scale: bounds, and when they count.

use super::adjustment::{Solved, solve};
use super::layout::Roughness;
use super::observation::Observation;
use super::rows::Rows;

/// How often the set of off-scale readings that bite may change before it is taken as it is.
const BOUND_CHANGES: usize = 30;

/// An off-scale reading that the surface passes by less than this, in its deviations, is only just reached.
const REACHED: f64 = 1e-6;

/// The readings that count, and the surface they give.
///
/// An off-scale reading is used as a number while the surface without it would not reach the end of the
/// scale. Where nothing else tells what it would show, one such reading after the other is taken as it
/// stands, until the rest can be held against the surface.
pub fn solve_with_bounds(rows: &Rows, known: Option<Roughness>) -> (Vec<usize>, Solved) {
    let all = &rows.observations.rows;
    let numbers: Vec<usize> = (0..all.len()).filter(|&i| !all[i].bound).collect();
    if numbers.is_empty() || numbers.len() == all.len() {
        let used: Vec<usize> = (0..all.len()).collect();
        let solved = solve(rows, &used, known);
        return (used, solved);
    }
    let mut used = numbers;
    let mut solved = solve(rows, &used, known);
    let mut needed: Vec<usize> = Vec::new();
    for _ in 0..BOUND_CHANGES {
        let beyond: Vec<Option<f64>> = all.iter().map(|row| beyond(rows, &solved, row)).collect();
        needed.extend((0..all.len()).find(|&i| all[i].bound && beyond[i].is_none()));
        let wanted: Vec<usize> = (0..all.len())
            .filter(|&i| {
                !all[i].bound
                    || needed.contains(&i)
                    || beyond[i].is_some_and(|beyond| beyond <= REACHED)
            })
            .collect();
        if wanted == used {
            break;
        }
        used = wanted;
        solved = solve(rows, &used, known);
    }
    (used, solved)
}

/// How far the surface goes beyond a reading, away from zero, in deviations of the reading; `None` where
/// the other readings cannot tell.
fn beyond(rows: &Rows, solved: &Solved, observation: &Observation) -> Option<f64> {
    let function = rows.with_zero(observation, solved.roughness).transpose();
    let shown = solved.system.value(function.as_view())?;
    Some((shown - observation.slope) * observation.slope.signum() / observation.deviation)
}
