//! How many rounds it takes: made-up beds are levelled by made-up hands, with several ways to plan.
//!
//! Every bed is unlike the planner's model of it (see `quarterturn::rehearse`): stiffnesses, feet, floor,
//! wear, threads and hands all scatter. A round is a pass and the turns made after it, rough ones counted.
//! It ends when the program says that the bed is inside its limits, or after eight rounds.
//!
//! `cargo run --release --example rounds [beds] [only this seed]`

use std::collections::BTreeMap;
use std::fmt::Write as _;

use nalgebra::{DMatrix, DVector};
use quarterturn::geometry::{
    Adjustment, BedShape, Judgement, LeastSquares, ReferenceLine, Verdict, Way,
};
use quarterturn::plan::{
    Advice, CardLine, LOOK_AGAIN_REACH, Look, THREAD_SLACK, TIMES_ROUND, plan,
};
use quarterturn::rehearse::{Scatter, Stations, VirtualBed, Watch};
use quarterturn::response::{BedModel, Place, Reaches};
use quarterturn::survey::{Foot, Level, Line, Pass, Side, Survey};

/// Rounds after which a person gives up.
const MOST_ROUNDS: usize = 8;

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
}

#[derive(Clone, Copy)]
struct Row {
    planner: Planner,
    hand: HandOf,
    held_down: bool,
    walk: Walk,
}

/// What came of one bed.
struct Outcome {
    /// Rounds until the program said stop; `None` when it never did.
    rounds: Option<usize>,
    /// Whether the true bed was inside its limits at the end.
    inside: bool,
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

fn stations(walk: Walk, length: f64, base: f64) -> Stations {
    let chained = Stations::chained(length, base);
    match walk {
        Walk::Chained => chained,
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

fn play(row: Row, seed: u64) -> Outcome {
    let mut survey = machine(row.held_down);
    let mut outcome = Outcome {
        rounds: None,
        inside: false,
        log: String::new(),
    };
    let Ok(mut bed) = VirtualBed::new(&survey, seed, &Scatter::default()) else {
        return outcome;
    };
    let fine = survey.levels["fine"].clone();
    let coarse = survey.levels["coarse"].clone();
    let all = Stations::chained(survey.bed.length, 0.2);
    let walk = stations(row.walk, survey.bed.length, 0.2);
    let mut level = fine.clone();
    for round in 0..=MOST_ROUNDS {
        let mut pass = bed.take_pass(&level, &walk);
        let off = |pass: &Pass| {
            pass.readings
                .iter()
                .filter(|r| matches!(r.entry, quarterturn::survey::Entry::OffScale(_)))
                .count()
        };
        if off(&pass) * 5 > pass.readings.len() && level.name == "fine" {
            // Nobody writes a page of bubbles off the scale: the coarser level is taken at once.
            level = coarse.clone();
            pass = bed.take_pass(&level, &walk);
        }
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
            "  {round} {:6} twist {:7.1} um/m, crown {:7.1} {:7.1} um, {} hanging, {}{word}",
            level.name,
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
        level = fine.clone();
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
        "{:<13} {:<9} {:<10} {:<8} {:>7} {:>7} {:>9} {:>8} {:>12}",
        "planner",
        "hand",
        "bed",
        "readings",
        "inside",
        "median",
        "nine in 10",
        "most",
        "false stops"
    );
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
                });
            }
        }
    }
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
        println!(
            "{} {:>6.1}% {:>7} {:>10} {:>8} {:>5} of {}",
            name(row),
            100.0 * good as f64 / outcomes.len() as f64,
            at(50),
            at(90),
            at(100),
            stopped.len() - good,
            stopped.len(),
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
        if row.held_down { "held down" } else { "free" },
        match row.walk {
            Walk::Chained => "chained",
            Walk::Sparse => "sparse",
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
