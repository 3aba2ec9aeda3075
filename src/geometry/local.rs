//! Departures over any part of the bed.
//!
//! A limit over any 250 mm is held against every part of the way that long. Where the level was read too
//! sparsely for three places to lie in it, the shortest part with three places is taken instead and its
//! departures are carried to the limit's length in proportion (the law of proportionality of ISO 230-1, from
//! memory): on a way that is evenly curved that is the stricter side.

use nalgebra::{DMatrix, DVector};

use super::adjustment::Adjustment;
use super::extreme::Noise;
use super::figure::Figure;
use super::reference_line::{ReferenceLine, range};
use super::shape::{BedShape, Way};
use super::sight::{cross_slopes, departures};
use crate::survey::{LocalLimit, PLACE_ROUNDING, Side};

/// Length over which a twist per metre is taken, m.
pub const METRE: f64 = 1.0;

/// Places of a part that it takes to tell whether it is straight.
const PLACES_OF_A_PART: usize = 3;

/// What any part of a way departs by from the line through its own ends.
#[derive(Debug, Clone, PartialEq)]
pub struct LocalStraightness {
    /// The limit it is held against.
    pub limit: LocalLimit,
    /// The ways that tell it.
    pub ways: Vec<LocalWay>,
}

/// Local straightness of one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LocalWay {
    /// Which way.
    pub side: Side,
    /// Largest range of departures, carried to the limit's length, m.
    pub departure: Figure,
    /// Where the part with the largest departure lies, m from the headstock end.
    pub part: [f64; 2],
    /// Whether every part is longer than the limit's length.
    pub scaled: bool,
}

impl LocalStraightness {
    /// Of both ways, as far as they are known.
    pub fn of(adjustment: &Adjustment, shape: &BedShape, limit: LocalLimit) -> Self {
        Self {
            limit,
            ways: shape
                .ways()
                .filter_map(|way| local_way(adjustment, way, limit.over))
                .collect(),
        }
    }
}

fn local_way(adjustment: &Adjustment, way: &Way, over: f64) -> Option<LocalWay> {
    let at: Vec<f64> = way.points.iter().map(|point| point.at).collect();
    let functions = departures(adjustment, way.side, &at, ReferenceLine::EndPoints);
    let values = &functions * &adjustment.ways().unknowns;
    let root = adjustment.covariance_root_of_ways(&functions);
    LocalWay::told(way.side, &at, &values, over, |statistic| {
        Noise::new(&root).figure(&values, &statistic)
    })
}

impl LocalWay {
    /// Of a way with these departures from a line at these places, over parts of this length, m; `figure` gives
    /// a statistic of the departures its uncertainty. `None` where no part has places enough.
    pub(crate) fn told(
        side: Side,
        at: &[f64],
        values: &DVector<f64>,
        over: f64,
        figure: impl FnOnce(&dyn Fn(&[f64]) -> f64) -> Figure,
    ) -> Option<Self> {
        let departs_most = departs_most(at, over)?;
        let parts = parts(at, over, PLACES_OF_A_PART);
        let worst = parts.iter().copied().max_by(|a, b| {
            let [a, b] = [a, b].map(|part| departs(at, values.as_slice(), *part, over));
            a.total_cmp(&b)
        })?;
        Some(Self {
            side,
            departure: figure(&departs_most),
            part: worst.map(|place| at[place]),
            scaled: parts
                .iter()
                .all(|[first, last]| at[*last] - at[*first] > over + PLACE_ROUNDING),
        })
    }
}

/// The largest range of departures over any part of a way with heights at these places, carried to this length;
/// `None` where no part has places enough.
pub(super) fn departs_most(at: &[f64], over: f64) -> Option<impl Fn(&[f64]) -> f64> {
    let parts = parts(at, over, PLACES_OF_A_PART);
    (!parts.is_empty()).then_some(move |heights: &[f64]| {
        let each = parts.iter().map(|part| departs(at, heights, *part, over));
        each.fold(0.0, f64::max)
    })
}

/// Range of departures over one part, carried to this length.
fn departs(at: &[f64], heights: &[f64], [first, last]: [usize; 2], over: f64) -> f64 {
    let places = &at[first..=last];
    let off = ReferenceLine::EndPoints.departures(places, &heights[first..=last]);
    range(&off) / carried(places, over)
}

/// By how much a departure over these places is divided to be one over `over`.
fn carried(places: &[f64], over: f64) -> f64 {
    match places {
        [first, .., last] => ((last - first) / over).max(1.0),
        _ => 1.0,
    }
}

/// Parts of at most this length, as long as they can be from each place on, as first and last place; from a
/// place from which fewer places than needed lie within it, the shortest part with as many.
fn parts(at: &[f64], over: f64, needed: usize) -> Vec<[usize; 2]> {
    (0..at.len())
        .filter_map(|first| {
            let within = at.partition_point(|x| *x - at[first] <= over + PLACE_ROUNDING);
            let last = within.max(first + needed) - 1;
            (last < at.len()).then_some([first, last])
        })
        .collect()
}

/// Largest change of cross slope over any metre, m/m; `None` without two cross stations.
pub fn twist_per_metre(adjustment: &Adjustment, shape: &BedShape) -> Option<Figure> {
    let at: Vec<f64> = shape.cross.iter().map(|slope| slope.at).collect();
    if at.len() < 2 || shape.twist.is_none_or(|twist| twist.high.is_infinite()) {
        return None;
    }
    let (values, noise) = twist_values(adjustment, &at);
    Some(noise.figure(&values, &twists_most(&at)))
}

/// The largest change over any metre of cross slopes at these places.
pub(crate) fn twists_most(at: &[f64]) -> impl Fn(&[f64]) -> f64 {
    let parts = parts(at, METRE, 2);
    move |slopes: &[f64]| {
        let each = parts.iter().map(|[first, last]| {
            range(&slopes[*first..=*last]) / carried(&at[*first..=*last], METRE)
        });
        each.fold(0.0, f64::max)
    }
}

/// Cross slopes less their mean, in which the zero error is, and their noise.
pub(super) fn twist_values(adjustment: &Adjustment, at: &[f64]) -> (DVector<f64>, Noise) {
    let slopes = cross_slopes(adjustment, at);
    let count = at.len();
    let centred =
        DMatrix::identity(count, count) - DMatrix::from_element(count, count, 1.0 / count as f64);
    let functions = centred * slopes;
    let noise = Noise::new(&adjustment.covariance_root(&functions));
    (&functions * &adjustment.system().unknowns, noise)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_are_as_long_as_the_limit_allows() {
        let at = [0.0, 0.1, 0.2, 0.3, 0.4];
        assert_eq!(parts(&at, 0.25, 3), [[0, 2], [1, 3], [2, 4]]);
        assert_eq!(parts(&at, 0.3, 3), [[0, 3], [1, 4], [2, 4]]);
        // Three places 0.1 m apart do not fit into 0.15 m.
        assert_eq!(parts(&at, 0.15, 3), [[0, 2], [1, 3], [2, 4]]);
        assert!(parts(&at[..2], 1.0, 3).is_empty());
    }

    #[test]
    fn a_longer_part_is_carried_to_the_limit_in_proportion() {
        assert!((carried(&[0.0, 0.2, 0.4], 0.25) - 1.6).abs() < 1e-12);
        assert!((carried(&[0.0, 0.1, 0.2], 0.25) - 1.0).abs() < 1e-12);
    }
}
