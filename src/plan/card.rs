//! The card to work from: one line per foot and trip, in the order to do them.

use nalgebra::DVector;

use crate::geometry::{Figure, Particulars};
use crate::response::Place;
use crate::survey::{Foot, Line};

use super::advice::Advice;
use super::next_pass::NextPass;

/// What the slack of a worn thread may take when a screw is turned the other way than before, quarter-turns:
/// eight degrees, order of magnitude, no source.
pub const THREAD_SLACK: f64 = 8.0 / 90.0;

/// How far a foot may be turned either way to bring a reading back at the end, quarter-turns: its slack, and
/// as much again.
pub const LOOK_AGAIN_REACH: f64 = 2.0 * THREAD_SLACK;

/// How far a foot that is lowered by count alone is turned past its turn and back up, turns: a twelfth, as much as the
/// slack of a thread takes (common practice, no source).
const PAST: f64 = 1.0 / 12.0;

/// No foot goes further past its turn than this, m (common practice, no source).
const MOST_PAST: f64 = 0.1e-3;

/// How far to lower this foot past its turn before it comes back up, quarter-turns.
///
/// ```
/// let survey = "format = 1\n[bed]\nlength = 2000\nway_spacing = 300\n[feet]\nat = [100, 1900]\nlift_per_turn = 1.0\n";
/// let mut foot = quarterturn::survey::read(survey).unwrap().feet.remove(0);
/// // A twelfth of a turn of a pitch of 1 mm is 0.083 mm; of 3 mm it would be 0.25 mm, and 0.1 mm are a thirtieth.
/// assert!((quarterturn::plan::overrun(&foot) * 90.0 - 30.0).abs() < 1e-9);
/// foot.lift_per_turn = 3e-3;
/// assert!((quarterturn::plan::overrun(&foot) * 90.0 - 12.0).abs() < 1e-9);
/// ```
pub fn overrun(foot: &Foot) -> f64 {
    4.0 * PAST.min(MOST_PAST / foot.lift_per_turn)
}

/// Everything a round of turning needs, and what it should leave.
#[derive(Debug, Clone, PartialEq)]
pub struct TurnPlan {
    /// Whether the bed is taken to rest on its feet by its weight alone: it is not held down, or its anchors are slack as yet.
    pub rests: bool,
    /// The card in the order to do it. Every foot is on it at least once; a foot's whole turn is the sum
    /// of its lines.
    pub lines: Vec<CardLine>,
    /// Readings to go round when everything has been turned, in order, [`TIMES_ROUND`](super::TIMES_ROUND) times or
    /// until all show what they should: the last turns have moved what the first ones left right.
    pub looks: Vec<Look>,
    /// What the turns should change of the heights at the places of the [`History`](crate::response::History), front
    /// first, m.
    pub moved: DVector<f64>,
    /// What the turns should leave.
    pub predicted: Prediction,
    /// Whether these turns are proven to be the best.
    pub proof: Proof,
    /// What else to know or to do, most urgent first.
    pub advice: Vec<Advice>,
    /// What to read next; `None` when nothing more is to be read, or nothing can be proven by it.
    pub next_pass: Option<NextPass>,
    /// Load on every foot, in the order of the survey's feet, when the masses are known.
    pub loads: Option<Vec<FootLoad>>,
}

/// One line of the card.
#[derive(Debug, Clone, PartialEq)]
pub struct CardLine {
    /// Walk round the machine in which this is done, from 1.
    pub trip: usize,
    /// Index into the survey's feet.
    pub foot: usize,
    /// What to do.
    pub action: Action,
    /// Quarter-turns of the screw, + raises. Nothing for a foot to leave.
    pub quarter_turns: f64,
    /// What that lifts the foot, m, + raises.
    pub lift: f64,
    /// The reading that says when to stop, where one answers this foot.
    pub watch: Option<Watch>,
    /// Quarter-turns beyond which not to go, whatever the bubble says; same sign as `quarter_turns`, and the
    /// same number where there is nothing to watch.
    pub no_further: f64,
}

/// A reading to bring back with a foot, no further than [`LOOK_AGAIN_REACH`] either way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// Index into the survey's feet.
    pub foot: usize,
    /// Across, or along one of the ways.
    pub line: Line,
    /// Middle of the level from the headstock end, m.
    pub at: f64,
    /// What it should show, divisions.
    pub shows: f64,
}

/// What to do with a foot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Turn so that the bed comes up.
    Raise,
    /// Turn so that the bed comes down.
    Lower,
    /// Turn a hanging foot until it just carries.
    Seat,
    /// Do not touch.
    Leave,
}

/// A reading to watch while one foot is turned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Watch {
    /// Across, or along one of the ways.
    pub line: Line,
    /// Middle of the level, m from the headstock end.
    pub at: f64,
    /// What the level shows before this foot is touched, divisions, its zero error left in.
    pub from: f64,
    /// What it should show after, divisions.
    pub to: f64,
}

/// What the turns should leave; `None` where the readings cannot tell.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Prediction {
    /// Twist, about the one that was chosen, m/m.
    pub twist: Option<Figure>,
    /// Crown of the front way, m.
    pub crown_front: Option<Figure>,
    /// Crown of the rear way, m.
    pub crown_rear: Option<Figure>,
    /// Of the front and the rear way, the largest departure on the side that the crown is not on, m.
    pub opposite: [Option<Figure>; 2],
    /// What the other limits are about, as far as the survey sets them.
    pub particulars: Particulars,
    /// Whether the predicted values keep every limit that is set; `None` without a limit or a value.
    pub within_limits: Option<bool>,
}

/// How good the turns are among all whole steps inside the feet's travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Proof {
    /// No other turns leave less.
    Optimal,
    /// The search was stopped; the best possible is at most this share of the weighted square better.
    Gap(f64),
}

/// Load on one foot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FootLoad {
    /// Where it stands.
    pub place: Place,
    /// Before the turns, N; negative where an anchor pulls it down.
    pub before: f64,
    /// After them, N.
    pub after: f64,
    /// Share of the machine's weight before the turns.
    pub share_before: f64,
    /// Share of the machine's weight after them.
    pub share_after: f64,
}
