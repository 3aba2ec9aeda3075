//! The places along the bed that a set of readings speaks of, and how a bed bends and twists between them.
//!
//! Front and rear heights are the middle line plus and minus half the difference of the ways. Both are
//! written as a polynomial plus integrated white noise, the prior of a bed that bends and twists smoothly
//! and about which nothing else is known (Wahba, *Spline Models for Observational Data*, 1990, chapter 1;
//! Wecker & Ansley 1983; both from memory):
//!
//! * middle line: quadratic + noise integrated three times, so that its curvature is continuous, as a
//!   beam's is between its loads;
//! * half difference of the ways: straight line + noise integrated twice, so that the twist per length is
//!   continuous, as a shaft's is.
//!
//! Only the square root of the prior's covariance is ever formed; it comes step by step along the bed and
//! is lower triangular, so nothing is lost to squaring.

use nalgebra::{DMatrix, DVector, RowDVector};

use crate::survey::Side;

/// Two places nearer than this are one place, m.
pub const SAME_PLACE: f64 = 1e-6;

/// Polynomial unknowns of the middle line: heave, pitch, curvature.
const MIDDLE_TERMS: usize = 3;
/// Polynomial unknowns of the half difference: roll, even twist.
const HALF_TERMS: usize = 2;

/// Places along the bed and the square root of the prior between them.
#[derive(Debug, Clone)]
pub struct Layout {
    at: Vec<f64>,
    length: f64,
    /// Square root of the middle line's unit prior, places by noise terms.
    middle_root: DMatrix<f64>,
    /// Square root of the half difference's unit prior, places by noise terms.
    half_root: DMatrix<f64>,
}

/// Size of the prior: standard deviation of the white noise, in metres for a bed of unit length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Roughness {
    /// For the middle line.
    pub middle: f64,
    /// For the half difference of the ways.
    pub half: f64,
}

impl Layout {
    /// Sorts the places and drops those that stand twice.
    pub fn new(mut at: Vec<f64>, length: f64) -> Self {
        at.sort_by(f64::total_cmp);
        at.dedup_by(|a, b| (*a - *b).abs() < SAME_PLACE);
        let scaled: Vec<f64> = at.iter().map(|x| x / length).collect();
        Self {
            middle_root: integrated_noise_root::<3>(&scaled),
            half_root: integrated_noise_root::<2>(&scaled),
            at,
            length,
        }
    }

    /// The places, m from the headstock end, in order.
    pub fn at(&self) -> &[f64] {
        &self.at
    }

    /// Length of the bed, m.
    pub fn length(&self) -> f64 {
        self.length
    }

    /// Index of the place at `at`.
    pub fn index(&self, at: f64) -> Option<usize> {
        let after = self.at.partition_point(|x| *x < at - SAME_PLACE);
        (after < self.at.len() && (self.at[after] - at).abs() < SAME_PLACE).then_some(after)
    }

    /// Number of unknowns that describe the surface: polynomial terms, then noise terms.
    pub fn unknowns(&self) -> usize {
        Self::polynomials() + self.noise_terms()
    }

    /// Number of polynomial terms; they come first.
    pub const fn polynomials() -> usize {
        MIDDLE_TERMS + HALF_TERMS
    }

    /// Number of noise terms: those of the middle line, then those of the half difference.
    pub fn noise_terms(&self) -> usize {
        self.middle_root.ncols() + self.half_root.ncols()
    }

    /// Number of noise terms of the middle line.
    pub fn middle_noise_terms(&self) -> usize {
        self.middle_root.ncols()
    }

    /// The middle line at a place as a function of the unknowns, m.
    pub fn middle(&self, place: usize, size: Roughness) -> RowDVector<f64> {
        let xi = self.at[place] / self.length - 0.5;
        let mut row = RowDVector::zeros(self.unknowns());
        row[0] = 1.0;
        row[1] = xi;
        row[2] = xi * xi;
        let noise = self.middle_root.ncols();
        row.columns_mut(Self::polynomials(), noise)
            .copy_from(&(self.middle_root.row(place) * size.middle));
        row
    }

    /// How functions of the unknowns change with an even curvature of the bed, the middle up, by metre of its radius.
    pub fn bow(&self, functions: &DMatrix<f64>) -> DVector<f64> {
        // Heights fall off by half the curvature times the distance squared.
        functions.column(MIDDLE_TERMS - 1) * (-self.length * self.length / 2.0)
    }

    /// Half of front minus rear at a place as a function of the unknowns, m.
    pub fn half(&self, place: usize, size: Roughness) -> RowDVector<f64> {
        let xi = self.at[place] / self.length - 0.5;
        let mut row = RowDVector::zeros(self.unknowns());
        row[MIDDLE_TERMS] = 1.0;
        row[MIDDLE_TERMS + 1] = xi;
        let (skip, noise) = (self.middle_root.ncols(), self.half_root.ncols());
        row.columns_mut(Self::polynomials() + skip, noise)
            .copy_from(&(self.half_root.row(place) * size.half));
        row
    }

    /// The height of one way at a place as a function of the unknowns, m.
    pub fn height(&self, side: Side, place: usize, size: Roughness) -> RowDVector<f64> {
        let half = self.half(place, size);
        match side {
            Side::Front => self.middle(place, size) + half,
            Side::Rear => self.middle(place, size) - half,
        }
    }
}

/// Square root of the covariance of `ORDER` times integrated unit white noise that starts at the first
/// place with value and derivatives zero: places by noise terms, lower triangular.
///
/// One step of length h adds a state (value, first derivative, ...) whose covariance is
/// h^(2n-1-i-j) / ((2n-1-i-j) (n-1-i)! (n-1-j)!), and carries the old one on by Taylor's formula.
fn integrated_noise_root<const ORDER: usize>(at: &[f64]) -> DMatrix<f64> {
    let places = at.len();
    let steps = places.saturating_sub(1);
    // State after each step as rows, noise terms as columns.
    let mut state = DMatrix::<f64>::zeros(ORDER, ORDER * steps);
    let mut root = DMatrix::<f64>::zeros(places, ORDER * steps);
    for step in 0..steps {
        let h = at[step + 1] - at[step];
        let mut carried = state.clone();
        for i in 0..ORDER {
            let mut factor = 1.0;
            for j in i + 1..ORDER {
                factor *= h / (j - i) as f64;
                let add = state.row(j) * factor;
                let mut row = carried.row_mut(i);
                row += add;
            }
        }
        state = carried;
        let fresh = step_root::<ORDER>(h);
        state
            .view_mut((0, ORDER * step), (ORDER, ORDER))
            .copy_from(&fresh);
        root.set_row(step + 1, &state.row(0));
    }
    // Fewer columns with the same product: root = (Q R)ᵀ with R square.
    if steps == 0 {
        return DMatrix::zeros(places, 0);
    }
    root.rows(1, steps)
        .transpose()
        .qr()
        .r()
        .transpose()
        .insert_row(0, 0.0)
}

/// Lower triangular root of the covariance that one step of length `h` adds.
///
/// For unit steps these are the Cholesky factors of the matrices 1/((5-i-j)(2-i)!(2-j)!) and
/// 1/((3-i-j)(1-i)!(1-j)!); a step of length h scales row i by h^(n-1/2-i).
fn step_root<const ORDER: usize>(h: f64) -> DMatrix<f64> {
    let factorial = [1.0, 1.0, 2.0];
    let unit = DMatrix::from_fn(ORDER, ORDER, |i, j| {
        1.0 / ((2 * ORDER - 1 - i - j) as f64 * factorial[ORDER - 1 - i] * factorial[ORDER - 1 - j])
    });
    // The unit matrix is a fixed, well-conditioned Hilbert-like matrix of order 2 or 3.
    let mut lower = unit
        .cholesky()
        .map_or_else(|| DMatrix::zeros(ORDER, ORDER), |factor| factor.l());
    for i in 0..ORDER {
        let power = ORDER as f64 - 0.5 - i as f64;
        lower.row_mut(i).scale_mut(h.powf(power));
    }
    lower
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Covariance of n times integrated noise, by the integral that defines it (closed form for n = 2, 3).
    fn covariance(order: i32, s: f64, t: f64) -> f64 {
        let (a, b) = (s.min(t), s.max(t));
        if order == 2 {
            a * a * b / 2.0 - a.powi(3) / 6.0
        } else {
            // ∫0^a (a-u)²(b-u)²/4 du with b = a + d: a^5/20 + d a^4/8 + d² a³/12
            let d = b - a;
            a.powi(5) / 20.0 + d * a.powi(4) / 8.0 + d * d * a.powi(3) / 12.0
        }
    }

    #[test]
    fn the_root_gives_the_covariance_of_integrated_noise() {
        let at = [0.0, 0.1, 0.13, 0.4, 0.45, 0.9, 1.0];
        for (order, root) in [
            (2, integrated_noise_root::<2>(&at)),
            (3, integrated_noise_root::<3>(&at)),
        ] {
            let product = &root * root.transpose();
            for (i, s) in at.iter().enumerate() {
                for (j, t) in at.iter().enumerate() {
                    let want = covariance(order, *s, *t);
                    approx::assert_relative_eq!(
                        product[(i, j)],
                        want,
                        epsilon = 1e-14,
                        max_relative = 1e-9
                    );
                }
            }
        }
    }

    #[test]
    fn places_that_stand_twice_are_one() {
        let layout = Layout::new(vec![0.5, 0.1, 0.5 + 1e-9, 0.3], 1.0);
        assert_eq!(layout.at(), [0.1, 0.3, 0.5]);
        assert_eq!(layout.index(0.5), Some(2));
        assert_eq!(layout.index(0.2), None);
    }
}
