//! From a problem to a proven answer: relax, narrow, reduce, enumerate, and again where that pays.

use super::best::Best;
use super::bounds::{Ball, Narrowed, narrow};
use super::enumeration::{Ending, Face, Search};
use super::first_guess::{descend, fill};
use super::outcome::{Proof, Ranking, Refusal, Solution};
use super::problem::{IntegerLeastSquares, WIDEST, squared_distance};
use super::reduction::Basis;
use super::relaxation::Relaxed;
use super::rest::Rest;
use super::triangle::{inverse, triangle, triangular};
use nalgebra::DVector;

/// Nodes of the first searches of a bounded problem: what they find narrows the ranges of the next.
const TRIALS: [u64; 2] = [2_000, 50_000];

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
    let scaled = in_units_of_the_largest_entry(problem)?;
    let rest = Rest::new(&scaled, &scaled.lower, &scaled.upper)?;
    let relaxed = rest.relaxed()?;
    if k == 0 {
        return Ok(Ranking {
            points: Vec::new(),
            proof: Proof::Gap { lower_bound: 0.0 },
            nodes: 0,
        });
    }
    let mut start = rest.with_fixed(&rest.origin(&relaxed), &scaled.lower);
    descend(&scaled, &mut start);
    let mut best = Best::new(&scaled, k, &start);
    fill(&scaled, &start, &mut best);
    let (nodes, lowest_unlisted) = if best.is_full() {
        prove(&scaled, settings, &mut best)?
    } else {
        (0, None)
    };
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

/// The same problem with 1 as the largest entry of the matrix, so that no square overflows or vanishes,
/// and with absent bounds at ±[`WIDEST`].
fn in_units_of_the_largest_entry(
    problem: &IntegerLeastSquares,
) -> Result<IntegerLeastSquares, Refusal> {
    let largest = problem.matrix.amax();
    let unit = if largest > 0.0 { largest } else { 1.0 };
    let target = &problem.target / unit;
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
    Ok(IntegerLeastSquares {
        matrix: &problem.matrix / unit,
        target,
        lower: problem.lower.iter().map(|&l| l.max(-WIDEST)).collect(),
        upper: problem.upper.iter().map(|&u| u.min(WIDEST)).collect(),
    })
}

/// Searches until the list is proven or the nodes are used up; gives the nodes, and in the latter case the
/// least squared norm that a point not listed could have.
fn prove(
    problem: &IntegerLeastSquares,
    settings: &Settings,
    best: &mut Best,
) -> Result<(u64, Option<f64>), Refusal> {
    let (mut lower, mut upper) = (problem.lower.clone(), problem.upper.clone());
    let mut nodes = 0;
    let mut lowest_unlisted: f64 = 0.0;
    let mut trials = TRIALS.iter();
    loop {
        let rest = Rest::new(problem, &lower, &upper)?;
        let relaxed = rest.relaxed()?;
        let floor = rest.floor(&relaxed);
        if rest.columns.is_empty() {
            best.offer(&lower);
            return Ok((nodes, None));
        }
        let radius_squared = best.bound() - floor;
        if radius_squared < 0.0 {
            return Ok((nodes, None));
        }
        let ball = match narrow(&rest.r, &relaxed, &rest.lower, &rest.upper, radius_squared) {
            Narrowed::Nothing => return Ok((nodes, None)),
            Narrowed::Fixed(values) => {
                for (place, value) in values {
                    let component = rest.columns[place];
                    (lower[component], upper[component]) = (value, value);
                }
                continue;
            }
            Narrowed::Open(ball) => ball,
        };
        let faces = faces_met(&rest, &relaxed, &ball);
        let left = settings.node_limit - nodes;
        let budget = match trials.next() {
            Some(&trial) if !faces.is_empty() => left.min(trial),
            _ => left,
        };
        let before = best.last();
        let ending = enumerate(&rest, &relaxed, &ball, &faces, budget, &lower, best);
        nodes += ending.nodes;
        let Some(unvisited) = ending.unvisited else {
            return Ok((nodes, None));
        };
        let bound = (floor + unvisited).min(best.last());
        lowest_unlisted = lowest_unlisted.max(bound - best.tolerance(bound));
        if nodes >= settings.node_limit {
            return Ok((nodes, Some(lowest_unlisted.max(0.0))));
        }
        if best.last() >= before {
            trials = [].iter();
        }
    }
}

/// A bound that the ball reaches across: (place among the open columns, side, room from the centre).
#[derive(Debug, Clone, Copy)]
struct Met {
    place: usize,
    side: f64,
    room: f64,
}

fn faces_met(rest: &Rest, relaxed: &Relaxed, ball: &Ball) -> Vec<Met> {
    let mut met = Vec::new();
    for place in 0..rest.columns.len() {
        let above = rest.upper[place] as f64 - relaxed.at[place];
        let below = relaxed.at[place] - rest.lower[place] as f64;
        for (side, room) in [(1.0, above), (-1.0, below)] {
            if room < ball.reach[place] {
                met.push(Met { place, side, room });
            }
        }
    }
    met
}

fn enumerate(
    rest: &Rest,
    relaxed: &Relaxed,
    ball: &Ball,
    met: &[Met],
    budget: u64,
    fixed: &[i64],
    best: &mut Best,
) -> Ending {
    let columns = rest.columns.len();
    let origin = rest.origin(relaxed);
    let from_origin = DVector::from_iterator(
        columns,
        (0..columns).map(|i| relaxed.at[i] - origin[i] as f64),
    );
    let mut basis = Basis::new(triangle(ball.rows.clone()));
    basis.reduce();
    // Once more from the rows: the rotations of a long reduction add up rounding.
    let change = basis.change.map(|entry| entry as f64);
    let (r, centre) = triangular(&ball.rows * &change, &ball.rows * &from_origin);
    let centre = centre.rows(0, columns).into_owned();
    let (Some(centre), Some(inverse)) = (r.solve_upper_triangular(&centre), inverse(&r)) else {
        return Ending {
            nodes: budget,
            unvisited: Some(0.0),
        };
    };
    let to_original = change * inverse;
    let faces: Vec<Face> = met
        .iter()
        .map(|met| Face {
            normal: to_original
                .row(met.place)
                .iter()
                .map(|part| met.side * part)
                .collect(),
            room: met.room,
        })
        .collect();
    let floor = rest.floor(relaxed);
    let mut z = vec![0; columns];
    let bound = best.bound() - floor;
    Search::new(&r, &centre, &faces).run(bound, budget, |y, _| {
        z.copy_from_slice(&origin);
        basis.add_original(y, &mut z);
        if rest.contains(&z) {
            best.offer(&rest.with_fixed(&z, fixed));
        }
        best.bound() - floor
    })
}
