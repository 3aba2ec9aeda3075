//! The pages of every demo survey.

use std::path::Path;
use std::process::Command;

use crate::markup::Markup;

/// Every page.
pub const KINDS: [&str; 3] = ["readings", "card", "record"];

/// Largest page, bytes.
const LARGEST: usize = 200_000;

/// What `quarterturn sheet` prints.
pub fn sheet(survey: &Path, options: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_quarterturn"))
        .arg("sheet")
        .arg(survey)
        .args(options)
        .output()
        .expect("the program runs");
    assert!(
        output.status.success(),
        "{} {options:?}: {}",
        survey.display(),
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).expect("a page is text")
}

/// The names of all demo surveys.
pub fn surveys() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .expect("there is demo data")
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .filter_map(|name| Some(name.strip_suffix(".toml")?.to_owned()))
        .collect();
    names.sort();
    assert!(names.len() > 3, "{names:?}");
    names
}

/// A demo survey.
pub fn demo(name: &str) -> std::path::PathBuf {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    folder.join(format!("{name}.toml"))
}

#[test]
fn every_page_is_small_whole_and_needs_nothing_else() {
    for survey in &surveys() {
        for kind in KINDS {
            let page = sheet(&demo(survey), &["--kind", kind]);
            let which = format!("{survey} {kind}");
            assert!(page.len() < LARGEST, "{which}: {} bytes", page.len());
            let markup = Markup::of(&page).unwrap_or_else(|wrong| panic!("{which}: {wrong}"));
            for tag in [
                "script", "img", "iframe", "object", "embed", "image", "use", "a",
            ] {
                assert_eq!(markup.count(tag), 0, "{which}: <{tag}>");
            }
            for fetched in ["@import", "url(", " src=", "@font-face"] {
                assert!(!page.contains(fetched), "{which}: {fetched}");
            }
            assert_eq!(markup.count("main"), 1, "{which}");
            assert_eq!(markup.count("h1"), 1, "{which}");
        }
    }
}

#[test]
fn every_drawing_has_a_title_and_words_for_who_cannot_see_it() {
    for survey in &surveys() {
        for kind in KINDS {
            let page = sheet(&demo(survey), &["--kind", kind]);
            let drawings: Vec<&str> = page.split("<svg ").skip(1).collect();
            assert!(!drawings.is_empty(), "{survey} {kind} has no drawing");
            let mut names = Vec::new();
            for drawing in drawings {
                let head: String = drawing.lines().take(3).collect();
                assert!(head.contains("role=\"img\""), "{survey} {kind}: {head}");
                for element in ["title", "desc"] {
                    let (_, rest) = head
                        .split_once(&format!("<{element} id=\""))
                        .unwrap_or_else(|| panic!("{survey} {kind}: no {element}: {head}"));
                    let (name, rest) = rest.split_once("\">").expect("an id");
                    let (words, _) = rest.split_once("</").expect("an end");
                    assert!(words.len() > 10, "{survey} {kind}: {words}");
                    assert!(
                        head.contains("aria-labelledby") && head.matches(name).count() == 2,
                        "{survey} {kind}: nothing is labelled by {name}"
                    );
                    names.push(name.to_owned());
                }
            }
            let count = names.len();
            names.sort();
            names.dedup();
            assert_eq!(names.len(), count, "{survey} {kind}: a name twice");
        }
    }
}

#[test]
fn the_card_tells_every_foot_as_turns_does() {
    let page = sheet(
        &demo("eight-foot-lathe"),
        &["--kind", "card", "--pass", "1"],
    );
    let turns = Command::new(env!("CARGO_BIN_EXE_quarterturn"))
        .args(["turns", "--json", "--pass", "1"])
        .arg(demo("eight-foot-lathe"))
        .output()
        .expect("the program runs");
    let turns: serde_json::Value = serde_json::from_slice(&turns.stdout).expect("JSON");
    let lines = turns["turns"].as_array().expect("the card");
    assert!(lines.iter().any(|line| line["do"] != "leave"));
    for line in lines.iter().filter(|line| line["do"] != "leave") {
        let foot = line["foot"].as_str().expect("a name");
        let (_, row) = page
            .split_once(&format!("<td class=\"foot\"><bdi>{foot}</bdi></td>"))
            .unwrap_or_else(|| panic!("{foot} is not on the card"));
        let (row, _) = row.split_once("</tr>").expect("the end of the row");
        let order = line["do"].as_str().expect("what to do");
        let screw = line["screw"].as_str().expect("which way round");
        assert!(row.contains(order) && row.contains(screw), "{foot}: {row}");
    }
    let boxes = page.matches("box to tick").count();
    let looks = turns["look_again"].as_array().expect("a second look");
    let orders = lines.iter().filter(|line| line["do"] != "leave").count();
    assert_eq!(boxes, orders + looks.len());
}

#[test]
fn the_reading_sheet_has_a_box_for_every_station() {
    // Source of the places: the demo survey itself, 14 stations 200 mm apart on three lines.
    let page = sheet(&demo("eight-foot-lathe"), &["--kind", "readings"]);
    let rows = page.matches("<tr><td").count();
    assert_eq!(rows, 3 * 14);
    // 150 mm is 5.906 in, 2750 mm is 108.268 in (25.4 mm to the inch).
    for place in [
        "<td class=\"number\">1</td><td class=\"number\">150</td><td class=\"number\">5.91</td>",
        "<td class=\"number\">14</td><td class=\"number\">2750</td><td class=\"number\">108.27</td>",
        "<td class=\"number\">1</td><td class=\"number\">2750</td><td class=\"number\">108.27</td>",
    ] {
        assert!(page.contains(place), "{place}");
    }
}

#[test]
fn a_machine_that_was_never_read_gets_places_for_its_first_pass() {
    let text = std::fs::read_to_string(demo("eight-foot-lathe")).expect("the demo data is there");
    let (machine, _) = text.split_once("[[pass]]").expect("there is a pass");
    let file = tempfile::NamedTempFile::new().expect("a file");
    std::fs::write(file.path(), machine).expect("the file is written");
    let page = sheet(file.path(), &["--kind", "readings"]);
    // Across over the 4 places of feet, along both ways as the first pass is proposed that is likely to take least in all.
    let survey = quarterturn::survey::read(machine).expect("a survey");
    let proposed = quarterturn::plan::first_passes(&survey)[0].readings();
    assert_eq!(page.matches("<tr><td").count(), proposed);
    assert!(proposed < 7 + 2 * 14, "fewer than all there are");
    for place in ["120", "980", "1840", "2700"] {
        assert!(
            page.contains(&format!("<td class=\"number\">{place}</td>")),
            "{place}"
        );
    }
}
