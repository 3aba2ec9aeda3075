//! What every foot carries before and after its turns.
//!
//! How much a foot carries follows from how high it stands beside the others to a few micrometres: on a
//! bed with EI 1e8 N m² and usual feet 0.86 m apart, 7 um (16 um at an end) are a thousand newtons. No
//! level shows that under worn ways, so `before` is what the caller believes, not what a survey proves; the change
//! from before to after is as good as the stiffnesses.

use super::Place;
use super::contact::{Stance, Standing};
use super::linked::BedResponse;

/// Loads of all feet before and after a set of lifts.
#[derive(Debug, Clone, PartialEq)]
pub struct FootLoads {
    /// The feet, in their order.
    pub feet: Vec<FootLoad>,
    /// All weight on the feet, N.
    pub weight: f64,
}

/// Load of one foot before and after a set of lifts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FootLoad {
    /// Before.
    pub before: Carried,
    /// After.
    pub after: Carried,
}

/// What a foot carries.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Carried {
    /// Force on the bed, N; negative where the foot pulls down.
    pub force: f64,
    /// Share of the machine's weight.
    pub share: f64,
    /// How far the foot alone could still be lowered before it carries nothing, m; negative by the air
    /// under the bed where it hangs, and where it pulls by what it would have to rise.
    pub margin: f64,
}

/// Why there are no loads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoLoads {
    /// The mass of the machine is not known.
    WeightUnknown,
    /// The feet cannot balance the weight.
    Tips {
        /// Force that is not balanced, N.
        unbalanced: f64,
    },
}

impl FootLoads {
    /// The foot that is nearest to lift-off after the turns, or hangs highest.
    ///
    /// `None` only when there are no feet.
    pub fn nearest_to_lift_off(&self) -> Option<usize> {
        let margin = |foot: &usize| self.feet[*foot].after.margin;
        (0..self.feet.len()).min_by(|a, b| margin(a).total_cmp(&margin(b)))
    }
}

impl BedResponse {
    /// Loads of the feet before and after their lifts change, both m above one level.
    ///
    /// # Panics
    ///
    /// When there are not as many lifts as feet.
    pub fn loads(&self, before: &[f64], after: &[f64]) -> Result<FootLoads, NoLoads> {
        let weight = self.model().weight();
        if weight <= 0.0 {
            return Err(NoLoads::WeightUnknown);
        }
        let before = self.carried(before)?;
        let after = self.carried(after)?;
        let feet = before
            .into_iter()
            .zip(after)
            .map(|(before, after)| FootLoad { before, after })
            .collect();
        Ok(FootLoads { feet, weight })
    }

    fn carried(&self, lifts: &[f64]) -> Result<Vec<Carried>, NoLoads> {
        let stance = match self.standing(lifts) {
            Standing::Stands(stance) => stance,
            Standing::Weightless => return Err(NoLoads::WeightUnknown),
            Standing::Tips { unbalanced } => return Err(NoLoads::Tips { unbalanced }),
        };
        let weight = self.model().weight();
        let margins = self.margins(&stance);
        let carried = stance.forces.iter().zip(margins);
        Ok(carried
            .map(|(&force, margin)| Carried {
                force,
                share: force / weight,
                margin,
            })
            .collect())
    }

    /// A foot that carries `F` and is lowered by `d` carries `F - k (1 - c) d`, `c` its influence on the height
    /// of the bed above itself, as long as the same feet carry.
    fn margins(&self, stance: &Stance) -> Vec<f64> {
        let feet = &self.model().feet;
        let places: Vec<Place> = feet.iter().map(|foot| foot.place).collect();
        let influence = self.influence_of_standing(stance, &places);
        let mut margins: Vec<f64> = (0..feet.len())
            .map(|foot| {
                let stiffness = feet[foot].stiffness * (1.0 - influence[(foot, foot)]);
                stance.forces[foot] / stiffness
            })
            .collect();
        for hanging in &stance.hanging {
            margins[hanging.foot] = 0.0 - hanging.gap;
        }
        margins
    }
}

#[cfg(test)]
mod tests {
    use super::super::model::{BedModel, PointLoad, Support};
    use super::super::reach::Reaches;
    use super::*;

    /// A resting bed of 3 m and 20 kN on four pairs of feet, half of it headstock.
    fn bed() -> BedModel {
        let feet: Vec<Place> = [0.15, 1.05, 1.95, 2.85]
            .into_iter()
            .flat_map(|at| [0.2, -0.2].map(|across| Place { at, across }))
            .collect();
        let reaches = Reaches {
            bending: 0.9,
            torsion: 0.6,
        };
        let mut bed = BedModel::weightless(3.0, &feet, false, &reaches).with_bending_stiffness(8e7);
        bed.weight_per_length = 10_000.0 / 3.0;
        bed.point_loads = vec![PointLoad {
            place: Place {
                at: 0.5,
                across: 0.03,
            },
            force: 10_000.0,
        }];
        bed
    }

    #[test]
    fn shares_are_those_of_the_whole_weight() {
        let response = bed().response().unwrap();
        let mut after = [0.0; 8];
        after[2] = 3e-5;
        let loads = response.loads(&[0.0; 8], &after).unwrap();
        assert!((loads.weight - 20_000.0).abs() < 1e-9);
        for side in [|load: &FootLoad| load.before, |load: &FootLoad| load.after] {
            let sum: f64 = loads.feet.iter().map(|load| side(load).share).sum();
            assert!((sum - 1.0).abs() < 1e-12, "{sum}");
        }
        // The raised foot takes over from its neighbours.
        assert!(loads.feet[2].after.force > loads.feet[2].before.force);
        assert!(loads.feet[0].after.force < loads.feet[0].before.force);
        assert!(loads.feet[4].after.force < loads.feet[4].before.force);
    }

    #[test]
    fn a_foot_lowered_by_its_margin_just_carries_nothing() {
        let response = bed().response().unwrap();
        let loads = response.loads(&[0.0; 8], &[0.0; 8]).unwrap();
        let foot = loads.nearest_to_lift_off().unwrap();
        let margin = loads.feet[foot].after.margin;
        assert!(margin > 1e-6, "{margin}");
        let lowered = |share: f64| {
            let mut lifts = [0.0; 8];
            lifts[foot] = -share * margin;
            response.standing(&lifts).stance().unwrap()
        };
        assert!(lowered(0.999).carries(foot));
        assert!(!lowered(1.001).carries(foot));

        let lowered_by_two = |at: usize| {
            let mut lifts = [0.0; 8];
            lifts[at] = -2.0 * margin;
            lifts
        };
        let loads = response.loads(&[0.0; 8], &lowered_by_two(foot)).unwrap();
        assert_eq!(loads.nearest_to_lift_off(), Some(foot));
        let after = loads.feet[foot].after;
        assert!(after.force == 0.0 && after.share == 0.0);
        assert!((after.margin + margin).abs() < 1e-6 * margin, "{after:?}");
    }

    /// The figure in the module's documentation.
    #[test]
    fn a_few_micrometres_are_a_thousand_newtons() {
        let feet: Vec<Place> = [0.16, 1.02, 1.88, 2.74]
            .into_iter()
            .flat_map(|at| [0.18, -0.18].map(|across| Place { at, across }))
            .collect();
        let reaches = Reaches {
            bending: 0.86,
            torsion: 0.6,
        };
        let mut bed = BedModel::weightless(2.9, &feet, true, &reaches).with_bending_stiffness(1e8);
        bed.weight_per_length = 10_000.0;
        let loads = bed.response().unwrap().loads(&[0.0; 8], &[0.0; 8]).unwrap();
        for (foot, want) in [(0, 16e-6), (2, 7e-6)] {
            let Carried { force, margin, .. } = loads.feet[foot].before;
            let got = 1000.0 * margin / force;
            assert!((got - want).abs() < 0.5e-6, "foot {foot}: {got:e}");
        }
    }

    #[test]
    fn without_weight_there_are_no_loads() {
        let mut bed = bed();
        bed.weight_per_length = 0.0;
        bed.point_loads.clear();
        for holds_down in [false, true] {
            for foot in &mut bed.feet {
                foot.holds_down = holds_down;
            }
            let loads = bed.response().unwrap().loads(&[0.0; 8], &[0.0; 8]);
            assert_eq!(loads, Err(NoLoads::WeightUnknown));
        }
    }

    #[test]
    fn a_tipping_bed_has_no_loads() {
        let mut bed: BedModel = bed();
        bed.point_loads[0].place.across = 1.0;
        bed.feet = bed
            .feet
            .iter()
            .map(|foot| Support {
                holds_down: false,
                ..*foot
            })
            .collect();
        let loads = bed.response().unwrap().loads(&[0.0; 8], &[0.0; 8]);
        assert!(matches!(loads, Err(NoLoads::Tips { unbalanced }) if unbalanced > 100.0));
    }
}
