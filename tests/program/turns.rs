//! `quarterturn turns` on the demo surveys.

use insta::assert_snapshot;

use crate::machine::{Machine, ONE_FOOT_HANGS};
use crate::program::Program;

#[test]
fn a_lathe() {
    assert_snapshot!(Program::with("turns demo-data/eight-foot-lathe.toml").prints());
}

#[test]
fn a_lathe_on_a_phone() {
    let program = Program::with("turns demo-data/eight-foot-lathe.toml").columns(40);
    assert_snapshot!(program.prints());
}

#[test]
fn a_lathe_as_json() {
    assert_snapshot!(Program::with("turns demo-data/eight-foot-lathe.toml --json").prints());
}

/// Nobody nips a nut to a torque while the anchors are slack.
#[test]
fn nuts_are_left_loose_until_every_foot_bears() {
    let lathe = include_str!("../../demo-data/eight-foot-lathe.toml");
    let first = lathe.split("\n[pass.turned]").next().expect("a first pass");
    let slack = Machine::with(&format!("{first}\nanchors = \"slack\"\n"));
    let printed = slack.run("turns bed.toml").printed.replace('\n', " ");
    assert!(
        printed.contains("leave every nut on and loose until all feet bear"),
        "{printed}"
    );
    assert!(!printed.contains("same torque"), "{printed}");
}

#[test]
fn a_planer_in_inches() {
    assert_snapshot!(Program::with("turns demo-data/twelve-foot-planer-inch.toml").prints());
}

#[test]
fn a_planer_far_from_its_limits() {
    let arguments = "turns demo-data/twelve-foot-planer-inch.toml --pass 1 --units mm";
    assert_snapshot!(Program::with(arguments).prints());
}

#[test]
fn large_moves_take_several_walks() {
    let survey = r#"
        format = 1
        units = "mm"
        [machine]
        name = "Gantry router, timber hall"
        [bed]
        length = 3200
        way_spacing = 900
        held_down = false
        [feet]
        at = [200, 1600, 3000]
        lift_per_turn = 2
        smallest_turn = "1/12"
        [level.plain]
        division = "0.1 mm/m"
        base = 300
        range = 20
        [limits]
        twist = "0.08 mm/m"
        [[pass]]
        level = "plain"
        stations = [300, 1600, 2900]
        cross = ["9F", "1.5F", "8R"]
    "#;
    assert_snapshot!(Program::with("turns").input(survey).prints());
}

#[test]
fn a_hanging_foot_is_seated_first() {
    assert_snapshot!(Program::with("turns demo-data/cross-only.toml").prints());
}

/// A bed that is inside its limits and stands on five of its six feet.
#[test]
fn a_loose_foot_is_seated_and_nothing_else_turned() {
    assert_snapshot!(Program::with("turns").input(ONE_FOOT_HANGS).prints());
}

/// A pass that cannot tell: what to record, so that it and the next one count together.
#[test]
fn a_pass_that_cannot_tell_is_followed_by_another() {
    let survey = r#"
        format = 1
        units = "mm"
        bed = { length = 1500, way_spacing = 400 }
        feet = { at = [100, 750, 1400], lift_per_turn = 1.5, smallest_turn = "1/24" }
        level.fine = { division = "0.02 mm/m", base = 200, range = 10 }
        limits = { twist = "0.016 mm/m" }
        [[pass]]
        level = "fine"
        stations = [150, 350, 550, 750, 950, 1150, 1350]
        cross = ["0.5F", "0.25F", "0.5F", "0.25F", "0.5F", "0.5F", "0.25F"]
    "#;
    assert_snapshot!(Program::with("turns").input(survey).prints());
}

#[test]
fn every_foot_is_on_the_card() {
    for (file, feet) in [
        ("cross-only", 6),
        ("eight-foot-lathe", 8),
        ("twelve-foot-planer-inch", 12),
    ] {
        let arguments = format!("turns demo-data/{file}.toml --json");
        let object: serde_json::Value =
            serde_json::from_str(&Program::with(&arguments).prints()).expect("JSON");
        let mut names: Vec<&str> = object["turns"]
            .as_array()
            .expect("the card is a list")
            .iter()
            .map(|line| line["foot"].as_str().expect("a foot has a name"))
            .collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), feet, "{file}: {names:?}");
    }
}

/// A foot whose screw lowers when turned clockwise is turned the other way round for the same lift.
#[test]
fn the_sense_of_a_screw_turns_the_words_round() {
    let path = format!(
        "{}/demo-data/eight-foot-lathe.toml",
        env!("CARGO_MANIFEST_DIR")
    );
    let survey = std::fs::read_to_string(path).expect("the demo data is there");
    let other = survey.replace(
        "lift_per_turn = 0.5",
        "lift_per_turn = 0.5\nclockwise = \"lowers\"",
    );
    assert_ne!(survey, other);
    let turns = |survey: &str| Program::with("turns").input(survey).prints();
    let swapped = turns(&other)
        .replace(" anticlockwise", " ANTI")
        .replace(" clockwise", " anticlockwise")
        .replace(" ANTI", " clockwise");
    assert_eq!(reflowed(&swapped), reflowed(&turns(&survey)));
}

/// The words without the line breaks that depend on their length; the sentence that names both senses left out.
fn reflowed(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    words
        .join(" ")
        .replace("Clockwise and clockwise", "Clockwise and anticlockwise")
}

/// A bed of two pairs, read in the middle, whose kinds of feet are told.
fn of_feet(keys: &str, bed: &str) -> String {
    format!(
        r#"
        format = 1
        units = "mm"
        machine = {{ mass = "2000 kg" }}
        bed = {{ length = 2000, way_spacing = 400{bed} }}
        feet = {{ at = [100, 1000, 1900], lift_per_turn = 1.5{keys} }}
        level.plain = {{ division = "0.02 mm/m", base = 200, range = 20 }}
        limits = {{ twist = "0.03 mm/m" }}
        [[pass]]
        stations = [300, 1000, 1700]
        cross = ["5F", "0", "5R"]
    "#
    )
}

/// Its card.
fn with_feet(keys: &str, bed: &str) -> String {
    Program::with("turns").input(of_feet(keys, bed)).prints()
}

/// One line, as read.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What a foot is says which screw is turned, and which nut is eased for it (common practice, no source).
#[test]
fn the_card_names_the_screw_and_the_nut() {
    for (keys, has, has_not) in [
        (
            r#", kind = "jack", hold_down = true"#,
            &["jack: raise", "anchor: ease, nip", "A spreader plate"][..],
            &["wedge:"][..],
        ),
        (
            r#", kind = "wedge", hold_down = true"#,
            &["wedge: lower", "centre bolt: ease, nip"],
            &["spreader"],
        ),
        (
            r#", kind = "push-pull""#,
            &["push screw: raise", "pull screw: ease, nip"],
            &[],
        ),
        (
            r#", kind = "rubber", hold_down = false"#,
            &["mount: raise"],
            &["ease, nip", "Ease the nut"],
        ),
        (
            r#", kind = "shims", hold_down = false"#,
            &["shims: put under", "shims: take out", "marked points"],
            &["clockwise,"],
        ),
    ] {
        let card = flat(&with_feet(keys, ""));
        for words in has {
            assert!(card.contains(words), "{keys}: no `{words}` in {card}");
        }
        for words in has_not {
            assert!(!card.contains(words), "{keys}: `{words}` in {card}");
        }
    }
    // One foot of another kind.
    let mixed = r#", kind = "wedge" }
        foot = { R3 = { kind = "jack" }"#;
    let card = flat(&with_feet(mixed, ""));
    assert!(
        card.contains("R3 jack: ") && card.contains("R1 wedge: "),
        "{card}"
    );
}

/// No anchors, no talk of them; not known, and they are asked for.
#[test]
fn anchors_are_spoken_of_where_there_are_some() {
    let none = flat(&with_feet("", ", held_down = false"));
    for words in ["anchor", "nut of the foot", "held_down"] {
        assert!(!none.to_lowercase().contains(words), "`{words}` in {none}");
    }
    let some = flat(&with_feet("", ", held_down = true"));
    assert!(
        some.contains("Where a nut holds a foot down, every reading is one with all nuts tight"),
        "{some}"
    );
    assert!(
        some.contains("turn two thirds of the count") && some.contains("Never slacken all anchors"),
        "{some}"
    );
    let unknown = flat(&with_feet("", ""));
    assert!(
        unknown.contains(
            "Whether anchors hold the bed down is not known: write `held_down` under [bed]"
        ),
        "{unknown}"
    );
    assert!(
        unknown.contains("- If anchors hold it down: never slacken all at once"),
        "{unknown}"
    );
    assert!(!unknown.contains("- Never slacken"), "{unknown}");
    assert!(!unknown.contains("- Anchor type"), "{unknown}");
}

/// A lock nut moves the screw as it is tightened (common practice, no source).
#[test]
fn a_lock_nut_is_read_again() {
    let words = "Hold the screw while you tighten a lock nut, and read again.";
    assert!(flat(&with_feet(", lock_nut = true", "")).contains(words));
    assert!(!flat(&with_feet(", lock_nut = false", "")).contains(words));
}

/// A twelfth of a turn, never above 0.1 mm: of a pitch of 1.5 mm that is 24 degrees (common practice, no source).
#[test]
fn a_foot_that_is_counted_goes_past_by_the_slack_only() {
    let card = flat(&with_feet("", ""));
    assert!(
        card.contains("lower a foot 24° too far, the slack of its thread, and come back up"),
        "{card}"
    );
    assert!(!card.contains("quarter-turn too far"), "{card}");
}

/// What can hurt comes first, and only what can (common practice, no source).
#[test]
fn cautions_stand_first_and_apply() {
    let card = with_feet("", ", held_down = false");
    let safety = card.find("Safety").expect("there are cautions");
    assert!(
        safety < card.find("Turn ").expect("there is a card"),
        "{card}"
    );
    assert!(
        !card.contains("chuck key") && !card.contains("can tip"),
        "{card}"
    );
    let lathe =
        r#"centre_height = 200, headstock_mass = "500 kg", headstock_at = 300, mass = "2000 kg""#;
    let lathe = of_feet("", ", held_down = true").replace(r#"mass = "2000 kg""#, lathe);
    let lathe = Program::with("turns").input(lathe).prints();
    for words in [
        "Take the chuck key out",
        "It can tip",
        "Never slacken all anchors",
    ] {
        assert!(lathe.contains(words), "no `{words}` in {lathe}");
    }
    let still = Program::with("turns").input(ONE_FOOT_HANGS).prints();
    assert!(still.contains("Safety"), "{still}");
}

/// A corner under the headstock, where no level shows what its foot did, is not sent far: a tenth of a millimetre
/// between two passes (common practice, no source). Read to the end it would go twice as far and more.
#[test]
fn a_covered_corner_is_not_sent_far() {
    let survey = |ways: &str| {
        format!(
            r#"
            format = 1
            bed = {{ length = 3000, way_spacing = 400, held_down = true{ways} }}
            feet = {{ at = [100, 1000, 2000, 2900], lift_per_turn = 1.5, smallest_turn = "1/72" }}
            level.plain = {{ division = "0.1 mm/m", range = 20 }}
            limits = {{ twist = "0.03 mm/m" }}
            [[pass]]
            stations = [700, 1500, 2200, 2900]
            cross = ["9F", "4F", "0", "4R"]
            "#
        )
    };
    let most = |ways: &str| {
        let card = Program::with("turns --json").input(survey(ways)).prints();
        let card: serde_json::Value = serde_json::from_str(&card).expect("JSON");
        let lines = card["turns"].as_array().expect("a list").iter();
        let of_first = lines.filter(|line| line["foot"] == "F1" || line["foot"] == "R1");
        of_first
            .filter_map(|line| line["lift_mm"].as_f64())
            .map(f64::abs)
            .fold(0.0, f64::max)
    };
    let (free, covered) = (most(""), most(", ways_from = 640"));
    assert!(free > 0.2, "{free}");
    assert!(covered <= 0.1 + 1e-9, "{covered}");
}

/// Under the machine there is room for a caution, the orders and what to do next, and for nothing else.
#[test]
fn the_orders_alone() {
    let whole = Program::with("turns demo-data/eight-foot-lathe.toml").prints();
    let short = Program::with("turns demo-data/eight-foot-lathe.toml --short").prints();
    // Every order stands in both, word for word.
    let orders = |text: &str| -> Vec<String> {
        let order = |line: &&str| {
            ["raise ", "lower ", "    from ", "Level "]
                .iter()
                .any(|word| line.contains(word))
        };
        text.lines().filter(order).map(str::to_owned).collect()
    };
    let listed: Vec<String> = orders(&short);
    assert!(!listed.is_empty());
    assert!(
        listed.iter().all(|line| orders(&whole).contains(line)),
        "{short}"
    );
    assert!(short.starts_with("Isolate"), "{short}");
    assert!(
        !short.contains("What this should leave") && !short.contains("kg"),
        "{short}"
    );
    assert!(short.lines().count() < whole.lines().count() / 2, "{short}");
    assert!(
        short.contains("Next   record what was really turned"),
        "{short}"
    );
}

/// What the plan was proven for is no order, and stands there when it is asked for.
#[test]
fn the_reasons_are_told_on_request() {
    let told = |options: &str| {
        Program::with(&format!("turns demo-data/eight-foot-lathe.toml{options}")).prints()
    };
    assert!(told(" --why").contains("Proven: in whole degrees"));
    assert!(!told("").contains("Proven"));
}

/// A pass with nothing on the scale after one at which nothing was turned: there is nothing to compare, and no panic.
#[test]
fn a_pass_wholly_off_the_scale_is_answered() {
    let survey = r#"
        format = 1
        bed = { length = 2900, way_spacing = 380, held_down = true }
        feet = { at = [120, 1040, 1960, 2780], lift_per_turn = 1.5 }
        limits = { twist = "0.04 mm/m" }
        [level.workshop]
        division = "0.1 mm/m"
        base = 200
        range = 25
        [[pass]]
        cross_at = [120, 1040, 1960, 2780]
        cross = ["17R", "7.5R", "7.5R", "7.25R"]
        front_at = [300, 1500, 2650]
        front = ["10T", "19.5T", ">25T"]
        rear_at = [300, 1500, 2650]
        rear = ["6.5T", "19.25T", ">25T"]
        [pass.turned]
        [[pass]]
        front_at = [2350, 2650]
        front = [">25T", ">25T"]
        rear_at = [2350, 2650]
        rear = [">25T", ">25T"]
    "#;
    let run = Program::with("turns").input(survey).run();
    assert!(!run.complained.contains("panicked"), "{}", run.complained);
    assert!(run.printed.contains("off the scale"), "{}", run.printed);
}
