//! Which reading to watch while a foot is turned.
//!
//! A hand and a thread are too coarse for the last hundredth, but the level is standing there. A bubble
//! that is brought to the value it should show takes out whatever is wrong with the thread, the hand and
//! the share of the lift that arrives. It does not take out what is wrong with the *ratio* between the
//! reading and the rest of the bed: a cross reading watched while a pair is lifted steers tilt only, and on
//! a bed that answers half as much as thought to tilt the pair goes up twice too far. So every candidate is
//! scored by the error it leaves in the whole bed, over all that is unknown about the response and summed
//! over the lines of the card so far, and counting the turns is a candidate like any other.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::card::Watch;
use super::objective::Objective;
use crate::response::History;
use crate::survey::{Level, Line, Survey};

/// What a counted turn is wrong by: two and a half degrees of hand, turns.
const HAND: f64 = 2.5 / 360.0;
/// What a thread is wrong by, as a share of the lift.
const THREAD: f64 = 0.05;
/// A bubble must move by at least this to be worth watching, divisions: two of the quarters it is read to.
const LEAST_CHANGE: f64 = 0.5;

/// A place where the level can be watched.
struct Candidate {
    line: Line,
    at: f64,
    /// What it shows now, m/m.
    now: f64,
    /// As a function of the heights.
    heights: RowDVector<f64>,
}

/// Chooses readings to watch, line of the card by line.
pub(super) struct Watching<'a> {
    survey: &'a Survey,
    history: &'a History,
    level: &'a Level,
    /// Effect of each foot on the departures in shares of the limits, per metre.
    effect: DMatrix<f64>,
    /// Change of influence and of that effect for each unknown of the response, times its deviation.
    doubts: Vec<(DMatrix<f64>, DMatrix<f64>)>,
    candidates: Vec<Candidate>,
    /// Errors left so far, one for each unknown of the response.
    left: Vec<DVector<f64>>,
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
        let effect = objective.weighted(&objective.heights * history.influence());
        let doubts: Vec<(DMatrix<f64>, DMatrix<f64>)> = history
            .sensitivities()
            .into_iter()
            .map(|(change, deviation)| {
                let on_bed = objective.weighted(&objective.heights * &change) * deviation;
                (change * deviation, on_bed)
            })
            .collect();
        let mut candidates: Vec<Candidate> = Vec::new();
        for reading in history.last_readings() {
            let stands = candidates
                .iter()
                .any(|c| c.line == reading.line && c.at.to_bits() == reading.at.to_bits());
            if stands {
                continue;
            }
            if let Some((function, heights)) = history.shown(reading.line, reading.at) {
                candidates.push(Candidate {
                    line: reading.line,
                    at: reading.at,
                    now: function.dot(&history.system().unknowns.transpose()),
                    heights,
                });
            }
        }
        Self {
            left: vec![DVector::zeros(effect.nrows()); doubts.len()],
            done: DVector::zeros(effect.ncols()),
            survey,
            history,
            level,
            effect,
            doubts,
            candidates,
        }
    }

    /// The reading to watch while `foot` is lifted by `lift` (m), and the lift after which to stop
    /// whatever it says. Takes the line as done.
    pub fn next(&mut self, foot: usize, lift: f64) -> (Option<Watch>, f64) {
        let influence = self.history.influence();
        let counted = self.counting(foot, lift);
        let mut best = (self.score(&counted.0, counted.1), counted.0, None);
        for candidate in &self.candidates {
            let answer = (&candidate.heights * influence.column(foot))[0];
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
            let errors: Vec<DVector<f64>> = self
                .doubts
                .iter()
                .map(|(change, on_bed)| {
                    let ratio = (&candidate.heights * change.column(foot))[0] / answer;
                    (on_bed.column(foot) - self.effect.column(foot) * ratio) * lift
                })
                .collect();
            // The value to bring the bubble to, and the bubble itself, are each as good as a reading.
            let reading = self.history.reading_deviation() * 2.0_f64.sqrt() / answer.abs();
            let noise = self.effect.column(foot).norm() * reading;
            let score = self.score(&errors, noise * noise);
            if score < best.0 {
                let watch = Watch {
                    line: candidate.line,
                    at: candidate.at,
                    from: from / division,
                    to: to / division,
                };
                best = (score, errors, Some(watch));
            }
        }
        for (left, error) in self.left.iter_mut().zip(best.1) {
            *left += error;
        }
        self.done[foot] += lift;
        (best.2, lift * self.farthest(foot))
    }

    /// Errors of counting the turns: for every unknown of the response, and the squared rest.
    fn counting(&self, foot: usize, lift: f64) -> (Vec<DVector<f64>>, f64) {
        let errors = self
            .doubts
            .iter()
            .map(|(_, on_bed)| on_bed.column(foot) * lift)
            .collect();
        let hand = (HAND * self.survey.feet[foot].lift_per_turn).hypot(THREAD * lift);
        let noise = self.effect.column(foot).norm() * hand;
        (errors, noise * noise)
    }

    fn score(&self, errors: &[DVector<f64>], noise: f64) -> f64 {
        let sum: f64 = self
            .left
            .iter()
            .zip(errors)
            .map(|(left, error)| (left + error).norm_squared())
            .sum();
        sum + noise
    }

    /// How far past the count a bubble may lead, as a multiple of it: twice what is unknown of the foot's
    /// effectiveness, between a quarter and three quarters.
    fn farthest(&self, foot: usize) -> f64 {
        let answer = self.history.answer();
        let share = answer.effectiveness[foot].abs().max(0.1);
        1.0 + (2.0 * answer.deviation[2 + foot] / share).clamp(0.25, 0.75)
    }
}
