//! The figures of the bed now and after lifts, with their uncertainty.

use nalgebra::{DMatrix, DVector};

use super::card::Prediction;
use super::departures::Kind;
use super::objective::Objective;
use crate::geometry::extreme::{Noise, largest};
use crate::geometry::reference_line::range;
use crate::geometry::{Figure, Verdict};
use crate::survey::{Limits, Side};

/// Twist, about the one that was chosen, and crowns of departures that were seen; their covariance is
/// `root · rootᵀ`. They are taken over all places between the outer ones that were read, so a bed that is rough
/// where nothing was read shows in them.
pub(super) fn seen(
    objective: &Objective,
    departures: &DVector<f64>,
    root: &DMatrix<f64>,
    limits: &Limits,
) -> Prediction {
    figures(
        objective,
        departures,
        root,
        limits,
        |noise, values| noise.figure(values, range),
        Noise::largest_departure,
    )
}

/// Twist and crowns of departures that are meant to be; what misses them has the covariance `root · rootᵀ`.
pub(super) fn meant(
    objective: &Objective,
    departures: &DVector<f64>,
    root: &DMatrix<f64>,
    limits: &Limits,
) -> Prediction {
    figures(
        objective,
        departures,
        root,
        limits,
        |noise, values| noise.forecast(values, range),
        |noise, values| noise.forecast(values, largest),
    )
}

fn figures(
    objective: &Objective,
    departures: &DVector<f64>,
    root: &DMatrix<f64>,
    limits: &Limits,
    twist: impl Fn(&Noise, &DVector<f64>) -> Figure,
    crown: impl Fn(&Noise, &DVector<f64>) -> Figure,
) -> Prediction {
    let pick = |kind: Kind| {
        let rows = objective.rows(kind);
        (!rows.is_empty()).then(|| {
            let chosen = |i: usize| match kind {
                Kind::Twist => objective.target[i],
                _ => 0.0,
            };
            let values = rows.iter().map(|&i| departures[i] - chosen(i));
            let values = DVector::from_iterator(rows.len(), values);
            (values, Noise::new(&root.select_rows(&rows)))
        })
    };
    let crown_of =
        |side: Side| pick(Kind::OffLine(side)).map(|(values, noise)| crown(&noise, &values));
    let mut prediction = Prediction {
        twist: pick(Kind::Twist).map(|(values, noise)| twist(&noise, &values)),
        crown_front: crown_of(Side::Front),
        crown_rear: crown_of(Side::Rear),
        within_limits: None,
    };
    prediction.within_limits = within(&prediction, limits);
    prediction
}

/// Whether these departures keep every limit that is set, their uncertainty apart; `None` when a limit has
/// no value or none is set.
pub(super) fn keeps(
    objective: &Objective,
    departures: &DVector<f64>,
    limits: &Limits,
) -> Option<bool> {
    let exact = DMatrix::zeros(departures.len(), 1);
    seen(objective, departures, &exact, limits).within_limits
}

impl Prediction {
    /// Whether every figure that has a limit keeps it with its whole interval.
    pub fn surely_within(&self, limits: &Limits) -> bool {
        limited(self, limits).is_some_and(|limited| {
            limited
                .iter()
                .all(|(figure, lowest, highest)| *lowest <= figure.low && figure.high <= *highest)
        })
    }
}

fn within(prediction: &Prediction, limits: &Limits) -> Option<bool> {
    let limited = limited(prediction, limits)?;
    Some(
        limited
            .iter()
            .all(|(figure, lowest, highest)| (*lowest..=*highest).contains(&figure.value)),
    )
}

/// The worst verdict on what is known of the bed against the limits that are set; `None` when no limit is
/// set or none of their figures is known.
pub(super) fn verdict(prediction: &Prediction, limits: &Limits) -> Option<Verdict> {
    let twist = limits
        .twist
        .and_then(|limit| Some(prediction.twist?.verdict(0.0, limit)));
    let crowns = [prediction.crown_front, prediction.crown_rear]
        .into_iter()
        .flatten()
        .filter_map(|crown| limits.crown.map(|[low, high]| crown.verdict(low, high)));
    Verdict::worst(twist.into_iter().chain(crowns))
}

/// Every figure that has a limit, with the limit's ends; `None` when there is none or one is not known.
fn limited(prediction: &Prediction, limits: &Limits) -> Option<Vec<(Figure, f64, f64)>> {
    let mut figures = Vec::new();
    if let Some(limit) = limits.twist {
        figures.push((prediction.twist?, 0.0, limit));
    }
    if let Some([lowest, highest]) = limits.crown {
        figures.push((prediction.crown_front?, lowest, highest));
        figures.push((prediction.crown_rear?, lowest, highest));
    }
    (!figures.is_empty()).then_some(figures)
}
