//! From a problem to a proven answer.

use super::best::Best;
use super::branching::{PATIENCE, prove};
use super::first_guess::{descend, fill};
use super::outcome::{Proof, Ranking, Refusal, Solution};
use super::problem::{IntegerLeastSquares, WIDEST, squared_distance};
use super::rest::Rest;
use super::triangle::triangular;
use crate::work::Work;

/// How long to search.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Settings {
    /// Partial vectors to look at before the search stops with a [`Proof::Gap`]. Default: 10 million.
    pub node_limit: u64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            node_limit: 10_000_000,
        }
    }
}

/// The best point inside the bounds, and whether it is proven to be.
///
/// Of points whose squared norms are equal up to rounding, the one with the smaller Σ|z| is given, then
/// the lexicographically smaller one. The answer depends on nothing but the problem and the settings.
pub fn solve(problem: &IntegerLeastSquares, settings: &Settings) -> Result<Solution, Refusal> {
    let mut ranking = k_best(problem, settings, 1)?;
    // The bounds hold at least one point, or the problem was refused.
    let best = ranking.points.swap_remove(0);
    Ok(Solution {
        z: best.z,
        squared_norm: best.squared_norm,
        proof: ranking.proof,
        nodes: ranking.nodes,
    })
}

/// The `k` best points inside the bounds, best first; fewer if the bounds hold no more.
///
/// Ordered as [`solve`] chooses; the proof covers the list as a whole.
pub fn k_best(
    problem: &IntegerLeastSquares,
    settings: &Settings,
    k: usize,
) -> Result<Ranking, Refusal> {
    problem.check()?;
    let compact = compacted(problem)?;
    let rest = Rest::new(&compact, &compact.lower, &compact.upper)?;
    let relaxed = rest.relaxed()?;
    if k == 0 {
        return Ok(Ranking {
            points: Vec::new(),
            proof: Proof::Gap { lower_bound: 0.0 },
            nodes: 0,
        });
    }
    let mut start = rest.with_fixed(&rest.origin(&relaxed), &compact.lower);
    descend(&compact, &mut start);
    let mut best = Best::new(&compact, k, &start);
    fill(&compact, &start, &mut best);
    Work::Search.done(1);
    let (nodes, lowest_unlisted) = if best.is_full() {
        prove(&compact, settings.node_limit, PATIENCE, &mut best)?
    } else {
        (0, None)
    };
    Work::Node.done(nodes);
    let unit = problem.matrix.amax();
    let mut points = best.into_points();
    for point in &mut points {
        point.squared_norm = squared_distance(&problem.matrix, &problem.target, &point.z);
    }
    let proof = lowest_unlisted.map_or(Proof::Optimal, |lowest| Proof::Gap {
        lower_bound: lowest * unit * unit,
    });
    Ok(Ranking {
        points,
        proof,
        nodes,
    })
}

/// The same problem in few rows, with 1 as the largest entry of the matrix, so that no square overflows or
/// vanishes, and with absent bounds at ±[`WIDEST`].
///
/// A tall matrix is replaced by its triangle, and by one row of zeros for what no column reaches.
fn compacted(problem: &IntegerLeastSquares) -> Result<IntegerLeastSquares, Refusal> {
    let largest = problem.matrix.amax();
    let unit = if largest > 0.0 { largest } else { 1.0 };
    let mut target = &problem.target / unit;
    let rows = target.len() as f64;
    if let Some(row) = target
        .iter()
        .position(|value| !(value * value * rows).is_finite())
    {
        return Err(Refusal::NotFinite {
            what: "target in units of the matrix",
            row,
            column: 0,
        });
    }
    let mut matrix = &problem.matrix / unit;
    let columns = matrix.ncols();
    if matrix.nrows() > columns + 1 {
        let (r, all) = triangular(matrix, target);
        matrix = r.resize_vertically(columns + 1, 0.0);
        target = all.rows(0, columns + 1).into_owned();
        target[columns] = all.rows(columns, all.len() - columns).norm();
    }
    Ok(IntegerLeastSquares {
        matrix,
        target,
        lower: problem.lower.iter().map(|&l| l.max(-WIDEST)).collect(),
        upper: problem.upper.iter().map(|&u| u.min(WIDEST)).collect(),
    })
}
