//! What is said to have changed, held against what did.

use nalgebra::{DMatrix, DVector, RowDVector};
use quarterturn::geometry::{Adjustment, Figure};
use quarterturn::settle::trace::Compared;
use quarterturn::settle::{Moved, Quantity};

use super::pairs::Pair;
use super::tally::Share;

/// How often the intervals of changes hold what really changed, and how wide they are.
#[derive(Default)]
pub struct Places {
    /// Changes of cross slope at single places.
    pub cross: Share,
    /// Changes of height at single places.
    pub heights: Share,
    /// Changes of the even twist and crowns.
    pub figures: Share,
    /// Widths as shares of those that two surfaces with errors of their own would have.
    pub widths: Vec<f64>,
    /// The same of the even twist and crowns.
    pub widths_of_figures: Vec<f64>,
    /// How far any change is at most from the difference of two such surfaces, in its expanded uncertainty.
    pub farthest: f64,
}

impl Places {
    /// Takes in what another count found.
    pub fn join(&mut self, other: Self) {
        self.cross.join(&other.cross);
        self.heights.join(&other.heights);
        self.figures.join(&other.figures);
        self.widths.extend(other.widths);
        self.widths_of_figures.extend(other.widths_of_figures);
        self.farthest = self.farthest.max(other.farthest);
    }

    /// Median of the widths' shares.
    pub fn median(shares: &[f64]) -> f64 {
        let mut sorted = shares.to_vec();
        sorted.sort_by(f64::total_cmp);
        sorted.get(sorted.len() / 2).copied().unwrap_or(f64::NAN)
    }

    pub fn add(&mut self, pair: &Pair) {
        let Some(compared) = pair.compared() else {
            return;
        };
        for moved in Moved::between(&compared) {
            let at = compared.places(moved.quantity);
            let identity = DMatrix::identity(at.len(), at.len());
            let departures = departures(moved.quantity, at, &identity);
            let truth: Vec<f64> = at
                .iter()
                .map(|at| pair.changed(moved.quantity, *at))
                .collect();
            let truth = DMatrix::from_column_slice(at.len(), 1, &truth);
            let off = &departures * &truth;
            let apart = apart(&compared, moved.quantity, &departures);
            let share = match moved.quantity {
                Quantity::Twist => &mut self.cross,
                Quantity::Crown(_) => &mut self.heights,
            };
            let mut farthest = self.farthest;
            for place in &moved.places {
                let k = at.iter().position(|x| x.to_bits() == place.at.to_bits());
                let k = k.expect("a place that was compared");
                share.count((place.change - off[k]).abs() <= place.u95);
                self.widths.push(place.u95 / apart[k].u95);
                farthest = farthest.max((place.change - apart[k].value).abs() / place.u95);
            }
            let whole = whole(moved.quantity, at);
            let truth = (&whole * &truth)[0];
            let Figure { value, u95, .. } = moved.change;
            self.figures.count((value - truth).abs() <= u95);
            let apart = self::apart(&compared, moved.quantity, &whole)[0];
            self.widths_of_figures.push(u95 / apart.u95);
            self.farthest = farthest.max((value - apart.value).abs() / u95);
        }
    }
}

/// Less their mean, or above the line through the first and the last.
fn departures(quantity: Quantity, at: &[f64], values: &DMatrix<f64>) -> DMatrix<f64> {
    let last = at.len() - 1;
    let mean = values.row_mean();
    let rows: Vec<RowDVector<f64>> = (0..at.len())
        .map(|k| match quantity {
            Quantity::Twist => values.row(k) - &mean,
            Quantity::Crown(_) => {
                let share = (at[k] - at[0]) / (at[last] - at[0]);
                values.row(k) - values.row(0) * (1.0 - share) - values.row(last) * share
            }
        })
        .collect();
    DMatrix::from_rows(&rows)
}

/// End to end difference of the best line, or minus the square term of the best parabola, by normal equations.
fn whole(quantity: Quantity, at: &[f64]) -> DMatrix<f64> {
    let (first, last) = (at[0], at[at.len() - 1]);
    let terms = match quantity {
        Quantity::Twist => 2,
        Quantity::Crown(_) => 3,
    };
    let design = DMatrix::from_fn(at.len(), terms, |i, j| {
        let t = (2.0 * at[i] - first - last) / (last - first);
        t.powi(i32::try_from(j).expect("a small number"))
    });
    let normal = (design.transpose() * &design)
        .try_inverse()
        .expect("places enough");
    let fitted = normal * design.transpose();
    let row = match quantity {
        Quantity::Twist => fitted.row(1) * 2.0,
        Quantity::Crown(_) => -fitted.row(2),
    };
    DMatrix::from_rows(&[row])
}

/// Differences of two surfaces that know nothing of each other.
fn apart(compared: &Compared, quantity: Quantity, functions: &DMatrix<f64>) -> Vec<Figure> {
    let mut change = DVector::zeros(functions.nrows());
    let mut variance = DVector::zeros(functions.nrows());
    for (adjustment, sign) in compared.adjustments().iter().zip([-1.0, 1.0]) {
        let rows: Vec<RowDVector<f64>> = compared
            .places(quantity)
            .iter()
            .map(|at| at_place(adjustment, quantity, *at))
            .collect();
        let functions = functions * DMatrix::from_rows(&rows);
        change += &functions * &adjustment.system().unknowns * sign;
        let root = adjustment.covariance_root(&functions);
        variance += DVector::from_fn(root.nrows(), |k, _| root.row(k).norm_squared());
    }
    change
        .iter()
        .zip(&variance)
        .map(|(change, variance)| Figure::normal(*change, variance.sqrt()))
        .collect()
}

fn at_place(adjustment: &Adjustment, quantity: Quantity, at: f64) -> RowDVector<f64> {
    let place = adjustment
        .layout()
        .index(at)
        .expect("a place of the layout");
    match quantity {
        Quantity::Twist => adjustment.cross_slope(place),
        Quantity::Crown(side) => adjustment.height(side, place),
    }
}
