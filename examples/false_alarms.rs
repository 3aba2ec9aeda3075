//! How often two passes of a bed that has not moved are called a change, which should be 5 times in 100, and
//! how often a floor that sinks or a bed that twists is found.
//!
//! `cargo run --release --example false_alarms [pairs per row]`

#[path = "../tests/made_up/mod.rs"]
mod made_up;

use std::thread;

use made_up::pairs::{Pair, Pairing};

/// Pairs per row unless the command line says otherwise.
const PAIRS: u64 = 1000;

/// How far a foot's floor sinks, m.
const SINKS: [f64; 3] = [10e-6, 20e-6, 30e-6];

/// How far a bed twists, in expanded uncertainties of its twist.
const TWISTS: [f64; 2] = [1.0, 2.0];

fn main() {
    let pairs: u64 = std::env::args()
        .nth(1)
        .and_then(|n| n.parse().ok())
        .unwrap_or(PAIRS);
    println!("{pairs} pairs a row, every pair another bed; share called a change");
    table("nothing moved", pairs, |number, pairing| {
        Pair::new(number, pairing, 0.0)
    });
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
}

fn table(title: &str, pairs: u64, pair: impl Fn(u64, Pairing) -> Pair + Sync) {
    println!("\n{title:<52} {:>9}", "share");
    for pairing in Pairing::ALL {
        let share = share(pairs, |number| pair(number, pairing));
        println!("{:<52} {share:>9}", pairing.name());
    }
}

/// Share of pairs that are called a change, shared out over the cores.
fn share(pairs: u64, pair: impl Fn(u64) -> Pair + Sync) -> String {
    let cores = thread::available_parallelism().map_or(1, |n| n.get() as u64);
    let pair = &pair;
    let called: usize = thread::scope(|scope| {
        let workers: Vec<_> = (0..cores)
            .map(|core| {
                scope.spawn(move || {
                    (core..pairs)
                        .step_by(usize::try_from(cores).unwrap_or(1))
                        .filter(|number| pair(*number).is_called_a_change())
                        .count()
                })
            })
            .collect();
        workers
            .into_iter()
            .map(|worker| worker.join().unwrap_or(0))
            .sum()
    });
    format!("{:.1} %", 100.0 * called as f64 / pairs as f64)
}
