//! Laws that hold for every bed: rigid motions, reciprocity, equilibrium, contact.

use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use quarterturn::response::{
    BedModel, BedResponse, Place, PointLoad, Reaches, Stance, Standing, Stretch, Support,
};

fn place(at: f64, across: f64) -> Place {
    Place { at, across }
}

/// A bed as found on a floor: 1 to 10 m long, 2 to 10 pairs of feet that differ by up to a factor of 3,
/// some a little out of line, one perhaps alone, 1e7 to 1e9 N/m, reaches from half to twice the pitch,
/// a headstock that stiffens the bed up to three times.
fn bed(holds_down: bool) -> impl Strategy<Value = BedModel> {
    let shape = (
        1.0..10.0,
        2_usize..11,
        0.5..2.0,
        0.5..2.0,
        0.0..0.5,
        7.0..9.0_f64,
    );
    let scatter = prop::collection::vec((0.6..1.7, -0.2..0.2), 20);
    let lone = prop::option::of(0.1..0.9);
    (shape, scatter, lone).prop_map(
        move |((length, pairs, bending, torsion, headstock, stiffness), scatter, lone)| {
            let pitch = length / pairs as f64;
            let mut feet: Vec<Place> = (0..pairs)
                .flat_map(|pair| {
                    [0.1, -0.1].map(|across| ((pair as f64 + 0.5) * pitch, across * length))
                })
                .zip(&scatter)
                .map(|((at, across), (_, off))| place(at + off * pitch, across))
                .collect();
            feet.extend(lone.map(|at| place(at * length, 0.05 * length)));
            let reaches = Reaches {
                bending: bending * pitch,
                torsion: torsion * pitch,
            };
            let weight = 8000.0 * length;
            let bed = BedModel::weightless(length, &feet, holds_down, &reaches);
            let scale = 10.0_f64.powf(stiffness);
            let bending_stiffness = scale * bed.bending_stiffness;
            let mut bed = bed.with_bending_stiffness(bending_stiffness);
            for (foot, (factor, _)) in bed.feet.iter_mut().zip(&scatter) {
                foot.stiffness *= factor;
            }
            bed.weight_per_length = (1.0 - headstock) * weight / length;
            bed.point_loads = vec![PointLoad {
                place: place(0.5 * length - 0.3 * length * headstock, 0.01 * length),
                force: headstock * weight,
            }];
            bed.stretches = vec![Stretch {
                from: 0.0,
                to: (0.1 + headstock) * length,
                factor: 1.0 + 4.0 * headstock,
            }];
            bed
        },
    )
}

fn response(bed: &BedModel) -> BedResponse {
    bed.response()
        .expect("the feet of the strategy hold the bed")
}

fn places(length: f64) -> Vec<Place> {
    (0..=12)
        .flat_map(|step| {
            [0.12, -0.12].map(|across| place(f64::from(step) * length / 12.0, across * length))
        })
        .collect()
}

/// Lifts of up to 0.3 mm to either side, enough to make feet of these beds hang.
fn lifts() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(-3e-4..3e-4, 21)
}

/// Forces that lifts make, feet linked, as one dense system of the forces themselves.
///
/// Second route without elements: the deflection of the free beam under unit forces follows from the
/// integrals of the unit-force moments, and the rigid motions from equilibrium.
fn forces_by_flexibility(bed: &BedModel, lifts: &[f64]) -> DVector<f64> {
    let feet: Vec<Support> = bed.feet.clone();
    let count = feet.len();
    let mut system = DMatrix::zeros(count + 3, count + 3);
    let mut right = DVector::zeros(count + 3);
    for (i, a) in feet.iter().enumerate() {
        for (j, b) in feet.iter().enumerate() {
            let (x, y) = (a.place.at, b.place.at);
            // Cantilever from the headstock end: deflection at x by a unit force at y.
            let near = x.min(y);
            let bending = near * near * (3.0 * x.max(y) - near) / (6.0 * bed.bending_stiffness);
            let torsion = near * a.place.across * b.place.across / bed.torsion_stiffness;
            system[(i, j)] = bending + torsion;
        }
        system[(i, i)] += 1.0 / a.stiffness;
        for (mode, value) in [1.0, a.place.at, a.place.across].into_iter().enumerate() {
            system[(i, count + mode)] = value;
            system[(count + mode, i)] = value;
        }
        right[i] = lifts[i];
    }
    system
        .full_piv_lu()
        .solve(&right)
        .expect("regular")
        .rows(0, count)
        .into()
}

fn contact_holds(bed: &BedModel, response: &BedResponse, lifts: &[f64], stance: &Stance) {
    let weight = bed.weight();
    let feet: Vec<Place> = bed.feet.iter().map(|foot| foot.place).collect();
    let heights = response.heights(stance, &feet);
    for (foot, support) in bed.feet.iter().enumerate() {
        let force = stance.forces[foot];
        // What the bed is above the foot, from the heights alone.
        let air = heights[foot] - lifts[foot];
        if let Some(hanging) = stance.hanging.iter().find(|hanging| hanging.foot == foot) {
            assert!(!support.holds_down);
            assert!(!stance.carries(foot));
            assert!(force == 0.0, "{force}");
            assert!(hanging.gap >= 0.0);
            assert!((air - hanging.gap).abs() < 1e-15, "{air:e} {hanging:?}");
        } else {
            assert!(
                support.holds_down || force > 0.0,
                "foot {foot} pulls {force}"
            );
            let want = -support.stiffness * air;
            assert!((force - want).abs() < 1e-9 * weight, "{force} {want}");
        }
    }
}

fn balances(bed: &BedModel, stance: &Stance) {
    let total = bed.weight_per_length * bed.length;
    let loads = bed.point_loads.iter().map(|load| (load.place, load.force));
    let loads: Vec<_> = loads
        .chain([(place(bed.length / 2.0, 0.0), total)])
        .collect();
    let arms: [fn(Place) -> f64; 3] = [|_| 1.0, |place| place.at, |place| place.across];
    for arm in arms {
        let up: f64 = bed
            .feet
            .iter()
            .zip(&stance.forces)
            .map(|(foot, force)| force * arm(foot.place))
            .sum();
        let down: f64 = loads.iter().map(|&(place, force)| force * arm(place)).sum();
        assert!(
            (up - down).abs() < 1e-10 * bed.weight() * bed.length,
            "{up} {down}"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn rigid_motions_are_reproduced(bed in bed(true), sink in -1.0..1.0, tilt in -1.0..1.0, roll in -1.0..1.0) {
        let places = places(bed.length);
        let rigid = |place: &Place| sink + tilt * place.at + roll * place.across;
        let lifts = DVector::from_iterator(bed.feet.len(), bed.feet.iter().map(|foot| rigid(&foot.place)));
        let got = response(&bed).influence(&places) * lifts;
        for (place, got) in places.iter().zip(got.iter()) {
            let want = rigid(place);
            prop_assert!((got - want).abs() < 1e-12 * (1.0 + bed.length), "{got} {want}");
        }
    }

    /// Maxwell-Betti: what a force at one place does at another, that force there does here.
    #[test]
    fn deflections_are_reciprocal(bed in bed(true), here in (0.0..1.0, -0.2..0.2), there in (0.0..1.0, -0.2..0.2)) {
        let ends = [here, there].map(|(at, across)| place(at * bed.length, across));
        let deflection = |load: Place, seen: Place| {
            let mut bed = bed.clone();
            bed.weight_per_length = 0.0;
            bed.point_loads = vec![PointLoad { place: load, force: 1000.0 }];
            let response = response(&bed);
            let stance = response.standing(&vec![0.0; bed.feet.len()]).stance().expect("held down");
            response.heights(&stance, &[seen])[0]
        };
        let (one, other) = (deflection(ends[0], ends[1]), deflection(ends[1], ends[0]));
        let scale = deflection(ends[0], ends[0]).abs().max(deflection(ends[1], ends[1]).abs());
        prop_assert!((one - other).abs() < 1e-10 * scale, "{one:e} {other:e}");
    }

    /// Betti for feet: a metre of lift of one foot makes the force in another that a metre there makes here.
    #[test]
    fn forces_of_lifts_agree_with_the_flexibility_method(bed in bed(true), lifts in lifts()) {
        let mut bed = bed;
        bed.weight_per_length = 0.0;
        bed.point_loads.clear();
        bed.stretches.clear();
        let lifts = &lifts[..bed.feet.len()];
        let want = forces_by_flexibility(&bed, lifts);
        let stance = response(&bed).standing(lifts).stance().expect("held down");
        for (got, want_here) in stance.forces.iter().zip(want.iter()) {
            prop_assert!((got - want_here).abs() < 1e-9 * want.amax(), "{got} {want_here}");
        }
    }

    #[test]
    fn a_resting_bed_keeps_contact_and_equilibrium(bed in bed(false), lifts in lifts()) {
        let lifts = &lifts[..bed.feet.len()];
        let response = response(&bed);
        let standing = response.standing(lifts);
        let Standing::Stands(stance) = standing else {
            return Err(TestCaseError::fail(format!("{standing:?}")));
        };
        contact_holds(&bed, &response, lifts, &stance);
        balances(&bed, &stance);
    }

    #[test]
    fn some_feet_may_hold_and_others_rest(
        bed in bed(false),
        lifts in lifts(),
        holds in prop::collection::vec(any::<bool>(), 21),
    ) {
        let mut bed = bed;
        for (foot, holds_down) in bed.feet.iter_mut().zip(&holds) {
            foot.holds_down = *holds_down;
        }
        let lifts = &lifts[..bed.feet.len()];
        let response = response(&bed);
        let standing = response.standing(lifts);
        let Standing::Stands(stance) = standing else {
            return Err(TestCaseError::fail(format!("{standing:?}")));
        };
        contact_holds(&bed, &response, lifts, &stance);
        balances(&bed, &stance);
    }

    #[test]
    fn the_influence_of_a_standing_bed_is_the_change_of_its_heights(bed in bed(false), lifts in lifts()) {
        let lifts = &lifts[..bed.feet.len()];
        let response = response(&bed);
        let places = places(bed.length);
        let stance = response.standing(lifts).stance().expect("stands");
        let influence = response.influence_of_standing(&stance, &places);
        for hanging in &stance.hanging {
            prop_assert!(stance.rocks || influence.column(hanging.foot).amax() == 0.0);
        }
        // A change that leaves the same feet carrying.
        let small = 1e-9;
        let mut moved = lifts.to_vec();
        for (foot, lift) in moved.iter_mut().enumerate() {
            *lift += small * (foot as f64).sin();
        }
        let after = response.standing(&moved).stance().expect("stands");
        let same = stance.hanging.len() == after.hanging.len()
            && stance.hanging.iter().all(|hanging| !after.carries(hanging.foot));
        prop_assume!(same && !stance.rocks);
        let change = DVector::from_fn(lifts.len(), |foot, _| moved[foot] - lifts[foot]);
        let want = influence * change;
        let before = response.heights(&stance, &places);
        for (index, height) in response.heights(&after, &places).iter().enumerate() {
            let got = height - before[index];
            prop_assert!((got - want[index]).abs() < 1e-3 * small, "{got:e} {:e}", want[index]);
        }
    }

    /// Only a change of level, tilt or roll of the floor: the same forces.
    #[test]
    fn forces_do_not_feel_a_tilted_floor(bed in bed(false), lifts in lifts(), tilt in -1e-3..1e-3) {
        let lifts = &lifts[..bed.feet.len()];
        let tilted: Vec<f64> = bed.feet.iter().zip(lifts)
            .map(|(foot, lift)| lift + tilt * foot.place.at - tilt * foot.place.across + tilt)
            .collect();
        let response = response(&bed);
        let flat = response.standing(lifts).stance().expect("stands");
        let leaning = response.standing(&tilted).stance().expect("stands");
        for (one, other) in flat.forces.iter().zip(&leaning.forces) {
            prop_assert!((one - other).abs() < 1e-9 * bed.weight(), "{one} {other}");
        }
    }
}
