//! Where the level can be laid down in the next pass, and what it will show there.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::objective::surface;
use crate::geometry::stations::{all_in_vain, forth_and_back, lacking};
use crate::geometry::{Observations, Rise, Stations};
use crate::response::History;
use crate::survey::{Entry, Level, Line, Pass, Survey};

/// Places nearer than this are one, m.
const SAME_PLACE: f64 = 1e-6;

/// Deviation of a zero error of which nothing is known, m/m: more than any level is out by.
const UNKNOWN_ZERO: f64 = 1e-3;

/// How much of a division of its own another level's zero error differs by, divisions (order of magnitude, no source).
const ZERO_OF_ANOTHER: f64 = 2.0;

/// A place where a level can be laid down.
pub(super) struct Spot {
    pub line: Line,
    /// Middle of the level, m from the headstock end.
    pub at: f64,
    /// What the level lies on.
    rise: Rise,
    /// What it should show when everything is turned and nothing packs it, m/m, zero error included.
    pub shows: f64,
    /// What that is wrong by, m/m by source of error.
    pub wrong: RowDVector<f64>,
    /// Whether readings on the scale tell it.
    pub told: bool,
    /// Whether the bubble was off its scale there in the last pass.
    pub missed: bool,
}

/// All places that were read in passes that still count, and those that they [lack](lacking), as one level would be read there.
pub(super) struct Spots<'a> {
    pub level: &'a Level,
    pub all: Vec<Spot>,
    /// Deviation of one reading, m/m.
    pub deviation: f64,
}

impl Spot {
    /// Whether nobody has seen how the bed lies there.
    pub fn unseen(&self) -> bool {
        self.missed || !self.told
    }
}

impl<'a> Spots<'a> {
    /// After a pass, when the heights have changed by `moved` (m) and are wrong by `error · errorᵀ`.
    pub fn new(
        survey: &Survey,
        pass: usize,
        history: &History,
        level: &'a Level,
        moved: &DVector<f64>,
        error: &DMatrix<f64>,
    ) -> Self {
        let system = history.system();
        let seen = system.covariance_root(&surface(history));
        let half = level.base.unwrap_or(0.0) / 2.0;
        let last = &survey.passes[pass];
        let zero = if last.level == level.name {
            0.0
        } else {
            ZERO_OF_ANOTHER * level.division
        };
        let spot = |(line, at): (Line, f64)| {
            let (function, rise) = history.shown_by(line, at, half)?;
            let known =
                system.covariance_root(&DMatrix::from_rows(std::slice::from_ref(&function)));
            let mut wrong = rise.on_each(error);
            let mut by_source = wrong.columns_mut(0, seen.ncols());
            by_source += known.row(0) - rise.on_each(&seen);
            let sources = wrong.ncols();
            let mut wrong = wrong.insert_columns(sources, 2, 0.0);
            wrong[sources + usize::from(line != Line::Cross)] = zero;
            Some(Spot {
                line,
                at,
                told: system.determines(function.transpose().as_view()),
                missed: last.readings.iter().any(|reading| {
                    let here = reading.line == line && (reading.at - at).abs() < SAME_PLACE;
                    here && matches!(reading.entry, Entry::OffScale(_))
                }),
                shows: function.dot(&system.unknowns.transpose()) + rise.on(moved),
                rise,
                wrong,
            })
        };
        Self {
            all: places(survey, level, &survey.passes[..=pass])
                .into_iter()
                .filter(|(line, _)| *line == Line::Cross || level.base.is_some())
                .filter_map(spot)
                .collect(),
            deviation: Observations::planned(&Stations::default(), level).deviation(),
            level,
        }
    }

    /// What they would show of each column of heights, in the deviation of a reading.
    pub fn show(&self, heights: &DMatrix<f64>) -> DMatrix<f64> {
        let rises: Vec<Rise> = self.all.iter().map(|spot| spot.rise).collect();
        Rise::all_on(&rises, heights) / self.deviation
    }

    /// What zero errors across and along of which nothing is known do to them, in the deviation of a reading.
    pub fn zeros(&self) -> DMatrix<f64> {
        DMatrix::from_fn(self.all.len(), 2, |spot, kind| {
            let of = usize::from(self.all[spot].line != Line::Cross);
            if of == kind {
                UNKNOWN_ZERO / self.deviation
            } else {
                0.0
            }
        })
    }

    /// Some of them line by line, in order along the bed; those that are named twice come again on the way back.
    pub fn stations(&self, chosen: &[usize]) -> Stations {
        let of = |line: Line| {
            let spots = chosen.iter().map(|&i| &self.all[i]);
            let mut at: Vec<f64> = spots
                .filter(|spot| spot.line == line)
                .map(|spot| spot.at)
                .collect();
            forth_and_back(&mut at);
            at
        };
        Stations {
            cross: of(Line::Cross),
            front: of(Line::Front),
            rear: of(Line::Rear),
        }
    }
}

/// Places at which these passes were read or were to be and those that they lack, each once, line by line and in order along the
/// bed.
fn places(survey: &Survey, level: &Level, passes: &[Pass]) -> Vec<(Line, f64)> {
    // Where all of these have not decided the bed is read end to end instead.
    let read = passes.iter().filter(|_| !all_in_vain(passes));
    let readings = read.flat_map(|pass| &pass.readings);
    let mut places: Vec<(Line, f64)> = readings.map(|reading| (reading.line, reading.at)).collect();
    let more = lacking(survey, level, passes);
    places.extend(more.cross.iter().map(|at| (Line::Cross, *at)));
    places.extend(more.front.iter().map(|at| (Line::Front, *at)));
    places.extend(more.rear.iter().map(|at| (Line::Rear, *at)));
    places.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    places.dedup_by(|a, b| a.0 == b.0 && (a.1 - b.1).abs() < SAME_PLACE);
    places
}
