//! The bar of a test cut as numbers.

use crate::geometry::figure::COVERAGE_95;
use crate::survey::{Collar, Cut};

/// How far a measured diameter may be off, 95 times in 100, where the survey does not say, m: a good
/// micrometer in practised hands (common practice, no source).
pub const USUAL_MICROMETER: f64 = 3e-6;

/// Two collars nearer than this stand at the same place, m.
const SAME_PLACE: f64 = 1e-6;

/// The collars of one or more bars that were turned alike.
///
/// Every bar has a size of its own and only differences along it count, so a micrometer that is wrong by a
/// constant changes nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// The collars in file order.
    pub collars: Vec<Collar>,
    /// Standard deviation of one measured diameter, m.
    pub deviation: f64,
    /// Whether the survey gives that deviation; if not, it is the usual one.
    pub deviation_given: bool,
}

impl Bar {
    /// The bar of a cut.
    pub fn of(cut: &Cut) -> Self {
        Self {
            collars: cut.collars.clone(),
            deviation: cut.micrometer.unwrap_or(USUAL_MICROMETER) / COVERAGE_95,
            deviation_given: cut.micrometer.is_some(),
        }
    }

    /// Distances of the collars from the chuck, m.
    pub fn places(&self) -> Vec<f64> {
        self.collars
            .iter()
            .map(|collar| collar.from_chuck)
            .collect()
    }

    /// Number of the different places on the bars.
    pub fn different_places(&self) -> usize {
        let mut places = self.places();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
        places.len()
    }

    /// The nearest and the farthest collar, m from the chuck.
    pub fn span(&self) -> [f64; 2] {
        self.places()
            .iter()
            .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], at| {
                [low.min(*at), high.max(*at)]
            })
    }
}
