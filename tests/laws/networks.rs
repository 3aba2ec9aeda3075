//! Levelling networks from the literature through the same least-squares code as the bed.

use approx::assert_abs_diff_eq;
use nalgebra::{DMatrix, DVector};
use quarterturn::geometry::{Adjusted, LeastSquares};

/// One levelled line: from, to, difference of height, standard deviation.
type LevelledLine = (Option<usize>, Option<usize>, f64, f64);

/// Adjusts heights; `None` is a bench mark whose height is already in the difference.
fn adjust(points: usize, lines: &[LevelledLine]) -> Adjusted {
    let mut design = DMatrix::zeros(lines.len(), points);
    for (row, (from, to, _, _)) in lines.iter().enumerate() {
        if let Some(from) = from {
            design[(row, *from)] = -1.0;
        }
        if let Some(to) = to {
            design[(row, *to)] = 1.0;
        }
    }
    let target = DVector::from_iterator(lines.len(), lines.iter().map(|line| line.2));
    let sigma: Vec<f64> = lines.iter().map(|line| line.3).collect();
    LeastSquares::weighted(design, target, &sigma).solve()
}

/// Source: Ghilani, Adjustment Computations, 5th ed., example 12.6, as given in Krumm, Geodetic Network
/// Adjustment Examples, 2020, section 2.1.
#[test]
fn ghilani_example_12_6() {
    const A: f64 = 437.596;
    let mm = 1e-3;
    let sigma = [6.0, 4.0, 5.0, 3.0, 4.0, 12.0].map(|s| s * mm);
    let lines = [
        (None, Some(0), A + 10.509, sigma[0]),
        (Some(0), Some(1), 5.360, sigma[1]),
        (Some(1), Some(2), -8.523, sigma[2]),
        (Some(2), None, -7.348 - A, sigma[3]),
        (Some(0), Some(2), -3.167, sigma[4]),
        (None, Some(1), A + 15.881, sigma[5]),
    ];
    let adjusted = adjust(3, &lines);

    for (got, want) in adjusted
        .unknowns
        .iter()
        .zip([448.10871, 453.46847, 444.94361])
    {
        assert_abs_diff_eq!(*got, want, epsilon = 5e-6);
    }
    assert_abs_diff_eq!(adjusted.sum_of_squares(), 1.27212, epsilon = 5e-6);
    let s0 = (adjusted.sum_of_squares() / 3.0).sqrt();
    assert_abs_diff_eq!(s0, 0.65118, epsilon = 5e-6);
    for (got, want) in adjusted
        .covariance()
        .diagonal()
        .iter()
        .zip([2.295, 2.636, 1.761])
    {
        assert_abs_diff_eq!(got.sqrt() * s0 / mm, want, epsilon = 5e-4);
    }
    // The source's residual is adjusted minus observed.
    let residuals: Vec<f64> = adjusted
        .residuals
        .iter()
        .zip(sigma)
        .map(|(v, s)| -v * s / mm)
        .collect();
    for (got, want) in residuals
        .iter()
        .zip([3.712, -0.244, -1.862, 0.395, 1.894, -8.532])
    {
        assert_abs_diff_eq!(*got, want, epsilon = 5e-4);
    }
    let redundancy = adjusted.redundancy();
    for (got, want) in redundancy
        .iter()
        .zip([0.6549, 0.3294, 0.5092, 0.1877, 0.4326, 0.8862])
    {
        assert_abs_diff_eq!(*got, want, epsilon = 5e-5);
    }
    let standardised = [1.174, 0.163, 0.802, 0.466, 1.105, 1.160];
    for (k, want) in standardised.iter().enumerate() {
        let got = adjusted.residuals[k].abs() / redundancy[k].sqrt() / s0;
        assert_abs_diff_eq!(got, *want, epsilon = 5e-4);
    }
}

const X: f64 = 100.0;
const Y: f64 = 107.5;

fn two_bench_marks(sigma: [f64; 7]) -> Adjusted {
    let (a, b, c) = (Some(0), Some(1), Some(2));
    adjust(
        3,
        &[
            (None, a, X + 5.10, sigma[0]),
            (a, None, 2.34 - Y, sigma[1]),
            (None, c, Y - 1.25, sigma[2]),
            (c, None, -6.13 - X, sigma[3]),
            (a, b, -0.68, sigma[4]),
            (b, None, 3.00 - Y, sigma[5]),
            (b, c, 1.70, sigma[6]),
        ],
    )
}

/// Source: Ghilani & Wolf, two bench marks and seven lines; from memory, recomputed apart.
#[test]
fn seven_lines_of_equal_weight() {
    let adjusted = two_bench_marks([1.0; 7]);
    for (got, want) in adjusted.unknowns.iter().zip([105.141, 104.483, 106.188]) {
        assert_abs_diff_eq!(*got, want, epsilon = 5e-4);
    }
    assert_abs_diff_eq!(
        (adjusted.sum_of_squares() / 4.0).sqrt(),
        0.050,
        epsilon = 5e-4
    );
}

/// Source: as above, weights 12 over the miles of each line.
#[test]
fn seven_lines_weighted_by_their_length() {
    let miles: [f64; 7] = [4.0, 3.0, 2.0, 3.0, 2.0, 2.0, 2.0];
    let adjusted = two_bench_marks(miles.map(|miles| (miles / 12.0).sqrt()));
    for (got, want) in adjusted.unknowns.iter().zip([105.150, 104.489, 106.197]) {
        assert_abs_diff_eq!(*got, want, epsilon = 5e-4);
    }
    let s0 = (adjusted.sum_of_squares() / 4.0).sqrt();
    assert_abs_diff_eq!(s0, 0.107, epsilon = 5e-4);
    for (got, want) in adjusted
        .covariance()
        .diagonal()
        .iter()
        .zip([0.033, 0.030, 0.029])
    {
        assert_abs_diff_eq!(got.sqrt() * s0, want, epsilon = 5e-4);
    }
}
