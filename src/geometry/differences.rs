//! What two passes disagree about.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::held::Held;
use super::joint::{Joint, ZEROS, hold, solved};
use super::layout::Layout;
use super::least_squares::Adjusted;
use super::network::free_slopes;
use crate::survey::Line;

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
    /// `noise · noiseᵀ` is their covariance from the scatter of the readings.
    pub noise: DMatrix<f64>,
    /// `bed · bedᵀ` is their covariance from a bed that has not moved but is unknown between the readings.
    pub bed: DMatrix<f64>,
}

impl Joint {
    /// What the two passes disagree about, each on a surface of its own.
    pub fn differences(&self) -> Differences {
        let surface = self.surface();
        let alone = [0, 1].map(|pass| self.alone(pass, &surface));
        // Everything that either pass read, as functions of the surface and of a zero error of its kind.
        let mut functions: Vec<(bool, RowDVector<f64>)> = Vec::new();
        for read in &self.passes {
            let seen = &read.observations;
            for observation in &seen.rows {
                let shown = self.under(observation, seen.half_base).on_each(&surface);
                let across = observation.line == Line::Cross;
                let unknowns = shown.ncols();
                let mut function = shown.resize_horizontally(unknowns + ZEROS, 0.0);
                function[unknowns + usize::from(!across)] = 1.0;
                let told = alone
                    .iter()
                    .all(|pass| pass.system.determines(function.transpose().as_view()));
                // What both passes read is asked once.
                let asked = || functions.iter().any(|(_, known)| *known == function);
                if told && !asked() {
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
                noise: DMatrix::zeros(0, 0),
                bed: DMatrix::zeros(0, 0),
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
        let terms = (Layout::polynomials(), self.layout.noise_terms());
        let passed_on =
            |gain: &DMatrix<f64>, pass: &Alone| gain * pass.design.columns(terms.0, terms.1);
        let bed = passed_on(&by_second, second) - passed_on(&by_first, first);
        let mut noise = by_first;
        let readings = noise.ncols();
        noise = noise.resize_horizontally(readings + by_second.ncols(), 0.0);
        noise
            .columns_mut(readings, by_second.ncols())
            .copy_from(&by_second);
        Differences { values, noise, bed }
    }

    /// One pass adjusted alone.
    fn alone(&self, pass: usize, surface: &DMatrix<f64>) -> Alone {
        let unknowns = self.layout.unknowns();
        let columns = unknowns + ZEROS;
        let read = &self.passes[pass];
        let seen = &read.observations;
        let mut rows: Vec<RowDVector<f64>> = Vec::new();
        let mut targets: Vec<f64> = Vec::new();
        let mut shown: Vec<RowDVector<f64>> = Vec::new();
        for observation in &seen.rows {
            let slope = self.under(observation, seen.half_base).on_each(surface);
            let mut row = slope.clone().resize_horizontally(columns, 0.0);
            let zero = unknowns + usize::from(observation.line != Line::Cross);
            row[zero] = if observation.reversed { -1.0 } else { 1.0 };
            shown.push(slope);
            rows.push(row / observation.deviation);
            targets.push(observation.unpacked() / observation.deviation);
        }
        let design = DMatrix::from_fn(rows.len(), columns, |row, column| rows[row][column]);
        let free: Vec<RowDVector<f64>> = free_slopes(&seen.with_half_base())
            .into_iter()
            .map(|i| shown[i].clone())
            .collect();
        hold(
            &Held::beside(&free, &self.layout),
            columns,
            0,
            &mut rows,
            &mut targets,
        );
        Alone {
            system: solved(&rows, targets),
            design,
        }
    }
}
