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
use super::model::BedModel;
use super::reach::Reaches;
use super::rounds::{Block, Rounds};
use crate::solver::relax;
use crate::survey::{Pass, Survey};

/// Passes at most that are asked, the last one counted: older ones say little more of the stiffness.
const MOST_PASSES: usize = 3;

/// Deviation of the height of a way from the form that loads bend, m: wear and scraping (order of magnitude, no source).
const GROUND: f64 = 3e-6;

/// Deviations of the logarithms of EI, GJ and the stiffness of the feet beside the usual ones: a rule of thumb from the
/// mass is good for a factor of e; torsion depends on ribs as well, see [`super::reach`].
const SPREADS: [f64; 3] = [1.0, 1.3, 1.0];

/// No stiffness is taken as known better than this, as the deviation of its logarithm: the beam is only a beam.
const LEAST_DEVIATION: f64 = 0.1;

/// Steps by which the logarithms of the stiffnesses are looked for, first and last.
const STEPS: [f64; 2] = [0.8, 0.1];

/// What a foot carries that was found loose and then turned until it just carries, in shares of the mean load.
const LOOSE: f64 = 0.02;

/// What a foot carries that turns with two fingers, in shares of the mean load, and how sure that is (no source).
const BARELY: [f64; 2] = [0.1, 0.1];

/// How well weight and place of the weight are known where the masses are given, in shares of the weight, and of it times the length
/// and the way spacing: what is bolted on elsewhere (no source).
const WEIGHED: [f64; 3] = [0.01, 0.02, 0.05];

/// The same where they are not.
const GUESSED: [f64; 3] = [0.01, 0.08, 0.05];

/// Loads differ from the mean by several times the mean where nothing is known (no source).
const UNEVENNESS: f64 = 3.0;

/// What is wrong with a turn that was written down: hand and slack, turns, the thread and a bubble watched
/// instead, share of the lift, and the foot's stiffness beside the others, share of what the mean load squeezes it.
const RECORD: (f64, f64, f64) = (5.0 / 360.0, 0.15, 0.3);

/// Kilograms for a metre of bed and of its way spacing where no mass is given. It cancels.
const SUPPOSED_MASS: f64 = 2000.0;

/// How a bed bears on its feet.
#[derive(Debug, Clone, PartialEq)]
pub struct Bearing {
    /// The bed with the stiffnesses found.
    pub model: BedModel,
    /// Load of each foot now, N.
    pub forces: Vec<f64>,
    /// Deviations of the logarithms of EI, GJ and the stiffness of the feet.
    pub deviation: [f64; 3],
}

impl Bearing {
    /// As the passes up to this one show it; `None` where nothing is to be told.
    pub(super) fn of(rounds: &Rounds, pass: usize) -> Option<Self> {
        let survey = rounds.survey;
        let usual = usual_model(survey);
        usual.check().ok()?;
        let problem = Problem::new(rounds, usual, pass);
        let (logs, forces) = problem.search();
        let deviation = problem.deviations(logs);
        Some(Self {
            model: problem.model(logs),
            forces,
            deviation,
        })
    }

    /// Deviations of the logarithms of the two reaches: the fourth root of EI over k and the root of GJ over k.
    pub fn reach_deviations(&self) -> [f64; 2] {
        let [bending, torsion, foot] = self.deviation;
        [bending.hypot(foot) / 4.0, torsion.hypot(foot) / 2.0]
    }
}

/// What to think of a bed before it is read.
fn usual_model(survey: &Survey) -> BedModel {
    let mut weighed = survey.clone();
    let bed = &survey.bed;
    weighed
        .machine
        .mass
        .get_or_insert(SUPPOSED_MASS * bed.length * bed.way_spacing);
    if survey.machine.mass.is_none() {
        weighed.machine.headstock = None;
    }
    BedModel::from_survey(&weighed, &Reaches::usual(survey))
}

/// Height of a beam of EI 1 at `at`, held clamped at its headstock end, per unit of load at `load`.
///
/// Loads in balance leave the clamp without force, so that it only stands for where the bed lies.
fn bent(at: f64, load: f64) -> f64 {
    let (near, far) = (at.min(load), at.max(load));
    near * near * (3.0 * far - near) / 6.0
}

/// The same for an even load of 1 per length on the whole of it.
fn bent_evenly(at: f64, length: f64) -> f64 {
    at * at * (6.0 * length * length - 4.0 * length * at + at * at) / 24.0
}

/// What loads and the weight do to the heights of some places, for EI and GJ of 1.
struct Flexibility {
    bending: DMatrix<f64>,
    torsion: DMatrix<f64>,
    weight_bends: DVector<f64>,
    weight_twists: DVector<f64>,
}

impl Flexibility {
    fn of(model: &BedModel, places: &[Place]) -> Self {
        let by_foot = |form: &dyn Fn(Place, Place) -> f64| {
            DMatrix::from_fn(places.len(), model.feet.len(), |i, j| {
                form(places[i], model.feet[j].place)
            })
        };
        let twisted =
            |place: Place, load: Place| place.across * load.across * place.at.min(load.at);
        let by_weight = |form: &dyn Fn(Place, Place) -> f64, even: f64| {
            let at = |place: &Place| {
                let loads = model.point_loads.iter();
                let points: f64 = loads
                    .map(|load| load.force * form(*place, load.place))
                    .sum();
                -points - even * bent_evenly(place.at, model.length)
            };
            DVector::from_iterator(places.len(), places.iter().map(at))
        };
        let bends = |place: Place, load: Place| bent(place.at, load.at);
        Self {
            bending: by_foot(&bends),
            torsion: by_foot(&twisted),
            weight_bends: by_weight(&bends, model.weight_per_length),
            weight_twists: by_weight(&twisted, 0.0),
        }
    }
}

/// Rows on the loads of one pass for EI and GJ of 1, and what they should be.
struct Seen {
    bending: DMatrix<f64>,
    torsion: DMatrix<f64>,
    weight_bends: DVector<f64>,
    weight_twists: DVector<f64>,
    slopes: DVector<f64>,
}

/// What was turned between two passes as rows on the change of the feet's heights.
struct Turned {
    rows: DMatrix<f64>,
    lifts: DVector<f64>,
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
        let triangle = matrix.qr().r();
        let relaxed = relax(
            &triangle.columns(0, columns).into_owned(),
            &triangle.column(columns).into_owned(),
            &vec![0.0; columns],
            &vec![f64::INFINITY; columns],
        );
        let prior: f64 = logs
            .iter()
            .zip(SPREADS)
            .map(|(log, spread)| (log / spread).powi(2))
            .sum();
        let last = relaxed.at.rows(columns - feet, feet);
        let forces = last.iter().map(|share| share * self.mean_load).collect();
        (relaxed.squared_norm + prior, forces)
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

impl Seen {
    fn of(block: &Block, form: &Flexibility, places: &[Place], survey: &Survey) -> Self {
        let read: Vec<usize> = (0..block.observations.len())
            .filter(|&i| !block.observations[i].bound)
            .collect();
        let weights: Vec<f64> = read
            .iter()
            .map(|&i| {
                let observation = &block.observations[i];
                let base = observation
                    .side()
                    .map_or(survey.bed.way_spacing, |_| 2.0 * block.half_base);
                let ground = GROUND * 2.0_f64.sqrt() / base;
                observation.deviation.hypot(ground).recip()
            })
            .collect();
        let mut operator = block.operator.select_rows(&read);
        for (mut row, weight) in operator.row_iter_mut().zip(&weights) {
            row *= *weight;
        }
        // How the bed lies and what is wrong with the level are nobody's load.
        let heights = |height: &dyn Fn(&Place) -> f64| {
            &operator * DVector::from_iterator(places.len(), places.iter().map(height))
        };
        let zero = |across: bool| {
            let signed = read.iter().zip(&weights).map(|(&i, weight)| {
                let observation = &block.observations[i];
                let sign = if observation.reversed { -1.0 } else { 1.0 };
                if observation.side().is_none() == across {
                    sign * weight
                } else {
                    0.0
                }
            });
            DVector::from_iterator(read.len(), signed)
        };
        let free = Free::of(&[
            heights(&|place| place.at),
            heights(&|place| place.across),
            zero(true),
            zero(false),
        ]);
        let slopes = read.iter().zip(&weights);
        let slopes = slopes.map(|(&i, weight)| weight * block.observations[i].slope);
        let slopes = DMatrix::from_iterator(read.len(), 1, slopes);
        let vector = |rows: DMatrix<f64>| rows.column(0).into_owned();
        let by = |form: &DVector<f64>| {
            vector(free.taken_out(DMatrix::from_columns(&[&operator * form])))
        };
        Self {
            bending: free.taken_out(&operator * &form.bending),
            torsion: free.taken_out(&operator * &form.torsion),
            weight_bends: by(&form.weight_bends),
            weight_twists: by(&form.weight_twists),
            slopes: vector(free.taken_out(slopes)),
        }
    }
}

/// Rows on the loads of one pass in shares of the mean load: balance, what a hand felt, and that no foot carries all.
fn alone(survey: &Survey, model: &BedModel, pass: &Pass) -> (DMatrix<f64>, DVector<f64>) {
    let feet = model.feet.len();
    let places = || model.feet.iter().map(|foot| foot.place);
    let known = if survey.machine.mass.is_some() {
        WEIGHED
    } else {
        GUESSED
    };
    let mean = feet as f64;
    let (length, spacing) = (model.length, survey.bed.way_spacing);
    let points = || model.point_loads.iter();
    let weight = model.weight();
    let at = (model.weight_per_length * length * length / 2.0
        + points().map(|load| load.force * load.place.at).sum::<f64>())
        / weight;
    let across = points()
        .map(|load| load.force * load.place.across)
        .sum::<f64>()
        / weight;
    let middle = length / 2.0;
    let mut rows: Vec<(Vec<f64>, f64)> = vec![
        (
            places().map(|_| 1.0 / (mean * known[0])).collect(),
            known[0].recip(),
        ),
        (
            places()
                .map(|place| (place.at - middle) / (mean * length * known[1]))
                .collect(),
            (at - middle) / (length * known[1]),
        ),
        (
            places()
                .map(|place| place.across / (mean * spacing * known[2]))
                .collect(),
            across / (spacing * known[2]),
        ),
    ];
    let mut one = |foot: usize, load: f64, deviation: f64| {
        let mut row = vec![0.0; feet];
        row[foot] = deviation.recip();
        rows.push((row, load / deviation));
    };
    for foot in 0..feet {
        if pass.hanging.contains(&foot) {
            one(foot, LOOSE, LOOSE);
        } else if pass.barely.contains(&foot) {
            one(foot, BARELY[0], BARELY[1]);
        } else {
            one(foot, 1.0, UNEVENNESS);
        }
    }
    let target = DVector::from_iterator(rows.len(), rows.iter().map(|row| row.1));
    let matrix = DMatrix::from_fn(rows.len(), feet, |i, j| rows[i].0[j]);
    (matrix, target)
}

impl Turned {
    /// Feet that hung afterwards were seated, nobody knows by how much; `None` where the others tell nothing.
    fn of(survey: &Survey, model: &BedModel, lifts: &DVector<f64>, after: &Pass) -> Option<Self> {
        let known: Vec<usize> = (0..survey.feet.len())
            .filter(|foot| !after.hanging.contains(foot))
            .collect();
        let (hand, share, stiffness) = RECORD;
        let squeezed = model.weight() / model.feet.iter().map(|foot| foot.stiffness).sum::<f64>();
        let mut rows = DMatrix::zeros(known.len(), survey.feet.len());
        for (row, &foot) in known.iter().enumerate() {
            let hand = hand * survey.feet[foot].lift_per_turn;
            let deviation = hand.hypot(share * lifts[foot]).hypot(stiffness * squeezed);
            rows[(row, foot)] = deviation.recip();
        }
        let heights = |height: &dyn Fn(Place) -> f64| {
            let all = model.feet.iter().map(|foot| height(foot.place));
            &rows * DVector::from_iterator(model.feet.len(), all)
        };
        let free = Free::of(&[
            heights(&|_| 1.0),
            heights(&|place| place.at),
            heights(&|place| place.across),
        ]);
        let rows = free.taken_out(rows);
        (known.len() > 3).then(|| Self {
            lifts: &rows * lifts,
            rows,
        })
    }
}

/// Directions about which nothing is to be told.
struct Free(Vec<DVector<f64>>);

impl Free {
    /// A direction that is left with this share of its length by the others is one of them.
    const SAME: f64 = 1e-9;

    fn of(directions: &[DVector<f64>]) -> Self {
        let mut free = Self(Vec::new());
        for direction in directions {
            let long = direction.norm();
            let left = free.taken_out(DMatrix::from_columns(&[direction.clone()]));
            let left = left.column(0).into_owned();
            if left.norm() > Self::SAME * long {
                free.0.push(left.normalize());
            }
        }
        free
    }

    /// What is left of columns without these directions (modified Gram-Schmidt).
    fn taken_out(&self, mut columns: DMatrix<f64>) -> DMatrix<f64> {
        for direction in &self.0 {
            for mut column in columns.column_iter_mut() {
                let along = direction.dot(&column);
                column.axpy(-along, direction, 1.0);
            }
        }
        columns
    }
}
