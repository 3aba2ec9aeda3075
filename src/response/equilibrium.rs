//! A form of the bed on its way to equilibrium: forces, Newton steps and how far to go along them.

use super::Place;
use super::banded::BandedFactor;
use super::contact::{Hanging, Stance};
use super::linked::BedResponse;
use super::mesh::Spring;

/// Steps whose forces are below this share of the forces on the feet are rounding.
const SETTLED: f64 = 1e-12;

/// A form of the bed on its way to equilibrium.
pub(super) struct State<'a> {
    bed: &'a BedResponse,
    unknowns: Vec<f64>,
    lifts: &'a [f64],
    /// How much each foot is compressed, m; negative where it hangs or pulls.
    squeeze: Vec<f64>,
}

/// A change of the form.
pub(super) struct Step {
    unknowns: Vec<f64>,
    /// How much each foot's place rises, m.
    rise: Vec<f64>,
}

impl<'a> State<'a> {
    pub fn new(bed: &'a BedResponse, unknowns: Vec<f64>, lifts: &'a [f64]) -> Self {
        let squeeze = bed
            .feet
            .iter()
            .zip(lifts)
            .map(|(foot, lift)| lift - foot.row.dot(&unknowns))
            .collect();
        Self {
            bed,
            unknowns,
            lifts,
            squeeze,
        }
    }

    fn holds_down(&self, foot: usize) -> bool {
        self.bed.model.feet[foot].holds_down
    }

    pub fn carries(&self, foot: usize) -> bool {
        self.holds_down(foot) || self.squeeze[foot] > 0.0
    }

    pub fn all_carry(&self) -> bool {
        (0..self.squeeze.len()).all(|foot| self.carries(foot))
    }

    /// Force of a foot on the bed, N.
    fn force(&self, foot: usize) -> f64 {
        if self.carries(foot) {
            self.bed.feet[foot].stiffness * self.squeeze[foot]
        } else {
            0.0
        }
    }

    pub fn sum_of_forces(&self) -> f64 {
        (0..self.squeeze.len())
            .map(|foot| self.force(foot).abs())
            .sum()
    }

    pub fn largest_gap(&self) -> f64 {
        self.squeeze
            .iter()
            .fold(0.0, |gap, squeeze| gap.max(-squeeze))
    }

    /// The step to the minimum of the energy as it is with the feet that carry now.
    pub fn newton_step(&self, factor: &BandedFactor) -> Step {
        let mut unknowns = self.bed.loads.clone();
        for Spring { row, stiffness } in &self.bed.beam {
            row.add_to(&mut unknowns, -stiffness * row.dot(&self.unknowns));
        }
        for (index, foot) in self.bed.feet.iter().enumerate() {
            foot.row.add_to(&mut unknowns, self.force(index));
        }
        factor.solve(&mut unknowns);
        let rise = self
            .bed
            .feet
            .iter()
            .map(|foot| foot.row.dot(&unknowns))
            .collect();
        Step { unknowns, rise }
    }

    pub fn same_feet_carry_after(&self, step: &Step) -> bool {
        self.squeeze
            .iter()
            .zip(&step.rise)
            .enumerate()
            .all(|(foot, (squeeze, rise))| {
                self.holds_down(foot) || (*squeeze > 0.0) == (squeeze - rise > 0.0)
            })
    }

    pub fn go(&mut self, step: &Step, far: f64) {
        for (unknown, change) in self.unknowns.iter_mut().zip(&step.unknowns) {
            *unknown += far * change;
        }
        *self = Self::new(self.bed, std::mem::take(&mut self.unknowns), self.lifts);
    }

    /// Where along the step the energy is least, in steps.
    ///
    /// The slope of the energy along the step is a rising broken line; every free foot that touches or
    /// leaves bends it.
    pub fn search(&self, step: &Step) -> f64 {
        let mut slope = 0.0;
        let mut bend = 0.0;
        for Spring { row, stiffness } in &self.bed.beam {
            let change = row.dot(&step.unknowns);
            slope += stiffness * row.dot(&self.unknowns) * change;
            bend += stiffness * change * change;
        }
        for (load, change) in self.bed.loads.iter().zip(&step.unknowns) {
            slope -= load * change;
        }
        let mut bends = Vec::new();
        for (index, foot) in self.bed.feet.iter().enumerate() {
            let rise = step.rise[index];
            let bend_of_foot = foot.stiffness * rise * rise;
            let carries = self.carries(index);
            if carries {
                slope -= self.force(index) * rise;
                bend += bend_of_foot;
            }
            if self.holds_down(index) || rise == 0.0 {
                continue;
            }
            let distance = self.squeeze[index] / rise;
            if carries && rise > 0.0 {
                bends.push((distance, -bend_of_foot));
            } else if !carries && rise < 0.0 {
                bends.push((distance, bend_of_foot));
            }
        }
        bends.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut from = 0.0;
        for (distance, change) in bends {
            let slope_there = slope + bend * (distance - from);
            if slope_there >= 0.0 {
                break;
            }
            slope = slope_there;
            from = distance;
            bend += change;
        }
        let rest = -slope / bend;
        if rest.is_finite() && rest > 0.0 {
            from + rest
        } else {
            from
        }
    }

    /// Whether this far along the step the forces of the feet change by no more than rounding.
    pub fn is_rounding(&self, step: &Step, far: f64) -> bool {
        let mut largest = 0.0_f64;
        let mut change = 0.0_f64;
        for (index, foot) in self.bed.feet.iter().enumerate() {
            let rise = far * step.rise[index];
            largest = largest.max(self.force(index).abs());
            if self.carries(index) || self.squeeze[index] - rise > 0.0 {
                change = change.max((foot.stiffness * rise).abs());
            }
        }
        change <= SETTLED * largest
    }

    /// Force that the feet leave unbalanced, N, or moment about either axis divided by the bed's length.
    pub fn imbalance(&self) -> f64 {
        let model = &self.bed.model;
        let downwards = model.weight_per_length * model.length;
        let mut sums = [-downwards, -downwards * model.length / 2.0, 0.0];
        let mut add = |place: Place, force: f64| {
            sums[0] += force;
            sums[1] += force * place.at;
            sums[2] += force * place.across;
        };
        for load in &model.point_loads {
            add(load.place, -load.force);
        }
        for (index, foot) in model.feet.iter().enumerate() {
            add(foot.place, self.force(index));
        }
        let moments = sums[1].abs().max(sums[2].abs());
        sums[0].abs().max(moments / model.length)
    }

    pub fn into_stance(self, rocks: bool) -> Stance {
        let feet = 0..self.squeeze.len();
        let hanging = |foot: usize| Hanging {
            foot,
            // Not `-squeeze`, which makes a minus zero of a foot that just touches.
            gap: 0.0 - self.squeeze[foot],
        };
        Stance {
            forces: feet.clone().map(|foot| self.force(foot)).collect(),
            hanging: feet
                .filter(|&foot| !self.carries(foot))
                .map(hanging)
                .collect(),
            rocks,
            unknowns: self.unknowns,
        }
    }
}
