//! What a test cut says, gathered for printing.

use crate::cut::{Conclusion, NoConclusion, Testimony};
use crate::geometry::{Figure, Verdict};
use crate::survey::limit_class::TAPER_LENGTH;
use crate::survey::{BarHeld, Cut, Survey};

/// One cut and everything that was found in it.
#[derive(Debug, Clone, Copy)]
pub struct CutReport<'a> {
    /// The survey that holds the cut.
    pub survey: &'a Survey,
    /// Number of the cut, from 1; cuts in the chuck come first.
    pub number: usize,
    /// The cut.
    pub cut: &'a Cut,
    /// What it says.
    pub conclusion: &'a Conclusion,
    /// What other cuts and faced discs say of the spindle.
    pub testimony: &'a [Testimony],
}

impl CutReport<'_> {
    /// Whether the bar was turned between centres.
    pub fn between_centres(&self) -> bool {
        matches!(self.cut.held, BarHeld::BetweenCentres { .. })
    }

    /// The verdict on the taper and the largest taper allowed, m over [`TAPER_LENGTH`], where the survey
    /// names a class; the class is one of work in the chuck. `None` as well of a bar that was bent as it was turned.
    pub fn taper_verdict(&self) -> Option<(Verdict, f64)> {
        if let Err(NoConclusion::TailstockUsed | NoConclusion::Sagged | NoConclusion::Unsupported) =
            self.conclusion.left
        {
            return None;
        }
        let class = self.survey.limits.class?;
        let allowed = (!self.between_centres()).then(|| class.taper())?;
        let rate = self.conclusion.taper.rate;
        let over = Figure {
            value: rate.value * TAPER_LENGTH,
            u95: rate.u95 * TAPER_LENGTH,
            low: rate.low * TAPER_LENGTH,
            high: rate.high * TAPER_LENGTH,
        };
        Some((over.verdict(-allowed, 0.0), allowed))
    }
}
