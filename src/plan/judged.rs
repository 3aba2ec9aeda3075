//! What a pass says about the limits by itself, whatever the rounds before made likely.
//!
//! Passes between which nothing was turned, and that was written down, saw one bed: they are one pass read several
//! times over.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use super::advice::Advice;
use super::objective::Objective;
use super::prediction::seen;
use crate::geometry::{Passes, Told, Verdict};
use crate::response::History;
use crate::survey::{Entry, Level, Pass, Survey};

/// What a pass and those that saw the same bed say about the limits.
pub(super) struct Judged<'p> {
    told: Option<&'p Told<'p>>,
    /// The worst verdict there is.
    pub worst: Option<Verdict>,
    /// Whether every limit that is set is proven kept.
    pub proven: bool,
}

impl<'p> Judged<'p> {
    /// Judges the pass with this index, read with this level.
    pub fn of(passes: &'p Passes, index: usize, level: &Level) -> Self {
        let survey = passes.survey();
        let Ok(told) = passes.told(index) else {
            return Self {
                told: None,
                worst: None,
                proven: false,
            };
        };
        let alone = Self::alone(survey, told);
        if alone.worst != Some(Verdict::Unsure) || alone.off_scale() {
            return alone;
        }
        let first = first_still(survey, index);
        if first == index {
            return alone;
        }
        alone.with_the_passes_before(survey, first..=index, level)
    }

    fn alone(survey: &Survey, told: &'p Told) -> Self {
        let judgement = told.judgement();
        Self {
            told: Some(told),
            worst: judgement.overall(),
            proven: judgement.proven(&survey.limits),
        }
    }

    /// The same with what these passes saw together; the last of them is this one.
    fn with_the_passes_before(
        self,
        survey: &Survey,
        passes: RangeInclusive<usize>,
        level: &Level,
    ) -> Self {
        let still = Survey {
            passes: survey.passes[passes].to_vec(),
            ..survey.clone()
        };
        let Ok(history) = History::of(&still, still.passes.len() - 1) else {
            return self;
        };
        let widening = self.told.map_or(1.0, |told| told.adjustment.widening());
        let objective = Objective::of(&still, &history, level);
        let root = &objective.root * widening;
        let together = seen(&objective, &objective.now, &root, &still);
        Self {
            worst: together.verdict(&still.limits),
            proven: together.surely_within(&still.limits),
            ..self
        }
    }

    /// The reading that does not fit, to be looked at again before anything else is done.
    pub fn suspect(&self) -> Option<Advice> {
        let suspect = self.told?.suspects().suspect()?;
        Some(Advice::Suspect {
            line: suspect.line,
            at: suspect.at,
        })
    }

    /// Whether a reading off the scale is all that holds the surface somewhere.
    pub fn off_scale(&self) -> bool {
        self.told
            .is_some_and(|told| told.adjustment.off_scale_used() > 0)
    }
}

/// The first of the passes up to this one between which it is written down that nothing was turned and the anchors were as they
/// are, all of them on the scale.
fn first_still(survey: &Survey, last: usize) -> usize {
    let now = &survey.passes[last];
    let still = |pass: &Pass| {
        let nothing = |turned: &BTreeMap<usize, f64>| turned.values().all(|turns| *turns == 0.0);
        let mut readings = pass.readings.iter();
        pass.turned.as_ref().is_some_and(nothing)
            && !now.anchors_changed_since(pass)
            && readings.all(|reading| !matches!(reading.entry, Entry::OffScale(_)))
    };
    let before = survey.passes[..last].iter().rev();
    last - before.take_while(|pass| still(pass)).count()
}
