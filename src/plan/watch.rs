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

/// A second look must take at least this share off what is missed in all, mean square.
const WORTH_ANOTHER_LOOK: f64 = 0.05;

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

/// A reading that says when to stop.
struct Bubble {
    watch: Watch,
    /// What bringing it to its mark adds to the lift of the foot, by source of error, m.
    lifts: RowDVector<f64>,
    /// Lift by which the mark is missed, m.
    noise: f64,
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
    /// whatever it says; with nothing to watch, `lift` itself. Takes the line as done.
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
        self.error = std::mem::take(&mut self.error).insert_column(last, 0.0);
        self.error.column_mut(last).axpy(hand, &column, 0.0);
        let bubble = self.bubble(foot, lift, LEAST_CHANGE, 0.0);
        self.done[foot] += lift;
        let Some(bubble) = bubble else {
            return (None, lift);
        };
        let watch = self.bring(foot, bubble);
        (Some(watch), self.farthest(foot, lift))
    }

    /// The reading to bring back with a foot when everything has been turned; `None` where that takes off
    /// too little of what is missed.
    pub fn again(&mut self, foot: usize) -> Option<Watch> {
        let missed = (&self.departures * &self.error).norm_squared();
        let bubble = self.bubble(foot, 0.0, 0.0, WORTH_ANOTHER_LOOK * missed)?;
        Some(self.bring(foot, bubble))
    }

    /// The reading that best says when to stop lifting a foot by `lift` (m), among those that move by at
    /// least so many divisions, if it takes at least `gain` off what is missed, shares of the limits squared.
    fn bubble(&self, foot: usize, lift: f64, least_change: f64, gain: f64) -> Option<Bubble> {
        let influence = self.history.influence();
        let column = influence.column(foot);
        let left = &self.departures * &self.error;
        let effect = self.effect.column(foot);
        let along = effect.transpose() * &left;
        let strength = effect.norm_squared();
        let stands = influence * &self.done;
        let division = self.level.division;

        let mut best = (-gain, None);
        for candidate in &self.candidates {
            let answer = (&candidate.heights * column)[0];
            let from = candidate.now + (&candidate.heights * &stands)[0];
            let to = from + answer * lift;
            let off_scale = self
                .level
                .range
                .is_some_and(|range| from.abs().max(to.abs()) > range * division);
            if off_scale || (to - from).abs() < least_change * division {
                continue;
            }
            let mut wrong = &candidate.heights * &self.error;
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
                let bubble = Bubble {
                    watch,
                    lifts: wrong / answer,
                    noise,
                };
                best = (change, Some(bubble));
            }
        }
        best.1
    }

    /// Takes a bubble as brought to its mark.
    fn bring(&mut self, foot: usize, bubble: Bubble) -> Watch {
        let column = self.history.influence().column(foot);
        self.error -= column * bubble.lifts;
        let last = self.error.ncols();
        self.error = std::mem::take(&mut self.error).insert_column(last, 0.0);
        self.error.column_mut(last).axpy(bubble.noise, &column, 0.0);
        bubble.watch
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
