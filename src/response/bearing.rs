//! How a bed that only rests on its feet bears on them: its loads and its stiffness, from the form that was read.
//!
//! Whatever the feet do, the bed has the form it was ground to plus what its weight and the loads `F` of its feet bend:
//!
//! `h = ground + (w + Cb F) / EI + Ct F / GJ`,
//!
//! with `w` the form of the bare weight and `Cb`, `Ct` what a unit load bends and twists. The form is read and `ground` is a
//! matter of micrometres, so the form itself tells the loads: no contact has to be found. They push, `F >= 0`; together
//! they are the weight, and balance it; and a foot that a hand found loose carries nothing. Where a foot stands is then
//! `u = h + F / k`, so what was turned between two passes ties their loads together.
//!
//! With `EI`, `GJ` and `k` given all of this is linear, and the loads are least squares with bounds (Lawson & Hanson,
//! *Solving Least Squares Problems*, chapter 23; from memory). The three are looked for by the sum of squares they leave:
//! it is the loose feet, which pull nowhere, that show how stiff a bed of known weight is. A weight that is not known is
//! taken from the size of the bed: its stiffness goes with it, and so do all shares.

use nalgebra::{DMatrix, DVector};

use super::Place;
use super::flexibility::Flexibility;
use super::load_rows::{Seen, Turned, alone};
use super::model::BedModel;
use super::reach::Reaches;
use super::rounds::{Block, Rounds};
use crate::solver::relax;
use crate::survey::Pass;

/// Passes at most that are asked, the last one counted: older ones say little more of the stiffness.
const MOST_PASSES: usize = 3;

/// Deviations of the logarithms of EI, GJ and the stiffness of the feet beside the usual ones: a rule of thumb from the
/// mass is good for a factor of e; torsion depends on ribs as well, see [`super::reach`].
const SPREADS: [f64; 3] = [1.0, 1.3, 1.0];

/// No stiffness is taken as known better than this, as the deviation of its logarithm: the beam is only a beam.
const LEAST_DEVIATION: f64 = 0.1;

/// What fits the readings worse than another by less than this many squares fits them as well: one number, at 95 % (chi-squared).
const FITS_AS_WELL: f64 = 3.84;

/// A foot that a hand is laid on carries at least this share of the mean load if it carries: less is barely felt (no source).
const FELT: f64 = 0.25;

/// Steps by which the logarithms of the stiffnesses are looked for, first and last.
const STEPS: [f64; 2] = [0.8, 0.1];

/// How a bed bears on its feet.
#[derive(Debug, Clone, PartialEq)]
pub struct Bearing {
    /// The bed with the stiffnesses found.
    pub model: BedModel,
    /// Load of each foot now, N, as fits best.
    pub forces: Vec<f64>,
    /// The mean of all loads that fit as well, each as likely as it is, N: turns planned from here suit all of them.
    pub expected: Vec<f64>,
    /// The foot of which the readings tell least whether it carries or is loose, where they fit with both and no hand has felt it.
    pub doubtful: Option<usize>,
    /// Deviations of the logarithms of EI, GJ and the stiffness of the feet.
    pub deviation: [f64; 3],
}

impl Bearing {
    /// As the passes up to this one show it; `None` where nothing is to be told.
    pub(super) fn of(rounds: &Rounds, pass: usize) -> Option<Self> {
        let survey = rounds.survey;
        let usual = BedModel::weighed(survey, &Reaches::usual(survey));
        usual.check().ok()?;
        let problem = Problem::new(rounds, usual, pass);
        let (logs, forces) = problem.search();
        let deviation = problem.deviations(logs);
        let other = problem.other_state(logs, &forces, &survey.passes[pass]);
        Some(Self {
            model: problem.model(logs),
            expected: other.as_ref().map_or(&forces, |other| &other.mean).clone(),
            forces,
            doubtful: other.map(|other| other.foot),
            deviation,
        })
    }

    /// Deviations of the logarithms of the two reaches: the fourth root of EI over k and the root of GJ over k.
    pub fn reach_deviations(&self) -> [f64; 2] {
        let [bending, torsion, foot] = self.deviation;
        [bending.hypot(foot) / 4.0, torsion.hypot(foot) / 2.0]
    }
}

/// Loads that fit nearly as well as the best ones, each with one foot loose that carries in these, or the other way round.
struct Other {
    /// The foot of which the readings tell least.
    foot: usize,
    /// Mean load of each foot, N: what is left of departures grows as the square of what is wrong with a load, so that turns planned
    /// from here leave least of what can be expected.
    mean: Vec<f64>,
}

struct Problem {
    usual: BedModel,
    mean_load: f64,
    seen: Vec<Seen>,
    /// Rows that hold for each pass by itself, and what they should be.
    alone: Vec<(DMatrix<f64>, DVector<f64>)>,
    turned: Vec<Option<Turned>>,
    at_feet: Flexibility,
}

impl Problem {
    fn new(rounds: &Rounds, usual: BedModel, pass: usize) -> Self {
        let survey = rounds.survey;
        let mean_load = usual.weight() / usual.feet.len() as f64;
        let half = survey.bed.way_spacing / 2.0;
        let places: Vec<Place> = [half, -half]
            .into_iter()
            .flat_map(|across| {
                let at = rounds.layout.at().iter();
                at.map(move |&at| Place { at, across })
            })
            .collect();
        let form = Flexibility::of(&usual, &places);
        let first = pass - rounds.lifts.len();
        let asked = &rounds.blocks[rounds.blocks.len().saturating_sub(MOST_PASSES)..];
        let of_pass = |block: &Block| &survey.passes[first + block.rounds_since.start];
        let turned = asked.windows(2).map(|blocks| {
            let between = blocks[0].rounds_since.start..blocks[1].rounds_since.start;
            let lifts = rounds.recorded[between].iter().sum::<DVector<f64>>();
            Turned::of(survey, &usual, &lifts, of_pass(&blocks[1]))
        });
        Self {
            turned: turned.collect(),
            seen: asked
                .iter()
                .map(|block| Seen::of(block, &form, &places, survey))
                .collect(),
            alone: asked
                .iter()
                .map(|block| alone(survey, &usual, of_pass(block)))
                .collect(),
            at_feet: Flexibility::of(
                &usual,
                &usual.feet.iter().map(|foot| foot.place).collect::<Vec<_>>(),
            ),
            mean_load,
            usual,
        }
    }

    /// The bed with these logarithms of EI, GJ and the stiffness of the feet beside the usual ones.
    fn model(&self, logs: [f64; 3]) -> BedModel {
        let mut model = self.usual.clone();
        let [bending, torsion, foot] = logs.map(f64::exp);
        model.bending_stiffness *= bending;
        model.torsion_stiffness *= torsion;
        for support in &mut model.feet {
            support.stiffness *= foot;
        }
        model
    }

    /// The sum of squares that these logarithms leave at least, and the loads of the last pass with it, N.
    fn squares(&self, logs: [f64; 3]) -> (f64, Vec<f64>) {
        self.least(logs, &self.triangle(logs), None)
    }

    /// The same with the share of the mean load that a foot carries in the last pass between two bounds.
    fn least(
        &self,
        logs: [f64; 3],
        triangle: &DMatrix<f64>,
        bounded: Option<(usize, [f64; 2])>,
    ) -> (f64, Vec<f64>) {
        let columns = triangle.ncols() - 1;
        let last = columns - self.usual.feet.len();
        let (mut lower, mut upper) = (vec![0.0; columns], vec![f64::INFINITY; columns]);
        if let Some((foot, bounds)) = bounded {
            [lower[last + foot], upper[last + foot]] = bounds;
        }
        let relaxed = relax(
            &triangle.columns(0, columns).into_owned(),
            &triangle.column(columns).into_owned(),
            &lower,
            &upper,
        );
        let spreads = logs.iter().zip(SPREADS);
        let prior: f64 = spreads.map(|(log, spread)| (log / spread).powi(2)).sum();
        let last = relaxed.at.rows_range(last..);
        let forces = last.iter().map(|share| share * self.mean_load).collect();
        (relaxed.squared_norm + prior, forces)
    }

    /// The other state of one foot that nobody has felt, where the readings fit with it as well: of all such feet the one of which
    /// they tell least.
    fn other_state(&self, logs: [f64; 3], forces: &[f64], pass: &Pass) -> Option<Other> {
        if pass.felt {
            return None;
        }
        let triangle = self.triangle(logs);
        let (best, _) = self.least(logs, &triangle, None);
        let unfelt = (0..forces.len()).filter(|foot| !pass.barely.contains(foot));
        let others = unfelt.map(|foot| {
            let bounds = if forces[foot] < FELT * self.mean_load {
                [FELT, f64::INFINITY]
            } else {
                [0.0, 0.0]
            };
            let (squares, other) = self.least(logs, &triangle, Some((foot, bounds)));
            (squares - best, foot, other)
        });
        let others: Vec<(f64, usize, Vec<f64>)> =
            others.filter(|other| other.0 < FITS_AS_WELL).collect();
        let foot = others.iter().min_by(|a, b| a.0.total_cmp(&b.0))?.1;
        let likely = |worse: f64| (-worse / 2.0).exp();
        let all = 1.0 + others.iter().map(|other| likely(other.0)).sum::<f64>();
        let mut mean: Vec<f64> = forces.iter().map(|force| force / all).collect();
        for (worse, _, other) in &others {
            for (mean, force) in mean.iter_mut().zip(other) {
                *mean += force * likely(*worse) / all;
            }
        }
        Some(Other { foot, mean })
    }

    /// The problem of all loads in shares of the mean load with these logarithms, as a triangle with the target as its last column.
    fn triangle(&self, logs: [f64; 3]) -> DMatrix<f64> {
        let model = self.model(logs);
        let [ei, gj] = [model.bending_stiffness, model.torsion_stiffness].map(f64::recip);
        let feet = model.feet.len();
        let columns = feet * self.seen.len();
        let mut stand = &self.at_feet.bending * ei + &self.at_feet.torsion * gj;
        for (foot, support) in model.feet.iter().enumerate() {
            stand[(foot, foot)] += support.stiffness.recip();
        }
        let mut blocks: Vec<(usize, DMatrix<f64>, DVector<f64>)> = Vec::new();
        for (pass, seen) in self.seen.iter().enumerate() {
            let rows = (&seen.bending * ei + &seen.torsion * gj) * self.mean_load;
            let target = &seen.slopes - &seen.weight_bends * ei - &seen.weight_twists * gj;
            blocks.push((feet * pass, rows, target));
            let (rows, target) = self.alone[pass].clone();
            blocks.push((feet * pass, rows, target));
        }
        for (pass, turned) in self.turned.iter().enumerate() {
            let Some(turned) = turned else { continue };
            let after = &turned.rows * &stand * self.mean_load;
            let mut rows = DMatrix::zeros(after.nrows(), 2 * feet);
            rows.columns_mut(0, feet).copy_from(&-&after);
            rows.columns_mut(feet, feet).copy_from(&after);
            blocks.push((feet * pass, rows, turned.lifts.clone()));
        }
        let count = blocks.iter().map(|block| block.1.nrows()).sum();
        let mut matrix = DMatrix::zeros(count, columns + 1);
        let mut row = 0;
        for (first, rows, target) in blocks {
            matrix.view_mut((row, first), rows.shape()).copy_from(&rows);
            matrix
                .view_mut((row, columns), (rows.nrows(), 1))
                .copy_from(&target);
            row += rows.nrows();
        }
        matrix.qr().r()
    }

    /// The logarithms that leave least, looked for one at a time in ever smaller steps, and the loads with them.
    fn search(&self) -> ([f64; 3], Vec<f64>) {
        let mut logs = [0.0; 3];
        let (mut least, mut forces) = self.squares(logs);
        let [mut step, last] = STEPS;
        while step >= last {
            let mut better = false;
            for (which, way) in (0..3).flat_map(|which| [(which, step), (which, -step)]) {
                loop {
                    let mut tried = logs;
                    tried[which] += way;
                    if tried[which].abs() > 3.0 * SPREADS[which] {
                        break;
                    }
                    let (squares, with) = self.squares(tried);
                    if squares >= least {
                        break;
                    }
                    (logs, least, forces, better) = (tried, squares, with, true);
                }
            }
            if !better {
                step /= 2.0;
            }
        }
        (logs, forces)
    }

    /// Deviations of the logarithms, from how the sum of squares bends.
    fn deviations(&self, logs: [f64; 3]) -> [f64; 3] {
        let least = self.squares(logs).0;
        std::array::from_fn(|which| {
            let beside = |step: f64| {
                let mut moved = logs;
                moved[which] += step;
                self.squares(moved).0 - least
            };
            let [step, _] = STEPS;
            let bend = (beside(step) + beside(-step)).max(f64::MIN_POSITIVE) / (step * step);
            (2.0 / bend).sqrt().clamp(LEAST_DEVIATION, SPREADS[which])
        })
    }
}
