//! A bed model from a survey, from reaches in the place of a drawing of the casting.

use super::Place;
use super::model::{BedModel, PointLoad, Support};
use super::reach::{Foundation, Reaches};
use crate::survey::Survey;

/// Standard gravity, m/s² (ISO 80000-3).
pub const GRAVITY: f64 = 9.806_65;

/// Young's modulus of grey cast iron, Pa; order of magnitude, common practice, no source.
const YOUNGS_MODULUS: f64 = 110e9;

/// Density of grey cast iron, kg/m³; order of magnitude, common practice, no source.
const DENSITY: f64 = 7200.0;

/// Share of a machine's mass that is bed casting; order of magnitude, common practice, no source.
const BED_SHARE: f64 = 0.3;

/// Kilograms for a metre of bed and of its way spacing where no mass is given. It cancels.
const SUPPOSED_MASS: f64 = 2000.0;

/// Radius of gyration of a bed's section in bending, as a share of the way spacing: about 0.37 of the height
/// of a hollow section that is nearly as high as its ways are apart; order of magnitude, no source.
pub(crate) const GYRATION_SHARE: f64 = 0.35;

impl BedModel {
    /// The weightless bed with these reaches on feet of stiffness 1: all that is needed for what lifts do to
    /// a bed whose feet all stay linked.
    ///
    /// `EI = kf bending⁴ / 4` and `GJ = kt torsion²`.
    pub fn weightless(length: f64, feet: &[Place], holds_down: bool, reaches: &Reaches) -> Self {
        let foot = |&place: &Place| Support {
            place,
            stiffness: 1.0,
            holds_down,
        };
        let feet: Vec<Support> = feet.iter().map(foot).collect();
        let foundation = Foundation::under(&feet, length);
        Self {
            length,
            bending_stiffness: foundation.sinking * reaches.bending.powi(4) / 4.0,
            torsion_stiffness: foundation.rolling * reaches.torsion.powi(2),
            feet,
            weight_per_length: 0.0,
            point_loads: vec![],
            stretches: vec![],
        }
    }

    /// The same bed with stiffnesses in N and m, known from one of them.
    #[must_use]
    pub fn with_bending_stiffness(mut self, bending_stiffness: f64) -> Self {
        let scale = bending_stiffness / self.bending_stiffness;
        self.bending_stiffness = bending_stiffness;
        self.torsion_stiffness *= scale;
        for foot in &mut self.feet {
            foot.stiffness *= scale;
        }
        self
    }

    /// The bed of a survey.
    ///
    /// Without the machine's mass it is [weightless](BedModel::weightless), and whether a foot hangs cannot
    /// be told. With it, the mass beside the headstock lies evenly along the bed, and the stiffnesses follow
    /// from [`bending_stiffness_of`] and the reaches.
    pub fn from_survey(survey: &Survey, reaches: &Reaches) -> Self {
        let place = |at, across| Place { at, across };
        let feet: Vec<Place> = survey
            .feet
            .iter()
            .map(|foot| place(foot.at, foot.across))
            .collect();
        let bed = &survey.bed;
        let weightless = Self::weightless(bed.length, &feet, bed.held_down(), reaches);
        let Some(mass) = survey.machine.mass else {
            return weightless;
        };
        let stiffness = bending_stiffness_of(mass, bed.length, bed.way_spacing);
        let mut model = weightless.with_bending_stiffness(stiffness);
        let headstock = survey.machine.headstock;
        let at_one_place = headstock.map_or(0.0, |headstock| headstock.mass.min(mass));
        model.weight_per_length = (mass - at_one_place) * GRAVITY / bed.length;
        model.point_loads = headstock
            .iter()
            .map(|headstock| PointLoad {
                place: place(headstock.at, 0.0),
                force: at_one_place * GRAVITY,
            })
            .collect();
        model
    }

    /// The same with some mass where none is given: enough for shares of it.
    pub(crate) fn weighed(survey: &Survey, reaches: &Reaches) -> Self {
        let mut weighed = survey.clone();
        let bed = &survey.bed;
        weighed
            .machine
            .mass
            .get_or_insert(SUPPOSED_MASS * bed.length * bed.way_spacing);
        if survey.machine.mass.is_none() {
            weighed.machine.headstock = None;
        }
        Self::from_survey(&weighed, reaches)
    }
}

impl BedModel {
    /// The same bed with anchors that pull its feet down.
    #[must_use]
    pub fn with_anchors(&self) -> Self {
        let mut held = self.clone();
        for foot in &mut held.feet {
            foot.holds_down = true;
        }
        held
    }
}

/// Bending stiffness EI of a cast-iron bed, N m², from the mass of the machine, kg, its length and way
/// spacing, m. Order of magnitude, common practice, no source.
///
/// The bed is 0.3 of the mass, so its section is `A = 0.3 mass / (length density)`, its radius of gyration
/// 0.35 of the way spacing, and `EI = E A r²`, with E 1.1e11 Pa and 7200 kg/m³.
///
/// ```
/// use quarterturn::response::survey_bed::bending_stiffness_of;
/// // 3100 kg over 2.9 m: 0.0445 m² of iron with a radius of gyration of 0.133 m.
/// let stiffness = bending_stiffness_of(3100.0, 2.9, 0.38);
/// assert!((stiffness / 8.67e7 - 1.0).abs() < 0.01);
/// ```
pub fn bending_stiffness_of(mass: f64, length: f64, way_spacing: f64) -> f64 {
    let section = BED_SHARE * mass / (length * DENSITY);
    let gyration = GYRATION_SHARE * way_spacing;
    YOUNGS_MODULUS * section * gyration * gyration
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::{Aim, Bed, Clockwise, Foot, LengthUnit, Limits, Machine, PointMass, Side};
    use std::collections::BTreeMap;

    /// Pairs of feet `half` to either side, a pitch apart from `first` on.
    fn pairs(count: usize, first: f64, pitch: f64, half: f64) -> Vec<Place> {
        (0..count)
            .flat_map(|pair| [half, -half].map(|across| (first + pitch * pair as f64, across)))
            .map(|(at, across)| Place { at, across })
            .collect()
    }

    /// A lathe of 2.9 m on four pairs of feet, as a survey has it.
    fn survey(machine: Machine) -> Survey {
        let foot = |place: Place| Foot {
            name: String::new(),
            side: if place.across > 0.0 {
                Side::Front
            } else {
                Side::Rear
            },
            at: place.at,
            across: place.across,
            lift_per_turn: 0.0015,
            clockwise: Clockwise::Raises,
            smallest_turn: 0.25,
            lowest_turns: None,
            highest_turns: None,
            kind: None,
            hold_down: None,
            lock_nut: None,
        };
        Survey {
            units: LengthUnit::Millimetre,
            machine,
            bed: Bed {
                length: 2.9,
                way_spacing: 0.38,
                held_down: Some(false),
                free: [0.0, 2.9],
            },
            feet: pairs(4, 0.12, 0.86, 0.18).into_iter().map(foot).collect(),
            levels: BTreeMap::new(),
            limits: Limits::default(),
            aim: Aim::default(),
            passes: vec![],
            cuts: vec![],
            faces: vec![],
        }
    }

    #[test]
    fn a_survey_without_masses_makes_a_weightless_bed() {
        let survey = survey(Machine {
            headstock: Some(PointMass {
                mass: 700.0,
                at: 0.4,
            }),
            ..Machine::default()
        });
        let reaches = Reaches::usual(&survey);
        assert!((reaches.bending - 0.86).abs() < 1e-12 && (reaches.torsion - 0.602).abs() < 1e-12);
        let bed = BedModel::from_survey(&survey, &reaches);
        assert!(bed.weight() == 0.0);
        assert!(
            bed.feet
                .iter()
                .all(|foot| (foot.stiffness - 1.0).abs() < 1e-15 && !foot.holds_down)
        );
        assert_eq!(
            bed.feet[3].place,
            Place {
                at: 0.12 + 0.86,
                across: -0.18
            }
        );
        // A foundation of 2/0.86 under a reach of 0.86 m: EI = 2 0.86³ / 4.
        assert!((bed.bending_stiffness - 0.86_f64.powi(3) / 2.0).abs() < 1e-12);
        assert!((bed.torsion_stiffness - 2.0 * 0.18_f64.powi(2) * 0.86 * 0.49).abs() < 1e-12);
    }

    #[test]
    fn masses_give_weight_and_stiffness() {
        let survey = survey(Machine {
            mass: Some(3100.0),
            headstock: Some(PointMass {
                mass: 700.0,
                at: 0.4,
            }),
            ..Machine::default()
        });
        let reaches = Reaches::usual(&survey);
        let bed = BedModel::from_survey(&survey, &reaches);
        assert!((bed.weight() - 3100.0 * GRAVITY).abs() < 1e-9);
        assert!((bed.point_loads[0].force - 700.0 * GRAVITY).abs() < 1e-9);
        let got = Reaches::of(&bed);
        assert!((got.bending - reaches.bending).abs() < 1e-12);
        assert!((got.torsion - reaches.torsion).abs() < 1e-12);
        // Screws on plates and grout: 1e8 to 1e9 N/m, squeezed by some hundredths of a millimetre.
        assert!(
            (1e8..1e9).contains(&bed.feet[0].stiffness),
            "{:?}",
            bed.feet[0]
        );
    }
}
