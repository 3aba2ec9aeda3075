//! Whether the bed comes to rest: an exponential approach, `end + start · exp(-t / time)`.
//!
//! All quantities share one time. For a given time the rest is linear and is solved by least squares; the time
//! itself is searched on a grid of equal ratios between a tenth of the span watched and three times it, and
//! its interval is where the misfit stays within the 95 % point of chi-square with one degree of freedom of
//! the best (profile likelihood; from memory).

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::trace::{Quantity, Trace};
use crate::geometry::change::FALSE_ALARMS;
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::{Adjusted, Figure, LeastSquares};

/// Passes with a date that it takes at least: three unknowns and one to check them.
pub const FEWEST_PASSES: usize = 4;

/// Shortest time that is tried, as a share of the span watched.
const SHORTEST: f64 = 0.1;
/// Longest time that is tried, as a share of the span watched: beyond it the curve is a straight line.
const LONGEST: f64 = 3.0;
/// Times that are tried.
const TRIES: u32 = 81;

/// 95 % point of chi-square with one degree of freedom.
const PROFILE: f64 = COVERAGE_95 * COVERAGE_95;

/// An approach that the passes show.
#[derive(Debug, Clone, PartialEq)]
pub struct Approach {
    /// Time in which what is left falls to 1/e, days.
    pub time: f64,
    /// Its 95 % interval, days.
    pub interval: [f64; 2],
    /// What is still to come after the last pass.
    pub to_come: Vec<(Quantity, Figure)>,
}

/// Why no approach is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoApproach {
    /// Too few passes have a date.
    TooFewPasses {
        /// How many have one.
        passes: usize,
    },
    /// The bed has not moved by more than the readings scatter.
    NothingMoved,
    /// It moves, and no end of it can be seen.
    NoEndInSight,
    /// It moves, and not in this way.
    OtherWay,
}

impl Approach {
    /// Through traces with a value at every one of these days.
    pub fn of(days: &[f64], traces: &[Trace]) -> Result<Self, NoApproach> {
        if days.len() < FEWEST_PASSES {
            return Err(NoApproach::TooFewPasses { passes: days.len() });
        }
        let span = days[days.len() - 1] - days[0];
        let still: f64 = traces
            .iter()
            .map(|trace| fit(days, trace, |_| None).sum_of_squares())
            .sum();
        let freedom = traces.len() * (days.len() - 1);
        if span <= 0.0 || chance(still, freedom) >= FALSE_ALARMS {
            return Err(NoApproach::NothingMoved);
        }
        let ratio = (LONGEST / SHORTEST).powf(f64::from(TRIES - 1).recip());
        let tries: Vec<(f64, f64)> = (0..TRIES)
            .map(|k| span * SHORTEST * ratio.powf(f64::from(k)))
            .map(|time| {
                let misfit = traces.iter().map(|trace| {
                    fit(days, trace, |day| Some((-day / time).exp())).sum_of_squares()
                });
                (time, misfit.sum())
            })
            .collect();
        let (time, misfit) = tries
            .iter()
            .copied()
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .ok_or(NoApproach::NothingMoved)?;
        let freedom = (traces.len() * (days.len() - 2)).saturating_sub(1);
        if chance(misfit, freedom) < FALSE_ALARMS {
            return Err(NoApproach::OtherWay);
        }
        let credible: Vec<f64> = tries
            .iter()
            .filter(|(_, other)| *other <= misfit + PROFILE)
            .map(|(time, _)| *time)
            .collect();
        let (Some(shortest), Some(longest)) = (credible.first(), credible.last()) else {
            return Err(NoApproach::NothingMoved);
        };
        if tries.last().is_none_or(|(last, _)| longest >= last) {
            return Err(NoApproach::NoEndInSight);
        }
        let interval = [*shortest, *longest];
        let last = days[days.len() - 1];
        let to_come = traces
            .iter()
            .map(|trace| (trace.quantity, to_come(days, trace, time, interval, last)))
            .collect();
        Ok(Self {
            time,
            interval,
            to_come,
        })
    }
}

/// Chance of a misfit this large.
fn chance(misfit: f64, freedom: usize) -> f64 {
    ChiSquared::new(freedom as f64).map_or(1.0, |distribution| distribution.sf(misfit))
}

/// A constant and, where `form` gives one, a multiple of it.
fn fit(days: &[f64], trace: &Trace, form: impl Fn(f64) -> Option<f64>) -> Adjusted {
    let columns = if form(0.0).is_some() { 2 } else { 1 };
    let design = DMatrix::from_fn(days.len(), columns, |i, j| {
        if j == 0 {
            1.0
        } else {
            form(days[i] - days[0]).unwrap_or(0.0)
        }
    });
    let values = trace.values.iter();
    let target = DVector::from_iterator(days.len(), values.clone().map(|value| value.value));
    let sigma: Vec<f64> = values.map(|value| value.u95 / COVERAGE_95).collect();
    LeastSquares::weighted(design, target, &sigma).solve()
}

/// What is still to come after the last day: `-start · exp(-last / time)`, its interval the widest over the
/// credible times.
fn to_come(days: &[f64], trace: &Trace, time: f64, interval: [f64; 2], last: f64) -> Figure {
    let at = |time: f64| {
        let solved = fit(days, trace, |day| Some((-day / time).exp()));
        let left = -(-(last - days[0]) / time).exp();
        let root = solved.covariance_root(&DMatrix::from_row_slice(1, 2, &[0.0, left]));
        Figure::normal(left * solved.unknowns[1], root.norm())
    };
    let best = at(time);
    let ends = interval.map(at);
    let low = ends.iter().fold(best.low, |low, end| low.min(end.low));
    let high = ends.iter().fold(best.high, |high, end| high.max(end.high));
    Figure {
        value: best.value,
        u95: (high - best.value).max(best.value - low),
        low,
        high,
    }
}
