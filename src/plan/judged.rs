//! What a pass says about the limits by itself, whatever the rounds before made likely.

use super::advice::Advice;
use crate::geometry::settling::{Remedy, Subject, settling};
use crate::geometry::{
    Adjustment, BedShape, Judgement, Particulars, ReferenceLine, Suspects, Verdict,
};
use crate::survey::{Level, Pass, Survey};

/// What a pass by itself says about the limits.
pub(super) struct Judged {
    adjustment: Option<Adjustment>,
    /// The worst verdict there is.
    pub worst: Option<Verdict>,
    /// Whether every limit that is set is proven kept.
    pub proven: bool,
}

impl Judged {
    pub fn of(survey: &Survey, pass: &Pass, level: &Level) -> Self {
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
        let judgement = Judgement::with_particulars(&shape, &particulars, &survey.limits)
            .with_readings_off_scale(&adjustment);
        Self {
            adjustment: Some(adjustment),
            worst: judgement.overall(),
            proven: judgement.proven(&survey.limits),
        }
    }

    /// A reading that does not fit is looked at again before anything is turned after it.
    pub fn suspect(&self, advice: &mut Vec<Advice>) {
        let suspects = self.adjustment.as_ref().map(Suspects::of);
        if let Some(suspect) = suspects.as_ref().and_then(Suspects::suspect) {
            advice.push(Advice::Suspect {
                line: suspect.line,
                at: suspect.at,
            });
        }
    }

    /// Whether a reading off the scale is all that holds the surface somewhere.
    pub fn off_scale(&self) -> bool {
        let adjustment = self.adjustment.as_ref();
        adjustment.is_some_and(|adjustment| adjustment.off_scale_used() > 0)
    }

    /// Passes like this one, this one counted, that would settle every figure that is open.
    pub fn passes_to_settle(&self, survey: &Survey) -> Option<usize> {
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
