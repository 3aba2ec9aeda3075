//! How much work a card takes, without a clock.

use quarterturn::geometry::Passes;
use quarterturn::plan;
use quarterturn::survey::read;
use quarterturn::work::Work;

const LATHE: &str = include_str!("../../demo-data/eight-foot-lathe.toml");

/// However many steps do as well as each other, a card has so many nodes to look at and no more, and what is said beside it
/// as many again.
#[test]
fn a_card_has_a_budget() {
    // A thread so fine that next to nothing is lost by a step more here and a step less there.
    let fine = LATHE.replace("lift_per_turn = 0.5", "lift_per_turn = 0.001");
    assert_ne!(fine, LATHE);
    let survey = read(&fine).expect("a survey");
    let nodes = done(Work::Node, || {
        plan::plan(&survey, 0).expect("a plan");
    });
    assert!(nodes <= 2_000_000, "{nodes} nodes");
}

fn done(work: Work, by: impl FnOnce()) -> u64 {
    let before = work.count();
    by();
    work.count() - before
}

/// What a card of three rounds tells and what it plans come of the same three adjustments.
#[test]
fn no_pass_is_adjusted_twice_in_a_run() {
    let survey = read(LATHE).expect("a survey");
    let passes = Passes::of(&survey);
    let last = survey.passes.len() - 1;
    let adjusted = done(Work::Adjustment, || {
        plan::after(&passes, last).expect("a plan");
        let told = passes.told(last).expect("readings");
        told.shape();
        told.particulars();
        told.suspects();
        plan::after(&passes, last).expect("the same plan");
    });
    assert_eq!(adjusted, survey.passes.len() as u64);
}
