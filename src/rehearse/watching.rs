//! Turns a screw by count first, then slowly until the bubble shows what it should.

use super::virtual_bed::VirtualBed;
use crate::survey::{Entry, Level, Line};

/// How far a hand that watches the bubble turns at a time, quarter-turns: a quarter of a degree, 1.3 mm at
/// the end of a spanner of 300 mm.
const WATCHFUL_STEP: f64 = 1.0 / 360.0;

/// Lift by which a hand feels which way the bubble goes, m: no more than such a step of a coarse thread.
const FELT: f64 = 1e-6;

/// A screw that moves less than this in such a step has come to its end, quarter-turns.
const STUCK: f64 = 1e-9;

/// Steps after which a hand gives up: 28 quarter-turns.
const PATIENCE: usize = 10_000;

/// What to watch while a foot is turned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Watch {
    /// The line on which the level lies.
    pub line: Line,
    /// Middle of the level from the headstock end, m.
    pub at: f64,
    /// What it should show at the end, divisions, with its zero error left in.
    pub target: f64,
    /// How far from where it began the screw may be turned at most, whatever the bubble shows, quarter-turns.
    pub no_further: f64,
    /// How far behind where it began the bubble may lead it back, quarter-turns: a foot that has to go back
    /// takes up its slack first.
    pub no_further_back: f64,
}

/// What came of turning a foot and watching.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turned {
    /// What the hand counted, quarter-turns, the slow part included.
    pub counted: f64,
    /// What the level shows, divisions, unless the bubble is off its scale.
    pub shown: Option<f64>,
    /// Whether it shows the target, or has just gone past it.
    pub reached: bool,
}

impl VirtualBed {
    /// Turns a foot by count, with the errors of a hand, then slowly and either way until the level shows the
    /// target, but never past a stop. A foot that goes loose as it is lowered is raised until it just carries,
    /// and left there.
    ///
    /// The level lies still all the while, with the zero error of the last pass. When the bubble is off its scale
    /// there is nothing to watch, and the count has to do.
    ///
    /// # Panics
    ///
    /// When there is no such foot.
    pub fn turn_watching(
        &mut self,
        foot: usize,
        quarter_turns: f64,
        level: &Level,
        watch: &Watch,
    ) -> Turned {
        let noise = self.noise(level);
        let (ahead, back) = (watch.no_further.abs(), watch.no_further_back.abs());
        let [lowest, highest] = if quarter_turns < 0.0 {
            [-ahead, back]
        } else {
            [-back, ahead]
        };
        let within = |turns: f64| turns.max(lowest).min(highest);
        let mut counted = self.turn(foot, within(quarter_turns));
        let mut shown = self.shown(level, watch, noise);
        let mut reached = false;
        // Where the bubble has to go, as it was at the last look.
        let mut missing = 0.0;
        // A bubble that does not answer keeps the hand going the way it went.
        let mut sense = quarter_turns;
        for _ in 0..PATIENCE {
            if !self.stance.carries[foot] && counted < 0.0 {
                counted += self.seat(foot);
                shown = self.shown(level, watch, noise);
                break;
            }
            let Some(reading) = shown else { break };
            let missing_now = watch.target - reading;
            if missing_now == 0.0 || missing_now * missing < 0.0 {
                reached = true;
                break;
            }
            missing = missing_now;
            let up = self.bubble_follows_up(foot, level, watch);
            if up != 0.0 {
                sense = missing * up;
            }
            let step = within(counted + WATCHFUL_STEP.copysign(sense)) - counted;
            let step = step - self.move_screw(foot, step);
            if step.abs() < STUCK {
                break;
            }
            counted += step;
            shown = self.shown(level, watch, noise);
        }
        Turned {
            counted,
            shown,
            reached,
        }
    }

    fn shown(&self, level: &Level, watch: &Watch, noise: f64) -> Option<f64> {
        match self.entry(level, watch.line, false, watch.at, noise) {
            Entry::Read(readings) => readings.first().copied(),
            Entry::Missing | Entry::OffScale(_) => None,
        }
    }

    /// Positive when the reading grows as the foot rises, zero when the foot moves nothing.
    fn bubble_follows_up(&self, foot: usize, level: &Level, watch: &Watch) -> f64 {
        let Some(ends) = self.ends(level, watch.line, watch.at) else {
            return 0.0;
        };
        let rise = self.rise(foot, FELT, &ends);
        rise[0] - rise[1]
    }
}
