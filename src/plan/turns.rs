//! The plan of one round.

use nalgebra::DVector;

use super::advice::Advice;
use super::advising::{
    answers, coarser_level, finer_level, not_recorded, out_of_travel, take_coarser, too_coarse,
    unfinished,
};
use super::card::{Proof, TurnPlan};
use super::loads::loads;
use super::objective::Objective;
use super::prediction::meant;
use super::standing::{Standing, passes_to_settle};
use super::steps::{Lifts, Solved, Steps};
use super::trips::{Card, card};
use crate::geometry::Verdict;
use crate::response::{History, NoHistory};
use crate::survey::{Level, Pass, Survey};

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
    let this = survey.passes.get(pass).ok_or(NoPlan::NoPass)?;
    let level = survey.level_of(this).ok_or(NoPlan::NoPass)?;
    let Standing {
        history,
        objective,
        now,
        judged,
        verdict: standing,
    } = Standing::of(survey, pass, level)?;
    if objective.is_empty() {
        return Err(NoPlan::NothingKnown);
    }
    let mut advice = Vec::new();
    unfinished(this, &mut advice);
    judged.suspect(&mut advice);
    coarser_level(survey, this, level, &mut advice);
    answers(&history, &mut advice);

    let steps = Steps::of(survey, &this.hanging, None);
    let planning = Planning {
        survey,
        pass: this,
        level,
        history: &history,
        objective: &objective,
        steps: &steps,
    };
    let worked = if standing == Some(Verdict::Inside) {
        advice.insert(
            0,
            if judged.proven {
                Advice::Done
            } else {
                Advice::KnownKept
            },
        );
        planning.at_rest()
    } else {
        not_recorded(survey, pass, &mut advice);
        let (at_rest, turned) = (planning.at_rest(), planning.turned());
        // What is missed in turning is counted: it may leave more than leaving the bed alone.
        if turned.loss < at_rest.loss {
            turned
        } else {
            match standing {
                // The level is what to change, not how often it is read.
                Some(Verdict::Unsure) if judged.off_scale() => {
                    take_coarser(survey, level, &mut advice);
                }
                Some(Verdict::Unsure) => advice.push(Advice::ReadAgain {
                    passes: passes_to_settle(survey, pass, level),
                }),
                _ => advice.push(Advice::BelowReadings),
            }
            at_rest
        }
    };
    let Worked { solved, card, .. } = worked;
    let predicted = if solved.lifts.amax() > 0.0 {
        let left = objective.after(&history, &solved.lifts);
        let predicted = meant(
            &objective,
            &left,
            &(&objective.heights * &card.error),
            survey,
        );
        if predicted.within_limits == Some(false) {
            too_coarse(survey, this, &objective, &history, &mut advice);
        }
        out_of_travel(&steps, &solved, &mut advice);
        finer_level(survey, this, level, &mut advice);
        predicted
    } else {
        if standing == Some(Verdict::Outside) {
            too_coarse(survey, this, &objective, &history, &mut advice);
            let reason = |advice: &Advice| {
                matches!(advice, Advice::StepsTooCoarse { .. } | Advice::Wear { .. })
            };
            if advice.iter().any(reason) {
                // The readings see well enough what these feet cannot mend.
                advice.retain(|advice| *advice != Advice::BelowReadings);
            }
        }
        now
    };
    let loads = loads(survey, &history, &objective, &solved.lifts, &mut advice);
    Ok(TurnPlan {
        lines: card.lines,
        looks: card.looks,
        predicted,
        proof: solved.gap.map_or(Proof::Optimal, Proof::Gap),
        advice,
        loads,
    })
}

/// What plans are made of.
struct Planning<'a> {
    survey: &'a Survey,
    pass: &'a Pass,
    level: &'a Level,
    history: &'a History,
    objective: &'a Objective,
    steps: &'a Steps,
}

/// Turns, their card, and what they can be expected to leave.
struct Worked {
    solved: Solved,
    card: Card,
    /// Expected mean square of what is left, shares of the limits squared.
    loss: f64,
}

impl Planning<'_> {
    /// The best whole steps.
    fn turned(&self) -> Worked {
        let still = vec![false; self.survey.feet.len()];
        let slack = noise_share(self.objective);
        let lifts = Lifts::of(self.objective, self.history);
        self.work(lifts.solve_with_few_feet(self.steps, &still, slack))
    }

    /// Nothing turned.
    fn at_rest(&self) -> Worked {
        let feet = self.survey.feet.len();
        self.work(Solved {
            steps: vec![0; feet],
            lifts: DVector::zeros(feet),
            left: 0.0,
            gap: None,
        })
    }

    fn work(&self, solved: Solved) -> Worked {
        let objective = self.objective;
        let card = card(
            self.survey,
            self.pass,
            self.level,
            self.history,
            objective,
            self.steps,
            &solved,
        );
        let left = objective.after(self.history, &solved.lifts) - &objective.target;
        let missed = objective.weighted(&objective.heights * &card.error);
        Worked {
            loss: left.component_mul(&objective.weight).norm_squared() + missed.norm_squared(),
            solved,
            card,
        }
    }
}

/// Mean square of the departures that noise alone gives, shares of the limits squared: plans that differ
/// by less are the same to the readings.
fn noise_share(objective: &Objective) -> f64 {
    objective.weighted(objective.root.clone()).norm_squared() / 2.0
}
