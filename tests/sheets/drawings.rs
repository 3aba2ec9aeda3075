//! Single drawings as SVG.

use insta::assert_snapshot;

use crate::markup::Markup;
use crate::pages::{demo, sheet, surveys};

/// Every drawing.
const DRAWINGS: [&str; 9] = [
    "bed",
    "plan",
    "cross",
    "front",
    "rear",
    "rounds-twist",
    "rounds-crown",
    "stations",
    "bubble",
];

/// The drawing without its style sheet.
fn drawn(survey: &str, options: &[&str]) -> String {
    let text = sheet(&demo(survey), options);
    let (head, rest) = text.split_once("<style>").expect("a style sheet");
    let (_, rest) = rest.split_once("</style>\n").expect("its end");
    format!("{head}{rest}")
}

#[test]
fn every_drawing_of_a_lathe_stands_alone() {
    for drawing in DRAWINGS {
        let text = sheet(&demo("eight-foot-lathe"), &["--svg", drawing]);
        let markup = Markup::of(&text).unwrap_or_else(|wrong| panic!("{drawing}: {wrong}"));
        assert_eq!(markup.tags[0], "svg", "{drawing}");
        assert_eq!(markup.count("title"), 1, "{drawing}");
        assert_eq!(markup.count("desc"), 1, "{drawing}");
        assert!(
            text.contains("xmlns=\"http://www.w3.org/2000/svg\""),
            "{drawing}"
        );
        assert!(!text.contains("NaN") && !text.contains("inf"), "{drawing}");
    }
}

#[test]
fn every_survey_shows_its_bed_if_anything_is_known() {
    for survey in &surveys() {
        let text = sheet(&demo(survey), &["--svg", "bed"]);
        assert!(text.contains("times too large"), "{survey}");
    }
}

#[test]
fn the_bed_before_and_after() {
    assert_snapshot!(drawn("eight-foot-lathe", &["--svg", "bed"]));
}

#[test]
fn the_feet_and_the_way_their_screws_go_round() {
    assert_snapshot!(drawn("eight-foot-lathe", &["--svg", "plan", "--pass", "1"]));
}

#[test]
fn the_cross_slope_in_inches() {
    assert_snapshot!(drawn("twelve-foot-planer-inch", &["--svg", "cross"]));
}

#[test]
fn one_way_with_limits() {
    assert_snapshot!(drawn("eight-foot-lathe", &["--svg", "rear"]));
}

#[test]
fn crown_and_sag_from_pass_to_pass() {
    assert_snapshot!(drawn("eight-foot-lathe", &["--svg", "rounds-crown"]));
}

#[test]
fn where_the_level_goes() {
    assert_snapshot!(drawn("cross-only", &["--svg", "stations"]));
}

/// Characters and SVG draw the same chart: the numbers along the axes are the same in both.
#[test]
fn both_outputs_have_the_same_scales() {
    let svg = drawn("eight-foot-lathe", &["--svg", "cross"]);
    let text = std::process::Command::new(env!("CARGO_BIN_EXE_quarterturn"))
        .args(["shape", "--plots", "always", "--ascii"])
        .arg(demo("eight-foot-lathe"))
        .env("COLUMNS", "80")
        .output()
        .expect("the program runs");
    let text = String::from_utf8(text.stdout).expect("text");
    let (_, plot) = text
        .split_once("Cross slope along")
        .expect("the cross slope");
    let (plot, _) = plot.split_once("Front way").expect("the front way");
    let ticks: Vec<&str> = plot
        .lines()
        .filter_map(|line| line.split_once(" +"))
        .map(|(label, _)| label.trim())
        .filter(|label| label.parse::<f64>().is_ok())
        .collect();
    assert!(ticks.len() > 2, "{plot}");
    for tick in ticks {
        assert!(
            svg.contains(&format!(">{tick}</text>")),
            "{tick} is not in the SVG"
        );
    }
}
