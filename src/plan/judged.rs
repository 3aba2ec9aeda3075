//! What a pass says by itself, whatever the rounds before made likely.

use super::advice::Advice;
use crate::geometry::{GlobalTest, Passes, Told, Verdict};

/// What a pass says about the limits.
pub(super) struct Judged<'p> {
    told: Option<&'p Told<'p>>,
    /// The worst verdict there is.
    pub worst: Option<Verdict>,
    /// What intervals are multiplied by where the readings scatter more than is stated: one hand took all passes, and
    /// together they tell that well.
    pub widening: f64,
}

impl<'p> Judged<'p> {
    /// Judges the pass with this index.
    pub fn of(passes: &'p Passes, index: usize) -> Self {
        let told = passes.told(index).ok();
        Self {
            worst: told.and_then(|told| told.judgement().overall()),
            widening: scatter(passes, index).map_or(1.0, |test| test.widening()),
            told,
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

/// The misfits of a pass and of those before it, together. A slip in one of those is none of this one's.
fn scatter(passes: &Passes, index: usize) -> Option<GlobalTest> {
    let told = (0..=index).filter_map(|pass| Some((pass, passes.told(pass).ok()?)));
    let fair = told.filter(|(pass, told)| *pass == index || told.suspects().suspect().is_none());
    let (squares, freedom) = fair.fold((0.0, 0), |(squares, freedom), (_, told)| {
        let own = told.adjustment.chi_square();
        (squares + own.0, freedom + own.1)
    });
    GlobalTest::of(squares, freedom)
}
