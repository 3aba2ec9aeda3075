//! How honest the geometry is: made-up beds are read with a made-up level, and the program counts how often
//! the 95 % intervals hold the truth, how often a clean pass is suspected, and how often a slip is found.
//!
//! `cargo run --release --example coverage [passes per row [intervals]]`; with a second argument the intervals alone

#[path = "../tests/made_up/mod.rs"]
mod made_up;

use std::thread;

use made_up::slips::slip_in;
use made_up::tally::{Coverage, Share};
use made_up::walk::Walk;
use made_up::{Case, Form};
use quarterturn::geometry::{
    Adjustment, BedShape, Closure, ReferenceLine, Roughness, Slip, Suspects,
};

/// Passes per row unless the command line says otherwise: about a minute on two cores.
const PASSES: u64 = 400;

const SLIPS: [(Slip, &str); 6] = [
    (Slip::Side, "wrong letter, 2 divisions or more"),
    (Slip::TenDivisions, "ten divisions misread"),
    (Slip::OneDivision, "one division misread"),
    (Slip::Neighbours, "neighbours swapped, 2 apart or more"),
    (
        Slip::TurnedBetweenLines,
        "turned between lines, zero 1 to 2",
    ),
    (Slip::Unknown, "3 to 7.5 divisions wrong"),
];

fn main() {
    let passes: u64 = std::env::args()
        .nth(1)
        .and_then(|n| n.parse().ok())
        .unwrap_or(PASSES);
    println!("{passes} passes a row, every pass another bed\n");
    intervals(passes);
    forms(passes);
    if std::env::args().nth(2).is_some() {
        return;
    }
    prior(passes);
    clean(passes);
    beyond_the_scale(passes);
    slips(passes);
}

/// Shares the passes out over the cores and joins what they found.
fn over<T: Default + Send>(
    passes: u64,
    one: impl Fn(u64, &mut T) + Sync,
    join: impl Fn(&mut T, T),
) -> T {
    let cores = thread::available_parallelism().map_or(1, |n| n.get() as u64);
    let one = &one;
    let parts: Vec<T> = thread::scope(|scope| {
        let workers: Vec<_> = (0..cores)
            .map(|core| {
                scope.spawn(move || {
                    let mut found = T::default();
                    for number in (core..passes).step_by(usize::try_from(cores).unwrap_or(1)) {
                        one(number, &mut found);
                    }
                    found
                })
            })
            .collect();
        workers
            .into_iter()
            .map(|worker| worker.join().expect("a pass panicked"))
            .collect()
    });
    let mut all = T::default();
    for part in parts {
        join(&mut all, part);
    }
    all
}

fn intervals(passes: u64) {
    println!("share of 95 % intervals that hold the truth; and called inside at 1.05 of a limit");
    println!(
        "{:<42} {:>8} {:>8} {:>8} {:>13} {:>8}",
        "stations", "heights", "twist", "crown", "straightness", "inside"
    );
    for walk in Walk::ALL {
        row(walk.name(), passes, |number| Case::new(number, walk));
    }
}

/// Beds whose form is hard on an interval, and levels that scatter more than is stated.
fn forms(passes: u64) {
    println!("\nthe same of beds of one form, read with 0.02 mm/m");
    println!(
        "{:<42} {:>8} {:>8} {:>8} {:>13} {:>8}",
        "", "heights", "twist", "crown", "straightness", "inside"
    );
    let even = [0.02, 0.03, 0.042, 0.05].map(|by| {
        (
            format!("evenly twisted by {by} mm/m"),
            Form::EvenlyTwisted(by * 1e-3),
        )
    });
    let rows = even
        .into_iter()
        .chain([("wavy ways".to_owned(), Form::Wavy)]);
    for (name, form) in rows {
        row(&name, passes, |number| {
            Case::formed(number, Walk::Chained, form, 1.0)
        });
    }
    for walk in [Walk::TwoLoops, Walk::Chained] {
        for (stated, name) in [(1.0, "as it is"), (0.5, "as half")] {
            let name = format!("{}, repeat {name}", walk.name());
            row(&name, passes, |number| {
                Case::formed(number, walk, Form::AsItStands, stated)
            });
        }
    }
}

fn row(name: &str, passes: u64, case: impl Fn(u64) -> Case + Sync) {
    let coverage = over(
        passes,
        |number, coverage: &mut Coverage| {
            let case = case(number);
            if let Some(adjustment) = case.adjusted() {
                let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
                coverage.add(&case.bed, &shape);
            }
        },
        |all, part| all.join(&part),
    );
    println!(
        "{name:<42} {:>8} {:>8} {:>8} {:>13} {:>8}",
        coverage.heights.text(),
        coverage.by_interval[0].text(),
        coverage.by_interval[1].text(),
        coverage.by_interval[2].text(),
        coverage.wrongly_inside.text()
    );
}

/// The largest change of a departure from the end line when the bed between the readings is known to be a
/// hundred times as rough or as smooth, and of a cross slope less the mean of all when beds are guessed to be
/// so; each in shares of its own u95.
fn prior(passes: u64) {
    println!("\nlargest change, of its u95, if beds were 100 times rougher or smoother");
    println!(
        "{:<42} {:>15} {:>17}",
        "", "heights, known", "cross, guessed"
    );
    for walk in Walk::ALL {
        let [heights, cross] = over(
            passes,
            |number, largest: &mut [f64; 2]| {
                let case = Case::new(number, walk);
                if let Some(adjustment) = case.adjusted() {
                    for factor in [0.01, 100.0] {
                        let changes = changes(&case, &adjustment, factor);
                        *largest = [0, 1].map(|kind| largest[kind].max(changes[kind]));
                    }
                }
            },
            |all, part| *all = [0, 1].map(|kind| all[kind].max(part[kind])),
        );
        println!("{:<42} {heights:>15.4} {cross:>17.4}", walk.name());
    }
}

fn changes(case: &Case, adjustment: &Adjustment, factor: f64) -> [f64; 2] {
    let times = |size: Roughness| Roughness {
        middle: size.middle * factor,
        half: size.half * factor,
    };
    let observations = || adjustment.observations().clone();
    let (length, spacing) = (case.bed.length, case.bed.spacing);
    let known = Adjustment::on_bed(
        observations(),
        length,
        spacing,
        times(adjustment.roughness()),
    );
    let guessed = Adjustment::guessing(observations(), length, spacing, times(adjustment.guess()));
    let (Ok(known), Ok(guessed)) = (known, guessed) else {
        return [0.0; 2];
    };
    let shape = |found| BedShape::of(found, ReferenceLine::EndPoints);
    let before = shape(adjustment);
    [
        change_of_heights(&before, &shape(&known)),
        change_of_cross_slopes(&before, &shape(&guessed)),
    ]
}

fn change_of_heights(before: &BedShape, after: &BedShape) -> f64 {
    let mut largest: f64 = 0.0;
    for (a, b) in before.ways().zip(after.ways()) {
        // The two ends are on the line by definition.
        let inner = a.points.len().saturating_sub(2);
        for (a, b) in a.points.iter().zip(&b.points).skip(1).take(inner) {
            largest = largest.max((a.off_line - b.off_line).abs() / a.off_line_u95);
        }
    }
    largest
}

fn change_of_cross_slopes(before: &BedShape, after: &BedShape) -> f64 {
    let differences: Vec<f64> = before
        .cross
        .iter()
        .zip(&after.cross)
        .map(|(a, b)| a.slope - b.slope)
        .collect();
    let mean = differences.iter().sum::<f64>() / differences.len().max(1) as f64;
    before
        .cross
        .iter()
        .zip(differences)
        .map(|(slope, difference)| (difference - mean).abs() / slope.u95)
        .fold(0.0, f64::max)
}

#[derive(Default)]
struct Clean {
    suspected: Share,
    failed: Share,
    closed: Share,
}

fn clean(passes: u64) {
    println!("\nclean passes: suspected, global test failed; bays that close within 95 %");
    for walk in Walk::ALL {
        let clean = over(
            passes,
            |number, clean: &mut Clean| {
                let case = Case::new(number, walk);
                let Some(adjustment) = case.adjusted() else {
                    return;
                };
                let suspects = Suspects::of(&adjustment);
                clean.suspected.count(suspects.suspect().is_some());
                let closure = Closure::of(&case.pass, &adjustment);
                if let Some(test) = closure.global {
                    clean.failed.count(!test.passes());
                }
                for bay in &closure.bays {
                    clean.closed.count(bay.closes());
                }
            },
            |all, part| {
                all.suspected.join(&part.suspected);
                all.failed.join(&part.failed);
                all.closed.join(&part.closed);
            },
        );
        println!(
            "{:<42} {:>8} {:>8} {:>8}",
            walk.name(),
            clean.suspected.text(),
            clean.failed.text(),
            clean.closed.text()
        );
    }
}

/// Clean passes on beds so far out that readings leave a scale of so many divisions.
fn beyond_the_scale(passes: u64) {
    const ENDS: [f64; 3] = [3.0, 6.0, 10.0];
    println!("\nclean passes with readings beyond 3, 6 or 10 divisions: suspected");
    for walk in Walk::ALL {
        print!("{:<42}", walk.name());
        for end in ENDS {
            let suspected = over(
                passes,
                |number, suspected: &mut Share| {
                    let mut case = Case::new(number, walk);
                    if case.read_on_scale(end) == 0 {
                        return;
                    }
                    if let Some(adjustment) = case.adjusted() {
                        suspected.count(Suspects::of(&adjustment).suspect().is_some());
                    }
                },
                |all, part| all.join(&part),
            );
            print!(" {:>8}", suspected.text());
        }
        println!();
    }
}

#[derive(Default)]
struct Found {
    reading: Share,
    named: Share,
    among: Share,
}

fn slips(passes: u64) {
    println!("\none slip a pass: right reading first, and rightly named; among those named at all");
    for walk in Walk::ALL {
        println!("{}", walk.name());
        for (slip, name) in SLIPS {
            let found = over(
                passes,
                |number, found: &mut Found| {
                    let mut case = Case::new(number, walk);
                    let Some(spoiled) = slip_in(&mut case.pass, slip, &mut case.generator) else {
                        return;
                    };
                    let Some(adjustment) = case.adjusted() else {
                        return;
                    };
                    let suspects = Suspects::of(&adjustment);
                    let first = suspects.suspect();
                    let right = first.is_some_and(|s| spoiled.contains(&s.reading));
                    found.reading.count(right);
                    found
                        .named
                        .count(right && first.is_some_and(|s| s.slip == slip));
                    found
                        .among
                        .count(suspects.found.iter().any(|s| spoiled.contains(&s.reading)));
                },
                |all, part| {
                    all.reading.join(&part.reading);
                    all.named.join(&part.named);
                    all.among.join(&part.among);
                },
            );
            println!(
                "  {:<40} {:>8} {:>8} {:>8}",
                name,
                found.reading.text(),
                found.named.text(),
                found.among.text()
            );
        }
    }
}
