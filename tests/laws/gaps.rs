//! What lies between the readings: a chained survey owes nothing to what beds are thought to be like, and a gap is
//! a gap.

use crate::made_up::bed::Bed;
use crate::made_up::walk::Walk;
use crate::made_up::{Case, read};
use quarterturn::geometry::belief::USUAL_ROUGHNESS;
use quarterturn::geometry::local::twist_per_metre;
use quarterturn::geometry::{
    Adjustment, BedShape, Closure, Convexity, Figure, LocalStraightness, Observations,
    ReferenceLine, Roughness, Suspects, Way, WayPoint,
};
use quarterturn::survey::{Entry, Level, Line, LocalLimit, Pass, Side};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

/// Cases of each kind.
const CASES: u64 = 30;

fn shape(adjustment: &Adjustment) -> BedShape {
    BedShape::of(adjustment, ReferenceLine::EndPoints)
}

fn with_roughness(case: &Case, adjustment: &Adjustment, factor: f64) -> BedShape {
    let size = adjustment.roughness();
    let other = Roughness {
        middle: size.middle * factor,
        half: size.half * factor,
    };
    let observations = adjustment.observations().clone();
    let again = Adjustment::on_bed(observations, case.bed.length, case.bed.spacing, other);
    shape(&again.expect("the pass has readings"))
}

/// The largest change of a departure, in shares of its own uncertainty.
fn change(before: &BedShape, after: &BedShape) -> f64 {
    before
        .ways()
        .zip(after.ways())
        // The ends are on the line by definition, and certain.
        .flat_map(|(a, b)| {
            a.points
                .iter()
                .zip(&b.points)
                .skip(1)
                .take(a.points.len() - 2)
        })
        .map(|(a, b)| (a.off_line - b.off_line).abs() / a.off_line_u95)
        .fold(0.0, f64::max)
}

/// The largest change of a departure, in shares of its own uncertainty, on a bed taken for a hundred times as
/// smooth and as rough.
fn change_with_the_prior(case: &Case) -> f64 {
    let adjustment = case.adjusted().expect("every station was read");
    let before = shape(&adjustment);
    [0.01, 100.0]
        .map(|factor| change(&before, &with_roughness(case, &adjustment, factor)))
        .into_iter()
        .fold(0.0, f64::max)
}

/// Chained along both ways, across at the ends of the level: whatever the bed between the readings is
/// thought to be like, the departures stay within a hundredth of their uncertainty.
#[test]
fn a_chained_survey_is_not_changed_by_the_prior() {
    for number in 0..CASES {
        let changed = change_with_the_prior(&Case::new(number, Walk::Chained));
        assert!(
            changed < 0.01,
            "case {number}: changed by {changed} of its u95"
        );
    }
}

/// Across in the middle of the spans as well, or there alone: what the cross reading checks there hangs on how
/// the bed bends between the feet of the level, and no height may.
#[test]
fn heights_of_a_chained_survey_are_not_changed_by_the_prior_inside_the_spans() {
    for number in 0..CASES {
        for also_at_the_ends in [false, true] {
            let mut case = Case::new(number, Walk::ChainedShared);
            if also_at_the_ends {
                let half = case.level.base.expect("made with one") / 2.0;
                let mut stations: Vec<(Line, f64)> = Vec::new();
                for reading in &case.pass.readings {
                    stations.push((reading.line, reading.at));
                    if reading.line == Line::Cross {
                        stations.push((Line::Cross, reading.at - half));
                    }
                }
                case.pass = read(&case.bed, &case.level, &stations, &mut case.generator);
            }
            let changed = change_with_the_prior(&case);
            assert!(
                changed < 0.01,
                "case {number}, also at the ends: {also_at_the_ends}: changed by {changed} of its u95"
            );
        }
    }
}

/// Something printed of a pass, and how much of a change in it would matter.
struct Printed {
    what: String,
    value: f64,
    u95: f64,
}

/// Everything `shape` prints of a pass: values, and uncertainties themselves.
fn printed(case: &Case, guess: Roughness) -> (Vec<Printed>, Suspects) {
    let observations = Observations::of(&case.pass, &case.level, case.bed.spacing);
    let guessed = Adjustment::guessing(observations, case.bed.length, case.bed.spacing, guess);
    let adjustment = guessed.expect("the pass has readings");
    let shape = shape(&adjustment);
    let mut all: Vec<Printed> = Vec::new();
    let mut add = |what: &str, value: f64, u95: f64| {
        for (what, value) in [(what.into(), value), (format!("u95 of {what}"), u95)] {
            all.push(Printed { what, value, u95 });
        }
    };
    // The zero error of the level is in them all.
    let mean = shape.cross.iter().map(|slope| slope.slope).sum::<f64>() / shape.cross.len() as f64;
    for slope in &shape.cross {
        add(
            &format!("cross slope at {}", slope.at),
            slope.slope - mean,
            slope.u95,
        );
    }
    let mut figures: Vec<(String, Figure)> = Vec::new();
    let twist = [
        ("twist", shape.twist),
        ("twist over a metre", twist_per_metre(&adjustment, &shape)),
    ];
    figures.extend(twist.map(|(what, twist)| (what.into(), twist.expect("read across"))));
    for way in shape.ways() {
        let side = way.side;
        for point in &way.points {
            add(
                &format!("height of {side:?} at {}", point.at),
                point.height,
                point.u95,
            );
            // The ends are on the line by definition, and certain.
            if point.off_line_u95 > 1e-12 {
                add(
                    &format!("departure of {side:?} at {}", point.at),
                    point.off_line,
                    point.off_line_u95,
                );
            }
        }
        figures.extend(way.crown.map(|crown| (format!("crown of {side:?}"), crown)));
        figures.extend(
            way.straightness
                .map(|range| (format!("straightness of {side:?}"), range)),
        );
        let convex = Convexity::of(&adjustment, way);
        figures.extend(convex.map(|convex| (format!("lowest of {side:?}"), convex.lowest)));
    }
    let limit = LocalLimit {
        over: 0.5,
        height: 1e-5,
    };
    for way in LocalStraightness::of(&adjustment, &shape, limit).ways {
        figures.push((format!("parts of {:?}", way.side), way.departure));
    }
    for (what, figure) in figures {
        add(&what, figure.value, figure.u95);
        add(&format!("low end of {what}"), figure.low, figure.u95);
        add(&format!("high end of {what}"), figure.high, figure.u95);
    }
    let closure = Closure::of(&case.pass, &adjustment);
    for bay in &closure.bays {
        add(
            &format!("misclosure from {}", bay.from),
            bay.misclosure,
            2.0 * bay.deviation,
        );
    }
    let test = closure.global.expect("closed loops");
    add(
        "global test",
        test.chi_square,
        (8.0 * test.freedom as f64).sqrt(),
    );
    for check in &closure.checks {
        add(
            &format!("redundancy of {}", check.reading),
            check.redundancy,
            1.0,
        );
        add(
            &format!("misfit of {}", check.reading),
            check.w.unwrap_or(0.0),
            2.0,
        );
    }
    (all, Suspects::of(&adjustment))
}

/// Both ways chained, however the level is laid across.
#[derive(Debug, Clone, Copy)]
enum Across {
    /// At its own ends.
    AtTheEnds,
    /// In the middle of the spans.
    InMidSpan,
    /// At both.
    AtBoth,
    /// Anywhere, the rear walked from another place on, and the front read twice.
    Anywhere,
}

fn chained(number: u64, across: Across) -> Case {
    let mut case = Case::new(number, Walk::ChainedShared);
    let half = case.level.base.expect("made with one") / 2.0;
    let along = |line: Line, by: f64| {
        let readings = case.pass.readings.iter();
        readings
            .filter(|reading| reading.line == Line::Front)
            .map(move |reading| (line, reading.at + by))
    };
    let mut stations: Vec<(Line, f64)> = along(Line::Front, 0.0).collect();
    let cross = |by: f64| along(Line::Cross, by);
    match across {
        Across::AtTheEnds => stations.extend(cross(-half).chain(cross(half)).collect::<Vec<_>>()),
        Across::InMidSpan => stations.extend(cross(0.0)),
        Across::AtBoth => stations.extend(cross(0.0).chain(cross(half))),
        Across::Anywhere => {
            stations.extend(along(Line::Front, 0.0));
            stations.extend(cross(0.3 * half));
        }
    }
    let offset = if matches!(across, Across::Anywhere) {
        0.7 * half
    } else {
        0.0
    };
    stations.extend(along(Line::Rear, offset));
    case.pass = read(&case.bed, &case.level, &stations, &mut case.generator);
    case
}

/// What beds are thought to be like has no say in a chained survey: neither in heights nor in cross slopes,
/// twist, uncertainties, loops or suspects, wherever the level is laid across.
#[test]
fn nothing_of_a_chained_survey_is_changed_by_the_guess() {
    for across in [
        Across::AtTheEnds,
        Across::InMidSpan,
        Across::AtBoth,
        Across::Anywhere,
    ] {
        for number in 0..CASES / 3 {
            let case = chained(number, across);
            let (usual, suspects) = printed(&case, USUAL_ROUGHNESS);
            for factor in [0.01, 100.0] {
                let guess = Roughness {
                    middle: factor * USUAL_ROUGHNESS.middle,
                    half: factor * USUAL_ROUGHNESS.half,
                };
                let (other, others) = printed(&case, guess);
                assert_eq!(usual.len(), other.len());
                for (a, b) in usual.iter().zip(&other) {
                    let change = (a.value - b.value).abs() / a.u95;
                    assert!(
                        change < 0.01,
                        "{across:?}, case {number}, guess times {factor}: {} changed by {change} of its u95",
                        a.what
                    );
                }
                let named = |suspects: &Suspects| -> Vec<usize> {
                    suspects
                        .found
                        .iter()
                        .map(|suspect| suspect.reading)
                        .collect()
                };
                assert_eq!(
                    named(&suspects),
                    named(&others),
                    "{across:?}, case {number}"
                );
            }
        }
    }
}

/// Chained end to end, the heights of a way are those of the classic table: rises added up from station to station.
#[test]
fn cross_readings_in_mid_span_leave_the_cumulative_table_alone() {
    for number in 0..CASES {
        let case = Case::new(number, Walk::ChainedShared);
        let shape = shape(&case.adjusted().expect("every station was read"));
        let base = case.level.base.expect("made with one");
        for way in shape.ways() {
            let mut readings: Vec<(f64, f64)> = Vec::new();
            for reading in &case.pass.readings {
                if let (Line::Front, Side::Front) | (Line::Rear, Side::Rear) =
                    (reading.line, way.side)
                    && let Entry::Read(seen) = &reading.entry
                {
                    readings.push((reading.at, seen[0]));
                }
            }
            let mut at = vec![readings[0].0 - base / 2.0];
            let mut heights = vec![0.0];
            for (middle, divisions) in readings {
                at.push(middle + base / 2.0);
                heights.push(heights[heights.len() - 1] + divisions * case.level.division * base);
            }
            let table = ReferenceLine::EndPoints.departures(&at, &heights);
            assert_eq!(way.points.len(), table.len());
            for (point, want) in way.points.iter().zip(table) {
                assert!(
                    (point.off_line - want).abs() < 1e-11,
                    "case {number}, at {}: {:e}, by the table {want:e}",
                    point.at,
                    point.off_line
                );
            }
        }
    }
}

/// The same with each way alone, where there is no cross reading to tie them.
#[test]
fn a_single_chain_is_not_changed_by_the_prior() {
    for number in 0..CASES {
        let mut case = Case::new(number, Walk::Chained);
        case.pass
            .readings
            .retain(|reading| reading.line == Line::Rear);
        let changed = change_with_the_prior(&case);
        assert!(changed < 1e-6, "case {number}: {changed}");
    }
}

fn straight_bed_case(length: f64, stations: &[(Line, f64)], base: f64) -> (Case, Adjustment) {
    let mut generator = ChaCha8Rng::seed_from_u64(11);
    let mut bed = Bed::random(&mut generator);
    bed.length = length;
    bed.spacing = 0.4;
    let level = Level {
        name: "made up".into(),
        division: 2e-5,
        base: Some(base),
        range: None,
        repeat: Some(0.2),
        ..Level::default()
    };
    let pass = read(&bed, &level, stations, &mut generator);
    let case = Case {
        number: 0,
        bed,
        level,
        pass,
        generator,
    };
    let adjustment = case.adjusted().expect("stations were read");
    (case, adjustment)
}

fn chain(line: Line, from: usize, to: usize) -> impl Iterator<Item = (Line, f64)> {
    (from..to).map(move |k| (line, 0.1 + 0.2 * k as f64))
}

/// Rise of the uncertainty of the height difference between neighbouring places across a chain and across
/// a gap in it: a reading bounds the one, only the bed's smoothness the other.
fn step_u95(way: &Way, adjustment: &Adjustment, from: f64, to: f64) -> f64 {
    let place = |at: f64| {
        adjustment
            .layout()
            .index(at)
            .expect("a place of the layout")
    };
    let rise = adjustment.height(way.side, place(to)) - adjustment.height(way.side, place(from));
    // A common slope is free, so the rise is taken against the way's own mean slope.
    let (first, last) = (&way.points[0], &way.points[way.points.len() - 1]);
    let all =
        adjustment.height(way.side, place(last.at)) - adjustment.height(way.side, place(first.at));
    let share = (to - from) / (last.at - first.at);
    let function = nalgebra::DMatrix::from_rows(&[rise - all * share]);
    adjustment.covariance_root(&function).norm()
}

#[test]
fn uncertainty_grows_in_a_gap() {
    let stations: Vec<(Line, f64)> = chain(Line::Front, 0, 5)
        .chain(chain(Line::Front, 6, 12))
        .collect();
    let (_, adjustment) = straight_bed_case(2.4, &stations, 0.2);
    let shape = shape(&adjustment);
    let front = shape
        .front
        .as_ref()
        .expect("the prior carries over one level's length");
    let read = step_u95(front, &adjustment, 0.8, 1.0);
    let gap = step_u95(front, &adjustment, 1.0, 1.2);
    assert!(
        gap > 1.2 * read,
        "across the gap {gap:e}, across a reading {read:e}"
    );

    let full: Vec<(Line, f64)> = chain(Line::Front, 0, 12).collect();
    let (_, closed) = straight_bed_case(2.4, &full, 0.2);
    let near_gap = |shape: &BedShape| -> f64 {
        let way = shape.front.as_ref().expect("read");
        let near = |point: &&WayPoint| (point.at - 1.0).abs() < 1e-9;
        way.points
            .iter()
            .find(near)
            .expect("the place at 1 m")
            .off_line_u95
    };
    let (with, without) = (near_gap(&shape), near_gap(&self::shape(&closed)));
    assert!(
        with > without,
        "beside the gap {with:e}, without it {without:e}"
    );
}

/// A wider gap is less certain than a narrow one.
#[test]
fn a_wider_gap_is_less_certain() {
    let mut last = 0.0;
    for missing in [1, 2, 3, 4] {
        let stations: Vec<(Line, f64)> = chain(Line::Rear, 0, 4)
            .chain(chain(Line::Rear, 4 + missing, 12))
            .collect();
        let (_, adjustment) = straight_bed_case(2.4, &stations, 0.2);
        let shape = shape(&adjustment);
        let rear = shape.rear.as_ref().expect("the prior carries over");
        let u95 = step_u95(rear, &adjustment, 0.8, 0.8 + 0.2 * missing as f64);
        assert!(u95 > last, "{missing} missing: {u95:e} after {last:e}");
        last = u95;
    }
}

/// A level longer than the spacing of its stations: overlapping spans, several interleaved chains.
#[test]
fn overlapping_spans_hold_the_truth() {
    let (mut held, mut of) = (0, 0);
    for number in 0..60 {
        let mut case = Case::new(number, Walk::Chained);
        let base = case.level.base.expect("made with one");
        let mut stations = Vec::new();
        let mut at = base / 2.0;
        while at + base / 2.0 <= case.bed.length {
            stations.push((Line::Front, at));
            stations.push((Line::Rear, at));
            stations.push((Line::Cross, at));
            at += 0.6 * base;
        }
        case.pass = read(&case.bed, &case.level, &stations, &mut case.generator);
        let shape = shape(&case.adjusted().expect("read"));
        for way in shape.ways() {
            let at: Vec<f64> = way.points.iter().map(|point| point.at).collect();
            let truth: Vec<f64> = at.iter().map(|x| case.bed.height(way.side, *x)).collect();
            let off = ReferenceLine::EndPoints.departures(&at, &truth);
            for (point, truth) in way.points.iter().zip(off).skip(1).take(at.len() - 2) {
                held += i32::from((point.off_line - truth).abs() <= point.off_line_u95);
                of += 1;
            }
        }
    }
    let share = f64::from(held) / f64::from(of);
    assert!(
        (0.93..=0.97).contains(&share),
        "{held} of {of} held the truth: {share}"
    );
}

/// A pass without a single complete line still does not fail.
#[test]
fn any_one_reading_is_a_pass() {
    let case = Case::new(3, Walk::Chained);
    for reading in &case.pass.readings {
        let pass = Pass {
            readings: vec![reading.clone()],
            ..case.pass.clone()
        };
        let adjusted = Adjustment::of(&pass, &case.level, case.bed.length, case.bed.spacing);
        let shape = shape(&adjusted.expect("one reading"));
        assert!(shape.twist.is_none() && shape.ways().all(|way| way.crown.is_none()));
    }
}
