//! Lays a level on the made-up bed and writes down what it shows.

use super::scatter::normal;
use super::virtual_bed::VirtualBed;
use crate::response::Place;
use crate::survey::{Conditions, Entry, Level, Line, Packing, Pass, Reading};

/// Where the level is laid down in a pass: middle of the level, m from the headstock end.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stations {
    /// Across both ways.
    pub cross: Vec<f64>,
    /// Across both ways, turned end for end.
    pub cross_reversed: Vec<f64>,
    /// Along the front way.
    pub front: Vec<f64>,
    /// Along the rear way.
    pub rear: Vec<f64>,
}

impl Stations {
    /// The same stations as in a pass; turned readings along a way are left out.
    pub fn of_pass(pass: &Pass) -> Self {
        let mut stations = Self::default();
        for reading in &pass.readings {
            match (reading.line, reading.reversed) {
                (Line::Cross, false) => stations.cross.push(reading.at),
                (Line::Cross, true) => stations.cross_reversed.push(reading.at),
                (Line::Front, false) => stations.front.push(reading.at),
                (Line::Rear, false) => stations.rear.push(reading.at),
                (Line::Front | Line::Rear, true) => {}
            }
        }
        stations
    }

    /// Stations a level's base apart all along the bed, the same on all three lines, so that the along
    /// readings chain end to end.
    pub fn chained(length: f64, base: f64) -> Self {
        let count = (length / base + 1e-9).floor().max(1.0);
        let mut at = (length - (count - 1.0) * base) / 2.0;
        let mut chain = vec![];
        while at < length {
            chain.push(at);
            at += base;
        }
        Self {
            cross: chain.clone(),
            cross_reversed: vec![],
            front: chain.clone(),
            rear: chain,
        }
    }
}

impl VirtualBed {
    /// One complete set of readings, as a person would write it.
    ///
    /// The level is set up anew: its zero errors, one across and one along, hold for this pass and for whatever
    /// is watched until the next one. Along readings need a level with a base; without one they are missing.
    pub fn take_pass(&mut self, level: &Level, stations: &Stations) -> Pass {
        self.set_up_level();
        let lines = [
            (Line::Cross, false, &stations.cross),
            (Line::Cross, true, &stations.cross_reversed),
            (Line::Front, false, &stations.front),
            (Line::Rear, false, &stations.rear),
        ];
        let mut readings = vec![];
        for (line, reversed, stations) in lines {
            for &at in stations {
                let noise = self.noise(level);
                let entry = self.entry(level, line, reversed, at, noise);
                readings.push(Reading {
                    line,
                    reversed,
                    at,
                    entry,
                });
            }
        }
        Pass {
            taken: None,
            level: level.name.clone(),
            readings,
            hanging: self.stance.hanging().collect(),
            felt: false,
            barely: vec![],
            note: None,
            conditions: Conditions {
                packing: self.packing,
                ..Conditions::default()
            },
            turned: None,
        }
    }

    /// Lays this under the level, from now on.
    pub fn pack(&mut self, packing: Packing) {
        self.packing = packing;
    }

    /// The slope under the level, m/m, positive with the front or the tailstock end high; along a way only
    /// with a base.
    pub fn true_slope(&self, level: &Level, line: Line, at: f64) -> Option<f64> {
        let ends = self.ends(level, line, at)?;
        let heights = self.true_heights(&ends);
        let distance = (ends[0].at - ends[1].at).hypot(ends[0].across - ends[1].across);
        Some((heights[0] - heights[1]) / distance)
    }

    /// The two places on which the level rests, that at the front or the tailstock end first.
    pub(super) fn ends(&self, level: &Level, line: Line, at: f64) -> Option<[Place; 2]> {
        let half = self.survey.bed.way_spacing / 2.0;
        let place = |at, across| Place { at, across };
        let along = |across| {
            let reach = level.base? / 2.0;
            Some([place(at + reach, across), place(at - reach, across)])
        };
        match line {
            Line::Cross => Some([place(at, half), place(at, -half)]),
            Line::Front => along(half),
            Line::Rear => along(-half),
        }
    }

    /// Noise of laying the level down once, divisions.
    pub(super) fn noise(&mut self, level: &Level) -> f64 {
        let own = level.repeat.filter(|_| self.scatter.reading_noise > 0.0);
        normal(
            &mut self.random,
            own.unwrap_or(self.scatter.reading_noise * level.eyes()),
        )
    }

    /// What is written down for a level that lies there with this noise.
    pub(super) fn entry(
        &self,
        level: &Level,
        line: Line,
        reversed: bool,
        at: f64,
        noise: f64,
    ) -> Entry {
        let Some(slope) = self.true_slope(level, line, at) else {
            return Entry::Missing;
        };
        let zero = match line {
            Line::Cross => self.cross_zero,
            Line::Front | Line::Rear => self.along_zero,
        };
        let zero = zero * level.eyes();
        let zero = if reversed { -zero } else { zero };
        let spacing = self.survey.bed.way_spacing;
        let packed = self.packing.slope(line, spacing, level.base);
        let shown = (slope + packed) / level.division + zero + noise;
        let range = level.range.unwrap_or(f64::INFINITY);
        if shown.abs() > range {
            return Entry::OffScale(range.copysign(shown));
        }
        let rounding = if level.is_read_by_eye() {
            self.scatter.rounding
        } else {
            level.resolution
        };
        Entry::Read(vec![round_to(shown, rounding)])
    }
}

/// The nearest multiple of a step, or the value itself for a step of 0; never minus zero.
fn round_to(value: f64, step: f64) -> f64 {
    if step > 0.0 {
        // Divided by a whole number a decimal comes out as it is written.
        let parts = step.recip();
        let count = (value / step).round();
        if (parts - parts.round()).abs() < 1e-9 * parts {
            count / parts.round() + 0.0
        } else {
            step * count + 0.0
        }
    } else {
        value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chained_stations_fill_the_bed() {
        let stations = Stations::chained(0.65, 0.2);
        let want = [0.125, 0.325, 0.525];
        assert_eq!(stations.front.len(), 3);
        for (got, want) in stations.front.iter().zip(want) {
            assert!((got - want).abs() < 1e-12);
        }
        assert_eq!(Stations::chained(1.0, 0.2).rear.len(), 5);
        assert_eq!(Stations::chained(0.1, 0.2).cross.len(), 1);
    }

    #[test]
    fn rounding_knows_no_minus_zero() {
        assert!(round_to(-0.1, 0.25).is_sign_positive());
        assert!((round_to(-0.13, 0.25) + 0.25).abs() < 1e-15);
        assert!((round_to(0.37, 0.0) - 0.37).abs() < 1e-15);
    }
}
