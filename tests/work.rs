//! How much work a card takes, without a clock.

use quarterturn::geometry::Passes;
use quarterturn::plan;
use quarterturn::survey::read;
use quarterturn::work::Work;

const LATHE: &str = include_str!("../demo-data/eight-foot-lathe.toml");

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
