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

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector, RowDVector};

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

/// What is left after two rounds is the same if it differs by less than this share of the error before them.
const SAME: f64 = 1e-9;

/// A mark and the foot that is turned for it, both as indices.
type Pair = (usize, usize);

/// What is to be put right.
///
/// Whatever is done to a reading is a share of what it is wrong by, so what is left of the error follows from products of
/// errors alone, which are taken once: looking at a pair does not go through the sources of error again.
pub(super) struct GoingRound {
    marks: Vec<Mark>,
    /// Deviation with which a reading is brought to its mark, m/m.
    noise: f64,
    /// Error of the departures that feet can put right, shares of the limits by source of error, and what feet do to
    /// it, shares of the limits per metre of lift.
    within: DMatrix<f64>,
    effect: DMatrix<f64>,
    /// Mean square of the error of the departures, shares of the limits squared.
    error: f64,
    /// What feet do to the departures, shares of the limits per metre of lift, as products of two feet.
    effects: DMatrix<f64>,
    /// What a foot does to the departures times their error times what a reading is wrong by.
    crossed: DMatrix<f64>,
    /// What each reading is wrong by, m/m, one a row.
    wrong: DMatrix<f64>,
}

/// Readings gone round, and the products of what they are wrong by with that of every reading.
#[derive(Default)]
struct Chosen {
    pairs: Vec<Pair>,
    products: BTreeMap<usize, DVector<f64>>,
}

impl GoingRound {
    /// With departures that are wrong by `error`, by source, and answer the feet by `effect`, both in shares of the
    /// limits; a reading is brought to its mark with the deviation `noise`, m/m.
    pub fn new(marks: Vec<Mark>, noise: f64, error: &DMatrix<f64>, effect: &DMatrix<f64>) -> Self {
        let wrong = DMatrix::from_fn(marks.len(), error.ncols(), |mark, source| {
            marks[mark].wrong[source]
        });
        // Only what lies in the span of the feet changes.
        let span = effect.clone().qr().q().transpose();
        Self {
            within: &span * error,
            effect: &span * effect,
            error: error.norm_squared(),
            effects: effect.tr_mul(effect),
            crossed: effect.tr_mul(error) * wrong.transpose(),
            wrong,
            marks,
            noise,
        }
    }

    /// Readings for these feet, in the order to go round them, and what that adds to the lift of every foot: by source
    /// of error first, then by reading and time. `None` when no reading is worth it.
    pub fn choose(&self, feet: &[usize]) -> Option<(Vec<Look>, DMatrix<f64>)> {
        let pairs = self.pairs(feet);
        let mut chosen = Chosen::default();
        let mut left = self.error;
        while let Some((round, leaves)) = self.one_more(&chosen, &pairs) {
            if leaves > (1.0 - WORTH_ANOTHER_READING) * left {
                break;
            }
            left = leaves;
            self.take(&mut chosen, round);
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
        let chosen = chosen.pairs;
        (!chosen.is_empty()).then(|| (chosen.iter().map(look).collect(), self.lifts(&chosen)))
    }

    fn take(&self, chosen: &mut Chosen, round: Vec<Pair>) {
        for &(mark, _) in &round {
            chosen
                .products
                .entry(mark)
                .or_insert_with(|| &self.wrong * self.wrong.row(mark).transpose());
        }
        chosen.pairs = round;
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
    fn one_more(&self, chosen: &Chosen, pairs: &[Pair]) -> Option<(Vec<Pair>, f64)> {
        let before = &chosen.pairs;
        let free = |&(mark, foot): &Pair| before.iter().all(|c| c.0 != mark && c.1 != foot);
        let mut pairs: Vec<(f64, Pair)> = pairs
            .iter()
            .copied()
            .filter(free)
            .filter_map(|pair| {
                let round = [before, &[pair][..]].concat();
                Some((self.at_once(chosen, &round)?, pair))
            })
            .collect();
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let rounds: Vec<(Vec<Pair>, f64)> = pairs
            .into_iter()
            .take(TRIED)
            .flat_map(|(_, pair)| {
                // A foot that disturbs the others is turned before them.
                [
                    [before, &[pair][..]].concat(),
                    [&[pair][..], before].concat(),
                ]
            })
            .map(|round| {
                let (by_reading, by_noise) = self.shares(&round);
                let leaves = self.leaves(chosen, &round, &by_reading, &by_noise);
                (round, leaves)
            })
            .collect();
        let least = rounds.iter().map(|round| round.1).reduce(f64::min)?;
        let rivals: Vec<(f64, (Vec<Pair>, f64))> = rounds
            .into_iter()
            .filter(|round| round.1 - least <= SAME * self.error)
            .map(|round| (self.left_within(&round.0), round))
            .collect();
        let least = rivals.iter().map(|rival| rival.0).reduce(f64::min)?;
        // What the readings cannot tell apart rounding must not choose either.
        let alike = rivals
            .into_iter()
            .filter(|rival| rival.0 <= least * (1.0 + SAME));
        alike
            .map(|rival| rival.1)
            .min_by(|a, b| a.0.iter().cmp(&b.0))
    }

    /// Mean square of what a round leaves of what feet can put right, source by source: rounds that leave the same by
    /// the products of errors are told apart by this.
    fn left_within(&self, round: &[Pair]) -> f64 {
        let mut left = &self.effect * self.lifts(round);
        let mut by_source = left.columns_mut(0, self.within.ncols());
        by_source += &self.within;
        left.norm_squared()
    }

    /// What is left where all these readings are right at once; `None` where their feet cannot do it.
    fn at_once(&self, chosen: &Chosen, pairs: &[Pair]) -> Option<f64> {
        let lifts = -self.answers(pairs).try_inverse()?;
        let noise = &lifts * self.noise;
        Some(self.leaves(chosen, pairs, &lifts, &noise))
    }

    /// What each of these readings answers a metre of lift of each of their feet, m/m.
    fn answers(&self, pairs: &[Pair]) -> DMatrix<f64> {
        DMatrix::from_fn(pairs.len(), pairs.len(), |i, j| {
            self.marks[pairs[i].0].answer[pairs[j].1]
        })
    }

    /// What going round these readings adds to the lift of each of their feet: per m/m that each reading is wrong by,
    /// and, m, by reading and time, for how exactly each is brought to its mark.
    fn shares(&self, round: &[Pair]) -> (DMatrix<f64>, DMatrix<f64>) {
        let count = round.len();
        let answers = self.answers(round);
        let mut lifts = DMatrix::zeros(count, (1 + TIMES_ROUND) * count);
        for time in 0..TIMES_ROUND {
            for place in 0..count {
                let mut off = answers.row(place) * &lifts;
                off[place] += 1.0;
                off[count * (1 + time) + place] += self.noise;
                let mut lift = lifts.row_mut(place);
                lift -= off / answers[(place, place)];
            }
        }
        let by_noise = lifts.columns(count, TIMES_ROUND * count).into_owned();
        (lifts.columns(0, count).into_owned(), by_noise)
    }

    /// Mean square of what is left after these lifts of the feet of a round, shares of the limits squared.
    fn leaves(
        &self,
        chosen: &Chosen,
        round: &[Pair],
        by_reading: &DMatrix<f64>,
        by_noise: &DMatrix<f64>,
    ) -> f64 {
        let count = round.len();
        let effects = DMatrix::from_fn(count, count, |i, j| self.effects[(round[i].1, round[j].1)]);
        let crossed = DMatrix::from_fn(count, count, |i, j| self.crossed[(round[i].1, round[j].0)]);
        let wrong = DMatrix::from_fn(count, count, |i, j| {
            let (one, other) = (round[i].0, round[j].0);
            let products = &chosen.products;
            match (products.get(&one), products.get(&other)) {
                (Some(of_one), _) => of_one[other],
                (None, Some(of_other)) => of_other[one],
                // Only the pair that is tried is not among the chosen.
                (None, None) => self.wrong.row(one).norm_squared(),
            }
        });
        self.error
            + 2.0 * by_reading.dot(&crossed)
            + (&effects * by_reading).dot(&(by_reading * wrong))
            + (&effects * by_noise).dot(by_noise)
    }

    /// What going round these readings adds to the lift of every foot, m, by source of error and then by reading and
    /// time.
    fn lifts(&self, round: &[Pair]) -> DMatrix<f64> {
        let sources = self.within.ncols();
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
}
