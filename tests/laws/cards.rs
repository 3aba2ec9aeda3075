//! What a card may never ask for and never say, from the text of a survey to the plan.

use std::fmt::Write;

use nalgebra::DMatrix;
use quarterturn::plan::{Action, Advice, LARGEST_TRIP, TurnPlan, plan};
use quarterturn::response::History;
use quarterturn::survey::{self, Line, Side};

/// An invented lathe over three rounds.
const LATHE: &str = include_str!("../../demo-data/eight-foot-lathe.toml");

/// The lathe with this line in its last pass.
fn lathe_with(line: &str) -> String {
    format!("{}\n{line}\n", LATHE.trim_end())
}

/// Three supports that are not in line are the fewest that hold a body, and its centre of gravity is over what they span
/// (statics).
#[test]
fn feet_hang_only_where_the_others_carry_the_bed() {
    let refused = |feet: &str| {
        let mistakes = survey::read(&lathe_with(&format!("hanging = [{feet}]")));
        let mistakes = mistakes.err().unwrap_or_default();
        mistakes
            .iter()
            .any(|mistake| mistake.title == "so many feet cannot hang")
    };
    assert!(refused(r#""F1", "R1", "F2", "R2", "F3", "R3", "F4", "R4""#));
    assert!(refused(r#""F1", "R1", "F2", "R2", "F3", "R3""#), "two feet");
    assert!(refused(r#""F1", "F2", "F3", "F4""#), "one side");
    assert!(
        refused(r#""F1", "R1", "F2", "R2""#),
        "all the weight beside them"
    );
    assert!(
        !refused(r#""R1", "F2", "R2", "F3", "F4""#),
        "a diagonal and a third foot"
    );
    assert!(!refused(r#""F2", "R2", "F3", "R3""#));
    assert!(!refused(r#""R2""#));
}

/// The plan after the last pass of a survey.
fn planned(text: &str) -> TurnPlan {
    let survey = survey::read(text)
        .unwrap_or_else(|mistakes| panic!("{}", survey::render(&mistakes, "survey", text, false)));
    plan(&survey, survey.passes.len() - 1).expect("a plan")
}

/// The lathe as it was set down.
fn set_down() -> &'static str {
    LATHE.split("\n[pass.turned]").next().expect("a first pass")
}

/// Most that a foot is turned in one walk, m.
fn most(plan: &TurnPlan) -> f64 {
    plan.lines
        .iter()
        .fold(0.0, |most: f64, line| most.max(line.lift.abs()))
}

/// Half a turn of these screws is 0.75 mm; 0.25 to 0.38 mm at a time is what US Army TM 38-260, 7-5, allows.
#[test]
fn no_foot_goes_further_than_a_walk_allows_however_long_its_steps() {
    for readings in [["9F", "0", "9R"], [">10F", "0", ">10R"], ["3F", "0", "2R"]] {
        let [first, middle, last] = readings;
        let text = format!(
            "format = 1\n[bed]\nlength = 3000\nway_spacing = 400\n[feet]\nat = [200, 1500, 2800]\nlift_per_turn = 1.5\n\
             smallest_turn = \"1/2\"\n[level.plain]\ndivision = \"0.3 mm/m\"\nrange = 10\n[limits]\ntwist = \"0.04 mm/m\"\n\
             [[pass]]\nstations = [200, 1500, 2800]\ncross = [\"{first}\", \"{middle}\", \"{last}\"]\n"
        );
        let plan = planned(&text);
        assert!(
            most(&plan) <= LARGEST_TRIP * (1.0 + 1e-9),
            "{readings:?}: {:?}",
            plan.lines
        );
        // A foot that is only counted is left, and the card says why.
        let counted = plan
            .lines
            .iter()
            .filter(|line| line.lift != 0.0 && line.watch.is_none());
        assert_eq!(counted.count(), 0, "{readings:?}");
    }
    let by_count = planned(
        &LATHE
            .replace("lift_per_turn = 0.5", "lift_per_turn = 3")
            .replace("\"1/24\"", "\"1/4\""),
    );
    let long = |advice: &&Advice| matches!(advice, Advice::StepTooLong { lift, .. } if *lift > LARGEST_TRIP);
    let named = by_count.advice.iter().filter(long).count();
    let left = by_count
        .lines
        .iter()
        .filter(|line| line.action == Action::Leave)
        .count();
    assert!(named <= left, "{:?}", by_count.advice);
}

/// Two stations next to each other say nothing of the other end.
#[test]
fn feet_that_the_readings_do_not_see_are_left() {
    let text = format!(
        "{}\n[[pass]]\nlevel = \"master\"\nstations = [200, 260]\ncross = [\"3F\", \"3.5F\"]\nfront = [\"2H\", \"1H\"]\nrear = [\"1T\", \"1H\"]\n",
        set_down().split("[[pass]]").next().expect("a machine")
    );
    let plan = planned(&text);
    let turned: Vec<usize> = plan
        .lines
        .iter()
        .filter(|line| line.lift != 0.0)
        .map(|line| line.foot)
        .collect();
    // The feet stand 860 mm apart, and the last place that was read is at 360 mm.
    assert!(
        turned.iter().all(|foot| [0, 4].contains(foot)),
        "{turned:?}"
    );
    let unread = plan.advice.iter().find_map(|advice| match advice {
        Advice::Unread { feet } => Some(feet.len()),
        _ => None,
    });
    assert!(unread.is_some_and(|count| count >= 4), "{:?}", plan.advice);
    assert!(!plan.advice.contains(&Advice::Done));
}

/// Where turns would take the level off its scale they are chosen with its scale in mind, and a pass is proposed after them.
#[test]
fn a_bed_that_leans_off_the_scale_gets_turns_and_a_next_pass() {
    let plan = planned(
        "format = 1\n[bed]\nlength = 1700\nway_spacing = 450\nheld_down = true\n[feet]\nat = [120, 880, 1570]\n\
         lift_per_turn = 2.5\nsmallest_turn = \"1/72\"\n[level.fine]\ndivision = \"0.02 mm/m\"\nbase = 200\nrange = 10\n\
         [level.coarse]\ndivision = \"0.1 mm/m\"\nbase = 200\nrange = 25\n[limits]\ntwist = \"0.04 mm/m\"\n\
         crown = [-0.01, 0.025]\n[[pass]]\nlevel = \"coarse\"\ncross_at = [120, 880, 1570]\n\
         front_at = [150, 350, 550, 750, 950, 1150, 1350, 1550]\nrear_at = [150, 350, 550, 750, 950, 1150, 1350, 1550]\n\
         cross = [\">25R\", \">25R\", \">25R\"]\n\
         front = [\"24H\", \"24H\", \"24.5H\", \">25H\", \">25H\", \">25H\", \">25H\", \">25H\"]\n\
         rear = [\">25H\", \">25H\", \">25H\", \">25H\", \">25H\", \">25H\", \">25H\", \">25H\"]\n",
    );
    assert!(!plan.advice.contains(&Advice::Done));
    assert!(plan.next_pass.is_some());
}

/// The bubble of the coarsest level is at the rear end of its scale everywhere, 25 divisions of 0.1 mm/m or more: first a strip is tried.
/// Whoever comes back with the same, strip or no strip, would go round for ever; then the bed is tipped by what it leans at least,
/// 2.5 mm/m over 450 mm, and not bent: every pair by the same.
#[test]
fn a_bed_that_no_look_brings_onto_the_scale_is_tipped() {
    let pass = "[[pass]]\nlevel = \"coarse\"\ncross_at = [120, 880, 1570]\nfront_at = [250, 880, 1450]\n\
                rear_at = [250, 880, 1450]\ncross = [\">25R\", \">25R\", \">25R\"]\nfront = [\"2H\", \"2H\", \"2H\"]\n\
                rear = [\"2H\", \"2H\", \"2H\"]\n";
    for held_down in [true, false] {
        let bed = format!(
            "format = 1\n[bed]\nlength = 1700\nway_spacing = 450\nheld_down = {held_down}\n[feet]\nat = [120, 880, 1570]\n\
             lift_per_turn = 2.5\nsmallest_turn = \"1/72\"\n[level.fine]\ndivision = \"0.02 mm/m\"\nbase = 200\nrange = 10\n\
             [level.coarse]\ndivision = \"0.1 mm/m\"\nbase = 200\nrange = 25\n[limits]\ntwist = \"0.04 mm/m\"\n\
             crown = [-0.01, 0.025]\n"
        );
        let asks_for_a_strip = |plan: &TurnPlan| {
            let mut advice = plan.advice.iter();
            advice.any(|advice| matches!(advice, Advice::PackLevel { .. }))
        };
        let first = planned(&format!("{bed}{pass}"));
        assert!(asks_for_a_strip(&first) && first.lines.iter().all(|line| line.lift == 0.0));
        // A strip or a coarser level, and nobody knows of one.
        let coarser = Advice::CoarserLevel { name: None };
        assert!(!first.advice.contains(&coarser), "{:?}", first.advice);
        let second = planned(&format!("{bed}{pass}[pass.turned]\n{pass}"));
        assert!(!asks_for_a_strip(&second), "{:?}", second.advice);
        assert!(second.next_pass.is_some());
        let lift = |foot: usize| -> f64 {
            let lines = second.lines.iter().filter(|line| line.foot == foot);
            lines.map(|line| line.lift).sum()
        };
        // Feet in pairs, the front one first; front up is what brings the bubble back from the rear.
        for pair in 0..3 {
            let tipped = lift(2 * pair) - lift(2 * pair + 1);
            assert!((0.8e-3..1.2e-3).contains(&tipped), "{held_down}: {tipped}");
        }
    }
}

/// Along both ways nobody has seen a bubble, so nobody knows how they bend: a bed that is tipped may lie otherwise there than it
/// did by a walk at the most. A foot between the ends of a bed that is tipped stands on the line between those (geometry).
#[test]
fn what_nobody_has_seen_is_not_bent() {
    let text = "format = 1\n[bed]\nlength = 3200\nway_spacing = 400\nheld_down = true\n[feet]\nat = [200, 1100, 2100, 3000]\n\
                lift_per_turn = 1.5\nsmallest_turn = \"1/72\"\n[level.fine]\ndivision = \"0.02 mm/m\"\nbase = 200\nrange = 10\n\
                [level.coarse]\ndivision = \"0.1 mm/m\"\nbase = 200\nrange = 25\n[limits]\ntwist = \"0.04 mm/m\"\n\
                crown = [-0.01, 0.02]\n[aim]\nshape = \"level\"\n[[pass]]\nlevel = \"coarse\"\n\
                stations = [200, 650, 1100, 1600, 2100, 2550, 3000]\n\
                cross = [\"1F\", \"3F\", \"5F\", \"2F\", \"1R\", \"4R\", \"1F\"]\n\
                front = [\">25T\", \">25T\", \">25T\", \">25T\", \">25T\", \">25T\", \">25T\"]\n\
                rear = [\">25T\", \">25T\", \">25T\", \">25T\", \">25T\", \">25T\", \">25T\"]\n";
    let (plan, feet) = (planned(text), survey::read(text).expect("a survey").feet);
    let lift = |foot: String| -> f64 {
        let lines = plan.lines.iter();
        let of_foot = lines.filter(|line| feet[line.foot].name == foot);
        of_foot.map(|line| line.lift).sum()
    };
    let mean = |pair: usize| {
        let pair = pair + 1;
        f64::midpoint(lift(format!("F{pair}")), lift(format!("R{pair}")))
    };
    let tipped = mean(0) - mean(3);
    assert!(tipped > 2e-3, "{tipped}");
    for (pair, at) in [(1, 0.9 / 2.8), (2, 1.9 / 2.8)] {
        let off = mean(pair) - mean(0) + at * tipped;
        assert!(off.abs() < LARGEST_TRIP, "{off} at the pair {pair}");
    }
}

/// What is known after a pass is known with another one before it as well, be it of one line only.
#[test]
fn a_pass_of_one_line_takes_nothing_from_what_is_known() {
    let whole = set_down();
    let (machine, pass) = whole.split_once("[[pass]]").expect("a pass");
    let cross = pass.lines().filter(|line| {
        let kept = ["taken", "level", "cross = "];
        kept.iter().any(|key| line.starts_with(key))
    });
    let cross: Vec<&str> = cross.collect();
    let stations = pass.lines().find(|line| line.starts_with("stations"));
    let stations = stations.expect("stations").replace("stations", "cross_at");
    let both = format!(
        "{machine}[[pass]]\n{}\n{stations}\n[pass.turned]\n\n[[pass]]{pass}",
        cross.join("\n")
    );
    let twist = |text: &str| {
        let survey = survey::read(text).expect("a survey");
        let history = History::of(&survey, survey.passes.len() - 1).expect("a history");
        let cross = history.cross_places();
        let row = |at: f64| {
            let place = history.place(at).expect("a place");
            history.height(Side::Front, place) - history.height(Side::Rear, place)
        };
        let rows: Vec<_> = cross.iter().map(|at| row(*at) - row(cross[0])).collect();
        history.system().covariance_root(&DMatrix::from_rows(&rows))
    };
    let (alone, with) = (twist(whole), twist(&both));
    for (place, (alone, with)) in alone.row_iter().zip(with.row_iter()).enumerate() {
        // Nothing was turned in between; what a round may have moved beside that is a tenth of a micrometre a foot.
        assert!(
            with.norm() <= 1.02 * alone.norm(),
            "place {place}: {} after {}",
            with.norm(),
            alone.norm()
        );
    }
}

/// A record with the other sign, one after the other.
#[test]
fn a_turn_written_with_the_wrong_sign_is_named_and_its_foot_left() {
    let names = ["F1", "F2", "F3", "F4", "R1", "R2", "R3", "R4"];
    let (mut pass, mut named) = (0, 0);
    let mut wrong = String::new();
    for (number, line) in LATHE.lines().enumerate() {
        pass += usize::from(line == "[[pass]]");
        let Some((name, quarters)) = line
            .split_once(" = ")
            .filter(|(name, _)| names.contains(name))
        else {
            continue;
        };
        let other = quarters
            .strip_prefix('-')
            .map_or_else(|| format!("-{quarters}"), str::to_owned);
        let lines = LATHE.lines().enumerate();
        let text: Vec<String> = lines
            .map(|(of, kept)| {
                if of == number {
                    format!("{name} = {other}")
                } else {
                    kept.to_owned()
                }
            })
            .collect();
        let text = text.join("\n");
        let survey = survey::read(&text).expect("a survey");
        let foot = survey
            .feet
            .iter()
            .position(|foot| foot.name == name)
            .expect("a foot");
        let plan = planned(&text);
        let history = History::of(&survey, 2).expect("a history");
        let shares = &history.answer().effectiveness;
        assert!(
            shares.iter().all(|share| (0.1..=2.0).contains(share)),
            "{name}: {shares:?}"
        );
        let left = plan
            .lines
            .iter()
            .all(|line| line.foot != foot || line.lift == 0.0);
        let is_named = plan.advice.first() == Some(&Advice::CheckRecord { pass, foot }) && left;
        named += usize::from(is_named);
        // A quarter of a quarter-turn of these screws is 0.03 mm: a foot that answers otherwise does as much.
        if !is_named && quarters.parse::<f64>().expect("a number").abs() > 0.4 {
            let advice = plan.advice;
            writeln!(wrong, "{name} = {other} after pass {pass}: {advice:?}").expect("a text");
        }
    }
    assert!(named >= 8, "{named} of 11");
    assert_eq!(wrong, "");
}

/// The records as they are contradict nothing.
#[test]
fn records_that_are_right_are_not_doubted() {
    for text in [
        LATHE,
        include_str!("../../demo-data/twelve-foot-planer-inch.toml"),
        include_str!("../../demo-data/as-left.toml"),
        include_str!("../../demo-data/settling.toml"),
    ] {
        let plan = planned(text);
        let doubted = |advice: &Advice| {
            matches!(
                advice,
                Advice::CheckRecord { .. } | Advice::Backwards { .. }
            )
        };
        assert!(!plan.advice.iter().any(doubted), "{:?}", plan.advice);
    }
}

/// One letter of the first pass swapped: what is planned holds whether the reading is right or wrong, and nothing that is said
/// of the bed rests on it.
#[test]
fn a_suspect_reading_comes_first_and_nothing_rests_on_it() {
    let place = r#""2.5H", "5.75H""#;
    let right = planned(set_down());
    let wrong = planned(&set_down().replacen(place, r#""2.5H", "5.75T""#, 1));
    assert_eq!(
        wrong.advice.first(),
        Some(&Advice::Suspect {
            line: Line::Front,
            at: 1.95
        })
    );
    assert!(
        !wrong
            .advice
            .iter()
            .any(|advice| matches!(advice, Advice::Wear { .. })),
        "{:?}",
        wrong.advice
    );
    let lifts = |plan: &TurnPlan| {
        let mut lifts = [0.0; 8];
        for line in &plan.lines {
            lifts[line.foot] += line.lift;
        }
        lifts
    };
    // No foot goes another way than it goes with the right reading, by more than a step.
    let step = 0.5e-3 / 24.0;
    for (foot, (with, without)) in lifts(&right).iter().zip(lifts(&wrong)).enumerate() {
        assert!(
            with * without >= 0.0 || without.abs() <= step,
            "foot {foot}: {without} beside {with}"
        );
    }
}

/// A bed that its anchors twist is judged as it lies now.
#[test]
fn passes_are_not_taken_together_across_the_anchors() {
    let machine = set_down().split("[[pass]]").next().expect("a machine");
    let pass = |anchors: &str, slope: f64, turned: &str| {
        let at: Vec<f64> = (0..14).map(|k| 150.0 + 200.0 * f64::from(k)).collect();
        let cross: Vec<String> = at
            .iter()
            .map(|at| {
                let divisions = (slope * (at - 150.0) / 2600.0 * 4.0).round() / 4.0;
                format!(
                    "\"{}\"",
                    survey::format_reading(Line::Cross, divisions, 0.25).replace(' ', "")
                )
            })
            .collect();
        let along = vec!["\"0\""; 14].join(", ");
        format!(
            "\n[[pass]]\nlevel = \"master\"\nanchors = \"{anchors}\"\nstations = {at:?}\ncross = [{}]\nfront = [{along}]\nrear = [{along}]\n{turned}",
            cross.join(", ")
        )
    };
    // Two divisions and three quarters of 0.02 mm/m, front low at the tailstock end.
    let text = format!(
        "{machine}{}{}",
        pass("slack", 0.0, "turned = {}\n"),
        pass("pulled down", -2.75, "")
    );
    let plan = planned(&text);
    let told = plan.advice.iter().find_map(|advice| match advice {
        Advice::Anchored {
            pulled: true,
            twist,
            u95,
        } => Some((*twist, *u95)),
        _ => None,
    });
    let (twist, u95) = told.expect("what the anchors did");
    assert!(
        (twist + 55e-6).abs() < 5e-6 && u95 < 30e-6,
        "{twist:e} {u95:e}"
    );
    assert!(
        !plan.advice.contains(&Advice::BelowReadings),
        "{:?}",
        plan.advice
    );
    let survey = survey::read(&text).expect("a survey");
    let history = History::of(&survey, 1).expect("a history");
    let now =
        quarterturn::plan::objective::Objective::of(&survey, &history, &survey.levels["master"]);
    let twists: Vec<f64> = now
        .rows(quarterturn::plan::departures::Kind::Twist)
        .into_iter()
        .map(|row| now.now[row])
        .collect();
    let range = twists.iter().fold(0.0, |most: f64, twist| most.max(*twist))
        - twists
            .iter()
            .fold(0.0, |least: f64, twist| least.min(*twist));
    assert!(range > 40e-6, "{range:e}");
}

/// Readings that call a bed outside are not too coarse to see it, and nobody stops who has a finer level.
#[test]
fn stop_is_said_only_where_nothing_finer_is_known() {
    let finer = format!(
        "{}\n[level.fine]\ndivision = \"0.005 mm/m\"\nbase = 200\n",
        set_down().split("[[pass]]").next().expect("a machine")
    );
    for divisions in ["0", "0.5", "1", "2"] {
        for other in ["F", "R"] {
            let reading = |sign: &str| {
                if divisions == "0" {
                    "\"0\"".to_owned()
                } else {
                    format!("\"{divisions}{sign}\"")
                }
            };
            let text = format!(
                "{}\n[[pass]]\nlevel = \"master\"\nstations = [150, 1450, 2750]\ncross = [{}, \"0\", {}]\n",
                finer,
                reading("F"),
                reading(other)
            );
            let plan = planned(&text);
            assert!(
                !plan.advice.contains(&Advice::BelowReadings),
                "{divisions}{other}: {:?}",
                plan.advice
            );
        }
    }
}

/// No foot carries more than the whole machine, and a bed held up in its middle bears half of its weight beyond either end
/// (statics): what a plan asks for beyond that bends it by force, unless its feet force it as much already. Neither does it promise
/// such loads.
#[test]
fn no_card_bends_a_bed_by_force() {
    let machine = set_down()
        .split("[[pass]]")
        .next()
        .expect("a machine")
        .replace("range = 10\n", "");
    let two = |cross: &str, front: &str, rear: &str| {
        format!(
            "{machine}\n[[pass]]\nlevel = \"master\"\nstations = [200, 260]\ncross = [{cross}]\nfront = [{front}]\nrear = [{rear}]\n"
        )
    };
    let absurd = |reading: &str| {
        let pass = set_down().replace("range = 10\n", "");
        pass.replacen(r#""1.75H", "2.5H""#, &format!(r#""{reading}", "2.5H""#), 1)
    };
    let surveys = [
        absurd("100H"),
        absurd("100T"),
        two(r#""3F", "3.5F""#, r#""2H", "1H""#, r#""1T", "1H""#),
        two(r#""3F", "9F""#, r#""2H", "9T""#, r#""9T", "4H""#),
        two(r#""40F", "90F""#, r#""20H", "90T""#, r#""90T", "40H""#),
        two(r#""3F", "90F""#, r#""2H", "1H""#, r#""1T", "1H""#),
    ];
    for (number, text) in surveys.iter().enumerate() {
        let plan = planned(text);
        for load in plan.loads.iter().flatten() {
            for share in [load.share_before, load.share_after] {
                assert!(
                    (-0.5..=1.0).contains(&share),
                    "survey {number}: {share:.2} of the machine on a foot, {:?}",
                    plan.advice
                );
            }
        }
        let forced = |advice: &Advice| matches!(advice, Advice::Forced { part: None, .. });
        if plan.advice.iter().any(forced) {
            assert!(plan.lines.iter().all(|line| line.lift == 0.0));
        }
        // Shares of its weight are the same whatever it weighs.
        let weightless = planned(&text.replace("mass = \"2400 kg\"\n", ""));
        let lifts = |plan: &TurnPlan| plan.lines.iter().map(|line| line.lift).collect::<Vec<_>>();
        assert_eq!(lifts(&weightless), lifts(&plan), "survey {number}");
        assert_eq!(weightless.loads, None);
    }
}

/// Nothing was turned between two passes, and the tailstock end twisted by three divisions, fifteen times what a reading scatters:
/// what the first told of the bed no longer counts, whatever the record says.
#[test]
fn passes_before_a_movement_do_not_count() {
    let (machine, pass) = set_down().split_once("[[pass]]").expect("a pass");
    let across: Vec<&str> = pass
        .lines()
        .filter(|line| {
            let left = ["front", "rear", "cross_reversed"];
            !left.iter().any(|key| line.starts_with(key))
        })
        .collect();
    let pass = &across.join("\n");
    let then = pass.replace(
        r#""1F", "0.25F", "0.25F", "0.25R", "0.75R"]"#,
        r#""1.5F", "1.5F", "2.25F", "2.5F", "2.25F"]"#,
    );
    let then = &then;
    assert_ne!(then, pass);
    let moved = |last: &str| {
        let text = format!("{machine}[[pass]]{pass}\n[pass.turned]\n\n[[pass]]{last}");
        let plan = planned(&text);
        let moved = plan.advice.contains(&Advice::Moved { pass: 0 });
        (moved, plan.predicted.twist)
    };
    assert!(!moved(pass).0, "a bed that lies as it lay");
    let (named, twist) = moved(then);
    assert!(named);
    let alone = planned(&format!("{machine}[[pass]]{then}"));
    assert_eq!(twist, alone.predicted.twist);
}

/// Before a nut is pulled a bed rests on its feet by its weight alone (statics), whatever is to hold it later: it is planned like one that
/// nothing will ever hold, every foot to bear its share.
#[test]
fn with_slack_anchors_a_bed_rests_on_its_feet() {
    let free = set_down().replace("held_down = true", "held_down = false");
    let slack = format!("{}\nanchors = \"slack\"\n", set_down());
    assert_ne!(free, set_down());
    let [held, slack, free] = [set_down(), &slack, &free].map(planned);
    assert!(slack.rests && free.rests && !held.rests);
    assert_eq!(slack.lines, free.lines);
    assert_eq!(slack.loads, free.loads);
    assert_ne!(slack.lines, held.lines);
}
