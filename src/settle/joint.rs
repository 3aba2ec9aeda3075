//! Two passes on one surface.
//!
//! The first pass reads the surface, held between its readings as in [`Adjustment`]. The second reads the
//! same surface with zero errors of its own, on a bed that may lean otherwise as a whole, and moved by any
//! further columns that are asked for.

use nalgebra::{DMatrix, DVector, RowDVector};

use crate::geometry::adjustment::free_slopes;
use crate::geometry::held::Held;
use crate::geometry::{
    Adjusted, Adjustment, Layout, LeastSquares, Observation, Observations, Roughness,
};
use crate::survey::{Line, Side};

/// Zero errors across and along.
const ZEROS: usize = 2;
/// Pitch and roll.
const LEAN: usize = 2;

/// Two passes and the places they speak of.
pub struct Joint {
    layout: Layout,
    roughness: Roughness,
    way_spacing: f64,
    passes: [Read; 2],
    held: Held,
}

/// The numbers that a pass read.
struct Read {
    observations: Observations,
}

/// One pass on a surface of its own.
struct Alone {
    system: Adjusted,
    /// The readings as functions of the unknowns, of unit variance.
    design: DMatrix<f64>,
}

/// What two surfaces differ by in everything that both tell.
pub struct Differences {
    /// Second less first, m/m: every reading either pass took, less the mean of its kind.
    pub values: DVector<f64>,
    /// `root · rootᵀ` is their covariance on a bed that has not moved.
    pub root: DMatrix<f64>,
}

/// A least-squares problem and its answer.
pub struct Solved {
    /// The adjusted unknowns: surface, zero errors of both passes, lean, then the further columns.
    pub system: Adjusted,
    /// Sum of squared misfits.
    pub squares: f64,
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
        let all: Vec<usize> = (0..seen.rows.len()).collect();
        let free: Vec<RowDVector<f64>> = free_slopes(seen, &all)
            .into_iter()
            .map(|i| joint.operator(&seen.rows[i], seen.half_base) * &surface)
            .collect();
        joint.held = Held::beside(&free, &joint.layout);
        joint
    }

    /// The places along the bed, m.
    pub fn places(&self) -> &[f64] {
        self.layout.at()
    }

    /// Heights at all places, front first, as functions of the surface's unknowns.
    fn surface(&self) -> DMatrix<f64> {
        let rows: Vec<RowDVector<f64>> = [Side::Front, Side::Rear]
            .into_iter()
            .flat_map(|side| (0..self.places().len()).map(move |place| (side, place)))
            .map(|(side, place)| self.layout.height(side, place, self.roughness))
            .collect();
        DMatrix::from_rows(&rows)
    }

    /// The slope a level shows as a function of the heights at all places, front first.
    fn operator(&self, row: &Observation, half_base: f64) -> RowDVector<f64> {
        let places = self.places().len();
        let mut operator = RowDVector::zeros(2 * places);
        // Every place of every observation is in the layout by construction.
        let place = |at: f64| self.layout.index(at).unwrap_or(0);
        let skip = match row.line {
            Line::Cross => {
                operator[place(row.at)] = self.way_spacing.recip();
                operator[places + place(row.at)] = -self.way_spacing.recip();
                return operator;
            }
            Line::Front => 0,
            Line::Rear => places,
        };
        operator[skip + place(row.at + half_base)] += (2.0 * half_base).recip();
        operator[skip + place(row.at - half_base)] -= (2.0 * half_base).recip();
        operator
    }

    /// The slopes the second pass read as functions of the heights at all places, front first.
    pub fn second_operator(&self) -> DMatrix<f64> {
        let seen = &self.passes[1].observations;
        let rows: Vec<RowDVector<f64>> = seen
            .rows
            .iter()
            .map(|row| self.operator(row, seen.half_base))
            .collect();
        DMatrix::from_rows(&rows)
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
                    .copy_from(&(self.operator(observation, seen.half_base) * &surface));
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
                targets.push(observation.slope / deviation);
            }
        }
        hold(&self.held, columns, &mut rows, &mut targets);
        solved(&rows, targets)
    }

    /// What the two passes disagree about, each on a surface of its own.
    pub fn differences(&self) -> Differences {
        let surface = self.surface();
        let alone = [0, 1].map(|pass| self.alone(pass, &surface));
        // Everything that either pass read, as functions of the surface and of a zero error of its kind.
        let mut functions: Vec<(bool, RowDVector<f64>)> = Vec::new();
        for read in &self.passes {
            let seen = &read.observations;
            for observation in &seen.rows {
                let shown = self.operator(observation, seen.half_base) * &surface;
                let across = observation.line == Line::Cross;
                let unknowns = shown.ncols();
                let mut function = shown.resize_horizontally(unknowns + ZEROS, 0.0);
                function[unknowns + usize::from(!across)] = 1.0;
                let told = alone
                    .iter()
                    .all(|pass| pass.system.determines(function.transpose().as_view()));
                if told {
                    functions.push((across, function));
                }
            }
        }
        let mut rows: Vec<RowDVector<f64>> = Vec::new();
        for kind in [true, false] {
            let group: Vec<RowDVector<f64>> = functions
                .iter()
                .filter(|(across, _)| *across == kind)
                .map(|(_, function)| function.clone())
                .collect();
            if group.len() > 1 {
                // Zero errors and lean are in the mean and nowhere else.
                let mean = DMatrix::from_rows(&group).row_mean();
                rows.extend(group.into_iter().map(|row| row - &mean));
            }
        }
        if rows.is_empty() {
            return Differences {
                values: DVector::zeros(0),
                root: DMatrix::zeros(0, 0),
            };
        }
        let functions = DMatrix::from_rows(&rows);
        let [first, second] = &alone;
        let values = &functions * (&second.system.unknowns - &first.system.unknowns);
        // How each pass passes readings on into the functions: of unit noise, and of the bed between them.
        let [by_first, by_second] = [first, second].map(|pass| {
            pass.system.covariance_root(&functions)
                * pass.system.covariance_root(&pass.design).transpose()
        });
        let noise = (Layout::polynomials(), self.layout.noise_terms());
        let bed = |gain: &DMatrix<f64>, pass: &Alone| gain * pass.design.columns(noise.0, noise.1);
        let between = bed(&by_second, second) - bed(&by_first, first);
        let columns = by_first.ncols() + by_second.ncols() + between.ncols();
        let mut root = DMatrix::zeros(functions.nrows(), columns);
        let mut at = 0;
        for part in [by_first, by_second, between] {
            root.columns_mut(at, part.ncols()).copy_from(&part);
            at += part.ncols();
        }
        Differences { values, root }
    }

    /// One pass adjusted alone.
    fn alone(&self, pass: usize, surface: &DMatrix<f64>) -> Alone {
        let unknowns = self.layout.unknowns();
        let columns = unknowns + ZEROS;
        let read = &self.passes[pass];
        let seen = &read.observations;
        let mut rows: Vec<RowDVector<f64>> = Vec::new();
        let mut targets: Vec<f64> = Vec::new();
        let all: Vec<usize> = (0..seen.rows.len()).collect();
        let mut shown: Vec<RowDVector<f64>> = Vec::new();
        for observation in &seen.rows {
            let slope = self.operator(observation, seen.half_base) * surface;
            let mut row = slope.clone().resize_horizontally(columns, 0.0);
            let zero = unknowns + usize::from(observation.line != Line::Cross);
            row[zero] = if observation.reversed { -1.0 } else { 1.0 };
            shown.push(slope);
            rows.push(row / observation.deviation);
            targets.push(observation.slope / observation.deviation);
        }
        let design = DMatrix::from_rows(&rows);
        let free: Vec<RowDVector<f64>> = free_slopes(seen, &all)
            .into_iter()
            .map(|i| shown[i].clone())
            .collect();
        hold(
            &Held::beside(&free, &self.layout),
            columns,
            &mut rows,
            &mut targets,
        );
        Alone {
            system: solved(&rows, targets).system,
            design,
        }
    }
}

fn hold(held: &Held, columns: usize, rows: &mut Vec<RowDVector<f64>>, targets: &mut Vec<f64>) {
    for held in held.projector.row_iter() {
        let mut row = RowDVector::zeros(columns);
        row.columns_mut(Layout::polynomials(), held.len())
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

fn solved(rows: &[RowDVector<f64>], targets: Vec<f64>) -> Solved {
    let system = LeastSquares::new(DMatrix::from_rows(rows), DVector::from_vec(targets)).solve();
    Solved {
        squares: system.sum_of_squares(),
        system,
    }
}
