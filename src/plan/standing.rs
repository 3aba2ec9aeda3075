//! Where the bed stands against its limits.
//!
//! A pass after the first need not read everything again: what the passes before it and the turns since tell counts with it,
//! as far as they are known. Only what a pass by itself shows to be outside is outside whatever was thought of it, and
//! where a reading off the scale is all that holds the surface nothing is proven. And where nothing was read a bed is rougher
//! than the curve through what was: what it may be there must be inside as well before anybody stops.

use std::collections::BTreeMap;

use super::advice::Advice;
use super::card::Prediction;
use super::departures::{Kind, USUAL_TWIST};
use super::judged::Judged;
use super::objective::Objective;
use super::prediction::{meant, seen};
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::{Passes, Verdict};
use crate::response::{History, NoHistory, Reaches};
use crate::survey::{Entry, Foot, Level, Line, Survey};

/// More passes than this, the one there is counted, nobody takes for one verdict.
const MOST_PASSES: usize = 6;

/// What is known after a pass.
pub(super) struct Standing<'p> {
    pub history: History,
    pub objective: Objective,
    /// The figures of the bed by all rounds together.
    pub now: Prediction,
    /// What was seen since anything was turned.
    pub judged: Judged<'p>,
    /// Feet near which nothing was read, in the order of the survey.
    pub unread: Vec<usize>,
    /// Feet that are not turned: those, and those whose records contradict the readings.
    pub left: Vec<usize>,
    /// Whether every limit that is set is proven kept.
    pub proven: bool,
    /// The worst verdict; `None` when there is no limit or no figure of one.
    pub verdict: Option<Verdict>,
    /// Whether it leans so far that the finest level is hardly read on it, or surely leans where it is to be level.
    pub leans: bool,
}

impl<'p> Standing<'p> {
    /// After the pass with this index, which was read with this level.
    pub fn of(passes: &'p Passes, pass: usize, level: &Level) -> Result<Self, NoHistory> {
        let survey = passes.survey();
        let limits = &survey.limits;
        let history = History::after(passes, pass)?;
        let objective = Objective::of(survey, &history, level);
        let judged = Judged::of(passes, pass);
        let root = &objective.root * judged.widening;
        let now = seen(&objective, &objective.now, &root, survey);
        let supposed = meant(&objective, &objective.now, &root, survey);
        let by_itself = if judged.off_scale() {
            judged.worst
        } else {
            judged.worst.filter(|worst| *worst == Verdict::Outside)
        };
        let lean = objective.rows(Kind::Lean).into_iter().any(|row| {
            let u95 = COVERAGE_95 * root.row(row).norm();
            objective.now[row].abs() - u95 > USUAL_TWIST
        });
        let verdict = now
            .verdict(limits)
            .max(supposed.verdict_between(limits))
            .max(by_itself)
            .max(lean.then_some(Verdict::Outside));
        let proven = verdict == Some(Verdict::Inside) && now.surely_within(limits);
        let unread = unread(survey, pass);
        let doubted = history.contradicted().iter().map(|record| record.1);
        let left = unread.iter().copied().chain(doubted).collect();
        Ok(Self {
            leans: lean || objective.kind.contains(&Kind::Scale),
            history,
            objective,
            now,
            judged,
            unread,
            left,
            proven,
            verdict,
        })
    }

    /// What to say of a bed whose limits are all kept.
    pub fn kept(&self) -> Advice {
        if self.proven && self.unread.is_empty() {
            Advice::Done
        } else {
            Advice::KnownKept
        }
    }
}

/// Feet from which hardly anything reaches a place where the level lay in the passes up to this one: further from all of them along
/// the bed than a twist is felt, see [`Reaches`](crate::response::Reaches). What they would do there is the model's word alone. A
/// reading off the scale is one, too.
fn unread(survey: &Survey, pass: usize) -> Vec<usize> {
    let passes = &survey.passes[..=pass];
    let (first, last) = passes
        .iter()
        .flat_map(|pass| {
            let half = survey.level_of(pass).and_then(|level| level.base);
            let taken = pass.readings.iter();
            taken.filter(|reading| reading.entry != Entry::Missing).map(
                move |reading| match reading.line {
                    Line::Cross => (reading.at, 0.0),
                    Line::Front | Line::Rear => (reading.at, half.unwrap_or(0.0) / 2.0),
                },
            )
        })
        .fold(
            (f64::INFINITY, f64::NEG_INFINITY),
            |(first, last), (at, half)| (first.min(at - half), last.max(at + half)),
        );
    let reach = Reaches::usual(survey).torsion;
    let beside = |foot: &Foot| (first - foot.at).max(foot.at - last);
    let far = |&foot: &usize| {
        let foot = &survey.feet[foot];
        // Where the ways are covered nothing can be read; such feet have their own bounds.
        beside(foot) > reach && survey.bed.is_free(foot.at)
    };
    (0..survey.feet.len()).filter(far).collect()
}

/// Passes like the one with this index, that one counted, after which the verdict would be open no longer, were the
/// figures to stay as they are; `None` when no bearable number would do.
pub(super) fn passes_to_settle(survey: &Survey, pass: usize, level: &Level) -> Option<usize> {
    let mut imagined = survey.clone();
    imagined.passes.truncate(pass + 1);
    imagined.passes[pass].turned = Some(BTreeMap::new());
    let again = imagined.passes[pass].clone();
    imagined.passes.resize(pass + MOST_PASSES, again);
    let passes = Passes::of(&imagined);
    (2..=MOST_PASSES).find(|count| {
        Standing::of(&passes, pass + count - 1, level)
            .is_ok_and(|standing| standing.verdict != Some(Verdict::Unsure))
    })
}
