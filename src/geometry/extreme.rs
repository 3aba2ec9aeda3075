//! Uncertainty of extreme values: twist is a range and crown a largest departure, and neither is normal.
//!
//! Noise can only widen a range. On a bed without any twist, read with deviation u at twelve places, the
//! cross slopes still range over about 3.3 u. So the interval is found by asking which beds could have
//! given the range that was seen (the confidence interval as a set of tests not rejected: Neyman 1937;
//! bootstrap test inversion: Efron & Tibshirani, *An Introduction to the Bootstrap*, 1993, chapter 12; from
//! memory). The beds tried have the form that was measured, stretched by a factor s from nothing upwards;
//! the noise drawn on top has the covariance of the adjustment.
//!
//! * The interval holds every s for which the seen value lies in the middle 95 % of what would be seen.
//! * u95 is what the seen value stays within of the truth, 95 times in 100, on the bed for which the seen
//!   value would be the median.
//!
//! The draws are the same in every run.

use nalgebra::{DMatrix, DVector};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use super::figure::Figure;

/// Number of drawn beds; the ends of the interval then repeat to about a hundredth of its width.
const DRAWS: usize = 1000;
/// Any fixed number does.
const SEED: u64 = 0x7175_6172_7465_7200;
/// Halvings of the interval in which a stretch is sought: 2^-16 of it.
const HALVINGS: usize = 16;
/// A stretch beyond this is not sought; the figure is then nothing but noise.
const LARGEST_STRETCH: f64 = 1e6;

/// Noise with the covariance `root · rootᵀ`, one draw a column.
pub struct Noise {
    draws: DMatrix<f64>,
}

impl Noise {
    /// Draws noise for values whose covariance is `root · rootᵀ`.
    pub fn new(root: &DMatrix<f64>) -> Self {
        let places = root.nrows();
        // Fewer columns with the same product; the draws then cost places squared.
        let small = root.transpose().qr().r().transpose();
        let mut generator = ChaCha8Rng::seed_from_u64(SEED);
        let half = DRAWS / 2;
        let normal = DMatrix::from_fn(small.ncols(), half, |_, _| {
            let draw: f64 = StandardNormal.sample(&mut generator);
            draw
        });
        let drawn = small * normal;
        let mut draws = DMatrix::zeros(places, 2 * half);
        // Every draw comes with its mirror image, so that means are exact.
        draws.columns_mut(0, half).copy_from(&drawn);
        draws.columns_mut(half, half).copy_from(&-drawn);
        Self { draws }
    }

    /// A figure that is a statistic of `values`, such as their range: non-negative, and twice as large for
    /// values twice as large.
    pub fn figure(&self, values: &DVector<f64>, statistic: impl Fn(&[f64]) -> f64) -> Figure {
        self.stretched(values, &statistic).0
    }

    /// The figure, and the stretch of the bed for which the seen value would be the median.
    fn stretched(
        &self,
        values: &DVector<f64>,
        statistic: &impl Fn(&[f64]) -> f64,
    ) -> (Figure, f64) {
        let seen = statistic(values.as_slice());
        if self.draws.amax() == 0.0 {
            let exact = Figure {
                value: seen,
                u95: 0.0,
                low: seen,
                high: seen,
            };
            return (exact, 1.0);
        }
        let mut bed = vec![0.0; values.len()];
        let mut drawn = vec![0.0; self.draws.ncols()];
        let mut seen_on = |stretch: f64, drawn: &mut [f64]| {
            for (column, out) in self.draws.column_iter().zip(drawn.iter_mut()) {
                for ((place, noise), value) in bed.iter_mut().zip(column.iter()).zip(values.iter())
                {
                    *place = stretch * value + noise;
                }
                *out = statistic(&bed);
            }
        };
        let mut stretch_at = |share: f64| {
            let mut below = |stretch: f64| {
                seen_on(stretch, &mut drawn);
                let count = drawn.iter().filter(|value| **value <= seen).count();
                count as f64 / drawn.len() as f64
            };
            if seen <= 0.0 || below(0.0) <= share {
                return 0.0;
            }
            let mut high = 1.0;
            while below(high) > share && high < LARGEST_STRETCH {
                high *= 2.0;
            }
            let mut low = 0.0;
            for _ in 0..HALVINGS {
                let middle = f64::midpoint(low, high);
                if below(middle) > share {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            f64::midpoint(low, high)
        };
        let low = stretch_at(0.975) * seen;
        let middle = stretch_at(0.5);
        let high = stretch_at(0.025) * seen;

        let u95 = self.within(values, middle, statistic);
        let figure = Figure {
            value: seen,
            u95,
            low,
            // On a bed that shows nothing at all there is no form to stretch.
            high: if seen > 0.0 { high } else { u95 },
        };
        (figure, middle)
    }

    /// What the statistic stays within of the truth 95 times in 100 on the bed `stretch · values`.
    fn within(
        &self,
        values: &DVector<f64>,
        stretch: f64,
        statistic: &impl Fn(&[f64]) -> f64,
    ) -> f64 {
        let bed = values * stretch;
        let truth = statistic(bed.as_slice());
        let mut misses: Vec<f64> = self
            .draws
            .column_iter()
            .map(|noise| (statistic((&bed + noise).as_slice()) - truth).abs())
            .collect();
        misses.sort_by(f64::total_cmp);
        misses[misses.len() * 95 / 100]
    }

    /// The largest departure either way with its sign. While its size could be nothing its sign is open.
    pub fn largest_departure(&self, values: &DVector<f64>) -> Figure {
        let (size, stretch) = self.stretched(values, &|bed| largest(bed).abs());
        let signed = largest(values.as_slice());
        let (low, high) = if size.low > 0.0 {
            let ends = [size.low * signed.signum(), size.high * signed.signum()];
            (ends[0].min(ends[1]), ends[0].max(ends[1]))
        } else {
            (-size.high, size.high)
        };
        Figure {
            value: signed,
            // Where two departures rival each other, noise decides which one is named.
            u95: self.within(values, stretch, &largest),
            low,
            high,
        }
    }
}

/// The value farthest from zero, with its sign.
fn largest(values: &[f64]) -> f64 {
    values
        .iter()
        .fold(0.0, |a: f64, b| if b.abs() > a.abs() { *b } else { a })
}
