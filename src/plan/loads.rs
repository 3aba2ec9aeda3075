//! What every foot carries before and after the turns.
//!
//! The loads before are told by the form of a resting bed, see [`Bearing`](crate::response::Bearing), and a guess on one that is held
//! down, see `footing`; what the turns change of them is as good as the stiffness, which
//! follows from the masses.

use nalgebra::DVector;

use super::advice::Advice;
use super::card::FootLoad;
use super::footing::{Footing, LEAST_SHARE};
use crate::response::{FootLoads, Place};
use crate::survey::{Line, Pass, Side, Survey};

/// A foot that is left with less than this part of its least share is named.
const NEARLY: f64 = 0.4;

/// Two corners of one diagonal carry the bed when those of the other are left with less than this share of what all four
/// carry.
const LEFT_OVER: f64 = 0.15;

/// Loads of all feet before and after lifts (m by foot) and what to say of those near lift-off; `None` without masses, where the
/// bed would tip, or where it is held down and forced as it lies: what it carries is told when it lies straighter.
pub(super) fn loads(
    survey: &Survey,
    pass: &Pass,
    footing: &Footing,
    lifts: &DVector<f64>,
    advice: &mut Vec<Advice>,
) -> Option<Vec<FootLoad>> {
    let found = footing.loads(lifts)?;
    if survey.bed.held_down() {
        let after = Footing::unlikely(found.feet.iter().map(|load| load.after.share));
        // Where turns go on, the bed is not yet as it should lie.
        let left = lifts.amax() == 0.0 && !advice.contains(&Advice::Done);
        let unlikely = after.filter(|_| left);
        advice.extend(unlikely.map(|(foot, share)| Advice::LoadsUnlikely { foot, share }));
        let before = Footing::unlikely(found.feet.iter().map(|load| load.before.share));
        if after.or(before).is_some() {
            return None;
        }
    }
    let mean = found.weight / survey.feet.len() as f64;
    let least = NEARLY * LEAST_SHARE * mean;
    let turned = lifts.amax() > 0.0;
    let inside = advice.contains(&Advice::Done);
    if !survey.bed.held_down() && !inside {
        advice.extend(diagonal(survey, &found, mean));
    }
    for (foot, load) in found.feet.iter().enumerate() {
        // A bed that is held down lies on such a foot all the same: its anchor draws it there.
        if load.after.force >= least || survey.bed.held_down() {
            continue;
        }
        if turned {
            advice.push(Advice::NearlyHanging { foot });
        } else if inside {
            let across = pass.readings.iter().filter(|read| read.line == Line::Cross);
            let off = |at: f64| (at - survey.feet[foot].at).abs();
            let at = across.map(|read| read.at);
            let nearest = at.min_by(|a, b| off(*a).total_cmp(&off(*b)));
            advice.extend(nearest.map(|at| Advice::Idle { foot, at }));
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

/// The classic three-point support: of the four feet at the corners those on one diagonal carry, the others do not.
fn diagonal(survey: &Survey, loads: &FootLoads, mean: f64) -> Option<Advice> {
    let feet =
        |side: Side| (0..survey.feet.len()).filter(move |&foot| survey.feet[foot].side == side);
    let at = |foot: &usize| survey.feet[*foot].at;
    let ends = |side: Side| {
        let first = feet(side).min_by(|a, b| at(a).total_cmp(&at(b)))?;
        let last = feet(side).max_by(|a, b| at(a).total_cmp(&at(b)))?;
        (first != last).then_some([first, last])
    };
    let ([front_first, front_last], [rear_first, rear_last]) =
        (ends(Side::Front)?, ends(Side::Rear)?);
    let force = |foot: usize| loads.feet[foot].before.force;
    [
        ([front_first, rear_last], [rear_first, front_last]),
        ([rear_first, front_last], [front_first, rear_last]),
    ]
    .into_iter()
    .find(|(carrying, hanging)| {
        let sum = |feet: &[usize; 2]| feet.iter().map(|&foot| force(foot)).sum::<f64>();
        carrying.iter().all(|&foot| force(foot) > mean)
            && sum(hanging) < LEFT_OVER * (sum(carrying) + sum(hanging))
    })
    .map(|(carrying, hanging)| Advice::Diagonal { carrying, hanging })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::response::{Carried, FootLoad};

    /// In the order F1, R1, F2, R2, N.
    fn named(forces: [f64; 4]) -> Option<Advice> {
        let survey = crate::survey::read(
            "format = 1\n[bed]\nlength = 2000\nway_spacing = 300\nheld_down = false\n\
             [feet]\nat = [100, 1900]\nlift_per_turn = 1.5\n",
        )
        .expect("a survey");
        let weight: f64 = forces.iter().sum();
        let force = |name: &str| {
            let order = ["F1", "R1", "F2", "R2"];
            order
                .iter()
                .position(|foot| *foot == name)
                .map_or(0.0, |foot| forces[foot])
        };
        let feet = survey.feet.iter().map(|foot| {
            let carried = Carried {
                force: force(&foot.name),
                share: force(&foot.name) / weight,
                margin: 0.0,
            };
            FootLoad {
                before: carried,
                after: carried,
            }
        });
        let loads = FootLoads {
            feet: feet.collect(),
            weight,
        };
        diagonal(&survey, &loads, weight / 4.0)
    }

    #[test]
    fn two_corners_that_carry_all_are_a_diagonal() {
        let foot = |advice: Option<Advice>| match advice {
            Some(Advice::Diagonal { carrying, hanging }) => Some((carrying, hanging)),
            _ => None,
        };
        let (carrying, hanging) = foot(named([5000.0, 400.0, 0.0, 4600.0])).expect("a diagonal");
        assert!(carrying.iter().chain(&hanging).all(|&foot| foot < 4));
        let other = foot(named([0.0, 5000.0, 4600.0, 400.0])).expect("the other one");
        assert_eq!((carrying, hanging), (other.1, other.0));
        assert!(named([2500.0; 4]).is_none());
        // One end carries: nothing twists it.
        assert!(named([5000.0, 5000.0, 0.0, 0.0]).is_none());
    }
}
