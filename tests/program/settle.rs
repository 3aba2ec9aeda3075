//! `quarterturn settle` on the demo survey.

use insta::assert_snapshot;

use crate::program::Program;

#[test]
fn a_floor_that_gives_way() {
    assert_snapshot!(Program::with("settle demo-data/settling.toml").prints());
}

#[test]
fn anchors_that_were_pulled_down() {
    assert_snapshot!(Program::with("settle demo-data/settling.toml --pass 2 --units in").prints());
}

#[test]
fn anchors_that_were_pulled_down_as_json() {
    assert_snapshot!(Program::with("settle demo-data/settling.toml --pass 2 --json").prints());
}

#[test]
fn a_single_pass() {
    let run = Program::with("settle demo-data/cross-only.toml").run();
    assert_eq!(run.status, 1);
    assert!(
        run.complained.contains("no pass to compare it with"),
        "{}",
        run.complained
    );
}
