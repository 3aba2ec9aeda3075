//! Loops that close and loops that do not, readings off the scale, and what would settle a verdict.

use std::collections::BTreeMap;

use crate::made_up::Case;
use crate::made_up::tally::Share;
use crate::made_up::walk::Walk;
use approx::assert_abs_diff_eq;
use quarterturn::geometry::{
    Adjustment, BedShape, Closure, Evidence, Forecast, ReferenceLine, Remedy, Slip, Stations,
    Subject, Suspects, Verdict, ZeroError, forecast, settling,
};
use quarterturn::survey::{self, AimShape, Entry, Level, Limits, Line, LocalLimit, Pass, Reading};

const DIVISION: f64 = 2e-5;
const SPACING: f64 = 0.4;

/// A survey of a machine and nothing else.
const BARE_SURVEY: &str = "format = 1\n[bed]\nlength = 1000\nway_spacing = 400\n[feet]\nat = [100, 900]\nlift_per_turn = 1.5\n";

fn level() -> Level {
    Level {
        name: "test".into(),
        division: DIVISION,
        base: Some(0.2),
        range: None,
        repeat: Some(0.2),
        ..Level::default()
    }
}

fn reading(line: Line, at: f64, divisions: f64) -> Reading {
    Reading {
        line,
        reversed: false,
        at,
        entry: Entry::Read(vec![divisions]),
    }
}

fn pass(readings: Vec<Reading>) -> Pass {
    // Everything but the readings is as in any other pass.
    Pass {
        readings,
        ..Case::new(0, Walk::CrossOnly).pass
    }
}

fn adjust(pass: &Pass) -> Adjustment {
    Adjustment::of(pass, &level(), 1.0, SPACING).expect("the pass has readings")
}

/// One bay of 0.2 m: across 1 then 2 divisions, so the front gains 0.4 m x 0.02 mm/m = 8 um on the rear;
/// along 3 and `rear` divisions.
fn one_bay(rear: f64) -> Pass {
    pass(vec![
        reading(Line::Cross, 0.0, 1.0),
        reading(Line::Cross, 0.2, 2.0),
        reading(Line::Front, 0.1, 3.0),
        reading(Line::Rear, 0.1, rear),
    ])
}

#[test]
fn misclosure_of_one_bay_by_hand() {
    // (3 - 1) x 0.2 m x 0.02 mm/m = 8 um: closed. With 0.25 the along readings say 11 um.
    for (rear, want) in [(1.0, 0.0), (0.25, -3e-6)] {
        let pass = one_bay(rear);
        let adjustment = adjust(&pass);
        let closure = Closure::of(&pass, &adjustment);
        let [bay] = closure.bays[..] else {
            panic!("one bay, got {:?}", closure.bays)
        };
        assert_abs_diff_eq!(bay.misclosure, want, epsilon = 1e-15);
        // Two cross readings over the spacing and two along readings over the base.
        let sigma = adjustment.observations().deviation();
        let deviation = sigma * (2.0 * SPACING * SPACING + 2.0 * 0.2 * 0.2_f64).sqrt();
        assert_abs_diff_eq!(bay.deviation, deviation, epsilon = 1e-12);
        assert!(bay.closes());
        // Four readings, three unknown differences: the one condition is the loop.
        let test = closure.global.expect("one loop");
        assert_eq!(test.freedom, 1);
        assert_abs_diff_eq!(test.chi_square, (want / deviation).powi(2), epsilon = 1e-9);
    }
}

/// In a single loop every misfit is the misclosure: all readings are equally suspect.
#[test]
fn one_loop_cannot_tell_which_reading_is_wrong() {
    let pass = one_bay(-6.0);
    let adjustment = adjust(&pass);
    let closure = Closure::of(&pass, &adjustment);
    let w: Vec<f64> = closure
        .checks
        .iter()
        .map(|check| check.w.expect("checked").abs())
        .collect();
    for other in &w {
        assert_abs_diff_eq!(*other, w[0], epsilon = 1e-6);
    }
    assert_abs_diff_eq!(
        closure
            .checks
            .iter()
            .map(|check| check.redundancy)
            .sum::<f64>(),
        1.0,
        epsilon = 1e-9
    );
    let bay = closure.bays[0];
    assert!(!bay.closes());
    assert!(!closure.global.expect("one loop").passes());
    assert!(adjustment.widening() > 1.0);
}

#[test]
fn zero_errors_cancel_in_every_bay() {
    let case = Case::new(4, Walk::Chained);
    let mut shifted = case.pass.clone();
    for reading in &mut shifted.readings {
        if let Entry::Read(seen) = &mut reading.entry {
            seen[0] += if reading.line == Line::Cross {
                2.0
            } else {
                -3.0
            };
        }
    }
    let of = |pass: &Pass| {
        let adjusted = Adjustment::of(pass, &case.level, case.bed.length, case.bed.spacing);
        Closure::of(pass, &adjusted.expect("read")).bays
    };
    let (before, after) = (of(&case.pass), of(&shifted));
    assert!(before.len() > 2 && before.len() == after.len());
    for (a, b) in before.iter().zip(&after) {
        assert_abs_diff_eq!(a.misclosure, b.misclosure, epsilon = 1e-12);
    }
}

/// Bays whose cross stations lie in the middle of the spans close as well, within a deviation that
/// allows for how the bed bends there.
#[test]
fn bays_that_end_inside_a_span_close() {
    let mut closed = Share::default();
    for number in 0..200 {
        let case = Case::new(number, Walk::ChainedShared);
        let adjustment = case.adjusted().expect("read");
        for bay in Closure::of(&case.pass, &adjustment).bays {
            closed.count(bay.closes());
        }
    }
    assert!(
        closed.of > 1000 && (93.0..=98.0).contains(&closed.per_cent()),
        "{} of {}",
        closed.held,
        closed.of
    );
}

#[test]
fn a_closing_reading_shows_the_drift() {
    let mut all = vec![
        reading(Line::Cross, 0.2, 1.0),
        reading(Line::Cross, 0.5, 1.5),
        reading(Line::Cross, 0.8, 2.0),
        reading(Line::Cross, 0.2, 2.25),
    ];
    all[1].entry = Entry::Read(vec![1.5, 1.25, 1.75]);
    let pass = pass(all);
    let adjustment = adjust(&pass);
    let closure = Closure::of(&pass, &adjustment);
    let [drift] = closure.drifts[..] else {
        panic!("one station was read again, got {:?}", closure.drifts)
    };
    assert_eq!(drift.readings, [0, 3]);
    assert_abs_diff_eq!(drift.divisions, 1.25, epsilon = 1e-12);
    let sigma = adjustment.observations().deviation() / DIVISION;
    assert_abs_diff_eq!(drift.deviation, sigma * 2f64.sqrt(), epsilon = 1e-12);
    assert!(drift.is_real());
    let repeats = closure
        .repeats
        .expect("one station was repeated on the spot");
    assert_eq!((repeats.stations, repeats.freedom), (1, 2));
    assert_abs_diff_eq!(repeats.scatter, 0.25, epsilon = 1e-12);
    // Both readings of the station are used: the slope there is their mean.
    let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
    assert_abs_diff_eq!(shape.cross[0].slope, 1.625 * DIVISION, epsilon = 1e-12);
    assert_eq!(closure.global.expect("read twice").freedom, 1);
}

/// A closed survey of a bed that turns evenly, written down with one letter wrong.
#[test]
fn the_wrong_letter_is_named() {
    let mut all = Vec::new();
    for k in 0..6 {
        let k = f64::from(k);
        all.push(reading(Line::Cross, 0.2 * k, 0.5 * k));
    }
    for k in 0..5 {
        let at = 0.1 + 0.2 * f64::from(k);
        // Half a division of cross slope over 0.4 m each 0.2 m: one division between the ways.
        all.push(reading(Line::Front, at, 2.5));
        all.push(reading(Line::Rear, at, 1.5));
    }
    let clean = pass(all.clone());
    let suspects = Suspects::of(&adjust(&clean));
    assert_eq!(suspects.evidence, Evidence::Closure);
    assert!(suspects.found.is_empty());

    let wrong = all
        .iter()
        .position(|reading| reading.line == Line::Front && (reading.at - 0.5).abs() < 1e-9)
        .expect("it is there");
    all[wrong].entry = Entry::Read(vec![-2.5]);
    let suspects = Suspects::of(&adjust(&pass(all)));
    let suspect = suspects.suspect().expect("five divisions are not scatter");
    assert_eq!((suspect.reading, suspect.slip), (wrong, Slip::Side));
    assert_abs_diff_eq!(suspect.read, -2.5, epsilon = 1e-12);
    assert_abs_diff_eq!(suspect.likely, 2.5, epsilon = 1e-12);
    assert!(suspect.w > 5.0, "w {}", suspect.w);
}

#[test]
fn off_scale_readings_still_give_a_rough_shape() {
    let (mut twist, mut crown) = (Share::default(), Share::default());
    for number in 0..400 {
        let mut case = Case::new(number, Walk::Chained);
        case.read_on_scale(4.0);
        let adjustment = case.adjusted().expect("something was read");
        assert!(adjustment.off_scale_used() <= adjustment.off_scale_total());
        if adjustment.off_scale_total() * 5 < case.pass.readings.len() {
            continue;
        }
        let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
        // What is off the scale and told by nothing else is no part of the shape.
        if let [first, .., last] = &shape.cross[..] {
            let [from, to] = [first, last].map(|end| case.bed.slope(Line::Cross, end.at, 0.0));
            if (to - from).abs() > 4.0 * case.level.division {
                twist.count((last.slope - first.slope) * (to - from) > 0.0);
            }
        }
        for way in shape.ways() {
            let at: Vec<f64> = way.points.iter().map(|point| point.at).collect();
            let truth: Vec<f64> = at.iter().map(|x| case.bed.height(way.side, *x)).collect();
            let off = ReferenceLine::EndPoints.departures(&at, &truth);
            let middle = at.len() / 2;
            let step = case.level.division * case.level.base.expect("made with one");
            if off[middle].abs() > 10.0 * step {
                crown.count(way.points[middle].off_line * off[middle] > 0.0);
            }
        }
    }
    assert!(
        twist.of > 50 && twist.per_cent() >= 95.0,
        "sign of the twist: {} of {}",
        twist.held,
        twist.of
    );
    assert!(
        crown.of > 50 && crown.per_cent() >= 95.0,
        "sign of the middle: {} of {}",
        crown.held,
        crown.of
    );
}

/// An off-scale reading that the rest already satisfies changes nothing; one that it contradicts does.
#[test]
fn only_bounds_that_bite_are_used() {
    let mut all = vec![
        reading(Line::Cross, 0.2, 1.0),
        reading(Line::Cross, 0.5, 12.0),
        reading(Line::Cross, 0.8, 2.0),
    ];
    let without = BedShape::of(&adjust(&pass(all.clone())), ReferenceLine::EndPoints);
    let mut bound = reading(Line::Cross, 0.5, 0.0);
    bound.entry = Entry::OffScale(10.0);
    all.push(bound);
    let with = adjust(&pass(all.clone()));
    assert_eq!((with.off_scale_used(), with.off_scale_total()), (0, 1));
    let with = BedShape::of(&with, ReferenceLine::EndPoints);
    for (a, b) in without.cross.iter().zip(&with.cross) {
        assert_abs_diff_eq!(a.slope, b.slope, epsilon = 1e-15);
    }
    all[1].entry = Entry::Read(vec![7.0]);
    let biting = adjust(&pass(all));
    assert_eq!(biting.off_scale_used(), 1);
    let biting = BedShape::of(&biting, ReferenceLine::EndPoints);
    assert!(biting.cross[1].slope > 7.0 * DIVISION);
}

/// Ten divisions one way at one end and ten the other way at the other end: twenty at least, less what two readings
/// scatter.
#[test]
fn a_twist_that_leaves_the_scale_at_both_ends_is_no_less_than_the_scale() {
    let mut all: Vec<Reading> = [(0.1, 0.0), (0.3, 8.0), (0.5, 5.0), (0.7, 1.0), (0.9, 0.0)]
        .map(|(at, divisions)| reading(Line::Cross, at, divisions))
        .into();
    all[0].entry = Entry::OffScale(10.0);
    all[4].entry = Entry::OffScale(-10.0);
    let shape = BedShape::of(&adjust(&pass(all)), ReferenceLine::EndPoints);
    let twist = shape.twist.expect("five cross stations");
    assert!(
        (18.5 * DIVISION..20.0 * DIVISION).contains(&twist.low),
        "from {} divisions",
        twist.low / DIVISION
    );
    assert_eq!(twist.verdict(0.0, 2.0 * DIVISION), Verdict::Outside);
}

/// Where the truth is known: the lower end of the twist is above it as rarely as it says.
#[test]
fn the_least_twist_that_off_scale_readings_tell_is_true() {
    let mut held = Share::default();
    for number in 0..500 {
        let mut case = Case::new(number, Walk::CrossOnly);
        if case.read_on_scale(4.0) == 0 {
            continue;
        }
        let shape = BedShape::of(&case.adjusted().expect("read"), ReferenceLine::EndPoints);
        let Some(least) = shape.least_twist else {
            continue;
        };
        // Of all that was read, off the scale or not.
        let truth = case
            .pass
            .readings
            .iter()
            .map(|reading| case.bed.slope(Line::Cross, reading.at, 0.0))
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], slope| {
                [low.min(slope), high.max(slope)]
            });
        held.count(least <= truth[1] - truth[0]);
    }
    assert!(
        held.of > 150 && held.per_cent() >= 97.0,
        "{} of {}",
        held.held,
        held.of
    );
}

#[test]
fn the_zero_error_is_asked_for_only_where_it_matters() {
    let shape = BedShape::of(&adjust(&one_bay(1.0)), ReferenceLine::EndPoints);
    assert_eq!(
        shape.zero_error(false, AimShape::Straight),
        ZeroError::NotNeeded
    );
    assert_eq!(shape.zero_error(false, AimShape::Level), ZeroError::Needed);
    let mut pass = one_bay(1.0);
    pass.readings.retain(|reading| reading.line == Line::Cross);
    pass.readings.push(Reading {
        reversed: true,
        ..reading(Line::Cross, 0.2, 1.0)
    });
    let shape = BedShape::of(&adjust(&pass), ReferenceLine::EndPoints);
    assert_eq!(shape.zero_error(true, AimShape::Level), ZeroError::NotRead);
    let ZeroError::Known(zero) = shape.zero_error(false, AimShape::Level) else {
        panic!("2 upright and 1 reversed: zero 0.5")
    };
    assert_abs_diff_eq!(zero.value, 0.5 * DIVISION, epsilon = 1e-9);
}

/// Forecasts for a flat bed against what reading a flat bed many times really misses by.
#[test]
fn a_forecast_is_what_readings_then_give() {
    let (mut twist, mut crown) = (Share::default(), Share::default());
    for number in 0..150 {
        let mut case = Case::new(number, Walk::Chained);
        case.bed.flatten();
        let stations: Vec<(Line, f64)> = case
            .pass
            .readings
            .iter()
            .map(|reading| (reading.line, reading.at))
            .collect();
        case.pass = crate::made_up::read(&case.bed, &case.level, &stations, &mut case.generator);
        let of_line = |line: Line| {
            let on_it = stations.iter().filter(|(other, _)| *other == line);
            on_it.map(|(_, at)| *at).collect::<Vec<_>>()
        };
        let stations = Stations {
            cross: of_line(Line::Cross),
            front: of_line(Line::Front),
            rear: of_line(Line::Rear),
        };
        let told = forecast(
            &stations,
            &case.level,
            case.bed.length,
            case.bed.spacing,
            &Limits::default(),
        )
        .expect("there are stations");
        let shape = BedShape::of(&case.adjusted().expect("read"), ReferenceLine::EndPoints);
        let seen = shape.twist.expect("many cross stations");
        twist.count(seen.value <= told.twist.expect("many cross stations"));
        for (way, told) in [(&shape.front, told.front), (&shape.rear, told.rear)] {
            let (way, told) = (way.as_ref().expect("read"), told.expect("read"));
            if let Some(told) = told.straightness.is_finite().then_some(told) {
                crown.count(way.crown.expect("known").value.abs() <= told.crown);
            }
        }
    }
    for (what, share) in [("twist", &twist), ("crown", &crown)] {
        assert!(
            (91.0..=98.5).contains(&share.per_cent()),
            "{what}: {} of {} within the forecast",
            share.held,
            share.of
        );
    }
}

/// Two readings across and two along, so that all can be worked out by hand. A reading's deviation is
/// √(0.2² + 0.25²/12) = 0.21263 divisions of 0.02 mm/m, that of the difference of two 0.0060140 mm/m, and 1.95996 of
/// these are 0.011787 mm/m. Of two readings end to end over 200 mm each the middle stands off the ends' line by 0.1 m
/// times their difference.
#[test]
fn a_forecast_over_parts_is_what_two_readings_give() {
    let stations = Stations {
        cross: vec![0.2, 0.9],
        front: vec![0.4, 0.6],
        rear: Vec::new(),
    };
    let local = |over: f64| LocalLimit { over, height: 2e-6 };
    let limits = Limits {
        twist_per_metre: Some(2e-5),
        local: vec![local(0.5), local(0.25), local(0.4)],
        ..Limits::default()
    };
    let told = forecast(&stations, &level(), 1.0, SPACING, &limits).expect("stations");
    let close = |told: Option<f64>, want: f64| {
        // The draws are good to a fiftieth of an interval's width.
        assert_abs_diff_eq!(told.expect("read"), want, epsilon = 0.04 * want);
    };
    close(told.twist_per_metre, 1.1787e-5);
    // Three places take 400 mm, and of what departs over 400 mm a part of 250 mm shows 0.625.
    for (local, share) in told.local.iter().zip([1.0, 0.625, 1.0]) {
        close(local.front, 1.1787e-6 * share);
    }
}

#[test]
fn more_readings_forecast_less_uncertainty() {
    let limits = Limits {
        twist_per_metre: Some(2e-5),
        local: vec![LocalLimit {
            over: 0.5,
            height: 5e-6,
        }],
        ..Limits::default()
    };
    let told = |count: usize, division: f64| {
        let at = |k: usize| 0.1 + 0.2 * k as f64;
        let line: Vec<f64> = (0..count).map(at).collect();
        let stations = Stations {
            cross: (0..=count).map(|k| 0.2 * k as f64).collect(),
            front: line.clone(),
            rear: line,
        };
        let level = Level {
            division,
            ..level()
        };
        forecast(&stations, &level, 0.2 * count as f64, SPACING, &limits).expect("stations")
    };
    let (coarse, fine) = (told(10, 2e-5), told(10, 1e-5));
    let ratio = fine.twist.expect("read") / coarse.twist.expect("read");
    assert_abs_diff_eq!(ratio, 0.5, epsilon = 1e-6);
    let crown = |told: &Forecast| told.front.expect("read").crown;
    let long = told(20, 2e-5);
    assert!(
        crown(&long) > crown(&coarse),
        "a longer chain adds up more scatter"
    );
    assert!(crown(&fine) < crown(&coarse));
    // What holds over any part: half of the graduation, half of the uncertainty, however long the chain.
    let local = |told: &Forecast| told.local[0].front.expect("read");
    let metre = |told: &Forecast| told.twist_per_metre.expect("read");
    assert_abs_diff_eq!(local(&fine) / local(&coarse), 0.5, epsilon = 1e-6);
    assert_abs_diff_eq!(metre(&fine) / metre(&coarse), 0.5, epsilon = 1e-6);
    assert!(local(&long) < 1.5 * local(&coarse) && local(&coarse) < crown(&coarse));
    assert!(metre(&coarse) <= coarse.twist.expect("read"));
}

/// A twist just inside its limit: more passes and a finer level settle it, in the right order.
#[test]
fn what_would_settle_a_twist() {
    let at = [0.1, 0.4, 0.7, 0.9];
    let all = at
        .iter()
        .zip([0.0, 0.75, 1.25, 2.0])
        .map(|(at, divisions)| reading(Line::Cross, *at, divisions));
    let pass = pass(all.collect());
    let adjustment = adjust(&pass);
    let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
    let twist = shape.twist.expect("four readings");
    assert_eq!(twist.verdict(0.0, 2.4 * DIVISION), Verdict::Unsure);
    let fine = Level {
        name: "fine".into(),
        division: 5e-6,
        ..level()
    };
    let mut survey = survey::read(BARE_SURVEY).expect("it is a survey");
    survey.levels = BTreeMap::from([("test".into(), level()), ("fine".into(), fine)]);
    survey.limits.twist = Some(2.4 * DIVISION);
    let found = settling(&adjustment, &survey, ReferenceLine::EndPoints);
    assert!(found.iter().all(|one| one.subject == Subject::Twist));
    let by =
        |wanted: &dyn Fn(&Remedy) -> bool| found.iter().find(|one| wanted(&one.remedy)).cloned();
    let passes = by(&|remedy| matches!(remedy, Remedy::Passes(_))).expect("passes were tried");
    assert!(passes.settles && passes.u95 < twist.u95);
    let Remedy::Passes(count) = passes.remedy else {
        unreachable!("it was asked for")
    };
    // A quarter-division of room and the scatter of two ends: more than one pass more, and not ten.
    assert!((3..10).contains(&count), "{count} passes");
    let named = by(&|remedy| *remedy == Remedy::Level("fine".into())).expect("it is in the survey");
    assert!(named.settles);
    let finer = by(&|remedy| matches!(remedy, Remedy::Division(_))).expect("finer ones are made");
    assert!(finer.settles && finer.u95 >= named.u95);
    assert!(
        by(&|remedy| *remedy == Remedy::Reversal).is_none(),
        "twist does not need the zero error"
    );
    assert!(by(&|remedy| *remedy == Remedy::Level("test".into())).is_none());

    survey.limits.twist = Some(1e-3);
    let settled = settling(&adjustment, &survey, ReferenceLine::EndPoints);
    assert!(settled.is_empty(), "a verdict that is clear needs nothing");
}
