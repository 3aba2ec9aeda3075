//! Whole runs of `quarterturn mend` and `quarterturn history`.

use insta::assert_snapshot;

use crate::machine::{Machine, SURVEY};

#[test]
fn one_thing_changes_and_what_was_there_is_told() {
    for (words, told, from, to) in [
        (
            "front 800 1H",
            "front at 800 mm was 0.5T, is 1H",
            "\"0.5T\"",
            "\"1H\"",
        ),
        (
            "2 2,5F",
            "cross at 400 mm was 3F, is 2.5F",
            "\"3F\"",
            "\"2.5F\"",
        ),
        (
            "cross 600 1 3/4 F",
            "was 1.5F, is 1.75F",
            "\"1.5F\"",
            "\"1.75F\"",
        ),
        (
            "twist 0.03 mm/m",
            "limits.twist was \"0.04 mm/m\"",
            "0.04 mm/m",
            "0.03 mm/m",
        ),
        (
            "level.master.range 20",
            "level.master.range was 10",
            "range = 10",
            "range = 20",
        ),
    ] {
        let machine = Machine::with(SURVEY);
        let run = machine.run(&format!("mend bed.toml {words}"));
        assert_eq!((run.status, run.complained.as_str()), (0, ""), "{words}");
        assert!(run.printed.contains(told), "{words}: {run:?}");
        assert_eq!(machine.text(), SURVEY.replacen(from, to, 1), "{words}");
    }
}

#[test]
fn a_turn_is_mended_alone() {
    let machine = Machine::with(&format!(
        "{SURVEY}\n[pass.turned]\nF1 = 3   # by eye\nR2 = -1\n"
    ));
    let run = machine.run("mend bed.toml F1 -15°");
    assert_eq!(run.status, 0, "{run:?}");
    assert!(run.printed.contains("F1 was +3 (270°), is -15°"), "{run:?}");
    let want = "F1 = -0.166667   # by eye\nR2 = -1\n";
    assert!(machine.text().ends_with(want), "{}", machine.text());
}

#[test]
fn what_cannot_be_mended_changes_nothing() {
    for (words, told) in [
        ("front 700 1H", "nothing is read there"),
        ("front 800 1F", "takes `H` or `T`"),
        ("19 1F", "names nothing to mend"),
        ("nonsense", "names nothing to mend"),
        ("nonsense 3", "unreadable"),
        ("level rough", "which level"),
        ("F1 up", "names nothing to mend"),
    ] {
        let machine = Machine::with(SURVEY);
        let run = machine.run(&format!("mend bed.toml {words}"));
        assert_ne!(run.status, 0, "{words}: {run:?}");
        assert!(run.complained.contains(told), "{words}: {run:?}");
        assert_eq!(machine.text(), SURVEY, "{words}");
    }
}

#[test]
fn the_pass_is_listed_with_its_numbers() {
    let machine = Machine::with(SURVEY);
    let run = machine.run("mend bed.toml");
    assert_eq!(run.status, 0);
    assert_snapshot!(run.printed);
}

const ROUNDS: &str = "
[pass.turned]
F1 = -1.5
R2 = 0.166667

[[pass]]
level = \"master\"
stations = [200, 400, 600, 800, 1000, 1200]
cross = [\"1F\", \"1F\", \"0.5F\", \"0.5F\", \"0.5F\", \"0.25F\"]
";

#[test]
fn all_rounds_in_one_table() {
    let machine = Machine::with(&format!("{SURVEY}{ROUNDS}"));
    let run = machine.run("history bed.toml");
    assert_eq!((run.status, run.complained.as_str()), (0, ""));
    assert_snapshot!("all_rounds", run.printed);
    let run = machine.program("history bed.toml").columns(40).run();
    assert!(run.printed.lines().all(|line| line.chars().count() <= 40));
    assert_snapshot!("all_rounds_on_a_phone", run.printed);
    assert_snapshot!(
        "all_rounds_as_json",
        machine.run("history bed.toml --json").printed
    );
}
