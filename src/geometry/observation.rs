//! Readings of a pass as observations: what slope was seen where, and how well.

use super::warmth::Warmth;
use crate::survey::{Entry, Level, Line, Pass, Side};

/// How many readings' worth of trust a stated `repeat` gets against the scatter of repeats in the pass.
const STATED_REPEAT_WEIGHT: f64 = 10.0;
/// The same for a repeat nobody stated.
const DEFAULT_REPEAT_WEIGHT: f64 = 2.0;

/// Finest parts of a division a person reads, coarsest first; the first that fits all readings of a pass
/// is how they were rounded.
const READABLE_STEPS: [f64; 7] = [1.0, 0.5, 0.25, 0.2, 0.1, 0.05, 0.01];

/// What a person who takes care reads a division to (common practice, no source).
const USUAL_STEP: f64 = 0.25;

/// With fewer readings than this that are not zero, nothing coarser than the usual step is
/// concluded.
const TELLING_READINGS: usize = 4;

/// How far a reading may lie from a multiple of the step and still count as one, divisions.
const STEP_TOLERANCE: f64 = 1e-6;

/// A reading off the scale is at least at the end of the scale; when it must be used as a number, this is
/// how uncertain it is, divisions of a level that is read by eye.
const OFF_SCALE_DEVIATION: f64 = 1.0;

/// Standard deviation of a level's zero error where nobody has reversed it, divisions of a level that is read by eye
/// (order of magnitude, no source).
pub const ZERO_OF_A_LEVEL: f64 = 3.0;

/// One place where the level was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// Position among the pass's readings.
    pub reading: usize,
    /// The line it belongs to.
    pub line: Line,
    /// Whether the level was turned end for end.
    pub reversed: bool,
    /// Middle of the level, m from the headstock end.
    pub at: f64,
    /// Slope seen, m/m, with the level's zero error and its packing in it.
    pub slope: f64,
    /// How much of it the packing under one end of the level is, m/m.
    pub packed: f64,
    /// Its standard deviation, m/m.
    pub deviation: f64,
    /// The slope is only a bound; its sign says which way it goes on.
    pub bound: bool,
    /// What a warm bed showed more, m/m: it is taken off the slope already.
    pub warm: f64,
}

/// The observations of one pass and how its readings scatter.
#[derive(Debug, Clone, PartialEq)]
pub struct Observations {
    /// Read or off the scale, in the order of the pass.
    pub rows: Vec<Observation>,
    /// One graduation, m/m.
    pub division: f64,
    /// Half the length of the level, m; zero when no along reading needs it.
    pub half_base: f64,
    /// Standard deviation of a single reading without rounding, divisions.
    pub repeat: f64,
    /// The readings are rounded to multiples of this, divisions.
    pub step: f64,
    /// The bow of a warm bed that is taken off them.
    pub warmth: Option<Warmth>,
}

/// Places where the level will be laid down, m from the headstock end to its middle.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stations {
    /// Across.
    pub cross: Vec<f64>,
    /// Along the front way.
    pub front: Vec<f64>,
    /// Along the rear way.
    pub rear: Vec<f64>,
}

impl Observation {
    /// The way along which the level lay; `None` for a cross reading.
    pub fn side(&self) -> Option<Side> {
        match self.line {
            Line::Cross => None,
            Line::Front => Some(Side::Front),
            Line::Rear => Some(Side::Rear),
        }
    }

    /// Slope that the level would have shown without its packing, m/m: of the surface, and its zero error.
    pub fn unpacked(&self) -> f64 {
        self.slope - self.packed
    }

    /// What the level showed, m/m, on the bed as warm as it was.
    pub fn as_read(&self) -> f64 {
        self.slope + self.warm
    }
}

impl Observations {
    /// Every reading with half the length of the level, m.
    pub fn with_half_base(&self) -> Vec<(&Observation, f64)> {
        let half = self.half_base;
        self.rows.iter().map(|row| (row, half)).collect()
    }

    /// Turns a pass on ways so far apart (m) into observations; a station without a reading gives none.
    pub fn of(pass: &Pass, level: &Level, way_spacing: f64) -> Self {
        let packing = pass.conditions.packing;
        let step = if level.is_read_by_eye() {
            readable_step(pass)
        } else {
            level.resolution
        };
        let repeat = pooled_repeat(pass, level);
        let rounding = step / 12.0_f64.sqrt();
        let rows = pass
            .readings
            .iter()
            .enumerate()
            .filter_map(|(index, reading)| {
                let (divisions, deviation, bound) = match &reading.entry {
                    Entry::Missing => return None,
                    Entry::Read(seen) => {
                        let mean = seen.iter().sum::<f64>() / seen.len() as f64;
                        let scatter = repeat / (seen.len() as f64).sqrt();
                        (mean, scatter.hypot(rounding), false)
                    }
                    Entry::OffScale(end) => (*end, OFF_SCALE_DEVIATION * level.eyes(), true),
                };
                Some(Observation {
                    reading: index,
                    line: reading.line,
                    reversed: reading.reversed,
                    at: reading.at,
                    slope: divisions * level.division,
                    packed: packing.slope(reading.line, way_spacing, level.base),
                    deviation: deviation * level.division,
                    bound,
                    warm: 0.0,
                })
            })
            .collect();
        Self {
            rows,
            division: level.division,
            half_base: level.base.unwrap_or(0.0) / 2.0,
            repeat,
            step,
            warmth: None,
        }
    }

    /// The same on a bed of this length (m) as it is when it has come to one temperature: the slope that a level shows on the
    /// bow is taken off.
    #[must_use]
    pub fn cooled(mut self, warmth: Option<Warmth>, length: f64) -> Self {
        if let Some(warmth) = warmth {
            for row in self.rows.iter_mut().filter(|row| row.line != Line::Cross) {
                // The middle stands up: the bed rises less and less towards the tailstock end.
                row.warm = -warmth.curvature() * (row.at - length / 2.0);
                row.slope -= row.warm;
            }
        }
        self.warmth = warmth;
        self
    }

    /// Readings that are still to be taken; only where and how well they will be means anything.
    pub fn planned(stations: &Stations, level: &Level) -> Self {
        let mut planned = Self {
            rows: Vec::new(),
            division: level.division,
            half_base: level.base.unwrap_or(0.0) / 2.0,
            repeat: level.repeat(),
            step: level.resolution,
            warmth: None,
        };
        let lines = [
            (Line::Cross, &stations.cross),
            (Line::Front, &stations.front),
            (Line::Rear, &stations.rear),
        ];
        for (line, places) in lines {
            for at in places {
                planned.rows.push(Observation {
                    reading: planned.rows.len(),
                    line,
                    reversed: false,
                    at: *at,
                    slope: 0.0,
                    packed: 0.0,
                    deviation: planned.deviation(),
                    bound: false,
                    warm: 0.0,
                });
            }
        }
        planned
    }

    /// Level at these places, for tests of what depends on where a level of this base stood.
    #[cfg(test)]
    pub(super) fn level_at(stations: &[(Line, f64)], base: f64) -> Self {
        let observed = |(line, at): &(Line, f64)| Observation {
            reading: 0,
            line: *line,
            reversed: false,
            at: *at,
            slope: 0.0,
            packed: 0.0,
            deviation: 4e-6,
            bound: false,
            warm: 0.0,
        };
        Self {
            rows: stations.iter().map(observed).collect(),
            division: 2e-5,
            half_base: base / 2.0,
            repeat: 0.2,
            step: 0.25,
            warmth: None,
        }
    }

    /// Standard deviation of one ordinary reading, m/m.
    pub fn deviation(&self) -> f64 {
        self.repeat.hypot(self.step / 12.0_f64.sqrt()) * self.division
    }
}

/// The part of a division to which all readings of the pass were rounded.
fn readable_step(pass: &Pass) -> f64 {
    let seen: Vec<f64> = pass
        .readings
        .iter()
        .filter_map(|reading| match &reading.entry {
            Entry::Read(seen) => Some(seen),
            _ => None,
        })
        .flatten()
        .copied()
        .collect();
    // Zeros fit every step: a bed that is nearly right was not read to whole divisions.
    let telling = seen.iter().filter(|value| **value != 0.0).count();
    let coarsest = if telling < TELLING_READINGS {
        USUAL_STEP
    } else {
        1.0
    };
    READABLE_STEPS
        .into_iter()
        .filter(|step| *step <= coarsest)
        .find(|step| {
            seen.iter().all(|value| {
                let parts = value / step;
                (parts - parts.round()).abs() * step < STEP_TOLERANCE
            })
        })
        .unwrap_or(0.0)
}

/// Repeat of a single reading: what the survey states, mended by the scatter of repeats on the spot.
fn pooled_repeat(pass: &Pass, level: &Level) -> f64 {
    let stated = level.repeat();
    let weight = match level.repeat {
        Some(_) => STATED_REPEAT_WEIGHT,
        None => DEFAULT_REPEAT_WEIGHT,
    };
    let (mut squares, mut freedom) = (0.0, 0.0);
    for reading in &pass.readings {
        if let Entry::Read(seen) = &reading.entry {
            let mean = seen.iter().sum::<f64>() / seen.len() as f64;
            squares += seen.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
            freedom += seen.len() as f64 - 1.0;
        }
    }
    ((weight * stated * stated + squares) / (weight + freedom)).sqrt()
}
