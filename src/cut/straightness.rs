//! Whether the collars of a bar lie on one straight taper.
//!
//! The diameters less what bed and tool do to them are held against one straight line with the deviation of the
//! micrometer (chi-square). Where they depart from it, a collar that alone stands out is looked for by data snooping:
//! the one without which the others do lie on a line (Baarda's mean shift, from memory).

use nalgebra::{DMatrix, DVector};

use super::bar::Bar;
use super::deflection::Deflection;
use super::explained::Explained;
use super::taper::{Fit, chance, diameters};
use crate::geometry::LeastSquares;

/// Collars on a straight taper are taken for crooked this often.
pub const CROOKED_LEVEL: f64 = 0.01;

/// A departure below this share of the taper leaves the taper's direction and most of its size: one end of three that
/// stands out makes a taper of twice what the middle departs by.
pub const SMALL_DEPARTURE: f64 = 1.0 / 3.0;

/// How the collars depart from a straight taper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Departure {
    /// One collar stands out and the others lie on a line.
    Collar {
        /// Its index in the bar.
        collar: usize,
        /// How much larger it is than that line says, m.
        by: f64,
    },
    /// The middle is thicker than the ends by this much, negative: thinner, m; which collar is at fault cannot be told.
    Bent(f64),
    /// They scatter, the worst by this much, m.
    Scattered(f64),
}

impl Departure {
    fn size(self) -> f64 {
        match self {
            Self::Collar { by, .. } | Self::Bent(by) | Self::Scattered(by) => by.abs(),
        }
    }

    /// How the collars depart from a line by more than they may; `None` where they do not.
    pub fn of(bar: &Bar, explained: &Explained, deflection: &Deflection) -> Option<Self> {
        let [pushed, deviation] = deflection.diameters_under_force();
        let target = diameters(bar) - &explained.diameters - pushed;
        let shared = explained.root.ncols();
        let mut causes = explained.root.clone().insert_column(shared, 0.0);
        causes.set_column(shared, &deviation);
        let solve = |extra: &[DVector<f64>], curved| solved(bar, curved, &causes, extra, &target);
        let (line, chance_of_line) = solve(&[], false);
        if chance_of_line.is_none_or(|chance| chance >= CROOKED_LEVEL) {
            return None;
        }
        let (curved, chance_of_curve) = solve(&[], true);
        let fits = |chance: Option<f64>| chance.is_none_or(|chance| chance >= CROOKED_LEVEL);
        let collars = bar.collars.len();
        let shifted: Vec<Self> = (0..collars)
            .filter_map(|collar| {
                let mut unit = DVector::zeros(collars);
                unit[collar] = 1.0;
                let (shifted, chance) = solve(&[unit], false);
                let is_alone = chance.is_some_and(|chance| chance >= CROOKED_LEVEL);
                let by = *shifted.as_slice().last()?;
                is_alone.then_some(Self::Collar { collar, by })
            })
            .collect();
        let [first, last] = bar.span();
        let bars = Fit::new(bar, true).bars;
        let departure = match shifted.as_slice() {
            [one] => *one,
            _ if fits(chance_of_curve) => {
                Self::Bent(-curved[bars + 1] * (last - first).powi(2) / 4.0)
            }
            _ => {
                let fit = Fit::new(bar, false).design;
                let unknowns = line.rows(0, fit.ncols());
                Self::Scattered((&target - fit * unknowns).amax())
            }
        };
        let taper = line[bars] * (last - first);
        (departure.size() > SMALL_DEPARTURE * taper.abs()).then_some(departure)
    }
}

/// The unknowns of a line or a curve through the collars with what else may move them, and how often chance alone
/// leaves as much; `None` where nothing is left over to tell.
fn solved(
    bar: &Bar,
    curved: bool,
    causes: &DMatrix<f64>,
    extra: &[DVector<f64>],
    target: &DVector<f64>,
) -> (DVector<f64>, Option<f64>) {
    let fit = Fit::new(bar, curved).design;
    let collars = fit.nrows();
    let [own, shared, extra_columns] = [fit.ncols(), causes.ncols(), extra.len()];
    let mut design = DMatrix::zeros(collars + shared, own + shared + extra_columns);
    design.view_mut((0, 0), (collars, own)).copy_from(&fit);
    design
        .view_mut((0, own), (collars, shared))
        .copy_from(causes);
    for (k, column) in extra.iter().enumerate() {
        design
            .view_mut((0, own + shared + k), (collars, 1))
            .copy_from(column);
    }
    // Every cause is one with unit variance about what it was taken to do.
    design
        .view_mut((collars, own), (shared, shared))
        .fill_with_identity();
    let mut sigma = vec![bar.deviation; collars];
    sigma.extend(vec![1.0; shared]);
    let right = target.clone().resize_vertically(collars + shared, 0.0);
    let adjusted = LeastSquares::weighted(design, right, &sigma).solve();
    let freedom = collars + shared - adjusted.rank;
    let chance = chance(adjusted.sum_of_squares(), freedom);
    (adjusted.unknowns, chance)
}
