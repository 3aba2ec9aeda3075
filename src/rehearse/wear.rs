//! The ways as they were ground and worn: what no foot can cure.

use std::f64::consts::PI;

use rand::{Rng, RngExt};

use super::scatter::{Scatter, normal};
use crate::response::Place;
use crate::survey::Survey;

/// Waves of a grinder: one, two and three half waves over the bed.
const WAVES: i32 = 3;

/// Departures of both ways from the casting's own shape.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Wear {
    way_spacing: f64,
    /// Middle of the worn hollow, m from the headstock end.
    middle: f64,
    /// Its half width where it is `1/e` deep, m.
    half_width: f64,
    front: Way,
    rear: Way,
}

/// Departures of one way.
#[derive(Debug, Clone, PartialEq)]
struct Way {
    /// Depth of the hollow, m.
    depth: f64,
    /// Wave number, 1/m, size, m, and phase of each wave.
    waves: Vec<[f64; 3]>,
}

impl Wear {
    pub fn new(survey: &Survey, scatter: &Scatter, random: &mut impl Rng) -> Self {
        let length = survey.bed.length;
        let middle = length * random.random_range(0.2..0.35);
        let half_width = length * random.random_range(0.1..0.2);
        let mut way = |share: f64| {
            let depth = share * scatter.wear_hollow * random.random_range(0.5..1.5);
            let waves = (1..=WAVES)
                .map(|wave| {
                    let size = normal(random, scatter.wear_waves / f64::from(wave));
                    [PI * f64::from(wave) / length, size, normal(random, PI)]
                })
                .collect();
            Way { depth, waves }
        };
        Self {
            way_spacing: survey.bed.way_spacing,
            middle,
            half_width,
            front: way(1.0),
            rear: way(0.5),
        }
    }

    /// Height of the surface above the casting's own shape, m; straight across from way to way.
    pub fn height(&self, place: Place) -> f64 {
        let [front, rear] = [&self.front, &self.rear].map(|way| self.of_way(way, place.at));
        f64::midpoint(front, rear) + (front - rear) * place.across / self.way_spacing
    }

    fn of_way(&self, way: &Way, at: f64) -> f64 {
        let distance = (at - self.middle) / self.half_width;
        let waves = way.waves.iter();
        waves
            .map(|[number, size, phase]| size * (number * at + phase).sin())
            .sum::<f64>()
            - way.depth * (-distance * distance).exp()
    }
}
