//! A bed whose feet may hang: contact, gravity and lifts.
//!
//! A foot that does not hold down pushes with `F = k max(0, u - h)`, `u` its lift and `h` the height of the
//! bed above it. The bed takes the form of least energy
//!
//! ```text
//! E(v) = 1/2 vᵀ K v - fᵀ v + sum over held 1/2 k (u - h)² + sum over free 1/2 k max(0, u - h)²
//! ```
//!
//! with `v` the unknowns, `K` the beam and `f` its weight. `E` is convex and piecewise quadratic with a
//! continuous slope, so Newton steps with the stiffness of the feet that carry just now, each followed by
//! an exact search along the step, lower `E` every time and end in finitely many steps: close to the
//! minimum every piece has the minimum of its own quadratic in the same point (Sun, On the structure of
//! convex piecewise quadratic functions, J. Optim. Theory Appl. 72, 1992, from memory).

use nalgebra::DMatrix;

use super::Place;
use super::banded::BandedFactor;
use super::equilibrium::State;
use super::linked::{BedResponse, factor};
use super::model::hold;

/// What feet may leave unbalanced, as a share of the forces on them, in a bed that stands.
const BALANCED: f64 = 1e-9;

/// Share of its stiffness that a hanging foot lends to a Newton step when the carrying feet alone would let
/// the bed rock. It steers the step and is not part of the energy, so it changes no force.
const STEADYING: f64 = 1e-6;

/// Steps that even a bed on three feet may take before it counts as unbalanced.
const STEPS_AT_LEAST: usize = 50;

/// Further steps for every foot.
const STEPS_PER_FOOT: usize = 4;

/// How a bed with its weight stands on its lifted feet.
#[derive(Debug, Clone, PartialEq)]
pub enum Standing {
    /// In equilibrium.
    Stands(Stance),
    /// Nothing presses the bed onto feet that only push.
    Weightless,
    /// Feet that only push cannot balance the loads: the bed tips.
    Tips {
        /// Force that is not balanced, N; a moment counts divided by the bed's length.
        unbalanced: f64,
    },
}

/// A bed in equilibrium on its feet.
#[derive(Debug, Clone, PartialEq)]
pub struct Stance {
    /// Force of each foot on the bed, N, upwards positive; negative where a foot pulls down.
    pub forces: Vec<f64>,
    /// Feet that carry nothing, in their order.
    pub hanging: Vec<Hanging>,
    /// Whether the feet that carry leave the bed free to rock. The forces are then certain and the form is
    /// one between the ends of the rocking.
    pub rocks: bool,
    pub(super) unknowns: Vec<f64>,
}

/// A foot that carries nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hanging {
    /// Index of the foot.
    pub foot: usize,
    /// Air between foot and bed, m, never negative.
    pub gap: f64,
}

impl Standing {
    /// The stance, if the bed stands.
    pub fn stance(self) -> Option<Stance> {
        match self {
            Self::Stands(stance) => Some(stance),
            Self::Weightless | Self::Tips { .. } => None,
        }
    }
}

impl Stance {
    /// Whether a foot carries or holds.
    pub fn carries(&self, foot: usize) -> bool {
        self.hanging
            .binary_search_by_key(&foot, |hanging| hanging.foot)
            .is_err()
    }
}

impl BedResponse {
    /// How the bed stands with its feet lifted by `lifts`, m, one for each foot.
    ///
    /// A lift is the height at which a foot just touches the bed without force, above one level for all.
    ///
    /// # Panics
    ///
    /// When there are not as many lifts as feet.
    pub fn standing(&self, lifts: &[f64]) -> Standing {
        assert_eq!(lifts.len(), self.feet.len(), "one lift for each foot");
        let held = self
            .model
            .feet
            .iter()
            .filter(|foot| foot.holds_down)
            .count();
        if held == 0 && self.model.weight() <= 0.0 {
            return Standing::Weightless;
        }
        let mut state = State::new(self, self.all_linked(lifts), lifts);
        if state.all_carry() {
            return Standing::Stands(state.into_stance(false));
        }
        let mut rocks = false;
        for _ in 0..STEPS_AT_LEAST + STEPS_PER_FOOT * self.feet.len() {
            let (factor, steadied) = self.factor_of(|foot| state.carries(foot));
            rocks = steadied;
            let step = state.newton_step(&factor);
            if !steadied && state.same_feet_carry_after(&step) {
                state.go(&step, 1.0);
                break;
            }
            let far = state.search(&step);
            let rounding = state.is_rounding(&step, far);
            state.go(&step, far);
            if rounding || state.largest_gap() > self.model.length {
                break;
            }
        }
        let unbalanced = state.imbalance();
        if unbalanced <= BALANCED * state.sum_of_forces() {
            Standing::Stands(state.into_stance(rocks))
        } else {
            Standing::Tips { unbalanced }
        }
    }

    /// Height of the bed at each place, m, in the level of the lifts.
    pub fn heights(&self, stance: &Stance, places: &[Place]) -> Vec<f64> {
        let sag = self.model.weight_per_length / self.model.bending_stiffness;
        places
            .iter()
            .map(|&place| {
                self.mesh.row(place).dot(&stance.unknowns) + sag * self.mesh.clamped_sag(place.at)
            })
            .collect()
    }

    /// Change of height at each place (rows) per metre of lift of each foot (columns), m/m, for lifts so
    /// small that the same feet go on carrying; a hanging foot moves nothing.
    ///
    /// In a bed that rocks it is the hanging feet that end the rocking, so their columns are not zero.
    pub fn influence_of_standing(&self, stance: &Stance, places: &[Place]) -> DMatrix<f64> {
        if stance.hanging.is_empty() {
            return self.influence(places);
        }
        let (factor, steadied) = self.factor_of(|foot| stance.carries(foot));
        if !steadied {
            return self.influence_through(&factor, places, |foot| stance.carries(foot));
        }
        let mut influence = self.influence_through(&factor, places, |_| true);
        for hanging in &stance.hanging {
            influence.column_mut(hanging.foot).scale_mut(STEADYING);
        }
        influence
    }

    /// The bed on the feet that carry, and whether hanging feet had to steady it.
    fn factor_of(&self, carries: impl Fn(usize) -> bool) -> (BandedFactor, bool) {
        let carrying = (0..self.feet.len())
            .filter(|&foot| carries(foot))
            .map(|foot| self.model.feet[foot].place);
        let steadied = !hold(carrying);
        let share_of_hanging = if steadied { STEADYING } else { 0.0 };
        let share = |foot| if carries(foot) { 1.0 } else { share_of_hanging };
        let factor = factor(&self.mesh, &self.beam, &self.feet, share);
        // Any positive definite matrix makes a step downhill.
        (factor.unwrap_or_else(|| self.linked.clone()), steadied)
    }
}

#[cfg(test)]
mod tests {
    use super::super::model::{BedModel, PointLoad, Support};
    use super::*;

    fn place(at: f64, across: f64) -> Place {
        Place { at, across }
    }

    /// A resting bed of 2 m and 4000 N on two pairs of feet a little in from its ends.
    fn four_feet() -> BedModel {
        let foot = |at, across| Support {
            place: place(at, across),
            stiffness: 1e8,
            holds_down: false,
        };
        BedModel {
            length: 2.0,
            bending_stiffness: 1e7,
            torsion_stiffness: 1e6,
            feet: vec![
                foot(0.2, 0.2),
                foot(0.2, -0.2),
                foot(1.8, 0.2),
                foot(1.8, -0.2),
            ],
            weight_per_length: 2000.0,
            point_loads: vec![],
            stretches: vec![],
        }
    }

    fn standing(bed: &BedModel, lifts: &[f64]) -> Standing {
        bed.response().unwrap().standing(lifts)
    }

    #[test]
    fn a_resting_bed_without_weight_has_no_stance() {
        let mut bed = four_feet();
        bed.weight_per_length = 0.0;
        assert_eq!(standing(&bed, &[1e-3, 0.0, 0.0, 0.0]), Standing::Weightless);
        // Held down, the feet press against each other.
        for foot in &mut bed.feet {
            foot.holds_down = true;
        }
        let stance = standing(&bed, &[1e-3, 0.0, 0.0, 0.0]).stance().unwrap();
        assert!(stance.forces[0] > 0.0 && stance.forces[1] < 0.0);
    }

    #[test]
    fn a_bed_whose_weight_lies_outside_its_feet_tips() {
        let mut bed = four_feet();
        bed.point_loads.push(PointLoad {
            place: place(1.0, 0.5),
            force: 20_000.0,
        });
        // The centre of gravity is 0.417 m to the front of the feet at 0.2 m.
        let Standing::Tips { unbalanced } = standing(&bed, &[0.0; 4]) else {
            panic!("the bed should tip");
        };
        assert!(unbalanced > 100.0, "{unbalanced}");
    }

    #[test]
    fn a_warped_bed_rocks_on_two_feet() {
        let bed = four_feet();
        let response = bed.response().unwrap();
        // F1 and R2 are raised so far that the bed cannot twist to reach the other two.
        let stance = response.standing(&[2e-3, 0.0, 0.0, 2e-3]).stance().unwrap();
        assert!(stance.rocks);
        for (force, want) in stance.forces.iter().zip([2000.0, 0.0, 0.0, 2000.0]) {
            assert!((force - want).abs() < 1e-6, "{:?}", stance.forces);
        }
        assert_eq!(stance.hanging.len(), 2);
        // Lifting everything still lifts everything, and the carrying feet feel what a beam would.
        let places = [place(1.0, 0.0), place(0.2, 0.2), place(0.0, -0.2)];
        let influence = response.influence_of_standing(&stance, &places);
        for row in influence.row_iter() {
            assert!((row.sum() - 1.0).abs() < 1e-9, "{row}");
        }
        assert!((influence[(0, 0)] - 0.5).abs() < 1e-5, "{influence}");
    }

    #[test]
    fn an_uneven_load_ends_the_rocking_on_a_third_foot() {
        let mut bed = four_feet();
        bed.point_loads.push(PointLoad {
            place: place(1.6, 0.1),
            force: 1000.0,
        });
        let stance = standing(&bed, &[2e-3, 0.0, 0.0, 2e-3]).stance().unwrap();
        assert!(!stance.rocks);
        assert_eq!(stance.hanging.len(), 1);
        assert_eq!(stance.hanging[0].foot, 1);
        // Moments about the diagonal from F1 to R2: 1000 N at 0.05 m across of it, the foot F2 at 0.4 m.
        let on_diagonal = |at: f64| 0.2 - 0.4 * (at - 0.2) / 1.6;
        let want = 1000.0 * (0.1 - on_diagonal(1.6)) / (0.2 - on_diagonal(1.8));
        assert!(
            (stance.forces[2] - want).abs() < 1e-6,
            "{:?}",
            stance.forces
        );
    }

    /// On even spans without overhang, more even weight presses every foot harder.
    #[test]
    fn weight_does_not_free_a_foot_of_an_even_bed() {
        let at = [0.0, 1.0, 2.0, 3.0];
        let mut bed = four_feet();
        bed.length = 3.0;
        let foot = bed.feet[0];
        bed.feet = at
            .iter()
            .flat_map(|&at| [place(at, 0.2), place(at, -0.2)])
            .map(|place| Support { place, ..foot })
            .collect();
        let lifts = [0.0, 0.0, -1e-4, -1e-4, 0.0, 0.0, 0.0, 0.0];
        let mut hanging = usize::MAX;
        let mut counts = vec![];
        for step in 1..60 {
            bed.weight_per_length = 100.0 * f64::from(step * step);
            let now = standing(&bed, &lifts).stance().unwrap().hanging.len();
            assert!(now <= hanging, "{now} hang after {hanging}");
            hanging = now;
            counts.push(now);
        }
        assert_eq!(
            (counts[0], hanging),
            (2, 0),
            "the weight should press the pair down"
        );
    }

    #[test]
    fn a_thousand_feet_stand() {
        let mut bed = four_feet();
        bed.length = 400.0;
        let foot = bed.feet[0];
        bed.feet = (0..1000)
            .map(|index: i32| {
                place(
                    0.4 + 0.8 * f64::from(index / 2),
                    if index % 2 == 0 { 0.2 } else { -0.2 },
                )
            })
            .map(|place| Support { place, ..foot })
            .collect();
        let lifts: Vec<f64> = (0..1000)
            .map(|foot| 1e-4 * f64::from(foot * foot).sin())
            .collect();
        let stance = standing(&bed, &lifts).stance().unwrap();
        assert!(stance.hanging.len() > 100, "{}", stance.hanging.len());
        let sum: f64 = stance.forces.iter().sum();
        assert!((sum / bed.weight() - 1.0).abs() < 1e-9, "{sum}");
    }
}
