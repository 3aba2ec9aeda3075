//! Everything the rounds in a file tell about the bed as it is now: its surface, how it answers its feet,
//! and how sure both are.
//!
//! Every pass is written in terms of the surface *now*: what it saw is the surface less what the turns
//! since have done,
//!
//! `reading_j = A_j (surface - Σ_{k≥j} R(reaches) E (u_k + δ_k)) + zero_j + noise`,
//!
//! with `u_k` the lifts recorded after pass k, `δ_k` what was really turned beside them, `E` one
//! effectiveness per foot and `R` the influence of the beam on its feet. Unknown together are the surface,
//! every pass's zero errors, the two reaches, the effectivenesses and the `δ_k`, each with a prior that
//! fades as rounds come in. The problem is nearly linear; a few Gauss-Newton steps settle it (Björck,
//! *Numerical Methods for Least Squares Problems*, 1996, section 9.2; from memory).
//!
//! Wear takes care of itself: what no turn has moved between passes is in the surface, and the plan asks of
//! the feet only what their influence can do.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::Place;
use super::linked::BedResponse;
use super::model::{BedModel, Unsupported};
use super::reach::{BENDING_SPREAD, Reaches, TORSION_SPREAD};
use crate::geometry::adjustment::free_slopes;
use crate::geometry::held::Held;
use crate::geometry::layout::SAME_PLACE;
use crate::geometry::{Adjusted, Adjustment, Layout, LeastSquares, Observation, Roughness};
use crate::survey::{Line, Side, Survey};

/// Passes before the last one that are still asked; older ones have been turned away from too often.
const PASSES_REMEMBERED: usize = 5;

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

/// How wrong the best beam model still is about a reading, as a share of the change it predicts: the first
/// of these with which the rounds do not contradict each other.
const MODEL_SHARES: [f64; 4] = [0.1, 0.2, 0.4, 0.8];

/// Rounds contradict each other when the mean square of the standardised misfits exceeds one by more than
/// this many of its standard deviations.
const CONTRADICTION: f64 = 2.0;

/// Gauss-Newton stops when no unknown of the response moves by more than this (all are of order one).
const RESPONSE_TOLERANCE: f64 = 1e-4;
/// Most Gauss-Newton steps; the problem is nearly linear.
const MOST_STEPS: usize = 12;
/// Step of the difference quotient in the logarithm of a reach.
const REACH_STEP: f64 = 1e-3;
/// The logarithm of a reach may leave the usual one by at most this many of its standard deviations.
const REACH_BOUND: f64 = 2.5;

/// Why nothing can be learned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoHistory {
    /// The pass holds no reading.
    NoReadings,
    /// The feet do not hold the bed.
    Unsupported(Unsupported),
    /// The pass's level is not in the survey.
    NoLevel,
}

/// What is known of how the bed answers.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The two reaches.
    pub reaches: Reaches,
    /// Share of its lift that arrives, by foot.
    pub effectiveness: Vec<f64>,
    /// Standard deviations: logarithms of the two reaches, then the effectivenesses.
    pub deviation: Vec<f64>,
    /// Rounds of recorded turns that were learned from.
    pub rounds: usize,
}

/// The bed as all passes up to one show it.
#[derive(Debug, Clone)]
pub struct History {
    survey: Survey,
    layout: Layout,
    roughness: Roughness,
    half_base: f64,
    way_spacing: f64,
    division: f64,
    system: Adjusted,
    zero_columns: usize,
    answer: Answer,
    /// Influence at the layout's places, front ways first, of a metre of recorded lift.
    influence: DMatrix<f64>,
    /// Change of that influence with the logarithms of the two reaches.
    sensitivity: [DMatrix<f64>; 2],
    /// Readings of the last pass as they were used.
    last: Vec<Observation>,
    /// Standard deviation of one reading of the last pass, m/m.
    reading_deviation: f64,
    /// Places where an end of the level stood on the front and rear way in any pass.
    ends: [Vec<f64>; 2],
    /// Places read across in any pass.
    across: Vec<f64>,
}

/// One pass as rows on heights at the layout's places.
struct Block {
    /// Slopes seen as functions of the heights, front places first.
    operator: DMatrix<f64>,
    observations: Vec<Observation>,
    half_base: f64,
    /// Lifts recorded since, m by foot, one entry for every round.
    rounds_since: std::ops::Range<usize>,
}

impl History {
    /// Learns from all passes up to the one with this index.
    pub fn of(survey: &Survey, pass: usize) -> Result<Self, NoHistory> {
        Learning::new(survey, pass)?.run()
    }

    /// The places along the bed at which heights are known, m.
    pub fn places(&self) -> &[f64] {
        self.layout.at()
    }

    /// Index of the place at `at`.
    pub fn place(&self, at: f64) -> Option<usize> {
        self.layout.index(at)
    }

    /// How the bed answers.
    pub fn answer(&self) -> &Answer {
        &self.answer
    }

    /// The adjusted unknowns; the functions this type hands out are functions of them.
    pub fn system(&self) -> &Adjusted {
        &self.system
    }

    /// One graduation of the level of the last pass, m/m.
    pub fn division(&self) -> f64 {
        self.division
    }

    /// Half the length of the level of the last pass, m.
    pub fn half_base(&self) -> f64 {
        self.half_base
    }

    /// Height of a way at a place as a function of the unknowns, m.
    pub fn height(&self, side: Side, place: usize) -> RowDVector<f64> {
        self.layout
            .height(side, place, self.roughness)
            .resize_horizontally(self.system.unknowns.len(), 0.0)
    }

    /// What the level of the last pass shows now, m/m, zero error included, as a function of the
    /// unknowns, and as a function of heights at the places. `None` where a place under the level is not
    /// among them.
    pub fn shown(&self, line: Line, at: f64) -> Option<(RowDVector<f64>, RowDVector<f64>)> {
        let heights = slope_operator(&self.layout, line, at, self.half_base, self.way_spacing)?;
        let mut row = slope_function(
            &self.layout,
            line,
            at,
            self.half_base,
            self.way_spacing,
            self.roughness,
        )?;
        row = row.resize_horizontally(self.system.unknowns.len(), 0.0);
        row[self.zero_columns + usize::from(line != Line::Cross)] = 1.0;
        Some((row, heights))
    }

    /// Change of the heights (front places, then rear) per metre of lift of each foot as recorded, m/m,
    /// its effectiveness included.
    pub fn influence(&self) -> &DMatrix<f64> {
        &self.influence
    }

    /// Change of [`Self::influence`] with each unknown of the response, with that unknown's standard
    /// deviation: the logarithms of the two reaches, then every foot's effectiveness.
    pub fn sensitivities(&self) -> Vec<(DMatrix<f64>, f64)> {
        let mut all: Vec<(DMatrix<f64>, f64)> = self
            .sensitivity
            .iter()
            .cloned()
            .zip(self.answer.deviation.iter().copied())
            .collect();
        for (foot, effectiveness) in self.answer.effectiveness.iter().enumerate() {
            let mut change = DMatrix::zeros(self.influence.nrows(), self.influence.ncols());
            // A foot that answers to nothing still has a shape in which it would.
            let share = if effectiveness.abs() > 0.05 {
                *effectiveness
            } else {
                0.05
            };
            change.set_column(foot, &(self.influence.column(foot) / share));
            all.push((change, self.answer.deviation[2 + foot]));
        }
        all
    }

    /// The readings of the last pass that were used.
    pub fn last_readings(&self) -> &[Observation] {
        &self.last
    }

    /// Standard deviation of one reading of the last pass, m/m.
    pub fn reading_deviation(&self) -> f64 {
        self.reading_deviation
    }

    /// Places at which the level was read across in any pass, in order, m.
    pub fn cross_places(&self) -> &[f64] {
        &self.across
    }

    /// Places at which a way is known, in order, m: where the ends of the level stood on it, or, when none
    /// did, the cross stations between those of the other way.
    pub fn way_places(&self, side: Side) -> Vec<f64> {
        let (own, other) = match side {
            Side::Front => (&self.ends[0], &self.ends[1]),
            Side::Rear => (&self.ends[1], &self.ends[0]),
        };
        if !own.is_empty() {
            return own.clone();
        }
        match (other.first(), other.last()) {
            (Some(first), Some(last)) => self
                .across
                .iter()
                .copied()
                .filter(|at| (first - SAME_PLACE..=last + SAME_PLACE).contains(at))
                .collect(),
            _ => Vec::new(),
        }
    }

    /// The survey this was learned from.
    pub fn survey(&self) -> &Survey {
        &self.survey
    }
}

/// The slope a level shows as a function of the surface's unknowns.
///
/// The same as [`slope_operator`] on the heights, but what cancels is never there: a residue of rounding in
/// a column that should be empty would pass for knowledge.
fn slope_function(
    layout: &Layout,
    line: Line,
    at: f64,
    half_base: f64,
    way_spacing: f64,
    roughness: Roughness,
) -> Option<RowDVector<f64>> {
    let side = match line {
        Line::Cross => {
            return Some(layout.half(layout.index(at)?, roughness) * (2.0 / way_spacing));
        }
        Line::Front => Side::Front,
        Line::Rear => Side::Rear,
    };
    let (low, high) = (layout.index(at - half_base)?, layout.index(at + half_base)?);
    let rise = layout.height(side, high, roughness) - layout.height(side, low, roughness);
    (low != high).then(|| rise / (2.0 * half_base))
}

/// The slope a level shows as a function of the heights at all places, front first.
fn slope_operator(
    layout: &Layout,
    line: Line,
    at: f64,
    half_base: f64,
    way_spacing: f64,
) -> Option<RowDVector<f64>> {
    let places = layout.at().len();
    let mut row = RowDVector::zeros(2 * places);
    match line {
        Line::Cross => {
            let place = layout.index(at)?;
            row[place] = way_spacing.recip();
            row[places + place] = -way_spacing.recip();
        }
        Line::Front | Line::Rear => {
            let skip = if line == Line::Front { 0 } else { places };
            let (low, high) = (layout.index(at - half_base)?, layout.index(at + half_base)?);
            if low == high {
                return None;
            }
            row[skip + high] = (2.0 * half_base).recip();
            row[skip + low] = -(2.0 * half_base).recip();
        }
    }
    Some(row)
}

/// The joint problem while it is being solved.
struct Learning<'a> {
    survey: &'a Survey,
    layout: Layout,
    roughness: Roughness,
    half_base: f64,
    division: f64,
    blocks: Vec<Block>,
    /// Lifts of every round, m by foot, oldest first.
    lifts: Vec<DVector<f64>>,
    reading_deviation: f64,
    feet: Vec<Place>,
    points: Vec<Place>,
    usual: Reaches,
    model_share: f64,
}

/// The solved problem and where it was linearised.
struct Learned {
    guess: Guess,
    base: DMatrix<f64>,
    slopes: [DMatrix<f64>; 2],
    solved: Adjusted,
}

/// The unknowns of the response.
#[derive(Clone)]
struct Guess {
    /// Logarithms of the reaches over the usual ones.
    log_reach: [f64; 2],
    effectiveness: DVector<f64>,
}

impl<'a> Learning<'a> {
    fn new(survey: &'a Survey, pass: usize) -> Result<Self, NoHistory> {
        let passes = &survey.passes[..=pass.min(survey.passes.len().saturating_sub(1))];
        let first = first_remembered(passes);
        let length = survey.bed.length;
        let spacing = survey.bed.way_spacing;
        let mut adjusted = Vec::new();
        for (index, pass) in passes.iter().enumerate().skip(first) {
            let level = survey.level_of(pass).ok_or(NoHistory::NoLevel)?;
            match Adjustment::of(pass, level, length, spacing) {
                Ok(adjustment) => adjusted.push((index, adjustment)),
                // A round without readings between two passes still turned the feet.
                Err(_) if index < pass_count(passes) => {}
                Err(_) => return Err(NoHistory::NoReadings),
            }
        }
        let Some((_, last)) = adjusted.last() else {
            return Err(NoHistory::NoReadings);
        };
        let layout = Layout::new(
            adjusted
                .iter()
                .flat_map(|(_, adjustment)| adjustment.layout().at().to_vec())
                .collect(),
            length,
        );
        let lifts: Vec<DVector<f64>> = passes[first..passes.len() - 1]
            .iter()
            .map(|pass| lifts_after(survey, pass))
            .collect();
        let blocks = adjusted
            .iter()
            .map(|(index, adjustment)| {
                let observations: Vec<Observation> = adjustment
                    .used()
                    .iter()
                    .map(|&i| adjustment.observations().rows[i].clone())
                    .collect();
                let half = adjustment.observations().half_base;
                let rows: Vec<RowDVector<f64>> = observations
                    .iter()
                    .filter_map(|row| slope_operator(&layout, row.line, row.at, half, spacing))
                    .collect();
                Block {
                    half_base: half,
                    operator: DMatrix::from_rows(&rows),
                    observations,
                    rounds_since: index - first..lifts.len(),
                }
            })
            .collect();
        let place = |at: f64, across: f64| Place { at, across };
        let points = [0.5 * spacing, -0.5 * spacing]
            .into_iter()
            .flat_map(|across| layout.at().iter().map(move |at| place(*at, across)))
            .collect();
        Ok(Self {
            survey,
            roughness: last.roughness(),
            reading_deviation: last.observations().deviation(),
            half_base: last.observations().half_base,
            division: last.observations().division,
            blocks,
            lifts,
            feet: survey
                .feet
                .iter()
                .map(|foot| place(foot.at, foot.across))
                .collect(),
            points,
            usual: Reaches::usual(survey),
            model_share: MODEL_SHARES[0],
            layout,
        })
    }

    fn reaches(&self, log_reach: [f64; 2]) -> Reaches {
        Reaches {
            bending: self.usual.bending * log_reach[0].exp(),
            torsion: self.usual.torsion * log_reach[1].exp(),
        }
    }

    /// Influence of a metre of true lift of each foot on the heights at all places.
    fn influence(&self, log_reach: [f64; 2]) -> Result<DMatrix<f64>, NoHistory> {
        let bed = BedModel::weightless(
            self.survey.bed.length,
            &self.feet,
            true,
            &self.reaches(log_reach),
        );
        let response: BedResponse = bed.response().map_err(NoHistory::Unsupported)?;
        Ok(response.influence(&self.points))
    }

    fn run(mut self) -> Result<History, NoHistory> {
        let mut learned = self.learn()?;
        for share in &MODEL_SHARES[1..] {
            if !self.contradicts(&learned.solved) {
                break;
            }
            self.model_share = *share;
            learned = self.learn()?;
        }
        Ok(self.into_history(learned))
    }

    /// Whether the misfits of all passes together are too large to be noise.
    fn contradicts(&self, solved: &Adjusted) -> bool {
        if self.blocks.len() < 2 {
            return false;
        }
        let readings: usize = self
            .blocks
            .iter()
            .map(|block| block.observations.len())
            .sum();
        let freedom: f64 = solved.redundancy().rows(0, readings).sum();
        let squares = solved.residuals.rows(0, readings).norm_squared();
        squares > freedom + CONTRADICTION * (2.0 * freedom).sqrt()
    }

    fn learn(&self) -> Result<Learned, NoHistory> {
        let feet = self.feet.len();
        let mut guess = Guess {
            log_reach: [0.0; 2],
            effectiveness: DVector::from_element(feet, 1.0),
        };
        let mut base = self.influence(guess.log_reach)?;
        let mut slopes = self.slopes(guess.log_reach, &base)?;
        let mut solved = self.step(&guess, &base, &slopes);
        if !self.lifts.is_empty() {
            for _ in 0..MOST_STEPS {
                let moved = self.follow(&mut guess, &solved);
                base = self.influence(guess.log_reach)?;
                slopes = self.slopes(guess.log_reach, &base)?;
                solved = self.step(&guess, &base, &slopes);
                if moved < RESPONSE_TOLERANCE {
                    break;
                }
            }
        }
        Ok(Learned {
            guess,
            base,
            slopes,
            solved,
        })
    }

    fn into_history(self, learned: Learned) -> History {
        let Learned {
            guess,
            base,
            slopes,
            solved,
        } = learned;
        let feet = self.feet.len();
        let first = self.response_columns();
        let covariance_root = solved.covariance_root(&DMatrix::from_fn(
            2 + feet,
            solved.unknowns.len(),
            |i, j| if j == first + i { 1.0 } else { 0.0 },
        ));
        let deviation = covariance_root.row_iter().map(|row| row.norm()).collect();
        let effective = |matrix: &DMatrix<f64>| {
            let mut scaled = matrix.clone();
            for foot in 0..feet {
                scaled.column_mut(foot).scale_mut(guess.effectiveness[foot]);
            }
            scaled
        };
        History {
            survey: self.survey.clone(),
            roughness: self.roughness,
            half_base: self.half_base,
            way_spacing: self.survey.bed.way_spacing,
            division: self.division,
            zero_columns: self.layout.unknowns() + 2 * (self.blocks.len() - 1),
            answer: Answer {
                reaches: self.reaches(guess.log_reach),
                effectiveness: guess.effectiveness.iter().copied().collect(),
                deviation,
                rounds: self.lifts.iter().filter(|lift| lift.amax() > 0.0).count(),
            },
            influence: effective(&base),
            sensitivity: [effective(&slopes[0]), effective(&slopes[1])],
            system: solved,
            ends: [Line::Front, Line::Rear].map(|line| self.ends(line)),
            across: self.ends(Line::Cross),
            last: self
                .blocks
                .last()
                .map(|block| block.observations.clone())
                .unwrap_or_default(),
            reading_deviation: self.reading_deviation,
            layout: self.layout,
        }
    }

    /// Places under the ends of the level on a way, or under its middle across, in order.
    fn ends(&self, line: Line) -> Vec<f64> {
        let mut places: Vec<f64> = self
            .blocks
            .iter()
            .flat_map(|block| {
                let half = if line == Line::Cross {
                    0.0
                } else {
                    block.half_base
                };
                block
                    .observations
                    .iter()
                    .filter(move |row| row.line == line)
                    .flat_map(move |row| [row.at - half, row.at + half])
            })
            .collect();
        places.sort_by(f64::total_cmp);
        places.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
        places
    }

    /// Derivatives of the influence by the logarithms of the reaches.
    fn slopes(
        &self,
        log_reach: [f64; 2],
        base: &DMatrix<f64>,
    ) -> Result<[DMatrix<f64>; 2], NoHistory> {
        let mut bending = log_reach;
        bending[0] += REACH_STEP;
        let mut torsion = log_reach;
        torsion[1] += REACH_STEP;
        Ok([
            (self.influence(bending)? - base) / REACH_STEP,
            (self.influence(torsion)? - base) / REACH_STEP,
        ])
    }

    /// Columns: surface, zero errors of every pass, response, errors of the record of every round.
    fn response_columns(&self) -> usize {
        self.layout.unknowns() + 2 * self.blocks.len()
    }

    fn columns(&self) -> usize {
        self.response_columns() + 2 + self.feet.len() * (1 + self.lifts.len())
    }

    /// Takes the correction of a step into the guess; returns the largest.
    fn follow(&self, guess: &mut Guess, solved: &Adjusted) -> f64 {
        let first = self.response_columns();
        let mut moved: f64 = 0.0;
        for (k, spread) in [BENDING_SPREAD, TORSION_SPREAD].into_iter().enumerate() {
            let bound = REACH_BOUND * spread;
            let next = (guess.log_reach[k] + solved.unknowns[first + k]).clamp(-bound, bound);
            moved = moved.max((next - guess.log_reach[k]).abs());
            guess.log_reach[k] = next;
        }
        for foot in 0..self.feet.len() {
            let change = solved.unknowns[first + 2 + foot];
            guess.effectiveness[foot] += change;
            moved = moved.max(change.abs());
        }
        moved
    }

    /// Solves the problem linearised about a guess. The response's unknowns are corrections to it.
    fn step(&self, guess: &Guess, base: &DMatrix<f64>, slopes: &[DMatrix<f64>; 2]) -> Adjusted {
        let feet = self.feet.len();
        let columns = self.columns();
        let surface = self.layout.unknowns();
        let first = self.response_columns();
        let mut effective = base.clone();
        for foot in 0..feet {
            effective
                .column_mut(foot)
                .scale_mut(guess.effectiveness[foot]);
        }

        let mut rows: Vec<RowDVector<f64>> = Vec::new();
        let mut targets: Vec<f64> = Vec::new();
        let mut free: Vec<RowDVector<f64>> = Vec::new();
        for (index, block) in self.blocks.iter().enumerate() {
            let seen: Vec<RowDVector<f64>> = block
                .observations
                .iter()
                .filter_map(|row| {
                    slope_function(
                        &self.layout,
                        row.line,
                        row.at,
                        block.half_base,
                        self.survey.bed.way_spacing,
                        self.roughness,
                    )
                })
                .collect();
            let mut total = DVector::zeros(feet);
            for lift in &self.lifts[block.rounds_since.clone()] {
                total += lift;
            }
            let effect = &block.operator * &effective;
            let predicted = &effect * &total;
            let effective_total = total.component_mul(&guess.effectiveness);
            let by_reach = [
                &block.operator * (&slopes[0] * &effective_total),
                &block.operator * (&slopes[1] * &effective_total),
            ];
            let by_foot = &block.operator * base;
            for (i, observation) in block.observations.iter().enumerate() {
                let mut row = RowDVector::zeros(columns);
                row.columns_mut(0, surface).copy_from(&seen[i]);
                let zero = surface + 2 * index + usize::from(observation.line != Line::Cross);
                row[zero] = if observation.reversed { -1.0 } else { 1.0 };
                row[first] = -by_reach[0][i];
                row[first + 1] = -by_reach[1][i];
                for foot in 0..feet {
                    row[first + 2 + foot] = -by_foot[(i, foot)] * total[foot];
                    for round in block.rounds_since.clone() {
                        row[first + 2 + feet * (1 + round) + foot] = -effect[(i, foot)];
                    }
                }
                let sigma = observation.deviation.hypot(self.model_share * predicted[i]);
                rows.push(row / sigma);
                targets.push((observation.slope + predicted[i]) / sigma);
            }
            let observations = crate::geometry::Observations {
                rows: block.observations.clone(),
                division: self.division,
                half_base: block.half_base,
                repeat: 0.0,
                step: 0.0,
            };
            let all: Vec<usize> = (0..block.observations.len()).collect();
            for i in free_slopes(&observations, &all) {
                free.push(seen[i].clone());
            }
        }
        self.priors(guess, &free, &mut rows, &mut targets);
        LeastSquares::new(DMatrix::from_rows(&rows), DVector::from_vec(targets)).solve()
    }

    fn priors(
        &self,
        guess: &Guess,
        free: &[RowDVector<f64>],
        rows: &mut Vec<RowDVector<f64>>,
        targets: &mut Vec<f64>,
    ) {
        let columns = self.columns();
        let first = self.response_columns();
        let feet = self.feet.len();
        let held = Held::beside(free, &self.layout);
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
        single(first, -guess.log_reach[0], BENDING_SPREAD);
        single(first + 1, -guess.log_reach[1], TORSION_SPREAD);
        for foot in 0..feet {
            single(
                first + 2 + foot,
                1.0 - guess.effectiveness[foot],
                EFFECTIVENESS_SPREAD.max(FAR_OUT * (1.0 - guess.effectiveness[foot]).abs()),
            );
        }
        for (round, lifts) in self.lifts.iter().enumerate() {
            // What the model gets wrong about a bed on its feet looks much as if feet had moved that nobody
            // touched.
            let mean_square = lifts.norm_squared() / feet as f64;
            let model = (self.model_share * mean_square.sqrt()).max(UNTOUCHED);
            for foot in 0..feet {
                let hand = if lifts[foot] == 0.0 {
                    0.0
                } else {
                    (HAND * self.survey.feet[foot].lift_per_turn).hypot(RECORD_SHARE * lifts[foot])
                };
                single(
                    first + 2 + feet * (1 + round) + foot,
                    0.0,
                    hand.hypot(model),
                );
            }
        }
    }
}

/// What a foot nobody touched may have moved all the same, m.
const UNTOUCHED: f64 = 1e-7;

fn pass_count(passes: &[crate::survey::Pass]) -> usize {
    passes.len() - 1
}

/// The first pass that can be tied to the last one: not too far back, and every round since recorded.
fn first_remembered(passes: &[crate::survey::Pass]) -> usize {
    let last = passes.len().saturating_sub(1);
    let recorded = (0..last)
        .rev()
        .take_while(|&k| passes[k].turned.is_some())
        .last()
        .unwrap_or(last);
    recorded.max(last.saturating_sub(PASSES_REMEMBERED))
}

/// Lifts recorded after a pass, m by foot.
fn lifts_after(survey: &Survey, pass: &crate::survey::Pass) -> DVector<f64> {
    let mut lifts = DVector::zeros(survey.feet.len());
    for (foot, quarters) in pass.turned.iter().flatten() {
        lifts[*foot] = quarters * survey.feet[*foot].lift_per_quarter();
    }
    lifts
}
