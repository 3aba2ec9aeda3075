//! Drawings in characters among the text.

use insta::assert_snapshot;

use crate::program::Program;

const LATHE: &str = "demo-data/eight-foot-lathe.toml";

/// What a run prints from the first chart to these words.
fn charts(program: Program, until: &str) -> String {
    let printed = program.prints();
    let (_, from_the_charts) = printed
        .split_once("Cross slope")
        .expect("the cross slope is drawn");
    let (charts, _) = from_the_charts
        .split_once(until)
        .expect("the tables follow");
    charts.to_owned()
}

fn shape(options: &str) -> Program {
    Program::with(&format!("shape {LATHE} --pass 1 --plots always {options}")).locale("C.UTF-8")
}

#[test]
fn the_shape_on_a_screen() {
    assert_snapshot!(charts(shape(""), "Across:"));
}

#[test]
fn the_shape_on_a_phone_in_plain_ascii() {
    let charts = charts(shape("--ascii").columns(40), "Across:");
    assert!(charts.is_ascii(), "{charts}");
    assert_snapshot!(charts);
}

#[test]
fn the_turns_with_what_they_should_leave() {
    let turns = Program::with(&format!("turns {LATHE} --pass 1 --plots always")).locale("C.UTF-8");
    assert_snapshot!(charts(turns, "Clockwise"));
}

#[test]
fn a_locale_without_unicode_gets_ascii() {
    let plain = shape("").locale("C").prints();
    assert_eq!(plain, shape("--ascii").prints());
}

#[test]
fn what_is_piped_holds_no_drawing_unless_asked_for() {
    let piped = Program::with(&format!("shape {LATHE}")).prints();
    assert!(!piped.contains("front high is +"), "{piped}");
    let never = Program::with(&format!("shape {LATHE} --plots never")).prints();
    assert_eq!(piped, never);
}

#[test]
fn drawings_fit_every_screen_and_carry_no_control_codes() {
    for columns in [33, 40, 60, 80, 100] {
        for options in ["", "--ascii", "--units in"] {
            let printed = shape(options).columns(columns).prints();
            for line in printed.lines() {
                let width = line.chars().count();
                assert!(width <= columns, "{width} > {columns}: {line}");
                assert!(!line.contains(char::is_control), "{line:?}");
            }
        }
    }
}

#[test]
fn a_line_means_the_same_without_colour() {
    let colour = shape("--color always").colour_allowed().prints();
    let stripped = anstream::adapter::strip_str(&colour).to_string();
    assert_ne!(colour, stripped);
    assert_eq!(stripped, shape("--color never").prints());
}
