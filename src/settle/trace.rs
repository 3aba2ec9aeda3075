//! Twist and crown, and every place, followed through passes.
//!
//! All passes are asked for the same things at the same places: every place that any of them read, where all
//! of them reach. So different stations give the same figures, those in between less certain.

use nalgebra::{DMatrix, DVector, RowDVector};

use crate::geometry::figure::COVERAGE_95;
use crate::geometry::layout::SAME_PLACE;
use crate::geometry::{Adjustment, Figure};
use crate::survey::{Line, Side, Survey};

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
    /// Change from the first pass to the last at every place, none where the quantity's own datum is.
    pub places: Vec<PlaceChange>,
}

/// What changed at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlaceChange {
    /// Distance from the headstock end, m.
    pub at: f64,
    /// Change of cross slope less its mean, m/m, or of height above the line through the way's ends, m.
    pub change: f64,
    /// Its expanded uncertainty.
    pub u95: f64,
}

impl Trace {
    /// Change from the first pass to the last; `None` with one.
    pub fn change(&self) -> Option<Figure> {
        let [first, .., last] = self.values.as_slice() else {
            return None;
        };
        let u95 = first.u95.hypot(last.u95);
        let value = last.value - first.value;
        Some(Figure {
            value,
            u95,
            low: value - u95,
            high: value + u95,
        })
    }
}

impl PlaceChange {
    /// Whether it is more than its uncertainty.
    pub fn is_real(&self) -> bool {
        self.change.abs() > self.u95
    }
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
        let (length, spacing) = (survey.bed.length, survey.bed.way_spacing);
        let read: Vec<_> = passes
            .iter()
            .map(|&index| {
                let pass = survey.passes.get(index)?;
                Some((pass, survey.level_of(pass)?))
            })
            .collect::<Option<_>>()?;
        let alone: Vec<Adjustment> = read
            .iter()
            .map(|(pass, level)| Adjustment::of(pass, level, length, spacing).ok())
            .collect::<Option<_>>()?;
        let all: Vec<f64> = alone
            .iter()
            .flat_map(|adjustment| adjustment.layout().at().iter().copied())
            .collect();
        let adjustments: Vec<Adjustment> = read
            .iter()
            .map(|(pass, level)| Adjustment::with_places(pass, level, length, spacing, &all).ok())
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
        [
            Quantity::Twist,
            Quantity::Crown(Side::Front),
            Quantity::Crown(Side::Rear),
        ]
        .into_iter()
        .filter_map(|quantity| self.trace(quantity))
        .collect()
    }

    fn trace(&self, quantity: Quantity) -> Option<Trace> {
        let at = &self.places[match quantity {
            Quantity::Twist => 0,
            Quantity::Crown(Side::Front) => 1,
            Quantity::Crown(Side::Rear) => 2,
        }];
        let (weights, departures) = match quantity {
            Quantity::Twist => (twist_weights(at)?, less_mean(at.len())),
            Quantity::Crown(_) => (crown_weights(at)?, off_line(at)?),
        };
        let mut values = Vec::new();
        let mut changes = Vec::new();
        let mut roots = Vec::new();
        for adjustment in &self.adjustments {
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
            let rows = DMatrix::from_rows(&rows);
            let system = adjustment.system();
            let whole = &weights * &rows;
            let value = system.value(whole.transpose().as_view())?;
            let deviation = adjustment
                .covariance_root(&DMatrix::from_rows(&[whole]))
                .norm();
            values.push(Figure::normal(value, deviation));
            let rows = &departures * rows;
            changes.push(&rows * &system.unknowns);
            roots.push(adjustment.covariance_root(&rows));
        }
        let places = places(at, &changes, &roots);
        Some(Trace {
            quantity,
            values,
            places,
        })
    }
}

/// Changes from the first pass to the last. Where a departure has no uncertainty at all, it is a datum.
fn places(at: &[f64], values: &[DVector<f64>], roots: &[DMatrix<f64>]) -> Vec<PlaceChange> {
    let ([first, .., last], [first_root, .., last_root]) = (values, roots) else {
        return Vec::new();
    };
    let change = last - first;
    (0..at.len())
        .map(|k| PlaceChange {
            at: at[k],
            change: change[k],
            u95: COVERAGE_95 * first_root.row(k).norm().hypot(last_root.row(k).norm()),
        })
        .filter(|place| place.u95 > 0.0)
        .collect()
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
