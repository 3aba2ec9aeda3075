//! How long proofs take: `cargo bench --bench solver`.
//!
//! Random problems of feet along a beam; every row of the table is one family. `ratio` is what rounding each
//! component of the real solution by itself leaves, over what the best whole numbers leave.

mod beam_like;

use beam_like::{BeamLike, Travel};
use quarterturn::solver::{IntegerLeastSquares, Proof, Settings, solve};
use std::time::{Duration, Instant};

const SEEDS: u64 = 40;

struct Run {
    time: Duration,
    nodes: u64,
    proven: bool,
    ratio: f64,
}

fn main() {
    println!(
        "{:>4} {:>5} {:>6} {:>7} {:>10} {:>10} {:>9} {:>10} {:>7} {:>6} {:>6}",
        "feet",
        "reach",
        "ridge",
        "travel",
        "median us",
        "worst us",
        "nodes",
        "most",
        "proven",
        "ratio",
        "most"
    );
    for feet in [40] {
        let mut all = Vec::new();
        for reach in [0.5, 1.0, 2.0, 3.0] {
            for ridge in [1e-3, 1e-2, 1e-1] {
                for travel in [Travel::Wide, Travel::ShortForSome, Travel::ShortForAll] {
                    let family = BeamLike {
                        feet,
                        reach,
                        ridge,
                        travel,
                    };
                    let mut runs: Vec<Run> =
                        (0..SEEDS).map(|seed| run(&family.problem(seed))).collect();
                    let travel = match travel {
                        Travel::Wide => "wide",
                        Travel::ShortForSome => "some",
                        Travel::ShortForAll => "none",
                    };
                    let title = format!("{feet:>4} {reach:>5} {ridge:>6} {travel:>7}");
                    row(&title, &mut runs);
                    all.append(&mut runs);
                }
            }
        }
        row(
            &format!("{feet:>4} {:>5} {:>6} {:>7}", "all", "all", "all"),
            &mut all,
        );
    }
}

fn run(problem: &IntegerLeastSquares) -> Run {
    let start = Instant::now();
    let solution = solve(problem, &Settings::default()).expect("the generator gives full rank");
    let time = start.elapsed();
    let rounded = rounded(problem);
    let left = problem.squared_norm(&rounded).expect("as many components");
    Run {
        time,
        nodes: solution.nodes,
        proven: solution.proof == Proof::Optimal,
        ratio: left / solution.squared_norm,
    }
}

/// The real solution rounded to whole numbers and cut at the bounds.
fn rounded(problem: &IntegerLeastSquares) -> Vec<i64> {
    let factors = problem.matrix.clone().qr();
    let mut right = problem.target.clone();
    factors.q_tr_mul(&mut right);
    let right = right.rows(0, problem.matrix.ncols()).into_owned();
    let real = factors
        .r()
        .solve_upper_triangular(&right)
        .expect("full rank");
    real.iter()
        .zip(problem.lower.iter().zip(&problem.upper))
        .map(|(value, (&lower, &upper))| {
            #[expect(clippy::cast_possible_truncation, reason = "some tens of steps")]
            let nearest = value.round() as i64;
            nearest.clamp(lower, upper)
        })
        .collect()
}

fn row(title: &str, runs: &mut [Run]) {
    let proven = runs.iter().filter(|run| run.proven).count();
    let (time, slowest) = middle_and_last(runs, |run| run.time.as_secs_f64() * 1e6);
    let (nodes, most) = middle_and_last(runs, |run| run.nodes as f64);
    let (ratio, greatest) = middle_and_last(runs, |run| run.ratio);
    println!(
        "{title} {time:>10.0} {slowest:>10.0} {nodes:>9.0} {most:>10.0} {:>6.1}% {ratio:>6.2} {greatest:>6.1}",
        100.0 * proven as f64 / runs.len() as f64
    );
}

fn middle_and_last(runs: &mut [Run], value: impl Fn(&Run) -> f64) -> (f64, f64) {
    runs.sort_by(|a, b| value(a).total_cmp(&value(b)));
    (value(&runs[runs.len() / 2]), value(&runs[runs.len() - 1]))
}
