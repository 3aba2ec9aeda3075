//! What every pass of a survey says by itself, worked out once in a run and only when it is asked for.

use std::cell::OnceCell;

use super::adjustment::{Adjustment, Refusal};
use super::judgement::Judgement;
use super::particulars::Particulars;
use super::reference_line::ReferenceLine;
use super::shape::BedShape;
use super::suspects::Suspects;
use crate::survey::{Level, Pass, Survey};

/// The passes of a survey, each adjusted by itself at most once.
pub struct Passes<'a> {
    survey: &'a Survey,
    told: Vec<OnceCell<Result<Told<'a>, Untold>>>,
}

/// Why a pass says nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Untold {
    /// The survey has no such pass.
    NoPass,
    /// Its level is not in the survey.
    NoLevel,
    /// It cannot be adjusted.
    Refused(Refusal),
}

/// What one pass says by itself.
pub struct Told<'a> {
    survey: &'a Survey,
    /// The pass.
    pub pass: &'a Pass,
    /// The level it was taken with.
    pub level: &'a Level,
    /// Its readings, adjusted together.
    pub adjustment: Adjustment,
    shape: OnceCell<BedShape>,
    particulars: OnceCell<Particulars>,
    suspects: OnceCell<Suspects>,
}

impl<'a> Passes<'a> {
    /// Of a survey; nothing is adjusted yet.
    pub fn of(survey: &'a Survey) -> Self {
        Self {
            survey,
            told: survey.passes.iter().map(|_| OnceCell::new()).collect(),
        }
    }

    /// The survey.
    pub fn survey(&self) -> &'a Survey {
        self.survey
    }

    /// What the pass with this index says by itself.
    pub fn told(&self, index: usize) -> Result<&Told<'a>, Untold> {
        let cell = self.told.get(index).ok_or(Untold::NoPass)?;
        cell.get_or_init(|| Told::of(self.survey, &self.survey.passes[index]))
            .as_ref()
            .map_err(|reason| *reason)
    }
}

impl<'a> Told<'a> {
    fn of(survey: &'a Survey, pass: &'a Pass) -> Result<Self, Untold> {
        let level = survey.level_of(pass).ok_or(Untold::NoLevel)?;
        let adjustment = Adjustment::in_survey(survey, pass, level).map_err(Untold::Refused)?;
        Ok(Self {
            survey,
            pass,
            level,
            adjustment,
            shape: OnceCell::new(),
            particulars: OnceCell::new(),
            suspects: OnceCell::new(),
        })
    }

    /// Its shape, departures measured from the lines through the ends.
    pub fn shape(&self) -> &BedShape {
        self.shape
            .get_or_init(|| BedShape::of(&self.adjustment, ReferenceLine::EndPoints))
    }

    /// What the limits and the aim ask for beside [`Self::shape`].
    pub fn particulars(&self) -> &Particulars {
        self.particulars
            .get_or_init(|| Particulars::of(&self.adjustment, self.shape(), self.survey))
    }

    /// Readings that do not fit the others.
    pub fn suspects(&self) -> &Suspects {
        self.suspects.get_or_init(|| Suspects::of(&self.adjustment))
    }

    /// [`Self::shape`] against the limits.
    pub fn judgement(&self) -> Judgement {
        Judgement::with_particulars(self.shape(), self.particulars(), &self.survey.limits)
            .with_readings_off_scale(&self.adjustment)
    }
}
