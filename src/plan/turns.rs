//! The plan of one round.

use nalgebra::DVector;

use super::advice::Advice;
use super::advising::{
    answers, coarser_level, finer_level, not_recorded, out_of_travel, too_coarse, unfinished,
};
use super::card::{Proof, TurnPlan};
use super::loads::loads;
use super::objective::Objective;
use super::prediction::{meant, seen, verdict};
use super::steps::{Lifts, Solved, Steps};
use super::trips::card;
use crate::geometry::settling::{Remedy, Subject, settling};
use crate::geometry::{
    Adjustment, BedShape, Judgement, Particulars, ReferenceLine, Suspects, Verdict,
};
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
    let history = History::of(survey, pass)?;
    let objective = Objective::of(survey, &history, level);
    if objective.is_empty() {
        return Err(NoPlan::NothingKnown);
    }
    let limits = &survey.limits;
    let now = seen(&objective, &objective.now, &objective.root, limits);
    // The rounds before sharpen the picture, but what the bed is now the last pass must show by itself.
    let judged = Judged::of(survey, this, level);
    let standing = verdict(&now, limits).max(judged.worst);
    let mut advice = Vec::new();
    unfinished(this, &mut advice);
    judged.suspect(&mut advice);
    coarser_level(survey, this, level, &mut advice);
    answers(&history, &mut advice);

    let lifts = Lifts::of(&objective, &history);
    let steps = Steps::of(survey, None);
    let solved = if standing == Some(Verdict::Inside) {
        advice.insert(
            0,
            if judged.proven {
                Advice::Done
            } else {
                Advice::KnownKept
            },
        );
        at_rest(survey)
    } else {
        not_recorded(survey, pass, &mut advice);
        let worth = worth_turning(survey, &objective, &lifts, &steps);
        worth.unwrap_or_else(|| {
            advice.push(if standing == Some(Verdict::Unsure) {
                Advice::ReadAgain {
                    passes: judged.passes_to_settle(survey),
                }
            } else {
                Advice::BelowReadings
            });
            at_rest(survey)
        })
    };
    let (lines, error) = card(survey, this, level, &history, &objective, &steps, &solved);
    let predicted = if solved.lifts.amax() > 0.0 {
        let left = objective.after(&history, &solved.lifts);
        let predicted = meant(&objective, &left, &(&objective.heights * error), limits);
        if predicted.within_limits == Some(false) {
            too_coarse(survey, &objective, &history, &mut advice);
        }
        out_of_travel(&steps, &solved, &mut advice);
        finer_level(survey, this, level, &mut advice);
        predicted
    } else {
        if standing == Some(Verdict::Outside) {
            too_coarse(survey, &objective, &history, &mut advice);
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
        lines,
        predicted,
        proof: solved.gap.map_or(Proof::Optimal, Proof::Gap),
        advice,
        loads,
    })
}

/// The best whole steps; `None` where the readings would not tell afterwards whether they helped.
fn worth_turning(
    survey: &Survey,
    objective: &Objective,
    lifts: &Lifts,
    steps: &Steps,
) -> Option<Solved> {
    let still = vec![false; survey.feet.len()];
    let slack = noise_share(objective);
    let solved = lifts.solve_with_few_feet(steps, &still, slack);
    let gain = lifts.left(&DVector::zeros(survey.feet.len())) - solved.left;
    (gain > slack).then_some(solved)
}

/// What a pass by itself says about the limits.
struct Judged {
    adjustment: Option<Adjustment>,
    /// The worst verdict there is.
    worst: Option<Verdict>,
    /// Whether every limit that is set is proven kept.
    proven: bool,
}

impl Judged {
    fn of(survey: &Survey, pass: &Pass, level: &Level) -> Self {
        let bed = &survey.bed;
        let Ok(adjustment) = Adjustment::of(pass, level, bed.length, bed.way_spacing) else {
            return Self {
                adjustment: None,
                worst: None,
                proven: false,
            };
        };
        let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
        let particulars = Particulars::of(&adjustment, &shape, survey);
        let judgement = Judgement::with_particulars(&shape, &particulars, &survey.limits);
        Self {
            adjustment: Some(adjustment),
            worst: judgement.overall(),
            proven: judgement.proven(&survey.limits),
        }
    }

    /// A reading that does not fit is looked at again before anything is turned after it.
    fn suspect(&self, advice: &mut Vec<Advice>) {
        let suspects = self.adjustment.as_ref().map(Suspects::of);
        if let Some(suspect) = suspects.as_ref().and_then(Suspects::suspect) {
            advice.push(Advice::Suspect {
                line: suspect.line,
                at: suspect.at,
            });
        }
    }

    /// Passes like this one, this one counted, that would settle every figure that is open.
    fn passes_to_settle(&self, survey: &Survey) -> Option<usize> {
        let line = ReferenceLine::EndPoints;
        let adjustment = self.adjustment.as_ref()?;
        let settling = settling(adjustment, survey, line);
        let mut most = None;
        let mut open: Vec<Subject> = settling.iter().map(|settling| settling.subject).collect();
        open.dedup();
        for subject in open {
            let passes = settling.iter().find_map(|settling| match settling.remedy {
                Remedy::Passes(passes) if settling.settles && settling.subject == subject => {
                    Some(passes)
                }
                _ => None,
            })?;
            most = most.max(Some(passes));
        }
        most
    }
}

/// Nothing turned.
fn at_rest(survey: &Survey) -> Solved {
    let feet = survey.feet.len();
    Solved {
        steps: vec![0; feet],
        lifts: DVector::zeros(feet),
        left: 0.0,
        gap: None,
    }
}

/// Mean square of the departures that noise alone gives, shares of the limits squared: plans that differ
/// by less are the same to the readings.
fn noise_share(objective: &Objective) -> f64 {
    objective.weighted(objective.root.clone()).norm_squared() / 2.0
}
