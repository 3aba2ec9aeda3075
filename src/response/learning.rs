//! Everything the rounds in a file tell about the bed as it is now: its surface, how it answers its feet,
//! and how sure both are.
//!
//! Every pass is written in terms of the surface *now*: what it saw is the surface less what the turns
//! since have done,
//!
//! `reading_j = A_j (surface - Σ_{k≥j} R(reaches, k_f) E (u_k + δ_k)) + zero_j + noise`,
//!
//! with `u_k` the lifts recorded after pass k, `δ_k` what was really turned beside them, `E` one
//! effectiveness per foot and `R` the influence of the beam on its feet, which are as stiff as `k_f` beside
//! each other. Unknown together are the surface, every pass's zero errors, the two reaches, the
//! effectivenesses, the stiffnesses and the `δ_k`, each with a prior that fades as rounds come in. A few
//! Gauss-Newton steps settle it (Björck, *Numerical Methods for Least Squares Problems*, 1996, section 9.2;
//! from memory). What a change of the response does is taken for the lifts that arrived, `u_k + δ_k` as the
//! step before found them: with the recorded ones a turn that went wrong would pass for a bed that answers
//! otherwise, and surely so.
//!
//! A bed that only rests on its feet does not answer in proportion: what its feet did is left open, and all that ties its
//! passes together is that feet can bend it in some ways only, whatever its stiffness. How it answers now follows from how it
//! bears on its feet, see `bearing`.
//!
//! Wear takes care of itself: what no turn has moved between passes is in the surface, and the plan asks of
//! the feet only what their influence can do.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::Place;
use super::answering::{Answering, Guess, Linearised, STIFFNESS_SPREAD};
use super::bearing::Bearing;
use super::history::{Answer, History, NoHistory};
use super::reach::{BENDING_SPREAD, Reaches, TORSION_SPREAD};
use super::rounds::{Block, Rounds};
use super::slopes::slope_function;
use crate::geometry::held::Held;
use crate::geometry::network::free_slopes;
use crate::geometry::{Adjusted, Layout, LeastSquares, Observation, Passes, Rise};
use crate::survey::{AimShape, Foot, Line, Side};

/// Standard deviation of a foot's effectiveness before it has been turned: feet, floor and casting differ
/// from place to place.
pub const EFFECTIVENESS_SPREAD: f64 = 0.25;

/// Most feet answer as they should, and a few do something else altogether: a foot whose effectiveness has
/// left the usual spread is held back no more than this share of its distance says (a reweighted prior
/// with long tails; Huber 1964, from memory).
const FAR_OUT: f64 = 0.7;

/// What a hand and the slack of the thread add to or take from a recorded turn, turns: five degrees.
const HAND: f64 = 5.0 / 360.0;

/// What is wrong with a recorded lift besides, as a share of it: the thread, the slack, a bubble watched
/// instead of a turn counted.
const RECORD_SHARE: f64 = 0.06;

/// How far a foot may have gone whose record contradicts the readings, beside the largest turn that was recorded, m.
const GONE: f64 = 1e-3;

/// How far a foot of a bed that only rests on its feet may have gone in a round, beside the largest turn that was recorded, m:
/// where the others leave it, it comes down by no more than they were turned, and whoever brings a loose one up to bear may lift
/// the bed with it a little (order of magnitude, no source).
const SEATED: f64 = 0.1e-3;

/// What is wrong with the thickness of packing, as a share of it: feelers are worn and strips give (order of magnitude, no
/// source).
const PACKING_SHARE: f64 = 0.03;

/// What a foot nobody touched may have moved all the same, m.
const UNTOUCHED: f64 = 1e-7;

/// How wrong the best beam model still is about a reading, as a share of the change it predicts: the first
/// of these with which the rounds do not contradict each other. What is not known of the bed has unknowns of its own, so
/// that it may well be little.
const MODEL_SHARES: [f64; 5] = [0.04, 0.1, 0.2, 0.4, 0.8];

/// Rounds contradict each other when the mean square of the standardised misfits exceeds one by more than
/// this many of its standard deviations.
const CONTRADICTION: f64 = 2.0;

/// A record is said to contradict the readings where they are more credible by this gain in twice the log likelihood had
/// its turn gone the other way: `2 ln 2000`. A sign is written wrong once in a hundred times (a judgement, no source), and
/// this makes it twenty times as likely as not.
const CONTRADICTED: f64 = 15.2;

/// So many records are tried the other way round, those first that gain most as a linear problem sees it.
const RECORDS_TRIED: usize = 4;

/// More records than this are not doubted: then it is not the records.
const MOST_DOUBTED: usize = 3;

/// A reading so many times less exact than the finest of its line is far coarser: two levels differ by five or more, a place that was
/// read once from one that was read four times by two.
const COARSER: f64 = 3.0;

/// Gauss-Newton stops when no unknown of the response moves by more than this (all are of order one).
const RESPONSE_TOLERANCE: f64 = 1e-4;
/// Most Gauss-Newton steps; the problem is nearly linear.
const MOST_STEPS: usize = 12;

/// The joint problem while it is being solved.
pub(super) struct Learning<'a> {
    rounds: Rounds<'a>,
    answering: Answering,
    bearing: Option<Bearing>,
    model_share: f64,
    /// Records that contradict the readings, as round and foot: nothing is learned from them.
    doubted: Vec<(usize, usize)>,
    /// What each block's readings see of the surface, one a row.
    seen: Vec<Vec<RowDVector<f64>>>,
    /// What the prior holds of the surface beside them.
    held: Held,
}

/// The solved problem and where it was linearised.
struct Learned {
    guess: Guess,
    /// What was really lifted in every round, m by foot.
    arrived: Vec<DVector<f64>>,
    about: Linearised,
    solved: Adjusted,
}

impl<'a> Learning<'a> {
    pub(super) fn new(passes: &Passes<'a>, pass: usize) -> Result<Self, NoHistory> {
        let survey = passes.survey();
        let rounds = Rounds::of(passes, pass)?;
        let place = |at: f64, across: f64| Place { at, across };
        let half = 0.5 * survey.bed.way_spacing;
        let places = rounds.layout.at();
        let points = [half, -half]
            .into_iter()
            .flat_map(|across| places.iter().map(move |at| place(*at, across)))
            .collect();
        let seen: Vec<Vec<RowDVector<f64>>> = rounds
            .blocks
            .iter()
            .map(|block| seen(&rounds, block))
            .collect();
        Ok(Self {
            held: held_beside(&rounds, &seen, |_| true),
            seen,
            answering: Answering {
                length: survey.bed.length,
                feet: survey
                    .feet
                    .iter()
                    .map(|foot| place(foot.at, foot.across))
                    .collect(),
                points,
                usual: Reaches::usual(survey),
            },
            bearing: (!survey.bed.held_down())
                .then(|| Bearing::of(&rounds, pass))
                .flatten(),
            model_share: MODEL_SHARES[0],
            doubted: Vec::new(),
            rounds,
        })
    }

    /// What is known without the readings that were off the scale, about the values that these steer to.
    fn told(&self, learned: &Learned) -> Adjusted {
        let held = held_beside(&self.rounds, &self.seen, is_number);
        let (guess, about) = (&learned.guess, &learned.about);
        let mut told = self.step(guess, about, &learned.arrived, &held, is_number);
        told.unknowns.copy_from(&learned.solved.unknowns);
        told
    }

    fn feet(&self) -> usize {
        self.answering.feet.len()
    }

    fn about(&self, guess: &Guess) -> Result<Linearised, NoHistory> {
        self.answering.about(guess).map_err(NoHistory::Unsupported)
    }

    pub(super) fn run(mut self) -> Result<History, NoHistory> {
        let mut learned = self.settled()?;
        while self.doubted.len() < MOST_DOUBTED {
            let Some(record) = self.contradicted()? else {
                break;
            };
            self.doubted.push(record);
            learned = self.settled()?;
        }
        Ok(self.into_history(learned))
    }

    /// Learns with the least doubt about the model with which the rounds do not contradict each other.
    fn settled(&mut self) -> Result<Learned, NoHistory> {
        self.model_share = MODEL_SHARES[0];
        let mut learned = self.learn(self.first_guess())?;
        for share in &MODEL_SHARES[1..] {
            if !self.contradicts(&learned.solved) {
                break;
            }
            self.model_share = *share;
            learned = self.learn(learned.guess)?;
        }
        Ok(learned)
    }

    /// The record whose turn far more likely went the other way than as it is written, as round and foot.
    fn contradicted(&mut self) -> Result<Option<(usize, usize)>, NoHistory> {
        let mut read = self.rounds.blocks.iter();
        let on_scale = read.all(|block| block.observations.iter().all(is_number));
        // What a bed was out by at least may be far from what it was out by: no record is accused by that.
        if self.bearing.is_some() || self.rounds.lifts.is_empty() || !on_scale {
            return Ok(None);
        }
        let kept = std::mem::replace(&mut self.model_share, MODEL_SHARES[0]);
        let usual = self.first_guess();
        let about = self.about(&usual)?;
        let linear = self.step(&usual, &about, &self.rounds.lifts, &self.held, |_| true);
        let mut records = self.records_the_other_way(&linear);
        records.truncate(RECORDS_TRIED);
        let as_written = match records.as_slice() {
            [] => 0.0,
            _ => self.cost(&self.learn(usual.clone())?),
        };
        let mut best: Option<(f64, (usize, usize))> = None;
        for (round, foot) in records {
            let written = self.rounds.lifts[round][foot];
            self.rounds.lifts[round][foot] = -written;
            let learned = self.learn(usual.clone());
            self.rounds.lifts[round][foot] = written;
            let cost = self.cost(&learned?);
            if best.is_none_or(|(least, _)| cost < least) {
                best = Some((cost, (round, foot)));
            }
        }
        self.model_share = kept;
        // What the model gets wrong in any case must not speak against a record.
        let freedom = linear.redundancy().sum().max(1.0);
        Ok(best
            .filter(|(cost, _)| as_written - cost > CONTRADICTED * (cost / freedom).max(1.0))
            .map(|(_, record)| record))
    }

    /// Records not yet in doubt that gain by going the other way, the one that gains most first: `2 τ v + τ² r` is what a
    /// change by `τ` of a row with misfit `v` and redundancy `r` adds to the sum of squares.
    fn records_the_other_way(&self, linear: &Adjusted) -> Vec<(usize, usize)> {
        let feet = self.feet();
        let redundancy = linear.redundancy();
        let first = linear.residuals.len() - feet * self.rounds.lifts.len();
        let mut gains: Vec<(f64, (usize, usize))> = Vec::new();
        for (round, lifts) in self.rounds.lifts.iter().enumerate() {
            for foot in (0..feet).filter(|&foot| lifts[foot] != 0.0) {
                let row = first + feet * round + foot;
                let by = -2.0 * lifts[foot] / self.record_deviation(round, foot);
                let adds = 2.0 * by * linear.residuals[row] + by * by * redundancy[row];
                if adds < 0.0 && !self.doubted.contains(&(round, foot)) {
                    gains.push((adds, (round, foot)));
                }
            }
        }
        gains.sort_by(|a, b| a.0.total_cmp(&b.0));
        gains.into_iter().map(|(_, record)| record).collect()
    }

    /// Sum of all squares, a share far from one held back by the usual spread.
    fn cost(&self, learned: &Learned) -> f64 {
        let first = self.response_columns() + 2;
        let guess = &learned.guess.effectiveness;
        let far = (0..self.feet()).map(|foot| {
            let off = 1.0 - guess[foot] - learned.solved.unknowns[first + foot];
            (off / EFFECTIVENESS_SPREAD).powi(2) - (off / share_deviation(guess[foot])).powi(2)
        });
        learned.solved.residuals.norm_squared() + far.sum::<f64>()
    }

    /// What to think of the bed's answer before its rounds are looked at.
    fn first_guess(&self) -> Guess {
        let mut guess = Guess::usual(self.feet());
        if let Some(bearing) = &self.bearing {
            let (found, usual) = (Reaches::of(&bearing.model), self.answering.usual);
            guess.log_reach = [
                (found.bending / usual.bending).ln(),
                (found.torsion / usual.torsion).ln(),
            ];
        }
        guess
    }

    /// Whether the misfits of all passes together are too large to be noise.
    fn contradicts(&self, solved: &Adjusted) -> bool {
        if self.rounds.blocks.len() < 2 {
            return false;
        }
        let blocks = self.rounds.blocks.iter();
        let readings = blocks.map(|block| block.observations.len()).sum();
        let freedom: f64 = solved.redundancy().rows(0, readings).sum();
        let squares = solved.residuals.rows(0, readings).norm_squared();
        squares > freedom + CONTRADICTION * (2.0 * freedom).sqrt()
    }

    fn learn(&self, mut guess: Guess) -> Result<Learned, NoHistory> {
        let mut about = self.about(&guess)?;
        let mut arrived = self.rounds.lifts.clone();
        let all: fn(&Observation) -> bool = |_| true;
        let mut solved = self.step(&guess, &about, &arrived, &self.held, all);
        if self.bearing.is_none() && !self.rounds.lifts.is_empty() {
            for _ in 0..MOST_STEPS {
                let response = self.response_columns()..self.record_columns();
                let corrections = &solved.unknowns.as_slice()[response];
                let moved = guess.corrected(corrections);
                arrived = self.arrived(&solved);
                about = self.about(&guess)?;
                solved = self.step(&guess, &about, &arrived, &self.held, all);
                if moved < RESPONSE_TOLERANCE {
                    break;
                }
            }
        }
        Ok(Learned {
            guess,
            arrived,
            about,
            solved,
        })
    }

    fn into_history(self, mut learned: Learned) -> History {
        let mut readings = self
            .rounds
            .blocks
            .iter()
            .flat_map(|block| &block.observations);
        if !readings.all(is_number) {
            learned.solved = self.told(&learned);
        }
        let Learned {
            guess,
            about,
            solved,
            ..
        } = learned;
        let first = self.response_columns();
        let unknowns = Guess::unknowns(self.feet());
        let latest = [true, false].map(|across| self.latest(across));
        let answer_root = solved.covariance_root(&DMatrix::from_fn(
            unknowns,
            solved.unknowns.len(),
            |i, j| if j == first + i { 1.0 } else { 0.0 },
        ));
        History {
            survey: self.rounds.survey.clone(),
            roughness: self.rounds.roughness,
            half_base: self.rounds.half_base,
            way_spacing: self.rounds.survey.bed.way_spacing,
            division: self.rounds.division,
            zero_columns: latest.map(|block| self.rounds.layout.unknowns() + 2 * block),
            packing_columns: [0, 1].map(|kind| self.packing_column(latest[kind], kind)),
            packed: self
                .rounds
                .blocks
                .last()
                .map_or([0.0; 2], |block| block.packed),
            answer: Answer {
                reaches: self.answering.reaches(guess.log_reach),
                effectiveness: guess.effectiveness.iter().copied().collect(),
                stiffness: guess.log_stiffness.iter().map(|log| log.exp()).collect(),
                deviation: answer_root.row_iter().map(|row| row.norm()).collect(),
                rounds: self
                    .rounds
                    .lifts
                    .iter()
                    .filter(|lift| lift.amax() > 0.0)
                    .count(),
            },
            moved_by_itself: self.rounds.moved_after,
            contradicted: self
                .doubted
                .iter()
                .map(|(round, foot)| (self.rounds.first + round, *foot))
                .collect(),
            influence: about.influence(),
            about,
            answer_root,
            system: solved,
            ends: [Line::Front, Line::Rear].map(|line| self.rounds.ends(line)),
            across: self.rounds.ends(Line::Cross),
            last: self
                .rounds
                .blocks
                .last()
                .map(|block| block.observations.clone())
                .unwrap_or_default(),
            reading_deviation: self.rounds.reading_deviation,
            warmth: self.rounds.warmth,
            layout: self.rounds.layout,
            bearing: self.bearing,
        }
    }

    /// Columns: surface, zero errors of every pass, what is wrong with its packing, response, errors of the record of every
    /// round.
    fn response_columns(&self) -> usize {
        self.packing_columns() + self.packed().count()
    }

    /// The latest block that was read across, or along.
    fn latest(&self, across: bool) -> usize {
        let blocks = &self.rounds.blocks;
        let read = |block: &Block| {
            let mut rows = block.observations.iter();
            rows.any(|row| (row.line == Line::Cross) == across)
        };
        blocks.iter().rposition(read).unwrap_or(blocks.len() - 1)
    }

    fn packing_columns(&self) -> usize {
        self.rounds.layout.unknowns() + 2 * self.rounds.blocks.len()
    }

    /// What packing adds to the readings of a block across (0) and along (1), where there is any, m/m.
    fn packed(&self) -> impl Iterator<Item = (usize, usize, f64)> {
        let blocks = self.rounds.blocks.iter().enumerate();
        blocks.flat_map(|(index, block)| {
            let kinds = block.packed.into_iter().enumerate();
            kinds
                .filter(|(_, packed)| *packed != 0.0)
                .map(move |(kind, packed)| (index, kind, packed))
        })
    }

    /// The column of what is wrong with the packing of a block across or along.
    fn packing_column(&self, block: usize, kind: usize) -> Option<usize> {
        let place = self.packed().position(|of| (of.0, of.1) == (block, kind))?;
        Some(self.packing_columns() + place)
    }

    fn record_columns(&self) -> usize {
        self.response_columns() + Guess::unknowns(self.feet())
    }

    fn columns(&self) -> usize {
        self.record_columns() + self.feet() * self.rounds.lifts.len()
    }

    /// Columns of the last pass's zero errors, across and along, that no reversed reading tells: a bed that is to be level
    /// leans by what they are wrong by.
    fn zeros_not_reversed(&self) -> Vec<usize> {
        let Some(block) = self.rounds.blocks.last() else {
            return Vec::new();
        };
        let first = self.response_columns() - 2;
        let reversed = |along: bool| {
            let mut rows = block.observations.iter();
            rows.any(|row| row.reversed && (row.line != Line::Cross) == along)
        };
        let not = [false, true].into_iter().filter(|along| !reversed(*along));
        not.map(|along| first + usize::from(along)).collect()
    }

    /// What was really lifted in every round, as far as a solution tells, m by foot.
    fn arrived(&self, solved: &Adjusted) -> Vec<DVector<f64>> {
        let feet = self.feet();
        let records = self.record_columns();
        self.rounds
            .lifts
            .iter()
            .enumerate()
            .map(|(round, lift)| lift + solved.unknowns.rows(records + feet * round, feet))
            .collect()
    }

    /// Solves the problem linearised about a guess and lifts that arrived. The response's unknowns are corrections
    /// to the guess, those of the records to what was recorded. Only some readings are used, and `held` is what the
    /// prior holds beside them.
    fn step(
        &self,
        guess: &Guess,
        about: &Linearised,
        arrived: &[DVector<f64>],
        held: &Held,
        used: fn(&Observation) -> bool,
    ) -> Adjusted {
        let feet = self.feet();
        let columns = self.columns();
        let surface = self.rounds.layout.unknowns();
        let (first, records) = (self.response_columns(), self.record_columns());
        let influence = about.influence();
        let packing: Vec<[Option<usize>; 2]> = (0..self.rounds.blocks.len())
            .map(|block| [0, 1].map(|kind| self.packing_column(block, kind)))
            .collect();

        let mut rows: Vec<RowDVector<f64>> = Vec::new();
        let mut targets: Vec<f64> = Vec::new();
        for (index, block) in self.rounds.blocks.iter().enumerate() {
            let seen = &self.seen[index];
            let sum = |lifts: &[DVector<f64>]| {
                let since = &lifts[block.rounds_since.clone()];
                since
                    .iter()
                    .fold(DVector::zeros(feet), |total, lift| total + lift)
            };
            let (total, arrived) = (sum(&self.rounds.lifts), sum(arrived));
            let effect = Rise::all_on(&block.under, &influence);
            let predicted = &effect * &total;
            let by_unknown = Rise::all_on(&block.under, &about.changed(&arrived));
            let observations = block.observations.iter().enumerate();
            for (i, observation) in observations.filter(|(_, observation)| used(observation)) {
                let mut row = RowDVector::zeros(columns);
                row.columns_mut(0, surface).copy_from(&seen[i]);
                let kind = usize::from(observation.line != Line::Cross);
                row[surface + 2 * index + kind] = if observation.reversed { -1.0 } else { 1.0 };
                if let Some(column) = packing[index][kind] {
                    row[column] = 1.0;
                }
                row.columns_mut(first, by_unknown.ncols())
                    .copy_from(&-by_unknown.row(i));
                for round in block.rounds_since.clone() {
                    for foot in 0..feet {
                        row[records + feet * round + foot] = -effect[(i, foot)];
                    }
                }
                let sigma = observation.deviation.hypot(self.model_share * predicted[i]);
                rows.push(row / sigma);
                targets.push((observation.unpacked() + predicted[i]) / sigma);
            }
        }
        self.priors(guess, held, &mut rows, &mut targets);
        LeastSquares::new(DMatrix::from_rows(&rows), DVector::from_vec(targets)).solve()
    }

    fn priors(
        &self,
        guess: &Guess,
        held: &Held,
        rows: &mut Vec<RowDVector<f64>>,
        targets: &mut Vec<f64>,
    ) {
        let columns = self.columns();
        let first = self.response_columns();
        let (feet, records) = (self.feet(), self.record_columns());
        for row in held.projector.row_iter() {
            let mut wide = RowDVector::zeros(columns);
            wide.columns_mut(Layout::polynomials(), row.len())
                .copy_from(&row);
            rows.push(wide);
            targets.push(0.0);
        }
        let mut single = |column: usize, value: f64, sigma: f64| {
            let mut row = RowDVector::zeros(columns);
            row[column] = sigma.recip();
            rows.push(row);
            targets.push(value / sigma);
        };
        for (place, (_, _, packed)) in self.packed().enumerate() {
            single(
                self.packing_columns() + place,
                0.0,
                PACKING_SHARE * packed.abs(),
            );
        }
        if self.rounds.survey.aim.shape == AimShape::Level {
            for column in self.zeros_not_reversed() {
                single(column, 0.0, self.rounds.zero_deviation);
            }
        }
        if let Some(bearing) = &self.bearing {
            for (which, deviation) in bearing.reach_deviations().into_iter().enumerate() {
                single(first + which, 0.0, deviation);
            }
        } else {
            single(first, -guess.log_reach[0], BENDING_SPREAD);
            single(first + 1, -guess.log_reach[1], TORSION_SPREAD);
        }
        for foot in 0..feet {
            single(
                first + 2 + foot,
                1.0 - guess.effectiveness[foot],
                share_deviation(guess.effectiveness[foot]),
            );
            single(
                first + 2 + feet + foot,
                -guess.log_stiffness[foot],
                STIFFNESS_SPREAD,
            );
        }
        for round in 0..self.rounds.lifts.len() {
            for foot in 0..feet {
                let deviation = self.record_deviation(round, foot);
                single(records + feet * round + foot, 0.0, deviation);
            }
        }
    }

    /// Deviation of what was really lifted from what was recorded of a foot in a round, m.
    fn record_deviation(&self, round: usize, foot: usize) -> f64 {
        let touched = self.rounds.touched[round][foot];
        let record = Record {
            feet: &self.rounds.survey.feet,
            lifts: &self.rounds.lifts[round],
            model_share: self.model_share,
        };
        let recorded = &self.rounds.recorded[round];
        let open = self.bearing.is_some() && recorded.amax() > 0.0;
        let gone = if self.doubted.contains(&(round, foot)) {
            GONE + recorded.amax()
        } else if open {
            SEATED + recorded.amax()
        } else {
            0.0
        };
        record.deviation(foot, touched).hypot(gone)
    }
}

/// How far a foot's share of its lift may be from one that looks like this.
fn share_deviation(share: f64) -> f64 {
    EFFECTIVENESS_SPREAD.max(FAR_OUT * (1.0 - share).abs())
}

/// What was written down of a round.
struct Record<'r> {
    feet: &'r [Foot],
    /// Lifts, m by foot.
    lifts: &'r DVector<f64>,
    /// How wrong the best beam model still is about a change, as a share of it.
    model_share: f64,
}

impl Record<'_> {
    /// Deviation of what was really lifted from it, as long as the foot stayed where it was put, m.
    fn deviation(&self, foot: usize, touched: bool) -> f64 {
        // What the model gets wrong about a bed on its feet looks much as if feet had moved that nobody
        // touched.
        let mean_square = self.lifts.norm_squared() / self.feet.len() as f64;
        let model = (self.model_share * mean_square.sqrt()).max(UNTOUCHED);
        let hand = if touched {
            (HAND * self.feet[foot].lift_per_turn).hypot(RECORD_SHARE * self.lifts[foot])
        } else {
            0.0
        };
        hand.hypot(model)
    }
}

impl History {
    /// Root of the covariance of the heights at the places (front first, m) as it will be when these lifts (m by foot) of these
    /// feet are written down and nothing is read yet: a column for every source of error.
    pub fn once_recorded(&self, lifts: &DVector<f64>, touched: &[bool]) -> DMatrix<f64> {
        let places = self.places().len();
        let surface: Vec<RowDVector<f64>> = [Side::Front, Side::Rear]
            .into_iter()
            .flat_map(|side| (0..places).map(move |place| (side, place)))
            .map(|(side, place)| self.height(side, place))
            .collect();
        let mut error = self.system.covariance_root(&DMatrix::from_rows(&surface));
        if touched.contains(&true) {
            error += self.doubt(lifts);
            let record = Record {
                feet: &self.survey.feet,
                lifts,
                model_share: MODEL_SHARES[0],
            };
            let gone = match self.bearing {
                Some(_) => SEATED + lifts.amax(),
                None => 0.0,
            };
            let deviations = DVector::from_fn(touched.len(), |foot, _| {
                record.deviation(foot, touched[foot]).hypot(gone)
            });
            let by_foot = &self.influence * DMatrix::from_diagonal(&deviations);
            let seen = error.ncols();
            error = error.resize_horizontally(seen + by_foot.ncols(), 0.0);
            error.columns_mut(seen, by_foot.ncols()).copy_from(&by_foot);
        }
        error
    }
}

/// What the readings of a block see of the surface, one a row.
fn seen(rounds: &Rounds, block: &Block) -> Vec<RowDVector<f64>> {
    let spacing = rounds.survey.bed.way_spacing;
    block
        .observations
        .iter()
        .filter_map(|row| {
            slope_function(
                &rounds.layout,
                row.line,
                row.at,
                block.half_base,
                spacing,
                rounds.roughness,
            )
        })
        .collect()
}

/// Whether it was read as a number; what is off the scale makes nothing better known.
fn is_number(observation: &Observation) -> bool {
    !observation.bound
}

/// What the prior holds of the surface beside some of the readings. Those of a line that are far coarser than its finest do not take
/// from it what it holds: they are weighed against it.
fn held_beside(
    rounds: &Rounds,
    seen: &[Vec<RowDVector<f64>>],
    used: fn(&Observation) -> bool,
) -> Held {
    let blocks = rounds.blocks.iter().zip(seen);
    let read = blocks.enumerate().flat_map(|(index, (block, seen))| {
        let half = block.half_base;
        let rows = block.observations.iter().zip(seen);
        rows.map(move |(row, function)| ((row, half), (index, function)))
    });
    let read: Vec<_> = read.filter(|((row, _), _)| used(row)).collect();
    let finest = |line: Line| {
        let of_line = read.iter().filter(|((row, _), _)| row.line == line);
        let deviations = of_line.map(|((row, _), _)| row.deviation);
        deviations.fold(f64::INFINITY, f64::min)
    };
    let finest = [Line::Cross, Line::Front, Line::Rear].map(|line| (line, finest(line)));
    let is_fine = |row: &Observation| {
        let finest = finest.iter().find(|(line, _)| *line == row.line);
        finest.is_none_or(|(_, finest)| row.deviation <= COARSER * finest)
    };
    let (read, functions): (Vec<_>, Vec<(usize, &RowDVector<f64>)>) = read
        .into_iter()
        .filter(|((row, _), _)| is_fine(row))
        .unzip();
    let free = free_slopes(&read);
    let mut zeros = DMatrix::zeros(free.len(), 2 * rounds.blocks.len());
    for (k, &i) in free.iter().enumerate() {
        let (row, kind) = (read[i].0, usize::from(read[i].0.line != Line::Cross));
        zeros[(k, 2 * functions[i].0 + kind)] = if row.reversed { -1.0 } else { 1.0 };
    }
    let slopes = free.iter().map(|&i| functions[i].1.clone());
    Held::beside_all(&slopes.collect::<Vec<_>>(), &zeros, &rounds.layout)
}
