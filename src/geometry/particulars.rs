//! Figures that only some limits and aims ask for.
//!
//! A chosen twist or crown is no fault: twist is then measured from the even twist that was chosen, and
//! straightness from the parabola of the chosen crown.

use nalgebra::DVector;

use super::adjustment::Adjustment;
use super::convex::Convexity;
use super::extreme::{Noise, Range};
use super::figure::Figure;
use super::local::{LocalStraightness, twist_per_metre, twist_values};
use super::reference_line::ReferenceLine;
use super::shape::{BedShape, Way};
use super::sight::departures;
use crate::survey::{Side, Survey};

/// What the survey's limits and aim ask for beside twist, crown and straightness; what they do not ask for
/// is empty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Particulars {
    /// Largest change of cross slope over any metre, m/m.
    pub twist_per_metre: Option<Figure>,
    /// Straightness of every part, one for each local limit.
    pub local: Vec<LocalStraightness>,
    /// Convexity of the ways.
    pub convex: Vec<Convexity>,
    /// Range of the cross slope about the chosen twist, m/m, where one is chosen.
    pub twist_from_chosen: Option<Figure>,
    /// Range of the departures of a way from the chosen crown, m, where one is chosen.
    pub straightness_from_chosen: Vec<(Side, Figure)>,
}

impl Particulars {
    /// What a survey asks for of a shape.
    pub fn of(adjustment: &Adjustment, shape: &BedShape, survey: &Survey) -> Self {
        let (limits, aim) = (&survey.limits, &survey.aim);
        let chosen_twist = aim.twist.filter(|twist| *twist != 0.0);
        let chosen_crown = aim.crown.filter(|crown| *crown != 0.0);
        Self {
            twist_per_metre: limits
                .twist_per_metre
                .and_then(|_| twist_per_metre(adjustment, shape)),
            local: limits
                .local
                .iter()
                .map(|limit| LocalStraightness::of(adjustment, shape, *limit))
                .collect(),
            convex: shape
                .ways()
                .filter(|_| limits.convex_only)
                .filter_map(|way| Convexity::of(adjustment, way))
                .collect(),
            twist_from_chosen: chosen_twist
                .and_then(|twist| from_twist(adjustment, shape, twist / survey.bed.length)),
            straightness_from_chosen: chosen_crown.map_or_else(Vec::new, |crown| {
                shape
                    .ways()
                    .filter_map(|way| Some((way.side, from_crown(adjustment, way, crown)?)))
                    .collect()
            }),
        }
    }
}

/// Range of the cross slope less an even twist (m/m over a metre).
fn from_twist(adjustment: &Adjustment, shape: &BedShape, even: f64) -> Option<Figure> {
    let at: Vec<f64> = shape.cross.iter().map(|slope| slope.at).collect();
    if at.len() < 2 || shape.twist.is_none_or(|twist| twist.high.is_infinite()) {
        return None;
    }
    let (values, noise) = twist_values(adjustment, &at);
    Some(noise.figure(&(values - evenly_twisted(&at, even)), &Range))
}

/// Cross slopes at these places of an even twist (m/m over a metre).
pub(super) fn evenly_twisted(at: &[f64], even: f64) -> DVector<f64> {
    DVector::from_iterator(at.len(), at.iter().map(|x| even * x))
}

/// Range of a way's departures less the parabola with this crown over the way.
fn from_crown(adjustment: &Adjustment, way: &Way, crown: f64) -> Option<Figure> {
    way.straightness?;
    let at: Vec<f64> = way.points.iter().map(|point| point.at).collect();
    let functions = departures(adjustment, way.side, &at, ReferenceLine::EndPoints);
    let values = &functions * &adjustment.ways().unknowns;
    let noise = Noise::new(&adjustment.covariance_root_of_ways(&functions));
    Some(noise.figure(&(values - crowned(&at, crown)), &Range))
}

/// Heights at these places of the parabola with this crown above the line through the outer ones.
pub fn crowned(at: &[f64], crown: f64) -> DVector<f64> {
    let (first, last) = match at {
        [first, .., last] => (*first, *last),
        _ => return DVector::zeros(at.len()),
    };
    let heights = at.iter().map(|x| {
        let share = (x - first) / (last - first);
        4.0 * crown * share * (1.0 - share)
    });
    DVector::from_iterator(at.len(), heights)
}
