//! How long proofs take: `cargo bench --bench solver`.
//!
//! Random problems of feet along a beam. A row of a table is one family, the last row of a table all of
//! them. `rounding` is what rounding each component of the real solution by itself leaves, over what the best
//! whole numbers leave; bounds would make that comparison unfair, so it is given for wide travel only.

#[path = "../solver/beam_like.rs"]
mod beam_like;

use beam_like::{BeamLike, Travel};
use quarterturn::solver::{IntegerLeastSquares, Proof, Settings, k_best};
use std::time::{Duration, Instant};

/// Every problem is solved so often and the least time counts: what else the machine does is left out.
const REPEATS: usize = 3;

/// Problems of every family.
const SEEDS: u64 = 100;

struct Run {
    time: Duration,
    nodes: u64,
    proven: bool,
    rounding: Option<f64>,
}

fn main() {
    for (feet, k) in [(10, 1), (16, 1), (20, 1), (40, 1), (40, 10)] {
        table(feet, k);
    }
}

fn table(feet: usize, k: usize) {
    let asked = if k == 1 {
        "the best".to_owned()
    } else {
        format!("the best {k}")
    };
    println!("\n{feet} feet, {asked}, {SEEDS} problems a row");
    println!(
        "{:>5} {:>6} {:>7} {:>10} {:>10} {:>9} {:>9} {:>7} {:>9} {:>8}",
        "reach",
        "ridge",
        "travel",
        "median us",
        "worst us",
        "nodes",
        "most",
        "proven",
        "rounding",
        "greatest"
    );
    let travels = [
        (Travel::Wide, "wide"),
        (Travel::ShortForSome, "some"),
        (Travel::ShortForAll, "short"),
        (Travel::Mixed, "mixed"),
    ];
    let mut all = Vec::new();
    for reach in [0.5, 1.0, 2.0, 3.0] {
        for ridge in [1e-3, 1e-2, 1e-1] {
            for (travel, name) in travels {
                let family = BeamLike {
                    feet,
                    reach,
                    ridge,
                    travel,
                };
                let mut runs: Vec<Run> = (0..SEEDS)
                    .map(|seed| run(&family.problem(seed), k, travel == Travel::Wide))
                    .collect();
                row(&format!("{reach:>5} {ridge:>6} {name:>7}"), &mut runs);
                all.append(&mut runs);
            }
        }
    }
    row(&format!("{:>5} {:>6} {:>7}", "all", "all", "all"), &mut all);
}

fn run(problem: &IntegerLeastSquares, k: usize, wide: bool) -> Run {
    let ranking = k_best(problem, &Settings::default(), k).expect("full rank");
    let mut time = Duration::MAX;
    for _ in 0..REPEATS {
        let start = Instant::now();
        let again = k_best(problem, &Settings::default(), k);
        time = time.min(start.elapsed());
        assert_eq!(again.as_ref(), Ok(&ranking), "not the same from run to run");
    }
    Run {
        time,
        nodes: ranking.nodes,
        proven: ranking.proof == Proof::Optimal,
        rounding: wide.then(|| {
            let left = problem.squared_norm(&rounded(problem));
            left.expect("as many components") / ranking.points[0].squared_norm
        }),
    }
}

/// The real solution rounded to whole numbers.
fn rounded(problem: &IntegerLeastSquares) -> Vec<i64> {
    let columns = problem.matrix.ncols();
    let factors = problem.matrix.clone().qr();
    let mut right = problem.target.clone();
    factors.q_tr_mul(&mut right);
    let real = factors
        .r()
        .solve_upper_triangular(&right.rows(0, columns).into_owned())
        .expect("full rank");
    #[expect(clippy::cast_possible_truncation, reason = "some tens of steps")]
    let nearest = |value: &f64| value.round() as i64;
    real.iter().map(nearest).collect()
}

fn row(title: &str, runs: &mut [Run]) {
    let proven = runs.iter().filter(|run| run.proven).count();
    let (time, slowest) = middle_and_last(runs.iter().map(|run| run.time.as_secs_f64() * 1e6));
    let (nodes, most) = middle_and_last(runs.iter().map(|run| run.nodes as f64));
    let (rounding, greatest) = middle_and_last(runs.iter().filter_map(|run| run.rounding));
    let share = 100.0 * proven as f64 / runs.len() as f64;
    print!("{title} {time:>10.0} {slowest:>10.0} {nodes:>9.0} {most:>9.0} {share:>6.1}%");
    if rounding.is_nan() {
        println!(" {:>9} {:>8}", "-", "-");
    } else {
        println!(" {rounding:>9.2} {greatest:>8.1}");
    }
}

fn middle_and_last(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.get(sorted.len() / 2).copied();
    (
        middle.unwrap_or(f64::NAN),
        sorted.last().copied().unwrap_or(f64::NAN),
    )
}
