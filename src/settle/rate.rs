//! How fast a quantity goes.

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ChiSquared, ContinuousCDF};

use crate::geometry::change::FALSE_ALARMS;
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::{Figure, LeastSquares};

/// Days in a week.
pub const WEEK: f64 = 7.0;

/// Change over time, by weighted least squares through all passes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rate {
    /// Change in a week.
    pub per_week: Figure,
    /// Whether the values lie on a straight line over time as far as they can tell; `None` with two.
    pub steady: Option<bool>,
}

impl Rate {
    /// Of values (with their uncertainties) at these days. `None` without two different days.
    ///
    /// ```
    /// use quarterturn::geometry::Figure;
    /// use quarterturn::settle::Rate;
    ///
    /// let rate = Rate::of(&[0.0, 14.0], &[Figure::normal(1.0, 0.3), Figure::normal(3.0, 0.4)]).unwrap();
    /// assert!((rate.per_week.value - 1.0).abs() < 1e-12);
    /// // The difference has a deviation of 0.5, a week is half of it.
    /// assert!((rate.per_week.u95 - 1.959964 * 0.25).abs() < 1e-6);
    /// ```
    pub fn of(days: &[f64], values: &[Figure]) -> Option<Self> {
        let sigma: Vec<f64> = values.iter().map(|value| value.u95 / COVERAGE_95).collect();
        if sigma.iter().any(|sigma| *sigma <= 0.0) {
            return None;
        }
        let design = DMatrix::from_fn(
            days.len(),
            2,
            |i, j| {
                if j == 0 { 1.0 } else { days[i] / WEEK }
            },
        );
        let target = DVector::from_iterator(values.len(), values.iter().map(|value| value.value));
        let solved = LeastSquares::weighted(design, target, &sigma).solve();
        let slope = DVector::from_vec(vec![0.0, 1.0]);
        let per_week = solved.value(slope.as_view())?;
        let deviation = solved
            .covariance_root(&DMatrix::from_row_slice(1, 2, &[0.0, 1.0]))
            .norm();
        let freedom = days.len() - solved.rank;
        let steady = ChiSquared::new(freedom as f64)
            .ok()
            .map(|distribution| distribution.sf(solved.sum_of_squares()) >= FALSE_ALARMS);
        Some(Self {
            per_week: Figure::normal(per_week, deviation),
            steady,
        })
    }

    /// Of a change in so many days. `None` when there are none.
    pub fn over(days: f64, change: &Figure) -> Option<Self> {
        let weekly = |change: f64| change / days * WEEK;
        (days > 0.0).then(|| Self {
            per_week: Figure {
                value: weekly(change.value),
                u95: weekly(change.u95),
                low: weekly(change.low),
                high: weekly(change.high),
            },
            steady: None,
        })
    }

    /// Whether it is more than its uncertainty.
    pub fn is_real(&self) -> bool {
        self.per_week.value.abs() > self.per_week.u95
    }
}
