//! What the plan has to say beside the turns, and when.

use nalgebra::{DMatrix, DVector};

use super::advice::Advice;
use super::departures::Kind;
use super::footing::Footing;
use super::next_pass::NextPass;
use super::objective::Objective;
use super::prediction::keeps;
use super::resting::farthest;
use super::steps::{Budget, Lifts, Solved, Steps};
use super::strip::{FEELERS, MANY_OFF_SCALE};
use super::trips::LARGEST_TRIP;
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::warmth::{AIR_DIFFERENCE, WORTH_A_WORD, top_over_below};
use crate::geometry::{Passes, ZeroError};
use crate::response::History;
use crate::survey::{AimShape, Entry, Level, Line, Pass, Survey};

/// Parts of a turn that are asked for when the survey's are too coarse, coarsest first, turns.
const USUAL_TURNS: [f64; 6] = [
    1.0 / 4.0,
    1.0 / 8.0,
    1.0 / 12.0,
    1.0 / 24.0,
    1.0 / 36.0,
    1.0 / 72.0,
];

/// A finer level is advised when every reading it would show stays below this share of its range.
const FINER_LEVEL_SHARE: f64 = 0.7;

/// A pass of which most is still to be read, as when somebody stopped on the way.
pub(super) fn unfinished(pass: &Pass, advice: &mut Vec<Advice>) {
    // Turning the level end for end is done at one or two places only.
    let stations = pass.readings.iter().filter(|reading| !reading.reversed);
    let of = stations.clone().count();
    let read = stations
        .filter(|reading| reading.entry != Entry::Missing)
        .count();
    if 2 * read < of {
        advice.push(Advice::Unfinished { read, of });
    }
}

/// A round that cannot be learned from, since nobody wrote down what was turned in it.
pub(super) fn not_recorded(survey: &Survey, pass: usize, advice: &mut Vec<Advice>) {
    let before = pass.checked_sub(1).and_then(|k| survey.passes.get(k));
    if before.is_some_and(|before| before.turned.is_none()) {
        advice.push(Advice::TurnsNotRecorded { pass });
    }
}

/// The way back onto the scale where one line, judged by itself, has left it: the coarser level; where there is none, a strip
/// under the low end of the level, which changes no shape. Where the whole bed is to be level, or another look was in vain, it is turned
/// instead.
pub(super) fn back_on_the_scale(
    survey: &Survey,
    pass: &Pass,
    level: &Level,
    in_vain: bool,
    advice: &mut Vec<Advice>,
) {
    let Some([across, along]) = off_scale(pass).filter(|_| !in_vain) else {
        return;
    };
    let coarser = survey.levels.values();
    if !coarser.clone().any(|other| other.division > level.division)
        && survey.aim.shape != AimShape::Level
    {
        let packed = [
            pack(&across, level, false, survey.bed.way_spacing),
            pack(&along, level, true, level.base.unwrap_or(0.0)),
        ];
        let before = advice.len();
        advice.extend(packed.into_iter().flatten());
        if advice.len() > before {
            return;
        }
    }
    take_coarser(survey, level, advice);
}

/// Whether the pass before saw no more of the bed than this one, both off the scale of the coarsest level there is and nothing
/// turned between them: a third look would not either, with or without a strip, and the bed is tipped by what it leans at least.
pub(super) fn looked_in_vain(survey: &Survey, pass: usize, level: &Level) -> bool {
    let mut levels = survey.levels.values();
    let coarsest = levels.all(|other| other.division <= level.division);
    let before = pass.checked_sub(1).filter(|_| coarsest);
    before.is_some_and(|before| {
        let before = &survey.passes[before];
        let turned = before.turned.as_ref();
        let still = turned.is_some_and(|turned| turned.values().all(|quarters| *quarters == 0.0));
        let passes = [before, &survey.passes[pass]];
        still && before.level == level.name && passes.iter().all(|pass| off_scale(pass).is_some())
    })
}

/// Which ends of the scale the bubble was beyond, reading by reading across and along, on a pass of which some line was off the scale
/// at more places than can be missed.
fn off_scale(pass: &Pass) -> Option<[Vec<Option<f64>>; 2]> {
    let mut left = false;
    let (mut across, mut along) = (Vec::new(), Vec::new());
    for line in [Line::Cross, Line::Front, Line::Rear] {
        let taken = pass
            .readings
            .iter()
            .filter(|reading| reading.line == line && reading.entry != Entry::Missing);
        let ends: Vec<Option<f64>> = taken
            .map(|reading| match reading.entry {
                Entry::OffScale(end) => Some(end),
                _ => None,
            })
            .collect();
        let off = ends.iter().flatten().count();
        left |= off as f64 > MANY_OFF_SCALE * ends.len() as f64;
        match line {
            Line::Cross => across.extend(ends),
            Line::Front | Line::Rear => along.extend(ends),
        }
    }
    left.then_some([across, along])
}

/// Whether it brings the bubble back without a foot turned.
pub(super) fn another_look(advice: &Advice) -> bool {
    match advice {
        Advice::PackLevel { .. } => true,
        Advice::CoarserLevel { name } => name.is_some(),
        _ => false,
    }
}

/// A bed that is to be level leans by what the zero error of the level is, until the level is reversed once.
pub(super) fn reverse_once(passes: &Passes, pass: usize, advice: &mut Vec<Advice>) {
    let Ok(told) = passes.told(pass) else {
        return;
    };
    let aim = passes.survey().aim.shape;
    let [across, along] =
        [false, true].map(|along| told.shape().zero_error(along, aim) == ZeroError::Needed);
    if across || along {
        advice.push(Advice::ReverseOnce { across, along });
    }
}

/// A bed that was not of one temperature, or is of another one than before.
pub(super) fn warm(passes: &Passes, pass: usize, advice: &mut Vec<Advice>) {
    let all = &passes.survey().passes;
    let air = |index: usize| all.get(index)?.conditions.temperature.air;
    let before = pass.checked_sub(1).and_then(air);
    let change = before.zip(air(pass)).map(|(before, now)| now - before);
    let kelvin = top_over_below(&all[pass]).filter(|kelvin| kelvin.abs() >= WORTH_A_WORD);
    let air = change.filter(|kelvin| kelvin.abs() > AIR_DIFFERENCE);
    if kelvin.is_some() || air.is_some() {
        let told = passes.told(pass).ok();
        advice.push(Advice::Warm {
            top_over_below: kelvin,
            bow: told
                .and_then(|told| told.adjustment.bow())
                .filter(|_| kelvin.is_some()),
            air,
        });
    }
}

/// The strip that takes a line that leans off the scale as a whole from the end of the scale to its middle.
fn pack(ends: &[Option<f64>], level: &Level, along: bool, over: f64) -> Option<Advice> {
    let off: Vec<f64> = ends.iter().copied().collect::<Option<_>>()?;
    let end = off
        .iter()
        .copied()
        .reduce(|a, b| if b.abs() < a.abs() { b } else { a })?;
    if off.iter().any(|other| other * end < 0.0) {
        return None;
    }
    // Under the low end.
    let height = -end.signum() * (end.abs() * level.division * over / FEELERS).ceil() * FEELERS;
    let line = if along { Line::Front } else { Line::Cross };
    (height != 0.0).then_some(Advice::PackLevel { line, height })
}

/// With which level the next pass is taken, and what to lay under it: that comes before anything else, for it has to be at
/// hand. As long as a finer level is at hand nothing is too small to be seen.
pub(super) fn prepare(
    survey: &Survey,
    level: &Level,
    next_pass: &NextPass,
    advice: &mut Vec<Advice>,
) {
    let division = survey
        .levels
        .get(&next_pass.level)
        .map_or(level.division, |next| next.division);
    let finer = division < level.division;
    let name = next_pass.level.clone();
    advice.retain(|advice| match advice {
        Advice::FinerLevel { .. } | Advice::CoarserLevel { name: Some(_) } => false,
        // The next pass knows its own strip, and with another level none is needed.
        Advice::PackLevel { line, .. } => {
            next_pass.packing.on(*line) == 0.0 && next_pass.level == level.name
        }
        Advice::BelowReadings | Advice::ReadAgain { .. } | Advice::TurnsUnclear => !finer,
        _ => true,
    });
    if finer {
        advice.push(Advice::FinerLevel { name });
    } else if division > level.division {
        advice.insert(0, Advice::CoarserLevel { name: Some(name) });
    }
    let strips = [Line::Cross, Line::Front].into_iter().filter_map(|line| {
        let height = next_pass.packing.on(line);
        (height != 0.0).then_some(Advice::PackLevel { line, height })
    });
    for (place, strip) in strips.enumerate() {
        advice.insert(place, strip);
    }
}

/// Asks once for the survey's level with the next coarser graduation; for one that it does not know only where no strip would do.
pub(super) fn take_coarser(survey: &Survey, level: &Level, advice: &mut Vec<Advice>) {
    let name = survey
        .levels
        .values()
        .filter(|other| other.division > level.division)
        .min_by(|a, b| a.division.total_cmp(&b.division))
        .map(|other| other.name.clone());
    let mut others = advice.iter();
    let packed = others.any(|advice| matches!(advice, Advice::PackLevel { .. }));
    let coarser = Advice::CoarserLevel { name };
    let known = coarser != Advice::CoarserLevel { name: None };
    if (known || !packed) && !advice.contains(&coarser) {
        advice.push(coarser);
    }
}

/// Whether the survey knows a finer level than this one.
pub(super) fn knows_finer(survey: &Survey, level: &Level) -> bool {
    let mut levels = survey.levels.values();
    levels.any(|other| other.division < level.division)
}

pub(super) fn finer_level(survey: &Survey, pass: &Pass, level: &Level, advice: &mut Vec<Advice>) {
    let largest = pass
        .readings
        .iter()
        .map(|reading| match &reading.entry {
            Entry::Missing => 0.0,
            Entry::Read(seen) => seen.iter().fold(0.0, |a: f64, b| a.max(b.abs())),
            Entry::OffScale(_) => f64::INFINITY,
        })
        .fold(0.0, f64::max)
        * level.division;
    let finer = survey
        .levels
        .values()
        .filter(|other| other.division < level.division)
        .filter(|other| {
            other
                .range
                .is_none_or(|range| largest <= FINER_LEVEL_SHARE * range * other.division)
        })
        .min_by(|a, b| a.division.total_cmp(&b.division));
    if let Some(finer) = finer {
        advice.push(Advice::FinerLevel {
            name: finer.name.clone(),
        });
    }
}

/// Records that contradict the readings; a foot of which none agrees, and there are several, goes the other way.
pub(super) fn contradicted(survey: &Survey, history: &History, advice: &mut Vec<Advice>) {
    let doubted = history.contradicted();
    for &(pass, foot) in doubted {
        let of_foot = doubted.iter().filter(|record| record.1 == foot).count();
        let passes = survey.passes.iter();
        let turned = passes.filter_map(|pass| pass.turned.as_ref()?.get(&foot));
        let kind = if of_foot > 1 && turned.filter(|turns| **turns != 0.0).count() == of_foot {
            Advice::Backwards { foot }
        } else {
            Advice::CheckRecord {
                pass: pass + 1,
                foot,
            }
        };
        if !advice.contains(&kind) {
            advice.push(kind);
        }
    }
}

/// Feet that are turned by count alone and left because one step is too long.
pub(super) fn steps_too_long(survey: &Survey, steps: &Steps, advice: &mut Vec<Advice>) {
    let too_long = |foot: &usize| steps.lift[*foot] > LARGEST_TRIP;
    advice.extend(
        (0..survey.feet.len())
            .filter(too_long)
            .map(|foot| Advice::StepTooLong {
                foot,
                lift: steps.lift[foot],
            }),
    );
}

/// What the rounds have shown about single feet.
pub(super) fn answers(history: &History, advice: &mut Vec<Advice>) {
    let answer = history.answer();
    if answer.rounds == 0 {
        return;
    }
    for (foot, share) in answer.effectiveness.iter().enumerate() {
        let u95 = COVERAGE_95 * answer.deviation[2 + foot];
        let mut doubted = history.contradicted().iter();
        if doubted.any(|record| record.1 == foot) {
            continue;
        }
        if share - u95 <= 0.0 && share + u95 < 0.35 {
            advice.push(Advice::Still { foot });
        } else if share + u95 < 0.7 || share - u95 > 1.4 {
            advice.push(Advice::Answers {
                foot,
                share: *share,
                u95,
            });
        }
    }
}

/// Whether finer steps than these would bring the bed inside with every foot carrying, and which; if none would, what is
/// left is wear.
pub(super) fn too_coarse(
    survey: &Survey,
    pass: &Pass,
    objective: &Objective,
    footing: &Footing,
    steps: &Steps,
    advice: &mut Vec<Advice>,
) {
    let certain = DMatrix::zeros(0, survey.feet.len());
    let sure = Lifts::of(objective, footing, &certain);
    let influence = footing.all_carrying().influence;
    let farthest = farthest(objective, footing, survey);
    let still = vec![false; survey.feet.len()];
    let budget = Budget::of_a_card();
    let coarsest = survey
        .feet
        .iter()
        .map(|foot| foot.smallest_turn)
        .fold(0.0, f64::max);
    let kept = |steps: &Steps| {
        let solved = sure.solve(steps, &still, &budget);
        let left = objective.after(&(&*influence * &solved.lifts));
        (keeps(objective, &left, survey), left)
    };
    let by = |turn: f64| kept(&Steps::counted(survey, &pass.hanging, farthest, Some(turn)));
    if kept(steps).0 == Some(true) {
        // The steps would do; it is doubt about the bed that makes this round careful.
        return;
    }
    for turn in USUAL_TURNS
        .into_iter()
        .filter(|turn| *turn < coarsest * 0.999)
    {
        if by(turn).0 == Some(true) {
            advice.push(Advice::StepsTooCoarse { needs: Some(turn) });
            return;
        }
    }
    let [.., finest] = USUAL_TURNS;
    let (_, left) = by(finest);
    wear(objective, &(left - &objective.target), advice);
}

/// What even the finest steps leave on a way is wear, where it is certain.
fn wear(objective: &Objective, left: &DVector<f64>, advice: &mut Vec<Advice>) {
    let worst = (0..left.len())
        .filter_map(|i| match objective.kind[i] {
            Kind::OffLine(side) => Some((i, side)),
            _ => None,
        })
        .max_by(|a, b| left[a.0].abs().total_cmp(&left[b.0].abs()));
    if let Some((i, side)) = worst {
        let u95 = COVERAGE_95 * objective.root.row(i).norm();
        if left[i].abs() > u95 {
            advice.push(Advice::Wear {
                side,
                at: objective.at[i],
                height: left[i],
                u95,
            });
        }
    }
}

pub(super) fn out_of_travel(steps: &Steps, solved: &Solved, advice: &mut Vec<Advice>) {
    for (foot, (taken, (lowest, highest))) in solved.steps.iter().zip(&steps.bounds).enumerate() {
        if *taken != 0 && (taken == lowest || taken == highest) {
            advice.push(Advice::OutOfTravel { foot });
        }
    }
}
