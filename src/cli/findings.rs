//! Works out what a pass shows.

use super::failure::Failure;
use crate::geometry::{
    Adjustment, BedShape, Closure, Judgement, Particulars, ReferenceLine, Refusal, Settling,
    Suspects, settling,
};
use crate::report::ShapeReport;
use crate::survey::{Level, Pass, Survey};

/// Everything found in one pass.
pub struct Findings<'a> {
    number: usize,
    pass: &'a Pass,
    level: &'a Level,
    adjustment: Adjustment,
    closure: Closure,
    suspects: Suspects,
    settling: Vec<Settling>,
    shape: BedShape,
    particulars: Particulars,
    reference: ReferenceLine,
}

impl<'a> Findings<'a> {
    /// Adjusts the pass with this index and reads the shape out of it.
    pub fn of(survey: &'a Survey, index: usize, reference: ReferenceLine) -> Result<Self, Failure> {
        let number = index + 1;
        let pass = survey.passes.get(index).ok_or(Failure::NoPasses)?;
        let level = survey
            .level_of(pass)
            .ok_or(Failure::NoReadings { number })?;
        let adjustment = Adjustment::of(pass, level, survey.bed.length, survey.bed.way_spacing)
            .map_err(|refusal| match refusal {
                Refusal::NoReadings => Failure::NoReadings { number },
            })?;
        let closure = Closure::of(pass, &adjustment);
        let suspects = Suspects::of(&adjustment);
        let settling = settling(&adjustment, survey, reference);
        let shape = BedShape::of(&adjustment, reference);
        let particulars = Particulars::of(&adjustment, &shape, survey);
        Ok(Self {
            number,
            pass,
            level,
            adjustment,
            closure,
            suspects,
            settling,
            shape,
            particulars,
            reference,
        })
    }

    /// All of it, ready to print.
    pub fn report<'b>(&'b self, survey: &'b Survey) -> ShapeReport<'b> {
        ShapeReport {
            survey,
            number: self.number,
            pass: self.pass,
            level: self.level,
            adjustment: &self.adjustment,
            closure: &self.closure,
            suspects: &self.suspects,
            settling: &self.settling,
            shape: &self.shape,
            particulars: &self.particulars,
            judgement: Judgement::with_particulars(&self.shape, &self.particulars, &survey.limits)
                .with_readings_off_scale(&self.adjustment),
            reference: self.reference,
        }
    }
}
