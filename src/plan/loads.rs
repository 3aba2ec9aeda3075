//! What every foot carries before and after the turns.
//!
//! A level does not show how high the feet stand under the bed, only how the bed lies on them. The feet are
//! taken to stand at the heights that make a straight bed lie as it was read, the least that do so. Wear looks
//! the same, so the loads before are a guess; what the turns change of them is as good as the stiffness, which
//! follows from the masses.

use nalgebra::{DMatrix, DVector};

use super::advice::Advice;
use super::card::FootLoad;
use super::objective::Objective;
use crate::geometry::LeastSquares;
use crate::response::{BedModel, History, Place};
use crate::survey::Survey;

/// How far feet stand from one plane before anything is known of them, in shares of what the mean load squeezes
/// a foot: whoever set the machine up saw to it that every foot carries (order of magnitude, no source).
const USUAL_UNEVENNESS: f64 = 1.0;

/// A reading is never taken as better than this about the feet: what the beam does not know of a bed, m/m or m.
const LEAST_DEVIATION: f64 = 1e-6;

/// A foot that carries less than this share of the mean load is near lift-off (a tenth: no source).
const NEARLY_HANGING: f64 = 0.1;

/// Loads of all feet before and after lifts (m by foot) and, where they were turned, what to say of those near
/// lift-off; `None` without masses or where the bed would tip.
pub(super) fn loads(
    survey: &Survey,
    history: &History,
    objective: &Objective,
    lifts: &DVector<f64>,
    advice: &mut Vec<Advice>,
) -> Option<Vec<FootLoad>> {
    survey.machine.mass?;
    let answer = history.answer();
    let share = DVector::from_column_slice(&answer.effectiveness);
    let mut model = BedModel::from_survey(survey, &answer.reaches);
    for (foot, beside_others) in model.feet.iter_mut().zip(&answer.stiffness) {
        foot.stiffness *= beside_others;
    }
    let stiffness: f64 = model.feet.iter().map(|foot| foot.stiffness).sum();
    let squeeze = model.weight() / stiffness;
    let before = standing(history, objective, USUAL_UNEVENNESS * squeeze).component_mul(&share);
    let after = &before + lifts.component_mul(&share);
    let found = model
        .response()
        .ok()?
        .loads(before.as_slice(), after.as_slice())
        .ok()?;
    let least = NEARLY_HANGING * found.weight / survey.feet.len() as f64;
    for (foot, load) in found.feet.iter().enumerate() {
        // A bed that is held down lies on such a foot all the same: its anchor draws it there.
        if load.after.force < least && lifts.amax() > 0.0 && !survey.bed.held_down {
            advice.push(Advice::NearlyHanging { foot });
        }
    }
    let loads = survey
        .feet
        .iter()
        .zip(&found.feet)
        .map(|(foot, load)| FootLoad {
            place: Place {
                at: foot.at,
                across: foot.across,
            },
            before: load.before.force,
            after: load.after.force,
            share_before: load.before.share,
            share_after: load.after.share,
        });
    Some(loads.collect())
}

/// Lifts that make a straight bed lie as it was read, m by foot, none further from the others than feet usually
/// stand.
fn standing(history: &History, objective: &Objective, unevenness: f64) -> DVector<f64> {
    let influence = &objective.heights * history.influence();
    let (rows, feet) = influence.shape();
    let mut design = DMatrix::zeros(rows + feet, feet);
    let mut target = DVector::zeros(rows + feet);
    for row in 0..rows {
        let deviation = objective.root.row(row).norm().max(LEAST_DEVIATION);
        design.set_row(row, &(influence.row(row) / deviation));
        target[row] = objective.now[row] / deviation;
    }
    for foot in 0..feet {
        design[(rows + foot, foot)] = unevenness.recip();
    }
    LeastSquares::new(design, target).solve().unknowns
}
