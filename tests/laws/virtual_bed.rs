//! The made-up bed that answers turns with readings.

use std::collections::BTreeMap;

use quarterturn::rehearse::{CannotStand, Scatter, Stations, VirtualBed, Watch};
use quarterturn::response::{BedModel, Place, Reaches};
use quarterturn::survey::{
    Aim, Bed, Clockwise, Entry, Foot, LengthUnit, Level, Limits, Line, Machine, Pass, PointMass,
    Side, Survey,
};

const WAY_SPACING: f64 = 0.38;

/// A lathe of 2.9 m and 3100 kg on four pairs of feet.
fn survey(held_down: bool) -> Survey {
    let foot = |(pair, at): (usize, f64), side: Side| Foot {
        name: format!("{}{}", side.letter(), pair + 1),
        side,
        at,
        across: if side == Side::Front { 0.18 } else { -0.18 },
        lift_per_turn: 0.0015,
        clockwise: Clockwise::Raises,
        smallest_turn: 0.25,
        lowest_turns: None,
        highest_turns: None,
        kind: None,
        hold_down: None,
        lock_nut: None,
    };
    let feet = [0.12, 0.98, 1.84, 2.7]
        .into_iter()
        .enumerate()
        .flat_map(|pair| [foot(pair, Side::Front), foot(pair, Side::Rear)])
        .collect();
    Survey {
        units: LengthUnit::Millimetre,
        machine: Machine {
            mass: Some(3100.0),
            headstock: Some(PointMass {
                mass: 700.0,
                at: 0.4,
            }),
            ..Machine::default()
        },
        bed: Bed {
            length: 2.9,
            way_spacing: WAY_SPACING,
            held_down: Some(held_down),
            free: [0.0, 2.9],
        },
        feet,
        levels: BTreeMap::from([("master".to_string(), level())]),
        limits: Limits::default(),
        aim: Aim::default(),
        passes: vec![],
        cuts: vec![],
        faces: vec![],
    }
}

fn level() -> Level {
    Level {
        name: "master".to_string(),
        division: 2e-5,
        base: Some(0.2),
        range: Some(10.0),
        repeat: None,
        ..Level::default()
    }
}

/// A level that can be read however far its bubble goes.
fn boundless() -> Level {
    Level {
        range: None,
        ..level()
    }
}

fn stations() -> Stations {
    Stations {
        cross_reversed: vec![0.25, 1.45],
        ..Stations::chained(2.9, 0.2)
    }
}

fn bed(survey: &Survey, seed: u64, scatter: &Scatter) -> VirtualBed {
    VirtualBed::new(survey, seed, scatter).expect("the bed stands")
}

fn values(pass: &Pass) -> Vec<f64> {
    let value = |entry: &Entry| match entry {
        Entry::Read(values) => values[0],
        other => panic!("no reading: {other:?}"),
    };
    pass.readings
        .iter()
        .map(|reading| value(&reading.entry))
        .collect()
}

/// The places of the level for a reading, high side first, and their distance.
fn under_level(line: Line, at: f64) -> ([Place; 2], f64) {
    let half = WAY_SPACING / 2.0;
    let place = |at, across| Place { at, across };
    match line {
        Line::Cross => ([place(at, half), place(at, -half)], WAY_SPACING),
        Line::Front => ([place(at + 0.1, half), place(at - 0.1, half)], 0.2),
        Line::Rear => ([place(at + 0.1, -half), place(at - 0.1, -half)], 0.2),
    }
}

#[test]
fn a_bed_without_errors_answers_as_the_model_says() {
    let survey = survey(true);
    let mut bed = bed(&survey, 1, &Scatter::none());
    let before = bed.take_pass(&boundless(), &stations());
    let turned = [1.0, 0.0, -2.0, 0.5, 0.0, 3.0, 0.0, -0.25];
    for (foot, quarter_turns) in turned.into_iter().enumerate() {
        assert!((bed.turn(foot, quarter_turns) - quarter_turns).abs() < 1e-12);
    }
    let after = bed.take_pass(&boundless(), &stations());

    let model = BedModel::from_survey(&survey, &Reaches::usual(&survey))
        .response()
        .unwrap();
    let changes = values(&after).into_iter().zip(values(&before));
    let mut largest = 0.0_f64;
    for (reading, (after, before)) in after.readings.iter().zip(changes) {
        let (places, distance) = under_level(reading.line, reading.at);
        let influence = model.influence(&places);
        let slope: f64 = turned
            .iter()
            .enumerate()
            .map(|(foot, quarter_turns)| {
                let lift = quarter_turns * survey.feet[foot].lift_per_quarter();
                lift * (influence[(0, foot)] - influence[(1, foot)]) / distance
            })
            .sum();
        let want = slope / 2e-5;
        assert!((after - before - want).abs() < 1e-7, "{reading:?}: {want}");
        largest = largest.max(want.abs());
    }
    assert!(largest > 10.0, "{largest}");
}

#[test]
fn a_resting_bed_hangs_on_some_feet_and_keeps_its_weight() {
    let survey = survey(false);
    let mut hanging = 0;
    for seed in 0..20 {
        let mut bed = bed(&survey, seed, &Scatter::default());
        let pass = bed.take_pass(&level(), &stations());
        hanging += pass.hanging.len();
        let sum: f64 = bed.foot_forces().iter().sum();
        assert!((sum / (3100.0 * 9.806_65) - 1.0).abs() < 1e-9, "{sum}");
        for (foot, force) in bed.foot_forces().iter().enumerate() {
            assert_eq!(*force <= 0.0, pass.hanging.contains(&foot));
            assert!(*force >= 0.0);
        }
    }
    assert!(hanging > 20, "{hanging} feet of 20 beds hang");
}

#[test]
fn a_foot_that_hangs_moves_nothing() {
    let mut bed = bed(&survey(false), 1, &Scatter::none());
    bed.turn(2, -4.0);
    let hanging = bed.take_pass(&boundless(), &stations());
    assert_eq!(hanging.hanging, [2]);
    bed.turn(2, -4.0);
    let lower = bed.take_pass(&boundless(), &stations());
    for (one, other) in values(&hanging).iter().zip(values(&lower)) {
        assert!((one - other).abs() < 1e-9);
    }
}

#[test]
fn the_same_seed_gives_the_same_bed() {
    let play = |seed, extra_stations: &[f64]| {
        let mut bed = bed(&survey(false), seed, &Scatter::default());
        let mut first = stations();
        first.cross.extend_from_slice(extra_stations);
        bed.take_pass(&level(), &first);
        bed.turn(1, 2.0);
        bed.turn_watching(
            3,
            -1.0,
            &level(),
            &Watch {
                line: Line::Cross,
                at: 1.0,
                target: 2.0,
                no_further: -2.0,
                no_further_back: 2.0,
            },
        );
        bed
    };
    let (mut one, mut same, mut other) = (play(7, &[]), play(7, &[]), play(8, &[]));
    let pass = one.take_pass(&level(), &stations());
    assert_eq!(pass, same.take_pass(&level(), &stations()));
    assert_ne!(pass, other.take_pass(&level(), &stations()));
    assert_eq!(one.foot_forces(), same.foot_forces());
    assert_eq!(play(7, &[0.3]).true_model(), same.true_model());
}

#[test]
fn readings_are_quarter_divisions_inside_the_range() {
    let (mut on_scale, mut off_scale) = (0, 0);
    for seed in 0..20 {
        let pass = bed(&survey(true), seed, &Scatter::default()).take_pass(&level(), &stations());
        for reading in &pass.readings {
            match &reading.entry {
                Entry::Read(values) => {
                    assert_eq!(values.len(), 1);
                    assert!((4.0 * values[0]).fract() == 0.0, "{values:?}");
                    assert!(values[0].abs() <= 10.0);
                    on_scale += 1;
                }
                Entry::OffScale(bound) => {
                    assert!((bound.abs() - 10.0).abs() < 1e-12);
                    off_scale += 1;
                }
                Entry::Missing => panic!("a reading is missing"),
            }
        }
    }
    // An uneven floor takes some readings off the scale, not most.
    assert!(
        off_scale > 20 && on_scale > 2 * off_scale,
        "{on_scale} on, {off_scale} off"
    );
}

#[test]
fn without_a_base_there_are_no_along_readings() {
    let level = Level {
        base: None,
        ..level()
    };
    let pass = bed(&survey(true), 1, &Scatter::default()).take_pass(&level, &stations());
    for reading in &pass.readings {
        assert_eq!(reading.entry == Entry::Missing, reading.line != Line::Cross);
    }
}

/// Reversal on the spot: zero error is half the difference (standard method).
#[test]
fn the_zero_error_holds_for_a_pass_and_is_new_in_the_next() {
    let scatter = Scatter {
        zero_error: 1.0,
        ..Scatter::none()
    };
    let stations = Stations {
        cross: vec![0.3, 1.1, 2.5],
        cross_reversed: vec![0.3, 1.1, 2.5],
        ..Stations::default()
    };
    let mut bed = bed(&survey(true), 3, &scatter);
    let mut zeros = vec![];
    for _ in 0..3 {
        let seen = values(&bed.take_pass(&boundless(), &stations));
        let zero: Vec<f64> = (0..3)
            .map(|station| (seen[station] - seen[station + 3]) / 2.0)
            .collect();
        assert!((zero[0] - zero[1]).abs() < 1e-9 && (zero[0] - zero[2]).abs() < 1e-9);
        zeros.push(zero[0]);
    }
    assert!(
        (zeros[0] - zeros[1]).abs() > 1e-3 && (zeros[1] - zeros[2]).abs() > 1e-3,
        "{zeros:?}"
    );
}

#[test]
fn watching_mends_what_threads_and_hands_spoil() {
    // A thread that lifts 1.5 mm in a turn where the survey says 1.2.
    let mut told = survey(true);
    told.feet[2].lift_per_turn = 0.0012;
    let real = survey(true);
    let model = BedModel::from_survey(&told, &Reaches::usual(&told))
        .response()
        .unwrap();
    let scatter = Scatter {
        hand: 2.0,
        backlash: 5.0,
        zero_error: 1.0,
        rounding: 0.25,
        ..Scatter::none()
    };
    for seed in 0..20 {
        let mut bed = bed(&real, seed, &scatter);
        let cross = Stations {
            cross: vec![0.98],
            ..Stations::default()
        };
        let from = values(&bed.take_pass(&level(), &cross))[0];
        // Two divisions up at F2's own station.
        let (places, distance) = under_level(Line::Cross, 0.98);
        let influence = model.influence(&places);
        let lift = 2.0 * 2e-5 * distance / (influence[(0, 2)] - influence[(1, 2)]);
        let quarter_turns = lift / told.feet[2].lift_per_quarter();
        let watch = Watch {
            line: Line::Cross,
            at: 0.98,
            target: from + 2.0,
            no_further: 1.5 * quarter_turns,
            no_further_back: 0.1,
        };
        let before = bed.true_slope(&level(), Line::Cross, 0.98).unwrap();
        let turned = bed.turn_watching(2, quarter_turns, &level(), &watch);
        assert!(turned.reached, "{turned:?}");
        assert_eq!(turned.shown, Some(from + 2.0));
        let change = (bed.true_slope(&level(), Line::Cross, 0.98).unwrap() - before) / 2e-5;
        assert!((change - 2.0).abs() <= 0.25, "{change}");
    }
}

#[test]
fn watching_never_goes_past_the_stop() {
    let survey = survey(true);
    let scatter = Scatter {
        rounding: 0.25,
        ..Scatter::none()
    };
    for target in [-8.0, 8.0] {
        let mut bed = bed(&survey, 1, &scatter);
        let watch = Watch {
            line: Line::Cross,
            at: 0.98,
            target,
            no_further: 0.1,
            no_further_back: 0.05,
        };
        let turned = bed.turn_watching(2, 0.08, &level(), &watch);
        assert!(!turned.reached);
        let want = if target > 0.0 { 0.1 } else { -0.05 };
        assert!((turned.counted - want).abs() < 1e-12, "{turned:?}");
        let too_much = bed.turn_watching(2, 0.3, &level(), &watch);
        assert!(too_much.counted.abs() <= 0.1 + 1e-12, "{too_much:?}");
    }
}

/// Told to lower a foot until the bubble shows what it never will: the foot goes loose first.
#[test]
fn a_foot_that_goes_loose_is_left_just_carrying() {
    let mut bed = bed(&survey(false), 1, &Scatter::none());
    let watch = Watch {
        line: Line::Cross,
        at: 0.98,
        target: -1e3,
        no_further: 2.0,
        no_further_back: 0.1,
    };
    let turned = bed.turn_watching(2, -0.25, &boundless(), &watch);
    assert!(!turned.reached);
    assert!(turned.counted > -2.0, "{turned:?}");
    let forces = bed.foot_forces();
    let mean = forces.iter().sum::<f64>() / forces.len() as f64;
    assert!(forces[2] > 0.0 && forces[2] < 0.25 * mean, "{forces:?}");
}

#[test]
fn a_screw_at_the_end_of_its_travel_says_so() {
    let mut survey = survey(true);
    survey.feet[0].highest_turns = Some(0.5);
    let mut bed = bed(&survey, 1, &Scatter::none());
    assert!((bed.turn(0, 3.0) - 2.0).abs() < 1e-12);
    let watch = Watch {
        line: Line::Cross,
        at: 0.12,
        target: 1e3,
        no_further: 40.0,
        no_further_back: 40.0,
    };
    let turned = bed.turn_watching(0, 1.0, &boundless(), &watch);
    assert!(turned.counted.abs() < 1e-12, "{turned:?}");
}

/// The beds scatter about the usual one as they are told to.
#[test]
fn stiffnesses_scatter_as_asked() {
    let survey = survey(true);
    let usual = BedModel::from_survey(&survey, &Reaches::usual(&survey));
    let mut bending = vec![];
    let mut feet = vec![];
    for seed in 0..200 {
        let bed = bed(&survey, seed, &Scatter::default());
        let real = bed.true_model();
        bending.push((real.bending_stiffness / usual.bending_stiffness).ln());
        feet.extend(
            real.feet
                .iter()
                .zip(&usual.feet)
                .map(|(real, usual)| (real.stiffness / usual.stiffness).ln()),
        );
    }
    let moments = |values: &[f64]| {
        let count = values.len() as f64;
        let mean = values.iter().sum::<f64>() / count;
        let square = values
            .iter()
            .map(|value| (value - mean).powi(2))
            .sum::<f64>()
            / count;
        (mean, square.sqrt())
    };
    // Four standard deviations of a mean and of a deviation of that many numbers.
    for (values, wanted) in [(bending, 0.5), (feet, 0.4)] {
        let (mean, deviation) = moments(&values);
        let room = 4.0 * wanted / (values.len() as f64).sqrt();
        assert!(mean.abs() < room, "mean {mean}, room {room}");
        assert!(
            (deviation - wanted).abs() < room,
            "deviation {deviation}, wanted {wanted}"
        );
    }
}

#[test]
fn a_machine_that_cannot_stand_is_refused() {
    let mut tipping = survey(false);
    tipping.machine.headstock = Some(PointMass {
        mass: 3000.0,
        at: 0.05,
    });
    let refused = VirtualBed::new(&tipping, 1, &Scatter::none());
    assert!(
        matches!(refused, Err(CannotStand::Tips { .. })),
        "{refused:?}"
    );
    let mut one_pair = survey(true);
    one_pair.feet.truncate(2);
    let refused = VirtualBed::new(&one_pair, 1, &Scatter::none());
    assert!(
        matches!(refused, Err(CannotStand::Unsupported(_))),
        "{refused:?}"
    );
}
