//! The bed on its feet as far as it is known: how it goes with their lifts, and what they carry.
//!
//! A bed that is held down answers its feet in proportion. A bed that only rests on them does so as long as all of them
//! carry. Feet that hung have been seated before anything else is turned, so that every foot touches, and
//! what is planned leaves every foot its share of the load: where the feet end decides how the bed lies, so the way from here
//! to there can be planned in proportion, whatever hangs while it is gone. Only what a bubble shows on the way needs
//! contact.
//!
//! What the feet of a resting bed carry follows from its form, see [`Bearing`](crate::response::Bearing). The loads of
//! one that is held down are a guess: its feet are taken to stand at the heights that make a straight bed lie as it was read,
//! the least that do so. Wear looks the same.

use std::rc::Rc;

use nalgebra::{DMatrix, DVector, RowDVector};

use super::departures::Kind;
use super::objective::Objective;
use crate::geometry::LeastSquares;
use crate::response::{BedModel, BedResponse, FootLoads, History, Place, Stance};
use crate::survey::Survey;

/// How far the feet of a bed that is held down may stand from one plane, m: anchors draw it down on whatever is there, so that one
/// that was set down by eye is bent by its feet and not by how it was ground (order of magnitude, no source).
const SET_DOWN_BY_EYE: f64 = 0.5e-3;

/// What of the form of a bed is wear and no doing of its feet, m (order of magnitude, no source).
const WORN: f64 = 5e-6;

/// A foot is to be left with at least this share of what it would carry if all stood at one height (a quarter: no
/// source).
pub(super) const LEAST_SHARE: f64 = 0.25;

/// And with at most this many times as much, where the survey sets no other (no source).
const USUAL_MOST: f64 = 3.0;

/// A load that is off by what the foot should carry weighs as much as this share of the limits, all feet together.
const UNEVEN: f64 = 0.1;

/// No plan has an anchor pull harder than this share of the machine's weight. A bed held up in its middle bears half of its
/// weight beyond either end (statics): what its own weight cannot bring down is bent by force.
const MOST_PULL: f64 = 0.5;

/// How strictly loads are kept in bounds: by shares of the mean load that weigh as much as a limit.
pub(super) const KEPT: f64 = 0.05;

/// What rounding does to shares of the weight.
const WHOLE_LOADS: f64 = 1e-9;

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

/// A bed whose loads are known as far as its weight is.
struct Weighed {
    response: BedResponse,
    /// Whether it only rests on its feet.
    rests: bool,
    /// Whether its mass is known; if not, only shares of it are.
    has_mass: bool,
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
    /// What they would carry if all stood at one height, N.
    even: DVector<f64>,
    /// Change of that per metre of lift that arrives.
    stiffness: DMatrix<f64>,
    mean_load: f64,
    /// Most that a foot may carry, in shares of its even load.
    most: f64,
}

impl Footing {
    /// After the last pass of the history.
    pub fn of(survey: &Survey, history: &History, objective: &Objective) -> Self {
        Self {
            influence: Rc::new(history.influence().clone()),
            weighed: Weighed::of(survey, history, objective),
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
        let resting = self.resting();
        resting
            .and_then(|weighed| weighed.after(lifts))
            .unwrap_or_else(|| Tangent {
                moved: &*self.influence * lifts,
                influence: Rc::clone(&self.influence),
                hanging: Vec::new(),
            })
    }

    fn resting(&self) -> Option<&Weighed> {
        self.weighed.as_ref().filter(|weighed| weighed.rests)
    }

    /// What the mean load squeezes a foot of a resting bed, m: feet are raised or lowered by about that for the sake of their
    /// load alone.
    pub fn squeeze(&self) -> Option<f64> {
        let weighed = self.resting()?;
        let feet = &weighed.response.model().feet;
        let total: f64 = feet.iter().map(|foot| foot.stiffness).sum();
        Some(weighed.mean_load * feet.len() as f64 / total)
    }

    /// Feet of a resting bed that carry less now than they are to be left with.
    pub fn idle(&self) -> Vec<usize> {
        let Some(weighed) = self.resting() else {
            return Vec::new();
        };
        let least = |&foot: &usize| weighed.forces[foot] < LEAST_SHARE * weighed.should_carry(foot);
        (0..weighed.forces.len()).filter(least).collect()
    }

    /// Rows that ask for even loads on a resting bed, in shares of the limits per metre of lift, and what is lacking now.
    pub fn evenness(&self) -> Vec<(RowDVector<f64>, f64)> {
        let Some(weighed) = self.resting() else {
            return Vec::new();
        };
        let feet = weighed.forces.len();
        let weight = UNEVEN / (feet as f64).sqrt();
        let rows = (0..feet).map(|foot| {
            let even = weighed.should_carry(foot);
            weighed.to_carry(foot, even, even / weight)
        });
        rows.collect()
    }

    /// Rows that ask of feet of a resting bed to carry these loads, N.
    pub fn to_carry(&self, loads: &[(usize, f64)]) -> Vec<(RowDVector<f64>, f64)> {
        let weighed = self.resting().into_iter();
        let rows = weighed.flat_map(|weighed| {
            let loads = loads.iter();
            loads.map(|&(foot, load)| weighed.to_carry(foot, load, KEPT * weighed.mean_load))
        });
        rows.collect()
    }

    /// Feet that carry less than their least or more than their most after lifts, m, and these bounds, N.
    pub fn out_of_bounds(&self, lifts: &DVector<f64>) -> Vec<(usize, f64)> {
        let Some(weighed) = self.resting() else {
            return Vec::new();
        };
        let forces = weighed.after_in_proportion(lifts);
        let bounded = forces.iter().enumerate().filter_map(|(foot, &force)| {
            let even = weighed.should_carry(foot);
            let bound = force.clamp(LEAST_SHARE * even, weighed.most * even);
            ((force - bound).abs() > KEPT * weighed.mean_load).then_some((foot, bound))
        });
        bounded.collect()
    }

    /// The foot that lifts (m by foot) force most beyond what the weight of a bed that is held down can bring about, and the share
    /// of the machine's weight that it would carry, negative where its anchor would pull; `None` where none is.
    ///
    /// No foot is to carry more than the whole machine, nor its anchor to pull harder than [`MOST_PULL`], unless one is forced as
    /// much as the bed lies: turns that straighten it take from that. Shares need no mass: a bed twice as heavy is taken as
    /// twice as stiff, see [`bending_stiffness_of`](crate::response::survey_bed::bending_stiffness_of). So this also bounds how
    /// far a bed is bent: the whole weight on a foot in the middle bends it to a radius of 4 EI / (weight × length), 4 km for
    /// one of 2.9 m with ways 0.38 m apart.
    pub fn forced(&self, lifts: &DVector<f64>) -> Option<(usize, f64)> {
        let weighed = self.weighed.as_ref().filter(|weighed| !weighed.rests)?;
        let weight = weighed.mean_load * lifts.len() as f64;
        let after = weighed.after_in_proportion(lifts) / weight;
        let most = (weighed.forces.max() / weight).max(1.0);
        let least = (weighed.forces.min() / weight).min(-MOST_PULL);
        let beyond = |foot: usize| (after[foot] - most).max(least - after[foot]);
        (0..lifts.len())
            .max_by(|&a, &b| beyond(a).total_cmp(&beyond(b)))
            .filter(|&foot| beyond(foot) > WHOLE_LOADS)
            .map(|foot| (foot, after[foot]))
    }

    /// The foot of a bed that is held down that these loads have farthest beyond what its weight can bring about, and its share of
    /// the weight, as in [`forced`](Self::forced).
    pub fn unlikely(shares: impl Iterator<Item = f64>) -> Option<(usize, f64)> {
        let beyond = |share: f64| (share - 1.0).max(-MOST_PULL - share);
        shares
            .enumerate()
            .max_by(|a, b| beyond(a.1).total_cmp(&beyond(b.1)))
            .filter(|(_, share)| beyond(*share) > WHOLE_LOADS)
    }

    /// Loads of all feet before and after lifts; `None` without masses or where the bed would tip.
    pub fn loads(&self, lifts: &DVector<f64>) -> Option<FootLoads> {
        let weighed = self.weighed.as_ref().filter(|weighed| weighed.has_mass)?;
        let after = &weighed.stand + lifts.component_mul(&weighed.share);
        let loads = weighed
            .response
            .loads(weighed.stand.as_slice(), after.as_slice());
        loads.ok()
    }
}

impl Weighed {
    fn of(survey: &Survey, history: &History, objective: &Objective) -> Option<Self> {
        let answer = history.answer();
        let bearing = history.bearing();
        let model = if let Some(bearing) = bearing {
            bearing.model.clone()
        } else {
            let mut model = BedModel::weighed(survey, &answer.reaches);
            for (foot, beside_others) in model.feet.iter_mut().zip(&answer.stiffness) {
                foot.stiffness *= beside_others;
            }
            model
        };
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
        let share = DVector::from_column_slice(&answer.effectiveness);
        let stand = match bearing {
            Some(bearing) => {
                let beside = DVector::from_column_slice(&bearing.expected) - &level;
                LeastSquares::new(stiffness.clone(), beside)
                    .solve()
                    .unknowns
            }
            None => guessed_heights(history, objective, &sunk).component_mul(&share),
        };
        let (stand, stance) = seated(&response, stand);
        let heights = stance.map_or_else(Vec::new, |stance| response.heights(&stance, &places));
        Some(Self {
            rests: bearing.is_some() && !heights.is_empty(),
            has_mass: survey.machine.mass.is_some(),
            share,
            forces: &level + &stiffness * &stand,
            even: level,
            stand,
            places,
            heights,
            mean_load: model.weight() / feet.len() as f64,
            response,
            stiffness,
            most: survey.limits.load_share.unwrap_or(USUAL_MOST),
        })
    }

    /// What a foot should carry, N: what it would if all stood at one height, but no foot is to be idle.
    fn should_carry(&self, foot: usize) -> f64 {
        self.even[foot].max(LEAST_SHARE * self.mean_load)
    }

    /// Loads after lifts (m by foot) with all feet linked, N.
    fn after_in_proportion(&self, lifts: &DVector<f64>) -> DVector<f64> {
        &self.forces + &self.stiffness * lifts.component_mul(&self.share)
    }

    /// A row that asks of a foot to carry this load, N, with this deviation, N.
    fn to_carry(&self, foot: usize, load: f64, deviation: f64) -> (RowDVector<f64>, f64) {
        let by_lift = self
            .stiffness
            .row(foot)
            .component_mul(&self.share.transpose());
        (by_lift / deviation, (load - self.forces[foot]) / deviation)
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

/// The least heights of the feet of a bed that is held down, m of recorded lift, that make it lie as it was read; `sunk` are the heights
/// at the history's places on feet of one height, where its weight presses them in, m.
fn guessed_heights(history: &History, objective: &Objective, sunk: &DVector<f64>) -> DVector<f64> {
    let influence = &objective.heights * history.influence();
    let shown = &objective.now - &objective.heights * sunk;
    let (rows, feet) = influence.shape();
    let mut design = DMatrix::zeros(rows + feet, feet);
    let mut target = DVector::zeros(rows + feet);
    for row in 0..rows {
        if matches!(objective.kind[row], Kind::Lean | Kind::Scale | Kind::Unseen) {
            // The level's zero error is in some of these, nothing at all in the others.
            continue;
        }
        let worn = match objective.kind[row] {
            Kind::Twist => 2.0_f64.sqrt() * WORN / history.survey().bed.way_spacing,
            _ => WORN,
        };
        let deviation = objective.root.row(row).norm().hypot(worn);
        design.set_row(row, &(influence.row(row) / deviation));
        target[row] = shown[row] / deviation;
    }
    for foot in 0..feet {
        design[(rows + foot, foot)] = SET_DOWN_BY_EYE.recip();
    }
    LeastSquares::new(design, target).solve().unknowns
}
