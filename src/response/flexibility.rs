//! What loads and weight bend and twist a beam, whatever carries it.

use nalgebra::{DMatrix, DVector};

use super::Place;
use super::model::BedModel;

/// Height of a beam of EI 1 at `at`, held clamped at its headstock end, per unit of load at `load`.
///
/// Loads in balance leave the clamp without force, so that it only stands for where the bed lies.
fn bent(at: f64, load: f64) -> f64 {
    let (near, far) = (at.min(load), at.max(load));
    near * near * (3.0 * far - near) / 6.0
}

/// The same for an even load of 1 per length on the whole of it.
fn bent_evenly(at: f64, length: f64) -> f64 {
    at * at * (6.0 * length * length - 4.0 * length * at + at * at) / 24.0
}

/// What loads and the weight do to the heights of some places, for EI and GJ of 1.
pub(super) struct Flexibility {
    pub bending: DMatrix<f64>,
    pub torsion: DMatrix<f64>,
    pub weight_bends: DVector<f64>,
    pub weight_twists: DVector<f64>,
}

impl Flexibility {
    pub fn of(model: &BedModel, places: &[Place]) -> Self {
        let by_foot = |form: &dyn Fn(Place, Place) -> f64| {
            DMatrix::from_fn(places.len(), model.feet.len(), |i, j| {
                form(places[i], model.feet[j].place)
            })
        };
        let twisted =
            |place: Place, load: Place| place.across * load.across * place.at.min(load.at);
        let by_weight = |form: &dyn Fn(Place, Place) -> f64, even: f64| {
            let at = |place: &Place| {
                let loads = model.point_loads.iter();
                let points: f64 = loads
                    .map(|load| load.force * form(*place, load.place))
                    .sum();
                -points - even * bent_evenly(place.at, model.length)
            };
            DVector::from_iterator(places.len(), places.iter().map(at))
        };
        let bends = |place: Place, load: Place| bent(place.at, load.at);
        Self {
            bending: by_foot(&bends),
            torsion: by_foot(&twisted),
            weight_bends: by_weight(&bends, model.weight_per_length),
            weight_twists: by_weight(&twisted, 0.0),
        }
    }
}
