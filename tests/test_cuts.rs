//! Test cuts against the geometry of tapers, on surveys whose bed is known exactly.

use approx::assert_relative_eq;
use quarterturn::cut::conclusion::{Cause, pass_of};
use quarterturn::cut::{ChosenTwist, Conclusion, NoConclusion, NotExplained};
use quarterturn::survey::{self, Survey};

/// A lathe of 3 m with its chuck at 0.5 m, read across every 250 mm; `slope` is its cross slope in mm/m.
fn lathe(centre_height: f64, slope: impl Fn(f64) -> f64, rest: &str) -> Survey {
    let stations: Vec<f64> = (1..12).map(|k| 250.0 * f64::from(k)).collect();
    let cross: Vec<String> = stations
        .iter()
        .map(|at| {
            // A fine level: 0.001 mm/m a division.
            let divisions = slope(at / 1000.0) * 1000.0;
            let letter = if divisions < 0.0 { "R" } else { "F" };
            format!("\"{}{letter}\"", divisions.abs())
        })
        .collect();
    let text = format!(
        "format = 1\n[machine]\ncentre_height = {centre_height}\nchuck_at = 500\nheadstock_length = 600\n\
         [bed]\nlength = 3000\nway_spacing = 400\n[feet]\nat = [100, 1000, 2000, 2900]\nlift_per_turn = 1.5\n\
         [level.fine]\ndivision = \"0.001 mm/m\"\nrepeat = 0.05\n[limits]\ntwist = \"0.04 mm/m\"\n\
         [[pass]]\ntaken = 2026-03-02\nstations = {stations:?}\ncross = [{}]\n{rest}",
        cross.join(", ")
    );
    survey::read(&text)
        .unwrap_or_else(|mistakes| panic!("{}", survey::render(&mistakes, "survey", &text, false)))
}

fn conclusion(survey: &Survey) -> Conclusion {
    Conclusion::of(survey, &survey.cuts[0], None).unwrap()
}

const EVEN_BAR: &str = "[[cut]]\nmicrometer = 0.001\ncollars = [{ from_chuck = 0, diameter = 60 }, \
                        { from_chuck = 1000, diameter = 60 }]";

/// Geometry: twice the centre height times the change of cross slope. 300 mm and 0.02 mm/m give 0.012 mm,
/// 400 mm and 0.04 mm/m give 0.032 mm; front high at the tailstock end cuts smaller there, tool at the front.
#[test]
fn twist_tapers_by_twice_the_centre_height() {
    for (height, twist, want) in [(300.0, 0.02, 0.012e-3), (400.0, 0.04, 0.032e-3)] {
        let even = |at: f64| twist * (at - 0.5);
        let seen = conclusion(&lathe(height, even, EVEN_BAR));
        let explained = seen.explained.unwrap();
        // The bar is 1 m long, so the taper over it is the rate.
        assert_relative_eq!(explained.rate.value, -want, max_relative = 1e-6);
        assert_relative_eq!(
            explained.cross_slope.value,
            twist * 1e-3,
            max_relative = 1e-6
        );
        let rear = EVEN_BAR.replace("micrometer", "tool = \"rear\"\nmicrometer");
        let rear = conclusion(&lathe(height, even, &rear)).explained.unwrap();
        assert_relative_eq!(rear.rate.value, want, max_relative = 1e-6);
    }
}

/// Geometry: a headstock slewed by a changes the diameter by 2 a L over L and looks just like twist.
#[test]
fn a_slewed_headstock_is_told_from_twist() {
    // Twist alone makes it 0.012 mm smaller over 1 m; the bar grows by 0.008 mm: 0.020 mm are the headstock's.
    let grown = EVEN_BAR.replace("1000, diameter = 60 ", "1000, diameter = 60.008 ");
    let seen = conclusion(&lathe(300.0, |at| 0.02 * at, &grown));
    let left = seen.left.unwrap();
    assert_relative_eq!(left.rate.value, 0.020e-3, max_relative = 1e-6);
    assert!(left.is_real);
    let Cause::Headstock {
        to_rear,
        movement,
        chosen,
    } = left.cause
    else {
        panic!("{left:?}");
    };
    assert_relative_eq!(to_rear.value, 0.010e-3, max_relative = 1e-6);
    assert_relative_eq!(movement.unwrap().value, 0.010e-3 * 0.6, max_relative = 1e-6);
    // It would take 0.020 mm over 1 m / (2 x 300 mm) = 0.033 mm/m over 1 m, 0.1 mm/m over the bed: too much.
    let Some(ChosenTwist::SlewHeadstock { twist, .. }) = chosen else {
        panic!("{chosen:?}");
    };
    assert_relative_eq!(twist.value, 0.1e-3, max_relative = 1e-6);
}

#[test]
fn a_small_rest_is_cancelled_by_a_chosen_twist() {
    let grown = EVEN_BAR.replace("1000, diameter = 60 ", "1000, diameter = 60.003 ");
    let survey = lathe(300.0, |_| 0.0, &grown);
    let seen = conclusion(&survey);
    let Cause::Headstock {
        chosen: Some(ChosenTwist::Aim { twist }),
        ..
    } = seen.left.unwrap().cause
    else {
        panic!("{:?}", seen.left);
    };
    // The proof is to twist the bed so and to cut again: the same headstock then turns without taper.
    let twisted = lathe(300.0, |at| twist.value * 1e3 * at / 3.0, EVEN_BAR);
    let again = conclusion(&twisted);
    assert_relative_eq!(
        again.explained.unwrap().rate.value,
        -0.003e-3,
        max_relative = 1e-4
    );
}

#[test]
fn three_collars_tell_a_bent_bed_from_a_barrel() {
    let bar = "[[cut]]\nmicrometer = 0.001\ncollars = [{ from_chuck = 0, diameter = 60 }, \
               { from_chuck = 500, diameter = 60.02 }, { from_chuck = 1000, diameter = 60 }]";
    let even = conclusion(&lathe(300.0, |_| 0.0, bar));
    assert_relative_eq!(
        even.left.unwrap().barrel.unwrap().value,
        0.02e-3,
        max_relative = 1e-6
    );
    // A cross slope that dips by 0.02 mm/m in between makes the middle 0.012 mm thicker.
    let dipped = |at: f64| 0.02 * ((at - 1.0) / 0.5).powi(2);
    let seen = conclusion(&lathe(300.0, dipped, bar));
    let explained = seen.explained.unwrap().barrel.unwrap();
    assert!(
        (explained.value - 0.012e-3).abs() < 0.001e-3,
        "{explained:?}"
    );
}

#[test]
fn nothing_is_concluded_from_a_bar_that_was_held_or_sagged() {
    for (key, why) in [
        ("tailstock_used = true", NoConclusion::TailstockUsed),
        ("sagged = true", NoConclusion::Sagged),
    ] {
        let bar = EVEN_BAR.replace("micrometer", &format!("{key}\nmicrometer"));
        assert_eq!(conclusion(&lathe(300.0, |_| 0.0, &bar)).left, Err(why));
    }
}

#[test]
fn what_is_missing_is_named() {
    let mut survey = lathe(300.0, |_| 0.0, EVEN_BAR);
    survey.machine.chuck_at = None;
    assert_eq!(conclusion(&survey).explained, Err(NotExplained::NoPlace));
    survey.machine.centre_height = None;
    assert_eq!(
        conclusion(&survey).explained,
        Err(NotExplained::NoCentreHeight)
    );
    survey.passes.clear();
    let seen = conclusion(&survey);
    assert_eq!(seen.explained, Err(NotExplained::NoPass));
    assert_eq!(seen.left, Err(NoConclusion::NotExplained));
}

#[test]
fn between_centres_an_even_twist_explains_nothing() {
    let bar = "[[between_centres]]\nlength = 1000\nmicrometer = 0.001\ncollars = [\
               { from_headstock = 100, diameter = 50 }, { from_headstock = 900, diameter = 50.008 }]";
    let seen = conclusion(&lathe(300.0, |at| 0.05 * at, bar));
    assert!(seen.explained.unwrap().rate.value.abs() < 1e-9);
    let Cause::Tailstock { to_rear } = seen.left.unwrap().cause else {
        panic!("{:?}", seen.left);
    };
    // 0.008 mm over 800 mm are 0.010 mm over the bar, half of it is how far its centre stands away.
    assert_relative_eq!(to_rear.value, 0.005e-3, max_relative = 1e-3);
}

#[test]
fn the_uncertainty_is_that_of_bar_and_level_together() {
    let seen = conclusion(&lathe(300.0, |_| 0.0, EVEN_BAR));
    let (bar, bed) = (seen.taper.rate.u95, seen.explained.unwrap().rate.u95);
    assert!(bar > 0.0 && bed > 0.0);
    assert_relative_eq!(
        seen.left.unwrap().rate.u95,
        bar.hypot(bed),
        max_relative = 1e-12
    );
}

#[test]
fn the_bed_is_taken_from_the_pass_that_saw_it() {
    let second = "turned = { F2 = 2 }\n[[pass]]\ntaken = 2026-03-09\nstations = [500, 1500]\ncross = [\"0\", \"0\"]\n";
    let cut = |date: &str| {
        format!(
            "{second}{}",
            EVEN_BAR.replace("[[cut]]", &format!("[[cut]]\n{date}"))
        )
    };
    for (date, want) in [
        ("", Some(1)),
        ("taken = 2026-03-20", Some(1)),
        // Feet were turned after the first pass: whether before the cut, nobody knows; the next pass shows it.
        ("taken = 2026-03-05", Some(1)),
    ] {
        let survey = lathe(300.0, |_| 0.0, &cut(date));
        assert_eq!(pass_of(&survey, &survey.cuts[0]), want, "{date}");
    }
    let turned_last = lathe(
        300.0,
        |_| 0.0,
        &format!("turned = {{ F2 = 2 }}\n{EVEN_BAR}"),
    );
    assert_eq!(pass_of(&turned_last, &turned_last.cuts[0]), None);
}
