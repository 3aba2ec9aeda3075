//! How long a survey takes: `cargo bench --bench whole`, to which a number of feet may be added to leave out longer beds.
//!
//! Every time is the least of a few, in ms; of the whole program also in multiples of `quarterturn --version`, so
//! that the machine matters little.

#[path = "../made_up/long.rs"]
mod long;

use std::hint::black_box;
use std::io::Write;
use std::process::{Command, Stdio};
use std::time::Instant;

use long::{LONG, Long};
use quarterturn::geometry::Passes;
use quarterturn::plan;
use quarterturn::response::History;
use quarterturn::survey::read;
use quarterturn::work::Work;

/// Every time is taken so often and the least counts: what else the machine does is left out.
const REPEATS: usize = 3;

fn main() {
    let most = std::env::args().find_map(|argument| argument.parse().ok());
    let start = program(&["--version"], "");
    println!("quarterturn --version: {start:.1} ms");
    println!(
        "  feet readings passes |   parse  adjust   shape   learn    plan | shape     x  turns     x | searches    nodes"
    );
    let history = [3, 50].map(|passes| Long {
        passes,
        ..Long::once(4, 14)
    });
    for bed in LONG.into_iter().chain(history) {
        let feet = 2 * bed.pairs;
        if most.is_some_and(|most: usize| feet > most) {
            continue;
        }
        row(bed, start);
    }
}

fn row(bed: Long, start: f64) {
    let text = bed.text();
    let survey = read(&text).expect("a survey");
    let last = bed.passes - 1;
    let parse = least(|| {
        black_box(read(&text)).ok();
    });
    let adjust = least(|| {
        black_box(Passes::of(&survey).told(last)).ok();
    });
    let passes = Passes::of(&survey);
    let shape = least(|| {
        let passes = Passes::of(&survey);
        let told = passes.told(last).expect("readings");
        black_box((told.shape(), told.particulars(), told.suspects()));
    });
    let learn = least(|| {
        black_box(History::after(&passes, last)).ok();
    });
    let before = [Work::Search, Work::Node].map(Work::count);
    let plan = least(|| {
        black_box(plan::after(&passes, last)).ok();
    });
    let work = [0, 1]
        .map(|kind| ([Work::Search, Work::Node][kind].count() - before[kind]) / REPEATS as u64);
    let [whole, turns] = ["shape", "turns"].map(|command| program(&[command, "-"], &text));
    println!(
        "{:>6} {:>8} {:>6} | {parse:>7.1} {adjust:>7.1} {shape:>7.1} {learn:>7.1} {plan:>7.1} | {whole:>5.0} {:>5.0} {turns:>6.0} {:>5.0} | {:>8} {:>8}",
        2 * bed.pairs,
        3 * bed.stations,
        bed.passes,
        whole / start,
        turns / start,
        work[0],
        work[1],
    );
}

/// Least time of a few, ms.
fn least(work: impl Fn()) -> f64 {
    (0..REPEATS)
        .map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64() * 1e3
        })
        .fold(f64::INFINITY, f64::min)
}

/// Least time of the whole program, ms.
fn program(arguments: &[&str], survey: &str) -> f64 {
    least(|| {
        let mut child = Command::new(env!("CARGO_BIN_EXE_quarterturn"))
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .spawn()
            .expect("the program");
        // A program that asks nothing may have ended by now.
        let _ = child
            .stdin
            .take()
            .expect("piped")
            .write_all(survey.as_bytes());
        child.wait().expect("it ends");
    })
}
