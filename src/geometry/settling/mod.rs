//! What would settle a verdict that is too close to call.
//!
//! Every remedy is a set of readings that nobody has taken yet. What they would make of the uncertainty
//! follows from the covariance alone; whether that settles the verdict is asked of the figures as they were
//! measured.

mod open;

use std::collections::BTreeMap;

use self::open::{Open, open};
use super::adjustment::Adjustment;
use super::observation::{Observation, Observations};
use super::reference_line::ReferenceLine;
use crate::survey::{Level, Line, LocalLimit, Side, Survey};

/// More passes than this nobody takes for one verdict.
pub const MOST_PASSES: usize = 10;

/// Graduations that levels are made with, coarsest first, m/m (common practice, no source).
const DIVISIONS: [f64; 8] = [1e-4, 5e-5, 4e-5, 2e-5, 1e-5, 5e-6, 2e-6, 1e-6];

/// Graduations within this share of each other are the same.
const SAME_DIVISION: f64 = 0.99;

/// A reversal that lowers no uncertainty by this share is not worth the walk.
const WORTH_REVERSING: f64 = 0.05;

/// The figure whose verdict is unsure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Subject {
    /// Twist, from the chosen one where one is chosen.
    Twist,
    /// Twist over any metre.
    TwistPerMetre,
    /// Crown of a way.
    Crown(Side),
    /// Straightness of a way, from the chosen crown where one is chosen.
    Straightness(Side),
    /// Straightness of any part of a way.
    Local(Side, LocalLimit),
    /// Whether a way is convex; the figure is its lowest place.
    Convex(Side),
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

/// What would settle every verdict of this pass that is unsure; nothing where none is.
pub fn settling(adjustment: &Adjustment, survey: &Survey, line: ReferenceLine) -> Vec<Settling> {
    let open = open(adjustment, survey, line);
    if open.is_empty() {
        return Vec::new();
    }
    let desk = Desk {
        adjustment,
        open: &open,
        readings: plain(adjustment),
    };
    let mut found = desk.passes();
    found.extend(desk.reversal());
    found.extend(desk.try_out(&Remedy::DenserStations, denser(&desk.readings)));
    found.extend(desk.finer());
    found.extend(desk.levels(&survey.levels));
    let place = |settling: &Settling| open.iter().position(|one| one.subject == settling.subject);
    found.sort_by_key(place);
    found
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
    open: &'a [Open],
    readings: Observations,
}

impl Desk<'_> {
    /// The figures as these observations would give them, were the values to stay.
    fn try_out(&self, remedy: &Remedy, observations: Observations) -> Vec<Settling> {
        let imagined = self.adjustment.imagined(observations);
        imagined.map_or(Vec::new(), |imagined| self.told(remedy, &imagined))
    }

    /// The figures as this adjustment gives them, were the values to stay.
    fn told(&self, remedy: &Remedy, adjustment: &Adjustment) -> Vec<Settling> {
        let settling = |open: &Open| {
            // Readings that do not fit each other today will not tomorrow.
            let told = open.told(adjustment, self.adjustment.widening());
            Settling {
                subject: open.subject,
                remedy: remedy.clone(),
                u95: told.u95,
                settles: told.settled,
            }
        };
        self.open.iter().map(settling).collect()
    }

    /// For every figure the first of these remedies that settles it, else the last; each is the same readings with their
    /// deviations times a share, and a smaller one than the remedy before it, so that what settles a figure is found by halving.
    fn first_that_settles(&self, remedies: &[(Remedy, f64)]) -> Vec<Settling> {
        let mut tried: BTreeMap<usize, Vec<Settling>> = BTreeMap::new();
        let mut of = |remedy: usize, figure: usize| {
            let (name, share) = remedies.get(remedy)?;
            let all = tried
                .entry(remedy)
                .or_insert_with(|| self.try_out(name, self.scaled(*share)));
            all.get(figure).cloned()
        };
        let first = |figure: usize| {
            let mut found = of(0, figure)?;
            if found.settles || remedies.len() == 1 {
                return Some(found);
            }
            let (mut from, mut to) = (1, remedies.len() - 1);
            found = of(to, figure)?;
            while found.settles && from < to {
                let middle = usize::midpoint(from, to);
                let tried = of(middle, figure)?;
                if tried.settles {
                    (found, to) = (tried, middle);
                } else {
                    from = middle + 1;
                }
            }
            Some(found)
        };
        (0..self.open.len()).filter_map(first).collect()
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
        let passes = (2..=MOST_PASSES).map(|passes| {
            let share = (passes as f64).sqrt().recip();
            (Remedy::Passes(passes), share)
        });
        self.first_that_settles(&passes.collect::<Vec<_>>())
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
        let now = self.told(&Remedy::Reversal, self.adjustment);
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
        let finer = finer.map(|division| (Remedy::Division(division), division / now));
        self.first_that_settles(&finer.collect::<Vec<_>>())
    }

    fn levels(&self, levels: &BTreeMap<String, Level>) -> Vec<Settling> {
        let now = self.readings.deviation();
        let rounding = self.readings.step / 12.0_f64.sqrt();
        let along = self.readings.rows.iter().any(|row| row.side().is_some());
        let mut found = Vec::new();
        for (name, level) in levels {
            let repeat = level.repeat();
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
