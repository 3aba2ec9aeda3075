//! Readings off the scale: bounds, and when they count.

use statrs::distribution::{ContinuousCDF, Normal};

use super::network::{Solved, solve};
use super::observation::{Observation, Observations};
use super::rows::Rows;
use super::smoothness::Supposed;
use crate::survey::Line;

/// How often the set of off-scale readings that bite may change before it is taken as it is.
const BOUND_CHANGES: usize = 30;

/// An off-scale reading that the surface passes by less than this, in its deviations, is only just reached.
const REACHED: f64 = 1e-6;

/// The readings that count, and the surface they give.
///
/// An off-scale reading is used as a number while the surface without it would not reach the end of the
/// scale. Where nothing else tells what it would show, one such reading after the other is taken as it
/// stands, until the rest can be held against the surface.
pub fn solve_with_bounds(rows: &Rows, supposed: Supposed) -> (Vec<usize>, Solved) {
    let all = &rows.observations.rows;
    let numbers: Vec<usize> = (0..all.len()).filter(|&i| !all[i].bound).collect();
    if numbers.is_empty() || numbers.len() == all.len() {
        let used: Vec<usize> = (0..all.len()).collect();
        let solved = solve(rows, &used, supposed);
        return (used, solved);
    }
    let mut used = numbers;
    let mut solved = solve(rows, &used, supposed);
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
        solved = solve(rows, &used, supposed);
    }
    (used, solved)
}

/// Chance that the twist is less than off-scale readings say it is at least.
const BELOW_LEAST: f64 = 0.025;

/// What the cross slope ranges over at least, m/m, because some cross readings were off the scale: whatever else
/// the bed may be like, it goes on from there on that side and no other. `None` where none was, or where it
/// says nothing.
///
/// Every pair of an off-scale reading with another one says so much, less what two readings scatter; the
/// largest of all pairs is taken at its share of the risk (Bonferroni).
pub fn least_twist(observations: &Observations) -> Option<f64> {
    let cross: Vec<&Observation> = observations
        .rows
        .iter()
        .filter(|row| row.line == Line::Cross)
        .collect();
    // A reading off the scale says nothing of the other side.
    let at_least = |row: &Observation| !row.bound || row.slope > 0.0;
    let at_most = |row: &Observation| !row.bound || row.slope < 0.0;
    let deviation = |row: &Observation| {
        if row.bound {
            observations.deviation()
        } else {
            row.deviation
        }
    };
    let mut pairs: Vec<(f64, f64)> = Vec::new();
    for high in cross.iter().filter(|row| at_least(row)) {
        for low in cross.iter().filter(|row| at_most(row)) {
            if (high.bound || low.bound) && high.reversed == low.reversed {
                let apart = high.slope - low.slope;
                pairs.push((apart, deviation(high).hypot(deviation(low))));
            }
        }
    }
    let share = BELOW_LEAST / pairs.len().max(1) as f64;
    let quantile = Normal::standard().inverse_cdf(1.0 - share);
    pairs
        .into_iter()
        .map(|(apart, deviation)| apart - quantile * deviation)
        .filter(|least| *least > 0.0)
        .max_by(f64::total_cmp)
}

/// How far the surface goes beyond a reading, away from zero, in deviations of the reading; `None` where
/// the other readings cannot tell.
fn beyond(rows: &Rows, solved: &Solved, observation: &Observation) -> Option<f64> {
    let function = rows.with_zero(observation, solved.roughness).transpose();
    let shown = solved.system.value(function.as_view())?;
    Some((shown - observation.unpacked()) * observation.slope.signum() / observation.deviation)
}
