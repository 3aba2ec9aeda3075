//! How a bed moved between two passes, as a surface of its own.
//!
//! The two passes read one bed: what it is like between the stations of one pass, and so what that pass makes of
//! the bed there, is the same in both. With a surface for each pass and both errors added as if they had
//! nothing to do with each other it would be counted twice, and most where the stations differ. So there is one
//! mean surface m, and the movement c between the passes; the first pass read m - c/2 and the second m + c/2, each
//! with zero errors of its own.
//!
//! **What the prior may touch.** Between the readings both surfaces are as a bed bends and twists (see
//! [`Layout`]): the movement too, for it is the movement of a beam. To know it only where both passes tell it and
//! call it nothing in between would be too bold in a gap that both of them left; to call it as rough as the bed
//! too cautious, for most of the roughness was there before. How rough the movement is, as a share of the bed, is
//! found as the roughness of a bed is: over the posterior of the readings' restricted likelihood, with a broad
//! guess beforehand (`USUAL_SHARE`). Both kinds of roughness have one share, for what moves a bed is its feet, and
//! they bend and twist it at once.
//!
//! Slopes that both passes tell owe the prior nothing: those that a combination of the free readings of one
//! pass gives, and a combination of those of the other as well. At the same stations these are all of them,
//! and the movement is what the second pass read less what the first did.

use nalgebra::{DMatrix, DVector, RowDVector};

use crate::geometry::complement::Complement;
use crate::geometry::held::Held;
use crate::geometry::joint::{Joint, ZEROS, hold, solved};
use crate::geometry::likelihood::{minus_two_log_likelihood, root_mean_square};
use crate::geometry::network::free_slopes;
use crate::geometry::{Adjusted, Adjustment, Layout};
use crate::survey::{Line, Side};

/// How rough a movement is thought to be beforehand, as a share of the bed's roughness.
const USUAL_SHARE: f64 = 0.3;

/// Standard deviation of the natural logarithm of the true share about [`USUAL_SHARE`]: a factor of four and a
/// half either way.
const GUESS_DEVIATION: f64 = 1.5;

/// Step of the grid of shares in the natural logarithm.
const GRID_STEP: f64 = 0.5;
/// Steps of the grid to either side of the usual share.
const GRID_REACH: i32 = 8;

/// Share of a polynomial, of the order of one, that is nothing but rounding in a slope of unit length.
const ROUNDING: f64 = 1e-12;

/// The movement between two passes. Functions of it are rows over its unknowns.
pub struct Movement {
    joint: Joint,
    /// Roughness of the movement as a share of the bed's.
    share: f64,
    /// The adjusted unknowns: mean surface, movement, zero errors of both passes.
    system: Adjusted,
}

impl Movement {
    /// From the first of two adjusted passes of one bed to the second.
    pub fn between(first: &Adjustment, second: &Adjustment) -> Self {
        let mut joint = Joint::of(first, second);
        for (read, adjustment) in joint.passes.iter_mut().zip([first, second]) {
            for row in &mut read.observations.rows {
                row.deviation *= adjustment.widening();
            }
        }
        let readings = Readings::of(&joint);
        let share = readings.share();
        let system = readings.adjusted(&joint, share);
        Self {
            joint,
            share,
            system,
        }
    }

    /// Roughness of the movement as a share of the bed's.
    pub fn share(&self) -> f64 {
        self.share
    }

    /// The adjusted unknowns.
    pub fn system(&self) -> &Adjusted {
        &self.system
    }

    /// By how much a way came up at one of the places, as a function of the unknowns, m. The lean of the bed and
    /// the level's zero errors are in it.
    pub fn height(&self, side: Side, at: f64) -> Option<RowDVector<f64>> {
        let layout = &self.joint.layout;
        let size = self.joint.roughness();
        let surface = layout.height(side, layout.index(at)?, size);
        Some(self.of_movement(surface))
    }

    /// By how much the cross slope grew at one of the places, as a function of the unknowns, m/m.
    pub fn cross_slope(&self, at: f64) -> Option<RowDVector<f64>> {
        let layout = &self.joint.layout;
        let size = self.joint.roughness();
        let half = layout.half(layout.index(at)?, size);
        Some(self.of_movement(half * (2.0 / self.joint.way_spacing())))
    }

    fn of_movement(&self, mut surface: RowDVector<f64>) -> RowDVector<f64> {
        let unknowns = surface.ncols();
        scale_noise(&mut surface, self.share);
        surface
            .insert_columns(0, unknowns, 0.0)
            .insert_columns(2 * unknowns, 2 * ZEROS, 0.0)
    }
}

/// The noise terms of a row over a surface's unknowns, times a factor.
fn scale_noise(row: &mut RowDVector<f64>, by: f64) {
    let first = Layout::polynomials();
    let noise = row.ncols() - first;
    row.columns_mut(first, noise).scale_mut(by);
}

/// The readings of both passes, divided by their deviations, as functions of what they read.
struct Readings {
    /// Of the surface that each pass saw.
    surface: DMatrix<f64>,
    /// Of the zero errors of both passes.
    zeros: DMatrix<f64>,
    target: DVector<f64>,
    /// How much of the movement each pass saw: -1/2 or 1/2.
    moved: Vec<f64>,
}

impl Readings {
    fn of(joint: &Joint) -> Self {
        let surface = joint.surface();
        let mut rows: Vec<RowDVector<f64>> = Vec::new();
        let mut zeros: Vec<RowDVector<f64>> = Vec::new();
        let mut target = Vec::new();
        let mut moved = Vec::new();
        for (pass, read) in joint.passes.iter().enumerate() {
            let seen = &read.observations;
            for observation in &seen.rows {
                let deviation = observation.deviation;
                let rise = joint.under(observation, seen.half_base);
                rows.push(rise.on_each(&surface) / deviation);
                let across = observation.line == Line::Cross;
                let mut zero = RowDVector::zeros(2 * ZEROS);
                zero[ZEROS * pass + usize::from(!across)] =
                    if observation.reversed { -1.0 } else { 1.0 } / deviation;
                zeros.push(zero);
                target.push(observation.unpacked() / deviation);
                moved.push(if pass == 0 { -0.5 } else { 0.5 });
            }
        }
        let of = |rows: &[RowDVector<f64>], columns: usize| {
            if rows.is_empty() {
                DMatrix::zeros(0, columns)
            } else {
                DMatrix::from_rows(rows)
            }
        };
        Self {
            surface: of(&rows, joint.layout.unknowns()),
            zeros: of(&zeros, 2 * ZEROS),
            target: DVector::from_vec(target),
            moved,
        }
    }

    /// The same functions of the movement as of the surface.
    fn of_movement(&self, mut columns: DMatrix<f64>) -> DMatrix<f64> {
        for (mut row, by) in columns.row_iter_mut().zip(&self.moved) {
            row *= *by;
        }
        columns
    }

    /// Root of the mean square share over its posterior.
    fn share(&self) -> f64 {
        let first = Layout::polynomials();
        let trend = self.surface.columns(0, first).into_owned();
        let noise = self
            .surface
            .columns(first, self.surface.ncols() - first)
            .into_owned();
        let mut fixed = DMatrix::zeros(self.target.len(), 2 * first + 2 * ZEROS);
        fixed.columns_mut(0, first).copy_from(&trend);
        fixed
            .columns_mut(first, first)
            .copy_from(&self.of_movement(trend));
        fixed
            .columns_mut(2 * first, 2 * ZEROS)
            .copy_from(&self.zeros);
        let free = Complement::new(&fixed);
        let bed = free.of(noise.clone());
        let movement = free.of(self.of_movement(noise));
        let target = free.of(DMatrix::from_columns(std::slice::from_ref(&self.target)));
        let target = target.column(0).into_owned();
        let bed = &bed * bed.transpose() + DMatrix::identity(bed.nrows(), bed.nrows());
        let movement = &movement * movement.transpose();
        let costs: Vec<(f64, f64)> = (-GRID_REACH..=GRID_REACH)
            .map(|step| {
                let steps = GRID_STEP * f64::from(step);
                let share = USUAL_SHARE * steps.exp();
                let variance = &bed + &movement * share.powi(2);
                let misfit = minus_two_log_likelihood(variance, &target);
                (share, misfit + (steps / GUESS_DEVIATION).powi(2))
            })
            .collect();
        root_mean_square(&costs).unwrap_or(USUAL_SHARE)
    }

    /// Both surfaces from all readings.
    fn adjusted(&self, joint: &Joint, share: f64) -> Adjusted {
        let unknowns = joint.layout.unknowns();
        let columns = 2 * unknowns + 2 * ZEROS;
        let movement = self.of_movement(self.surface.clone());
        let mut rows = Vec::new();
        for i in 0..self.target.len() {
            let mut row = RowDVector::zeros(columns);
            row.columns_mut(0, unknowns).copy_from(&self.surface.row(i));
            let mut moved = movement.row(i).into_owned();
            scale_noise(&mut moved, share);
            row.columns_mut(unknowns, unknowns).copy_from(&moved);
            row.columns_mut(2 * unknowns, 2 * ZEROS)
                .copy_from(&self.zeros.row(i));
            rows.push(row);
        }
        let mut targets: Vec<f64> = self.target.iter().copied().collect();
        let held = Held::beside(&told_by_both(joint), &joint.layout);
        hold(&held, columns, 0, &mut rows, &mut targets);
        hold(&held, columns, unknowns, &mut rows, &mut targets);
        solved(&rows, targets)
    }
}

/// A basis of the slopes that the free readings of both passes tell, as functions of the surface's unknowns:
/// whatever is at right angles to all that either pass does not tell.
fn told_by_both(joint: &Joint) -> Vec<RowDVector<f64>> {
    let heights = 2 * joint.places().len();
    let mut untold: Vec<DMatrix<f64>> = Vec::new();
    for read in &joint.passes {
        let seen = &read.observations;
        let free: Vec<RowDVector<f64>> = free_slopes(&seen.with_half_base())
            .into_iter()
            .map(|i| joint.under(&seen.rows[i], seen.half_base).row(heights))
            .collect();
        if free.is_empty() {
            return Vec::new();
        }
        let told = DMatrix::from_rows(&free).transpose();
        let basis = Complement::new(&told).of(DMatrix::identity(heights, heights));
        untold.push(basis.transpose());
    }
    let columns: usize = untold.iter().map(DMatrix::ncols).sum();
    let mut all = DMatrix::zeros(heights, columns);
    let mut filled = 0;
    for basis in untold {
        all.columns_mut(filled, basis.ncols()).copy_from(&basis);
        filled += basis.ncols();
    }
    let mut told = Complement::new(&all).of(DMatrix::identity(heights, heights)) * joint.surface();
    // A trend of nothing but rounding must not pass for one that the slopes see.
    let mut trend = told.columns_mut(0, Layout::polynomials());
    trend.apply(|share| *share = if share.abs() < ROUNDING { 0.0 } else { *share });
    told.row_iter().map(nalgebra::Matrix::into_owned).collect()
}
