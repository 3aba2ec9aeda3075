//! How a bed answers its feet as a function of what nobody knows of it: two reaches, the stiffness of every
//! foot beside the others, and the share of its lift that arrives.

use nalgebra::{DMatrix, DVector};

use super::Place;
use super::model::{BedModel, Unsupported};
use super::reach::{BENDING_SPREAD, Reaches, TORSION_SPREAD};

/// Standard deviation of the natural logarithm of the stiffness of one foot beside the others: a factor of
/// 1.35 either way; order of magnitude, no source.
pub(super) const STIFFNESS_SPREAD: f64 = 0.3;

/// The logarithm of a reach or a stiffness may leave the usual one by at most this many of its standard deviations.
const FARTHEST: f64 = 2.5;

/// The share of its lift that arrives lies between these: what looks like less is a foot that does nothing, and no bed rises by
/// more than twice what its screw lifts, so that anything else is a mistake in a record or a reading (common practice, no
/// source).
const SHARES: [f64; 2] = [0.1, 2.0];

/// Step of the difference quotient in the logarithm of a reach.
const REACH_STEP: f64 = 1e-3;

/// The unknowns of the response.
#[derive(Debug, Clone)]
pub(super) struct Guess {
    /// Logarithms of the reaches over the usual ones.
    pub log_reach: [f64; 2],
    /// Share of its lift that arrives, by foot.
    pub effectiveness: DVector<f64>,
    /// Logarithm of the stiffness of each foot over that of the others.
    pub log_stiffness: DVector<f64>,
}

impl Guess {
    /// What to think of a bed of which nothing is known.
    pub fn usual(feet: usize) -> Self {
        Self {
            log_reach: [0.0; 2],
            effectiveness: DVector::from_element(feet, 1.0),
            log_stiffness: DVector::zeros(feet),
        }
    }

    /// Number of unknowns: two reaches, then effectivenesses, then stiffnesses.
    pub fn unknowns(feet: usize) -> usize {
        2 + 2 * feet
    }

    /// Takes corrections, in the order of [`Self::unknowns`], into the guess; returns the largest.
    pub fn corrected(&mut self, corrections: &[f64]) -> f64 {
        let (reaches, rest) = corrections.split_at(2);
        let (effectiveness, stiffness) = rest.split_at(self.effectiveness.len());
        let mut moved: f64 = 0.0;
        let mut bounded = |log: &mut f64, correction: f64, spread: f64| {
            let bound = FARTHEST * spread;
            let next = (*log + correction).clamp(-bound, bound);
            moved = moved.max((next - *log).abs());
            *log = next;
        };
        for (log, (correction, spread)) in self
            .log_reach
            .iter_mut()
            .zip(reaches.iter().zip([BENDING_SPREAD, TORSION_SPREAD]))
        {
            bounded(log, *correction, spread);
        }
        for (log, correction) in self.log_stiffness.iter_mut().zip(stiffness) {
            bounded(log, *correction, STIFFNESS_SPREAD);
        }
        for (share, correction) in self.effectiveness.iter_mut().zip(effectiveness) {
            let next = (*share + correction).clamp(SHARES[0], SHARES[1]);
            moved = moved.max((next - *share).abs());
            *share = next;
        }
        moved
    }
}

/// The bed of which all this is unknown.
#[derive(Debug, Clone)]
pub(super) struct Answering {
    pub length: f64,
    pub feet: Vec<Place>,
    /// Places whose heights are asked for.
    pub points: Vec<Place>,
    /// The usual reaches.
    pub usual: Reaches,
}

/// The answer and how it changes, about one guess.
#[derive(Debug, Clone)]
pub(super) struct Linearised {
    /// Change of each height per metre of lift that arrives at each foot.
    base: DMatrix<f64>,
    /// Change of `base` with the logarithms of the two reaches.
    by_reach: [DMatrix<f64>; 2],
    /// Change of the bed's height at each foot per metre of lift that arrives at each foot.
    at_feet: DMatrix<f64>,
    effectiveness: DVector<f64>,
}

impl Answering {
    /// The reaches of a guess.
    pub fn reaches(&self, log_reach: [f64; 2]) -> Reaches {
        Reaches {
            bending: self.usual.bending * log_reach[0].exp(),
            torsion: self.usual.torsion * log_reach[1].exp(),
        }
    }

    /// The answer about a guess.
    pub fn about(&self, guess: &Guess) -> Result<Linearised, Unsupported> {
        let points = self.points.len();
        let asked: Vec<Place> = self.points.iter().chain(&self.feet).copied().collect();
        let influence = |log_reach: [f64; 2]| {
            let reaches = self.reaches(log_reach);
            let mut bed = BedModel::weightless(self.length, &self.feet, true, &reaches);
            for (foot, log) in bed.feet.iter_mut().zip(&guess.log_stiffness) {
                foot.stiffness *= log.exp();
            }
            Ok(bed.response()?.influence(&asked))
        };
        let [bending, torsion] = guess.log_reach;
        let all = influence([bending, torsion])?;
        let slope = |moved: DMatrix<f64>| (moved - &all).rows(0, points) / REACH_STEP;
        let by_reach = [
            slope(influence([bending + REACH_STEP, torsion])?),
            slope(influence([bending, torsion + REACH_STEP])?),
        ];
        Ok(Linearised {
            base: all.rows(0, points).into_owned(),
            at_feet: all.rows(points, self.feet.len()).into_owned(),
            by_reach,
            effectiveness: guess.effectiveness.clone(),
        })
    }
}

impl Linearised {
    /// Change of each height per metre of recorded lift of each foot.
    pub fn influence(&self) -> DMatrix<f64> {
        self.effective(self.base.clone())
    }

    /// Change with each unknown, in the order of [`Guess::unknowns`], of the heights after these lifts were recorded.
    ///
    /// With `K v = sum k r (u − rᵀ v)` a stiffer foot j moves the heights by `R_j (u_j − v_j)` per share of its
    /// stiffness: it pushes in proportion to how far the bed stands from it.
    pub fn changed(&self, lifts: &DVector<f64>) -> DMatrix<f64> {
        let feet = self.base.ncols();
        let arrived = lifts.component_mul(&self.effectiveness);
        let standing = &arrived - &self.at_feet * &arrived;
        let mut changed = DMatrix::zeros(self.base.nrows(), Guess::unknowns(feet));
        for (unknown, slope) in self.by_reach.iter().enumerate() {
            changed.set_column(unknown, &(slope * &arrived));
        }
        for foot in 0..feet {
            let base = self.base.column(foot);
            changed.column_mut(2 + foot).axpy(lifts[foot], &base, 0.0);
            changed
                .column_mut(2 + feet + foot)
                .axpy(standing[foot], &base, 0.0);
        }
        changed
    }

    /// The same answer of these functions of the heights instead, or of as many others whose squares add up to the
    /// same for any lifts where that is fewer.
    pub fn seen_through(&self, functions: &DMatrix<f64>) -> Self {
        let feet = self.base.ncols();
        let mut seen = DMatrix::zeros(functions.nrows(), 3 * feet);
        let parts = [&self.base, &self.by_reach[0], &self.by_reach[1]];
        for (part, heights) in parts.into_iter().enumerate() {
            seen.columns_mut(part * feet, feet)
                .copy_from(&(functions * heights));
        }
        if seen.nrows() > seen.ncols() {
            seen = seen.qr().r();
        }
        let part = |part: usize| seen.columns(part * feet, feet).into_owned();
        Self {
            base: part(0),
            by_reach: [part(1), part(2)],
            at_feet: self.at_feet.clone(),
            effectiveness: self.effectiveness.clone(),
        }
    }

    fn effective(&self, mut influence: DMatrix<f64>) -> DMatrix<f64> {
        for (mut column, share) in influence.column_iter_mut().zip(&self.effectiveness) {
            column *= *share;
        }
        influence
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every change against a difference of two answers.
    #[test]
    fn changes_are_slopes_of_the_influence() {
        let place = |at, across| Place { at, across };
        let feet: Vec<Place> = [0.1, 0.8, 1.9]
            .into_iter()
            .flat_map(|at| [place(at, 0.2), place(at, -0.2)])
            .collect();
        let points = (0..8)
            .flat_map(|k| {
                [
                    place(0.3 * f64::from(k), 0.15),
                    place(0.3 * f64::from(k), -0.15),
                ]
            })
            .collect();
        let answering = Answering {
            length: 2.1,
            feet,
            points,
            usual: Reaches {
                bending: 0.8,
                torsion: 0.5,
            },
        };
        let mut guess = Guess::usual(6);
        guess.log_reach = [0.2, -0.3];
        guess.effectiveness[2] = 0.6;
        guess.log_stiffness[1] = 0.4;
        guess.log_stiffness[4] = -0.5;
        let about = answering.about(&guess).expect("it stands");
        let step = 1e-5;
        let lifts = DVector::from_fn(6, |foot, _| [1.0, -0.7, 0.4, 0.0, 0.2, -1.3][foot]);
        for (unknown, change) in about.changed(&lifts).column_iter().enumerate() {
            let moved = |by: f64| {
                let mut guess = guess.clone();
                match unknown {
                    0 | 1 => guess.log_reach[unknown] += by,
                    2..=7 => guess.effectiveness[unknown - 2] += by,
                    _ => guess.log_stiffness[unknown - 8] += by,
                }
                answering.about(&guess).expect("it stands").influence() * &lifts
            };
            let slope = (moved(step) - moved(-step)) / (2.0 * step);
            // The reaches' own slopes are one-sided differences.
            let bound = if unknown < 2 { 2e-3 } else { 1e-8 };
            assert!((slope - change).amax() < bound, "unknown {unknown}");
        }
    }
}
