//! What a pass shows, ready to print.

use std::cell::OnceCell;

use super::failure::{self, Failure};
use crate::geometry::{
    BedShape, Closure, Judgement, Particulars, Passes, ReferenceLine, Settling, Told, Untold,
    settling,
};
use crate::report::ShapeReport;
use crate::survey::Survey;

/// Everything found in one pass.
pub struct Findings<'p> {
    number: usize,
    told: &'p Told<'p>,
    closure: Closure,
    /// What is measured from another line than the one through the ends.
    otherwise: Option<(BedShape, Particulars)>,
    reference: ReferenceLine,
    settling: OnceCell<Vec<Settling>>,
}

impl<'p> Findings<'p> {
    /// What the pass with this index shows, departures from the given line.
    pub fn of(passes: &'p Passes, index: usize, reference: ReferenceLine) -> Result<Self, Failure> {
        let number = index + 1;
        let told = passes.told(index).map_err(|reason| match reason {
            Untold::NoPass => failure::no_passes(),
            Untold::NoLevel | Untold::Refused(_) => failure::no_readings(number),
        })?;
        let otherwise = (reference != ReferenceLine::EndPoints).then(|| {
            let shape = BedShape::of(&told.adjustment, reference);
            let particulars = Particulars::of(&told.adjustment, &shape, passes.survey());
            (shape, particulars)
        });
        Ok(Self {
            number,
            told,
            closure: Closure::of(told.pass, &told.adjustment),
            otherwise,
            reference,
            settling: OnceCell::new(),
        })
    }

    /// All of it but what would settle an open verdict.
    pub fn report<'b>(&'b self, survey: &'b Survey) -> ShapeReport<'b> {
        let told = self.told;
        let (shape, particulars) = match &self.otherwise {
            Some((shape, particulars)) => (shape, particulars),
            None => (told.shape(), told.particulars()),
        };
        ShapeReport {
            survey,
            number: self.number,
            pass: told.pass,
            level: told.level,
            adjustment: &told.adjustment,
            closure: &self.closure,
            suspects: told.suspects(),
            settling: &[],
            shape,
            particulars,
            judgement: Judgement::with_particulars(shape, particulars, &survey.limits)
                .with_readings_off_scale(&told.adjustment),
            reference: self.reference,
        }
    }

    /// All of it. Every remedy is a pass that is imagined, so they are tried out only where they are printed.
    pub fn report_with_remedies<'b>(&'b self, survey: &'b Survey) -> ShapeReport<'b> {
        let remedies = || settling(&self.told.adjustment, survey, self.reference);
        ShapeReport {
            settling: self.settling.get_or_init(remedies),
            ..self.report(survey)
        }
    }
}
