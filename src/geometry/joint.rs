//! Two passes on one surface.
//!
//! The first pass reads the surface, held between its readings as in [`Adjustment`]. The second reads the
//! same surface with zero errors of its own, on a bed that may lean otherwise as a whole, and moved by any
//! further columns that are asked for.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::adjustment::Adjustment;
use super::held::Held;
use super::layout::{Layout, Roughness};
use super::least_squares::{Adjusted, LeastSquares};
use super::network::free_slopes;
use super::observation::{Observation, Observations};
use super::rise::Rise;
use crate::survey::{Line, Side};

/// Zero errors across and along.
pub(crate) const ZEROS: usize = 2;
/// A movement of which less than this share is new (its square) is one the problem knows already.
const SAME_MOVEMENT: f64 = 1e-9;
/// Pitch and roll.
const LEAN: usize = 2;

/// Two passes and the places they speak of.
pub struct Joint {
    pub(crate) layout: Layout,
    roughness: Roughness,
    way_spacing: f64,
    pub(crate) passes: [Read; 2],
    held: Held,
}

/// The numbers that a pass read.
pub(crate) struct Read {
    pub(crate) observations: Observations,
}

/// A least-squares problem and its answer.
pub struct Solved {
    /// The adjusted unknowns: surface, zero errors of both passes, lean, then the further columns.
    pub system: Adjusted,
    /// Sum of squared misfits.
    pub squares: f64,
    /// Its rows, of unit variance.
    design: DMatrix<f64>,
}

impl Joint {
    /// Puts two adjusted passes of one bed together.
    pub fn of(first: &Adjustment, second: &Adjustment) -> Self {
        let passes = [first, second].map(Read::of);
        let mut places = first.layout().at().to_vec();
        places.extend_from_slice(second.layout().at());
        let layout = Layout::new(places, first.layout().length());
        // Each pass tells by itself how rough the bed is; a movement between them must not count as rough.
        let [a, b] = [first, second].map(Adjustment::roughness);
        let roughness = Roughness {
            middle: (a.middle * b.middle).sqrt(),
            half: (a.half * b.half).sqrt(),
        };
        let mut joint = Self {
            layout,
            roughness,
            way_spacing: first.way_spacing(),
            passes,
            held: Held {
                projector: DMatrix::zeros(0, 0),
                rank: 0,
            },
        };
        let surface = joint.surface();
        let seen = &joint.passes[0].observations;
        let free: Vec<RowDVector<f64>> = free_slopes(&seen.with_half_base())
            .into_iter()
            .map(|i| joint.under(&seen.rows[i], seen.half_base).on_each(&surface))
            .collect();
        joint.held = Held::beside(&free, &joint.layout);
        joint
    }

    /// The places along the bed, m.
    pub fn places(&self) -> &[f64] {
        self.layout.at()
    }

    /// Size of the prior between the readings.
    pub fn roughness(&self) -> Roughness {
        self.roughness
    }

    /// Distance between the ways, m.
    pub fn way_spacing(&self) -> f64 {
        self.way_spacing
    }

    /// Heights at all places, front first, as functions of the surface's unknowns.
    pub(crate) fn surface(&self) -> DMatrix<f64> {
        let rows: Vec<RowDVector<f64>> = [Side::Front, Side::Rear]
            .into_iter()
            .flat_map(|side| (0..self.places().len()).map(move |place| (side, place)))
            .map(|(side, place)| self.layout.height(side, place, self.roughness))
            .collect();
        DMatrix::from_rows(&rows)
    }

    /// What the level lay on at a reading of one of the passes.
    pub(crate) fn under(&self, row: &Observation, half_base: f64) -> Rise {
        Rise::under(&self.layout, row, half_base, self.way_spacing)
            .expect("every place of every observation is in the layout")
    }

    /// What the level lay on at each reading of the second pass.
    pub fn under_second(&self) -> Vec<Rise> {
        let seen = &self.passes[1].observations;
        let rows = seen.rows.iter();
        rows.map(|row| self.under(row, seen.half_base)).collect()
    }

    /// Both passes on the same surface. `moves` has one row for each reading of the second pass and one
    /// column for each unknown movement: what a unit of it adds to the reading, m/m.
    pub fn on_one_surface(&self, moves: &DMatrix<f64>) -> Solved {
        let surface = self.surface();
        let unknowns = self.layout.unknowns();
        let lean = unknowns + 2 * ZEROS;
        let columns = lean + LEAN + moves.ncols();
        let mut rows: Vec<RowDVector<f64>> = Vec::new();
        let mut targets: Vec<f64> = Vec::new();
        for (pass, read) in self.passes.iter().enumerate() {
            let seen = &read.observations;
            for (i, observation) in seen.rows.iter().enumerate() {
                let mut row = RowDVector::zeros(columns);
                row.columns_mut(0, unknowns)
                    .copy_from(&self.under(observation, seen.half_base).on_each(&surface));
                let across = observation.line == Line::Cross;
                let zero = unknowns + ZEROS * pass + usize::from(!across);
                row[zero] = if observation.reversed { -1.0 } else { 1.0 };
                if pass == 1 {
                    row[lean + usize::from(!across)] = 1.0;
                    row.columns_mut(lean + LEAN, moves.ncols())
                        .copy_from(&moves.row(i));
                }
                let deviation = observation.deviation;
                rows.push(row / deviation);
                targets.push(observation.unpacked() / deviation);
            }
        }
        hold(&self.held, columns, 0, &mut rows, &mut targets);
        let system = solved(&rows, targets);
        Solved {
            squares: system.sum_of_squares(),
            system,
            design: DMatrix::from_rows(&rows),
        }
    }

    /// By how much each movement, one a column as in [`Self::on_one_surface`], would lower the sum of squares
    /// of a solved problem if it were taken in beside the others: `(c·v)² / |c - H c|²`, c the column, v the
    /// misfits and H what the problem's own unknowns can do of it.
    pub fn gains(&self, solved: &Solved, moves: &DMatrix<f64>) -> Vec<f64> {
        let own = solved.system.covariance_root(&solved.design);
        let skip = self.passes[0].observations.rows.len();
        let seen = &self.passes[1].observations.rows;
        moves
            .column_iter()
            .map(|effect| {
                let mut column = DVector::zeros(solved.design.nrows());
                for (i, observation) in seen.iter().enumerate() {
                    column[skip + i] = effect[i] / observation.deviation;
                }
                let fresh = &column - &own * (own.transpose() * &column);
                let length = fresh.norm_squared();
                if length > SAME_MOVEMENT * column.norm_squared() {
                    column.dot(&solved.system.residuals).powi(2) / length
                } else {
                    0.0
                }
            })
            .collect()
    }
}

/// Adds the prior's rows of a surface whose unknowns begin at this column.
pub(crate) fn hold(
    held: &Held,
    columns: usize,
    first: usize,
    rows: &mut Vec<RowDVector<f64>>,
    targets: &mut Vec<f64>,
) {
    for held in held.projector.row_iter() {
        let mut row = RowDVector::zeros(columns);
        row.columns_mut(first + Layout::polynomials(), held.len())
            .copy_from(&held);
        rows.push(row);
        targets.push(0.0);
    }
}

impl Read {
    fn of(adjustment: &Adjustment) -> Self {
        let mut observations = adjustment.observations().clone();
        // A bound is no number.
        observations.rows.retain(|row| !row.bound);
        Self { observations }
    }
}

/// Minimises the sum of squares.
pub(crate) fn solved(rows: &[RowDVector<f64>], targets: Vec<f64>) -> Adjusted {
    LeastSquares::new(DMatrix::from_rows(rows), DVector::from_vec(targets)).solve()
}
