//! The plan of one round.

use nalgebra::{DMatrix, DVector};

use super::advice::Advice;
use super::card::{Action, CardLine, Proof, TurnPlan};
use super::loads::loads;
use super::objective::{Kind, Objective};
use super::prediction::{keeps, meant, seen, verdict};
use super::steps::{Lifts, Solved, Steps};
use super::watch::Watching;
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::{Adjustment, BedShape, Judgement, Particulars, ReferenceLine, Verdict};
use crate::response::{History, NoHistory};
use crate::survey::{Entry, Level, Pass, Survey};

/// Largest lift of a foot in one trip, m (US Army TM 38-260, 7-5: 0.25 to 0.38 mm at a time).
pub const LARGEST_TRIP: f64 = 0.4e-3;

/// Parts of a turn that are asked for when the survey's are too coarse, coarsest first, turns.
const USUAL_TURNS: [f64; 6] = [
    1.0 / 4.0,
    1.0 / 8.0,
    1.0 / 12.0,
    1.0 / 24.0,
    1.0 / 36.0,
    1.0 / 72.0,
];

/// Share of the readings off the scale from which the coarser level is advised.
const MANY_OFF_SCALE: f64 = 0.2;

/// A finer level is advised when every reading it would show stays below this share of its range.
const FINER_LEVEL_SHARE: f64 = 0.7;

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
        worth_turning(survey, &objective, &lifts, &steps, standing, &mut advice)
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

/// The best whole steps, or none where the readings would not tell afterwards whether they helped.
fn worth_turning(
    survey: &Survey,
    objective: &Objective,
    lifts: &Lifts,
    steps: &Steps,
    standing: Option<Verdict>,
    advice: &mut Vec<Advice>,
) -> Solved {
    let still = vec![false; survey.feet.len()];
    let slack = noise_share(objective);
    let solved = lifts.solve_with_few_feet(steps, &still, slack);
    let gain = lifts.left(&DVector::zeros(survey.feet.len())) - solved.left;
    if gain > slack {
        return solved;
    }
    advice.push(if standing == Some(Verdict::Unsure) {
        Advice::ReadAgain { passes: 2 }
    } else {
        Advice::BelowReadings
    });
    at_rest(survey)
}

/// What a pass by itself says about the limits.
struct Judged {
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
                worst: None,
                proven: false,
            };
        };
        let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
        let particulars = Particulars::of(&adjustment, &shape, survey);
        let judgement = Judgement::with_particulars(&shape, &particulars, &survey.limits);
        Self {
            worst: judgement.overall(),
            proven: judgement.proven(&survey.limits),
        }
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

fn coarser_level(survey: &Survey, pass: &Pass, level: &Level, advice: &mut Vec<Advice>) {
    let taken = pass
        .readings
        .iter()
        .filter(|reading| reading.entry != Entry::Missing)
        .count();
    let off = pass
        .readings
        .iter()
        .filter(|reading| matches!(reading.entry, Entry::OffScale(_)))
        .count();
    if off as f64 > MANY_OFF_SCALE * taken as f64 {
        let name = survey
            .levels
            .values()
            .filter(|other| other.division > level.division)
            .min_by(|a, b| a.division.total_cmp(&b.division))
            .map(|other| other.name.clone());
        advice.push(Advice::CoarserLevel { name });
    }
}

fn finer_level(survey: &Survey, pass: &Pass, level: &Level, advice: &mut Vec<Advice>) {
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

/// What the rounds have shown about single feet.
fn answers(history: &History, advice: &mut Vec<Advice>) {
    let answer = history.answer();
    if answer.rounds == 0 {
        return;
    }
    for (foot, share) in answer.effectiveness.iter().enumerate() {
        let u95 = COVERAGE_95 * answer.deviation[2 + foot];
        if share + u95 < 0.0 {
            advice.push(Advice::Backwards { foot });
        } else if share - u95 <= 0.0 && share + u95 < 0.35 {
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

/// Whether finer steps would bring the bed inside, and which; if none would, what is left is wear.
fn too_coarse(survey: &Survey, objective: &Objective, history: &History, advice: &mut Vec<Advice>) {
    let sure = Lifts::without_doubt(objective, history);
    let still = vec![false; survey.feet.len()];
    let coarsest = survey
        .feet
        .iter()
        .map(|foot| foot.smallest_turn)
        .fold(0.0, f64::max);
    let kept = |turn: Option<f64>| {
        let solved = sure.solve(&Steps::of(survey, turn), &still);
        let left = objective.after(history, &solved.lifts);
        (keeps(objective, &left, &survey.limits), left)
    };
    if kept(None).0 == Some(true) {
        // The steps would do; it is doubt about the bed that makes this round careful.
        return;
    }
    for turn in USUAL_TURNS
        .into_iter()
        .filter(|turn| *turn < coarsest * 0.999)
    {
        if kept(Some(turn)).0 == Some(true) {
            advice.push(Advice::StepsTooCoarse { needs: Some(turn) });
            return;
        }
    }
    let (_, left) = kept(USUAL_TURNS.last().copied());
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

fn out_of_travel(steps: &Steps, solved: &Solved, advice: &mut Vec<Advice>) {
    for (foot, (taken, (lowest, highest))) in solved.steps.iter().zip(&steps.bounds).enumerate() {
        if *taken != 0 && (taken == lowest || taken == highest) {
            advice.push(Advice::OutOfTravel { foot });
        }
    }
}

/// Splits the steps into trips and finds what to watch on every line; also the root of the covariance of
/// the heights after them.
fn card(
    survey: &Survey,
    pass: &Pass,
    level: &Level,
    history: &History,
    objective: &Objective,
    steps: &Steps,
    solved: &Solved,
) -> (Vec<CardLine>, DMatrix<f64>) {
    let mut order: Vec<usize> = (0..survey.feet.len()).collect();
    // Walking along the bed from the headstock end, the front foot of a pair before the rear one.
    order.sort_by(|a, b| {
        let (a, b) = (&survey.feet[*a], &survey.feet[*b]);
        a.at.total_cmp(&b.at).then(a.side.cmp(&b.side))
    });
    let trips: Vec<Vec<i64>> = solved
        .steps
        .iter()
        .zip(&steps.lift)
        .map(|(count, lift)| split(*count, *lift))
        .collect();
    let last_trip = trips.iter().map(Vec::len).max().unwrap_or(0).max(1);
    let mut watching = Watching::new(survey, history, level, objective);
    let mut lines = Vec::new();
    let line = |trip: usize, foot: usize, action: Action| CardLine {
        trip,
        foot,
        action,
        quarter_turns: 0.0,
        lift: 0.0,
        watch: None,
        no_further: 0.0,
    };
    for foot in order
        .iter()
        .copied()
        .filter(|foot| pass.hanging.contains(foot))
    {
        lines.push(line(1, foot, Action::Seat));
    }
    for trip in 0..last_trip {
        for &foot in &order {
            match trips[foot].get(trip) {
                Some(&count) => {
                    let lift = count as f64 * steps.lift[foot];
                    let quarter = survey.feet[foot].lift_per_quarter();
                    let (watch, farthest) = watching.next(foot, lift);
                    lines.push(CardLine {
                        trip: trip + 1,
                        foot,
                        action: if count > 0 {
                            Action::Raise
                        } else {
                            Action::Lower
                        },
                        quarter_turns: lift / quarter,
                        lift,
                        watch,
                        no_further: farthest / quarter,
                    });
                }
                None if trip == 0 && !pass.hanging.contains(&foot) => {
                    lines.push(line(1, foot, Action::Leave));
                }
                None => {}
            }
        }
    }
    (lines, watching.error().clone())
}

/// Splits a number of steps of this lift (m) into parts of at most [`LARGEST_TRIP`], as even as whole steps
/// allow.
fn split(count: i64, lift: f64) -> Vec<i64> {
    if count == 0 {
        return Vec::new();
    }
    #[allow(clippy::cast_possible_truncation)]
    let most = ((LARGEST_TRIP / lift + 1e-9).floor() as i64).max(1);
    let total = count.abs();
    let parts = (total + most - 1) / most;
    (0..parts)
        .map(|k| ((k + 1) * total / parts - k * total / parts) * count.signum())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn large_moves_are_split_into_even_trips() {
        assert_eq!(split(0, 1e-4), Vec::<i64>::new());
        assert_eq!(split(4, 1e-4), [4]);
        assert_eq!(split(-9, 1e-4), [-3, -3, -3]);
        assert_eq!(split(10, 1e-4), [3, 3, 4]);
        assert_eq!(split(2, 5e-4), [1, 1], "one step alone is more than a trip");
    }
}
