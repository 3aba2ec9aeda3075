//! Twist and crown followed through passes.
//!
//! All passes are asked for the same things at the same places: every place that any of them read, where all
//! of them reach. So different stations give the same figures, those in between less certain.

use nalgebra::{DMatrix, RowDVector};

use crate::geometry::layout::SAME_PLACE;
use crate::geometry::{Adjustment, Figure, Refusal};
use crate::survey::{Level, Line, Pass, Side, Survey};

/// What is followed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// Even part of the twist: cross slope at the last common station less that at the first, on the line
    /// that fits best, m/m.
    Twist,
    /// Crown of a way: height of its middle above the ends, on the parabola that fits best, m.
    Crown(Side),
}

/// A quantity in every pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// What it is.
    pub quantity: Quantity,
    /// Its value in every pass, up to a constant that is the same in all.
    pub values: Vec<Figure>,
}

/// Passes adjusted at all the places they are to be compared at.
pub struct Compared {
    adjustments: Vec<Adjustment>,
    /// Cross stations, then ends of the level on the front and on the rear way.
    places: [Vec<f64>; 3],
}

const LINES: [Line; 3] = [Line::Cross, Line::Front, Line::Rear];

impl Compared {
    /// Adjusts passes (indices into the survey) at each other's places. `None` when one cannot be adjusted.
    pub fn of(survey: &Survey, passes: &[usize]) -> Option<Self> {
        let read: Vec<_> = passes
            .iter()
            .map(|&index| {
                let pass = survey.passes.get(index)?;
                Some((pass, survey.level_of(pass)?))
            })
            .collect::<Option<_>>()?;
        Self::adjusted(&read, |pass, level, places| {
            Adjustment::in_survey_with_places(survey, pass, level, places)
        })
    }

    /// The same of passes with their levels on a bed of this length and way spacing, m.
    pub fn read(read: &[(&Pass, &Level)], length: f64, spacing: f64) -> Option<Self> {
        Self::adjusted(read, |pass, level, places| {
            Adjustment::with_places(pass, level, length, spacing, places)
        })
    }

    fn adjusted(
        read: &[(&Pass, &Level)],
        adjust: impl Fn(&Pass, &Level, &[f64]) -> Result<Adjustment, Refusal>,
    ) -> Option<Self> {
        let alone: Vec<Adjustment> = read
            .iter()
            .map(|(pass, level)| adjust(pass, level, &[]).ok())
            .collect::<Option<_>>()?;
        let all: Vec<f64> = alone
            .iter()
            .flat_map(|adjustment| adjustment.layout().at().iter().copied())
            .collect();
        let adjustments: Vec<Adjustment> = read
            .iter()
            .map(|(pass, level)| adjust(pass, level, &all).ok())
            .collect::<Option<_>>()?;
        let places = LINES.map(|line| common_places(&adjustments, line));
        Some(Self {
            adjustments,
            places,
        })
    }

    /// The adjusted passes.
    pub fn adjustments(&self) -> &[Adjustment] {
        &self.adjustments
    }

    /// All quantities that all passes tell.
    pub fn traces(&self) -> Vec<Trace> {
        Quantity::ALL
            .into_iter()
            .filter_map(|quantity| self.trace(quantity))
            .collect()
    }

    /// The places at which a quantity is compared: every one that any pass read, where all of them reach.
    pub fn places(&self, quantity: Quantity) -> &[f64] {
        &self.places[match quantity {
            Quantity::Twist => 0,
            Quantity::Crown(Side::Front) => 1,
            Quantity::Crown(Side::Rear) => 2,
        }]
    }

    fn trace(&self, quantity: Quantity) -> Option<Trace> {
        let at = self.places(quantity);
        let weights = quantity.weights(at)?;
        let values = self
            .adjustments
            .iter()
            .map(|adjustment| {
                let rows: Vec<RowDVector<f64>> = at
                    .iter()
                    .map(|at| {
                        let place = adjustment.layout().index(*at)?;
                        Some(match quantity {
                            Quantity::Twist => adjustment.cross_slope(place),
                            Quantity::Crown(side) => adjustment.height(side, place),
                        })
                    })
                    .collect::<Option<_>>()?;
                let whole = &weights * DMatrix::from_rows(&rows);
                let value = adjustment.system().value(whole.transpose().as_view())?;
                let deviation = adjustment
                    .covariance_root(&DMatrix::from_rows(&[whole]))
                    .norm();
                Some(Figure::normal(value, deviation))
            })
            .collect::<Option<_>>()?;
        Some(Trace { quantity, values })
    }
}

impl Quantity {
    /// All of them.
    pub(super) const ALL: [Self; 3] = [
        Self::Twist,
        Self::Crown(Side::Front),
        Self::Crown(Side::Rear),
    ];

    /// Takes cross slopes or heights at these places to the quantity; `None` with too few places.
    pub(super) fn weights(self, at: &[f64]) -> Option<RowDVector<f64>> {
        match self {
            Self::Twist => twist_weights(at),
            Self::Crown(_) => crown_weights(at),
        }
    }

    /// Takes them to what each place departs by from the quantity's own datum.
    pub(super) fn departures(self, at: &[f64]) -> Option<DMatrix<f64>> {
        match self {
            Self::Twist => Some(less_mean(at.len())),
            Self::Crown(_) => off_line(at),
        }
    }
}

/// Places that any pass read on a line, where all passes reach; of a way on which no pass laid the level, the
/// cross stations.
fn common_places(adjustments: &[Adjustment], line: Line) -> Vec<f64> {
    let read = |adjustment: &Adjustment, line: Line| -> Vec<f64> {
        let seen = adjustment.observations();
        let half = match line {
            Line::Cross => 0.0,
            _ => seen.half_base,
        };
        adjustment
            .used()
            .iter()
            .map(|&i| &seen.rows[i])
            .filter(|row| row.line == line)
            .flat_map(|row| [row.at - half, row.at + half])
            .collect()
    };
    let mut low = f64::NEG_INFINITY;
    let mut high = f64::INFINITY;
    let mut all = Vec::new();
    for adjustment in adjustments {
        let places = read(adjustment, line);
        if places.is_empty() {
            return Vec::new();
        }
        low = low.max(places.iter().copied().fold(f64::INFINITY, f64::min));
        high = high.min(places.iter().copied().fold(f64::NEG_INFINITY, f64::max));
        all.extend(places);
    }
    all.retain(|at| (low - SAME_PLACE..=high + SAME_PLACE).contains(at));
    all.sort_by(f64::total_cmp);
    all.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
    all
}

/// End to end difference of the straight line that fits values at these places best.
fn twist_weights(at: &[f64]) -> Option<RowDVector<f64>> {
    let (first, last) = (at.first()?, at.last()?);
    let mean = at.iter().sum::<f64>() / at.len() as f64;
    let square: f64 = at.iter().map(|x| (x - mean).powi(2)).sum();
    (last > first).then(|| {
        RowDVector::from_iterator(
            at.len(),
            at.iter().map(|x| (x - mean) * (last - first) / square),
        )
    })
}

/// Height of the middle above the ends of the parabola that fits heights at these places best.
fn crown_weights(at: &[f64]) -> Option<RowDVector<f64>> {
    let (first, last) = (at.first()?, at.last()?);
    if at.len() < 3 {
        return None;
    }
    let half = (last - first) / 2.0;
    let middle = f64::midpoint(*first, *last);
    let design = DMatrix::from_fn(at.len(), 3, |i, j| {
        ((at[i] - middle) / half).powi(i32::try_from(j).unwrap_or(0))
    });
    let factored = design.qr();
    let mut q = factored.q().transpose();
    factored.r().solve_upper_triangular_mut(&mut q);
    // Height = ... + c t²: the middle stands above the ends by -c.
    Some(-q.row(2).into_owned())
}

fn less_mean(places: usize) -> DMatrix<f64> {
    DMatrix::identity(places, places) - DMatrix::from_element(places, places, 1.0 / places as f64)
}

/// Takes heights to heights above the line through the first and the last.
fn off_line(at: &[f64]) -> Option<DMatrix<f64>> {
    let (first, last) = (at.first()?, at.last()?);
    let count = at.len();
    let mut departures = DMatrix::identity(count, count);
    for (k, x) in at.iter().enumerate() {
        let share = (x - first) / (last - first);
        departures[(k, 0)] -= 1.0 - share;
        departures[(k, count - 1)] -= share;
    }
    Some(departures)
}
