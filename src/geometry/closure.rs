//! Whether the readings of a pass fit each other: the global test, the misclosure of every bay, how well
//! every reading is checked, and what drifted while the pass was taken.

use statrs::distribution::{ChiSquared, ContinuousCDF, StudentsT};

use super::adjustment::Adjustment;
use super::bay::{Bay, bays};
use super::figure::COVERAGE_95;
use super::layout::SAME_PLACE;
use super::observation::{Observation, Observations};
use crate::survey::{Entry, Line, Pass};

/// The global test fails where readings that scatter as stated would fit worse this rarely.
pub const GLOBAL_TEST_LEVEL: f64 = 0.05;

/// Misfits that readings which scatter as stated would exceed this rarely are not taken at their word. Of 95 % intervals of one who
/// states half of the true scatter 13, 9 and 7 in 100 miss with 2, 4 and 8 misfits, and of one who states it right 4; at the level of
/// the test itself 17, 12 and 8, and 5 (chi-square and t, drawn). To miss 5 whoever is right takes t always: with 2 misfits, twice the
/// width for those who state it right.
const UNUSUAL: f64 = 0.15;

/// A reading whose redundancy number is below this is checked by nothing.
pub const UNCHECKED: f64 = 1e-6;

/// The test of the whole adjustment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GlobalTest {
    /// Sum of squared misfits in deviations.
    pub chi_square: f64,
    /// How many of them are free.
    pub freedom: usize,
    /// How often readings that scatter as stated would fit this badly or worse.
    pub p: f64,
}

impl GlobalTest {
    /// `None` without redundancy.
    ///
    /// ```
    /// use quarterturn::geometry::GlobalTest;
    ///
    /// let test = GlobalTest::of(11.2, 9).expect("nine degrees of freedom");
    /// assert!((test.p - 0.26).abs() < 0.005 && test.passes());
    /// ```
    pub fn of(chi_square: f64, freedom: usize) -> Option<Self> {
        let distribution = ChiSquared::new(freedom as f64).ok()?;
        Some(Self {
            chi_square,
            freedom,
            p: distribution.sf(chi_square),
        })
    }

    /// Whether the readings fit each other as well as they scatter.
    pub fn passes(&self) -> bool {
        self.p >= GLOBAL_TEST_LEVEL
    }

    /// What uncertainties are to be multiplied by: 1 while the misfits are nothing unusual, else the scatter that they show, with
    /// Student's t for how few they are and the stated scatter as one more.
    pub fn widening(&self) -> f64 {
        if self.p >= UNUSUAL {
            return 1.0;
        }
        let freedom = self.freedom as f64 + 1.0;
        let scatter = ((self.chi_square + 1.0) / freedom).sqrt();
        let student = StudentsT::new(0.0, 1.0, freedom).map_or(1.0, |t| t.inverse_cdf(0.975));
        (scatter * student / COVERAGE_95).max(1.0)
    }
}

/// How well a pass fits itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Closure {
    /// The test of the whole; `None` where nothing checks anything.
    pub global: Option<GlobalTest>,
    /// Every bay that along readings on both ways cover, along the bed.
    pub bays: Vec<Bay>,
    /// How well every reading in use is checked, in the order of [`Adjustment::used`].
    pub checks: Vec<Check>,
    /// Stations read again in the same line, in the order of their first reading.
    pub drifts: Vec<Drift>,
    /// How readings taken several times on the spot scatter; `None` without any.
    pub repeats: Option<Repeats>,
}

/// How well a reading is checked by the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Check {
    /// Position among the pass's readings.
    pub reading: usize,
    /// Redundancy number: the share of an error in this reading that shows in its own misfit.
    pub redundancy: f64,
    /// The misfit in its own standard deviations; `None` where nothing checks the reading.
    pub w: Option<f64>,
}

/// One station of a line read at the beginning and again later.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drift {
    /// The line.
    pub line: Line,
    /// Middle of the level, m from the headstock end.
    pub at: f64,
    /// Position of the first and the last reading among the pass's readings.
    pub readings: [usize; 2],
    /// Last minus first, divisions.
    pub divisions: f64,
    /// Its standard deviation, divisions.
    pub deviation: f64,
}

impl Drift {
    /// Whether it is more than scatter, at 95 %.
    pub fn is_real(&self) -> bool {
        self.divisions.abs() > COVERAGE_95 * self.deviation
    }
}

/// Scatter of readings taken several times on the spot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Repeats {
    /// Stations read more than once.
    pub stations: usize,
    /// Degrees of freedom.
    pub freedom: usize,
    /// Standard deviation of one reading, divisions.
    pub scatter: f64,
}

impl Closure {
    /// Looks at an adjusted pass.
    pub fn of(pass: &Pass, adjustment: &Adjustment) -> Self {
        Self {
            global: adjustment.global_test(),
            bays: bays(adjustment),
            checks: checks(adjustment),
            drifts: drifts(adjustment.observations()),
            repeats: repeats(pass),
        }
    }
}

fn checks(adjustment: &Adjustment) -> Vec<Check> {
    let redundancy = adjustment.system().redundancy();
    let misfit = adjustment.residuals();
    adjustment
        .used()
        .iter()
        .enumerate()
        .map(|(k, &i)| Check {
            reading: adjustment.observations().rows[i].reading,
            redundancy: redundancy[k],
            w: (redundancy[k] > UNCHECKED).then(|| misfit[k] / redundancy[k].sqrt()),
        })
        .collect()
}

fn drifts(observations: &Observations) -> Vec<Drift> {
    let rows = &observations.rows;
    let same = |a: &Observation, b: &Observation| {
        a.line == b.line && a.reversed == b.reversed && (a.at - b.at).abs() < SAME_PLACE
    };
    let read = || rows.iter().enumerate().filter(|(_, row)| !row.bound);
    read()
        .filter(|(i, first)| !read().any(|(j, row)| j < *i && same(row, first)))
        .filter_map(|(i, first)| {
            let (_, last) = read().rfind(|(j, row)| *j > i && same(row, first))?;
            Some(Drift {
                line: first.line,
                at: first.at,
                readings: [first.reading, last.reading],
                divisions: (last.slope - first.slope) / observations.division,
                deviation: first.deviation.hypot(last.deviation) / observations.division,
            })
        })
        .collect()
}

fn repeats(pass: &Pass) -> Option<Repeats> {
    let (mut stations, mut freedom, mut squares) = (0, 0, 0.0);
    for reading in &pass.readings {
        let Entry::Read(seen) = &reading.entry else {
            continue;
        };
        if seen.len() < 2 {
            continue;
        }
        let mean = seen.iter().sum::<f64>() / seen.len() as f64;
        squares += seen.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
        stations += 1;
        freedom += seen.len() - 1;
    }
    (freedom > 0).then(|| Repeats {
        stations,
        freedom,
        scatter: (squares / freedom as f64).sqrt(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: table of the chi-square distribution, upper 5 % and 1 % points, as printed in handbooks
    /// of statistics (from memory).
    #[test]
    fn upper_points_of_chi_square() {
        for (freedom, five, one) in [
            (1, 3.841, 6.635),
            (2, 5.991, 9.210),
            (5, 11.070, 15.086),
            (10, 18.307, 23.209),
            (30, 43.773, 50.892),
        ] {
            for (point, share) in [(five, 0.05), (one, 0.01)] {
                // The table's last digit is worth at most 1e-4 of probability.
                let p = GlobalTest::of(point, freedom).expect("positive").p;
                approx::assert_abs_diff_eq!(p, share, epsilon = 2e-4);
            }
        }
    }

    /// Source: closed form for an even number of degrees of freedom, exp(-x/2) times the first terms of
    /// the exponential series (derived).
    #[test]
    fn chi_square_against_its_closed_form() {
        for freedom in [2, 4, 8, 20] {
            for chi_square in [0.3, 4.0, 11.0, 45.0] {
                let half: f64 = chi_square / 2.0;
                let (mut term, mut sum) = (1.0, 1.0);
                for k in 1..freedom / 2 {
                    term *= half / k as f64;
                    sum += term;
                }
                let want = (-half).exp() * sum;
                let got = GlobalTest::of(chi_square, freedom).expect("positive").p;
                approx::assert_relative_eq!(got, want, max_relative = 1e-10);
            }
        }
    }

    /// Source: table of Student's t, two-sided 5 % points, as printed in handbooks of statistics (from memory).
    #[test]
    fn unusual_misfits_widen_by_students_t() {
        assert!(GlobalTest::of(3.0, 0).is_none());
        let fine = GlobalTest::of(14.0, 10).expect("ten");
        approx::assert_relative_eq!(fine.widening(), 1.0);
        for (chi_square, freedom, point) in [(8.0, 2, 3.182), (39.0, 9, 2.228), (119.0, 29, 2.042)]
        {
            let poor = GlobalTest::of(chi_square, freedom).expect("some freedom");
            let scatter = ((chi_square + 1.0) / (freedom as f64 + 1.0)).sqrt();
            let want = scatter * point / COVERAGE_95;
            approx::assert_relative_eq!(poor.widening(), want, max_relative = 3e-4);
        }
    }
}
