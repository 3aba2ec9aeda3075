//! Whether the feet that do not hang carry the bed.
//!
//! A body stands where its centre of gravity is over the area that its supports span (statics). So three feet that are
//! not in line are the fewest, and where the masses are known they must be around the middle of the weight, as near
//! as a survey knows it.

use std::f64::consts::PI;

use crate::survey::diagnostic::Diagnostic;
use crate::survey::document::Item;
use crate::survey::model::{Bed, Foot, Machine};

/// A survey knows the middle of the weight to this share of the bed's length, and of the ways' spacing across: saddle,
/// tailstock and motor are not in it (order of magnitude, no source).
const WEIGHT_KNOWN_TO: f64 = 0.1;

/// Feet whose directions leave a gap this near to half a turn stand in line, radians.
const IN_LINE: f64 = 1e-6;

/// Reports feet that cannot all hang.
pub(super) fn report(
    item: &Item<'_>,
    hanging: &[usize],
    feet: &[Foot],
    bed: &Bed,
    machine: &Machine,
) {
    let left = (0..feet.len()).filter(|foot| !hanging.contains(foot));
    let left: Vec<&Foot> = left.map(|foot| &feet[foot]).collect();
    let at: Vec<[f64; 2]> = left.iter().map(|foot| [foot.at, foot.across]).collect();
    let left: Vec<String> = left.iter().map(|foot| format!("`{}`", foot.name)).collect();
    let reason = if left.is_empty() {
        "no foot is left to carry the bed".to_owned()
    } else if !spans(&at) {
        format!("nothing but {} carries then", left.join(", "))
    } else if !carries(&at, bed, machine) {
        format!("on {} alone it would tip over", left.join(", "))
    } else {
        return;
    };
    let diagnostic = Diagnostic::new(item.span.clone(), "so many feet cannot hang")
        .label(reason)
        .help("name only feet that are loose to the hand: at least three that are not in line carry, around the middle of the weight");
    item.reader.report(diagnostic);
}

/// Whether these places are not all in one line.
fn spans(feet: &[[f64; 2]]) -> bool {
    let count = feet.len() as f64;
    let middle = [0, 1].map(|axis| feet.iter().map(|foot| foot[axis]).sum::<f64>() / count);
    feet.len() > 2 && widest_gap(feet, middle) < PI - IN_LINE
}

/// Whether these feet are around some place where the middle of the weight may be; always when no mass is known.
fn carries(feet: &[[f64; 2]], bed: &Bed, machine: &Machine) -> bool {
    let Some(mass) = machine.mass else {
        return true;
    };
    let headstock = machine
        .headstock
        .map_or(0.0, |headstock| headstock.mass.min(mass) / mass);
    let at = machine.headstock.map_or(0.0, |headstock| headstock.at);
    let middle = headstock * at + (1.0 - headstock) * bed.length / 2.0;
    let (along, across) = (
        WEIGHT_KNOWN_TO * bed.length,
        WEIGHT_KNOWN_TO * bed.way_spacing,
    );
    [-1.0, 0.0, 1.0].into_iter().any(|k| {
        [-1.0, 0.0, 1.0].into_iter().any(|l| {
            let place = [middle + k * along, l * across];
            widest_gap(feet, place) < PI - IN_LINE
        })
    })
}

/// The widest angle between the directions in which neighbours are seen from a place, radians: less than half a turn
/// where they are all around it.
fn widest_gap(feet: &[[f64; 2]], from: [f64; 2]) -> f64 {
    let mut directions: Vec<f64> = feet
        .iter()
        .map(|foot| (foot[1] - from[1]).atan2(foot[0] - from[0]))
        .collect();
    directions.sort_by(f64::total_cmp);
    let Some(first) = directions.first() else {
        return 2.0 * PI;
    };
    let next = directions.iter().skip(1).copied().chain([first + 2.0 * PI]);
    let gaps = directions.iter().zip(next).map(|(one, next)| next - one);
    gaps.fold(0.0, f64::max)
}
