//! What the form of a resting bed tells of the loads of its feet, against loads worked out by hand.

use quarterturn::response::survey_bed::GRAVITY;
use quarterturn::response::{Bearing, History};
use quarterturn::survey;

const LENGTH: f64 = 4.0;
const MASS: f64 = 4000.0;
const HALF_SPACING_OF_FEET: f64 = 0.25;
const BENDING_STIFFNESS: f64 = 4e7;
const TORSION_STIFFNESS: f64 = 5e6;

/// Height of a bed of even weight on three of its ten feet, F1 and F5 at its ends and R3 in the middle, m.
///
/// By hand: about the long axis `R3 = F1 + F5`, so R3 carries half the weight W and the ends a quarter each. Along
/// the bed that is a beam on two ends under its weight, pushed up by P = W/2 in the middle (handbook formulas:
/// `-q x (L³ - 2 L x² + x³) / 24 EI` and `P x (3 L² - 4 x²) / 48 EI` up to the middle); in the middle
/// `-W L³ / 384 EI` is left of `-5 W L³ / 384 EI`. Between an end and the middle it is twisted by the torque `a W / 4`.
fn height(at: f64, across: f64) -> f64 {
    let weight = MASS * GRAVITY;
    let x = at.min(LENGTH - at);
    let sag = weight / LENGTH * x * (LENGTH.powi(3) - 2.0 * LENGTH * x * x + x.powi(3))
        / (24.0 * BENDING_STIFFNESS);
    let push =
        weight / 2.0 * x * (3.0 * LENGTH * LENGTH - 4.0 * x * x) / (48.0 * BENDING_STIFFNESS);
    let twist = HALF_SPACING_OF_FEET * weight / 4.0 * x / TORSION_STIFFNESS;
    push - sag - across * twist
}

fn survey_text(mass: &str, felt: &str) -> String {
    let division = 0.02e-3;
    let reading = |slope: f64, [positive, negative]: [char; 2]| {
        let letter = if slope < 0.0 { negative } else { positive };
        format!("\"{:.2}{letter}\"", (slope / division).abs())
    };
    let stations = || (0..20).map(|k| 0.1 + 0.2 * f64::from(k));
    let (half, base) = (0.2, 0.2);
    let line = |slope: &dyn Fn(f64) -> f64, letters| {
        let readings: Vec<String> = stations().map(|at| reading(slope(at), letters)).collect();
        readings.join(", ")
    };
    let cross = line(
        &|at| (height(at, half) - height(at, -half)) / (2.0 * half),
        ['F', 'R'],
    );
    let along = |across: f64| {
        let rise = move |at: f64| {
            (height(at + base / 2.0, across) - height(at - base / 2.0, across)) / base
        };
        line(&rise, ['T', 'H'])
    };
    let at: Vec<String> = stations().map(|at| format!("{:.0}", at * 1e3)).collect();
    format!(
        "format = 1\n[machine]\n{mass}\n[bed]\nlength = 4000\nway_spacing = 400\nheld_down = false\n\
         [feet]\nat = [0, 1000, 2000, 3000, 4000]\nspacing = 500\nlift_per_turn = 1.5\n\
         [level.fine]\ndivision = \"0.02 mm/m\"\nbase = 200\nrepeat = 0.05\n\
         [[pass]]\nstations = [{}]\ncross = [{cross}]\nfront = [{}]\nrear = [{}]\n{felt}\n",
        at.join(", "),
        along(half),
        along(-half),
    )
}

fn bearing(mass: &str, felt: &str) -> Bearing {
    let survey = survey::read(&survey_text(mass, felt)).expect("a survey");
    let history = History::of(&survey, 0).expect("learned");
    history.bearing().expect("it rests").clone()
}

/// Shares of the weight in the order F1, R1, F2 ...
fn shares(bearing: &Bearing) -> Vec<f64> {
    let weight = bearing.model.weight();
    bearing.forces.iter().map(|force| force / weight).collect()
}

const BY_HAND: [f64; 10] = [0.25, 0.0, 0.0, 0.0, 0.0, 0.5, 0.0, 0.0, 0.25, 0.0];

fn in_order(shares: &[f64], survey: &str) -> Vec<f64> {
    let survey = survey::read(survey).expect("a survey");
    ["F1", "R1", "F2", "R2", "F3", "R3", "F4", "R4", "F5", "R5"]
        .map(|name| {
            let feet = &mut survey.feet.iter();
            shares[feet.position(|foot| foot.name == name).expect("a foot")]
        })
        .to_vec()
}

const HANGING: &str = r#"hanging = ["R1", "F2", "R2", "F3", "F4", "R4", "R5"]"#;

/// Three supports carry ten feet: found from the form, with what a hand felt, whatever is thought of the stiffness before.
#[test]
fn three_feet_of_ten_carry() {
    let found = bearing("mass = 4000", HANGING);
    let got = in_order(&shares(&found), &survey_text("", ""));
    for (got, want) in got.iter().zip(BY_HAND) {
        assert!((got - want).abs() < 0.03, "{got:.3}, by hand {want}");
    }
    let [bending, torsion] = [
        found.model.bending_stiffness / BENDING_STIFFNESS,
        found.model.torsion_stiffness / TORSION_STIFFNESS,
    ];
    assert!(
        (bending.ln().abs()) < 0.15,
        "EI {bending:.2} of the true one"
    );
    assert!(
        (torsion.ln().abs()) < 0.15,
        "GJ {torsion:.2} of the true one"
    );
}

/// The same from the form alone, less well.
#[test]
fn the_form_alone_tells_which_feet_carry() {
    let got = in_order(&shares(&bearing("mass = 4000", "")), &survey_text("", ""));
    for (got, want) in got.iter().zip(BY_HAND) {
        assert!((got - want).abs() < 0.12, "{got:.3}, by hand {want}");
    }
}

/// Where no mass is given the shares are those of a bed whose mass is.
#[test]
fn shares_do_not_take_a_mass() {
    let got = in_order(&shares(&bearing("", HANGING)), &survey_text("", ""));
    for (got, want) in got.iter().zip(BY_HAND) {
        assert!((got - want).abs() < 0.03, "{got:.3}, by hand {want}");
    }
}

/// On three supports of a stiff bed a foot beside one of them may as well help it: the form alone leaves that open, a hand does not.
#[test]
fn what_the_form_leaves_open_a_hand_is_asked_for() {
    let open = |felt: &str| {
        let survey = survey::read(&survey_text("mass = 4000", felt)).expect("a survey");
        let plan = quarterturn::plan::plan(&survey, 0).expect("a plan");
        let feel = plan.advice.iter().find_map(|advice| match advice {
            quarterturn::plan::Advice::Feel { foot } => Some(survey.feet[*foot].name.clone()),
            _ => None,
        });
        (feel, plan)
    };
    let (asked, unfelt) = open("");
    let asked = asked.expect("a foot to feel");
    // Without any of the three that carry the bed could not have this form (by hand, see above).
    assert!(!["F1", "R3", "F5"].contains(&asked.as_str()), "{asked}");
    assert_eq!(open(HANGING).0, None);
    // What is turned meanwhile goes the same way, wherever it goes far.
    let known = open(HANGING).1;
    let lifted = |plan: &quarterturn::plan::TurnPlan, foot: usize| -> f64 {
        let lines = plan.lines.iter().filter(|line| line.foot == foot);
        lines.map(|line| line.lift).sum()
    };
    for foot in 0..10 {
        let [meanwhile, then] = [lifted(&unfelt, foot), lifted(&known, foot)];
        let far = meanwhile.abs().min(then.abs()) > 0.1e-3;
        assert!(
            !far || meanwhile * then > 0.0,
            "foot {foot}: {meanwhile}, {then}"
        );
    }
}
