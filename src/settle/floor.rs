//! Which foot's floor sinks.
//!
//! A foot that sinks by z moves the bed as a turned one would, `influence · z`. The foot is taken in whose
//! sinking explains most of the change, then the next, as long as it explains more than chance does (forward
//! selection; the chance is divided by the number of feet that were tried, Bonferroni). A lift of all feet, or
//! one that only makes the bed lean, is no change and cannot be told.

use nalgebra::DMatrix;
use statrs::distribution::{ChiSquared, ContinuousCDF};

use super::change::FALSE_ALARMS;
use super::joint::{Joint, Solved};
use crate::geometry::Adjustment;
use crate::geometry::Figure;
use crate::geometry::figure::COVERAGE_95;
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
        let tries: Vec<(usize, Solved)> = (0..feet)
            .filter(|foot| !taken.contains(foot))
            .map(|foot| {
                let mut feet = taken.clone();
                feet.push(foot);
                (foot, solve(&feet))
            })
            .collect();
        let count = tries.len() as f64;
        let found = tries
            .iter()
            .min_by(|a, b| a.1.squares.total_cmp(&b.1.squares))
            .map(|(foot, solved)| (*foot, solved.squares));
        let Some((foot, squares)) = found else { break };
        let chance = ChiSquared::new(1.0).map_or(1.0, |one| one.sf(best.squares - squares));
        if chance * count >= FALSE_ALARMS {
            break;
        }
        rivals.push(
            tries
                .iter()
                .filter(|(other, solved)| *other != foot && solved.squares < squares + AS_GOOD)
                .map(|(other, _)| *other)
                .collect(),
        );
        if let Some((_, solved)) = tries.into_iter().find(|(other, _)| *other == foot) {
            best = solved;
        }
        taken.push(foot);
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
    Some(joint.second_operator() * response.influence(&points))
}
