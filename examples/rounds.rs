//! How many rounds it takes: made-up beds are levelled by made-up hands, with several ways to plan.
//!
//! Every bed is unlike the planner's model of it (see `quarterturn::rehearse`): stiffnesses, feet, floor,
//! wear, threads and hands all scatter. A round is a pass and the turns made after it, rough ones counted.
//! It ends when the program says that the bed is inside its limits, or after eight rounds. Machines just set down differ in
//! feet, threads and levels; they are read where the program asks for it, with the level that it names, and get twelve rounds.
//!
//! Minutes are those at the machine until the program says stop, readings, walks and changes of the level as the planner counts them.
//!
//! `cargo run --release --example rounds [beds] [only this seed] [set-down]`; with the last one only machines that are read where
//! the program asks for it.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use nalgebra::{DMatrix, DVector};
use quarterturn::geometry::{
    Adjustment, BedShape, Judgement, LeastSquares, ReferenceLine, Verdict, Way,
};
use quarterturn::plan::{
    Advice, CardLine, LOOK_AGAIN_REACH, Look, THREAD_SLACK, TIMES_ROUND, ToRead, minutes, plan,
    to_read,
};
use quarterturn::rehearse::{Scatter, Stations, VirtualBed, Watch};
use quarterturn::response::{BedModel, Place, Reaches};
use quarterturn::survey::{Entry, Foot, Level, Line, Pass, Side, Survey};

/// Rounds after which a person gives up.
const MOST_ROUNDS: usize = 8;
const MOST_FROM_SET_DOWN: usize = 12;

/// How far a foot that is lowered goes past its mark before it comes back up, quarter-turns.
const PAST: f64 = 0.25;

/// What was turned is written down in whole steps of the machine's smallest turn, this many to the quarter.
const STEPS_TO_THE_QUARTER: f64 = 18.0;

/// How the turns are found.
#[derive(Clone, Copy, PartialEq)]
enum Planner {
    /// Each foot by itself: to the height of the best straight line at its place, rounded.
    NearestFoot,
    /// The beam model with its usual reaches, all feet at once, nothing learned.
    PlainBeam,
    /// The planner of this program.
    Full,
}

/// How the hand turns.
#[derive(Clone, Copy, PartialEq)]
enum HandOf {
    /// By count.
    Blind,
    /// By count, then by the bubble of the card.
    Watching,
}

/// Where the level is laid down.
#[derive(Clone, Copy, PartialEq)]
enum Walk {
    Chained,
    Sparse,
    /// Where the program asks for it.
    Asked,
}

#[derive(Clone, Copy)]
struct Row {
    planner: Planner,
    hand: HandOf,
    held_down: bool,
    walk: Walk,
    /// Whether the machine was just set down.
    set_down: bool,
}

/// What came of one bed.
struct Outcome {
    /// Rounds until the program said stop; `None` when it never did.
    rounds: Option<usize>,
    /// Whether the true bed was inside its limits at the end.
    inside: bool,
    /// Passes with the coarse level.
    coarse: usize,
    minutes: f64,
    log: String,
}

fn machine(held_down: bool) -> Survey {
    let text = format!(
        r#"format = 1
units = "mm"
[machine]
mass = "3100 kg"
headstock_mass = "700 kg"
headstock_at = 400
[bed]
length = 2900
way_spacing = 380
held_down = {held_down}
[feet]
at = [120, 980, 1840, 2700]
spacing = 360
lift_per_turn = 1.5
smallest_turn = "1/72"
[level.fine]
division = "0.02 mm/m"
base = 200
range = 10
repeat = 0.15
[level.coarse]
division = "0.1 mm/m"
base = 200
range = 12
repeat = 0.15
[limits]
twist = "0.04 mm/m"
crown = [0, 0.02]
"#
    );
    quarterturn::survey::read(&text).unwrap_or_else(|_| unreachable!("the text above is a survey"))
}

/// A machine that differs from seed to seed: 3 to 8 pairs of feet, threads of 0.35 to 2.5 mm, levels of 150 to 300 mm.
fn set_down(seed: u64, held_down: bool) -> Survey {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15);
    let mut pick = |choices: &[f64]| {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        choices[(state >> 33) as usize % choices.len()]
    };
    let pairs = pick(&[3.0, 4.0, 5.0, 6.0, 7.0, 8.0]);
    let apart = pick(&[650.0, 800.0, 950.0]);
    let (lift, base) = (
        pick(&[0.35, 0.5, 1.0, 1.5, 2.0, 2.5]),
        pick(&[150.0, 200.0, 300.0]),
    );
    let spacing = pick(&[320.0, 380.0, 450.0]);
    let length = (pairs - 1.0) * apart + 300.0;
    let at: Vec<f64> = (0..8)
        .map(f64::from)
        .filter(|k| *k < pairs)
        .map(|k| 150.0 + k * apart)
        .collect();
    let most = 0.01 * (1.0 + (length / 1000.0).ceil());
    let text = format!(
        r#"format = 1
units = "mm"
[machine]
mass = "{} kg"
[bed]
length = {length}
way_spacing = {spacing}
held_down = {held_down}
[feet]
at = {at:?}
lift_per_turn = {lift}
smallest_turn = "1/72"
[level.fine]
division = "0.02 mm/m"
base = {base}
range = 10
repeat = 0.15
[level.coarse]
division = "0.1 mm/m"
base = 300
range = 20
repeat = 0.15
[limits]
twist = "0.04 mm/m"
crown = [0, {most}]
"#,
        length * 1.1
    );
    quarterturn::survey::read(&text).unwrap_or_else(|_| unreachable!("the text above is a survey"))
}

fn stations(walk: Walk, length: f64, base: f64) -> Stations {
    let chained = Stations::chained(length, base);
    match walk {
        Walk::Chained | Walk::Asked => chained,
        Walk::Sparse => {
            let every = |stations: Vec<f64>, first: usize, step: usize| {
                stations.into_iter().skip(first).step_by(step).collect()
            };
            Stations {
                cross: every(chained.cross, 0, 2),
                cross_reversed: vec![],
                front: every(chained.front, 0, 2),
                rear: every(chained.rear, 1, 2),
            }
        }
    }
}

/// Twist and crowns of the true bed as the limits mean them.
fn truth(bed: &VirtualBed, survey: &Survey, level: &Level, all: &Stations) -> (f64, [f64; 2]) {
    let slopes: Vec<f64> = all
        .cross
        .iter()
        .filter_map(|at| bed.true_slope(level, Line::Cross, *at))
        .collect();
    let twist = quarterturn::geometry::reference_line::range(&slopes);
    let half = level.base.unwrap_or(0.0) / 2.0;
    let mut ends: Vec<f64> = all.front.iter().map(|at| at - half).collect();
    ends.extend(all.front.last().map(|at| at + half));
    let crown = [0.5, -0.5].map(|side| {
        let places: Vec<Place> = ends
            .iter()
            .map(|at| Place {
                at: *at,
                across: side * survey.bed.way_spacing,
            })
            .collect();
        ReferenceLine::EndPoints
            .departures(&ends, &bed.true_heights(&places))
            .into_iter()
            .fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a })
    });
    (twist, crown)
}

fn inside(survey: &Survey, twist: f64, crown: [f64; 2]) -> bool {
    let limits = &survey.limits;
    limits.twist.is_none_or(|limit| twist <= limit)
        && limits
            .crown
            .is_none_or(|[low, high]| crown.iter().all(|crown| (low..=high).contains(crown)))
}

fn off(pass: &Pass) -> usize {
    let entries = pass.readings.iter().map(|r| &r.entry);
    entries
        .filter(|entry| matches!(entry, Entry::OffScale(_)))
        .count()
}

/// The next pass and what it takes, minutes.
fn read(row: Row, survey: &Survey, bed: &mut VirtualBed) -> (Pass, f64) {
    let fine = &survey.levels["fine"];
    let base = fine.base.unwrap_or_default();
    let walk = stations(row.walk, survey.bed.length, base);
    let mut level = fine;
    let mut pass = match to_read(survey) {
        ToRead::Pass(next) if row.walk == Walk::Asked => {
            let walk = Stations {
                cross: next.stations.cross,
                cross_reversed: vec![],
                front: next.stations.front,
                rear: next.stations.rear,
            };
            level = &survey.levels[&next.level];
            bed.pack(next.packing);
            bed.take_pass(level, &walk)
        }
        _ => bed.take_pass(fine, &walk),
    };
    let mut minutes = 0.0;
    if row.walk != Walk::Asked && off(&pass) * 5 > pass.readings.len() {
        // Nobody writes a page of bubbles off the scale: the coarser level is taken at once.
        level = &survey.levels["coarse"];
        pass = bed.take_pass(level, &walk);
    }
    let before = survey.passes.last();
    if before.is_some_and(|before| before.level != level.name) {
        minutes += minutes::CHANGE_OF_LEVEL;
    }
    minutes += minutes::pass(pass.readings.len());
    (pass, minutes)
}

fn play(row: Row, seed: u64) -> Outcome {
    let (mut survey, scatter, most) = if row.set_down {
        let machine = set_down(seed, row.held_down);
        (machine, Scatter::just_set_down(), MOST_FROM_SET_DOWN)
    } else {
        (machine(row.held_down), Scatter::default(), MOST_ROUNDS)
    };
    let mut outcome = Outcome {
        rounds: None,
        inside: false,
        coarse: 0,
        minutes: 0.0,
        log: String::new(),
    };
    let Ok(mut bed) = VirtualBed::new(&survey, seed, &scatter) else {
        return outcome;
    };
    let fine = survey.levels["fine"].clone();
    let all = Stations::chained(survey.bed.length, fine.base.unwrap_or_default());
    for round in 0..=most {
        let (pass, minutes) = read(row, &survey, &mut bed);
        let level = survey.levels[&pass.level].clone();
        outcome.minutes += minutes;
        outcome.coarse += usize::from(level.name == "coarse");
        survey.passes.push(pass);
        let (twist, crown) = truth(&bed, &survey, &fine, &all);
        outcome.inside = inside(&survey, twist, crown);
        let (lines, looks, done, word) = match row.planner {
            Planner::Full => full(&survey, round),
            Planner::PlainBeam => plain(&survey, round, true),
            Planner::NearestFoot => plain(&survey, round, false),
        };
        let _ = writeln!(
            outcome.log,
            "  {round} {:6} {:2} readings, {} off, twist {:7.1} um/m, crown {:7.1} {:7.1} um, {} hanging, {}{word}",
            level.name,
            survey.passes[round].readings.len(),
            off(&survey.passes[round]),
            twist * 1e6,
            crown[0] * 1e6,
            crown[1] * 1e6,
            survey.passes[round].hanging.len(),
            if outcome.inside { "inside; " } else { "" },
        );
        if done {
            outcome.rounds = Some(round);
            break;
        }
        outcome.minutes += minutes::walk(&lines, &looks);
        let mut turned = BTreeMap::new();
        for line in &lines {
            let counted = turn(&mut bed, line, row.hand, &level);
            if line.quarter_turns != 0.0 {
                *turned.entry(line.foot).or_insert(0.0) += counted;
            }
        }
        // A bed that only rests on its feet is felt all round; on others none hangs.
        for foot in 0..survey.feet.len() {
            bed.seat(foot);
        }
        let times = if row.hand == HandOf::Watching {
            TIMES_ROUND
        } else {
            0
        };
        for look in (0..times).flat_map(|_| &looks) {
            *turned.entry(look.foot).or_insert(0.0) += look_again(&mut bed, look, &level);
        }
        for counted in turned.values_mut() {
            *counted = (*counted * STEPS_TO_THE_QUARTER).round() / STEPS_TO_THE_QUARTER;
        }
        survey.passes[round].turned = Some(turned);
    }
    outcome
}

fn turn(bed: &mut VirtualBed, line: &CardLine, hand: HandOf, level: &Level) -> f64 {
    match line.watch {
        _ if line.action == quarterturn::plan::Action::Seat => bed.seat(line.foot),
        Some(watch) if hand == HandOf::Watching => {
            let watch = Watch {
                line: watch.line,
                at: watch.at,
                target: (watch.to * 4.0).round() / 4.0,
                no_further: line.no_further,
                no_further_back: THREAD_SLACK,
            };
            bed.turn_watching(line.foot, line.quarter_turns, level, &watch)
                .counted
        }
        _ if line.quarter_turns < 0.0 => {
            // Too far down and back up, as the card says, so that the slack always lies the same way; a foot
            // that went loose is raised until it carries.
            let down = bed.turn(line.foot, line.quarter_turns - PAST);
            down + bed.turn(line.foot, PAST) + bed.seat(line.foot)
        }
        _ => bed.turn(line.foot, line.quarter_turns),
    }
}

fn look_again(bed: &mut VirtualBed, look: &Look, level: &Level) -> f64 {
    let watch = Watch {
        line: look.line,
        at: look.at,
        target: (look.shows * 4.0).round() / 4.0,
        no_further: LOOK_AGAIN_REACH,
        no_further_back: LOOK_AGAIN_REACH,
    };
    bed.turn_watching(look.foot, 0.0, level, &watch).counted
}

/// The program's own plan.
fn full(survey: &Survey, pass: usize) -> (Vec<CardLine>, Vec<Look>, bool, String) {
    match plan(survey, pass) {
        Ok(plan) => {
            let done = plan.advice.contains(&Advice::Done);
            let moved = plan.lines.iter().filter(|line| line.lift != 0.0).count();
            let watched = plan
                .lines
                .iter()
                .filter(|line| line.watch.is_some())
                .count();
            let word = format!("{moved} moves, {watched} watched, {:?}", plan.advice);
            (plan.lines, plan.looks, done, word)
        }
        Err(refusal) => (vec![], vec![], false, format!("{refusal:?}")),
    }
}

/// What a person does with the adjusted heights and no model, or with a model that never learns.
fn plain(survey: &Survey, pass: usize, beam: bool) -> (Vec<CardLine>, Vec<Look>, bool, String) {
    let this = &survey.passes[pass];
    let Some(adjustment) = survey.level_of(this).and_then(|level| {
        Adjustment::of(this, level, survey.bed.length, survey.bed.way_spacing).ok()
    }) else {
        return (vec![], vec![], false, "no readings".into());
    };
    let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
    let judged = Judgement::of(&shape, &survey.limits);
    if judged.overall() == Some(Verdict::Inside) {
        return (vec![], vec![], true, "inside".into());
    }
    let lifts = if beam {
        beam_lifts(survey, &shape)
    } else {
        foot_lifts(survey, &shape)
    };
    let lines = survey
        .feet
        .iter()
        .zip(lifts)
        .enumerate()
        .map(|(foot, (screw, lift))| {
            let step = screw.smallest_turn * screw.lift_per_turn;
            let lift = (lift / step).round() * step;
            CardLine {
                trip: 1,
                foot,
                action: if lift > 0.0 {
                    quarterturn::plan::Action::Raise
                } else {
                    quarterturn::plan::Action::Lower
                },
                quarter_turns: lift / screw.lift_per_quarter(),
                lift,
                watch: None,
                no_further: lift / screw.lift_per_quarter(),
            }
        })
        .collect();
    (lines, vec![], false, String::new())
}

/// How far a place lies above the crown that is wanted, m.
fn above(survey: &Survey, at: f64, height: f64) -> f64 {
    let crown = survey
        .limits
        .crown
        .map_or(0.0, |[low, high]| f64::midpoint(low, high));
    let s = at / survey.bed.length;
    height - 4.0 * crown * s * (1.0 - s)
}

fn way(shape: &BedShape, side: Side) -> Option<&Way> {
    match side {
        Side::Front => shape.front.as_ref(),
        Side::Rear => shape.rear.as_ref(),
    }
}

/// Each foot to where the way above it should be.
fn foot_lifts(survey: &Survey, shape: &BedShape) -> Vec<f64> {
    let lift = |foot: &Foot| {
        let points = way(shape, foot.side)
            .into_iter()
            .flat_map(|way| &way.points);
        let near = points.min_by(|a, b| (a.at - foot.at).abs().total_cmp(&(b.at - foot.at).abs()));
        near.map_or(0.0, |point| -above(survey, point.at, point.height))
    };
    survey.feet.iter().map(lift).collect()
}

/// All feet together, as the usual beam answers.
fn beam_lifts(survey: &Survey, shape: &BedShape) -> Vec<f64> {
    let feet: Vec<Place> = survey
        .feet
        .iter()
        .map(|foot| Place {
            at: foot.at,
            across: foot.across,
        })
        .collect();
    let mut places = Vec::new();
    let mut target = Vec::new();
    for (side, sign) in [(Side::Front, 0.5), (Side::Rear, -0.5)] {
        for point in way(shape, side).into_iter().flat_map(|way| &way.points) {
            places.push(Place {
                at: point.at,
                across: sign * survey.bed.way_spacing,
            });
            target.push(-above(survey, point.at, point.height));
        }
    }
    let bed = BedModel::weightless(survey.bed.length, &feet, true, &Reaches::usual(survey));
    let Ok(response) = bed.response() else {
        return vec![0.0; feet.len()];
    };
    // A plane is free: its three motions are unknowns too.
    let influence = response.influence(&places);
    let design = DMatrix::from_fn(places.len(), feet.len() + 3, |i, j| {
        match j.checked_sub(feet.len()) {
            None => influence[(i, j)],
            Some(0) => 1.0,
            Some(1) => places[i].at,
            Some(_) => places[i].across,
        }
    });
    let solved = LeastSquares::new(design, DVector::from_vec(target)).solve();
    solved
        .unknowns
        .rows(0, feet.len())
        .iter()
        .copied()
        .collect()
}

fn main() {
    let mut arguments = std::env::args()
        .skip(1)
        .filter_map(|n| n.parse::<u64>().ok());
    let beds = arguments.next().unwrap_or(200);
    let only = arguments.next();
    println!("{beds} made-up beds a row, up to {MOST_ROUNDS} rounds each\n");
    println!(
        "{:<13} {:<9} {:<10} {:<8} {:>7} {:>7} {:>9} {:>8} {:>12} {:>8} {:>9} {:>7}",
        "planner",
        "hand",
        "bed",
        "readings",
        "inside",
        "median",
        "nine in 10",
        "most",
        "false stops",
        "minutes",
        "nine in 10",
        "coarse"
    );
    let asked_only = std::env::args().any(|argument| argument == "set-down");
    let mut rows = Vec::new();
    for held_down in [true, false] {
        for walk in [Walk::Chained, Walk::Sparse] {
            for (planner, hand) in [
                (Planner::NearestFoot, HandOf::Blind),
                (Planner::PlainBeam, HandOf::Blind),
                (Planner::Full, HandOf::Blind),
                (Planner::Full, HandOf::Watching),
            ] {
                rows.push(Row {
                    planner,
                    hand,
                    held_down,
                    walk,
                    set_down: false,
                });
            }
        }
    }
    for (held_down, set_down) in [(true, false), (false, false), (true, true), (false, true)] {
        rows.push(Row {
            planner: Planner::Full,
            hand: HandOf::Watching,
            held_down,
            walk: Walk::Asked,
            set_down,
        });
    }
    rows.retain(|row| !asked_only || row.walk == Walk::Asked);
    for row in rows {
        if let Some(seed) = only {
            if row.planner == Planner::Full {
                let outcome = play(row, seed);
                println!("{}\n{}", name(row), outcome.log);
            }
            continue;
        }
        let outcomes = all(row, beds);
        let stopped: Vec<&Outcome> = outcomes.iter().filter(|o| o.rounds.is_some()).collect();
        let good = stopped.iter().filter(|o| o.inside).count();
        let mut rounds: Vec<usize> = outcomes
            .iter()
            .map(|o| if o.inside { o.rounds } else { None }.unwrap_or(usize::MAX))
            .collect();
        rounds.sort_unstable();
        let at = |percent: usize| {
            let index = (rounds.len() * percent).div_ceil(100).saturating_sub(1);
            match rounds.get(index) {
                Some(&rounds) if rounds != usize::MAX => rounds.to_string(),
                _ => "never".into(),
            }
        };
        let mut taken: Vec<f64> = outcomes
            .iter()
            .map(|o| o.rounds.map_or(f64::INFINITY, |_| o.minutes))
            .collect();
        taken.sort_by(f64::total_cmp);
        let minutes = |percent: usize| {
            let index = (taken.len() * percent).div_ceil(100).saturating_sub(1);
            match taken.get(index) {
                Some(minutes) if minutes.is_finite() => format!("{minutes:.0}"),
                _ => "never".into(),
            }
        };
        println!(
            "{} {:>6.1}% {:>7} {:>10} {:>8} {:>5} of {:<3} {:>8} {:>10} {:>7.1}",
            name(row),
            100.0 * good as f64 / outcomes.len() as f64,
            at(50),
            at(90),
            at(100),
            stopped.len() - good,
            stopped.len(),
            minutes(50),
            minutes(90),
            outcomes.iter().map(|o| o.coarse).sum::<usize>() as f64 / outcomes.len() as f64,
        );
    }
}

fn name(row: Row) -> String {
    format!(
        "{:<13} {:<9} {:<10} {:<8}",
        match row.planner {
            Planner::NearestFoot => "nearest foot",
            Planner::PlainBeam => "plain beam",
            Planner::Full => "full",
        },
        match row.hand {
            HandOf::Blind => "blind",
            HandOf::Watching => "watching",
        },
        match (row.held_down, row.set_down) {
            (true, false) => "held down",
            (false, false) => "free",
            (true, true) => "set, held",
            (false, true) => "set, free",
        },
        match row.walk {
            Walk::Chained => "chained",
            Walk::Sparse => "sparse",
            Walk::Asked => "as asked",
        }
    )
}

/// Plays all beds, on as many threads as there are cores.
fn all(row: Row, beds: u64) -> Vec<Outcome> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from) as u64;
    let mut outcomes: Vec<(u64, Outcome)> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..threads)
            .map(|worker| {
                scope.spawn(move || {
                    (0..beds)
                        .filter(|seed| seed % threads == worker)
                        .map(|seed| (seed, play(row, seed)))
                        .collect::<Vec<_>>()
                })
            })
            .collect();
        workers
            .into_iter()
            .filter_map(|worker| worker.join().ok())
            .flatten()
            .collect()
    });
    outcomes.sort_by_key(|(seed, _)| *seed);
    outcomes.into_iter().map(|(_, outcome)| outcome).collect()
}
