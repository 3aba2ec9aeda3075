//! What a pass, a hand and what was turned tell of the loads of the feet, as rows.

use nalgebra::{DMatrix, DVector};

use super::Place;
use super::flexibility::Flexibility;
use super::model::BedModel;
use super::rounds::Block;
use crate::geometry::Rise;
use crate::survey::{Pass, Survey};

/// Deviation of the height of a way from the form that loads bend, m: wear and scraping (order of magnitude, no source).
const GROUND: f64 = 3e-6;

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

/// Rows on the loads of one pass for EI and GJ of 1, and what they should be.
pub(super) struct Seen {
    pub bending: DMatrix<f64>,
    pub torsion: DMatrix<f64>,
    pub weight_bends: DVector<f64>,
    pub weight_twists: DVector<f64>,
    pub slopes: DVector<f64>,
}

/// What was turned between two passes as rows on the change of the feet's heights.
pub(super) struct Turned {
    pub rows: DMatrix<f64>,
    pub lifts: DVector<f64>,
}

impl Seen {
    pub fn of(block: &Block, form: &Flexibility, places: &[Place], survey: &Survey) -> Self {
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
        let rises: Vec<Rise> = read.iter().map(|&i| block.under[i]).collect();
        let seen = |forms: &DMatrix<f64>| {
            let mut slopes = Rise::all_on(&rises, forms);
            for (mut row, weight) in slopes.row_iter_mut().zip(&weights) {
                row *= *weight;
            }
            slopes
        };
        let vector = |rows: DMatrix<f64>| rows.column(0).into_owned();
        let column = |form: DVector<f64>| seen(&DMatrix::from_columns(&[form]));
        // How the bed lies and what is wrong with the level are nobody's load.
        let heights = |height: &dyn Fn(&Place) -> f64| {
            let form = DVector::from_iterator(places.len(), places.iter().map(height));
            vector(column(form))
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
        let slopes = slopes.map(|(&i, weight)| weight * block.observations[i].unpacked());
        let slopes = DMatrix::from_iterator(read.len(), 1, slopes);
        let by = |form: &DVector<f64>| vector(free.taken_out(column(form.clone())));
        Self {
            bending: free.taken_out(seen(&form.bending)),
            torsion: free.taken_out(seen(&form.torsion)),
            weight_bends: by(&form.weight_bends),
            weight_twists: by(&form.weight_twists),
            slopes: vector(free.taken_out(slopes)),
        }
    }
}

/// Rows on the loads of one pass in shares of the mean load: balance, what a hand felt, and that no foot carries all.
pub(super) fn alone(
    survey: &Survey,
    model: &BedModel,
    pass: &Pass,
) -> (DMatrix<f64>, DVector<f64>) {
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
    pub fn of(
        survey: &Survey,
        model: &BedModel,
        lifts: &DVector<f64>,
        after: &Pass,
    ) -> Option<Self> {
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
            let left = free.taken_out(DMatrix::from_columns(std::slice::from_ref(direction)));
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
