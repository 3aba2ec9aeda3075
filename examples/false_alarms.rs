//! How often two passes of a bed that has not moved are called a change, which should be 5 times in 100, how
//! often a floor that sinks or a bed that twists is found, and how often what is said to have changed at
//! a place holds what did.
//!
//! `cargo run --release --example false_alarms [pairs per row]`, a tenth as many in the tables that follow the first

#[path = "../tests/made_up/mod.rs"]
mod made_up;

use std::thread;

use made_up::pairs::{Pair, Pairing};
use made_up::places::Places;

/// Pairs per row unless the command line says otherwise: they tell a rate of 5 % to 0.7 % either way.
const PAIRS: u64 = 4000;

/// How far a foot's floor sinks, m.
const SINKS: [f64; 3] = [10e-6, 20e-6, 30e-6];

/// How far a bed twists, in expanded uncertainties of its twist.
const TWISTS: [f64; 2] = [1.0, 2.0];

fn main() {
    let pairs: u64 = std::env::args()
        .nth(1)
        .and_then(|n| n.parse().ok())
        .unwrap_or(PAIRS);
    println!(
        "every pair another bed; share called a change, give or take what chance does 95 times in 100"
    );
    table("nothing moved", pairs, |number, pairing| {
        Pair::new(number, pairing, 0.0)
    });
    let pairs = (pairs / 10).max(1);
    for sinks in SINKS {
        let title = format!("one foot sank by {:.0} um", sinks * 1e6);
        table(&title, pairs, |number, pairing| {
            Pair::new(number, pairing, sinks)
        });
    }
    for times in TWISTS {
        let title = format!("twisted evenly by {times} u95 of the twist");
        table(&title, pairs, |number, pairing| {
            Pair::twisted(number, pairing, times)
        });
    }
    println!(
        "\n{pairs} pairs a row; share of 95 % intervals of changes that hold the true one, and their median width as a \
         share of what it would be if the passes had a surface each"
    );
    places("nothing moved", pairs, |number, pairing| {
        Pair::new(number, pairing, 0.0)
    });
    places("one foot sank by 20 um", pairs, |number, pairing| {
        Pair::new(number, pairing, 20e-6)
    });
    places(
        "twisted evenly by 2 u95 of the twist",
        pairs,
        |number, pairing| Pair::twisted(number, pairing, 2.0),
    );
}

fn table(title: &str, pairs: u64, pair: impl Fn(u64, Pairing) -> Pair + Sync) {
    println!(
        "\n{:<52} {:>14}",
        format!("{title}, {pairs} pairs a row"),
        "share"
    );
    for pairing in Pairing::ALL {
        let called: usize = shared_out(pairs, |numbers| {
            numbers
                .filter(|number| pair(*number, pairing).is_called_a_change())
                .count()
        })
        .into_iter()
        .sum();
        let share = called as f64 / pairs as f64;
        let chance = 1.96 * (share * (1.0 - share) / pairs as f64).sqrt();
        println!(
            "{:<52} {:>5.1} +- {:.1} %",
            pairing.name(),
            100.0 * share,
            100.0 * chance
        );
    }
}

fn places(title: &str, pairs: u64, pair: impl Fn(u64, Pairing) -> Pair + Sync) {
    println!(
        "\n{title:<52} {:>8} {:>8} {:>8} {:>8} {:>8}",
        "across", "heights", "width", "figures", "width"
    );
    for pairing in Pairing::ALL {
        let counts = shared_out(pairs, |numbers| {
            let mut count = Places::default();
            for number in numbers {
                count.add(&pair(number, pairing));
            }
            count
        });
        let mut all = Places::default();
        for count in counts {
            all.join(count);
        }
        println!(
            "{:<52} {:>8} {:>8} {:>8.2} {:>8} {:>8.2}",
            pairing.name(),
            all.cross.text(),
            all.heights.text(),
            Places::median(&all.widths),
            all.figures.text(),
            Places::median(&all.widths_of_figures),
        );
    }
}

/// Numbers of pairs shared out over the cores, and what was made of each share.
fn shared_out<T: Send>(
    pairs: u64,
    work: impl Fn(std::iter::StepBy<std::ops::Range<u64>>) -> T + Sync,
) -> Vec<T> {
    let cores = thread::available_parallelism().map_or(1, |n| n.get() as u64);
    let work = &work;
    thread::scope(|scope| {
        let workers: Vec<_> = (0..cores)
            .map(|core| {
                let share = (core..pairs).step_by(usize::try_from(cores).unwrap_or(1));
                scope.spawn(move || work(share))
            })
            .collect();
        workers
            .into_iter()
            .map(|worker| worker.join().expect("a pair panicked"))
            .collect()
    })
}
