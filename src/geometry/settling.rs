//! What would settle a verdict that is too close to call.
//!
//! Every remedy is a set of readings that nobody has taken yet. What they would make of the uncertainty
//! follows from the covariance alone; whether that settles the verdict is asked of the figures as they were
//! measured.

use std::collections::BTreeMap;

use nalgebra::DVector;

use super::adjustment::Adjustment;
use super::extreme::Noise;
use super::figure::{Figure, Verdict};
use super::observation::{DEFAULT_REPEAT, Observation, Observations};
use super::reference_line::{ReferenceLine, range};
use super::shape::BedShape;
use super::sight::{cross_slopes, departures};
use crate::survey::{Level, Limits, Line, Side};

/// More passes than this nobody takes for one verdict.
pub const MOST_PASSES: usize = 10;

/// Graduations that levels are made with, coarsest first, m/m (common practice, no source).
const DIVISIONS: [f64; 8] = [1e-4, 5e-5, 4e-5, 2e-5, 1e-5, 5e-6, 2e-6, 1e-6];

/// Graduations within this share of each other are the same.
const SAME_DIVISION: f64 = 0.99;

/// A reversal that lowers no uncertainty by this share is not worth the walk.
const WORTH_REVERSING: f64 = 0.05;

/// The figure whose verdict is unsure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Subject {
    /// Twist.
    Twist,
    /// Crown of a way.
    Crown(Side),
    /// Straightness of a way.
    Straightness(Side),
}

/// What one could do.
#[derive(Debug, Clone, PartialEq)]
pub enum Remedy {
    /// This many passes like this one, this one counted.
    Passes(usize),
    /// Reverse the level on the spot at one station of each line.
    Reversal,
    /// Stations twice as dense.
    DenserStations,
    /// A level with this graduation, m/m, read as well in its divisions.
    Division(f64),
    /// This level of the survey.
    Level(String),
}

/// What a remedy would do for a figure.
#[derive(Debug, Clone, PartialEq)]
pub struct Settling {
    /// The figure.
    pub subject: Subject,
    /// The remedy.
    pub remedy: Remedy,
    /// The expanded uncertainty it would have, in the figure's unit.
    pub u95: f64,
    /// Whether that would settle the verdict, were the figure to stay as it is.
    pub settles: bool,
}

/// An unsure figure with what it is made of.
struct Open {
    subject: Subject,
    limits: [f64; 2],
    at: Vec<f64>,
    values: DVector<f64>,
}

/// What would settle every verdict of this pass that is unsure; nothing where none is. `levels` are those
/// of the survey.
pub fn settling(
    adjustment: &Adjustment,
    limits: &Limits,
    line: ReferenceLine,
    levels: &BTreeMap<String, Level>,
) -> Vec<Settling> {
    let open = open(&BedShape::of(adjustment, line), limits);
    if open.is_empty() {
        return Vec::new();
    }
    let desk = Desk {
        adjustment,
        line,
        open: &open,
        readings: plain(adjustment),
    };
    let mut found = desk.passes();
    found.extend(desk.reversal());
    found.extend(desk.try_out(&Remedy::DenserStations, denser(&desk.readings)));
    found.extend(desk.finer());
    found.extend(desk.levels(levels));
    let place = |settling: &Settling| open.iter().position(|one| one.subject == settling.subject);
    found.sort_by_key(place);
    found
}

fn open(shape: &BedShape, limits: &Limits) -> Vec<Open> {
    let unsure =
        |figure: &Figure, [low, high]: [f64; 2]| figure.verdict(low, high) == Verdict::Unsure;
    let mut open = Vec::new();
    if let (Some(twist), Some(limit)) = (shape.twist, limits.twist)
        && unsure(&twist, [0.0, limit])
    {
        open.push(Open {
            subject: Subject::Twist,
            limits: [0.0, limit],
            at: shape.cross.iter().map(|slope| slope.at).collect(),
            values: column(shape.cross.iter().map(|slope| slope.slope)),
        });
    }
    for way in shape.ways() {
        let mut add = |subject, limits| {
            open.push(Open {
                subject,
                limits,
                at: way.points.iter().map(|point| point.at).collect(),
                values: column(way.points.iter().map(|point| point.off_line)),
            });
        };
        if let (Some(crown), Some(limits)) = (way.crown, limits.crown)
            && unsure(&crown, limits)
        {
            add(Subject::Crown(way.side), limits);
        }
        if let (Some(straightness), Some(limit)) = (way.straightness, limits.straightness)
            && unsure(&straightness, [0.0, limit])
        {
            add(Subject::Straightness(way.side), [0.0, limit]);
        }
    }
    open
}

fn column(values: impl Iterator<Item = f64>) -> DVector<f64> {
    DVector::from_vec(values.collect())
}

/// The readings in use, each as a plain observation.
fn plain(adjustment: &Adjustment) -> Observations {
    let mut observations = adjustment.observations().clone();
    observations.rows = adjustment
        .used()
        .iter()
        .map(|&i| Observation {
            bound: false,
            ..adjustment.observations().rows[i].clone()
        })
        .collect();
    observations
}

/// Where remedies are tried out on every unsure figure at once.
struct Desk<'a> {
    adjustment: &'a Adjustment,
    line: ReferenceLine,
    open: &'a [Open],
    readings: Observations,
}

impl Desk<'_> {
    /// The figures as these observations would give them, were the values to stay.
    fn try_out(&self, remedy: &Remedy, observations: Observations) -> Vec<Settling> {
        let Ok(imagined) = self.adjustment.imagined(observations) else {
            return Vec::new();
        };
        let settling = |open: &Open| {
            let figure = self.figure(open, &imagined);
            Settling {
                subject: open.subject,
                remedy: remedy.clone(),
                u95: figure.u95,
                settles: figure.verdict(open.limits[0], open.limits[1]) != Verdict::Unsure,
            }
        };
        self.open.iter().map(settling).collect()
    }

    fn figure(&self, open: &Open, imagined: &Adjustment) -> Figure {
        let root = match open.subject {
            Subject::Twist => {
                let slopes = cross_slopes(imagined, &open.at);
                imagined.system().covariance_root(&slopes)
            }
            Subject::Crown(side) | Subject::Straightness(side) => {
                let departures = departures(imagined, side, &open.at, self.line);
                imagined.ways().covariance_root(&departures)
            }
        };
        // Readings that do not fit each other today will not tomorrow.
        let noise = Noise::new(&(root * self.adjustment.widening()));
        match open.subject {
            Subject::Crown(_) => noise.largest_departure(&open.values),
            Subject::Straightness(_) if self.line == ReferenceLine::MinimumZone => {
                noise.figure(&open.values, |bed| self.line.straightness(&open.at, bed))
            }
            Subject::Twist | Subject::Straightness(_) => noise.figure(&open.values, range),
        }
    }

    /// For every figure the first of these remedies that settles it, else the last.
    fn first_that_settles(
        &self,
        remedies: impl Iterator<Item = (Remedy, Observations)>,
    ) -> Vec<Settling> {
        let mut found: Vec<Settling> = Vec::new();
        for (remedy, observations) in remedies {
            let tried = self.try_out(&remedy, observations);
            if found.is_empty() {
                found = tried;
            } else {
                for (kept, better) in found.iter_mut().zip(tried) {
                    if !kept.settles {
                        *kept = better;
                    }
                }
            }
            if found.iter().all(|kept| kept.settles) {
                break;
            }
        }
        found
    }

    fn scaled(&self, share: f64) -> Observations {
        let mut observations = self.readings.clone();
        for row in &mut observations.rows {
            row.deviation *= share;
        }
        observations
    }

    /// The fewest passes, else the most that anybody takes.
    fn passes(&self) -> Vec<Settling> {
        self.first_that_settles((2..=MOST_PASSES).map(|passes| {
            let share = (passes as f64).sqrt().recip();
            (Remedy::Passes(passes), self.scaled(share))
        }))
    }

    fn reversal(&self) -> Vec<Settling> {
        let mut observations = self.readings.clone();
        for line in [Line::Cross, Line::Front, Line::Rear] {
            let first = self.readings.rows.iter().find(|row| row.line == line);
            observations.rows.extend(first.map(|row| Observation {
                reversed: !row.reversed,
                ..row.clone()
            }));
        }
        let now = self.try_out(&Remedy::Reversal, self.readings.clone());
        let reversed = self.try_out(&Remedy::Reversal, observations);
        reversed
            .into_iter()
            .zip(now)
            .filter(|(with, without)| with.u95 < without.u95 * (1.0 - WORTH_REVERSING))
            .map(|(with, _)| with)
            .collect()
    }

    /// The coarsest graduation, else the finest there is.
    fn finer(&self) -> Vec<Settling> {
        let now = self.readings.division;
        let finer = DIVISIONS
            .into_iter()
            .filter(|division| *division < now * SAME_DIVISION);
        self.first_that_settles(
            finer.map(|division| (Remedy::Division(division), self.scaled(division / now))),
        )
    }

    fn levels(&self, levels: &BTreeMap<String, Level>) -> Vec<Settling> {
        let now = self.readings.deviation();
        let rounding = self.readings.step / 12.0_f64.sqrt();
        let along = self.readings.rows.iter().any(|row| row.side().is_some());
        let mut found = Vec::new();
        for (name, level) in levels {
            let repeat = level.repeat.unwrap_or(DEFAULT_REPEAT);
            let deviation = repeat.hypot(rounding) * level.division;
            if level.division >= self.readings.division * SAME_DIVISION || deviation >= now {
                continue;
            }
            let mut observations = self.scaled(deviation / now);
            if along {
                let Some(base) = level.base else { continue };
                observations.half_base = base / 2.0;
            }
            found.extend(self.try_out(&Remedy::Level(name.clone()), observations));
        }
        found
    }
}

/// A reading between every two neighbours of a line as well.
fn denser(readings: &Observations) -> Observations {
    let mut observations = readings.clone();
    for line in [Line::Cross, Line::Front, Line::Rear] {
        let mut rows: Vec<&Observation> = readings
            .rows
            .iter()
            .filter(|row| row.line == line && !row.reversed)
            .collect();
        rows.sort_by(|a, b| a.at.total_cmp(&b.at));
        let between = rows.windows(2).map(|pair| Observation {
            at: f64::midpoint(pair[0].at, pair[1].at),
            ..pair[0].clone()
        });
        observations.rows.extend(between);
    }
    observations
}
