//! What is left to every limit that the bed is on its way to.
//!
//! Limits of twist and straightness are about the chosen twist and crown where these are chosen. A change of an
//! even twist or an even crown is all that is followed, so a limit over a part of the bed is used up in the
//! proportion in which an even twist or crown shows there.

use super::again::Margin;
use super::trace::Quantity;
use crate::geometry::local::METRE;
use crate::geometry::{Adjustment, BedShape, Figure, Particulars, ReferenceLine, Way};
use crate::survey::{Side, Survey};

/// What is left to the limits in a pass, and how fast it may be used up.
pub(super) fn margins(survey: &Survey, pass: usize, paces: &[(Quantity, Figure)]) -> Vec<Margin> {
    let adjustment = survey.passes.get(pass).and_then(|pass| {
        let level = survey.level_of(pass)?;
        Adjustment::in_survey(survey, pass, level).ok()
    });
    let Some(adjustment) = adjustment else {
        return Vec::new();
    };
    let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
    let particulars = Particulars::of(&adjustment, &shape, survey);
    let seen = Seen {
        survey,
        shape: &shape,
        particulars: &particulars,
    };
    paces
        .iter()
        .flat_map(|(quantity, per_week)| match quantity {
            Quantity::Twist => seen.twist(per_week),
            Quantity::Crown(side) => seen.crown(*side, per_week),
        })
        .collect()
}

/// A pass beside the survey's limits.
struct Seen<'a> {
    survey: &'a Survey,
    shape: &'a BedShape,
    particulars: &'a Particulars,
}

/// The fastest either way.
fn fastest(per_week: &Figure) -> f64 {
    per_week.low.abs().max(per_week.high.abs())
}

impl Seen<'_> {
    fn twist(&self, per_week: &Figure) -> Vec<Margin> {
        let limits = &self.survey.limits;
        let fastest = fastest(per_week);
        let twist = self.particulars.twist_from_chosen.or(self.shape.twist);
        let whole = twist.zip(limits.twist).map(|(twist, limit)| Margin {
            fastest,
            left: limit - twist.value,
        });
        let metre = self.particulars.twist_per_metre.zip(limits.twist_per_metre);
        let metre = metre.map(|(twist, limit)| Margin {
            fastest: fastest * (METRE / self.survey.bed.length).min(1.0),
            left: limit - twist.value,
        });
        whole.into_iter().chain(metre).collect()
    }

    fn crown(&self, side: Side, per_week: &Figure) -> Vec<Margin> {
        let way = match side {
            Side::Front => &self.shape.front,
            Side::Rear => &self.shape.rear,
        };
        let Some(way) = way else { return Vec::new() };
        let limits = &self.survey.limits;
        let mut margins = Vec::new();
        if let (Some(crown), Some([lowest, highest])) = (way.crown, limits.crown) {
            margins.push(Margin {
                fastest: per_week.high.max(0.0),
                left: highest - crown.value,
            });
            margins.push(Margin {
                fastest: (-per_week.low).max(0.0),
                left: crown.value - lowest,
            });
        }
        if let (Some(straightness), Some(limit)) = (self.straightness(way), limits.straightness) {
            margins.push(Margin {
                fastest: fastest(per_week),
                left: limit - straightness.value,
            });
        }
        margins.extend(self.local(way, per_week));
        margins
    }

    fn straightness(&self, way: &Way) -> Option<Figure> {
        let mut chosen = self.particulars.straightness_from_chosen.iter();
        let of_side = chosen.find(|(side, _)| *side == way.side);
        of_side.map(|(_, figure)| *figure).or(way.straightness)
    }

    /// A crown c over the length L is `c (over / L)²` over a part.
    fn local(&self, way: &Way, per_week: &Figure) -> Vec<Margin> {
        let length = match way.points.as_slice() {
            [first, .., last] => last.at - first.at,
            _ => return Vec::new(),
        };
        self.particulars
            .local
            .iter()
            .flat_map(|local| local.ways.iter().map(move |of| (local.limit, of)))
            .filter(|(_, of)| of.side == way.side)
            .map(|(limit, of)| Margin {
                fastest: fastest(per_week) * (limit.over / length).min(1.0).powi(2),
                left: limit.height - of.departure.value,
            })
            .collect()
    }
}
