//! The figures of the bed now and after lifts, with their uncertainty.

use nalgebra::{DMatrix, DVector};

use super::card::Prediction;
use super::objective::{Kind, Objective};
use crate::geometry::extreme::Noise;
use crate::geometry::reference_line::range;
use crate::geometry::{Figure, Verdict};
use crate::response::History;
use crate::survey::{Limits, Side};

/// How well a hand that watches a bubble, or counts where none answers, places a foot, m.
const HAND: f64 = 8e-6;

/// Twist and crowns after these lifts (m by foot; none for the bed as it is).
pub(super) fn predict(
    objective: &Objective,
    history: &History,
    lifts: Option<&DVector<f64>>,
    limits: &Limits,
) -> Prediction {
    let mut values = objective.now.clone();
    let mut roots = vec![objective.root.clone()];
    if let Some(lifts) = lifts {
        let effect = &objective.heights * history.influence();
        values += &effect * lifts;
        for (change, deviation) in history.sensitivities() {
            let doubt = &objective.heights * (change * lifts) * deviation;
            roots.push(DMatrix::from_column_slice(doubt.len(), 1, doubt.as_slice()));
        }
        for (foot, lift) in lifts.iter().enumerate() {
            if *lift != 0.0 {
                let hand = effect.column(foot) * HAND;
                roots.push(DMatrix::from_column_slice(hand.len(), 1, hand.as_slice()));
            }
        }
    }
    let width: usize = roots.iter().map(DMatrix::ncols).sum();
    let mut root = DMatrix::zeros(values.len(), width);
    let mut first = 0;
    for part in roots {
        root.columns_mut(first, part.ncols()).copy_from(&part);
        first += part.ncols();
    }
    let pick = |kind: Kind| {
        let rows = objective.rows(kind);
        (!rows.is_empty()).then(|| {
            (
                DVector::from_iterator(rows.len(), rows.iter().map(|&i| values[i])),
                root.select_rows(&rows),
            )
        })
    };
    let crown = |side: Side| {
        pick(Kind::OffLine(side)).map(|(values, root)| Noise::new(&root).largest_departure(&values))
    };
    let mut prediction = Prediction {
        twist: pick(Kind::Twist).map(|(values, root)| Noise::new(&root).figure(&values, range)),
        crown_front: crown(Side::Front),
        crown_rear: crown(Side::Rear),
        within_limits: None,
    };
    prediction.within_limits = within(&prediction, limits);
    prediction
}

/// Whether the values keep every limit that is set; `None` when a limit has no value or none is set.
fn within(prediction: &Prediction, limits: &Limits) -> Option<bool> {
    let mut kept = None;
    let mut hold = |figure: Option<Figure>, lowest: f64, highest: f64| {
        let inside = figure.map(|figure| figure.value >= lowest && figure.value <= highest);
        kept = match (kept, inside) {
            (None, first) => Some(first),
            (Some(before), now) => Some(before.zip(now).map(|(a, b)| a && b)),
        };
    };
    if let Some(limit) = limits.twist {
        hold(prediction.twist, 0.0, limit);
    }
    if let Some([lowest, highest]) = limits.crown {
        hold(prediction.crown_front, lowest, highest);
        hold(prediction.crown_rear, lowest, highest);
    }
    kept.flatten()
}

/// The worst verdict on what is known of the bed against the limits that are set. `None` when no limit is
/// set or a limit's figure is not known.
pub(super) fn verdict(prediction: &Prediction, limits: &Limits) -> Option<Verdict> {
    let mut verdicts = Vec::new();
    if let Some(limit) = limits.twist {
        verdicts.push(prediction.twist.map(|twist| twist.verdict(0.0, limit)));
    }
    if let Some([lowest, highest]) = limits.crown {
        for crown in [prediction.crown_front, prediction.crown_rear] {
            verdicts.push(crown.map(|crown| crown.verdict(lowest, highest)));
        }
    }
    let all: Option<Vec<Verdict>> = verdicts.into_iter().collect();
    all.and_then(Verdict::worst)
}
