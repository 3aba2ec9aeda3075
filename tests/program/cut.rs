//! `quarterturn cut` on the demo survey.

use insta::assert_snapshot;

use crate::program::Program;

#[test]
fn a_slewed_headstock() {
    assert_snapshot!(Program::with("cut demo-data/test-cut.toml").prints());
}

#[test]
fn a_slewed_headstock_as_json() {
    assert_snapshot!(Program::with("cut demo-data/test-cut.toml --json").prints());
}

#[test]
fn a_survey_without_a_cut() {
    let run = Program::with("cut demo-data/cross-only.toml").run();
    assert_eq!(run.status, 1);
    assert!(
        run.complained.contains("the survey holds no test cut"),
        "{}",
        run.complained
    );
}

#[test]
fn a_cut_that_is_not_there() {
    let run = Program::with("cut demo-data/test-cut.toml --cut 2").run();
    assert_eq!(run.status, 2);
    assert!(
        run.complained.contains("there is no cut 2"),
        "{}",
        run.complained
    );
}
