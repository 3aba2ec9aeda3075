//! The bed on its feet as far as it is known: how it goes with their lifts, and what they carry.
//!
//! A bed that is held down answers its feet in proportion. A bed that only rests on them does so as long as all of them
//! carry: a foot that is raised takes its neighbours' load until they hang, and then moves the bed more than before.
//! With the masses known that can be worked out, from heights of the feet that are a guess.
//!
//! A level does not show how high the feet stand under the bed, only how the bed lies on them. They are taken to stand
//! at the heights that make a straight bed lie as it was read, the least that do so, and every foot to carry:
//! those that hung have been seated before anything else is turned. Wear looks the same.

use std::rc::Rc;

use nalgebra::{DMatrix, DVector, RowDVector};

use super::departures::Kind;
use super::objective::Objective;
use crate::geometry::LeastSquares;
use crate::response::{BedModel, BedResponse, FootLoads, History, Place, Stance};
use crate::survey::Survey;

/// How far feet stand from one plane before anything is known of them, in shares of what the mean load squeezes
/// a foot: whoever set the machine up saw to it that every foot carries (order of magnitude, no source).
const USUAL_UNEVENNESS: f64 = 1.0;

/// A reading is never taken as better than this about the feet: what the beam does not know of a bed, m/m or m.
const LEAST_DEVIATION: f64 = 1e-6;

/// What a foot carries that was turned until it just carries, in shares of the mean load.
const JUST_CARRIES: f64 = 0.02;

/// A foot is to be left with at least this share of the mean load (a tenth: no source).
pub(super) const LEAST_LOAD: f64 = 0.1;

/// How surely a foot carries that was felt to carry, in shares of the mean load.
const FELT: f64 = 0.01;

/// A foot that is raised until it touches the bed is raised by this more, m.
const TOUCH: f64 = 0.1e-6;

/// How the bed has moved and how it goes on.
pub(super) struct Tangent {
    /// Change of the heights at the history's places, front first, m.
    pub moved: DVector<f64>,
    /// Change of that per metre of lift of each foot, m/m.
    pub influence: Rc<DMatrix<f64>>,
    /// Feet that hang.
    pub hanging: Vec<usize>,
}

/// The bed on its feet.
pub(super) struct Footing {
    /// With all feet carrying.
    influence: Rc<DMatrix<f64>>,
    weighed: Option<Weighed>,
}

/// A bed of known mass.
struct Weighed {
    response: BedResponse,
    /// Whether it only rests on its feet.
    rests: bool,
    /// Share of its lift that arrives, by foot.
    share: DVector<f64>,
    /// Where the feet stand now, m.
    stand: DVector<f64>,
    /// The history's places, front first.
    places: Vec<Place>,
    /// Heights there now, m.
    heights: Vec<f64>,
    /// What the feet carry where they stand with all of them linked, N.
    forces: DVector<f64>,
    /// Change of that per metre of lift that arrives.
    stiffness: DMatrix<f64>,
    mean_load: f64,
}

impl Footing {
    /// After a pass in which these feet hung.
    pub fn of(
        survey: &Survey,
        history: &History,
        objective: &Objective,
        hanging: &[usize],
    ) -> Self {
        Self {
            influence: Rc::new(history.influence().clone()),
            weighed: Weighed::of(survey, history, objective, hanging),
        }
    }

    /// With every foot carrying, as before anything is turned.
    pub fn all_carrying(&self) -> Tangent {
        Tangent {
            moved: DVector::zeros(self.influence.nrows()),
            influence: Rc::clone(&self.influence),
            hanging: Vec::new(),
        }
    }

    /// After lifts (m by foot).
    pub fn after(&self, lifts: &DVector<f64>) -> Tangent {
        let resting = self.weighed.as_ref().filter(|weighed| weighed.rests);
        resting
            .and_then(|weighed| weighed.after(lifts))
            .unwrap_or_else(|| Tangent {
                moved: &*self.influence * lifts,
                influence: Rc::clone(&self.influence),
                hanging: Vec::new(),
            })
    }

    /// Rows that ask of these feet to carry after lifts: shares of the least load per metre of lift, and what is lacking
    /// now.
    pub fn to_carry<'a>(
        &'a self,
        feet: &'a [usize],
    ) -> impl Iterator<Item = (RowDVector<f64>, f64)> + 'a {
        let weighed = self.weighed.iter();
        weighed.flat_map(move |weighed| {
            let least = LEAST_LOAD * weighed.mean_load;
            feet.iter().map(move |&foot| {
                let row = weighed.stiffness.row(foot);
                let by_lift = row.component_mul(&weighed.share.transpose()) / least;
                (by_lift, 1.0 - weighed.forces[foot] / least)
            })
        })
    }

    /// Loads of all feet before and after lifts; `None` without masses or where the bed would tip.
    pub fn loads(&self, lifts: &DVector<f64>) -> Option<FootLoads> {
        let weighed = self.weighed.as_ref()?;
        let after = &weighed.stand + lifts.component_mul(&weighed.share);
        let loads = weighed
            .response
            .loads(weighed.stand.as_slice(), after.as_slice());
        loads.ok()
    }
}

impl Weighed {
    fn of(
        survey: &Survey,
        history: &History,
        objective: &Objective,
        hanging: &[usize],
    ) -> Option<Self> {
        survey.machine.mass?;
        let answer = history.answer();
        let mut model = BedModel::from_survey(survey, &answer.reaches);
        for (foot, beside_others) in model.feet.iter_mut().zip(&answer.stiffness) {
            foot.stiffness *= beside_others;
        }
        let response = model.response().ok()?;
        let feet: Vec<Place> = model.feet.iter().map(|foot| foot.place).collect();
        let mut stiffness = DMatrix::identity(feet.len(), feet.len()) - response.influence(&feet);
        for (mut row, foot) in stiffness.row_iter_mut().zip(&model.feet) {
            row *= foot.stiffness;
        }
        let half = survey.bed.way_spacing / 2.0;
        let places: Vec<Place> = [half, -half]
            .into_iter()
            .flat_map(|across| history.places().iter().map(move |&at| Place { at, across }))
            .collect();
        let linked = model.with_anchors().response().ok()?;
        let level = linked.standing(&vec![0.0; feet.len()]).stance()?;
        let sunk = DVector::from_vec(linked.heights(&level, &places));
        let level = DVector::from_vec(level.forces);
        let rests = !survey.bed.held_down;
        let mean_load = model.weight() / feet.len() as f64;
        let total: f64 = model.feet.iter().map(|foot| foot.stiffness).sum();
        let guess = Guess {
            influence: &objective.heights * history.influence(),
            shown: &objective.now - &objective.heights * sunk,
            objective,
            unevenness: USUAL_UNEVENNESS * model.weight() / total,
            level: &level,
            stiffness: &stiffness,
            share: DVector::from_column_slice(&answer.effectiveness),
            mean_load,
        };
        let stand = if rests {
            guess.all_carrying(hanging)
        } else {
            guess.heights(&[])
        };
        let (stand, stance) = seated(&response, stand);
        let heights = stance.map_or_else(Vec::new, |stance| response.heights(&stance, &places));
        Some(Self {
            rests: rests && !heights.is_empty(),
            share: guess.share.clone(),
            forces: &level + &stiffness * &stand,
            stand,
            places,
            heights,
            response,
            stiffness,
            mean_load,
        })
    }

    /// `None` where all feet carry, so that the bed answers in proportion, or where it would tip.
    fn after(&self, lifts: &DVector<f64>) -> Option<Tangent> {
        let stand = &self.stand + lifts.component_mul(&self.share);
        let stance = self.response.standing(stand.as_slice()).stance()?;
        if stance.hanging.is_empty() {
            return None;
        }
        let heights = self.response.heights(&stance, &self.places);
        let moved = heights
            .iter()
            .zip(&self.heights)
            .map(|(now, then)| now - then);
        let mut influence = self.response.influence_of_standing(&stance, &self.places);
        for (mut column, share) in influence.column_iter_mut().zip(&self.share) {
            column *= *share;
        }
        Some(Tangent {
            moved: DVector::from_iterator(self.heights.len(), moved),
            influence: Rc::new(influence),
            hanging: stance.hanging.iter().map(|hanging| hanging.foot).collect(),
        })
    }
}

/// Feet raised until none hangs, m, and how the bed then stands; `None` where it tips.
fn seated(response: &BedResponse, mut stand: DVector<f64>) -> (DVector<f64>, Option<Stance>) {
    let mut stance = response.standing(stand.as_slice()).stance();
    for _ in 0..stand.len() {
        let hanging = stance.iter().flat_map(|stance| &stance.hanging);
        let gaps: Vec<(usize, f64)> = hanging.map(|foot| (foot.foot, foot.gap)).collect();
        if gaps.is_empty() {
            break;
        }
        for (foot, gap) in gaps {
            stand[foot] += gap + TOUCH;
        }
        stance = response.standing(stand.as_slice()).stance();
    }
    (stand, stance)
}

/// What is known of the heights of the feet.
struct Guess<'a> {
    /// Departures per metre of recorded lift.
    influence: DMatrix<f64>,
    /// Departures as they were read, less those of the bed on feet of one height: its weight presses them in.
    shown: DVector<f64>,
    objective: &'a Objective,
    /// Deviation of the heights before anything is known, m.
    unevenness: f64,
    /// Forces on feet of one height, all linked, N.
    level: &'a DVector<f64>,
    /// Change of them per metre, N/m.
    stiffness: &'a DMatrix<f64>,
    share: DVector<f64>,
    mean_load: f64,
}

impl Guess<'_> {
    /// Heights of the feet, m, with loads that some of them are known to carry, N.
    fn heights(&self, known: &[(usize, f64)]) -> DVector<f64> {
        let (rows, feet) = self.influence.shape();
        let mut design = DMatrix::zeros(rows + feet + known.len(), feet);
        let mut target = DVector::zeros(rows + feet + known.len());
        for row in 0..rows {
            if matches!(self.objective.kind[row], Kind::Lean | Kind::Scale) {
                // The level's zero error is in these.
                continue;
            }
            let deviation = self.objective.root.row(row).norm().max(LEAST_DEVIATION);
            design.set_row(row, &(self.influence.row(row) / deviation));
            target[row] = self.shown[row] / deviation;
        }
        for foot in 0..feet {
            design[(rows + foot, foot)] = self.unevenness.recip();
        }
        let felt = FELT * self.mean_load;
        for (k, &(foot, load)) in known.iter().enumerate() {
            let by_lift = self
                .stiffness
                .row(foot)
                .component_mul(&self.share.transpose());
            design.set_row(rows + feet + k, &(by_lift / felt));
            target[rows + feet + k] = (load - self.level[foot]) / felt;
        }
        let recorded = LeastSquares::new(design, target).solve().unknowns;
        recorded.component_mul(&self.share)
    }

    /// Heights with which every foot carries, those just that hung and were seated.
    fn all_carrying(&self, hanging: &[usize]) -> DVector<f64> {
        let least = JUST_CARRIES * self.mean_load;
        let mut known: Vec<(usize, f64)> = hanging.iter().map(|&foot| (foot, least)).collect();
        loop {
            let heights = self.heights(&known);
            let forces = self.level + self.stiffness * &heights;
            let light = (0..forces.len())
                .filter(|foot| known.iter().all(|(known, _)| known != foot))
                .min_by(|a, b| forces[*a].total_cmp(&forces[*b]))
                .filter(|foot| forces[*foot] < least);
            match light {
                Some(foot) => known.push((foot, least)),
                None => return heights,
            }
        }
    }
}
