//! What moved by itself: the joint test on made-up beds, and a rehearsed machine whose floor is known.

use std::fs;

use crate::made_up::pairs::{Pair, Pairing};
use crate::made_up::places::Places;
use quarterturn::geometry::{Adjustment, Figure};
use quarterturn::settle::stretch::{days_between, still_passes};
use quarterturn::settle::trace::{Quantity, Trace};
use quarterturn::settle::{
    Again, Approach, Change, Moved, NoApproach, NoSettlement, Settlement, StepKind,
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

/// At the same stations there is nothing to know but the readings: the difference of two passes that were adjusted
/// each by itself, with both their uncertainties.
#[test]
fn at_the_same_stations_the_movement_is_the_difference_of_the_readings() {
    for pairing in [Pairing::CrossAgain, Pairing::Again] {
        let mut places = Places::default();
        for number in 0..20 {
            places.add(&Pair::new(number, pairing, 20e-6));
        }
        assert!(places.widths.len() > 150, "{}", places.widths.len());
        let mut widths = places.widths.iter().chain(&places.widths_of_figures);
        assert!(widths.all(|width| (width - 1.0).abs() < 1e-6));
        assert!(places.farthest < 1e-5, "{}", places.farthest);
    }
}

/// The bed between the stations is the same one in both passes: counted once, not twice as of two beds.
#[test]
fn intervals_of_place_changes_hold_what_changed() {
    let of = |make: &dyn Fn(u64) -> Pair| {
        let mut places = Places::default();
        for number in 0..200 {
            places.add(&make(number));
        }
        places
    };
    let other = Pairing::OtherLength;
    let still = of(&|number| Pair::new(number, other, 0.0));
    let sunk = of(&|number| Pair::new(number, other, 20e-6));
    let twisted = of(&|number| Pair::twisted(number, Pairing::OtherLevel, 2.0));
    for (name, places) in [("still", &still), ("sunk", &sunk), ("twisted", &twisted)] {
        for (what, share) in [("across", &places.cross), ("along", &places.heights)] {
            let held = share.per_cent();
            assert!((93.0..=98.0).contains(&held), "{name}, {what}: {held} %");
        }
    }
    let width = Places::median(&still.widths);
    assert!(width < 0.85, "{width}");
}

#[test]
fn a_movement_the_other_way_round_is_its_opposite() {
    for number in 0..5 {
        let pair = Pair::new(number, Pairing::OtherLength, 20e-6);
        let there = Moved::between(&pair.compared().unwrap());
        let back = Moved::between(&pair.turned_about().compared().unwrap());
        assert_eq!(there.len(), 3);
        for (there, back) in there.iter().zip(&back) {
            let near = |a: f64, b: f64| (a - b).abs() < 1e-4 * there.change.u95;
            assert!(near(there.change.value, -back.change.value), "{number}");
            assert!(near(there.change.u95, back.change.u95), "{number}");
            for (there, back) in there.places.iter().zip(&back.places) {
                let near = |a: f64, b: f64| (a - b).abs() < 1e-4 * there.u95;
                assert!(near(there.change, -back.change) && near(there.u95, back.u95));
            }
        }
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

/// Two passes 60 days apart of a bed of 3 m, read to 0.001 mm/m across every 250 mm from 250 to 2750 mm and end to
/// end along the front way from 100 to 2900 mm: evenly twisted by so much a metre (mm/m), crowned by so much (mm).
fn drifting(twists: [f64; 2], crowns: [f64; 2], rest: &str) -> Survey {
    let reading = |slope: f64, [up, down]: [&str; 2]| {
        let divisions = slope * 1000.0;
        let letter = if divisions < 0.0 { down } else { up };
        format!("\"{}{letter}\"", divisions.abs())
    };
    let passes: Vec<String> = [("2026-05-01", 0), ("2026-06-30", 1)]
        .into_iter()
        .map(|(taken, k)| {
            let across: Vec<f64> = (1..12).map(|k| 0.25 * f64::from(k)).collect();
            let along: Vec<f64> = (1..15).map(|k| 0.2 * f64::from(k)).collect();
            // The slope of the chord of a parabola is that of its middle.
            let slope = |at: &f64| -2.0 * crowns[k] * (at - 1.5) / 1.4_f64.powi(2);
            let cross: Vec<String> = across
                .iter()
                .map(|at| reading(twists[k] * at, ["F", "R"]))
                .collect();
            let front: Vec<String> = along
                .iter()
                .map(|at| reading(slope(at), ["T", "H"]))
                .collect();
            let millimetres =
                |at: Vec<f64>| -> Vec<f64> { at.iter().map(|at| at * 1000.0).collect() };
            format!(
                "[[pass]]\ntaken = {taken}\ncross_at = {:?}\ncross = [{}]\nfront_at = {:?}\nfront = [{}]\n",
                millimetres(across),
                cross.join(", "),
                millimetres(along),
                front.join(", ")
            )
        })
        .collect();
    let text = format!(
        "format = 1\n[bed]\nlength = 3000\nway_spacing = 400\n[feet]\nat = [100, 1000, 2000, 2900]\n\
         lift_per_turn = 1.5\n[level.fine]\ndivision = \"0.001 mm/m\"\nbase = 200\nrepeat = 0.1\n{rest}\n{}",
        passes.concat()
    );
    survey::read(&text)
        .unwrap_or_else(|mistakes| panic!("{}", survey::render(&mistakes, "survey", &text, false)))
}

fn again(survey: &Survey) -> Again {
    Settlement::of(survey, 1, None).unwrap().again
}

/// The cross slope ranges over 0.045 mm/m, then 0.05: 0.005 in 60 days, or 0.000583 a week. Half of what is left
/// to the limit of 0.04 mm/m may be used up.
#[test]
fn when_to_look_again_is_told_from_the_chosen_twist() {
    let twisting = |aim: &str| {
        let limits = format!("[limits]\ntwist = \"0.04 mm/m\"\n{aim}");
        again(&drifting([0.018, 0.020], [0.0; 2], &limits))
    };
    // Nothing is chosen: 0.05 is outside already.
    assert_eq!(twisting(""), Again::Soon);
    // 0.06 over 3 m is 0.05 over the stations: all of 0.04 is left, half of it for 34 weeks.
    assert_eq!(twisting("[aim]\ntwist = \"0.06 mm/m\""), Again::HalfYear);
    // 0.025 away from it 0.015 is left, half of it for 13 weeks.
    assert_eq!(twisting("[aim]\ntwist = \"0.03 mm/m\""), Again::Month);
    // The other way round it is farther outside.
    assert_eq!(twisting("[aim]\ntwist = \"-0.06 mm/m\""), Again::Soon);
}

/// The crown comes up from 0.018 to 0.02 mm in 60 days, by 0.000233 a week. Straight within 0.016 mm is allowed.
#[test]
fn when_to_look_again_is_told_from_the_chosen_crown() {
    let crowning = |rest: &str| {
        let limits = format!("[limits]\nstraightness = 0.016\n{rest}");
        again(&drifting([0.0; 2], [0.018, 0.020], &limits))
    };
    assert_eq!(crowning(""), Again::Soon);
    // All of 0.016 is left, half of it for 34 weeks.
    assert_eq!(crowning("[aim]\ncrown = 0.02"), Again::HalfYear);
    // 0.008 away from it 0.008 is left, half of it for 17 weeks.
    assert_eq!(crowning("[aim]\ncrown = 0.012"), Again::Month);
}

/// Of that crown over 2.8 m a part of 500 mm, read over 400 mm, shows 0.02 (0.4 / 2.8)² = 0.000408 mm.
#[test]
fn when_to_look_again_is_told_from_any_part_of_the_bed() {
    let crowning = |height: f64| {
        let limits = format!("[limits]\nlocal = {{ over = 500, height = {height} }}\n");
        again(&drifting([0.0; 2], [0.018, 0.020], &limits))
    };
    assert_eq!(crowning(0.0003), Again::Soon);
    // 0.000233 (0.5 / 2.8)² = 0.0000074 mm a week: half of 0.00019 goes in 13 weeks, half of 0.0016 in two years.
    assert_eq!(crowning(0.0006), Again::Month);
    assert_eq!(crowning(0.002), Again::HalfYear);
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
