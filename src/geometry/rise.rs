//! What a level lies on: two heights, and how far apart they are.

use nalgebra::{DMatrix, DVector, RowDVector};

use super::layout::Layout;
use super::observation::Observation;
use crate::survey::Line;

/// The slope that a level shows, as a function of the heights at all places, front first: one height less another over the
/// distance between them. Across that is the front way less the rear one over their spacing, along the far end of the level less
/// the near one over its base.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rise {
    high: usize,
    low: usize,
    over: f64,
}

impl Rise {
    /// A level of this half length (m) laid on a line with its middle at `at`, m from the headstock end, on ways so far apart, m;
    /// `None` where a place under it is not among those of the layout.
    pub fn of(
        layout: &Layout,
        line: Line,
        at: f64,
        half_base: f64,
        way_spacing: f64,
    ) -> Option<Self> {
        let places = layout.at().len();
        let skip = match line {
            Line::Cross => {
                let place = layout.index(at)?;
                return Some(Self {
                    high: place,
                    low: places + place,
                    over: way_spacing,
                });
            }
            Line::Front => 0,
            Line::Rear => places,
        };
        let (low, high) = (layout.index(at - half_base)?, layout.index(at + half_base)?);
        (low != high).then_some(Self {
            high: skip + high,
            low: skip + low,
            over: 2.0 * half_base,
        })
    }

    /// Under an observation that was made with a level of this half length, m.
    pub fn under(
        layout: &Layout,
        observation: &Observation,
        half_base: f64,
        way_spacing: f64,
    ) -> Option<Self> {
        Self::of(
            layout,
            observation.line,
            observation.at,
            half_base,
            way_spacing,
        )
    }

    /// The slope on these heights, m/m.
    pub fn on(&self, heights: &DVector<f64>) -> f64 {
        (heights[self.high] - heights[self.low]) / self.over
    }

    /// The slope on each column of heights.
    pub fn on_each(&self, heights: &DMatrix<f64>) -> RowDVector<f64> {
        (heights.row(self.high) - heights.row(self.low)) / self.over
    }

    /// The slopes of several of them, a row each, on each column of heights.
    pub fn all_on(rises: &[Self], heights: &DMatrix<f64>) -> DMatrix<f64> {
        let mut slopes = DMatrix::zeros(rises.len(), heights.ncols());
        // Column by column, as both lie in memory.
        for (mut slopes, heights) in slopes.column_iter_mut().zip(heights.column_iter()) {
            for (slope, rise) in slopes.iter_mut().zip(rises) {
                *slope = (heights[rise.high] - heights[rise.low]) / rise.over;
            }
        }
        slopes
    }

    /// The same as a row that is to be multiplied by so many heights.
    pub fn row(&self, heights: usize) -> RowDVector<f64> {
        let mut row = RowDVector::zeros(heights);
        row[self.high] = self.over.recip();
        row[self.low] = -self.over.recip();
        row
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Places at 0, 0.2 and 0.4 m; the front way climbs 1 mm/m, the rear one lies level and 0.3 mm lower, 0.3 m off.
    #[test]
    fn a_level_shows_the_slope_of_what_it_lies_on() {
        let layout = Layout::new(vec![0.0, 0.2, 0.4], 0.4);
        let heights = DVector::from_vec(vec![0.3e-3, 0.5e-3, 0.7e-3, 0.0, 0.0, 0.0]);
        let laid = |line, at| Rise::of(&layout, line, at, 0.1, 0.3);
        for (line, at, slope) in [
            (Line::Cross, 0.0, 1e-3),
            (Line::Front, 0.1, 1e-3),
            (Line::Front, 0.3, 1e-3),
            (Line::Rear, 0.3, 0.0),
        ] {
            let rise = laid(line, at).expect("both places are there");
            approx::assert_abs_diff_eq!(rise.on(&heights), slope, epsilon = 1e-15);
            let column = DMatrix::from_columns(std::slice::from_ref(&heights));
            approx::assert_abs_diff_eq!(rise.on_each(&column)[0], slope, epsilon = 1e-15);
            approx::assert_abs_diff_eq!((rise.row(6) * &heights)[0], slope, epsilon = 1e-15);
            approx::assert_abs_diff_eq!(
                Rise::all_on(&[rise], &column)[(0, 0)],
                slope,
                epsilon = 1e-15
            );
        }
        assert_eq!(laid(Line::Front, 0.2), None, "nothing is known at 0.1 m");
    }
}
