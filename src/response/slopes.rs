//! The slope that a level shows, in terms of the surface.

use nalgebra::RowDVector;

use crate::geometry::{Layout, Roughness};
use crate::survey::{Line, Side};

/// The slope a level shows as a function of the surface's unknowns.
///
/// The same as a [`Rise`](crate::geometry::Rise) on the heights, but what cancels is never there: a residue of rounding in
/// a column that should be empty would pass for knowledge.
pub(super) fn slope_function(
    layout: &Layout,
    line: Line,
    at: f64,
    half_base: f64,
    way_spacing: f64,
    roughness: Roughness,
) -> Option<RowDVector<f64>> {
    let side = match line {
        Line::Cross => {
            return Some(layout.half(layout.index(at)?, roughness) * (2.0 / way_spacing));
        }
        Line::Front => Side::Front,
        Line::Rear => Side::Rear,
    };
    let (low, high) = (layout.index(at - half_base)?, layout.index(at + half_base)?);
    let rise = layout.height(side, high, roughness) - layout.height(side, low, roughness);
    (low != high).then(|| rise / (2.0 * half_base))
}
