//! Straightness against a reference line, with the three lines of ISO 230-1.

/// The line that departures are measured from (ISO 230-1; the names are the standard's).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ReferenceLine {
    /// Through the two end points.
    #[default]
    EndPoints,
    /// Least squares.
    LeastSquares,
    /// Minimum zone: the line whose largest departure is smallest.
    MinimumZone,
}

impl ReferenceLine {
    /// The standard's name of this line.
    pub fn name(self) -> &'static str {
        match self {
            Self::EndPoints => "end points",
            Self::LeastSquares => "least squares",
            Self::MinimumZone => "minimum zone",
        }
    }

    /// Slope and the height at zero of the reference line of a profile. The places are in order; lengths
    /// in any one unit.
    ///
    /// ```
    /// use quarterturn::geometry::ReferenceLine;
    ///
    /// let (slope, _) = ReferenceLine::EndPoints.of(&[0.0, 1.0, 2.0], &[0.0, 5.0, 1.0]);
    /// assert_eq!(slope, 0.5);
    /// ```
    pub fn of(self, at: &[f64], height: &[f64]) -> (f64, f64) {
        let n = at.len().min(height.len());
        if n < 2 {
            return (0.0, height.first().copied().unwrap_or(0.0));
        }
        match self {
            Self::EndPoints => through(at[0], height[0], at[n - 1], height[n - 1]),
            Self::LeastSquares => least_squares(&at[..n], &height[..n]),
            Self::MinimumZone => minimum_zone(&at[..n], &height[..n]),
        }
    }

    /// Departures from the reference line.
    pub fn departures(self, at: &[f64], height: &[f64]) -> Vec<f64> {
        let (slope, start) = self.of(at, height);
        at.iter()
            .zip(height)
            .map(|(x, h)| h - (start + slope * x))
            .collect()
    }

    /// Straightness: the range of the departures.
    pub fn straightness(self, at: &[f64], height: &[f64]) -> f64 {
        range(&self.departures(at, height))
    }
}

/// Largest minus smallest; zero for nothing.
pub fn range(values: &[f64]) -> f64 {
    let (low, high) = values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(*value), high.max(*value))
        });
    if high < low { 0.0 } else { high - low }
}

fn through(x0: f64, y0: f64, x1: f64, y1: f64) -> (f64, f64) {
    let slope = (y1 - y0) / (x1 - x0);
    (slope, y0 - slope * x0)
}

fn least_squares(at: &[f64], height: &[f64]) -> (f64, f64) {
    let n = at.len() as f64;
    let (x, y) = (at.iter().sum::<f64>() / n, height.iter().sum::<f64>() / n);
    let (mut above, mut below) = (0.0, 0.0);
    for (a, h) in at.iter().zip(height) {
        above += (a - x) * (h - y);
        below += (a - x).powi(2);
    }
    let slope = above / below;
    (slope, y - slope * x)
}

/// One of the two parallel lines of the minimum zone touches the convex hull along an edge, so each edge
/// is tried (Houle & Toussaint, *Computing the width of a set*, 1988; from memory).
fn minimum_zone(at: &[f64], height: &[f64]) -> (f64, f64) {
    let mut best = through(at[0], height[0], at[at.len() - 1], height[at.len() - 1]);
    let mut width = f64::INFINITY;
    for sign in [1.0, -1.0] {
        for edge in upper_hull(at, height, sign).windows(2) {
            let (i, j) = (edge[0], edge[1]);
            let (slope, start) = through(at[i], height[i], at[j], height[j]);
            let off: Vec<f64> = at
                .iter()
                .zip(height)
                .map(|(x, h)| h - (start + slope * x))
                .collect();
            if range(&off) < width {
                width = range(&off);
                best = (slope, start);
            }
        }
    }
    best
}

/// Indices of the upper hull of the profile, of its mirror image for `sign` -1 (Andrew's monotone chain).
fn upper_hull(at: &[f64], height: &[f64], sign: f64) -> Vec<usize> {
    let mut hull: Vec<usize> = Vec::new();
    for k in 0..at.len() {
        while let [.., i, j] = hull[..] {
            let left = (height[j] - height[i]) * sign * (at[k] - at[i]);
            let right = (height[k] - height[i]) * sign * (at[j] - at[i]);
            if left <= right {
                hull.pop();
            } else {
                break;
            }
        }
        hull.push(k);
    }
    hull
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: a note on guide-rail straightness gives the data; the answers were computed apart from this
    /// program.
    #[test]
    fn three_reference_lines_on_one_data_set() {
        let at = [1.0, 2.0, 3.0, 4.0, 5.0];
        let height = [2.0, 5.0, 16.0, 8.0, 20.0];
        let straightness = |line: ReferenceLine| line.straightness(&at, &height);
        approx::assert_abs_diff_eq!(
            straightness(ReferenceLine::EndPoints),
            12.5,
            epsilon = 1e-12
        );
        approx::assert_abs_diff_eq!(
            straightness(ReferenceLine::LeastSquares),
            11.9,
            epsilon = 1e-12
        );
        approx::assert_abs_diff_eq!(
            straightness(ReferenceLine::MinimumZone),
            10.0,
            epsilon = 1e-12
        );
        approx::assert_abs_diff_eq!(
            ReferenceLine::LeastSquares.of(&at, &height).0,
            3.9,
            epsilon = 1e-12
        );
        approx::assert_abs_diff_eq!(
            ReferenceLine::MinimumZone.of(&at, &height).0,
            2.0,
            epsilon = 1e-12
        );
    }

    /// Source: engineering metrology lecture (Course Hero pgh1bs, slides 13-15), autocollimator on a
    /// 100 mm base; heights in um. The least-squares and minimum-zone figures were computed apart.
    #[test]
    fn autocollimator_table() {
        let at = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
        let height = [0.0, 0.0, 1.5, 5.0, 4.0, 4.0, 6.0];
        assert_eq!(
            ReferenceLine::EndPoints.departures(&at, &height),
            [0.0, -1.0, -0.5, 2.0, 0.0, -1.0, 0.0]
        );
        approx::assert_abs_diff_eq!(ReferenceLine::EndPoints.straightness(&at, &height), 3.0);
        approx::assert_abs_diff_eq!(
            ReferenceLine::LeastSquares.of(&at, &height).0,
            1.017_857,
            epsilon = 5e-7
        );
        approx::assert_abs_diff_eq!(
            ReferenceLine::LeastSquares.straightness(&at, &height),
            3.035_714,
            epsilon = 5e-7
        );
        approx::assert_abs_diff_eq!(
            ReferenceLine::MinimumZone.straightness(&at, &height),
            3.0,
            epsilon = 5e-4
        );
    }

    proptest::proptest! {
        #[test]
        fn minimum_zone_is_the_narrowest_of_many_lines(
            height in proptest::collection::vec(-10.0..10.0_f64, 3..12),
            slope in -20.0..20.0_f64,
        ) {
            let at: Vec<f64> = (0..height.len()).map(|k| k as f64).collect();
            let other: Vec<f64> = at.iter().zip(&height).map(|(x, h)| h - slope * x).collect();
            let zone = ReferenceLine::MinimumZone.straightness(&at, &height);
            proptest::prop_assert!(zone <= range(&other) + 1e-9);
            proptest::prop_assert!(zone <= ReferenceLine::LeastSquares.straightness(&at, &height) + 1e-9);
            proptest::prop_assert!(zone <= ReferenceLine::EndPoints.straightness(&at, &height) + 1e-9);
        }
    }
}
