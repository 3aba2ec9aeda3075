//! How long a bed takes to answer: `cargo bench --bench response`.
//!
//! Prints the median and the slowest of many calls, for beds of 6 to 1000 feet.

use std::hint::black_box;
use std::time::Instant;

use quarterturn::response::{BedModel, BedResponse, Place, Reaches, Standing};

fn main() {
    println!("feet  what                              median us  slowest us  calls");
    for pairs in [3, 4, 6, 20, 500] {
        let bed = bed(pairs, false);
        let response = bed.response().expect("the feet hold the bed");
        let places = places(bed.length, 60);
        let calls = if pairs > 100 { 20 } else { 2000 };
        let print = |what: &str, work: &dyn Fn(usize)| {
            let (median, slowest) = measure(calls, work);
            let feet = 2 * pairs;
            println!("{feet:>4}  {what:<32}  {median:>9.1}  {slowest:>10.1}  {calls:>5}");
        };
        print("made ready", &|_| {
            black_box(bed.response().expect("the feet hold the bed"));
        });
        print("influence on 60 places", &|_| {
            black_box(response.influence(&places));
        });
        // Lifts that let no, some and many feet hang.
        for (what, size) in [
            ("all carry", 0.0),
            ("0.02 mm uneven", 2e-5),
            ("0.2 mm uneven", 2e-4),
        ] {
            let lifts: Vec<Vec<f64>> = (0..calls)
                .map(|call| uneven(2 * pairs, call, size))
                .collect();
            let hang = hanging(&response, &lifts);
            print(&format!("standing, {what}, {hang:.1} hang"), &|call| {
                black_box(response.standing(&lifts[call]));
            });
        }
    }
}

/// Median and slowest time of a call, us.
fn measure(calls: usize, work: &dyn Fn(usize)) -> (f64, f64) {
    let mut times: Vec<f64> = (0..calls)
        .map(|call| {
            let start = Instant::now();
            work(call);
            start.elapsed().as_secs_f64() * 1e6
        })
        .collect();
    times.sort_by(f64::total_cmp);
    (times[calls / 2], times[calls - 1])
}

/// Mean number of hanging feet.
fn hanging(bed: &BedResponse, lifts: &[Vec<f64>]) -> f64 {
    let hanging: usize = lifts
        .iter()
        .map(|lifts| match bed.standing(lifts) {
            Standing::Stands(stance) => stance.hanging.len(),
            other => panic!("the bed should stand: {other:?}"),
        })
        .sum();
    hanging as f64 / lifts.len() as f64
}

/// A cast-iron bed of 1 m and 1000 kg for each pair of feet.
fn bed(pairs: usize, holds_down: bool) -> BedModel {
    let feet: Vec<Place> = (0..pairs)
        .flat_map(|pair| [0.2, -0.2].map(|across| (pair as f64 + 0.5, across)))
        .map(|(at, across)| Place { at, across })
        .collect();
    let reaches = Reaches {
        bending: 1.0,
        torsion: 0.7,
    };
    let mut bed = BedModel::weightless(pairs as f64, &feet, holds_down, &reaches);
    bed = bed.with_bending_stiffness(1e8);
    bed.weight_per_length = 10_000.0;
    bed
}

fn places(length: f64, count: usize) -> Vec<Place> {
    (0..count)
        .map(|place| Place {
            at: length * (place / 2) as f64 / (count / 2) as f64,
            across: if place % 2 == 0 { 0.2 } else { -0.2 },
        })
        .collect()
}

/// Lifts that look random and are the same in every run.
fn uneven(feet: usize, call: usize, size: f64) -> Vec<f64> {
    (0..feet)
        .map(|foot| size * (1e4 * ((foot * 37 + call * 101 + 1) as f64).sin()).sin())
        .collect()
}
