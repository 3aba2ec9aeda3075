//! Which foot's floor sinks.
//!
//! A foot that sinks by z moves the bed as a turned one would, `influence · z`. The foot is taken in whose
//! sinking explains most of the change, then the next, as long as it explains more than chance does (forward
//! selection; the chance is divided by the number of feet that were tried, Bonferroni). A lift of all feet, or
//! one that only makes the bed lean, is no change and cannot be told.

use nalgebra::DMatrix;
use statrs::distribution::{ChiSquared, ContinuousCDF};

use crate::geometry::Adjustment;
use crate::geometry::Figure;
use crate::geometry::Rise;
use crate::geometry::change::FALSE_ALARMS;
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::joint::{Joint, Solved};
use crate::response::{BedModel, History, Place, Reaches};
use crate::survey::Survey;

/// No more feet than these are taken in: with more the readings say nothing about any one.
const MOST_FEET: usize = 3;

/// Another foot explains as much when its misfit is within this of the best one's: 95 of 100 for one unknown
/// (chi-square with one degree of freedom).
const AS_GOOD: f64 = COVERAGE_95 * COVERAGE_95;

/// A foot whose floor has moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Sinking {
    /// Index into the survey's feet.
    pub foot: usize,
    /// How far it came up, m; negative where it sank.
    pub rise: Figure,
    /// Other feet that would explain the change about as well in its place.
    pub rivals: Vec<usize>,
}

/// The feet that moved between two passes, the one that explains most first. Nothing when no foot explains
/// the change.
pub fn sinking(
    survey: &Survey,
    pass: usize,
    first: &Adjustment,
    second: &Adjustment,
) -> Vec<Sinking> {
    let joint = Joint::of(first, second);
    let Some(effects) = effects(survey, pass, &joint) else {
        return Vec::new();
    };
    let feet = effects.ncols();
    let mut taken: Vec<usize> = Vec::new();
    let mut rivals: Vec<Vec<usize>> = Vec::new();
    let solve = |feet: &[usize]| joint.on_one_surface(&effects.select_columns(feet));
    let mut best = solve(&[]);
    while taken.len() < MOST_FEET.min(feet) {
        let gains = joint.gains(&best, &effects);
        let untaken: Vec<usize> = (0..feet).filter(|foot| !taken.contains(foot)).collect();
        let found = untaken
            .iter()
            .copied()
            .max_by(|a, b| gains[*a].total_cmp(&gains[*b]));
        let Some(foot) = found else { break };
        let chance = ChiSquared::new(1.0).map_or(1.0, |one| one.sf(gains[foot]));
        if chance * untaken.len() as f64 >= FALSE_ALARMS {
            break;
        }
        let as_good = |other: &usize| *other != foot && gains[*other] > gains[foot] - AS_GOOD;
        rivals.push(untaken.into_iter().filter(as_good).collect());
        taken.push(foot);
        best = solve(&taken);
    }
    rises(&best, &taken)
        .into_iter()
        .zip(&taken)
        .zip(rivals)
        .map(|((rise, foot), rivals)| Sinking {
            foot: *foot,
            rise,
            rivals,
        })
        .collect()
}

/// The last unknowns of the joint problem.
fn rises(solved: &Solved, taken: &[usize]) -> Vec<Figure> {
    let unknowns = &solved.system.unknowns;
    let first = unknowns.len() - taken.len();
    (first..unknowns.len())
        .map(|column| {
            let mut unit = DMatrix::zeros(1, unknowns.len());
            unit[(0, column)] = 1.0;
            let root = solved.system.covariance_root(&unit);
            Figure::normal(unknowns[column], root.norm())
        })
        .collect()
}

/// What a metre of lift of each foot adds to the readings of the second pass, m/m. The reaches are those that
/// the rounds have taught, or the usual ones.
fn effects(survey: &Survey, pass: usize, joint: &Joint) -> Option<DMatrix<f64>> {
    let reaches = History::of(survey, pass)
        .ok()
        .map(|history| history.answer().clone())
        .filter(|answer| answer.rounds > 0)
        .map_or_else(|| Reaches::usual(survey), |answer| answer.reaches);
    let feet: Vec<Place> = survey
        .feet
        .iter()
        .map(|foot| Place {
            at: foot.at,
            across: foot.across,
        })
        .collect();
    let half = survey.bed.way_spacing / 2.0;
    let points: Vec<Place> = [half, -half]
        .into_iter()
        .flat_map(|across| joint.places().iter().map(move |&at| Place { at, across }))
        .collect();
    let response = BedModel::weightless(survey.bed.length, &feet, true, &reaches)
        .response()
        .ok()?;
    Some(Rise::all_on(
        &joint.under_second(),
        &response.influence(&points),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The gain of a foot by itself against solving the whole problem with it.
    #[test]
    fn a_gain_is_what_solving_with_the_foot_gains() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/settling.toml");
        let survey = crate::survey::read(&std::fs::read_to_string(path).unwrap()).unwrap();
        let (length, spacing) = (survey.bed.length, survey.bed.way_spacing);
        let [first, second] = [1, 3].map(|index| {
            let pass: &crate::survey::Pass = &survey.passes[index];
            let level = survey.level_of(pass).unwrap();
            Adjustment::of(pass, level, length, spacing).unwrap()
        });
        let joint = Joint::of(&first, &second);
        let effects = effects(&survey, 3, &joint).unwrap();
        let without = joint.on_one_surface(&effects.select_columns(&[7]));
        let gains = joint.gains(&without, &effects);
        for (foot, gain) in gains.iter().copied().enumerate().take(7) {
            let with = joint.on_one_surface(&effects.select_columns(&[7, foot]));
            approx::assert_relative_eq!(
                gain,
                without.squares - with.squares,
                epsilon = 1e-6 * without.squares
            );
        }
        // A foot that is taken in gains nothing more.
        assert!(gains[7] < 1e-6, "{}", gains[7]);
    }
}
