//! Whether a way is convex: no place of it lies below the line through its ends.

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, Normal};

use super::adjustment::Adjustment;
use super::figure::{COVERAGE_95, Figure, Verdict};
use super::reference_line::ReferenceLine;
use super::shape::Way;
use super::sight::departures;
use crate::survey::Side;

/// Chance of calling a convex way hollow.
const WRONG: f64 = 0.05;

/// How convex a way is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Convexity {
    /// Which way.
    pub side: Side,
    /// The place that is lowest for its uncertainty, m from the headstock end.
    pub at: f64,
    /// Its height above the line through the way's ends, m.
    pub lowest: Figure,
    /// Inside when every place is above the line by more than its uncertainty; outside when any place is
    /// below it by more than the lowest of as many places comes to by chance (Bonferroni).
    pub verdict: Verdict,
}

impl Convexity {
    /// Of a way with at least one place between its ends.
    pub fn of(adjustment: &Adjustment, way: &Way) -> Option<Self> {
        let at: Vec<f64> = way.points.iter().map(|point| point.at).collect();
        let functions = departures(adjustment, way.side, &at, ReferenceLine::EndPoints);
        let values = &functions * &adjustment.ways().unknowns;
        let root = adjustment.covariance_root_of_ways(&functions);
        Self::told(way.side, &at, &values, &root)
    }

    /// Of a way with these heights above the line through its ends, `root · rootᵀ` their covariance.
    pub(crate) fn told(
        side: Side,
        at: &[f64],
        values: &DVector<f64>,
        root: &DMatrix<f64>,
    ) -> Option<Self> {
        let between = at.len().checked_sub(2).filter(|count| *count > 0)?;
        let heights: Vec<(f64, Figure)> = (1..=between)
            .map(|k| (at[k], Figure::normal(values[k] + 0.0, root.row(k).norm())))
            .collect();
        let share = |figure: &Figure| figure.value / figure.u95.max(f64::MIN_POSITIVE);
        let (at, lowest) = heights
            .iter()
            .copied()
            .min_by(|a, b| share(&a.1).total_cmp(&share(&b.1)))?;
        let quantile = Normal::standard().inverse_cdf(1.0 - WRONG / (2.0 * between as f64));
        let verdict = if heights.iter().all(|(_, height)| height.low >= 0.0) {
            Verdict::Inside
        } else if lowest.value + lowest.u95 * quantile / COVERAGE_95 < 0.0 {
            Verdict::Outside
        } else {
            Verdict::Unsure
        };
        Some(Self {
            side,
            at,
            lowest,
            verdict,
        })
    }
}
