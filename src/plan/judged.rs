//! What a pass says by itself, whatever the rounds before made likely.

use super::advice::Advice;
use crate::geometry::{Passes, Told, Verdict};

/// What a pass says about the limits.
pub(super) struct Judged<'p> {
    told: Option<&'p Told<'p>>,
    /// The worst verdict there is.
    pub worst: Option<Verdict>,
}

impl<'p> Judged<'p> {
    /// Judges the pass with this index.
    pub fn of(passes: &'p Passes, index: usize) -> Self {
        let told = passes.told(index).ok();
        Self {
            worst: told.and_then(|told| told.judgement().overall()),
            told,
        }
    }

    /// What intervals are widened by because the readings of the pass do not fit each other.
    pub fn widening(&self) -> f64 {
        self.told.map_or(1.0, |told| told.adjustment.widening())
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
