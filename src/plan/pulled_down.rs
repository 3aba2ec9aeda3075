//! What pulling down or slackening the anchors moved.

use super::advice::Advice;
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::{Passes, Told};
use crate::survey::{Anchors, Entry, Line, Reading};

/// What the anchors did to the twist of the bed before this pass, from its first cross station to its last; `None` where they
/// were not touched, something else was turned too, or the two passes were not read at the same places.
pub(super) fn pulled_down(passes: &Passes, pass: usize) -> Option<Advice> {
    let (before, now) = (
        passes.told(pass.checked_sub(1)?).ok()?,
        passes.told(pass).ok()?,
    );
    let anchors = now.pass.conditions.anchors?;
    let mut turned = before.pass.turned.iter().flatten();
    if !now.pass.anchors_changed_since(before.pass) || turned.any(|(_, turns)| *turns != 0.0) {
        return None;
    }
    let mut common: Vec<(f64, f64)> = across(now)
        .filter_map(|(at, slope)| {
            let mut same = across(before).filter(|(other, _)| (at - other).abs() < SAME_STATION);
            Some((at, slope - same.next()?.1))
        })
        .collect();
    common.sort_by(|a, b| a.0.total_cmp(&b.0));
    let [(first, at_first), .., (last, at_last)] = common.as_slice() else {
        return None;
    };
    if first >= last {
        return None;
    }
    let deviation = |told: &Told| told.adjustment.observations().deviation();
    // Two readings of each pass.
    let u95 = COVERAGE_95 * 2.0_f64.sqrt() * deviation(before).hypot(deviation(now));
    Some(Advice::Anchored {
        pulled: anchors == Anchors::PulledDown,
        twist: at_last - at_first,
        u95,
    })
}

/// Stations closer to each other than this are the same, m: nobody lays a level down more exactly.
const SAME_STATION: f64 = 1e-3;

/// The cross readings of a pass: where, m, and the slope with the zero error in it, m/m.
fn across<'t>(told: &'t Told) -> impl Iterator<Item = (f64, f64)> + 't {
    let division = told.level.division;
    let across = |reading: &&Reading| reading.line == Line::Cross && !reading.reversed;
    told.pass
        .readings
        .iter()
        .filter(across)
        .filter_map(move |reading| match &reading.entry {
            Entry::Read(seen) => {
                let mean = seen.iter().sum::<f64>() / seen.len() as f64;
                Some((reading.at, mean * division))
            }
            _ => None,
        })
}
