//! Closed loops between neighbouring cross stations.

use nalgebra::RowDVector;

use super::adjustment::Adjustment;
use super::figure::COVERAGE_95;
use super::layout::{Layout, SAME_PLACE};
use super::observation::Observations;
use crate::survey::{Line, Side};

/// The closed loop between two neighbouring cross stations: along the front, across, back along the
/// rear, across.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bay {
    /// The cross station nearer the headstock end, m.
    pub from: f64,
    /// The next one, m.
    pub to: f64,
    /// What the loop misses by as a height, m: how much higher the front has come over the rear by the
    /// cross readings than by the along readings. The level's zero errors cancel.
    pub misclosure: f64,
    /// Standard deviation of that, m: of the readings, and of how the bed bends inside a span that
    /// reaches beyond the bay.
    pub deviation: f64,
}

impl Bay {
    /// Whether the loop closes within 95 %.
    pub fn closes(&self) -> bool {
        self.misclosure.abs() <= COVERAGE_95 * self.deviation
    }
}

/// A sum of observations, each with its weight.
type Sum = Vec<(usize, f64)>;

/// Every bay that along readings on both ways cover, along the bed.
pub fn bays(adjustment: &Adjustment) -> Vec<Bay> {
    let rows = &adjustment.observations().rows;
    let mut stations: Vec<f64> = rows
        .iter()
        .filter(|row| row.line == Line::Cross && !row.bound)
        .map(|row| row.at)
        .collect();
    stations.sort_by(f64::total_cmp);
    stations.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
    stations
        .windows(2)
        .filter_map(|pair| bay(adjustment, pair[0], pair[1]))
        .collect()
}

fn bay(adjustment: &Adjustment, from: f64, to: f64) -> Option<Bay> {
    let observations = adjustment.observations();
    let spacing = adjustment.way_spacing();
    let reversed = [false, true].into_iter().find(|reversed| {
        [from, to]
            .iter()
            .all(|at| !cross_at(observations, *at, *reversed).is_empty())
    })?;
    let mut sum: Sum = Vec::new();
    for (at, weight) in [(from, -spacing), (to, spacing)] {
        let found = cross_at(observations, at, reversed);
        let share = weight / found.len() as f64;
        sum.extend(found.into_iter().map(|i| (i, share)));
    }
    for (side, sign) in [(Side::Front, -1.0), (Side::Rear, 1.0)] {
        let step = step(observations, side, from, to)?;
        sum.extend(step.into_iter().map(|(i, weight)| (i, sign * weight)));
    }
    let rows = &observations.rows;
    let misclosure = sum
        .iter()
        .map(|(i, weight)| weight * rows[*i].unpacked())
        .sum();
    let scatter: f64 = weights_by_row(&sum)
        .into_iter()
        .map(|(i, weight)| (weight * rows[i].deviation).powi(2))
        .sum();
    // What the loop would miss by on a bed that bends inside the spans, were every reading perfect.
    let mut bending = RowDVector::zeros(adjustment.unknowns());
    for (i, weight) in &sum {
        bending += adjustment.shown(&rows[*i]) * *weight;
    }
    let noise = adjustment.unknowns() - Layout::polynomials() - 2;
    let unknowns = &adjustment.system().unknowns;
    let even: f64 = (0..Layout::polynomials())
        .map(|k| bending[k] * unknowns[k])
        .sum();
    let uneven = bending.columns(Layout::polynomials(), noise).norm_squared();
    Some(Bay {
        from,
        to,
        misclosure,
        deviation: (scatter + even * even + uneven).sqrt(),
    })
}

/// Cross readings at a place, with the level one way round.
fn cross_at(observations: &Observations, at: f64, reversed: bool) -> Vec<usize> {
    let rows = observations.rows.iter().enumerate();
    rows.filter(|(_, row)| {
        row.line == Line::Cross
            && !row.bound
            && row.reversed == reversed
            && (row.at - at).abs() < SAME_PLACE
    })
    .map(|(i, _)| i)
    .collect()
}

/// The rise of a way from one place to another, each reading taken as the slope all over its span and
/// overlapping spans averaged; `None` where no span covers a part of it.
fn step(observations: &Observations, side: Side, from: f64, to: f64) -> Option<Sum> {
    let half = observations.half_base;
    let spans: Vec<(usize, f64, f64)> = observations
        .rows
        .iter()
        .enumerate()
        .filter(|(_, row)| row.side() == Some(side) && !row.bound && !row.reversed)
        .map(|(i, row)| (i, row.at - half, row.at + half))
        .collect();
    let mut cuts: Vec<f64> = spans
        .iter()
        .flat_map(|(_, low, high)| [*low, *high])
        .filter(|at| (from..to).contains(at))
        .chain([from, to])
        .collect();
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
    let mut sum = Vec::new();
    for piece in cuts.windows(2) {
        let over: Vec<usize> = spans
            .iter()
            .filter(|(_, low, high)| *low < piece[0] + SAME_PLACE && *high > piece[1] - SAME_PLACE)
            .map(|(i, ..)| *i)
            .collect();
        if over.is_empty() {
            return None;
        }
        let share = (piece[1] - piece[0]) / over.len() as f64;
        sum.extend(over.into_iter().map(|i| (i, share)));
    }
    Some(sum)
}

/// The same sum with every observation once.
fn weights_by_row(sum: &Sum) -> Sum {
    let mut sorted = sum.clone();
    sorted.sort_by_key(|(i, _)| *i);
    sorted.dedup_by(|next, kept| {
        let same = next.0 == kept.0;
        if same {
            kept.1 += next.1;
        }
        same
    });
    sorted
}
