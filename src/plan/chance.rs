//! How likely the next pass proves that every limit is kept.
//!
//! What turns leave is known only so far (`E`, see `watch`), and the pass after them sees it with errors of its own. When it is
//! taken less is known: that a bubble was watched is not written down, only by how much was turned (`F`). What the pass is
//! going to say is the adjusted bed:
//!
//! `K = F Fᵀ Aᵀ (A F Fᵀ Aᵀ + Z Zᵀ + I)⁻¹`,
//!
//! with `A` the readings in their own deviations and `Z` their zero errors, of which nothing is known: the step of a
//! Kalman filter. So beds are drawn as that pass may show them, all about what is meant and with the root
//! `K (A E, 1)`, and each is held against the limits with what the pass will leave open, the covariance
//! `F Fᵀ − K A F Fᵀ`. The draws are the same in every run.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::card::Prediction;
use super::departures::Kind;
use super::objective::Objective;
use super::prediction::{meant_beside_crowns, seen};
use crate::geometry::draws::standard_normal;
use crate::geometry::figure::COVERAGE_95;
use crate::geometry::{Rise, Verdict};
use crate::response::History;
use crate::survey::{Line, Side, Survey};

/// Beds drawn, every one with its mirror image; a chance is good to 0.03.
const DRAWS: usize = 200;
/// Any fixed number does.
const SEED: u64 = 0x6e65_7874_2070_6173;

/// Deviation of a zero error of which nothing is known, m/m: more than any level is out by.
const UNKNOWN_ZERO: f64 = 1e-3;

/// A pass that is not taken yet, with the readings of the last one.
pub(super) struct PassAhead<'o> {
    survey: &'o Survey,
    objective: &'o Objective,
    rises: Vec<Rise>,
    /// Deviation of one reading, m/m.
    deviation: f64,
    /// What the zero errors across and along do to the readings, in their deviation.
    zeros: DMatrix<f64>,
}

impl<'o> PassAhead<'o> {
    /// With the readings of the last pass.
    pub fn like_the_last(survey: &'o Survey, history: &History, objective: &'o Objective) -> Self {
        let deviation = history.reading_deviation();
        let (mut rises, mut zeros): (Vec<Rise>, Vec<RowDVector<f64>>) = Default::default();
        for reading in history.last_readings() {
            let Some((_, rise)) = history.shown(reading.line, reading.at) else {
                continue;
            };
            rises.push(rise);
            let zero = UNKNOWN_ZERO / deviation * if reading.reversed { -1.0 } else { 1.0 };
            let across = reading.line == Line::Cross;
            zeros.push(RowDVector::from_row_slice(&if across {
                [zero, 0.0]
            } else {
                [0.0, zero]
            }));
        }
        Self {
            survey,
            objective,
            rises,
            deviation,
            zeros: DMatrix::from_fn(zeros.len(), 2, |i, j| zeros[i][j]),
        }
    }

    /// On heights that are wrong by `error · errorᵀ` and known by what is written down to `recorded · recordedᵀ`.
    pub fn of(&self, error: &DMatrix<f64>, recorded: &DMatrix<f64>) -> Foretold<'o> {
        Foretold {
            survey: self.survey,
            objective: self.objective,
            read: Rise::all_on(&self.rises, recorded) / self.deviation,
            seen: Rise::all_on(&self.rises, error) / self.deviation,
            zeros: self.zeros.clone(),
            wrong: &self.objective.heights * recorded,
        }
    }
}

/// What a pass that is not taken yet may show, its readings in their deviation.
pub(super) struct Foretold<'o> {
    pub survey: &'o Survey,
    pub objective: &'o Objective,
    /// What the readings show of what is not known by what is written down, `A F`.
    pub read: DMatrix<f64>,
    /// What they show of what the bed is wrong by, `A E`.
    pub seen: DMatrix<f64>,
    /// What the zero errors across and along do to them, `Z`.
    pub zeros: DMatrix<f64>,
    /// What is not known of the departures.
    pub wrong: DMatrix<f64>,
}

impl Foretold<'_> {
    /// Share of the beds about `departures` that the pass proves to be inside.
    pub fn proves(&self, departures: &DVector<f64>) -> f64 {
        let read = &self.read;
        let count = read.nrows();
        let spread = read * read.transpose()
            + &self.zeros * self.zeros.transpose()
            + DMatrix::identity(count, count);
        let Some(spread) = spread.cholesky() else {
            return 0.0;
        };
        let gain = spread.solve(&(read * self.wrong.transpose())).transpose();
        let sources = self.seen.ncols();
        let normal = standard_normal(sources + count, DRAWS / 2, SEED);
        let shown = &self.seen * normal.rows(0, sources) + normal.rows(sources, count);
        let drawn = gain * shown;
        let shown = drawn
            .column_iter()
            .flat_map(|draw| [departures + draw, departures - draw]);
        // What the pass leaves open can only take from them.
        let exact = self.spare(departures, &DMatrix::zeros(departures.len(), 1));
        let kept: Vec<(DVector<f64>, Prediction)> = shown
            .filter_map(|bed| {
                let nothing = DMatrix::zeros(bed.len(), 1);
                let figures = meant_beside_crowns(self.objective, &bed, &nothing, self.survey);
                self.keeps(&exact, &bed, &figures).then_some((bed, figures))
            })
            .collect();
        if kept.is_empty() {
            return 0.0;
        }
        let Some(open) = self.open() else {
            return 0.0;
        };
        let spare = self.spare(departures, &open);
        let proven = kept
            .iter()
            .filter(|(bed, figures)| self.keeps(&spare, bed, figures));
        proven.count() as f64 / DRAWS as f64
    }

    /// Whether these departures would be called inside as soon as the pass shows them as they are: the figures over all places
    /// together, with what the pass leaves open, as any verdict is.
    pub fn settles(&self, departures: &DVector<f64>) -> bool {
        self.open().is_some_and(|open| {
            let shown = seen(self.objective, departures, &open, self.survey);
            shown.verdict(&self.survey.limits) == Some(Verdict::Inside)
        })
    }

    /// Root of what the pass leaves open of the departures, which are `wrong` before it: `W (I + Bᵀ (Z Zᵀ + I)⁻¹ B)⁻¹ Wᵀ`
    /// with `B` the readings of the errors, by the matrix inversion lemma.
    fn open(&self) -> Option<DMatrix<f64>> {
        let (read, wrong) = (&self.read, &self.wrong);
        let zeros = self.zeros.tr_mul(read);
        let unknown = (self.zeros.tr_mul(&self.zeros) + DMatrix::identity(2, 2)).cholesky()?;
        let told = read.tr_mul(read) - zeros.tr_mul(&unknown.solve(&zeros));
        let sources = told.nrows();
        let factor = (told + DMatrix::identity(sources, sources)).cholesky()?;
        let mut open = wrong.transpose();
        factor.l_dirty().solve_lower_triangular_mut(&mut open);
        Some(open.transpose())
    }

    fn spare(&self, departures: &DVector<f64>, open: &DMatrix<f64>) -> Spare {
        Spare {
            figures: meant_beside_crowns(self.objective, departures, open, self.survey),
            ways: [Side::Front, Side::Rear]
                .map(|side| WayOpen::new(&self.objective.rows(Kind::OffLine(side)), open)),
        }
    }

    /// Whether a bed with these figures keeps every limit with this much to spare.
    fn keeps(&self, spare: &Spare, bed: &DVector<f64>, figures: &Prediction) -> bool {
        let limits = &self.survey.limits;
        let crowns_kept = limits.crown.is_none_or(|limit| {
            let mut told = spare.ways.iter().filter(|way| !way.rows.is_empty());
            told.all(|way| way.surely_within(bed, limit))
        });
        crowns_kept && figures.keeps_beside_crowns(&spare.figures, limits)
    }
}

/// What figures must have to spare for what a pass leaves open.
struct Spare {
    figures: Prediction,
    ways: [WayOpen; 2],
}

/// What a pass leaves open of the departures of one way.
struct WayOpen {
    rows: Vec<usize>,
    open: DMatrix<f64>,
    deviation: Vec<f64>,
}

impl WayOpen {
    fn new(rows: &[usize], open: &DMatrix<f64>) -> Self {
        let open = open.select_rows(rows);
        Self {
            rows: rows.to_vec(),
            deviation: open.row_iter().map(|row| row.norm()).collect(),
            open,
        }
    }

    /// Whether the crown, the largest departure either way, is surely between these limits.
    fn surely_within(&self, bed: &DVector<f64>, [lowest, highest]: [f64; 2]) -> bool {
        let values: Vec<f64> = self.rows.iter().map(|&row| bed[row]).collect();
        let mirrored: Vec<f64> = values.iter().map(|value| -value).collect();
        self.surely_below(&values, highest) && self.surely_below(&mirrored, -lowest)
    }

    /// Whether the largest departure either way is surely not above an end. Where the limit leaves no room above the line, a
    /// departure does no harm if one of the other sign is surely larger.
    fn surely_below(&self, values: &[f64], end: f64) -> bool {
        let places = 0..values.len();
        let Some(bottom) = places
            .clone()
            .min_by(|a, b| values[*a].total_cmp(&values[*b]))
        else {
            return true;
        };
        let most = |place: usize| values[place] + COVERAGE_95 * self.deviation[place];
        let outdone = |place: usize| {
            let both = self.open.row(bottom) + self.open.row(place);
            -(values[bottom] + values[place]) >= COVERAGE_95 * both.norm()
        };
        let below = |place: usize| most(place) <= end.max(0.0) || (end <= 0.0 && outdone(place));
        (end >= 0.0 || most(bottom) <= end) && places.into_iter().all(below)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn way(deviation: f64) -> WayOpen {
        WayOpen::new(&[0, 1, 2], &(DMatrix::identity(3, 3) * deviation))
    }

    #[test]
    fn a_crown_is_within_when_no_place_can_leave() {
        let bed = DVector::from_column_slice(&[8.0, 12.0, 7.0]);
        assert!(way(1.0).surely_within(&bed, [0.0, 20.0]));
        assert!(!way(5.0).surely_within(&bed, [0.0, 20.0]));
        assert!(!way(1.0).surely_within(&bed, [0.0, 13.0]));
        assert!(!way(1.0).surely_within(&bed, [11.0, 20.0]));
    }

    #[test]
    fn a_hollow_counts_only_where_it_rivals_the_crown() {
        let limits = [0.0, 20.0];
        let bed = |hollow: f64| DVector::from_column_slice(&[hollow, 12.0, 7.0]);
        assert!(way(1.0).surely_within(&bed(-6.0), limits));
        assert!(!way(1.0).surely_within(&bed(-11.0), limits));
        assert!(way(1.0).surely_within(&bed(-11.0), [-15.0, 20.0]));
        // Where there is room for a hollow it is held against its end whatever the crown is.
        assert!(!way(0.1).surely_within(&bed(-10.5), [-10.0, 20.0]));
    }

    #[test]
    fn sag_that_is_asked_for_is_the_mirror_of_crown() {
        let bed = DVector::from_column_slice(&[-8.0, -12.0, 3.0]);
        assert!(way(1.0).surely_within(&bed, [-20.0, 0.0]));
        assert!(!way(1.0).surely_within(&-bed, [-20.0, 0.0]));
    }
}
