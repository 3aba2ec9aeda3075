//! Turns under a bed that only rests on its feet.
//!
//! Planned in loads: every foot is to carry its share afterwards. Then the bed lies as it would with feet that push and
//! pull, and the lifts follow in proportion, so that nothing runs: a foot that carries nothing now is not free to go
//! anywhere, it is to carry then.

use super::departures::Kind;
use super::footing::{Footing, KEPT, LEAST_SHARE};
use super::objective::Objective;
use super::steps::Lifts;
use crate::survey::Survey;

/// No foot is lifted by more than so many times what the shape is out by, and what loads squeeze a foot.
const TIMES_OUT: f64 = 3.0;

/// What it costs at least, shares of the limits squared, to leave a foot idle that is held to its least load: the square of that
/// load over how strictly it is kept, and half of it that nothing is spared.
pub(super) const LEAST_LOAD_MISSED: f64 = LEAST_SHARE * LEAST_SHARE / (KEPT * KEPT) / 2.0;

/// The problem with loads that are as even as the shape allows, each inside its bounds.
///
/// A load that the best lifts leave outside is held at its bound, until none is (an active-set method that
/// releases none; Nocedal & Wright, *Numerical Optimization*, chapter 16, from memory).
pub(super) fn well_borne(lifts: &Lifts, footing: &Footing) -> Lifts {
    let even = lifts.clone().with(footing.evenness());
    let mut held: Vec<(usize, f64)> = Vec::new();
    loop {
        let bounded = even.clone().with(footing.to_carry(&held));
        let outside = footing.out_of_bounds(&bounded.free());
        let new = |load: &(usize, f64)| held.iter().all(|held| held.0 != load.0);
        let outside: Vec<_> = outside.into_iter().filter(new).collect();
        if outside.is_empty() {
            return bounded;
        }
        held.extend(outside);
    }
}

/// The farthest a foot of a resting bed is lifted in one round, m; `None` where anchors hold it.
pub(super) fn farthest(objective: &Objective, footing: &Footing, survey: &Survey) -> Option<f64> {
    let squeeze = footing.squeeze()?;
    let across = survey.feet.iter().map(|foot| foot.across);
    let width = across.clone().fold(0.0, f64::max) - across.fold(0.0, f64::min);
    let off = (0..objective.now.len()).map(|row| {
        let off = (objective.now[row] - objective.target[row]).abs();
        match objective.kind[row] {
            Kind::OffLine(_) => off,
            Kind::Twist => off * width,
            Kind::Lean | Kind::Scale => off * survey.bed.length,
            Kind::Unseen => 0.0,
        }
    });
    Some(TIMES_OUT * (off.fold(0.0, f64::max) + squeeze))
}
