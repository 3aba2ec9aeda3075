//! The figures of a prediction held against the limits.

use super::card::Prediction;
use crate::geometry::judgement::allows_both;
use crate::geometry::{Figure, Verdict};
use crate::survey::Limits;

/// A figure that has a limit.
struct Limited {
    /// `None` where the readings cannot tell it.
    figure: Option<Figure>,
    lowest: f64,
    highest: f64,
    /// Whether it is taken over all places, read or not.
    everywhere: bool,
    crown: bool,
}

impl Limited {
    fn verdict(&self) -> Option<Verdict> {
        Some(self.figure?.verdict(self.lowest, self.highest))
    }
}

impl Prediction {
    /// Whether every figure that has a limit keeps it with its whole interval.
    pub fn surely_within(&self, limits: &Limits) -> bool {
        self.all(limits, |figure, lowest, highest| {
            lowest <= figure.low && figure.high <= highest
        }) == Some(true)
            && self.convex().all(|verdict| verdict == Verdict::Inside)
    }

    /// Whether every figure that has a limit keeps it, its uncertainty apart; `None` when none is set or the figure
    /// of one is not known.
    pub(super) fn keeps(&self, limits: &Limits) -> Option<bool> {
        let mut convex = self.particulars.convex.iter();
        let within = self.all(limits, |figure, lowest, highest| {
            (lowest..=highest).contains(&figure.value)
        })?;
        Some(within && convex.all(|way| way.lowest.value >= 0.0))
    }

    /// Whether every figure but the crowns keeps its limit with as much to spare as the interval of the same figure of
    /// `spare` reaches beyond its value.
    pub(super) fn keeps_beside_crowns(&self, spare: &Self, limits: &Limits) -> bool {
        let kept = |(own, spare): (&Limited, &Limited)| {
            let Some((own_figure, spare)) = own.figure.zip(spare.figure) else {
                // What the readings do not tell is said elsewhere.
                return true;
            };
            let low = own_figure.value - (spare.value - spare.low).max(0.0);
            let high = own_figure.value + (spare.high - spare.value).max(0.0);
            own.crown || (own.lowest <= low.max(0.0) && high <= own.highest)
        };
        let convex = self
            .particulars
            .convex
            .iter()
            .zip(&spare.particulars.convex)
            .all(|(own, spare)| {
                own.lowest.value >= (spare.lowest.value - spare.lowest.low).max(0.0)
            });
        let (own, spare) = (self.limited(limits), spare.limited(limits));
        convex && own.iter().zip(&spare).all(kept)
    }

    /// The worst verdict on what is known of the bed against the limits that are set; `None` when no limit is
    /// set or none of their figures is known.
    pub(super) fn verdict(&self, limits: &Limits) -> Option<Verdict> {
        let limited = self.limited(limits);
        let figures = limited.iter().filter_map(Limited::verdict);
        Verdict::worst(figures.chain(self.convex()))
    }

    /// The same of the figures that are taken over all places, read or not: twist, crown and straightness.
    pub(super) fn verdict_between(&self, limits: &Limits) -> Option<Verdict> {
        let limited = self.limited(limits);
        let everywhere = limited.iter().filter(|limited| limited.everywhere);
        Verdict::worst(everywhere.filter_map(Limited::verdict))
    }

    fn convex(&self) -> impl Iterator<Item = Verdict> {
        self.particulars.convex.iter().map(|way| way.verdict)
    }

    /// Whether something holds for every figure that has a limit; `None` when none is set or the figure of one is
    /// not known.
    fn all(&self, limits: &Limits, holds: impl Fn(Figure, f64, f64) -> bool) -> Option<bool> {
        if limits.convex_only {
            self.particulars.convex.first()?;
        }
        let limited = self.limited(limits);
        if limited.is_empty() && !limits.convex_only {
            return None;
        }
        limited.iter().try_fold(true, |all, one| {
            let held = holds(one.figure?, one.lowest, one.highest);
            Some(all && held)
        })
    }

    fn limited(&self, limits: &Limits) -> Vec<Limited> {
        let particulars = &self.particulars;
        let of = |figure: Option<Figure>, [lowest, highest]: [f64; 2], everywhere: bool| Limited {
            figure,
            lowest,
            highest,
            everywhere,
            crown: false,
        };
        // A limit that no way can be held against is not kept.
        let or_none = |figures: Vec<Figure>| -> Vec<Option<Figure>> {
            if figures.is_empty() {
                vec![None]
            } else {
                figures.into_iter().map(Some).collect()
            }
        };
        let mut limited = Vec::new();
        if let Some(limit) = limits.twist {
            limited.push(of(self.twist, [0.0, limit], true));
        }
        if let Some(ends) = limits.crown {
            limited.extend([self.crown_front, self.crown_rear].map(|crown| Limited {
                crown: true,
                ..of(crown, ends, true)
            }));
            let opposite = self.opposite.iter().flatten();
            let judged = opposite.filter(|figure| allows_both(figure, ends));
            limited.extend(judged.map(|figure| Limited {
                crown: true,
                ..of(Some(*figure), ends, true)
            }));
        }
        if let Some(limit) = limits.straightness {
            let ways = particulars.straightness_from_chosen.iter();
            let ways = or_none(ways.map(|(_, figure)| *figure).collect());
            limited.extend(ways.into_iter().map(|way| of(way, [0.0, limit], true)));
        }
        if let Some(limit) = limits.twist_per_metre {
            limited.push(of(particulars.twist_per_metre, [0.0, limit], false));
        }
        for local in &particulars.local {
            let ways = or_none(local.ways.iter().map(|way| way.departure).collect());
            let ends = [0.0, local.limit.height];
            limited.extend(ways.into_iter().map(|way| of(way, ends, false)));
        }
        limited
    }
}
