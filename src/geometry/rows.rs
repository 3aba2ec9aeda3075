//! The readings of a pass as functions of the surface's unknowns and the zero errors.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::chained::both_chained;
use super::layout::{Layout, Roughness};
use super::observation::{Observation, Observations};
use super::smoothness::Components;
use crate::survey::Line;

/// The rows of a pass as functions of the surface's unknowns.
pub struct Rows<'a> {
    /// The places.
    pub layout: &'a Layout,
    /// The readings.
    pub observations: &'a Observations,
    /// Distance between the ways, m.
    pub way_spacing: f64,
}

impl Rows<'_> {
    /// Slope at an observation without the zero error, m/m.
    pub fn slope(&self, observation: &Observation, size: Roughness) -> RowDVector<f64> {
        let layout = self.layout;
        // Every place of every observation is in the layout by construction.
        let place = |at: f64| layout.index(at).unwrap_or(0);
        match observation.side() {
            None => layout.half(place(observation.at), size) * (2.0 / self.way_spacing),
            Some(side) => {
                let half = self.observations.half_base;
                let high = layout.height(side, place(observation.at + half), size);
                let low = layout.height(side, place(observation.at - half), size);
                (high - low) / (2.0 * half)
            }
        }
    }

    /// Surface columns, then the zero error across, then along.
    pub fn with_zero(&self, observation: &Observation, size: Roughness) -> RowDVector<f64> {
        let surface = self.slope(observation, size);
        let columns = surface.ncols();
        let mut row = surface.insert_columns(columns, 2, 0.0);
        let column = columns + usize::from(observation.line != Line::Cross);
        row[column] = if observation.reversed { -1.0 } else { 1.0 };
        row
    }
}

/// Every place under the middle of a cross reading or under an end of the level.
pub fn places_read(observations: &Observations) -> Vec<f64> {
    let half = observations.half_base;
    observations
        .rows
        .iter()
        .flat_map(|row| match row.side() {
            None => vec![row.at],
            Some(_) => vec![row.at - half, row.at + half],
        })
        .collect()
}

const UNIT: Roughness = Roughness {
    middle: 1.0,
    half: 1.0,
};

/// The rows in use, divided by their deviations and split by kind of unknown.
pub fn components(rows: &Rows, used: &[usize]) -> Components {
    let layout = rows.layout;
    let columns = layout.unknowns() + 2;
    let mut design = DMatrix::zeros(used.len(), columns);
    let mut target = DVector::zeros(used.len());
    for (k, &i) in used.iter().enumerate() {
        let observation = &rows.observations.rows[i];
        design.set_row(
            k,
            &(rows.with_zero(observation, UNIT) / observation.deviation),
        );
        target[k] = observation.unpacked() / observation.deviation;
    }
    let (first, middle) = (Layout::polynomials(), layout.middle_noise_terms());
    let half = layout.noise_terms() - middle;
    let mut fixed = design.columns(0, first).into_owned();
    fixed = fixed.resize_horizontally(first + 2, 0.0);
    fixed
        .columns_mut(first, 2)
        .copy_from(&design.columns(columns - 2, 2));
    Components {
        fixed,
        middle: design.columns(first, middle).into_owned(),
        half: design.columns(first + middle, half).into_owned(),
        target,
        chained: both_chained(rows.observations, used),
    }
}
