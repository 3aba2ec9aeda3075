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

/// What readings off the scale add to those that were read as numbers.
pub struct Bounded {
    /// Readings that were read as numbers.
    pub numbers: Vec<usize>,
    /// What those tell by themselves.
    pub told: Solved,
    /// The same readings and those off the scale that hold the surface, taken as they stand; the last of these also
    /// where nothing else tells what they would show.
    pub steering: Vec<usize>,
    /// The surface that these give; `None` where nothing is held by a reading off the scale.
    pub held: Option<Solved>,
}

/// The readings that count, and the surface they give.
///
/// A reading off the scale bounds from one side: it moves the surface as far as the end of the scale where that would not
/// reach it, and makes it no better known, so that what rests on it alone stays unknown. To steer by, one such
/// reading after the other is taken as it stands where nothing else tells what it would show, until the rest can be
/// held against the surface.
pub fn solve_with_bounds(rows: &Rows, supposed: Supposed) -> Bounded {
    let all = &rows.observations.rows;
    let numbers: Vec<usize> = (0..all.len()).filter(|&i| !all[i].bound).collect();
    let told = solve(rows, &numbers, supposed);
    let shown = |solved: &Solved| -> Vec<Option<f64>> {
        all.iter().map(|row| beyond(rows, solved, row)).collect()
    };
    let alone: Vec<bool> = shown(&told).iter().map(Option::is_none).collect();
    let mut steering = numbers.clone();
    let mut held: Option<Solved> = None;
    let mut needed: Vec<usize> = Vec::new();
    for _ in 0..BOUND_CHANGES {
        let beyond = shown(held.as_ref().unwrap_or(&told));
        needed.extend((0..all.len()).find(|&i| all[i].bound && beyond[i].is_none()));
        if let [pin] = needed[..] {
            // What leans as a whole leans as far as the one that is farthest out says.
            let farther = |i: &usize| {
                alone[*i]
                    && all[*i].bound
                    && all[*i].line == all[pin].line
                    && all[*i].as_read() * all[pin].as_read() > 0.0
            };
            let short = (0..all.len()).filter(farther).filter_map(|i| {
                let short = beyond[i].filter(|beyond| *beyond < -REACHED)?;
                Some((i, short))
            });
            if let Some((worst, _)) = short.min_by(|a, b| a.1.total_cmp(&b.1)) {
                needed = vec![worst];
                steering.clone_from(&numbers);
                steering.push(worst);
                steering.sort_unstable();
                held = Some(solve(rows, &steering, supposed));
                continue;
            }
        }
        let wanted: Vec<usize> = (0..all.len())
            .filter(|&i| {
                !all[i].bound
                    || needed.contains(&i)
                    || beyond[i].is_some_and(|beyond| beyond <= REACHED)
            })
            .collect();
        if wanted == steering {
            break;
        }
        held = (wanted != numbers).then(|| solve(rows, &wanted, supposed));
        steering = wanted;
    }
    // A bed that must be as rough as all that is as rough where it is known.
    let told = match &held {
        Some(held) => solve(rows, &numbers, Supposed::Known(held.roughness)),
        None => told,
    };
    Bounded {
        numbers,
        told,
        steering,
        held,
    }
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
    let at_least = |row: &Observation| !row.bound || row.as_read() > 0.0;
    let at_most = |row: &Observation| !row.bound || row.as_read() < 0.0;
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
    Some((shown - observation.unpacked()) * observation.as_read().signum() / observation.deviation)
}
