//! What every foot carries before and after the turns.
//!
//! The loads before are told by the form of a resting bed, see [`Bearing`](crate::response::Bearing), and a guess on one that is held
//! down, see `footing`; what the turns change of them is as good as the stiffness, which
//! follows from the masses.

use nalgebra::DVector;

use super::advice::Advice;
use super::card::FootLoad;
use super::footing::{Footing, LEAST_SHARE};
use crate::response::Place;
use crate::survey::Survey;

/// A foot that is left with less than this part of its least share is named.
const NEARLY: f64 = 0.4;

/// Loads of all feet before and after lifts (m by foot) and, where they were turned, what to say of those near
/// lift-off; `None` without masses or where the bed would tip.
pub(super) fn loads(
    survey: &Survey,
    footing: &Footing,
    lifts: &DVector<f64>,
    advice: &mut Vec<Advice>,
) -> Option<Vec<FootLoad>> {
    let found = footing.loads(lifts)?;
    let least = NEARLY * LEAST_SHARE * found.weight / survey.feet.len() as f64;
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
