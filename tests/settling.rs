//! What moved by itself: the joint test on made-up beds, and a rehearsed machine whose floor is known.

mod made_up;

use std::fs;

use made_up::pairs::{Pair, Pairing};
use quarterturn::geometry::{Adjustment, Figure};
use quarterturn::settle::stretch::{days_between, still_passes};
use quarterturn::settle::trace::{Quantity, Trace};
use quarterturn::settle::{
    Again, Approach, Change, NoApproach, NoSettlement, Settlement, StepKind,
};
use quarterturn::survey::{self, Entry, Line, Survey};

/// A lathe whose floor under R4 was made to sink by 0.06 mm, slowing down with a time of 12 days from the day
/// on which the anchors were pulled down; the anchors took F2 down by 0.022 mm and R3 up by 0.009 mm.
fn lathe() -> Survey {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/settling.toml");
    let text = fs::read_to_string(path).unwrap();
    survey::read(&text).unwrap()
}

fn adjusted(survey: &Survey, pass: usize) -> Adjustment {
    let pass = &survey.passes[pass];
    let level = survey.level_of(pass).unwrap();
    Adjustment::of(pass, level, survey.bed.length, survey.bed.way_spacing).unwrap()
}

/// A bed that has not moved is called moved 5 times in 100, at the same stations and at others. `cargo run
/// --release --example false_alarms` counts all kinds of pairs.
#[test]
fn five_false_alarms_in_a_hundred() {
    // Of 300 pairs 15 are expected with a standard deviation of 3.8.
    for (pairing, pairs, expected) in [
        (Pairing::CrossAgain, 1000, 40..=60),
        (Pairing::OtherLength, 300, 8..=22),
    ] {
        let called = (0..pairs)
            .filter(|number| Pair::new(*number, pairing, 0.0).is_called_a_change())
            .count();
        let name = pairing.name();
        assert!(expected.contains(&called), "{name}: {called} of {pairs}");
    }
}

#[test]
fn a_floor_that_sinks_is_seen() {
    let pairs = 60;
    for pairing in [Pairing::Again, Pairing::CrossElsewhere] {
        let called = (0..pairs)
            .filter(|number| Pair::new(*number, pairing, 40e-6).is_called_a_change())
            .count();
        assert!(called >= 57, "{}: {called} of {pairs}", pairing.name());
    }
}

#[test]
fn a_pass_against_itself_has_not_changed() {
    let survey = lathe();
    let pass = adjusted(&survey, 2);
    let change = Change::between(&pass, &pass).unwrap();
    assert!(
        change.chi_square < 1e-9 && change.freedom > 30,
        "{change:?}"
    );
}

/// A level that is set anew, or a bed that leans as a whole, adds the same to every reading of a line.
#[test]
fn zero_errors_and_lean_are_no_change() {
    let survey = lathe();
    let mut leaning = survey.clone();
    for reading in &mut leaning.passes[3].readings {
        let lean = if reading.line == Line::Cross {
            2.0
        } else {
            -3.0
        };
        if let Entry::Read(seen) = &mut reading.entry {
            for value in seen {
                *value += lean;
            }
        }
    }
    let before = adjusted(&survey, 2);
    let upright = Change::between(&before, &adjusted(&survey, 3)).unwrap();
    let leaning = Change::between(&before, &adjusted(&leaning, 3)).unwrap();
    assert_eq!(upright.freedom, leaning.freedom);
    approx::assert_relative_eq!(upright.chi_square, leaning.chi_square, max_relative = 1e-6);
}

#[test]
fn the_sinking_floor_is_found_with_its_foot_and_its_time() {
    let survey = lathe();
    let seen = Settlement::of(&survey, 4, None).unwrap();
    assert_eq!(seen.passes, [0, 1, 2, 3, 4]);
    let kinds: Vec<StepKind> = seen.steps.iter().map(|step| step.kind).collect();
    let [pulled, settled] = [StepKind::AnchorsPulledDown, StepKind::Settled];
    assert_eq!(kinds, [pulled, settled, settled, settled]);
    // The anchors are a question of their own: time is counted from when they had been pulled down.
    let whole = seen.whole.unwrap();
    assert_eq!((whole.from, whole.to), (1, 4));
    assert!(whole.has_changed());

    let [sinking] = seen.sinking.as_slice() else {
        panic!("{:?}", seen.sinking);
    };
    assert_eq!(survey.feet[sinking.foot].name, "R4");
    // From day 0.1 to day 49: 0.06 mm (exp(-0.1/12) - exp(-49/12)).
    let sank = 60e-6 * ((-0.1_f64 / 12.0).exp() - (-49.0_f64 / 12.0).exp());
    assert!(
        (sinking.rise.value + sank).abs() < 1.5 * sinking.rise.u95,
        "{sinking:?}"
    );

    let approach = seen.approach.unwrap();
    let [low, high] = approach.interval;
    assert!((low..=high).contains(&12.0), "{approach:?}");
}

#[test]
fn the_rate_is_that_of_the_first_week() {
    let survey = lathe();
    let seen = Settlement::of(&survey, 2, Some(1)).unwrap();
    let watched = seen.watched.unwrap();
    assert!((watched - 6.875).abs() < 1e-12, "{watched}");
    let (_, twist) = seen
        .rates
        .iter()
        .find(|(quantity, _)| *quantity == Quantity::Twist)
        .unwrap();
    assert!(twist.is_real() && twist.per_week.value > 0.0, "{twist:?}");
    assert_eq!(seen.approach, Err(NoApproach::TooFewPasses { passes: 2 }));
}

#[test]
fn turned_feet_part_the_passes() {
    let mut survey = lathe();
    survey.passes[2].turned = Some([(0, 0.25)].into());
    assert_eq!(still_passes(&survey, 4), [3, 4]);
    // Nothing turned is recorded as well.
    survey.passes[3].turned = Some([(0, 0.0)].into());
    assert_eq!(still_passes(&survey, 4), [3, 4]);
    let alone = Settlement::of(&survey, 4, Some(4));
    assert_eq!(alone, Err(NoSettlement::NothingToCompare));
}

#[test]
fn a_bed_at_rest_is_left_alone_for_longer() {
    let mut survey = lathe();
    // The same pass again, four weeks later.
    survey.passes[4].readings = survey.passes[3].readings.clone();
    let seen = Settlement::of(&survey, 4, Some(3)).unwrap();
    assert!(!seen.steps[0].has_changed());
    assert!(seen.sinking.is_empty());
    assert_eq!(seen.again, Again::Month);
}

/// Values that approach their end exactly.
#[test]
fn an_exact_approach_is_found() {
    let trace = |days: &[f64], deviation: f64| Trace {
        quantity: Quantity::Twist,
        values: days
            .iter()
            .map(|day| Figure::normal(10.0 - 8.0 * (-day / 9.0).exp(), deviation))
            .collect(),
        places: Vec::new(),
    };
    let days = [0.0, 4.0, 10.0, 20.0, 40.0];
    let found = Approach::of(&days, &[trace(&days, 0.05)]).unwrap();
    // The grid goes in steps of 4.3 %.
    assert!((found.time / 9.0 - 1.0).abs() < 0.03, "{found:?}");
    let (_, to_come) = found.to_come[0];
    assert!(
        (to_come.value - 8.0 * (-40.0_f64 / 9.0).exp()).abs() < to_come.u95,
        "{to_come:?}"
    );
    // Watched while it still runs as good as straight, no end can be seen.
    let early = [0.0, 0.5, 1.0, 1.5];
    let short = Approach::of(&early, &[trace(&early, 0.05)]);
    assert_eq!(short, Err(NoApproach::NoEndInSight));
    let rough = Approach::of(&days, &[trace(&days, 50.0)]);
    assert_eq!(rough, Err(NoApproach::NothingMoved));
}

#[test]
fn dates_with_and_without_a_clock() {
    let date = |text: &str| text.parse::<toml::value::Datetime>().unwrap();
    let days = |from: &str, to: &str| days_between(&date(from), &date(to));
    assert_eq!(days("2026-03-02", "2026-03-09"), Some(7.0));
    assert_eq!(
        days("2026-03-02T12:00:00+02:00", "2026-03-02T12:00:00Z"),
        Some(2.0 / 24.0)
    );
    assert_eq!(
        days("2026-03-02T12:00:00+02:00", "2026-03-09T12:00:00"),
        None
    );
}
