//! What changed between two passes: twist and crown, and every place.
//!
//! All of it is asked of the one [`Movement`] between them.

use nalgebra::{DMatrix, RowDVector};

use super::movement::Movement;
use super::trace::{Compared, Quantity};
use crate::geometry::Figure;
use crate::geometry::figure::COVERAGE_95;

/// What changed of a quantity.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// What it is.
    pub quantity: Quantity,
    /// Its change.
    pub change: Figure,
    /// Change at every place, none where the quantity's own datum is.
    pub places: Vec<PlaceChange>,
}

/// What changed at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaceChange {
    /// Distance from the headstock end, m.
    pub at: f64,
    /// Change of cross slope less its mean, m/m, or of height above the line through the way's ends, m.
    pub change: f64,
    /// Its expanded uncertainty.
    pub u95: f64,
}

impl PlaceChange {
    /// Whether it is more than its uncertainty.
    pub fn is_real(&self) -> bool {
        self.change.abs() > self.u95
    }
}

impl Moved {
    /// All quantities that both passes tell, from the first of the compared passes to the last.
    pub fn between(compared: &Compared) -> Vec<Self> {
        let [first, .., last] = compared.adjustments() else {
            return Vec::new();
        };
        let movement = Movement::between(first, last);
        Quantity::ALL
            .into_iter()
            .filter_map(|quantity| Self::of(quantity, compared.places(quantity), &movement))
            .collect()
    }

    fn of(quantity: Quantity, at: &[f64], movement: &Movement) -> Option<Self> {
        let weights = quantity.weights(at)?;
        let departures = quantity.departures(at)?;
        let rows: Vec<RowDVector<f64>> = at
            .iter()
            .map(|at| match quantity {
                Quantity::Twist => movement.cross_slope(*at),
                Quantity::Crown(side) => movement.height(side, *at),
            })
            .collect::<Option<_>>()?;
        let rows = DMatrix::from_rows(&rows);
        let system = movement.system();
        let whole = weights * &rows;
        let change = system.value(whole.transpose().as_view())?;
        let deviation = system.covariance_root(&DMatrix::from_rows(&[whole])).norm();
        let rows = departures * rows;
        let changes = &rows * &system.unknowns;
        let root = system.covariance_root(&rows);
        // Where a departure has no uncertainty at all, it is a datum.
        let places = (0..at.len())
            .map(|k| PlaceChange {
                at: at[k],
                change: changes[k],
                u95: COVERAGE_95 * root.row(k).norm(),
            })
            .filter(|place| place.u95 > 0.0)
            .collect();
        Some(Self {
            quantity,
            change: Figure::normal(change, deviation),
            places,
        })
    }
}
