//! The made-up casting on its feet: not the planner's beam.
//!
//! A planner cuts the bed into elements and knows bending and twist apart. This one is worked out by the unit-load
//! theorem instead (Castigliano; Mohr's integrals), with what real castings have beside: shear, ribs that twist a bed
//! when it bends, and a section that changes along the bed. Clamped at the headstock end, the height at `(x, y)` under a
//! force of 1 N at `(a, b)` is
//!
//! ```text
//! f = ∫ m·S·m' + v v'/kGA ds,   m = (x - s, y),  m' = (a - s, b),   0 < s < min(x, a)
//! ```
//!
//! with `S` the inverse of `[EI C; C GJ]`: the strain energy per length is `(EI w''² + 2 C w'' phi' + GJ phi'²)/2`. On
//! its feet the bed also moves as one, by a height, a tilt and a roll, and the forces of the feet balance its weight.

use nalgebra::{DMatrix, DVector, Vector3};

use crate::response::{BedModel, Place};

/// Stiffness of a spring that holds the bed where it is while the feet that carry are looked for, as a share of the feet's.
/// It keeps a bed on two feet from having no answer, and is left out as soon as three are found.
const STEADYING: f64 = 1e-9;

/// What feet may leave unbalanced, as a share of the weight, in a bed that stands.
const BALANCED: f64 = 1e-6;

/// Exchanges in which all feet that are wrong change at once, for every foot; after them one at a time.
const EXCHANGES_AT_ONCE: usize = 3;

/// Exchanges of one foot at a time, for every foot, after which the bed counts as tipping.
const EXCHANGES: usize = 100;

/// What a casting is beside what a planner thinks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ribs {
    /// Shear stiffness kGA, N; infinite for none.
    pub shear: f64,
    /// Coupling of bending and twist, `C / sqrt(EI GJ)`, between -1 and 1.
    pub coupling: f64,
    /// Factor of EI, GJ and C in the half towards the tailstock.
    pub tail: f64,
}

impl Ribs {
    /// As a planner assumes.
    pub const NONE: Self = Self {
        shear: f64::INFINITY,
        coupling: 0.0,
        tail: 1.0,
    };
}

/// A stretch of even section.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Section {
    from: f64,
    to: f64,
    /// The inverse of `[EI C; C GJ]`: bending, both, torsion.
    compliance: [f64; 3],
    /// 1 / kGA.
    shear: f64,
}

/// A casting on its feet.
#[derive(Debug, Clone, PartialEq)]
pub struct Casting {
    model: BedModel,
    sections: Vec<Section>,
    /// What a force at a foot (column) does to the height at a foot (row) of the clamped bed, m/N.
    flexibility: DMatrix<f64>,
    /// Height of the clamped bed at each foot under its weight, m.
    sag: DVector<f64>,
    /// Weight, and its moments about the headstock end and the centre line, N and N m.
    weight: Vector3<f64>,
}

/// How a casting stands on its feet.
#[derive(Debug, Clone, PartialEq)]
pub struct Stance {
    /// Force of each foot on the bed, N, upwards positive.
    pub forces: Vec<f64>,
    /// Whether each foot carries or holds.
    pub carries: Vec<bool>,
    /// Height, tilt and roll of the headstock end, m, m/m, m/m.
    motion: Vector3<f64>,
}

impl Stance {
    /// Feet that carry nothing.
    pub fn hanging(&self) -> impl Iterator<Item = usize> {
        (0..self.carries.len()).filter(|&foot| !self.carries[foot])
    }
}

impl Casting {
    /// The casting of this model and these ribs.
    pub fn new(model: BedModel, ribs: &Ribs) -> Self {
        let sections = sections(&model, ribs);
        let places: Vec<Place> = model.feet.iter().map(|foot| foot.place).collect();
        let flexibility = DMatrix::from_fn(places.len(), places.len(), |row, column| {
            flexibility(&sections, places[row], places[column])
        });
        let mut casting = Self {
            sag: DVector::zeros(places.len()),
            weight: weight(&model),
            model,
            sections,
            flexibility,
        };
        casting.sag =
            DVector::from_iterator(places.len(), places.iter().map(|place| casting.sag(*place)));
        casting
    }

    /// The beam that it would be without ribs.
    pub fn model(&self) -> &BedModel {
        &self.model
    }

    /// How the bed stands with its feet lifted by `lifts`, m; `Err` with the force that is not balanced, N, when it
    /// tips.
    ///
    /// Which feet carry is found by block pivoting, and where that goes in circles by changing the first wrong foot alone,
    /// which ends (Murty, Note on a Bard-type scheme for solving the complementarity problem, Opsearch 11, 1974, from memory).
    pub fn stand(&self, lifts: &[f64]) -> Result<Stance, f64> {
        let feet = self.model.feet.len();
        let mut carries = vec![true; feet];
        for exchange in 0..(EXCHANGES_AT_ONCE + EXCHANGES) * feet {
            let (forces, motion) = self.on(&carries, lifts, STEADYING);
            let heights = &self.flexibility * &forces + &self.sag;
            let wrong = |foot: &usize| {
                let foot = *foot;
                let gap =
                    heights[foot] + rigid(self.model.feet[foot].place).dot(&motion) - lifts[foot];
                !self.model.feet[foot].holds_down
                    && if carries[foot] {
                        forces[foot] <= 0.0
                    } else {
                        gap < 0.0
                    }
            };
            let wrong: Vec<usize> = (0..feet).filter(wrong).collect();
            let Some(first) = wrong.first() else {
                return self.settled(carries, lifts);
            };
            let change = if exchange < EXCHANGES_AT_ONCE * feet {
                &wrong[..]
            } else {
                &[*first]
            };
            for &foot in change {
                carries[foot] = !carries[foot];
            }
        }
        Err(self.weight[0])
    }

    /// The stance on the feet that carry, without the spring that found them where three do.
    fn settled(&self, carries: Vec<bool>, lifts: &[f64]) -> Result<Stance, f64> {
        let (mut forces, mut motion) = self.on(&carries, lifts, 0.0);
        let stands = |forces: &DVector<f64>| {
            let sound = forces
                .iter()
                .zip(&self.model.feet)
                .all(|(force, foot)| force.is_finite() && (foot.holds_down || *force >= 0.0));
            sound.then(|| self.unbalanced(forces))
        };
        let scale = self.weight[0].max(forces.amax());
        if stands(&forces).is_none_or(|unbalanced| unbalanced > BALANCED * scale) {
            (forces, motion) = self.on(&carries, lifts, STEADYING);
            let unbalanced = self.unbalanced(&forces);
            if unbalanced > BALANCED * self.weight[0].max(forces.amax()) {
                return Err(unbalanced);
            }
        }
        Ok(Stance {
            forces: forces.iter().copied().collect(),
            carries,
            motion,
        })
    }

    /// Forces of the feet and motion of the bed when these feet carry.
    fn on(&self, carries: &[bool], lifts: &[f64], steadying: f64) -> (DVector<f64>, Vector3<f64>) {
        let on: Vec<usize> = (0..carries.len()).filter(|&foot| carries[foot]).collect();
        let count = on.len();
        // Forces are counted in what the mean foot gives to a metre, so that all entries are about 1.
        let stiffness = self
            .model
            .feet
            .iter()
            .map(|foot| foot.stiffness)
            .sum::<f64>()
            / self.model.feet.len() as f64;
        let mut system = DMatrix::zeros(count + 3, count + 3);
        let mut right = DVector::zeros(count + 3);
        for (row, &foot) in on.iter().enumerate() {
            let support = &self.model.feet[foot];
            for (column, &other) in on.iter().enumerate() {
                system[(row, column)] = stiffness * self.flexibility[(foot, other)];
            }
            system[(row, row)] += stiffness / support.stiffness;
            for (axis, arm) in rigid(support.place).iter().enumerate() {
                system[(row, count + axis)] = *arm;
                system[(count + axis, row)] = *arm;
            }
            right[row] = lifts[foot] - self.sag[foot];
        }
        for axis in 0..3 {
            system[(count + axis, count + axis)] = -steadying;
            right[count + axis] = self.weight[axis] / stiffness;
        }
        let solved = system
            .lu()
            .solve(&right)
            .unwrap_or_else(|| DVector::from_element(count + 3, f64::NAN));
        let mut forces = DVector::zeros(carries.len());
        for (row, &foot) in on.iter().enumerate() {
            forces[foot] = stiffness * solved[row];
        }
        (forces, solved.fixed_rows::<3>(count).into_owned())
    }

    /// Force that the feet leave unbalanced, N, or moment divided by the bed's length.
    fn unbalanced(&self, forces: &DVector<f64>) -> f64 {
        let mut left = self.weight;
        for (force, foot) in forces.iter().zip(&self.model.feet) {
            left -= *force * rigid(foot.place);
        }
        left[0]
            .abs()
            .max(left[1].abs().max(left[2].abs()) / self.model.length)
    }

    /// Height of the casting at a place, m, in the level of the lifts.
    pub fn height(&self, stance: &Stance, place: Place) -> f64 {
        let pushed: f64 = self
            .model
            .feet
            .iter()
            .zip(&stance.forces)
            .map(|(foot, force)| force * flexibility(&self.sections, place, foot.place))
            .sum();
        rigid(place).dot(&stance.motion) + pushed + self.sag(place)
    }

    /// Height of the clamped bed at a place under its weight, m.
    fn sag(&self, place: Place) -> f64 {
        let even = self.model.weight_per_length;
        let length = self.model.length;
        let of_weight: f64 = self
            .sections
            .iter()
            .map(|section| {
                let [bending, both, _] = section.compliance;
                integral(section.from, section.to.min(place.at), |s| {
                    let shear = even * (length - s);
                    let moment = shear * (length - s) / 2.0;
                    ((place.at - s) * bending + place.across * both) * moment
                        + section.shear * shear
                })
            })
            .sum();
        let of_loads: f64 = self
            .model
            .point_loads
            .iter()
            .map(|load| load.force * flexibility(&self.sections, place, load.place))
            .sum();
        -of_weight - of_loads
    }
}

/// What a motion of the whole bed does to a place: height, tilt, roll.
fn rigid(place: Place) -> Vector3<f64> {
    Vector3::new(1.0, place.at, place.across)
}

/// The weight and its moments.
fn weight(model: &BedModel) -> Vector3<f64> {
    let even = model.weight_per_length * model.length;
    let middle = Place {
        at: model.length / 2.0,
        across: 0.0,
    };
    model
        .point_loads
        .iter()
        .fold(even * rigid(middle), |sum, load| {
            sum + load.force * rigid(load.place)
        })
}

/// The bed from end to end in stretches of even section.
fn sections(model: &BedModel, ribs: &Ribs) -> Vec<Section> {
    let middle = model.length / 2.0;
    let inside = |at: &f64| *at > 0.0 && *at < model.length;
    let mut ends: Vec<f64> = model
        .stretches
        .iter()
        .flat_map(|stretch| [stretch.from, stretch.to])
        .chain([middle])
        .filter(inside)
        .chain([0.0, model.length])
        .collect();
    ends.sort_by(f64::total_cmp);
    ends.dedup();
    let section = |from: f64, to: f64| {
        let at = f64::midpoint(from, to);
        let factor = model
            .stretches
            .iter()
            .filter(|stretch| stretch.from < at && at < stretch.to)
            .map(|stretch| stretch.factor)
            .product::<f64>()
            * if at > middle { ribs.tail } else { 1.0 };
        let [bending, torsion] =
            [model.bending_stiffness, model.torsion_stiffness].map(|of| factor * of);
        let both = ribs.coupling * (bending * torsion).sqrt();
        let determinant = bending * torsion - both * both;
        Section {
            from,
            to,
            compliance: [torsion, -both, bending].map(|of| of / determinant),
            shear: 1.0 / (factor * ribs.shear),
        }
    };
    ends.windows(2)
        .map(|ends| section(ends[0], ends[1]))
        .collect()
}

/// Height at one place of the clamped bed under a force of 1 N at another, m/N (symmetric: Maxwell, Betti).
fn flexibility(sections: &[Section], here: Place, force: Place) -> f64 {
    let end = here.at.min(force.at);
    sections
        .iter()
        .map(|section| {
            let [bending, both, torsion] = section.compliance;
            integral(section.from, section.to.min(end), |s| {
                let (arm, other) = (here.at - s, force.at - s);
                arm * other * bending
                    + (arm * force.across + here.across * other) * both
                    + here.across * force.across * torsion
                    + section.shear
            })
        })
        .sum()
}

/// Integral of a polynomial of the third degree at most; 0 when the ends are the wrong way round (Simpson's rule, exact).
fn integral(from: f64, to: f64, of: impl Fn(f64) -> f64) -> f64 {
    if to <= from {
        return 0.0;
    }
    (to - from) / 6.0 * (of(from) + 4.0 * of(f64::midpoint(from, to)) + of(to))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::response::{PointLoad, Standing, Stretch, Support};
    use proptest::prelude::*;

    const LENGTH: f64 = 3.0;
    const STIFFNESS: f64 = 2e7;

    fn place(at: f64, across: f64) -> Place {
        Place { at, across }
    }

    fn foot(at: f64, across: f64, stiffness: f64) -> Support {
        Support {
            place: place(at, across),
            stiffness,
            holds_down: false,
        }
    }

    /// A bed on feet at both ends that do not give.
    fn on_ends(weight_per_length: f64) -> BedModel {
        BedModel {
            length: LENGTH,
            bending_stiffness: STIFFNESS,
            torsion_stiffness: 4e6,
            feet: [0.0, LENGTH]
                .iter()
                .flat_map(|&at| [foot(at, 0.2, 1e16), foot(at, -0.2, 1e16)])
                .collect(),
            weight_per_length,
            point_loads: vec![],
            stretches: vec![],
        }
    }

    fn stand(casting: &Casting, lifts: &[f64]) -> Stance {
        casting.stand(lifts).expect("the bed stands")
    }

    /// Source: handbooks of mechanics; simply supported beam with shear, P in the middle: PL³/48EI + PL/4kGA.
    #[test]
    fn a_beam_with_shear_sags_as_in_the_handbook() {
        let (force, shear) = (20_000.0, 3e7);
        let mut model = on_ends(0.0);
        model.point_loads = vec![PointLoad {
            place: place(LENGTH / 2.0, 0.0),
            force,
        }];
        let casting = Casting::new(
            model,
            &Ribs {
                shear,
                ..Ribs::NONE
            },
        );
        let got = -casting.height(&stand(&casting, &[0.0; 4]), place(LENGTH / 2.0, 0.0));
        let want = force * LENGTH.powi(3) / (48.0 * STIFFNESS) + force * LENGTH / (4.0 * shear);
        assert!((got / want - 1.0).abs() < 1e-6, "got {got}, want {want}");
    }

    /// Source: superposition; two rigid ends and a spring K in the middle, R (L³/48EI + 1/K) = 5wL⁴/384EI. The more K
    /// the nearer R comes to 5/8 wL of two equal spans (Hicks, Civil Engineering Formulas, table 2.1: 5/4 of one span's).
    #[test]
    fn a_spring_in_the_middle_takes_its_share() {
        let even = 8000.0;
        for stiffness in [1e5, 1e7, 1e9, 1e15] {
            let mut model = on_ends(even);
            model
                .feet
                .extend([0.2, -0.2].map(|across| foot(LENGTH / 2.0, across, stiffness / 2.0)));
            let casting = Casting::new(model, &Ribs::NONE);
            let stance = stand(&casting, &[0.0; 6]);
            let got = stance.forces[4] + stance.forces[5];
            let want = 5.0 * even * LENGTH.powi(4)
                / (384.0 * STIFFNESS)
                / (LENGTH.powi(3) / (48.0 * STIFFNESS) + 1.0 / stiffness);
            assert!(
                (got / want - 1.0).abs() < 1e-6,
                "K {stiffness}: got {got}, want {want}"
            );
            if stiffness > 1e14 {
                assert!((got / (0.625 * even * LENGTH) - 1.0).abs() < 1e-4, "{got}");
            }
        }
    }

    /// Derived by hand: clamped at one end and pushed by P at the other, a bed with coupling turns there by
    /// `-C/(EI GJ - C²) P L²/2`, and without coupling not at all.
    #[test]
    fn ribs_twist_a_bed_that_bends() {
        for coupling in [0.0, 0.3, -0.5] {
            let ribs = Ribs {
                coupling,
                ..Ribs::NONE
            };
            let sections = sections(&on_ends(0.0), &ribs);
            let roll = flexibility(&sections, place(LENGTH, 0.5), place(LENGTH, 0.0))
                - flexibility(&sections, place(LENGTH, -0.5), place(LENGTH, 0.0));
            let both = coupling * (STIFFNESS * 4e6_f64).sqrt();
            let want = -both / (STIFFNESS * 4e6 - both * both) * LENGTH * LENGTH / 2.0;
            assert!(
                (roll - want).abs() < 1e-12 * want.abs().max(1e-9),
                "got {roll}, want {want}"
            );
        }
    }

    #[test]
    fn a_headstock_outside_the_feet_tips_the_bed() {
        let mut model = on_ends(2000.0);
        for foot in &mut model.feet {
            foot.place.at += 0.5;
        }
        model.length = LENGTH + 0.5;
        model.point_loads = vec![PointLoad {
            place: place(0.1, 0.0),
            force: 50_000.0,
        }];
        // Moment about the first feet: 50 kN at 0.4 m against 7 kN at 1.25 m.
        assert!(Casting::new(model, &Ribs::NONE).stand(&[0.0; 4]).is_err());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        /// Second route: the finite elements and Newton steps of the planner's model, for a bed without ribs.
        #[test]
        fn without_ribs_it_is_the_planners_bed(
            lifts in prop::collection::vec(-3e-4..3e-4, 10),
            bending in 6.5..8.5,
            torsion in 6.0..7.5,
            held in prop::bool::ANY,
            stiffer in 1.0..3.0,
        ) {
            let mut model = on_ends(9000.0);
            model.bending_stiffness = f64::powf(10.0, bending);
            model.torsion_stiffness = f64::powf(10.0, torsion);
            model.feet = (0..5)
                .flat_map(|pair| [0.2, -0.2].map(|across| foot(0.2 + 0.65 * f64::from(pair), across, 2e8)))
                .collect();
            for foot in &mut model.feet {
                foot.holds_down = held;
            }
            model.point_loads = vec![PointLoad { place: place(0.4, 0.05), force: 7000.0 }];
            model.stretches = vec![Stretch { from: 0.0, to: 0.8, factor: stiffer }];
            let response = model.response().unwrap();
            let Standing::Stands(want) = response.standing(&lifts) else { panic!("it stands") };
            let casting = Casting::new(model, &Ribs::NONE);
            let got = stand(&casting, &lifts);
            let places: Vec<Place> = (0..7).map(|k| place(0.5 * f64::from(k), 0.19)).collect();
            for (got, want) in got.forces.iter().zip(&want.forces) {
                prop_assert!((got - want).abs() < 0.03, "force {got}, want {want}");
            }
            for (place, want) in places.iter().zip(response.heights(&want, &places)) {
                let got = casting.height(&got, *place);
                prop_assert!((got - want).abs() < 1e-10, "height {got}, want {want}");
            }
        }

        /// Maxwell and Betti: a force here moves there what a force there moves here.
        #[test]
        fn flexibility_is_mutual(
            places in prop::array::uniform2((0.0..3.0, -0.5..0.5)),
            coupling in -0.9..0.9,
            tail in 0.5..2.0,
        ) {
            let sections = sections(&on_ends(0.0), &Ribs { shear: 1e7, coupling, tail });
            let [one, other] = places.map(|(at, across)| place(at, across));
            let (there, back) = (flexibility(&sections, one, other), flexibility(&sections, other, one));
            prop_assert!((there - back).abs() <= 1e-12 * there.abs(), "{there} {back}");
        }
    }
}
