//! What every foot carries, as a plan tells it.

use quarterturn::plan::{Advice, TurnPlan, plan};
use quarterturn::response::survey_bed::GRAVITY;
use quarterturn::survey::{self, Survey};

/// A resting bed of 3 m and 2400 kg on four pairs of feet, read across and along the front way.
fn bed(mass: &str, cross: [f64; 5]) -> Survey {
    let cross = cross.map(|divisions| {
        let letter = if divisions < 0.0 { "R" } else { "F" };
        format!("\"{}{letter}\"", divisions.abs())
    });
    let text = format!(
        "format = 1\n[machine]\n{mass}\n[bed]\nlength = 3000\nway_spacing = 400\nheld_down = false\n\
         [feet]\nat = [150, 1050, 1950, 2850]\nlift_per_turn = 1.5\nsmallest_turn = \"1/72\"\n\
         [level.fine]\ndivision = \"0.02 mm/m\"\nbase = 200\nrepeat = 0.1\n[limits]\ntwist = \"0.02 mm/m\"\n\
         [[pass]]\nstations = [300, 900, 1500, 2100, 2700]\ncross = [{}]\nfront = [\"0\", \"0\", \"0\", \"0\", \"0\"]\n",
        cross.join(", ")
    );
    survey::read(&text).unwrap()
}

fn planned(survey: &Survey) -> TurnPlan {
    plan(survey, 0).unwrap()
}

#[test]
fn without_a_mass_there_are_no_loads() {
    assert_eq!(planned(&bed("", [0.0; 5])).loads, None);
}

#[test]
fn the_feet_carry_the_machine_before_and_after() {
    let turned = planned(&bed("mass = 2400", [-2.0, -1.0, 0.0, 1.0, 2.0]));
    assert!(turned.lines.iter().any(|line| line.lift != 0.0));
    let loads = turned.loads.unwrap();
    for carried in [
        loads.iter().map(|load| load.before).sum::<f64>(),
        loads.iter().map(|load| load.after).sum::<f64>(),
    ] {
        assert!(
            (carried / (2400.0 * GRAVITY) - 1.0).abs() < 1e-9,
            "{carried}"
        );
    }
    assert!(
        loads
            .iter()
            .any(|load| (load.after - load.before).abs() > 100.0)
    );
}

#[test]
fn a_flat_bed_of_even_weight_is_carried_alike_on_both_sides() {
    let rested = planned(&bed("mass = 2400", [0.0; 5]));
    let loads = rested.loads.unwrap();
    for pair in loads.chunks(2) {
        // The rear way was read over a shorter stretch, so that both are not known alike.
        assert!(
            (pair[0].before - pair[1].before).abs() < 0.01 * pair[0].before,
            "{pair:?}"
        );
        assert!(
            (pair[0].before - pair[0].after).abs() < 1e-9 * pair[0].before,
            "{pair:?}"
        );
    }
    let hangs = |advice: &Advice| matches!(advice, Advice::NearlyHanging { .. });
    assert!(!rested.advice.iter().any(hangs));
}

/// A bed that was read with the front high towards the tailstock stands harder on R1 and F4 than on F1 and R4,
/// and a foot that is raised takes over from the others.
#[test]
fn the_high_corners_carry_more() {
    let turned = planned(&bed("mass = 2400", [-2.0, -1.0, 0.0, 1.0, 2.0]));
    let loads = turned.loads.unwrap();
    let [front_first, rear_first, .., front_last, rear_last] = loads.as_slice() else {
        panic!("{loads:?}");
    };
    assert!(rear_first.before > 1.2 * front_first.before, "{loads:?}");
    assert!(front_last.before > 1.2 * rear_last.before, "{loads:?}");
    // What the twist put on one diagonal, the turns take off it again.
    let diagonal = |side: fn(&quarterturn::plan::FootLoad) -> f64| {
        side(rear_first) + side(front_last) - side(front_first) - side(rear_last)
    };
    assert!(
        diagonal(|load| load.after) < 0.5 * diagonal(|load| load.before),
        "{loads:?}"
    );
}
