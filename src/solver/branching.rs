//! The box searched as a whole, or in parts where bounds with a pull make the ball too wide.
//!
//! The quadratic price that stands for a pull (see [`bounds`](super::bounds)) is tight for a component
//! that can leave its bound by one step, and weak for one that can leave it by many. So a part that a
//! short search does not finish is cut in two: the component stays at its bound, or leaves it by one step
//! at least; both have a higher floor. This is branch and bound (Land & Doig, 1960, from memory) with a
//! lattice search at every node instead of a real relaxation alone.

use super::ball_search::{enumerate, faces_met};
use super::best::Best;
use super::bounds::{Narrowed, narrow};
use super::outcome::Refusal;
use super::problem::IntegerLeastSquares;
use super::relaxation::Place;
use super::rest::Rest;

/// When to stop searching a part and look at it anew.
#[derive(Debug, Clone, Copy)]
pub struct Patience {
    /// Nodes of the first search of a part: what it finds narrows the ranges for the next.
    pub first_trial: u64,
    /// Every further search of the same part may take this many times the nodes of the one before.
    pub growth: u64,
    /// A part is cut in two once a search of so many nodes did not finish it.
    pub cut_after: u64,
}

/// Found by trying on the problems of the benchmark; it changes the time, never the answer.
pub const PATIENCE: Patience = Patience {
    first_trial: 2_000,
    growth: 4,
    cut_after: 32_000,
};

/// A part of the box.
#[derive(Debug, Clone)]
struct Part {
    lower: Vec<i64>,
    upper: Vec<i64>,
    /// No point of the part that is not listed has a smaller squared norm.
    at_least: f64,
    /// Nodes to spend on it next time.
    trial: u64,
}

/// What became of a part.
enum Progress {
    /// Nothing is left in it that could be listed.
    Finished,
    /// The search was stopped. If bounds matter, the component with the strongest pull can be cut at
    /// its bound: (component, at its lower bound).
    Stopped(Option<(usize, Place)>),
}

/// Searches until the list is proven or `node_limit` is reached; gives the nodes used and, in the latter case,
/// the least squared norm that a point not listed could have.
pub fn prove(
    problem: &IntegerLeastSquares,
    node_limit: u64,
    patience: Patience,
    best: &mut Best,
) -> Result<(u64, Option<f64>), Refusal> {
    let mut waiting = vec![Part {
        lower: problem.lower.clone(),
        upper: problem.upper.clone(),
        at_least: 0.0,
        trial: patience.first_trial,
    }];
    let mut nodes = 0;
    while let Some(mut part) = waiting.pop() {
        if part.at_least > best.bound() {
            continue;
        }
        let Progress::Stopped(cut) = look_into(&mut part, problem, node_limit, &mut nodes, best)?
        else {
            continue;
        };
        if nodes >= node_limit {
            waiting.push(part);
            let lowest = waiting
                .iter()
                .map(|part| part.at_least)
                .fold(best.last(), f64::min);
            return Ok((nodes, Some((lowest - best.tolerance(lowest)).max(0.0))));
        }
        match cut {
            Some((component, place)) if part.trial >= patience.cut_after => {
                let [at_bound, leaving] = cut_in_two(part, component, place, patience.first_trial);
                waiting.extend([leaving, at_bound]);
            }
            _ => {
                part.trial = part.trial.saturating_mul(patience.growth);
                waiting.push(part);
            }
        }
    }
    Ok((nodes, None))
}

/// Narrows a part until no further component is fixed, then searches what is left of it.
fn look_into(
    part: &mut Part,
    problem: &IntegerLeastSquares,
    node_limit: u64,
    nodes: &mut u64,
    best: &mut Best,
) -> Result<Progress, Refusal> {
    loop {
        let rest = Rest::new(problem, &part.lower, &part.upper)?;
        if rest.columns.is_empty() {
            best.offer(&part.lower);
            return Ok(Progress::Finished);
        }
        let relaxed = rest.relaxed()?;
        let floor = rest.floor(&relaxed);
        let radius_squared = best.bound() - floor;
        if radius_squared < 0.0 {
            return Ok(Progress::Finished);
        }
        let ball = match narrow(&rest.r, &relaxed, &rest.lower, &rest.upper, radius_squared) {
            Narrowed::Nothing => return Ok(Progress::Finished),
            Narrowed::Fixed(values) => {
                for (place, value) in values {
                    let component = rest.columns[place];
                    (part.lower[component], part.upper[component]) = (value, value);
                }
                continue;
            }
            Narrowed::Open(ball) => ball,
        };
        let faces = faces_met(&rest, &relaxed, &ball);
        let left = node_limit - *nodes;
        let budget = if faces.is_empty() {
            left
        } else {
            left.min(part.trial)
        };
        let ending = enumerate(&rest, &relaxed, &ball, &faces, budget, &part.lower, best);
        *nodes += ending.nodes;
        let Some(unvisited) = ending.unvisited else {
            return Ok(Progress::Finished);
        };
        part.at_least = part.at_least.max((floor + unvisited).min(best.last()));
        let strongest = (0..rest.columns.len())
            .filter(|&place| relaxed.pull[place] > 0.0)
            .max_by(|&a, &b| relaxed.pull[a].total_cmp(&relaxed.pull[b]));
        return Ok(Progress::Stopped(
            strongest.map(|place| (rest.columns[place], relaxed.place[place])),
        ));
    }
}

/// The part where `component` stays at the bound it is held by, and the part where it leaves it.
fn cut_in_two(part: Part, component: usize, place: Place, trial: u64) -> [Part; 2] {
    let mut at_bound = Part { trial, ..part };
    let mut leaving = at_bound.clone();
    if place == Place::AtLower {
        at_bound.upper[component] = at_bound.lower[component];
        leaving.lower[component] += 1;
    } else {
        at_bound.lower[component] = at_bound.upper[component];
        leaving.upper[component] -= 1;
    }
    [at_bound, leaving]
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};
    use proptest::prelude::*;

    const COLUMNS: usize = 5;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// However early parts are cut in two, the list is that of full enumeration.
        #[test]
        fn cutting_early_changes_no_answer(
            entries in prop::collection::vec(-1.0..1.0, COLUMNS * COLUMNS),
            target in prop::collection::vec(-9.0..9.0, COLUMNS),
            cut_after in 1..8_u64,
        ) {
            let mut matrix = DMatrix::from_vec(COLUMNS, COLUMNS, entries);
            matrix.set_diagonal(&matrix.diagonal().map(|entry| entry + 1.2));
            let problem = IntegerLeastSquares {
                matrix,
                target: DVector::from_vec(target),
                lower: vec![-1, -2, 0, -1, -3],
                upper: vec![2, 1, 3, 2, 0],
            };
            let mut want = Best::new(&problem, 2, &[0; COLUMNS]);
            for index in 0..4_i64.pow(5) {
                let z: Vec<i64> = (0..5)
                    .map(|place| problem.lower[place as usize] + index / 4_i64.pow(place) % 4)
                    .collect();
                want.offer(&z);
            }
            let patience = Patience { first_trial: 1, growth: 2, cut_after };
            let mut best = Best::new(&problem, 2, &[0; COLUMNS]);
            best.offer(&problem.lower);
            best.offer(&problem.upper);
            let (_, lowest_unlisted) = prove(&problem, u64::MAX, patience, &mut best)
                .expect("a proper problem");
            prop_assert_eq!(lowest_unlisted, None);
            prop_assert_eq!(best.into_points(), want.into_points());
        }
    }
}
