//! The plan of one round.

use super::advice::Advice;
use super::advising::{
    another_look, answers, back_on_the_scale, contradicted, finer_level, knows_finer,
    looked_in_vain, not_recorded, out_of_travel, prepare, reverse_once, steps_too_long,
    take_coarser, too_coarse, unfinished, warm,
};
use super::card::{Proof, TurnPlan};
use super::choosing::{self, Forced, Worked};
use super::facing::Facing;
use super::first_pass::first_passes;
use super::footing::Footing;
use super::loads::loads;
use super::minutes;
use super::next_pass::{NextPass, next_pass};
use super::objective::Objective;
use super::prediction::meant;
use super::pulled_down::pulled_down;
use super::standing::{Standing, passes_to_settle};
use super::steps::Steps;
use crate::geometry::{Passes, Verdict};
use crate::response::{NoHistory, lifts};
use crate::survey::{Level, Line, Packing, Pass, Survey};

/// Why there is no plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoPlan {
    /// The survey has no pass with this number.
    NoPass,
    /// The pass holds no reading.
    NoReadings,
    /// The readings tell neither twist nor crown.
    NothingKnown,
    /// The feet do not hold the bed.
    Unsupported(crate::response::Unsupported),
}

impl From<NoHistory> for NoPlan {
    fn from(reason: NoHistory) -> Self {
        match reason {
            NoHistory::NoReadings => Self::NoReadings,
            NoHistory::NoLevel => Self::NoPass,
            NoHistory::Unsupported(reason) => Self::Unsupported(reason),
        }
    }
}

/// Plans the turns after the pass with this index.
pub fn plan(survey: &Survey, pass: usize) -> Result<TurnPlan, NoPlan> {
    after(&Passes::of(survey), pass)
}

/// The same of passes that may be known by themselves already.
pub fn after(passes: &Passes, pass: usize) -> Result<TurnPlan, NoPlan> {
    faced(passes, pass, Turned::AsPlanned)
}

/// The same with the next pass as what was turned since then leaves it to be read.
pub(super) fn after_turning(survey: &Survey, pass: usize) -> Result<TurnPlan, NoPlan> {
    faced(&Passes::of(survey), pass, Turned::AsRecorded)
}

/// What the next pass comes after.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Turned {
    /// The turns of the plan.
    AsPlanned,
    /// What is written down, where it is.
    AsRecorded,
}

fn faced(passes: &Passes, pass: usize, turned: Turned) -> Result<TurnPlan, NoPlan> {
    let survey = passes.survey();
    let mut facing = Facing::of(survey);
    // As long as its anchors are slack a bed that is going to be held down only rests on its feet: every one of them is to bear before
    // a nut is pulled.
    let rests = survey.passes.get(pass).is_some_and(Pass::slack);
    if facing.survey == *survey && !(rests && survey.bed.held_down()) {
        return seen(passes, pass, turned);
    }
    if rests {
        facing.survey.bed.held_down = Some(false);
    }
    Ok(facing.back(seen(&Passes::of(&facing.survey), pass, turned)?))
}

/// The same of passes as they are seen from the corner that is planned from.
fn seen(passes: &Passes, pass: usize, turned: Turned) -> Result<TurnPlan, NoPlan> {
    let survey = passes.survey();
    let this = survey.passes.get(pass).ok_or(NoPlan::NoPass)?;
    let level = survey.level_of(this).ok_or(NoPlan::NoPass)?;
    let stands = Standing::of(passes, pass, level)?;
    let Standing {
        history,
        objective,
        judged,
        ..
    } = &stands;
    let standing = stands.verdict;
    let mut advice = Vec::new();
    let blind = objective.is_empty();
    let in_vain = looked_in_vain(survey, pass, level);
    back_on_the_scale(survey, this, level, in_vain, &mut advice);
    if objective.kind.is_empty() || blind && !judged.off_scale() {
        return Err(NoPlan::NothingKnown);
    }
    // With nothing to go by but where the scale ends, another look costs less than a rough walk.
    let look_first = blind && advice.iter().any(another_look);
    reverse_once(passes, pass, &mut advice);
    warm(passes, pass, &mut advice);
    let before = advice.len();
    advice.extend(judged.suspect());
    contradicted(survey, history, &mut advice);
    // What is in doubt is looked at before anything is said of steps or wear.
    let mut in_doubt = advice.len() - before;
    let first = advice.len();
    as_found(passes, pass, &stands, &mut advice);

    let footing = Footing::of(survey, history, objective);
    let at_rest = || choosing::at_rest(survey, this, level, &stands, &footing);
    let worked = if standing == Some(Verdict::Inside) {
        advice.insert(first, stands.kept());
        at_rest()
    } else if look_first {
        at_rest()
    } else if standing == Some(Verdict::Unsure) && judged.off_scale() && !in_vain {
        // A strip or another level costs a few readings, and may show that nothing need be turned.
        not_turned(passes, pass, level, &stands, in_doubt, &mut advice);
        at_rest()
    } else {
        not_recorded(survey, pass, &mut advice);
        let (chosen, forced) = choosing::turned(survey, this, level, &stands, &footing);
        in_doubt += usize::from(forced.is_some());
        let all_at_once = |Forced { foot, share, part }| Advice::Forced { foot, share, part };
        advice.splice(first..first, forced.map(all_at_once));
        chosen.unwrap_or_else(|| {
            not_turned(passes, pass, level, &stands, in_doubt, &mut advice);
            at_rest()
        })
    };
    let moved = footing.after(&worked.solved.lifts).moved;
    let done = advice.contains(&Advice::Done);
    let next_pass = (!done)
        .then(|| to_come(survey, pass, &stands, &worked, &footing, turned))
        .flatten()
        .or_else(|| first_on_the_scale(survey, level, &advice));
    if let Some(next_pass) = &next_pass {
        prepare(survey, level, next_pass, &mut advice);
    }
    let Worked {
        solved,
        steps,
        card,
        ..
    } = worked;
    let predicted = if solved.lifts.amax() > 0.0 {
        let left = objective.after(&moved);
        let error = &objective.heights * card.error();
        let predicted = meant(objective, &left, &error, survey);
        if predicted.within_limits == Some(false) && in_doubt == 0 {
            too_coarse(survey, this, objective, &footing, &steps, &mut advice);
        }
        out_of_travel(&steps, &solved, &mut advice);
        if next_pass.is_none() {
            finer_level(survey, this, level, &mut advice);
        }
        predicted
    } else {
        if standing == Some(Verdict::Outside) && in_doubt == 0 {
            out_of_reach(survey, this, objective, &footing, &steps, &mut advice);
        }
        stands.now.clone()
    };
    if standing != Some(Verdict::Inside) {
        steps_too_long(survey, &steps, &mut advice);
    }
    // A form that nobody has seen tells no loads.
    let loads = if blind {
        None
    } else {
        loads(survey, this, &footing, &solved.lifts, &mut advice)
    };
    Ok(TurnPlan {
        rests: !survey.bed.held_down(),
        lines: card.lines,
        looks: card.looks,
        moved,
        predicted,
        proof: solved.gap.map_or(Proof::Optimal, Proof::Gap),
        advice,
        next_pass,
        loads,
    })
}

/// The next pass.
fn to_come(
    survey: &Survey,
    pass: usize,
    stands: &Standing,
    worked: &Worked<'_>,
    footing: &Footing,
    turned: Turned,
) -> Option<NextPass> {
    let recorded = survey.passes[pass].turned.as_ref();
    if let Some(turned) = recorded.filter(|_| turned == Turned::AsRecorded) {
        let moved = footing.after(&lifts(survey, Some(turned))).moved;
        next_pass(survey, pass, stands, worked, &moved, 0.0)
    } else {
        let walk = minutes::walk(&worked.card.lines, &worked.card.looks);
        let moved = footing.after(&worked.solved.lifts).moved;
        next_pass(survey, pass, stands, worked, &moved, walk)
    }
}

/// Where nothing is known but that the bubble was off its scale: the first pass once more with what is to bring it back.
fn first_on_the_scale(survey: &Survey, level: &Level, advice: &[Advice]) -> Option<NextPass> {
    let mut packing = Packing::default();
    let mut name = None;
    for advice in advice {
        match advice {
            Advice::PackLevel { line, height } if *line == Line::Cross => packing.cross = *height,
            Advice::PackLevel { height, .. } => packing.along = *height,
            Advice::CoarserLevel {
                name: Some(coarser),
            } => name = Some(coarser),
            _ => {}
        }
    }
    let is_packed = packing != Packing::default();
    let name = name.or(is_packed.then_some(&level.name))?;
    let ways = first_passes(survey);
    let first = ways.iter().find(|way| way.level.name == *name)?;
    let same = *name == level.name;
    Some(NextPass {
        packing: if same { packing } else { Packing::default() },
        ..first.next_pass()
    })
}

/// What these feet cannot mend, on a bed at which nothing is turned.
fn out_of_reach(
    survey: &Survey,
    this: &Pass,
    objective: &Objective,
    footing: &Footing,
    steps: &Steps,
    advice: &mut Vec<Advice>,
) {
    too_coarse(survey, this, objective, footing, steps, advice);
    let reason =
        |advice: &Advice| matches!(advice, Advice::StepsTooCoarse { .. } | Advice::Wear { .. });
    if advice.iter().any(reason) {
        // The readings see well enough what these feet cannot mend.
        advice.retain(|advice| *advice != Advice::TurnsUnclear);
    }
}

/// What the pass leaves out, what was done to the bed before it, and how its feet answered.
fn as_found(passes: &Passes, pass: usize, stands: &Standing, advice: &mut Vec<Advice>) {
    unfinished(&passes.survey().passes[pass], advice);
    if !stands.unread.is_empty() {
        advice.push(Advice::Unread {
            feet: stands.unread.clone(),
        });
    }
    let bearing = stands.history.bearing();
    // Which feet bear is told by the form, as far as it is seen, and asked as long as something is to be turned.
    let asked = stands.verdict != Some(Verdict::Inside) && !stands.objective.is_empty();
    let bearing = bearing.filter(|_| asked);
    let doubtful = bearing.and_then(|bearing| bearing.doubtful);
    advice.extend(doubtful.map(|foot| Advice::Feel { foot }));
    advice.extend(pulled_down(passes, pass));
    let moved = stands.history.moved_by_itself();
    advice.extend(moved.map(|pass| Advice::Moved { pass }));
    answers(&stands.history, advice);
}

/// What to say where no turns are worth taking on a bed that is not inside.
fn not_turned(
    passes: &Passes,
    pass: usize,
    level: &Level,
    stands: &Standing,
    in_doubt: usize,
    advice: &mut Vec<Advice>,
) {
    let survey = passes.survey();
    let this = &survey.passes[pass];
    match stands.verdict {
        // The level is what to change, not how often it is read.
        Some(Verdict::Unsure) | None if stands.judged.off_scale() => {
            take_coarser(survey, level, advice);
        }
        Some(Verdict::Unsure) => advice.push(Advice::ReadAgain {
            passes: passes_to_settle(survey, pass, level),
        }),
        // A reading is to be looked at again, or a record.
        _ if in_doubt > 0 => {}
        Some(Verdict::Outside) => {
            finer_level(survey, this, level, advice);
            advice.push(Advice::TurnsUnclear);
        }
        _ if knows_finer(survey, level) => finer_level(survey, this, level, advice),
        _ => advice.push(Advice::BelowReadings),
    }
}
