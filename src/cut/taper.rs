//! The straight taper and the barrel of a bar by least squares.
//!
//! `diameter = size of the bar + rate · distance (+ barrel)`. The rate is that of the straight line fitted
//! alone; the barrel is the second-order term beside it, given as how much thicker the middle between the
//! first and the last collar is than the mean of the two ends, `-second-order term · span² / 4`.

use nalgebra::{DMatrix, DVector, RowDVector};
use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::bar::Bar;
use crate::geometry::{Figure, LeastSquares};

/// The collars scatter more than the micrometer explains when chance does as much less often than this.
pub const SCATTER_LEVEL: f64 = 0.05;

/// What the diameters along a bar say.
#[derive(Debug, Clone, PartialEq)]
pub struct Taper {
    /// Change of diameter over length, growing away from the chuck positive, m/m.
    pub rate: Figure,
    /// How much thicker the middle is than the mean of the ends, m; negative for a hollow. `None` with
    /// collars at fewer than three places.
    pub barrel: Option<Figure>,
    /// How the diameters scatter about the fit; `None` where nothing is left over to tell.
    pub scatter: Option<Scatter>,
    /// Nearest and farthest collar, m from the chuck.
    pub span: [f64; 2],
    /// `rate_of · diameters` is the rate.
    pub rate_of: RowDVector<f64>,
    /// `barrel_of · diameters` is the barrel.
    pub barrel_of: Option<RowDVector<f64>>,
    /// Standard deviation of a diameter after [`Scatter::widening`], m.
    pub deviation: f64,
}

/// How the diameters scatter about the fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Sum of squared misfits in standard deviations of the micrometer.
    pub chi_square: f64,
    /// Its degrees of freedom.
    pub freedom: usize,
    /// How often chance alone does as much.
    pub chance: f64,
}

/// Why a bar shows no taper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoTaper {
    /// No bar has two collars.
    TooFewCollars,
}

impl Scatter {
    /// What the micrometer's deviation is multiplied by: 1, or what the scatter shows when it is larger
    /// than chance explains (Birge's ratio).
    pub fn widening(&self) -> f64 {
        if self.chance < SCATTER_LEVEL {
            (self.chi_square / self.freedom as f64).sqrt()
        } else {
            1.0
        }
    }
}

impl Taper {
    /// Taper and barrel of a bar.
    ///
    /// ```
    /// use quarterturn::cut::{Bar, Taper};
    /// use quarterturn::survey::Collar;
    ///
    /// let collar = |from_chuck, diameter| Collar { from_chuck, diameter, bar: 1 };
    /// let bar = Bar {
    ///     collars: vec![collar(0.03, 0.060_012), collar(0.28, 0.060_004)],
    ///     deviation: 1e-6,
    ///     deviation_given: true,
    /// };
    /// let taper = Taper::of(&bar).unwrap();
    /// // 8 um smaller over 250 mm.
    /// assert!((taper.rate.value + 8e-6 / 0.25).abs() < 1e-12);
    /// ```
    pub fn of(bar: &Bar) -> Result<Self, NoTaper> {
        let straight = Fit::new(bar, false);
        let rate_of = straight
            .coefficient(straight.bars)
            .ok_or(NoTaper::TooFewCollars)?;
        let [first, last] = bar.span();
        let curved = (bar.different_places() > 2).then(|| Fit::new(bar, true));
        let barrel_of = curved.as_ref().and_then(|fit| {
            let second = fit.coefficient(fit.bars + 1)?;
            Some(second * (-(last - first).powi(2) / 4.0))
        });
        let fit = curved.filter(|_| barrel_of.is_some()).unwrap_or(straight);
        let scatter = fit.scatter(bar);
        let deviation = bar.deviation * scatter.map_or(1.0, |scatter| scatter.widening());
        let diameters = diameters(bar);
        let figure = |row: &RowDVector<f64>| {
            Figure::normal(
                row.dot(&diameters.transpose()) + 0.0,
                row.norm() * deviation,
            )
        };
        Ok(Self {
            rate: figure(&rate_of),
            barrel: barrel_of.as_ref().map(figure),
            scatter,
            span: [first, last],
            rate_of,
            barrel_of,
            deviation,
        })
    }

    /// Length between the first and the last collar, m.
    pub fn length(&self) -> f64 {
        self.span[1] - self.span[0]
    }
}

/// Diameters less those of the first collar: a few micrometres on sixty millimetres keep all their digits.
pub(super) fn diameters(bar: &Bar) -> DVector<f64> {
    let first = bar.collars.first().map_or(0.0, |collar| collar.diameter);
    DVector::from_iterator(
        bar.collars.len(),
        bar.collars.iter().map(|collar| collar.diameter - first),
    )
}

/// One column for the size of every bar, one for the distance from the middle, one for its square.
pub(super) struct Fit {
    pub(super) design: DMatrix<f64>,
    pub(super) bars: usize,
}

impl Fit {
    pub(super) fn new(bar: &Bar, curved: bool) -> Self {
        let mut bars: Vec<u32> = bar.collars.iter().map(|collar| collar.bar).collect();
        bars.sort_unstable();
        bars.dedup();
        let [first, last] = bar.span();
        let middle = f64::midpoint(first, last);
        let columns = bars.len() + if curved { 2 } else { 1 };
        let design = DMatrix::from_fn(bar.collars.len(), columns, |i, j| {
            let collar = &bar.collars[i];
            let from_middle = collar.from_chuck - middle;
            match j.checked_sub(bars.len()) {
                None => f64::from(u8::from(bars[j] == collar.bar)),
                Some(0) => from_middle,
                Some(_) => from_middle * from_middle,
            }
        });
        Self {
            design,
            bars: bars.len(),
        }
    }

    /// A coefficient as a function of the diameters; `None` where the collars do not tell it.
    fn coefficient(&self, column: usize) -> Option<RowDVector<f64>> {
        let collars = self.design.nrows();
        let mut wanted = DVector::zeros(self.design.ncols());
        wanted[column] = 1.0;
        let mut row = RowDVector::zeros(collars);
        for collar in 0..collars {
            let mut unit = DVector::zeros(collars);
            unit[collar] = 1.0;
            let solved = LeastSquares::new(self.design.clone(), unit).solve();
            row[collar] = solved.value(wanted.as_view())?;
        }
        Some(row)
    }

    fn scatter(&self, bar: &Bar) -> Option<Scatter> {
        let target = diameters(bar) / bar.deviation;
        let solved = LeastSquares::new(self.design.clone() / bar.deviation, target).solve();
        let freedom = self.design.nrows() - solved.rank;
        let chi_square = solved.sum_of_squares();
        Some(Scatter {
            chi_square,
            freedom,
            chance: chance(chi_square, freedom)?,
        })
    }
}

/// How often chance alone leaves a sum of squares as large; `None` where nothing is left over to tell.
pub(super) fn chance(sum_of_squares: f64, freedom: usize) -> Option<f64> {
    let distribution = ChiSquared::new(freedom as f64).ok()?;
    Some(distribution.sf(sum_of_squares))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::Collar;

    fn bar(collars: &[(f64, f64, u32)]) -> Bar {
        Bar {
            collars: collars
                .iter()
                .map(|&(from_chuck, diameter, bar)| Collar {
                    from_chuck,
                    diameter,
                    bar,
                })
                .collect(),
            deviation: 1e-6,
            deviation_given: true,
        }
    }

    #[test]
    fn bars_of_different_size_share_their_taper() {
        let two = bar(&[
            (0.05, 0.06, 1),
            (0.25, 0.06 + 4e-6, 1),
            (0.05, 0.04, 2),
            (0.25, 0.04 + 6e-6, 2),
        ]);
        let taper = Taper::of(&two).unwrap();
        approx::assert_relative_eq!(taper.rate.value, 5e-6 / 0.2, max_relative = 1e-9);
        // Four diameters of 1 um: two differences, their mean has a deviation of 1 um.
        let want = crate::geometry::figure::COVERAGE_95 * 1e-6 / 0.2;
        approx::assert_relative_eq!(taper.rate.u95, want, max_relative = 1e-9);
        assert_eq!(taper.barrel, None);
        assert_eq!(taper.scatter.unwrap().freedom, 1);
    }

    #[test]
    fn collars_on_bars_of_their_own_tell_no_taper() {
        let apart = bar(&[(0.05, 0.06, 1), (0.25, 0.06, 2)]);
        assert_eq!(Taper::of(&apart), Err(NoTaper::TooFewCollars));
    }

    #[test]
    fn three_collars_part_the_taper_from_the_barrel() {
        // 10 um thicker in the middle, 6 um thinner at the far end.
        let barrelled = bar(&[(0.1, 0.06, 1), (0.2, 0.06 + 7e-6, 1), (0.3, 0.06 - 6e-6, 1)]);
        let taper = Taper::of(&barrelled).unwrap();
        approx::assert_relative_eq!(taper.rate.value, -6e-6 / 0.2, max_relative = 1e-9);
        let barrel = taper.barrel.unwrap();
        approx::assert_relative_eq!(barrel.value, 10e-6, max_relative = 1e-9);
        // Middle less the mean of two ends: 1 + 1/4 + 1/4.
        let want = crate::geometry::figure::COVERAGE_95 * 1e-6 * 1.5_f64.sqrt();
        approx::assert_relative_eq!(barrel.u95, want, max_relative = 1e-9);
        assert_eq!(taper.scatter, None);
    }

    #[test]
    fn a_large_scatter_widens_the_uncertainty() {
        let even = [
            (0.05, 0.0, 1),
            (0.1, 0.0, 1),
            (0.15, 0.0, 1),
            (0.2, 0.0, 1),
            (0.25, 0.0, 1),
        ];
        let mut ragged = even;
        for (collar, off) in ragged.iter_mut().zip([8e-6, -8e-6, 8e-6, -8e-6, 8e-6]) {
            collar.1 = off;
        }
        let (even, ragged) = (
            Taper::of(&bar(&even)).unwrap(),
            Taper::of(&bar(&ragged)).unwrap(),
        );
        assert!(ragged.scatter.unwrap().chance < 1e-6);
        assert!(ragged.rate.u95 > 5.0 * even.rate.u95);
        assert!((even.deviation - 1e-6).abs() < 1e-18);
    }
}
