//! What to read next, as an object.

use serde::Serialize;

use super::number::{Milli, Place, Plain};
use crate::plan::NextPass;
use crate::survey::{Line, Packing};

/// The pass to take next.
#[derive(Debug, Serialize)]
pub struct NextPassObject {
    level: String,
    stations: StationsObject,
    packing: Vec<StripObject>,
    expected_minutes: Plain,
    minutes_until_proven: Plain,
}

#[derive(Debug, Serialize)]
#[expect(clippy::struct_field_names, reason = "the names are those of the JSON")]
struct StationsObject {
    cross_at_mm: Vec<Place>,
    front_at_mm: Vec<Place>,
    rear_at_mm: Vec<Place>,
}

/// A strip under one end of the level at every station of a line.
#[derive(Debug, Serialize)]
pub struct StripObject {
    line: &'static str,
    under: char,
    height_mm: Milli,
}

impl StripObject {
    /// Of a thickness (m) with the sign of the end that it raises.
    pub fn of(line: Line, height: f64) -> Self {
        Self {
            line: if line == Line::Cross {
                "cross"
            } else {
                "along"
            },
            under: Packing::letter(line, height),
            height_mm: Milli::of(height.abs()),
        }
    }
}

impl NextPassObject {
    /// Fills the object.
    pub fn of(next: &NextPass) -> Self {
        let places = |at: &[f64]| at.iter().map(|at| Place::of(*at)).collect();
        let strips = [Line::Cross, Line::Front].into_iter();
        Self {
            level: next.level.clone(),
            stations: StationsObject {
                cross_at_mm: places(&next.stations.cross),
                front_at_mm: places(&next.stations.front),
                rear_at_mm: places(&next.stations.rear),
            },
            packing: strips
                .filter(|line| next.packing.on(*line) != 0.0)
                .map(|line| StripObject::of(line, next.packing.on(line)))
                .collect(),
            expected_minutes: Plain::of(next.expected_minutes),
            minutes_until_proven: Plain::of(next.minutes_until_proven),
        }
    }
}
