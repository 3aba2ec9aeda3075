//! Whether the geometry may be believed: intervals hold the truth as often as they say, clean passes are
//! left alone, and a swapped letter is found. `examples/coverage.rs` counts the same on more passes.

#[path = "made_up/mod.rs"]
mod made_up;

use std::thread;

use made_up::slips::slip_in;
use made_up::tally::{Coverage, Share};
use made_up::walk::Walk;
use made_up::{Case, Form};
use quarterturn::geometry::{BedShape, Evidence, GlobalTest, ReferenceLine, Slip, Suspects};

/// Passes of each kind; a share of 95 % of them is then known to about 1 %.
const PASSES: u64 = 600;

/// What every one of the first passes gives, worked out on two cores.
fn each<T: Send>(walk: Walk, passes: u64, one: impl Fn(Case) -> T + Sync) -> Vec<T> {
    let half = passes / 2;
    let one = &one;
    let part = |from: u64, to: u64| -> Vec<T> {
        (from..to)
            .map(|number| one(Case::new(number, walk)))
            .collect()
    };
    thread::scope(|scope| {
        let second = scope.spawn(move || part(half, passes));
        let mut all = part(0, half);
        all.extend(second.join().expect("no pass panics"));
        all
    })
}

fn coverage(walk: Walk) -> Coverage {
    let mut all = Coverage::default();
    let each = each(walk, PASSES, |case| {
        let mut coverage = Coverage::default();
        if let Some(adjustment) = case.adjusted() {
            coverage.add(
                &case.bed,
                &BedShape::of(&adjustment, ReferenceLine::EndPoints),
            );
        }
        coverage
    });
    for one in &each {
        all.join(one);
    }
    all
}

fn assert_honest(walk: Walk) {
    let coverage = coverage(walk);
    let shares = [
        ("heights", &coverage.heights),
        ("twist", &coverage.twist),
        ("crown", &coverage.crown),
        ("straightness", &coverage.straightness),
    ];
    for (figure, share) in shares {
        if share.of > 0 {
            assert!(
                (93.0..=97.0).contains(&share.per_cent()),
                "{figure}, {}: {} of {} intervals hold the truth",
                walk.name(),
                share.held,
                share.of
            );
        }
    }
}

#[test]
fn intervals_of_a_closed_survey_hold_the_truth() {
    assert_honest(Walk::Chained);
}

#[test]
fn intervals_with_cross_stations_in_the_spans_hold_the_truth() {
    assert_honest(Walk::ChainedShared);
}

#[test]
fn intervals_over_gaps_hold_the_truth() {
    assert_honest(Walk::Gapped);
}

#[test]
fn intervals_hold_the_truth_whatever_is_missing() {
    assert_honest(Walk::Holed);
}

#[test]
fn intervals_of_cross_readings_alone_hold_the_truth() {
    assert_honest(Walk::CrossOnly);
}

#[test]
fn clean_passes_are_left_alone() {
    for walk in Walk::ALL {
        let mut suspected = Share::default();
        for found in each(walk, PASSES / 3, |case| {
            let adjustment = case.adjusted()?;
            Some(Suspects::of(&adjustment).suspect().is_some())
        }) {
            suspected.count(found.unwrap_or(false));
        }
        assert!(
            suspected.per_cent() <= 5.0,
            "{}: {} of {} clean passes suspected",
            walk.name(),
            suspected.held,
            suspected.of
        );
    }
}

/// Ways that are rough by 3 um from station to station are rough, and no reading of them is wrong.
#[test]
fn rough_ways_accuse_no_reading() {
    let mut suspected = Share::default();
    for number in 0..PASSES / 2 {
        let case = Case::formed(number, Walk::Chained, Form::Rough(3e-6), 1.0);
        let adjustment = case.adjusted().expect("something was read");
        let suspects = Suspects::of(&adjustment);
        assert!(suspects.rough.is_none() || suspects.found.is_empty());
        suspected.count(suspects.suspect().is_some());
    }
    assert!(
        suspected.of > 250 && suspected.per_cent() <= 5.0,
        "{} of {} clean passes suspected",
        suspected.held,
        suspected.of
    );
}

/// One cross reading stands out, and no other reading speaks of that place: it is called rough.
#[test]
fn nothing_but_smoothness_accuses_nobody() {
    let mut case = Case::new(3, Walk::CrossOnly);
    case.pass.readings[4].entry = quarterturn::survey::Entry::Read(vec![40.0]);
    let suspects = Suspects::of(&case.adjusted().expect("nine readings"));
    assert!(suspects.found.is_empty());
    assert_eq!(suspects.rough.map(|rough| rough.reading), Some(4));
}

/// A bed far out, as it is when it is first read: what left the scale falls short on one side only.
#[test]
fn clean_passes_that_leave_the_scale_are_left_alone() {
    for walk in Walk::ALL {
        let mut suspected = Share::default();
        for end in [3.0, 6.0, 10.0] {
            let found = each(walk, PASSES / 4, |mut case| {
                let beyond = case.read_on_scale(end);
                let adjustment = case.adjusted().filter(|_| beyond > 0)?;
                Some(Suspects::of(&adjustment).suspect().is_some())
            });
            for found in found.into_iter().flatten() {
                suspected.count(found);
            }
        }
        assert!(
            suspected.of > 150 && suspected.per_cent() <= 5.0,
            "{}: {} of {} clean passes suspected",
            walk.name(),
            suspected.held,
            suspected.of
        );
    }
}

#[test]
fn the_global_test_fails_clean_passes_as_rarely_as_it_says() {
    let mut failed = Share::default();
    for walk in [Walk::Chained, Walk::ChainedShared] {
        for test in each(walk, PASSES, |case| case.adjusted()?.global_test()) {
            failed.count(!test.as_ref().is_some_and(GlobalTest::passes));
        }
    }
    // One in twenty of 1200, give or take three standard deviations.
    assert!(
        (3.1..=6.9).contains(&failed.per_cent()),
        "{} of {} clean passes failed",
        failed.held,
        failed.of
    );
}

/// How many slips of a kind were found at the right reading, and how many rightly named as well.
fn found(walk: Walk, slip: Slip) -> (Share, Share) {
    let (mut found, mut named) = (Share::default(), Share::default());
    for suspect in each(walk, PASSES / 3, |mut case| {
        let spoiled = slip_in(&mut case.pass, slip, &mut case.generator)?;
        let suspects = Suspects::of(&case.adjusted()?);
        let suspect = suspects.suspect().copied();
        Some(suspect.filter(|suspect| spoiled.contains(&suspect.reading)))
    })
    .into_iter()
    .flatten()
    {
        found.count(suspect.is_some());
        named.count(suspect.is_some_and(|suspect| suspect.slip == slip));
    }
    (found, named)
}

#[test]
fn a_swapped_letter_is_found_and_named() {
    let (found, named) = found(Walk::Chained, Slip::Side);
    for (what, share) in [("found", &found), ("named", &named)] {
        assert!(
            share.of > 100 && share.per_cent() >= 95.0,
            "{} of {} swapped letters {what}",
            share.held,
            share.of
        );
    }
}

#[test]
fn ten_divisions_too_many_are_found() {
    let (found, _) = found(Walk::Chained, Slip::TenDivisions);
    assert!(
        found.per_cent() >= 95.0,
        "{} of {} found",
        found.held,
        found.of
    );
}

#[test]
fn a_level_turned_between_the_lines_is_found() {
    let (found, named) = found(Walk::Chained, Slip::TurnedBetweenLines);
    assert!(
        found.per_cent() >= 95.0,
        "{} of {} found",
        found.held,
        found.of
    );
    assert!(
        named.per_cent() >= 95.0,
        "{} of {} named",
        named.held,
        named.of
    );
}

/// Three readings say nothing about each other.
#[test]
fn what_cannot_be_checked_is_said() {
    let mut case = Case::new(1, Walk::CrossOnly);
    case.pass.readings.truncate(3);
    let suspects = Suspects::of(&case.adjusted().expect("three readings"));
    assert_eq!(suspects.evidence, Evidence::Nothing);
    assert!(suspects.found.is_empty());

    let alone = Case::new(1, Walk::CrossOnly);
    let suspects = Suspects::of(&alone.adjusted().expect("nine readings"));
    assert_eq!(suspects.evidence, Evidence::Smoothness);
    let closed = Case::new(1, Walk::Chained);
    let suspects = Suspects::of(&closed.adjusted().expect("closed loops"));
    assert_eq!(suspects.evidence, Evidence::Closure);
}
