//! The shape held against the limits.

use super::figure::Verdict;
use super::shape::BedShape;
use crate::survey::Limits;

/// One verdict for each kind of limit; `None` where there is no limit or the figure is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Judgement {
    /// Of the twist.
    pub twist: Option<Verdict>,
    /// Of the crown, the worse of the two ways.
    pub crown: Option<Verdict>,
    /// Of the straightness, the worse of the two ways.
    pub straightness: Option<Verdict>,
}

impl Judgement {
    /// Holds a shape against limits.
    pub fn of(shape: &BedShape, limits: &Limits) -> Self {
        let twist = shape
            .twist
            .zip(limits.twist)
            .map(|(twist, limit)| twist.verdict(0.0, limit));
        let crown = limits.crown.and_then(|[lowest, highest]| {
            let crowns = shape.ways().filter_map(|way| way.crown);
            Verdict::worst(crowns.map(|crown| crown.verdict(lowest, highest)))
        });
        let straightness = limits.straightness.and_then(|limit| {
            let figures = shape.ways().filter_map(|way| way.straightness);
            Verdict::worst(figures.map(|figure| figure.verdict(0.0, limit)))
        });
        Self {
            twist,
            crown,
            straightness,
        }
    }

    /// The worst of all; `None` when nothing could be judged.
    pub fn overall(&self) -> Option<Verdict> {
        Verdict::worst(
            [self.twist, self.crown, self.straightness]
                .into_iter()
                .flatten(),
        )
    }

    /// Whether every limit is proven kept: none is unsure, none unknown.
    pub fn proven(&self, limits: &Limits) -> bool {
        let kept = |set: bool, verdict: Option<Verdict>| !set || verdict == Some(Verdict::Inside);
        kept(limits.twist.is_some(), self.twist)
            && kept(limits.crown.is_some(), self.crown)
            && kept(limits.straightness.is_some(), self.straightness)
    }
}
