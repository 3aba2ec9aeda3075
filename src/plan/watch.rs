//! Which reading to watch while a foot is turned.
//!
//! A hand and a thread are too coarse for the last hundredth, but the level is standing there. A bubble
//! that is brought to the value it should show takes out whatever is wrong with the thread, the hand and
//! the share of the lift that arrives, and even something of what the pass did not see. It does not take
//! out what is wrong with the *ratio* between the reading and the rest of the bed: a cross reading watched
//! while a pair is lifted steers tilt only, and on a bed that answers half as much as thought to tilt the
//! pair goes up twice too far.
//!
//! So the error of the bed is carried through the card line by line, as a matrix with one column for each
//! independent source: what the readings leave open, what is unknown of the response, every hand and every
//! bubble. Bringing the reading `h · heights + zero` to its planned value with foot `i` takes a multiple of
//! the foot's influence off every column, so that the reading is right in all of them:
//!
//! `E ← (I − R_i h / (h R_i)) E + R_i σ / (h R_i)`,
//!
//! which is the update of a Kalman filter with a gain that only one foot can realise. Each candidate is
//! scored by the error it leaves in the whole bed in shares of the limits, and counting the turns is a
//! candidate like any other.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::card::{THREAD_SLACK, Watch};
use super::objective::{Objective, surface};
use crate::response::History;
use crate::survey::{Level, Line, Survey};

/// What a counted turn is wrong by: two and a half degrees of hand, turns.
const HAND: f64 = 2.5 / 360.0;
/// What a thread is wrong by, as a share of the lift.
const THREAD: f64 = 0.05;
/// A bubble must move by at least this to be worth watching, divisions: two of the quarters it is read to.
const LEAST_CHANGE: f64 = 0.5;
/// A bubble is brought to its mark, and stays there, to about this, divisions.
const BUBBLE: f64 = 0.25;

/// A place where the level can be watched.
struct Candidate {
    line: Line,
    at: f64,
    /// What it shows now, m/m.
    now: f64,
    /// As a function of the heights.
    heights: RowDVector<f64>,
    /// Error of what it shows now beside what is in the error of the heights: the zero error's.
    error: RowDVector<f64>,
}

/// Chooses readings to watch, line of the card by line.
pub(super) struct Watching<'a> {
    survey: &'a Survey,
    history: &'a History,
    level: &'a Level,
    /// Effect of each foot on the departures in shares of the limits, per metre.
    effect: DMatrix<f64>,
    /// Takes heights to departures in shares of the limits.
    departures: DMatrix<f64>,
    /// Change of the influence with each source of error that the readings leave.
    doubts: Vec<DMatrix<f64>>,
    candidates: Vec<Candidate>,
    /// Error of the heights, one column a source: what the readings leave, then one or two a line.
    error: DMatrix<f64>,
    /// Lifts done so far, m by foot.
    done: DVector<f64>,
}

impl<'a> Watching<'a> {
    pub fn new(
        survey: &'a Survey,
        history: &'a History,
        level: &'a Level,
        objective: &Objective,
    ) -> Self {
        let system = history.system();
        let seen = system.covariance_root(&surface(history));
        let doubts = history.doubts();
        let mut candidates: Vec<Candidate> = Vec::new();
        for reading in history.last_readings() {
            let stands = candidates
                .iter()
                .any(|c| c.line == reading.line && c.at.to_bits() == reading.at.to_bits());
            if stands {
                continue;
            }
            if let Some((function, heights)) = history.shown(reading.line, reading.at) {
                let shown =
                    system.covariance_root(&DMatrix::from_rows(std::slice::from_ref(&function)));
                candidates.push(Candidate {
                    line: reading.line,
                    at: reading.at,
                    now: function.dot(&system.unknowns.transpose()),
                    error: shown.row(0) - &heights * &seen,
                    heights,
                });
            }
        }
        let departures = objective.weighted(objective.heights.clone());
        Self {
            effect: &departures * history.influence(),
            error: seen,
            done: DVector::zeros(survey.feet.len()),
            departures,
            survey,
            history,
            level,
            doubts,
            candidates,
        }
    }

    /// The reading to watch while `foot` is lifted by `lift` (m), and the lift after which to stop
    /// whatever it says. Takes the line as done.
    pub fn next(&mut self, foot: usize, lift: f64) -> (Option<Watch>, f64) {
        let influence = self.history.influence();
        let column = influence.column(foot).into_owned();
        // First as if the turns were only counted.
        for (k, doubt) in self.doubts.iter().enumerate() {
            let mut source = self.error.column_mut(k);
            source.axpy(lift, &doubt.column(foot), 1.0);
        }
        let hand = (HAND * self.survey.feet[foot].lift_per_turn).hypot(THREAD * lift);
        let last = self.error.ncols();
        let mut counted = self.error.clone().insert_column(last, 0.0);
        counted.column_mut(last).axpy(hand, &column, 0.0);
        let left = &self.departures * &counted;
        let effect = self.effect.column(foot);
        let along = effect.transpose() * &left;
        let strength = effect.norm_squared();

        let mut best = (0.0, None);
        for candidate in &self.candidates {
            let answer = (&candidate.heights * &column)[0];
            let from = candidate.now + (&candidate.heights * (influence * &self.done))[0];
            let to = from + answer * lift;
            let division = self.level.division;
            let off_scale = self
                .level
                .range
                .is_some_and(|range| from.abs().max(to.abs()) > range * division);
            if off_scale || (to - from).abs() < LEAST_CHANGE * division {
                continue;
            }
            let mut wrong = &candidate.heights * &counted;
            for (k, zero) in candidate.error.iter().enumerate() {
                wrong[k] += zero;
            }
            // A foot that only a bubble holds is turned no further than the card allows; an answer too
            // faint to steer by shows as noise.
            let noise = self.history.reading_deviation().hypot(BUBBLE * division) / answer.abs();
            let change = -2.0 * along.dot(&wrong) / answer
                + strength * (wrong.norm_squared() / (answer * answer) + noise * noise);
            if change < best.0 {
                let watch = Watch {
                    line: candidate.line,
                    at: candidate.at,
                    from: from / division,
                    to: to / division,
                };
                best = (change, Some((watch, wrong / answer, noise)));
            }
        }
        self.done[foot] += lift;
        let farthest = self.farthest(foot, lift);
        self.error = counted;
        let watch = best.1.map(|(watch, lifts, noise)| {
            self.error -= &column * lifts;
            let last = self.error.ncols();
            self.error = std::mem::take(&mut self.error).insert_column(last, 0.0);
            self.error.column_mut(last).axpy(noise, &column, 0.0);
            watch
        });
        (watch, farthest)
    }

    /// Root of the covariance of the heights after the lines so far.
    pub fn error(&self) -> &DMatrix<f64> {
        &self.error
    }

    /// The lift after which to stop whatever the bubble shows, m: past the count by twice what is unknown of the
    /// foot's effectiveness, between a quarter and three quarters, and by the slack of its thread, which a
    /// foot that is turned the other way than before must take up first.
    fn farthest(&self, foot: usize, lift: f64) -> f64 {
        let answer = self.history.answer();
        let share = answer.effectiveness[foot].abs().max(0.1);
        let doubt = (2.0 * answer.deviation[2 + foot] / share).clamp(0.25, 0.75);
        let slack = THREAD_SLACK * self.survey.feet[foot].lift_per_quarter();
        lift * (1.0 + doubt) + slack.copysign(lift)
    }
}
