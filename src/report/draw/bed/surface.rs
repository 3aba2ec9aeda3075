//! The heights that are drawn.

use crate::geometry::{BedShape, Way};

/// A way as places and heights, m.
pub(super) type Heights = Vec<(f64, f64)>;

/// Heights of the front and of the rear way, those that are known.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Surface {
    /// The front way.
    pub front: Heights,
    /// The rear way.
    pub rear: Heights,
    /// Whether only the twist is known and crown or sag are left out.
    pub twist_only: bool,
}

impl Surface {
    /// Heights of both ways; where only cross slopes are known, the twist alone, the middle of the bed left straight.
    pub fn of(shape: &BedShape, way_spacing: f64) -> Self {
        let heights = |way: &Option<Way>| -> Heights {
            way.iter()
                .flat_map(|way| way.points.iter())
                .map(|point| (point.at, point.height))
                .collect()
        };
        let (front, rear) = (heights(&shape.front), heights(&shape.rear));
        if !front.is_empty() || !rear.is_empty() || shape.cross.len() < 2 {
            return Self {
                front,
                rear,
                twist_only: false,
            };
        }
        let count = shape.cross.len() as f64;
        let mean = shape.cross.iter().map(|cross| cross.slope).sum::<f64>() / count;
        let half = |sign: f64| {
            shape
                .cross
                .iter()
                .map(|cross| (cross.at, sign * (cross.slope - mean) * way_spacing / 2.0))
                .collect()
        };
        Self {
            front: half(1.0),
            rear: half(-1.0),
            twist_only: true,
        }
    }

    /// The largest height, up or down.
    pub fn largest(&self) -> f64 {
        self.front
            .iter()
            .chain(&self.rear)
            .map(|(_, height)| height.abs())
            .fold(0.0, f64::max)
    }
}

/// The height of a way at a place between two of its own.
pub(super) fn between(heights: &Heights, at: f64) -> Option<f64> {
    heights.windows(2).find_map(|pair| {
        let [(from, low), (to, high)] = pair else {
            return None;
        };
        let inside = (*from - 1e-9..=*to + 1e-9).contains(&at) && to > from;
        inside.then(|| low + (high - low) * (at - from) / (to - from))
    })
}
