//! What the program says and how it ends when it has nothing to print.

use insta::assert_snapshot;

use crate::program::{Program, Run};

/// The run, all of it.
fn told(run: &Run) -> String {
    format!(
        "exit status {}\n--- standard output\n{}--- standard error\n{}",
        run.status, run.printed, run.complained
    )
}

fn demo(name: &str) -> String {
    let path = format!("{}/demo-data/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).expect("the demo data is there")
}

#[test]
fn mistakes_in_the_survey_are_all_told() {
    let survey = demo("cross-only.toml")
        .replace("\"6.5F\"", "\"6.5T\"")
        .replace("way_spacing = 220", "way_spacing = -220");
    let run = Program::with("shape").input(survey).run();
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert_snapshot!(told(&run));
}

#[test]
fn a_file_that_is_not_there() {
    let run = Program::with("shape demo-data/no-such.toml").run();
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert!(
        run.complained.contains("`demo-data/no-such.toml`"),
        "{run:?}"
    );
}

#[test]
fn a_survey_that_is_not_text() {
    let run = Program::with("shape -").input(b"format = 1 # \xff").run();
    assert_snapshot!(told(&run));
}

#[test]
fn nothing_in_the_pipe() {
    assert_snapshot!(told(&Program::with("shape").run()));
}

#[test]
fn a_pass_that_is_not_there() {
    let run = Program::with("shape demo-data/cross-only.toml --pass 7").run();
    assert_snapshot!(told(&run));
}

#[test]
fn passes_count_from_one() {
    let run = Program::with("shape demo-data/cross-only.toml --pass 0").run();
    assert_eq!((run.status, run.printed.as_str()), (2, ""));
}

#[test]
fn a_survey_without_a_pass() {
    let survey = demo("cross-only.toml");
    let (machine, _) = survey.split_once("[[pass]]").expect("there is a pass");
    assert_snapshot!(told(&Program::with("shape").input(machine).run()));
}

#[test]
fn a_pass_without_readings() {
    let survey = demo("cross-only.toml")
        .lines()
        .map(|line| match line.split_once(" = ") {
            Some(("cross", _)) => "cross = [\"-\", \"-\", \"-\", \"-\", \"-\"]",
            _ => line,
        })
        .collect::<Vec<_>>()
        .join("\n");
    assert_snapshot!(told(&Program::with("shape").input(survey).run()));
}

#[test]
fn readings_that_show_nothing_to_turn_by() {
    let survey = demo("cross-only.toml").replace(
        "cross = [\"6.5F\", \"4F\", \"1.75F\", \"1R\", \"3.25R\"]",
        "cross = [\"6.5F\", \"-\", \"-\", \"-\", \"-\"]",
    );
    let run = Program::with("turns").input(survey).run();
    assert_eq!((run.status, run.printed.as_str()), (1, ""));
    assert_snapshot!(told(&run));
}

#[test]
fn a_closed_pipe_is_no_failure() {
    for command in [
        "shape",
        "shape --json",
        "shape --help",
        "turns",
        "turns --json",
    ] {
        let run =
            Program::with(&format!("{command} demo-data/cross-only.toml")).run_into_closed_pipe();
        assert_eq!((run.status, run.complained.as_str()), (0, ""), "{command}");
    }
}

#[test]
fn a_piped_survey_reads_like_a_file() {
    let named = Program::with("shape demo-data/cross-only.toml --json").prints();
    for arguments in ["shape --json", "shape - --json"] {
        let piped = Program::with(arguments).input(demo("cross-only.toml"));
        assert_eq!(piped.prints(), named, "{arguments}");
    }
}

#[test]
fn only_who_asks_gets_the_verdict_as_a_status() {
    let status = |arguments: &str| Program::with(arguments).run().status;
    assert_eq!(status("shape demo-data/cross-only.toml"), 0);
    assert_eq!(status("shape demo-data/cross-only.toml --fail-outside"), 3);
    // No limits, so none is broken.
    assert_eq!(
        status("shape demo-data/autocollimator-table.toml --fail-outside"),
        0
    );
}

#[test]
fn a_limit_on_what_is_not_known_is_not_proven() {
    let survey = demo("cross-only.toml").replace("\"0.04 mm/m\"", "\"4 mm/m\"\ncrown = [0, 1]");
    let run = Program::with("shape --fail-outside").input(survey).run();
    assert_eq!(run.status, 3, "{run:?}");
    assert!(run.printed.contains("not everything is known"), "{run:?}");
}

#[test]
fn colour_is_for_who_wants_it() {
    let escapes = |program: Program| program.prints().contains('\u{1b}');
    let shape = "shape demo-data/cross-only.toml";
    assert!(!escapes(Program::with(shape)));
    assert!(!escapes(Program::with(shape).colour_allowed()));
    let always = format!("{shape} --color always");
    assert!(escapes(Program::with(&always).colour_allowed()));
    let never = format!("{shape} --color never");
    assert!(!escapes(Program::with(&never).colour_allowed()));
}

#[test]
fn no_line_is_wider_than_the_screen() {
    for columns in [40, 60, 80] {
        for command in [
            "shape demo-data/autocollimator-table.toml --details",
            "shape demo-data/eight-foot-lathe.toml --details",
            "shape demo-data/twelve-foot-planer-inch.toml --details",
            "turns demo-data/eight-foot-lathe.toml",
            "turns demo-data/twelve-foot-planer-inch.toml --pass 1",
        ] {
            for line in Program::with(command).columns(columns).prints().lines() {
                let width = line.chars().count();
                assert!(width <= columns, "{width} > {columns}: {line}");
            }
        }
    }
}
