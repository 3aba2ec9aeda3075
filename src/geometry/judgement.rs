//! The shape held against the limits.

use super::adjustment::Adjustment;
use super::figure::{Figure, Verdict};
use super::particulars::Particulars;
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
    /// Of the twist over any metre.
    pub twist_per_metre: Option<Verdict>,
    /// Of the straightness of any part, the worst of both ways and all local limits.
    pub local: Option<Verdict>,
    /// Of the ways being convex, the worse of the two.
    pub convex: Option<Verdict>,
}

/// Whether limits on the crown leave room on the side of this departure. Where they end at the line itself the largest
/// departure is all that is held against them: next to its ends every way is on the line, and read on either side of it.
pub(crate) fn allows_both(opposite: &Figure, [lowest, highest]: [f64; 2]) -> bool {
    if opposite.low < 0.0 {
        lowest < 0.0
    } else {
        highest > 0.0
    }
}

impl Judgement {
    /// Holds a shape and its particulars against limits: twist and straightness from what was chosen.
    pub fn with_particulars(shape: &BedShape, particulars: &Particulars, limits: &Limits) -> Self {
        let plain = Self::of(shape, limits);
        let within = |figure: Option<Figure>, limit: Option<f64>| {
            figure
                .zip(limit)
                .map(|(figure, limit)| figure.verdict(0.0, limit))
        };
        let straightness = particulars
            .straightness_from_chosen
            .iter()
            .filter_map(|(_, figure)| within(Some(*figure), limits.straightness));
        let local = particulars.local.iter().flat_map(|local| {
            let height = local.limit.height;
            let ways = local.ways.iter();
            ways.map(move |way| way.departure.verdict(0.0, height))
        });
        // A limit that no way can be held against is not kept.
        let all_told = particulars.local.iter().all(|local| !local.ways.is_empty());
        Self {
            twist: within(particulars.twist_from_chosen, limits.twist).or(plain.twist),
            straightness: Verdict::worst(straightness).or(plain.straightness),
            twist_per_metre: within(particulars.twist_per_metre, limits.twist_per_metre),
            local: Verdict::worst(local).filter(|verdict| all_told || *verdict != Verdict::Inside),
            convex: Verdict::worst(particulars.convex.iter().map(|way| way.verdict)),
            ..plain
        }
    }

    /// Holds a shape against the limits on twist, crown and straightness.
    pub fn of(shape: &BedShape, limits: &Limits) -> Self {
        let twist = limits.twist.and_then(|limit| match shape.twist {
            Some(twist) => Some(twist.verdict(0.0, limit)),
            // What left the scale on both sides is known to be far out, and no more.
            None => shape
                .least_twist
                .filter(|least| *least > limit)
                .map(|_| Verdict::Outside),
        });
        let crown = limits.crown.and_then(|[lowest, highest]| {
            let crowns = shape.ways().filter_map(|way| way.crown);
            let opposite = shape.ways().filter_map(|way| way.opposite);
            let judged = opposite.filter(|figure| allows_both(figure, [lowest, highest]));
            let figures = crowns.chain(judged);
            Verdict::worst(figures.map(|figure| figure.verdict(lowest, highest)))
        });
        let straightness = limits.straightness.and_then(|limit| {
            let figures = shape.ways().filter_map(|way| way.straightness);
            Verdict::worst(figures.map(|figure| figure.verdict(0.0, limit)))
        });
        Self {
            twist,
            crown,
            straightness,
            ..Self::default()
        }
    }

    /// The same for a pass of which a reading off the scale is all that holds the surface somewhere: the bed is at
    /// least so far out there and may be any further, so that no limit is proven kept.
    #[must_use]
    pub fn with_readings_off_scale(self, adjustment: &Adjustment) -> Self {
        if adjustment.off_scale_used() == 0 {
            return self;
        }
        let open = |verdict: Option<Verdict>| verdict.map(|verdict| verdict.max(Verdict::Unsure));
        Self {
            twist: open(self.twist),
            crown: open(self.crown),
            straightness: open(self.straightness),
            twist_per_metre: open(self.twist_per_metre),
            local: open(self.local),
            convex: open(self.convex),
        }
    }

    /// The worst of all; `None` when nothing could be judged.
    pub fn overall(&self) -> Option<Verdict> {
        Verdict::worst(
            [
                self.twist,
                self.crown,
                self.straightness,
                self.twist_per_metre,
                self.local,
                self.convex,
            ]
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
            && kept(limits.twist_per_metre.is_some(), self.twist_per_metre)
            && kept(!limits.local.is_empty(), self.local)
            && kept(limits.convex_only, self.convex)
    }
}
