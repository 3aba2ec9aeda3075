//! Whether the geometry may be believed: intervals hold the truth as often as they say, clean passes are
//! left alone, and a swapped letter is found. `examples/coverage.rs` counts the same on more passes.

use std::thread;

use crate::made_up::slips::slip_in;
use crate::made_up::tally::{Coverage, Share};
use crate::made_up::walk::Walk;
use crate::made_up::{Case, Form};
use quarterturn::geometry::{BedShape, Evidence, Passes, ReferenceLine, Slip, Suspects};
use quarterturn::plan::{Advice, plan};
use quarterturn::response::History;
use quarterturn::settle::Settlement;
use quarterturn::survey::{self, AimShape, Entry, Level, Line, Reading, Survey};

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

/// What clean passes of a kind show.
#[derive(Default)]
struct Clean {
    coverage: Coverage,
    /// Passes whose readings were said not to fit each other.
    failed: Share,
    /// Of every third pass, whether a reading was suspected.
    suspected: Share,
}

fn clean(walk: Walk) -> Clean {
    let seen = each(walk, PASSES, |case| {
        let adjustment = case.adjusted()?;
        let mut coverage = Coverage::default();
        let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
        coverage.add(&case.bed, &shape);
        let failed = adjustment.global_test().map(|test| !test.passes());
        let looked_at = case.number % 3 == 0;
        let suspected = looked_at.then(|| Suspects::of(&adjustment).suspect().is_some());
        Some((coverage, failed, suspected))
    });
    let mut clean = Clean::default();
    for (coverage, failed, suspected) in seen.into_iter().flatten() {
        clean.coverage.join(&coverage);
        failed.inspect(|failed| clean.failed.count(*failed));
        suspected.inspect(|suspected| clean.suspected.count(*suspected));
    }
    clean
}

/// Intervals hold the truth, the global test fails as rarely as it says, and no reading is suspected.
fn assert_honest(walk: Walk) {
    let Clean {
        coverage,
        failed,
        suspected,
    } = clean(walk);
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
    let of = |share: &Share| format!("{}: {} of {}", walk.name(), share.held, share.of);
    assert!(
        suspected.of > 150 && suspected.per_cent() <= 5.0,
        "suspected, {}",
        of(&suspected)
    );
    // One in twenty of 600 at most, give or take three standard deviations; of closed surveys no fewer either.
    let least = if walk == Walk::Chained { 2.3 } else { 0.0 };
    let rarely = |share: &Share| (least..=7.7).contains(&share.per_cent());
    assert!(failed.of == 0 || rarely(&failed), "failed, {}", of(&failed));
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

/// Who states half of how the level truly scatters is mostly found out where there are loops enough.
#[test]
fn intervals_of_an_understated_scatter_nearly_hold_the_truth() {
    let mut all = Coverage::default();
    for number in 0..PASSES {
        let case = Case::formed(number, Walk::Chained, Form::AsItStands, 0.5);
        let adjustment = case.adjusted().expect("something was read");
        let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
        all.add(&case.bed, &shape);
    }
    for share in all.by_interval.iter().chain([&all.heights]) {
        // 93 of 100, less two standard deviations of 600 passes.
        assert!(share.per_cent() >= 91.0, "{} of {}", share.held, share.of);
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
    case.pass.readings[4].entry = Entry::Read(vec![40.0]);
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

/// A survey of one pass of a made-up walk, on eight feet.
fn survey_of(case: &Case) -> Survey {
    let mut survey = survey::read(include_str!("../../demo-data/eight-foot-lathe.toml"))
        .expect("the demo survey is right");
    survey.bed.length = case.bed.length;
    survey.bed.way_spacing = case.bed.spacing;
    let last = survey.feet.iter().map(|foot| foot.at).fold(0.0, f64::max);
    for foot in &mut survey.feet {
        foot.at *= 0.95 * case.bed.length / last;
    }
    survey.levels = [(case.level.name.clone(), case.level.clone())].into();
    survey.passes = vec![case.pass.clone()];
    survey
}

/// The bubble is at the end of its scale everywhere across: how far beyond, nobody has seen.
fn all_across_off_scale(walk: Walk) -> Case {
    let mut case = Case::formed(5, walk, Form::AsItStands, 1.0);
    case.level.range = Some(10.0);
    for reading in &mut case.pass.readings {
        if reading.line == Line::Cross {
            reading.entry = Entry::OffScale(10.0);
        }
    }
    case
}

#[test]
fn what_rests_on_bubbles_off_the_scale_alone_is_unknown() {
    for walk in [Walk::CrossOnly, Walk::Chained] {
        let case = all_across_off_scale(walk);
        let shape = BedShape::of(
            &case.adjusted().expect("something was read"),
            ReferenceLine::EndPoints,
        );
        assert!(shape.cross.is_empty(), "{}: {:?}", walk.name(), shape.cross);
        assert_eq!(shape.twist, None, "{}", walk.name());
        // Beyond ten divisions everywhere on one side, the bed may be as straight as it likes.
        assert_eq!(shape.least_twist, None, "{}", walk.name());
        assert_eq!(
            shape.ways().count(),
            if walk == Walk::Chained { 2 } else { 0 }
        );
    }
}

/// Across is 9 of 49 readings and cannot be read at all: a strip of 0.05 mm at least under the rear block takes the end of a
/// scale of ten divisions to its middle (height = 10 divisions times the way spacing), and nothing is watched where no bubble is.
#[test]
fn the_way_back_onto_the_scale_stands_first() {
    for walk in [Walk::CrossOnly, Walk::Chained] {
        let case = all_across_off_scale(walk);
        let mut survey = survey_of(&case);
        let found = plan(&survey, 0).expect("a plan");
        let Advice::PackLevel { line, height } = &found.advice[0] else {
            panic!("{}: {:?}", walk.name(), found.advice)
        };
        let exact = 10.0 * case.level.division * case.bed.spacing;
        assert_eq!(*line, Line::Cross, "{}", walk.name());
        // Under the rear block, negative.
        assert!(
            (exact..exact + 0.05e-3).contains(&-height),
            "{height} for {exact}"
        );
        assert_eq!(
            found.predicted.twist.is_none(),
            walk == Walk::CrossOnly,
            "{:?}",
            found.predicted
        );
        let mut watched = found.lines.iter().filter_map(|line| line.watch);
        assert!(watched.all(|watch| watch.line != Line::Cross));
        assert!(found.looks.iter().all(|look| look.line != Line::Cross));

        let coarse = Level {
            name: "coarse".into(),
            division: 5.0 * case.level.division,
            ..case.level.clone()
        };
        survey.levels.insert("coarse".into(), coarse);
        let found = plan(&survey, 0).expect("a plan");
        let coarser = Advice::CoarserLevel {
            name: Some("coarse".into()),
        };
        assert_eq!(found.advice[0], coarser, "{}", walk.name());
        if walk == Walk::CrossOnly {
            assert!(found.lines.iter().all(|line| line.lift == 0.0));
        }
    }
}

/// No interval may end on the far side of a bubble that was off its scale: there it has no end at all, or one that
/// closed loops of other readings tell.
#[test]
fn a_reading_off_the_scale_bounds_from_one_side() {
    let (mut open, mut twists) = (0, Share::default());
    for number in 0..PASSES {
        let mut case = Case::new(number, Walk::CrossOnly);
        if case.read_on_scale(4.0) == 0 {
            continue;
        }
        let adjustment = case.adjusted().expect("something was read");
        let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
        for row in adjustment.open_ended(Line::Cross) {
            open += 1;
            assert!(
                shape
                    .cross
                    .iter()
                    .all(|slope| (slope.at - row.at).abs() > 1e-9),
                "pass {number}"
            );
        }
        let beyond = !adjustment.open_ended(Line::Cross).is_empty();
        if let Some(twist) = shape.twist {
            assert_eq!(twist.high.is_infinite(), beyond, "pass {number}: {twist:?}");
            assert!(twist.low <= twist.value && twist.value <= twist.high);
            let truth = case.pass.readings.iter();
            let truth: Vec<f64> = truth
                .map(|r| case.bed.slope(Line::Cross, r.at, 0.0))
                .collect();
            let most = truth.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let range = most - truth.iter().copied().fold(f64::INFINITY, f64::min);
            twists.count(twist.low <= range && range <= twist.high);
        }
    }
    assert!(
        open > 300 && twists.of > 150 && twists.per_cent() >= 93.0,
        "{open}, {} of {}",
        twists.held,
        twists.of
    );
}

/// The demo's first pass on a bed that is to be level, leaning to the front by so many divisions more than it does.
fn to_be_level(leaning: f64, reversed: bool) -> Survey {
    let mut survey = survey::read(include_str!("../../demo-data/eight-foot-lathe.toml"))
        .expect("the demo survey is right");
    survey.aim.shape = AimShape::Level;
    survey.passes.truncate(1);
    let readings = &mut survey.passes[0].readings;
    readings.retain(|reading| reversed || !reading.reversed);
    for reading in readings {
        if let (Line::Cross, Entry::Read(seen)) = (reading.line, &mut reading.entry) {
            for seen in seen.iter_mut() {
                *seen += leaning;
            }
        }
    }
    for level in survey.levels.values_mut() {
        level.range = None;
    }
    survey
}

/// A level that nobody reversed is wrong by a few divisions; a lean of thirty is the bed's, and is taken out.
#[test]
fn a_lean_of_thirty_divisions_is_taken_out_before_the_level_is_reversed() {
    for leaning in [30.0, -30.0] {
        let survey = to_be_level(leaning, false);
        let found = plan(&survey, 0).expect("a plan");
        let first = Advice::ReverseOnce {
            across: true,
            along: true,
        };
        assert_eq!(found.advice[0], first);
        let history = History::of(&survey, 0).expect("it can be learned from");
        let places = history.places().len();
        let changes: Vec<f64> = history
            .cross_places()
            .iter()
            .filter_map(|at| history.place(*at))
            .map(|place| {
                (found.moved[place] - found.moved[places + place]) / survey.bed.way_spacing
            })
            .collect();
        let change = changes.iter().sum::<f64>() / changes.len() as f64;
        // The demo's bed leans by 0.5 divisions to the front as it is.
        let wanted = -(leaning + 0.5) * 2e-5;
        assert!(
            (change - wanted).abs() < 2.0 * 2e-5,
            "{change} for {wanted}"
        );
    }
    let known = plan(&to_be_level(0.0, true), 0).expect("a plan");
    let across = |advice: &Advice| matches!(advice, Advice::ReverseOnce { across: true, .. });
    assert!(!known.advice.iter().any(across));
}

/// A straight bed 3 m long and 600 mm high, read along both ways from `first` to `last` station of 200 mm with a level of
/// 0.001 mm/m, while its top is warmer than its underside by `kelvin` and bends it with an expansion of 11.25 e-6/K.
fn warm_bed(kelvin: f64, stations: std::ops::Range<u32>) -> Survey {
    let mut survey = survey::read(include_str!("../../demo-data/eight-foot-lathe.toml"))
        .expect("the demo survey is right");
    survey.bed.length = 3.0;
    survey.machine.bed_height = Some(0.6);
    survey.limits.crown = Some([-20e-6, 20e-6]);
    let level = survey.levels.values_mut().next().expect("one level");
    level.division = 1e-6;
    level.range = None;
    survey.passes.truncate(1);
    let pass = &mut survey.passes[0];
    pass.conditions.temperature.top = Some(20.0 + kelvin);
    pass.conditions.temperature.below = Some(20.0);
    let curvature = 11.25e-6 * kelvin / 0.6;
    let reading = |line, station: u32| {
        let at = 0.1 + 0.2 * f64::from(station);
        let slope = if line == Line::Cross {
            0.0
        } else {
            -curvature * (at - 1.5)
        };
        Reading {
            line,
            reversed: false,
            at,
            entry: Entry::Read(vec![(slope / 1e-6 * 4.0).round() / 4.0]),
        }
    };
    let lines = [Line::Cross, Line::Front, Line::Rear].into_iter();
    let read = lines.flat_map(|line| stations.clone().map(move |station| reading(line, station)));
    pass.readings = read.collect();
    survey
}

/// Source: a bed warmer on top by dT bows by alpha dT L2 / 8h over what is read (derived); cast iron 10.5 to 12 e-6/K, so that
/// 3 m, 0.6 m, 1 K give 0.0197 to 0.0225 mm, and half of the bed a quarter of it.
#[test]
fn a_warm_top_is_taken_off_the_shape_and_said() {
    for (kelvin, stations, [least, most]) in [
        (1.0, 0..15, [19.7e-6, 22.5e-6]),
        (-1.0, 0..15, [-22.5e-6, -19.7e-6]),
        (2.0, 0..10, [17.5e-6, 20.0e-6]),
    ] {
        let survey = warm_bed(kelvin, stations.clone());
        let passes = Passes::of(&survey);
        let told = passes.told(0).expect("it was read");
        let bow = told.adjustment.bow().expect("both temperatures were felt");
        assert!(
            (bow.low - least).abs() < 0.06e-6 && (bow.high - most).abs() < 0.06e-6,
            "{bow:?}"
        );
        for way in told.shape().ways() {
            let crown = way.crown.expect("a whole way");
            assert!(crown.value.abs() < 0.5e-6, "{kelvin} K: {crown:?}");
            // What is not known of the expansion is not known of the bed.
            let size = crown.high.max(-crown.low);
            assert!(size > 0.9 * (most - least) / 2.0, "{kelvin} K: {crown:?}");
        }
        let found = plan(&survey, 0).expect("a plan");
        assert!(found.lines.iter().all(|line| line.lift == 0.0));
        let said = found.advice.iter().find_map(|advice| match advice {
            Advice::Warm {
                top_over_below,
                bow,
                ..
            } => top_over_below.zip(*bow),
            _ => None,
        });
        let (felt, taken_off) = said.expect("it is said");
        // The plan reckons from another end of the bed, so the last digit may differ.
        assert!((felt - kelvin).abs() < 1e-9);
        assert!((taken_off.value - bow.value).abs() < 1e-12);
        assert!((taken_off.u95 - bow.u95).abs() < 1e-12);

        // As read, it is a bed that crowns or sags by just that.
        let mut unfelt = survey.clone();
        unfelt.passes[0].conditions.temperature.top = None;
        let unfelt = Passes::of(&unfelt);
        let told = unfelt.told(0).expect("it was read");
        let crown = told.shape().front.as_ref();
        let crown = crown.and_then(|way| way.crown).expect("a whole way").value;
        assert!((least..most).contains(&crown), "{crown}");
    }
    let little = plan(&warm_bed(0.4, 0..15), 0).expect("a plan");
    let warm = |advice: &Advice| matches!(advice, Advice::Warm { .. });
    assert!(!little.advice.iter().any(warm), "thermometers tell no less");
}

/// The same bed cold and warm has not moved, no floor came up, and no rate is told of it.
#[test]
fn a_bed_that_only_grew_warm_has_not_settled() {
    let mut survey = warm_bed(0.0, 0..15);
    let warm = warm_bed(1.5, 0..15).passes.remove(0);
    survey.passes.push(warm);
    survey.passes[0].taken = "2026-03-02T09:00:00".parse().ok();
    survey.passes[1].taken = "2026-03-09T09:00:00".parse().ok();
    survey.passes[0].turned = Some([].into());
    let seen = Settlement::of(&survey, 1, None).expect("two passes");
    let step = &seen.steps[0];
    assert!(!step.has_changed(), "{:?}", step.change);
    assert!(seen.sinking.is_empty());
    assert!(!seen.rates.is_empty() && seen.rates.iter().all(|(_, rate)| !rate.is_real()));
    let crown = step.warmth.crown.expect("the height is known");
    // 1.5 times 21.1 um.
    assert!((crown.value - 31.6e-6).abs() < 0.1e-6, "{crown:?}");
}
