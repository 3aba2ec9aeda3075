//! Limits beside twist, crown and straightness, and figures about what was chosen, on beds known exactly.

use approx::assert_abs_diff_eq;
use quarterturn::geometry::{
    Adjustment, BedShape, Judgement, Particulars, ReferenceLine, Remedy, Subject, Verdict, settling,
};
use quarterturn::plan::{Advice, plan};
use quarterturn::report::draw::profiles::Seen;
use quarterturn::survey::{self, LengthUnit, LocalLimit, Side, Survey};

/// A reading as it stands in the file, to the last digit.
fn reading(divisions: f64, letters: [&str; 2]) -> String {
    let letter = letters[usize::from(divisions < 0.0)];
    format!("\"{}{letter}\"", divisions.abs())
}

/// A bed of 3 m with cross readings every 250 mm and the level end to end along the front way; slopes in mm/m
/// and heights in mm. One division of the level is 0.001 mm/m.
fn bed(cross: impl Fn(f64) -> f64, height: impl Fn(f64) -> f64, rest: &str) -> Survey {
    let across: Vec<f64> = (1..12).map(|k| 0.25 * f64::from(k)).collect();
    let along: Vec<f64> = (0..14).map(|k| 0.2 * f64::from(k) + 0.2).collect();
    let list = |readings: Vec<String>| readings.join(", ");
    let millimetres = |places: &[f64]| places.iter().map(|at| at * 1000.0).collect::<Vec<_>>();
    let text = format!(
        "format = 1\n[bed]\nlength = 3000\nway_spacing = 400\n\
         [feet]\nat = [100, 1000, 2000, 2900]\nlift_per_turn = 1.5\nsmallest_turn = \"1/72\"\n\
         [level.fine]\ndivision = \"0.001 mm/m\"\nbase = 200\nrepeat = 0.3\n{rest}\n\
         [[pass]]\ncross_at = {:?}\ncross = [{}]\nfront_at = {:?}\nfront = [{}]\n",
        millimetres(&across),
        list(
            across
                .iter()
                .map(|at| reading(cross(*at) * 1000.0, ["F", "R"]))
                .collect()
        ),
        millimetres(&along),
        list(
            along
                .iter()
                .map(|at| {
                    let slope = (height(at + 0.1) - height(at - 0.1)) / 0.2;
                    reading(slope * 1000.0, ["T", "H"])
                })
                .collect()
        ),
    );
    survey::read(&text)
        .unwrap_or_else(|mistakes| panic!("{}", survey::render(&mistakes, "survey", &text, false)))
}

fn judged(survey: &Survey) -> (BedShape, Particulars, Judgement) {
    let pass = &survey.passes[0];
    let level = survey.level_of(pass).unwrap();
    let adjustment =
        Adjustment::of(pass, level, survey.bed.length, survey.bed.way_spacing).unwrap();
    let shape = BedShape::of(&adjustment, ReferenceLine::EndPoints);
    let particulars = Particulars::of(&adjustment, &shape, survey);
    let judgement = Judgement::with_particulars(&shape, &particulars, &survey.limits)
        .with_readings_off_scale(&adjustment);
    (shape, particulars, judgement)
}

/// Source of the heights: engineering metrology lecture (Course Hero pgh1bs, slides 13-15), 0 0 1.5 5 4 4 6 um at
/// every 100 mm. Off the line through its ends the middle of three neighbours is -0.75, -1, 2.25, -0.5 and -1 um
/// (computed from these by hand).
#[test]
fn local_straightness_of_the_published_table() {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/demo-data/autocollimator-table.toml"
    );
    let text = std::fs::read_to_string(path).unwrap();
    let limits = "[limits]\nlocal = [{ over = 200, height = 0.001 }, { over = 100, height = 0.001 }]\n[[pass]]";
    let survey = survey::read(&text.replace("[[pass]]", limits)).unwrap();
    let (_, particulars, _) = judged(&survey);
    let [whole, half] = particulars.local.as_slice() else {
        panic!("{:?}", particulars.local);
    };
    assert_abs_diff_eq!(whole.ways[0].departure.value, 2.25e-6, epsilon = 1e-12);
    assert_abs_diff_eq!(whole.ways[0].part[0], 0.2, epsilon = 1e-9);
    assert!(!whole.ways[0].scaled);
    // No three places lie in 100 mm: the parts of 200 mm count for half.
    assert_abs_diff_eq!(half.ways[0].departure.value, 1.125e-6, epsilon = 1e-12);
    assert!(half.ways[0].scaled);
}

#[test]
fn an_even_twist_is_the_same_over_any_metre() {
    let limits = "[limits]\ntwist = \"0.1 mm/m\"\ntwist_per_metre = \"0.02 mm/m\"";
    for (even, want) in [(0.010, Verdict::Inside), (0.030, Verdict::Outside)] {
        let (shape, particulars, judgement) = judged(&bed(|at| even * at, |_| 0.0, limits));
        let over = particulars.twist_per_metre.unwrap();
        assert_abs_diff_eq!(over.value, even * 1e-3, epsilon = 1e-9);
        assert_abs_diff_eq!(
            shape.twist.unwrap().value,
            2.5 * even * 1e-3,
            epsilon = 1e-9
        );
        assert_eq!(judgement.twist_per_metre, Some(want));
        // The limit over the whole bed alone would have let it pass.
        assert_eq!(judgement.twist, Some(Verdict::Inside));
    }
}

/// Two cross readings and nothing else, so that all can be worked out by hand. A reading scatters by 0.3 divisions
/// and is rounded to 0.25: its deviation is √(0.3² + 0.25²/12) = 0.30857 divisions of 0.001 mm/m, that of the
/// difference of two √2 times as much, 0.00043639 mm/m, and 1.95996 of these are 0.0008553.
#[test]
fn a_twist_over_a_metre_is_as_sure_as_its_two_readings() {
    let over = |last: f64, limit: f64| {
        let text = format!(
            "format = 1\n[bed]\nlength = 3000\nway_spacing = 400\n[feet]\nat = [100, 2900]\nlift_per_turn = 1\n\
             [level.fine]\ndivision = \"0.001 mm/m\"\nrepeat = 0.3\n[limits]\n\
             twist_per_metre = \"{limit:.6} mm/m\"\n[[pass]]\ncross_at = [500, {last}]\ncross = [\"2F\", \"22F\"]\n"
        );
        let (_, particulars, judgement) = judged(&survey::read(&text).unwrap());
        let figure = particulars.twist_per_metre.unwrap();
        (figure, judgement.twist_per_metre.unwrap())
    };
    // A change of 20 divisions over a metre; over 1.25 m a metre has 0.8 of it.
    for (last, share) in [(1500.0, 1.0), (1750.0, 0.8)] {
        let (change, reach) = (0.020 * share, 0.000_855_3 * share);
        let (figure, _) = over(last, 0.1);
        assert_abs_diff_eq!(figure.value, change * 1e-3, epsilon = 1e-12);
        // The interval is drawn, and its ends are good to a fiftieth of its width.
        for (end, want) in [(figure.low, change - reach), (figure.high, change + reach)] {
            assert_abs_diff_eq!(end, want * 1e-3, epsilon = 0.04 * reach * 1e-3);
        }
        for (times, want) in [
            (-1.1, Verdict::Outside),
            (-0.9, Verdict::Unsure),
            (0.9, Verdict::Unsure),
            (1.1, Verdict::Inside),
        ] {
            let (figure, verdict) = over(last, change + times * reach);
            assert_eq!(verdict, want, "{last} mm, {times} times: {figure:?}");
        }
    }
}

#[test]
fn a_hollow_hides_in_a_crown_but_not_from_convex_only() {
    let crowned = |at: f64| 0.02 * (1.0 - ((at - 1.5) / 1.4).powi(2));
    let hollowed = |at: f64| crowned(at) - 0.012 * (-((at - 0.4) / 0.15_f64).powi(2)).exp();
    let limits = "[limits]\ncrown = [0, 0.03]\nconvex_only = true";
    let convex = judged(&bed(|_| 0.0, crowned, limits)).2;
    assert_eq!(
        (convex.crown, convex.convex),
        (Some(Verdict::Inside), Some(Verdict::Inside))
    );
    let hollow = judged(&bed(|_| 0.0, hollowed, limits)).2;
    assert_eq!(
        (hollow.crown, hollow.convex),
        (Some(Verdict::Inside), Some(Verdict::Outside))
    );
    assert_eq!(hollow.overall(), Some(Verdict::Outside));
    // A straight way is on its line; nobody can prove on which side.
    let straight = judged(&bed(|_| 0.0, |_| 0.0, limits)).2;
    assert_eq!(straight.convex, Some(Verdict::Unsure));
}

#[test]
fn twist_is_judged_from_the_chosen_one() {
    let limits = "[limits]\ntwist = \"0.04 mm/m\"\n";
    let twisted = |at: f64| 0.02 * at;
    let (shape, _, judgement) = judged(&bed(twisted, |_| 0.0, limits));
    assert_abs_diff_eq!(shape.twist.unwrap().value, 0.05e-3, epsilon = 1e-9);
    assert_eq!(judgement.twist, Some(Verdict::Outside));
    // The same bed, its twist over the 3 m chosen.
    let chosen = bed(
        twisted,
        |_| 0.0,
        &format!("{limits}[aim]\ntwist = \"0.06 mm/m\"\n"),
    );
    let (shape, particulars, judgement) = judged(&chosen);
    assert_abs_diff_eq!(shape.twist.unwrap().value, 0.05e-3, epsilon = 1e-9);
    assert_abs_diff_eq!(
        particulars.twist_from_chosen.unwrap().value,
        0.0,
        epsilon = 1e-9
    );
    assert_eq!(judgement.twist, Some(Verdict::Inside));
    // The plan knows it too, and a straight bed is then to be twisted.
    assert!(plan(&chosen, 0).unwrap().advice.contains(&Advice::Done));
    let straight = bed(
        |_| 0.0,
        |_| 0.0,
        &format!("{limits}[aim]\ntwist = \"0.06 mm/m\"\n"),
    );
    let turns = plan(&straight, 0).unwrap();
    assert!(!turns.advice.contains(&Advice::Done));
    assert!(
        turns.predicted.twist.unwrap().value < 0.04e-3,
        "{:?}",
        turns.predicted
    );
}

#[test]
fn straightness_is_judged_from_the_chosen_crown() {
    let crowned = |at: f64| 0.02 * (1.0 - ((at - 1.5) / 1.4).powi(2));
    let limits = "[limits]\nstraightness = 0.01\n";
    let (shape, _, judgement) = judged(&bed(|_| 0.0, crowned, limits));
    let front = shape.front.unwrap().straightness.unwrap();
    assert_abs_diff_eq!(front.value, 0.02e-3, epsilon = 0.2e-6);
    assert_eq!(judgement.straightness, Some(Verdict::Outside));
    let chosen = format!("{limits}[aim]\ncrown = 0.02\n");
    let (_, particulars, judgement) = judged(&bed(|_| 0.0, crowned, &chosen));
    let (side, figure) = particulars.straightness_from_chosen[0];
    assert!(side == Side::Front && figure.value < 0.2e-6, "{figure:?}");
    assert_eq!(judgement.straightness, Some(Verdict::Inside));
}

/// A way with just the chosen crown runs in the middle of the band that its straightness may use, whatever line
/// its departures are from.
#[test]
fn the_band_that_is_drawn_follows_the_chosen_crown() {
    let crowned = |at: f64| 0.02 * (1.0 - ((at - 1.5) / 1.4).powi(2));
    let rest = "[limits]\nstraightness = 0.01\n[aim]\ncrown = 0.02\n";
    let survey = bed(|_| 0.0, crowned, rest);
    let pass = &survey.passes[0];
    let level = survey.level_of(pass).unwrap();
    let adjustment =
        Adjustment::of(pass, level, survey.bed.length, survey.bed.way_spacing).unwrap();
    for line in [ReferenceLine::EndPoints, ReferenceLine::LeastSquares] {
        let shape = BedShape::of(&adjustment, line);
        let seen = Seen {
            survey: &survey,
            units: LengthUnit::Millimetre,
            shape: &shape,
            before: None,
            expected: None,
        };
        let chart = seen.way(Side::Front).unwrap();
        assert_eq!(chart.limits.len(), 2);
        for point in &chart.traces[0].points {
            let [low, high] = [0, 1].map(|k| chart.limits[k].at(point.x).unwrap());
            // Written to 0.001 mm/m over 200 mm, and drawn in straight pieces of a 48th of the way.
            assert_abs_diff_eq!(low, point.y - 0.005, epsilon = 2e-4);
            assert_abs_diff_eq!(high, point.y + 0.005, epsilon = 2e-4);
        }
        let words = "A crown of 0.02 mm is chosen: two curves 0.01 mm apart";
        assert!(chart.description.contains(words), "{:?}", chart.description);
    }
}

#[test]
fn a_limit_that_nothing_was_read_for_is_not_proven() {
    let limits = "[limits]\ntwist_per_metre = \"0.02 mm/m\"\nlocal = { over = 250, height = 0.005 }\nconvex_only = true";
    let mut survey = bed(|_| 0.0, |_| 0.0, limits);
    survey.passes[0].readings.truncate(1);
    let (_, _, judgement) = judged(&survey);
    assert_eq!(judgement.overall(), None);
    assert!(!judgement.proven(&survey.limits));
}

/// A bed a hair inside or outside of each of its limits: more passes settle every one.
#[test]
fn whatever_is_unsure_comes_with_what_would_settle_it() {
    let crowned = |at: f64| 0.02 * (1.0 - ((at - 1.5) / 1.4).powi(2));
    // 500 mm of a parabola of 0.02 mm over 2.8 m: 0.02 (0.4 / 2.8)² over the 400 mm that the places allow.
    let part = 0.02 * (0.4_f64 / 2.8).powi(2);
    let local = LocalLimit {
        over: 0.5,
        height: (part + 0.0001) / 1000.0,
    };
    let front = Side::Front;
    for (rest, subject) in [
        (
            "[limits]\ntwist = \"0.0104 mm/m\"\n[aim]\ntwist = \"0.048 mm/m\"".to_owned(),
            Subject::Twist,
        ),
        (
            "[limits]\ntwist_per_metre = \"0.0193 mm/m\"".to_owned(),
            Subject::TwistPerMetre,
        ),
        (
            "[limits]\nstraightness = 0.0102\n[aim]\ncrown = 0.01".to_owned(),
            Subject::Straightness(front),
        ),
        (
            format!(
                "[limits]\nlocal = {{ over = 500, height = {} }}",
                local.height * 1000.0
            ),
            Subject::Local(front, local),
        ),
    ] {
        let survey = bed(|at| 0.02 * at, crowned, &rest);
        let (_, _, judgement) = judged(&survey);
        assert_eq!(judgement.overall(), Some(Verdict::Unsure), "{rest}");
        let pass = &survey.passes[0];
        let level = survey.level_of(pass).unwrap();
        let (length, spacing) = (survey.bed.length, survey.bed.way_spacing);
        let adjustment = Adjustment::of(pass, level, length, spacing).unwrap();
        let found = settling(&adjustment, &survey, ReferenceLine::EndPoints);
        assert!(!found.is_empty(), "{rest}");
        for one in &found {
            match (one.subject, subject) {
                (Subject::Local(_, found), Subject::Local(_, want)) => {
                    assert_abs_diff_eq!(found.over, want.over, epsilon = 1e-12);
                }
                (found, want) => assert_eq!(found, want),
            }
        }
        let passes = found
            .iter()
            .find(|one| matches!(one.remedy, Remedy::Passes(_)));
        assert!(passes.is_some_and(|one| one.settles), "{found:?}");
    }
}

/// A straight way is on its line: no reading proves on which side, but a way that stands clear by a little is
/// proven by more of them.
#[test]
fn a_way_that_is_barely_convex_is_proven_by_more_passes() {
    let limits = "[limits]\nconvex_only = true";
    let settled = |crown: f64| {
        let survey = bed(
            |_| 0.0,
            |at| crown * (1.0 - ((at - 1.5) / 1.4).powi(2)),
            limits,
        );
        let pass = &survey.passes[0];
        let level = survey.level_of(pass).unwrap();
        let (length, spacing) = (survey.bed.length, survey.bed.way_spacing);
        let adjustment = Adjustment::of(pass, level, length, spacing).unwrap();
        let found = settling(&adjustment, &survey, ReferenceLine::EndPoints);
        let passes = found
            .into_iter()
            .find(|one| matches!(one.remedy, Remedy::Passes(_)))
            .unwrap();
        assert_eq!(passes.subject, Subject::Convex(Side::Front));
        passes.settles
    };
    assert!(!settled(0.0));
    assert!(settled(0.0003));
}

/// A cross reading off the scale that the others do not reach: the bed is at least so far out there and may be
/// any further, so its limits are not proven kept: nothing is turned, and the bubble is
/// brought back onto the scale by a strip or the coarser level.
/// Read as a number, or left out, it would have been inside.
#[test]
fn nothing_is_proven_by_a_reading_off_the_scale() {
    let survey = |third: &str, last: &str| {
        let text = format!(
            "format = 1\n[bed]\nlength = 2900\nway_spacing = 380\n\
             [feet]\nat = [120, 980, 1840, 2700]\nlift_per_turn = 1.5\n\
             [level.fine]\ndivision = \"0.02 mm/m\"\nrange = 10\n\
             [level.rough]\ndivision = \"0.1 mm/m\"\nrange = 10\n\
             [limits]\ntwist = \"0.1 mm/m\"\n[[pass]]\nlevel = \"fine\"\n\
             cross_at = [150, 650, 1150, 1650, 2150, 2650]\n\
             cross = [\"9F\", \"9.5F\", \"{third}\", \"9F\", \"9F\", \"{last}\"]\n"
        );
        survey::read(&text).unwrap()
    };
    for (third, last, verdict) in [
        ("9.5F", "10F", Verdict::Inside),
        ("9.5F", "-", Verdict::Inside),
        ("9.5F", ">10F", Verdict::Unsure),
        (">10F", ">10F", Verdict::Unsure),
    ] {
        let survey = survey(third, last);
        let (_, _, judgement) = judged(&survey);
        assert_eq!(judgement.twist, Some(verdict), "{third}, {last}");
        let card = plan(&survey, 0).unwrap();
        let inside = verdict == Verdict::Inside;
        assert_eq!(card.advice.contains(&Advice::Done), inside);
        let another_look = |advice: &Advice| {
            matches!(
                advice,
                Advice::CoarserLevel { .. } | Advice::PackLevel { .. }
            )
        };
        assert!(
            card.lines.iter().all(|line| line.lift == 0.0),
            "{third}, {last}"
        );
        assert_eq!(
            card.advice.iter().any(another_look),
            !inside,
            "{:?}",
            card.advice
        );
        // What nobody has seen is read.
        let across = card
            .next_pass
            .map_or_else(Vec::new, |next| next.stations.cross);
        for (entry, at) in [(third, 1.15), (last, 2.65)] {
            if entry == ">10F" {
                assert!(
                    across.iter().any(|place| (place - at).abs() < 1e-9),
                    "{across:?}"
                );
            }
        }
    }
}
