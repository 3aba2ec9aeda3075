//! Which turns to take, or none.
//!
//! An hour of readings is what a round costs, so near the limits the plan is the one after which the next pass is most
//! likely to prove them kept. Far from them no pass will, and the plan is the one that leaves least, mean square.

use std::collections::BTreeSet;

use nalgebra::{DMatrix, DVector};

use super::chance::PassAhead;
use super::departures::Kind;
use super::footing::Footing;
use super::objective::Objective;
use super::resting::{LEAST_LOAD_MISSED, farthest, well_borne};
use super::standing::Standing;
use super::steps::{Budget, Lifts, Solved, Steps};
use super::trips::{Card, card};
use super::watch::Watching;
use crate::survey::{Level, Pass, Survey};

/// One way to look for turns.
struct Manner {
    /// How much of the doubt about the bed's answer the plan is charged for. A bubble that is watched takes the rest.
    caution: f64,
    /// What more may be left for the sake of fewer feet, in shares of what noise alone leaves.
    slack: f64,
}

/// The way to look for turns as long as the limits are far.
const USUAL: Manner = Manner {
    caution: 0.5,
    slack: 1.0,
};

/// Others that are tried when the limits are near: with the best steps whatever feet they take, with fewer feet, and with
/// less and all of the doubt. Without any doubt a bed would be marched up and down for the sake of whole steps.
const OTHERS: [Manner; 4] = [
    Manner {
        caution: 0.5,
        slack: 0.0,
    },
    Manner {
        caution: 0.5,
        slack: 4.0,
    },
    Manner {
        caution: 0.2,
        slack: 0.0,
    },
    Manner {
        caution: 1.0,
        slack: 1.0,
    },
];

/// A chance below this says only that the limits are far.
const NEAR: f64 = 0.2;

/// Below this chance no other way to look for turns comes near.
const HOPELESS: f64 = 0.05;

/// By how much the chance must be better for turns that were looked for in another than the usual way.
const CLEARLY_BETTER: f64 = 0.02;

/// By how much the chance after turns must be better than that of reading once more: what is left alone cannot
/// go wrong.
const WORTH_TURNING: f64 = 0.1;

/// The least part of the way that is still worth a round.
const LEAST_PART: f64 = 1.0 / 8.0;

/// Turns that force a bed, see [`Footing::forced`].
#[derive(Debug, Clone, Copy)]
pub(super) struct Forced {
    /// The foot, as index into the survey's feet.
    pub foot: usize,
    /// Share of the machine's weight that all of the turns would have it carry.
    pub share: f64,
    /// What part of the way the turns go that were taken instead.
    pub part: Option<f64>,
}

/// What plans are made of.
struct Planning<'a, 'o> {
    survey: &'a Survey,
    pass: &'a Pass,
    footing: &'a Footing,
    objective: &'o Objective,
    /// The same without what tried lifts have shown about the scale.
    untried: &'a Objective,
    /// What can be counted.
    counted: Steps,
    /// What a bubble can stop.
    watched: Steps,
    /// Whether readings that are off the scale keep a pass like this from proving anything.
    off_scale: bool,
    /// Whether there is a limit to prove anything of.
    limited: bool,
    /// Whether its lean is to be mended before anything else.
    leans: bool,
    next_pass: PassAhead<'o>,
    /// What share of the way to go.
    part: f64,
    budget: &'o Budget,
    /// Before anything is turned.
    watching: Watching<'a>,
    /// What is doubtful about the bed's answer, shares of the limits per metre of lift.
    doubts: DMatrix<f64>,
}

/// Turns, their card, and what they can be expected to leave.
pub(super) struct Worked<'a> {
    pub solved: Solved,
    /// What the feet could be turned by.
    pub steps: Steps,
    pub card: Card<'a>,
    /// Departures that are meant.
    left: DVector<f64>,
    /// Chance that the next pass proves every limit kept, where it was asked for.
    chance: f64,
}

/// The turns to take after a pass that was read with this level, `None` when it is better to take none and read
/// again; and what they would have done to the bed if they had gone all the way, where that would have forced it.
pub(super) fn turned<'a>(
    survey: &'a Survey,
    pass: &'a Pass,
    level: &'a Level,
    standing: &'a Standing,
    footing: &'a Footing,
) -> (Option<Worked<'a>>, Option<Forced>) {
    // Of a bed that is off the scale somewhere nobody knows how it is forced as it lies.
    let seen = !standing.history.last_readings().iter().any(|row| row.bound);
    let force = |lifts: &DVector<f64>| footing.forced(lifts).filter(|_| seen);
    let mut part = 1.0;
    let mut forced: Option<Forced> = None;
    while part >= LEAST_PART {
        let Some(found) = part_way(survey, pass, level, standing, footing, part) else {
            break;
        };
        match (force(&found.solved.lifts), &mut forced) {
            (None, None) => return (Some(found), None),
            (None, Some(forced)) => {
                forced.part = Some(part);
                return (Some(found), Some(*forced));
            }
            (Some((foot, share)), first) => {
                first.get_or_insert(Forced {
                    foot,
                    share,
                    part: None,
                });
            }
        }
        part /= 2.0;
    }
    (None, forced)
}

/// The turns to take for this share of the way.
fn part_way<'a>(
    survey: &'a Survey,
    pass: &'a Pass,
    level: &'a Level,
    standing: &'a Standing,
    footing: &'a Footing,
    part: f64,
) -> Option<Worked<'a>> {
    let budget = Budget::of_a_card();
    let mut objective = standing.objective.clone();
    let mut tried = Vec::new();
    let mut found = None;
    loop {
        let mut planning =
            Planning::new(survey, pass, level, standing, &objective, footing, &budget);
        planning.part = part;
        let Some(turned) = planning.turned() else {
            // Turns that take the level off its scale are better than none.
            return found;
        };
        tried.push(turned.solved.lifts.clone());
        found = Some(turned);
        let kept = Objective::on_the_scale(survey, &standing.history, level, &tried);
        if kept.kind.len() <= objective.kind.len() {
            return found;
        }
        objective = kept;
    }
}

/// Nothing turned.
pub(super) fn at_rest<'a>(
    survey: &'a Survey,
    pass: &'a Pass,
    level: &'a Level,
    standing: &'a Standing,
    footing: &'a Footing,
) -> Worked<'a> {
    let budget = Budget::of_a_card();
    Planning::new(
        survey,
        pass,
        level,
        standing,
        &standing.objective,
        footing,
        &budget,
    )
    .at_rest()
}

impl<'a, 'o> Planning<'a, 'o>
where
    'a: 'o,
{
    fn new(
        survey: &'a Survey,
        pass: &'a Pass,
        level: &'a Level,
        standing: &'a Standing,
        objective: &'o Objective,
        footing: &'a Footing,
        budget: &'o Budget,
    ) -> Self {
        let history = &standing.history;
        let farthest = farthest(objective, footing, survey);
        Self {
            doubts: history.doubts(&objective.weighted(objective.heights.clone())),
            watching: Watching::new(survey, history, level, objective, footing),
            budget,
            part: 1.0,
            next_pass: PassAhead::like_the_last(survey, history, objective),
            off_scale: standing.judged.off_scale(),
            limited: standing.verdict.is_some(),
            leans: standing.leans,
            survey,
            pass,
            footing,
            objective,
            untried: &standing.objective,
            counted: Steps::counted(survey, &pass.hanging, farthest, None).without(&standing.left),
            watched: Steps::watched(survey, &pass.hanging, farthest).without(&standing.left),
        }
    }

    fn turned(&self) -> Option<Worked<'a>> {
        let rest = self.at_rest();
        let read_again = if self.off_scale {
            0.0
        } else {
            self.chance(&rest.left, &rest.card)
        };
        let turned = self.most_promising();
        let better = if self.leans {
            // The finer level is of no use before this is mended.
            true
        } else if turned.chance.max(read_again) < NEAR {
            // What is missed in turning is counted: it may leave more than leaving the bed alone.
            self.loss(&turned) < self.loss(&rest)
        } else {
            turned.chance > read_again + WORTH_TURNING
        };
        (better && turned.solved.lifts.amax() > 0.0).then_some(turned)
    }

    fn at_rest(&self) -> Worked<'a> {
        let feet = self.survey.feet.len();
        let nothing = Solved {
            steps: vec![0; feet],
            lifts: DVector::zeros(feet),
            left: 0.0,
            gap: None,
        };
        self.work(nothing, &self.counted)
    }

    /// The most promising turns.
    fn most_promising(&self) -> Worked<'a> {
        let usual = self.looked_for(&USUAL);
        let hopeless = usual.chance < HOPELESS;
        let manners = OTHERS.iter().filter(|_| !hopeless);
        manners.fold(usual, |best, manner| {
            let other = self.looked_for(manner);
            if other.chance > (best.chance + CLEARLY_BETTER).max(NEAR) {
                other
            } else {
                best
            }
        })
    }

    /// Feet that may be turned a little in going round, whether the card turns them or not: all that have travel. One
    /// that hung has been seated by then.
    fn free_to_turn(&self) -> Vec<usize> {
        let bounds = self.watched.bounds.iter().enumerate();
        bounds
            .filter(|(_, (lowest, highest))| lowest < highest)
            .map(|(foot, _)| foot)
            .collect()
    }

    fn looked_for(&self, manner: &Manner) -> Worked<'a> {
        let doubts = &self.doubts * manner.caution;
        let mut slack = manner.slack * self.noise_share();
        if self.footing.squeeze().is_some() {
            // No foot is spared the load it is to take, however little the readings tell.
            slack = slack.min(LEAST_LOAD_MISSED);
        }
        let mut worked = self.by_whole_steps(&self.loading(&doubts), slack);
        if worked.solved.lifts.amax() > 0.0 {
            worked.card.go_round(&self.free_to_turn());
        }
        worked.chance = self.chance(&worked.left, &worked.card);
        worked
    }

    /// The problem that turns are looked for in: a resting bed is to be borne well by all its feet.
    fn loading(&self, doubts: &DMatrix<f64>) -> Lifts {
        well_borne(
            &Lifts::of(&self.objective.part_way(self.part), self.footing, doubts),
            self.footing,
        )
    }

    /// The best steps, each of which a bubble stops or a hand can count.
    fn by_whole_steps(&self, lifts: &Lifts, slack: f64) -> Worked<'a> {
        let still = vec![false; self.survey.feet.len()];
        let mut steps = self.watched.clone();
        let mut counted = BTreeSet::new();
        loop {
            let solved = lifts.solve_with_few_feet(&steps, &still, slack, self.budget);
            let worked = self.work(solved, &steps);
            let unwatched = worked.card.only_counted();
            if unwatched.is_subset(&counted) {
                return worked;
            }
            for &foot in &unwatched {
                steps.take(foot, &self.counted);
            }
            counted.extend(unwatched);
        }
    }

    fn work(&self, solved: Solved, steps: &Steps) -> Worked<'a> {
        let card = card(
            self.survey,
            self.pass,
            &self.footing.idle(),
            steps,
            &solved,
            self.watching.clone(),
        );
        Worked {
            chance: 0.0,
            left: self
                .objective
                .after(&self.footing.after(&solved.lifts).moved),
            solved,
            steps: steps.clone(),
            card,
        }
    }

    fn chance(&self, left: &DVector<f64>, card: &Card) -> f64 {
        if self.limited {
            let pass = self.next_pass.of(card.error(), &card.once_recorded());
            pass.proves(left)
        } else {
            0.0
        }
    }

    /// Expected mean square of what is left, shares of the limits squared.
    fn loss(&self, worked: &Worked) -> f64 {
        let objective = self.untried;
        let left = objective.after(&self.footing.after(&worked.solved.lifts).moved);
        let left = (left - &objective.target).component_mul(&objective.weight);
        let missed = objective.weighted(&objective.heights * worked.card.error());
        left.norm_squared() + missed.norm_squared()
    }

    /// Mean square of the departures from the shape that noise alone gives, shares of the limits squared: plans that differ by
    /// less are the same to the readings. Of the lean nothing is counted, or a zero error that nobody knows would excuse
    /// any twist; and nothing at all where the bed leans so that the level is hardly read: with one foot less that would be
    /// left for another round.
    fn noise_share(&self) -> f64 {
        let objective = self.objective;
        if self.leans {
            return 0.0;
        }
        let noise = objective.weighted(objective.root.clone());
        let shape = (0..noise.nrows()).filter(|&i| objective.kind[i] != Kind::Lean);
        shape.map(|i| noise.row(i).norm_squared()).sum::<f64>() / 2.0
    }
}
