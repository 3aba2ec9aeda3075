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

use std::rc::Rc;

use nalgebra::{DMatrix, DVector, RowDVector};

use super::card::{Look, THREAD_SLACK, Watch};
use super::departures::Kind;
use super::footing::{Footing, Tangent};
use super::going_round::{GoingRound, Mark};
use super::objective::{Objective, surface};
use crate::geometry::Rise;
use crate::response::History;
use crate::survey::{Level, Line, Survey};

/// What a counted turn is wrong by: two and a half degrees of hand, turns.
const HAND: f64 = 2.5 / 360.0;
/// What a thread is wrong by, as a share of the lift.
const THREAD: f64 = 0.05;
/// A bubble must move by at least this to be worth watching, in parts of a division that can be read.
const LEAST_CHANGE: f64 = 2.0;
/// A bubble is brought to its mark, and stays there, to about so many of these parts.
const BUBBLE: f64 = 1.0;

/// A place where the level can be watched.
struct Candidate {
    line: Line,
    at: f64,
    /// What it shows now, m/m.
    now: f64,
    /// What the level lies on there.
    rise: Rise,
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
#[derive(Clone)]
pub(super) struct Watching<'a> {
    survey: &'a Survey,
    history: &'a History,
    level: &'a Level,
    footing: &'a Footing,
    /// How the bed has moved by the lines so far and how it goes on.
    tangent: Rc<Tangent>,
    /// Effect of each foot on the departures in shares of the limits, per metre.
    effect: DMatrix<f64>,
    /// Takes heights to departures in shares of the limits.
    departures: DMatrix<f64>,
    candidates: Rc<[Candidate]>,
    /// Error of the heights, one column a source: what the readings leave, then one or two a line.
    error: DMatrix<f64>,
    /// Lifts done so far, m by foot.
    done: DVector<f64>,
}

impl<'a> Watching<'a> {
    /// Before anything is turned.
    pub fn new(
        survey: &'a Survey,
        history: &'a History,
        level: &'a Level,
        objective: &Objective,
        footing: &'a Footing,
    ) -> Self {
        let system = history.system();
        let surface = surface(history);
        let mut seen = system.covariance_root(&surface);
        let mut candidates: Vec<Candidate> = Vec::new();
        for reading in history.last_readings() {
            let stands = candidates
                .iter()
                .any(|c| c.line == reading.line && c.at.to_bits() == reading.at.to_bits());
            // A bubble that was off its scale may be anywhere beyond it.
            if stands || reading.bound {
                continue;
            }
            let shown = history.shown(reading.line, reading.at);
            let told = |(function, _): &(RowDVector<f64>, Rise)| {
                system.determines(function.transpose().as_view())
            };
            if let Some((function, rise)) = shown.filter(told) {
                let shown =
                    system.covariance_root(&DMatrix::from_rows(std::slice::from_ref(&function)));
                candidates.push(Candidate {
                    line: reading.line,
                    at: reading.at,
                    // The bubble is watched with its strip in place, on the bed as warm as it was read.
                    now: function.dot(&system.unknowns.transpose())
                        + history.packed(reading.line)
                        + reading.warm,
                    error: shown.row(0) - rise.on_each(&seen),
                    rise,
                });
            }
        }
        if let Some(bow) = history.bow(&surface) {
            // What was shown owes nothing to the bow that is taken off it.
            for candidate in &mut candidates {
                let error = -candidate.rise.on(&bow);
                let columns = candidate.error.ncols();
                candidate.error = candidate.error.clone().insert_column(columns, error);
            }
            let columns = seen.ncols();
            seen = seen.insert_column(columns, 0.0);
            seen.set_column(columns, &bow);
        }
        // No reading tells what is not seen, whatever it is brought to.
        let mut departures = objective.weighted(objective.heights.clone());
        for row in objective.rows(Kind::Unseen) {
            departures.row_mut(row).fill(0.0);
        }
        let done = DVector::zeros(survey.feet.len());
        let tangent = footing.all_carrying();
        Self {
            effect: &departures * &*tangent.influence,
            tangent: Rc::new(tangent),
            footing,
            error: seen,
            done,
            departures,
            survey,
            history,
            level,
            candidates: candidates.into(),
        }
    }

    /// The reading to watch while `foot` is lifted by `lift` (m), and the lift after which to stop
    /// whatever it says; with nothing to watch, `lift` itself. Takes the line as done.
    pub fn next(&mut self, foot: usize, lift: f64) -> (Option<Watch>, f64) {
        let before = Rc::clone(&self.tangent);
        self.go_on(foot, lift);
        let column = self.tangent.influence.column(foot).into_owned();
        // First as if the turns were only counted.
        let mut metre = DVector::zeros(self.done.len());
        metre[foot] = 1.0;
        let doubt = self.history.doubt(&metre) * lift;
        let mut by_source = self.error.columns_mut(0, doubt.ncols());
        by_source += doubt;
        let hand = (HAND * self.survey.feet[foot].lift_per_turn).hypot(THREAD * lift);
        let last = self.error.ncols();
        self.error = std::mem::take(&mut self.error).insert_column(last, 0.0);
        self.error.column_mut(last).axpy(hand, &column, 0.0);
        let Some(bubble) = self.bubble(foot, &before.moved) else {
            return (None, lift);
        };
        let watch = self.bring(foot, bubble);
        (Some(watch), self.farthest(foot, lift))
    }

    /// Takes a foot as lifted.
    fn go_on(&mut self, foot: usize, lift: f64) {
        self.done[foot] += lift;
        let tangent = self.footing.after(&self.done);
        if !Rc::ptr_eq(&tangent.influence, &self.tangent.influence) {
            self.effect = &self.departures * &*tangent.influence;
        }
        self.tangent = Rc::new(tangent);
    }

    /// Takes feet that hang as raised until they carry, which moves nothing.
    fn seat(&mut self) {
        if self.tangent.hanging.is_empty() {
            return;
        }
        let tangent = Tangent {
            moved: self.tangent.moved.clone(),
            ..self.footing.all_carrying()
        };
        self.effect = &self.departures * &*tangent.influence;
        self.tangent = Rc::new(tangent);
    }

    /// Readings to go round when everything has been turned, with these feet. Takes them as gone round.
    pub fn go_round(&mut self, feet: &[usize]) -> Vec<Look> {
        self.seat();
        let round = GoingRound::new(
            self.marks(),
            self.bubble_deviation(),
            &(&self.departures * &self.error),
            &self.effect,
        );
        let Some((looks, lifts)) = round.choose(feet) else {
            return Vec::new();
        };
        let mut error = &*self.tangent.influence * lifts;
        let mut by_source = error.columns_mut(0, self.error.ncols());
        by_source += &self.error;
        self.error = error;
        looks
    }

    /// The readings that stay on the scale, as they should be when everything has been turned.
    fn marks(&self) -> Vec<Mark> {
        let Tangent {
            moved, influence, ..
        } = &*self.tangent;
        let division = self.level.division;
        let mark = |candidate: &Candidate| {
            let shows = (candidate.now + candidate.rise.on(moved)) / division;
            let on_scale = self.level.range.is_none_or(|range| shows.abs() <= range);
            on_scale.then(|| Mark {
                line: candidate.line,
                at: candidate.at,
                shows,
                wrong: self.wrong(candidate),
                answer: candidate.rise.on_each(influence),
            })
        };
        self.candidates.iter().filter_map(mark).collect()
    }

    /// What a reading is wrong by, m/m by source of error.
    fn wrong(&self, candidate: &Candidate) -> RowDVector<f64> {
        let mut wrong = candidate.rise.on_each(&self.error);
        for (k, zero) in candidate.error.iter().enumerate() {
            wrong[k] += zero;
        }
        wrong
    }

    /// Deviation with which a reading is brought to its mark, m/m.
    fn bubble_deviation(&self) -> f64 {
        let bubble = BUBBLE * self.level.resolution * self.level.division;
        self.history.reading_deviation().hypot(bubble)
    }

    /// The reading that best says when to stop lifting a foot, among those that have moved by at least [`LEAST_CHANGE`]
    /// since the heights had changed by `before`, m; `None` where the count alone leaves less.
    fn bubble(&self, foot: usize, before: &DVector<f64>) -> Option<Bubble> {
        let Tangent {
            moved, influence, ..
        } = &*self.tangent;
        let column = influence.column(foot).into_owned();
        let effect = self.effect.column(foot);
        let along = effect.transpose() * &self.departures * &self.error;
        let strength = effect.norm_squared();
        let division = self.level.division;

        let mut best = (0.0, None);
        for candidate in self.candidates.iter() {
            let answer = candidate.rise.on(&column);
            let from = candidate.now + candidate.rise.on(before);
            let to = candidate.now + candidate.rise.on(moved);
            let off_scale = self
                .level
                .range
                .is_some_and(|range| from.abs().max(to.abs()) > range * division);
            if off_scale || (to - from).abs() < LEAST_CHANGE * self.level.resolution * division {
                continue;
            }
            let wrong = self.wrong(candidate);
            // A foot that only a bubble holds is turned no further than the card allows; an answer too
            // faint to steer by shows as noise.
            let noise = self.bubble_deviation() / answer.abs();
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
        let tangent = Rc::clone(&self.tangent);
        let column = tangent.influence.column(foot);
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

    /// The same once the lines so far are written down as turns of these feet.
    pub fn once_recorded(&self, touched: impl Iterator<Item = usize>) -> DMatrix<f64> {
        let mut marked = vec![false; self.done.len()];
        touched.for_each(|foot| marked[foot] = true);
        self.history.once_recorded(&self.done, &marked)
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
