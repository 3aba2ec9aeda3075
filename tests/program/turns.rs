//! `quarterturn turns` on the demo surveys.

use insta::assert_snapshot;

use crate::machine::ONE_FOOT_HANGS;
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
