//! The machine: a bed on an uneven floor, unlike the model that a planner has of it.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::casting::{Casting, Ribs, Stance};
use super::floor::foot_heights;
use super::scatter::{Scatter, factor, normal};
use super::screw::{Screw, TURN};
use super::wear::Wear;
use crate::response::survey_bed::GYRATION_SHARE;
use crate::response::{BedModel, Place, Reaches, Stretch, Unsupported};
use crate::survey::{Packing, PointMass, Survey};

/// Mass of a machine whose survey has none, kg per m³ of bed length times way spacing squared; order of
/// magnitude, made up.
const MASS_PER_VOLUME: f64 = 7500.0;

/// Share of that mass that is the headstock.
const HEADSTOCK_SHARE: f64 = 0.2;

/// Where a headstock stands of which the survey says nothing, as a share of the bed's length.
const HEADSTOCK_AT: f64 = 0.15;

/// Shear modulus of iron as a share of Young's modulus, `1/(2 (1 + nu))` with a Poisson number of 0.25.
const SHEAR_TO_YOUNG: f64 = 0.4;

/// Most that ribs may couple bending and twist; at 1 the bed would bend without resistance one way.
const MOST_COUPLING: f64 = 0.6;

/// A made-up machine behind a survey.
///
/// Everything random in it follows from the seed, so that the same turns after the same passes give the same
/// readings. Each set-up of the level has its own stream of random numbers: one reading more in a pass does
/// not change the next pass.
#[derive(Debug, Clone, PartialEq)]
pub struct VirtualBed {
    pub(super) survey: Survey,
    pub(super) scatter: Scatter,
    pub(super) random: ChaCha8Rng,
    /// How often the level was set up.
    set_ups: u64,
    /// Zero error across, divisions.
    pub(super) cross_zero: f64,
    /// What lies under one end of the level.
    pub(super) packing: Packing,
    /// Zero error along, divisions.
    pub(super) along_zero: f64,
    casting: Casting,
    floor: Vec<f64>,
    screws: Vec<Screw>,
    wear: Wear,
    pub(super) stance: Stance,
}

/// Why there is no machine behind a survey.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CannotStand {
    /// Its feet do not hold it.
    Unsupported(Unsupported),
    /// It rests on its feet and its headstock tips it over.
    Tips {
        /// Force that is not balanced, N.
        unbalanced: f64,
    },
}

impl VirtualBed {
    /// A machine that the survey could have been written for.
    ///
    /// Its stiffnesses scatter about the usual ones, its masses are the survey's, or usual ones.
    pub fn new(survey: &Survey, seed: u64, scatter: &Scatter) -> Result<Self, CannotStand> {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let model = true_model(survey, scatter, &mut random);
        let floor = foot_heights(survey, scatter, &mut random);
        let screw = |foot| {
            let gain = 1.0 + normal(&mut random, scatter.thread);
            Screw::new(foot, gain * foot.lift_per_turn, scatter.backlash)
        };
        let screws = survey.feet.iter().map(screw).collect();
        let wear = Wear::new(survey, scatter, &mut random);
        model.check().map_err(CannotStand::Unsupported)?;
        let ribs = ribs(&model, survey, scatter, &mut random);
        let casting = Casting::new(model, &ribs);
        let stance = casting
            .stand(&floor)
            .map_err(|unbalanced| CannotStand::Tips { unbalanced })?;
        let mut bed = Self {
            survey: survey.clone(),
            scatter: *scatter,
            random,
            set_ups: 0,
            cross_zero: 0.0,
            packing: Packing::default(),
            along_zero: 0.0,
            casting,
            floor,
            screws,
            wear,
            stance,
        };
        bed.set_up_level();
        Ok(bed)
    }

    /// Heights of the surface, m, wear included, above one level.
    pub fn true_heights(&self, places: &[Place]) -> Vec<f64> {
        self.heights_on(&self.stance, places)
    }

    fn heights_on(&self, stance: &Stance, places: &[Place]) -> Vec<f64> {
        let height = |place: &Place| self.casting.height(stance, *place) + self.wear.height(*place);
        places.iter().map(height).collect()
    }

    /// How much higher each place would lie with one foot `lift` higher, m.
    pub(super) fn rise(&self, foot: usize, lift: f64, places: &[Place]) -> Vec<f64> {
        let mut lifts = self.lifts();
        lifts[foot] += lift;
        let Ok(lifted) = self.casting.stand(&lifts) else {
            return vec![0.0; places.len()];
        };
        let before = self.true_heights(places);
        let after = self.heights_on(&lifted, places);
        after
            .iter()
            .zip(before)
            .map(|(after, before)| after - before)
            .collect()
    }

    /// Height at which each foot just touches, m.
    fn lifts(&self) -> Vec<f64> {
        let lifts = self.floor.iter().zip(&self.screws);
        lifts.map(|(floor, screw)| floor + screw.lift()).collect()
    }

    /// Force of each foot on the bed, N.
    pub fn foot_forces(&self) -> &[f64] {
        &self.stance.forces
    }

    /// The bed as a beam, which a planner does not know.
    pub fn true_model(&self) -> &BedModel {
        self.casting.model()
    }

    /// Turns the screw of a foot blindly, in quarter-turns, + raises. Returns what the hand counted, which is
    /// less than asked for only at the end of the screw's travel.
    ///
    /// # Panics
    ///
    /// When there is no such foot.
    pub fn turn(&mut self, foot: usize, quarter_turns: f64) -> f64 {
        if quarter_turns == 0.0 {
            return 0.0;
        }
        let slip = normal(&mut self.random, self.scatter.hand / TURN);
        quarter_turns - self.move_screw(foot, quarter_turns + 4.0 * slip)
    }

    /// Moves a screw exactly, in quarter-turns, and lets the bed settle on its feet; returns what the end of the
    /// screw's travel left undone.
    pub(super) fn move_screw(&mut self, foot: usize, quarter_turns: f64) -> f64 {
        let undone = 4.0 * self.screws[foot].turn(quarter_turns / 4.0);
        // Whether a bed stands depends on its weight and the places of its feet, not on their heights.
        if let Ok(stance) = self.casting.stand(&self.lifts()) {
            self.stance = stance;
        }
        undone
    }

    /// Takes the level in hand again: a new zero error across and along.
    pub(super) fn set_up_level(&mut self) {
        self.set_ups += 1;
        self.random.set_stream(self.set_ups);
        self.random.set_word_pos(0);
        self.cross_zero = normal(&mut self.random, self.scatter.zero_error);
        self.along_zero = normal(&mut self.random, self.scatter.zero_error);
    }
}

/// The bed as it really is.
fn true_model(survey: &Survey, scatter: &Scatter, random: &mut ChaCha8Rng) -> BedModel {
    let bed = &survey.bed;
    let mut weighed = survey.clone();
    let usual_mass = MASS_PER_VOLUME * bed.length * bed.way_spacing * bed.way_spacing;
    let mass = *weighed.machine.mass.get_or_insert(usual_mass);
    let headstock = *weighed.machine.headstock.get_or_insert(PointMass {
        mass: HEADSTOCK_SHARE * mass,
        at: HEADSTOCK_AT * bed.length,
    });
    let mut model = BedModel::from_survey(&weighed, &Reaches::usual(survey));
    model.bending_stiffness *= factor(random, scatter.bending_stiffness);
    model.torsion_stiffness *= factor(random, scatter.torsion_stiffness);
    for foot in &mut model.feet {
        foot.stiffness *= factor(random, scatter.foot_stiffness);
    }
    model.stretches.push(Stretch {
        from: 0.0,
        to: (2.0 * headstock.at).min(bed.length),
        factor: scatter.headstock_stiffening,
    });
    model
}

/// What the casting is beside what a planner thinks.
fn ribs(model: &BedModel, survey: &Survey, scatter: &Scatter, random: &mut ChaCha8Rng) -> Ribs {
    let gyration = GYRATION_SHARE * survey.bed.way_spacing;
    Ribs {
        shear: scatter.shear_area * SHEAR_TO_YOUNG * model.bending_stiffness
            / (gyration * gyration),
        coupling: normal(random, scatter.rib_coupling).clamp(-MOST_COUPLING, MOST_COUPLING),
        tail: factor(random, scatter.section),
    }
}
