//! Whole runs of `quarterturn round`, through a pipe and at a terminal.

use std::collections::BTreeMap;

use crate::machine::{Machine, SURVEY};
use crate::terminal::Terminal;

/// More empty lines than any card has lines.
const ENTERS: &str = "\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n\n";

fn recorded(machine: &Machine) -> BTreeMap<usize, f64> {
    let turned = machine.survey().passes[0].turned.clone();
    turned.expect("turns are recorded")
}

/// Whoever does what the card says has turned as planned.
#[test]
fn every_line_as_the_card_says() {
    let planned = Machine::with(SURVEY);
    assert_eq!(planned.run("turned bed.toml as-planned").status, 0);
    let machine = Machine::with(SURVEY);
    let run = machine.program("round bed.toml").input(ENTERS).run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""), "{run:?}");
    assert!(run.printed.contains("The round is done."), "{run:?}");
    assert_eq!(recorded(&machine), recorded(&planned));
    assert!(!machine.text().contains("unfinished"), "{}", machine.text());
}

/// Stopped after every line, it goes on from there, and nothing of it stays in the file in the end.
#[test]
fn it_goes_on_where_it_was_stopped() {
    let whole = Machine::with(SURVEY);
    assert_eq!(
        whole.program("round bed.toml").input(ENTERS).run().status,
        0
    );
    let machine = Machine::with(SURVEY);
    let mut done = false;
    for _ in 0..20 {
        let run = machine.program("round bed.toml").input("\nstop\n").run();
        assert_eq!(run.status, 0, "{run:?}");
        done = run.printed.contains("The round is done.");
        assert_eq!(machine.survey().passes[0].conditions.unfinished, !done);
        if done {
            break;
        }
        assert!(run.printed.contains("goes on exactly here"), "{run:?}");
    }
    assert!(done);
    assert!(!machine.text().contains("unfinished"));
    let (want, got) = (recorded(&whole), recorded(&machine));
    for (foot, quarters) in &got {
        // What is planned anew on the way may differ by what the readings cannot see.
        let want = want.get(foot).copied().unwrap_or(0.0);
        assert!(
            (quarters - want).abs() < 0.5,
            "foot {foot}: {quarters} for {want}"
        );
    }
}

#[test]
fn a_foot_that_does_not_turn_is_made_up_for() {
    let machine = Machine::with(SURVEY);
    let run = machine
        .program("round bed.toml")
        .input(format!("stuck\n{ENTERS}"))
        .run();
    assert_eq!((run.status, run.complained.as_str()), (0, ""), "{run:?}");
    assert!(run.printed.contains("made anew"), "{run:?}");
    let turned = recorded(&machine);
    let first = quarterturn::plan::plan(&machine.survey(), 0).unwrap().lines[0].foot;
    let of_first = turned.get(&first).copied().unwrap_or(0.0);
    assert!(of_first.abs() < 1e-9, "{turned:?}");
    assert!(turned.values().any(|quarters| *quarters != 0.0));
}

/// A number beside degrees is degrees, is repeated in both units, and asked about where the card says never.
#[test]
fn what_is_typed_at_a_foot() {
    let machine = Machine::with(SURVEY);
    let mut terminal = Terminal::start(&machine, "round bed.toml");
    terminal.sees("Enter begins");
    terminal.types("");
    terminal.sees("lines to go");
    let shown = terminal.sees("]");
    assert!(shown.contains("never past"), "{shown}");
    terminal.types("what");
    terminal.sees("not a number of quarter-turns");
    terminal.sees("]");
    terminal.types("help");
    terminal.sees("the foot carries nothing");
    terminal.sees("]");
    terminal.types("300°");
    terminal.sees("Right? (y/n)");
    terminal.types("n");
    terminal.sees("]");
    terminal.types("");
    terminal.sees("]");
    // Switched off: what was answered is on disk.
    terminal.kill();
    assert!(machine.survey().passes[0].conditions.unfinished);
    assert_eq!(recorded(&machine).len(), 1);
    let mut terminal = Terminal::start(&machine, "round bed.toml");
    terminal.sees("Enter begins");
    terminal.types("stop");
    let (status, shown) = terminal.ends();
    assert_eq!(status, 0);
    assert!(shown.contains("goes on exactly here"), "{shown}");
}

/// The made-up bed is read and turned in the same command.
#[test]
fn a_rehearsed_machine_comes_inside_its_limits() {
    let machine = Machine::with(&SURVEY[..SURVEY.find("[[pass]]").unwrap()]);
    assert_eq!(machine.run("rehearse bed.toml --seed 3").status, 0);
    let mut inside = false;
    for _ in 0..8 {
        let run = machine.program("round bed.toml").input(ENTERS).run();
        assert_eq!(run.status, 0, "{run:?}");
        inside = run.printed.contains("every limit is proven kept");
        if inside {
            break;
        }
    }
    assert!(inside, "{}", machine.text());
}
