//! The bed as a beam against handbook tables, closed formulas and the laws of statics.

use quarterturn::response::{
    BedModel, BedResponse, Place, PointLoad, Stance, Standing, Stretch, Support,
};

/// Half spacing of the feet in these beams, m.
const HALF_SPACING: f64 = 0.25;

/// Feet this much stiffer than `EI/L³` of a span are rigid supports to within 1e-7.
const RIGID: f64 = 1e9;

fn place(at: f64, across: f64) -> Place {
    Place { at, across }
}

/// Pairs of feet at these places, a front and a rear one at each.
fn pairs(places: &[f64], stiffness: f64, holds_down: bool) -> Vec<Support> {
    places
        .iter()
        .flat_map(|&at| [place(at, HALF_SPACING), place(at, -HALF_SPACING)])
        .map(|place| Support {
            place,
            stiffness,
            holds_down,
        })
        .collect()
}

/// A beam with EI 1 N m² on rigid supports under each end and `spans` equal spans of 1 m.
fn equal_spans(spans: usize, weight_per_length: f64) -> BedModel {
    let places: Vec<f64> = (0..=spans).map(|support| support as f64).collect();
    BedModel {
        length: spans as f64,
        bending_stiffness: 1.0,
        torsion_stiffness: 1.0,
        feet: pairs(&places, RIGID, true),
        weight_per_length,
        point_loads: vec![],
        stretches: vec![],
    }
}

fn stance(bed: &BedResponse, lifts: &[f64]) -> Stance {
    match bed.standing(lifts) {
        Standing::Stands(stance) => stance,
        other => panic!("the bed should stand: {other:?}"),
    }
}

/// Reactions of the pairs, N.
fn reactions(stance: &Stance) -> Vec<f64> {
    stance
        .forces
        .chunks(2)
        .map(|pair| pair[0] + pair[1])
        .collect()
}

/// Bending moment from the forces left of a place, N m, sagging positive.
fn moment(bed: &BedModel, stance: &Stance, at: f64) -> f64 {
    let arm = |place: Place| (at - place.at).max(0.0);
    let feet = bed.feet.iter().zip(&stance.forces);
    let points = bed.point_loads.iter();
    feet.map(|(foot, force)| force * arm(foot.place))
        .sum::<f64>()
        - points.map(|load| load.force * arm(load.place)).sum::<f64>()
        - bed.weight_per_length * at * at / 2.0
}

#[track_caller]
fn assert_near(what: &str, got: f64, want: f64, tolerance: f64, source: &str) {
    assert!(
        (got - want).abs() <= tolerance,
        "{what}: got {got}, want {want}, difference {:e}, tolerance {tolerance:e} ({source})",
        got - want,
    );
}

#[test]
fn equal_spans_under_even_load() {
    let source = "Hicks, Civil Engineering Formulas, table 2.1";
    // Reactions in wL and moments over the inner supports in -wL².
    let table: [(&[f64], &[f64]); 3] = [
        (&[3.0 / 8.0, 5.0 / 4.0, 3.0 / 8.0], &[1.0 / 8.0]),
        (&[0.4, 1.1, 1.1, 0.4], &[0.1, 0.1]),
        (
            &[
                11.0 / 28.0,
                32.0 / 28.0,
                26.0 / 28.0,
                32.0 / 28.0,
                11.0 / 28.0,
            ],
            &[3.0 / 28.0, 2.0 / 28.0, 3.0 / 28.0],
        ),
    ];
    for (wanted_reactions, wanted_moments) in table {
        let spans = wanted_reactions.len() - 1;
        let bed = equal_spans(spans, 1.0);
        let stance = stance(&bed.response().unwrap(), &vec![0.0; bed.feet.len()]);
        for (support, (got, want)) in reactions(&stance).iter().zip(wanted_reactions).enumerate() {
            let what = format!("{spans} spans, reaction {support}");
            assert_near(&what, *got, *want, 1e-7, source);
        }
        for (inner, want) in wanted_moments.iter().enumerate() {
            let what = format!("{spans} spans, moment over inner support {inner}");
            let got = -moment(&bed, &stance, (inner + 1) as f64);
            assert_near(&what, got, *want, 1e-7, source);
        }
    }
}

#[test]
fn unequal_spans_with_a_load_in_the_middle_of_each() {
    let source = "spans 6 and 12 m, three-moment worked example";
    let load = |at| PointLoad {
        place: place(at, 0.0),
        force: 20e3,
    };
    let bed = BedModel {
        length: 18.0,
        bending_stiffness: 1e7,
        torsion_stiffness: 1e7,
        feet: pairs(&[0.0, 6.0, 18.0], RIGID * 1e7 / 216.0, true),
        weight_per_length: 0.0,
        point_loads: vec![load(3.0), load(12.0)],
        stretches: vec![],
    };
    let stance = stance(&bed.response().unwrap(), &[0.0; 6]);
    let got = reactions(&stance);
    assert_near("left reaction, kN", got[0] / 1e3, 3.75, 0.005, source);
    assert_near("middle reaction, kN", got[1] / 1e3, 29.375, 0.0005, source);
    assert_near("right reaction, kN", got[2] / 1e3, 6.875, 0.0005, source);
    let over_support = moment(&bed, &stance, 6.0) / 1e3;
    assert_near("support moment, kNm", over_support, -37.5, 0.05, source);
}

#[test]
fn one_support_sinks() {
    let source = "derived from the three-moment theorem";
    // Spans, the support that sinks by 1, changes of the reactions in EI/L³.
    let table: [(usize, usize, &[f64]); 4] = [
        (2, 1, &[3.0, -6.0, 3.0]),
        (2, 0, &[-1.5, 3.0, -1.5]),
        (3, 0, &[-1.6, 3.6, -2.4, 0.4]),
        (3, 1, &[3.6, -9.6, 8.4, -2.4]),
    ];
    for (spans, sinking, wanted) in table {
        let bed = equal_spans(spans, 0.0);
        let mut lifts = vec![0.0; bed.feet.len()];
        lifts[2 * sinking] = -1.0;
        lifts[2 * sinking + 1] = -1.0;
        let stance = stance(&bed.response().unwrap(), &lifts);
        for (support, (got, want)) in reactions(&stance).iter().zip(wanted).enumerate() {
            let what = format!("{spans} spans, support {sinking} sinks, reaction {support}");
            assert_near(&what, *got, *want, 1e-6, source);
        }
    }
}

#[test]
fn the_middle_foot_lifts_off_at_the_sag_of_the_whole_span() {
    // Source: 5 w L⁴ / (384 EI) with the whole length 2 L is 5 w L⁴ / (24 EI), L one of the two spans.
    let (weight, stiffness, span) = (3000.0, 4e6, 1.3_f64);
    let lift_off = 5.0 * weight * span.powi(4) / (24.0 * stiffness);
    let bed = BedModel {
        length: 2.0 * span,
        bending_stiffness: stiffness,
        torsion_stiffness: 1e6,
        feet: pairs(
            &[0.0, span, 2.0 * span],
            RIGID * stiffness / span.powi(3),
            false,
        ),
        weight_per_length: weight,
        point_loads: vec![],
        stretches: vec![],
    };
    let response = bed.response().unwrap();
    let sunk = |share: f64| {
        let low = -share * lift_off;
        stance(&response, &[0.0, 0.0, low, low, 0.0, 0.0])
    };

    let just_carrying = sunk(0.999_999);
    assert!(just_carrying.hanging.is_empty());
    // The force falls in proportion from 5/4 wL.
    let middle = reactions(&just_carrying)[1];
    assert_near(
        "middle reaction, wL",
        middle / (weight * span),
        1.25e-6,
        1e-7,
        "derived",
    );
    let half_way = reactions(&sunk(0.5))[1];
    assert_near(
        "middle reaction, wL",
        half_way / (weight * span),
        0.625,
        1e-7,
        "derived",
    );

    let hanging = sunk(1.5);
    assert_eq!(hanging.hanging.len(), 2);
    for foot in &hanging.hanging {
        let got = foot.gap / lift_off;
        assert_near("gap in shares of the sag", got, 0.5, 1e-7, "5wL⁴/(24EI)");
    }
    let sag = response.heights(&hanging, &[place(span, 0.0)])[0];
    assert_near("sag", -sag / lift_off, 1.0, 1e-7, "5wL⁴/(24EI)");
    // Between the nodes: w x (l³ - 2 l x² + x³) / (24 EI) for a simple beam of span l (handbook form).
    let whole = 2.0 * span;
    for at in [0.1, 0.77, 1.9] {
        let want =
            weight * at * (whole.powi(3) - 2.0 * whole * at * at + at.powi(3)) / (24.0 * stiffness);
        let got = -response.heights(&hanging, &[place(at, 0.1)])[0];
        assert_near(
            "sag between nodes",
            got / want,
            1.0,
            1e-7,
            "simple beam, even load",
        );
    }
}

#[test]
fn infinite_beam_on_an_even_foundation() {
    // Hetenyi, Beams on Elastic Foundation, from memory: a point load P on an infinite beam gives the
    // deflection P beta / 2k and the moment P / 4 beta under it, beta = (k / 4EI)^(1/4).
    let source = "Hetenyi, from memory";
    let (stiffness, foundation, load) = (2e6_f64, 8e8_f64, 1000.0);
    let beta = (foundation / (4.0 * stiffness)).powf(0.25);
    let pitch = 0.02 / beta;
    let places: Vec<f64> = (0..1001).map(|foot| f64::from(foot) * pitch).collect();
    let middle = places[500];
    let bed = BedModel {
        length: places[1000],
        bending_stiffness: stiffness,
        torsion_stiffness: 1e6,
        feet: pairs(&places, foundation * pitch / 2.0, true),
        weight_per_length: 0.0,
        point_loads: vec![PointLoad {
            place: place(middle, 0.0),
            force: load,
        }],
        stretches: vec![],
    };
    let response = bed.response().unwrap();
    let stance = stance(&response, &vec![0.0; bed.feet.len()]);
    let unit = load * beta / (2.0 * foundation);
    let got = -response.heights(&stance, &[place(middle, 0.0)])[0];
    assert_near("deflection under the load", got / unit, 1.0, 1e-4, source);
    let under = moment(&bed, &stance, middle);
    assert_near(
        "moment under the load",
        under * 4.0 * beta / load,
        1.0,
        1e-3,
        source,
    );
    for turns in [0.5, 1.0, 2.0, 3.0, 5.0_f64] {
        let got = -response.heights(&stance, &[place(middle + turns / beta, 0.0)])[0];
        let want = (-turns).exp() * (turns.cos() + turns.sin());
        assert_near("deflection beside the load", got / unit, want, 1e-4, source);
    }
}

#[test]
fn a_bar_held_at_one_end_and_turned_at_the_other_twists_linearly() {
    // T = GJ dphi/dx (Saint-Venant).
    let (length, stiffness) = (2.5, 3e5);
    let bed = BedModel {
        length,
        bending_stiffness: 1e6,
        torsion_stiffness: stiffness,
        feet: pairs(&[0.0, length], RIGID * stiffness, true),
        weight_per_length: 0.0,
        point_loads: vec![],
        stretches: vec![],
    };
    let response = bed.response().unwrap();
    let roll = 1e-4;
    let lifts = [0.0, 0.0, roll * HALF_SPACING, -roll * HALF_SPACING];
    let stance = stance(&response, &lifts);
    for share in [0.0, 0.2, 0.5, 0.9, 1.0] {
        let ways = [place(share * length, 0.3), place(share * length, -0.3)];
        let heights = response.heights(&stance, &ways);
        let slope = (heights[0] - heights[1]) / 0.6;
        assert_near("cross slope", slope / roll, share, 1e-8, "T = GJ dphi/dx");
    }
    let torque = (stance.forces[2] - stance.forces[3]) * HALF_SPACING;
    let want = stiffness * roll / length;
    assert_near("torque", torque / want, 1.0, 1e-7, "T = GJ dphi/dx");
}

/// A bar and a beam whose middle or end is stiffer.
#[test]
fn a_stiffer_stretch_bends_and_twists_less() {
    let (length, bending, torsion, factor) = (2.0_f64, 1e6, 3e5, 2.5);
    let mut bed = BedModel {
        length,
        bending_stiffness: bending,
        torsion_stiffness: torsion,
        feet: pairs(&[0.0, length], RIGID * bending, true),
        weight_per_length: 0.0,
        point_loads: vec![PointLoad {
            place: place(length / 2.0, 0.0),
            force: 5000.0,
        }],
        stretches: vec![Stretch {
            from: 0.6,
            to: 1.4,
            factor,
        }],
    };
    // Castigliano for a load P in the middle of a simple beam: with m = x/2 up to the middle,
    // deflection = 2 P (integral of m²/EI) = P (a³ + (L³/8 - a³)/factor) / (6 EI), a the soft part.
    let soft = 0.6_f64.powi(3);
    let want = 5000.0 * (soft + (length.powi(3) / 8.0 - soft) / factor) / (6.0 * bending);
    let response = bed.response().unwrap();
    let stance_of_load = stance(&response, &[0.0; 4]);
    let got = -response.heights(&stance_of_load, &[place(length / 2.0, 0.0)])[0];
    assert_near("deflection", got / want, 1.0, 1e-7, "Castigliano");

    // A torque twists each part in inverse proportion to its GJ.
    bed.stretches[0].from = 0.0;
    bed.point_loads.clear();
    let response = bed.response().unwrap();
    let roll = 1e-4;
    let lifts = [0.0, 0.0, roll * HALF_SPACING, -roll * HALF_SPACING];
    let twisted = stance(&response, &lifts);
    let ways = [place(1.4, 0.3), place(1.4, -0.3)];
    let heights = response.heights(&twisted, &ways);
    let slope = (heights[0] - heights[1]) / 0.6;
    let stiff = 1.4 / factor;
    let share = stiff / (stiff + 0.6);
    assert_near("cross slope", slope / roll, share, 1e-7, "T = GJ dphi/dx");
}
