//! What figures are made of, as linear functions of the unknowns.

use nalgebra::{DMatrix, RowDVector};

use super::adjustment::Adjustment;
use super::observation::Observation;
use super::reference_line::ReferenceLine;
use crate::survey::{Line, Side};

/// What the level would show across at a place, its zero error included, m/m.
pub fn cross_slope(adjustment: &Adjustment, at: f64) -> RowDVector<f64> {
    adjustment.shown(&Observation {
        reading: 0,
        line: Line::Cross,
        reversed: false,
        at,
        slope: 0.0,
        packed: 0.0,
        deviation: 1.0,
        bound: false,
        warm: 0.0,
    })
}

/// The same at several places, one a row; they must be places of the layout.
pub fn cross_slopes(adjustment: &Adjustment, at: &[f64]) -> DMatrix<f64> {
    let rows: Vec<RowDVector<f64>> = at.iter().map(|at| cross_slope(adjustment, *at)).collect();
    DMatrix::from_rows(&rows)
}

/// Departures of a way from its own line at places of the layout, one a row, m. The bed's lean drops out.
pub fn departures(
    adjustment: &Adjustment,
    side: Side,
    at: &[f64],
    line: ReferenceLine,
) -> DMatrix<f64> {
    let heights: Vec<RowDVector<f64>> = at
        .iter()
        .filter_map(|x| adjustment.layout().index(*x))
        .map(|place| adjustment.height(side, place))
        .collect();
    departure_operator(at, line) * DMatrix::from_rows(&heights)
}

/// The matrix that takes heights to departures from the line. For the minimum zone, which is not linear,
/// it is that of the line through the end points.
pub fn departure_operator(at: &[f64], line: ReferenceLine) -> DMatrix<f64> {
    let count = at.len();
    DMatrix::from_fn(count, count, |i, j| {
        let mut unit = vec![0.0; count];
        unit[j] = 1.0;
        let fitted = match line {
            ReferenceLine::MinimumZone => ReferenceLine::EndPoints,
            other => other,
        };
        fitted.departures(at, &unit)[i]
    })
}
