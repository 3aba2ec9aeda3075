//! The pass that the plan asks for, read as it asks for it; and what to do where the bubble is off its scale.

use std::fs;

use quarterturn::survey::{Line, Pass};

use crate::machine::{Machine, SURVEY};
use crate::terminal::Terminal;

const LATHE: &str = "demo-data/eight-foot-lathe.toml";

/// The demo's lathe, its last card done and written down, and the places across that the card asks to be read next, mm.
fn turned_as_planned() -> (Machine, Vec<f64>) {
    let machine = Machine::with(&fs::read_to_string(LATHE).expect("the demo is there"));
    let card: serde_json::Value =
        serde_json::from_str(&machine.program("turns bed.toml --json").prints()).expect("JSON");
    let stations = &card["next_pass"]["stations"];
    assert_eq!(stations["front_at_mm"].as_array().map(Vec::len), Some(0));
    let across = stations["cross_at_mm"].as_array().expect("places");
    let across = across.iter().map(|at| at.as_f64().expect("mm")).collect();
    assert_eq!(machine.run("turned bed.toml as-planned").status, 0);
    (machine, across)
}

fn places(pass: &Pass, line: Line) -> Vec<f64> {
    let of_line = pass.readings.iter().filter(|r| r.line == line);
    of_line.map(|r| (r.at * 1e3).round()).collect()
}

/// Readings with the level the usual way round.
fn laid_once(pass: &Pass) -> usize {
    pass.readings.iter().filter(|r| !r.reversed).count()
}

/// Types what is foretold at a prompt for a reading across.
fn as_foretold(terminal: &mut Terminal, prompt: &str) {
    let shown = terminal.sees(&format!("{prompt} cross"));
    assert!(!shown.contains("far from"), "{shown}");
    let expected = terminal.sees(": ");
    let expected = expected.rsplit("expect ").next().expect("one is foretold");
    terminal.types(expected.trim_end_matches(": "));
}

#[test]
fn readings_are_taken_where_the_card_asks_for_them() {
    let (machine, across) = turned_as_planned();
    let run = machine
        .program("readings bed.toml")
        .input("6.75R\nstop\n")
        .run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    let survey = machine.survey();
    let pass = survey.passes.last().expect("a pass");
    assert_eq!(places(pass, Line::Cross), across);
    assert!(places(pass, Line::Front).is_empty());

    let (machine, _) = turned_as_planned();
    machine
        .program("readings bed.toml --all")
        .input("6.75R\nstop\n")
        .prints();
    assert_eq!(laid_once(&machine.survey().passes[3]), 14 * 3);
}

/// Nobody wrote down what was turned: a few readings would count on what is not known.
#[test]
fn where_turns_are_not_written_down_all_is_read() {
    let machine = Machine::with(&fs::read_to_string(LATHE).expect("the demo is there"));
    machine
        .program("readings bed.toml")
        .input("6.75R\nstop\n")
        .prints();
    assert_eq!(laid_once(&machine.survey().passes[3]), 14 * 3);
}

/// As foretold the limits are proven; what is not as foretold asks for the rest, in the same pass.
#[test]
fn a_short_pass_is_enough_or_goes_on() {
    let (machine, across) = turned_as_planned();
    let mut terminal = Terminal::start(&machine, "readings bed.toml");
    for k in 1..=across.len() {
        as_foretold(&mut terminal, &format!("{k}/{}", across.len()));
    }
    terminal.sees("That is enough: every limit is proven kept.");
    assert_eq!(terminal.ends().0, 0);

    let (machine, across) = turned_as_planned();
    let mut terminal = Terminal::start(&machine, "readings bed.toml");
    terminal.sees(&format!("1/{} cross", across.len()));
    terminal.types("6F");
    terminal.sees("far from the expected");
    terminal.types("");
    for k in 2..=across.len() {
        as_foretold(&mut terminal, &format!("{k}/{}", across.len()));
    }
    terminal.sees("Not all of this is what the turns foretold");
    terminal.types("");
    terminal.sees("order cross,front-back,rear");
    as_foretold(&mut terminal, "2/43");
    terminal.sees("3/43");
    terminal.types("stop");
    assert_eq!(terminal.ends().0, 0);
    let survey = machine.survey();
    assert_eq!(survey.passes.len(), 4);
    let pass = &survey.passes[3];
    assert_eq!(places(pass, Line::Cross)[..across.len()], across);
    assert_eq!(places(pass, Line::Front).len(), 14);
    // The next sitting goes on with the same pass.
    let printed = machine.program("readings bed.toml").input("6F\n").prints();
    assert!(printed.contains("Pass 4: "), "{printed}");
}

/// Two blocks 300 mm apart: 0.02 mm/m is 0.006 mm, so 15 divisions are 0.09 mm (0.1 mm in feelers).
#[test]
fn off_the_scale_a_strip_brings_the_bubble_back() {
    let bed = &SURVEY[..SURVEY.find("[[pass]]").expect("a pass")];
    let machine = Machine::with(&format!(
        "{bed}[level.rough]\ndivision = \"0.1 mm/m\"\nbase = 200\n"
    ));
    let mut terminal = Terminal::start(&machine, "readings bed.toml --level master --all");
    terminal.sees("1/17 ");
    terminal.types("8F");
    terminal.sees("2/17 ");
    terminal.types(">10F");
    let told = terminal.sees("Or take level rough");
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        told.contains("Lay 0.1 mm under the rear block at every station across"),
        "{told}"
    );
    assert!(told.contains("`packing 0.1 mm R`"), "{told}");
    terminal.types("packing 0.1");
    terminal.sees("add `F` or `R`");
    terminal.types("packing 0.1 R");
    terminal.sees("read again with it");
    terminal.sees("1/17 ");
    terminal.types("9R");
    terminal.sees("2/17 ");
    terminal.types("stop");
    assert_eq!(terminal.ends().0, 0);
    let survey = machine.survey();
    let pass = &survey.passes[0];
    assert!((pass.conditions.packing.cross + 1e-4).abs() < 1e-12);
    let text = machine.text();
    assert!(text.contains("cross = [\"9R\", \"\", \"\"]"), "{text}");
}

#[test]
fn the_blank_sheet_has_a_box_for_each_of_them() {
    let (machine, across) = turned_as_planned();
    let sheet = machine
        .program("sheet bed.toml --kind readings -o -")
        .prints();
    assert!(sheet.contains("Again on the way back"), "{sheet}");
    assert!(!sheet.contains("Along the front way, from"), "{sheet}");
    // One to write on for each, and one turned round for each on the way forth.
    let back = across.windows(2).filter(|pair| pair[1] <= pair[0]).count();
    let boxes = sheet.matches("class=\"write\"").count();
    assert_eq!(boxes, 2 * (across.len() - back) + back);
}
