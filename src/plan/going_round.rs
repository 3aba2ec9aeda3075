//! Readings to go round when everything has been turned.
//!
//! Every line of the card was steered by one reading, before the feet after it were touched. What the bed answers
//! otherwise than thought is still in it. Now several readings are brought to their marks, each with a foot that
//! answers it, and all over again, for each foot disturbs the others' readings. Where this ends,
//! `H E = 0` for the readings `H` and
//!
//! `E ← E − R (H R)⁻¹ H E`,
//!
//! with `R` the influence of the feet: what is unknown of the bed's answer no longer counts, but for what none of
//! these readings tells. Going round is the Gauss-Seidel iteration on `H R` (Golub & Van Loan, *Matrix Computations*,
//! 11.2; from memory). Readings and feet are chosen a pair at a time, by what they leave after
//! [`TIMES_ROUND`] times.

use nalgebra::{DMatrix, RowDVector};

use super::card::Look;
use crate::survey::Line;

/// Times that somebody goes round the readings at most.
pub const TIMES_ROUND: usize = 3;

/// A further reading must take at least this share off what is missed in all, mean square.
const WORTH_ANOTHER_READING: f64 = 0.01;

/// Of all pairs of a reading and a foot so many are tried in going round: those that would leave least if the
/// readings were all brought to their marks at once.
const TRIED: usize = 20;

/// Of more pairs than this only those are looked at whose foot is among those that answer the reading best. A bed of
/// eight feet has a few hundred.
const MOST_PAIRS: usize = 1000;

/// A reading that can be brought to its mark.
pub(super) struct Mark {
    pub line: Line,
    pub at: f64,
    /// What it should show, divisions.
    pub shows: f64,
    /// What it is wrong by, m/m by source of error.
    pub wrong: RowDVector<f64>,
    /// What it answers a metre of lift of each foot, m/m.
    pub answer: RowDVector<f64>,
}

/// A mark and the foot that is turned for it, both as indices.
type Pair = (usize, usize);

/// What is to be put right.
pub(super) struct GoingRound {
    marks: Vec<Mark>,
    /// Deviation with which a reading is brought to its mark, m/m.
    noise: f64,
    /// Error of the departures that feet can put right, shares of the limits by source of error.
    error: DMatrix<f64>,
    /// What feet do to it, shares of the limits per metre of lift.
    effect: DMatrix<f64>,
    /// Sum of squares of what no foot can put right.
    beyond: f64,
}

impl GoingRound {
    /// With departures that are wrong by `error`, by source, and answer the feet by `effect`, both in shares of the
    /// limits; a reading is brought to its mark with the deviation `noise`, m/m.
    pub fn new(marks: Vec<Mark>, noise: f64, error: &DMatrix<f64>, effect: &DMatrix<f64>) -> Self {
        // Only what lies in the span of the feet changes.
        let span = effect.clone().qr().q().transpose();
        let within = &span * error;
        Self {
            beyond: (error.norm_squared() - within.norm_squared()).max(0.0),
            error: within,
            effect: &span * effect,
            marks,
            noise,
        }
    }

    /// Readings for these feet, in the order to go round them, and what that adds to the lift of every foot: by source
    /// of error first, then by reading and time. `None` when no reading is worth it.
    pub fn choose(&self, feet: &[usize]) -> Option<(Vec<Look>, DMatrix<f64>)> {
        let pairs = self.pairs(feet);
        let mut chosen: Vec<Pair> = Vec::new();
        let mut left = self.error.norm_squared() + self.beyond;
        while let Some((round, leaves)) = self.one_more(&chosen, &pairs) {
            if leaves > (1.0 - WORTH_ANOTHER_READING) * left {
                break;
            }
            (chosen, left) = (round, leaves);
        }
        let look = |&(mark, foot): &Pair| {
            let Mark {
                line, at, shows, ..
            } = self.marks[mark];
            Look {
                foot,
                line,
                at,
                shows,
            }
        };
        (!chosen.is_empty()).then(|| (chosen.iter().map(look).collect(), self.lifts(&chosen)))
    }

    /// All pairs of a reading and one of these feet that are worth looking at.
    fn pairs(&self, feet: &[usize]) -> Vec<Pair> {
        let marks = 0..self.marks.len();
        let pairs = marks.flat_map(|mark| feet.iter().map(move |&foot| (mark, foot)));
        let mut pairs: Vec<Pair> = pairs.collect();
        if pairs.len() > MOST_PAIRS {
            let best: Vec<f64> = self.marks.iter().map(|mark| mark.answer.amax()).collect();
            let share = |&(mark, foot): &Pair| self.marks[mark].answer[foot].abs() / best[mark];
            pairs.sort_by(|a, b| share(b).total_cmp(&share(a)));
            pairs.truncate(MOST_PAIRS);
        }
        pairs
    }

    /// The best round with one pair more, and what it leaves.
    fn one_more(&self, chosen: &[Pair], pairs: &[Pair]) -> Option<(Vec<Pair>, f64)> {
        let free = |&(mark, foot): &Pair| chosen.iter().all(|c| c.0 != mark && c.1 != foot);
        let mut pairs: Vec<(f64, Pair)> = pairs
            .iter()
            .copied()
            .filter(free)
            .filter_map(|pair| Some((self.at_once(&[chosen, &[pair]].concat())?, pair)))
            .collect();
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
        pairs
            .into_iter()
            .take(TRIED)
            .flat_map(|(_, pair)| {
                // A foot that disturbs the others is turned before them.
                [[chosen, &[pair]].concat(), [&[pair], chosen].concat()]
            })
            .map(|round| {
                let leaves = self.leaves(&self.lifts(&round));
                (round, leaves)
            })
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// What is left where all these readings are right at once; `None` where their feet cannot do it.
    fn at_once(&self, pairs: &[Pair]) -> Option<f64> {
        let count = pairs.len();
        let answers = DMatrix::from_fn(count, count, |i, j| {
            self.marks[pairs[i].0].answer[pairs[j].1]
        });
        let effects = DMatrix::from_fn(self.effect.nrows(), count, |i, j| {
            self.effect[(i, pairs[j].1)]
        });
        let by_reading = effects * answers.try_inverse()?;
        let wrong = DMatrix::from_fn(count, self.error.ncols(), |i, j| {
            self.marks[pairs[i].0].wrong[j]
        });
        let noise = by_reading.norm_squared() * self.noise * self.noise;
        Some((&self.error - by_reading * wrong).norm_squared() + noise)
    }

    /// What going round these readings adds to the lift of every foot, m, by source of error and then by reading and
    /// time.
    fn lifts(&self, round: &[Pair]) -> DMatrix<f64> {
        let sources = self.error.ncols();
        let feet = self.effect.ncols();
        let mut lifts = DMatrix::zeros(feet, sources + TIMES_ROUND * round.len());
        for time in 0..TIMES_ROUND {
            for (place, &(mark, foot)) in round.iter().enumerate() {
                let Mark { wrong, answer, .. } = &self.marks[mark];
                let mut off = answer * &lifts;
                let mut by_source = off.columns_mut(0, sources);
                by_source += wrong;
                off[sources + time * round.len() + place] += self.noise;
                let mut lift = lifts.row_mut(foot);
                lift -= off / answer[foot];
            }
        }
        lifts
    }

    /// Mean square of what is left after these lifts, shares of the limits squared.
    fn leaves(&self, lifts: &DMatrix<f64>) -> f64 {
        let mut left = &self.effect * lifts;
        let mut by_source = left.columns_mut(0, self.error.ncols());
        by_source += &self.error;
        left.norm_squared() + self.beyond
    }
}
