//! Published and constructed regressions through the same least-squares code as the bed.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use quarterturn::geometry::{Adjusted, LeastSquares};

/// y = b0 + b1 x + ... + b5 x⁵ on x = 0, 1, ..., 20.
fn fifth_degree(response: impl Fn(f64) -> f64) -> Adjusted {
    with_noise(response, 0.0)
}

/// The same with so many times Wampler's noise on top.
fn with_noise(response: impl Fn(f64) -> f64, times: f64) -> Adjusted {
    let design = DMatrix::from_fn(21, 6, |i, j| (i as f64).powf(j as f64));
    let target = DVector::from_fn(21, |i, _| response(i as f64) + times * WAMPLER_NOISE[i]);
    LeastSquares::new(design, target).solve()
}

/// Source: NIST `StRD` linear regression, Wampler1 (itl.nist.gov/div898/strd/lls), certified coefficients all
/// 1 and no residual; the response is that polynomial exactly. Seven digits are asked for: single steps of
/// x⁵ reach 3.2 million.
#[test]
fn wampler_1() {
    let adjusted = fifth_degree(|x| (0..6).map(|k| x.powi(k)).sum());
    for got in adjusted.unknowns.iter() {
        assert_abs_diff_eq!(*got, 1.0, epsilon = 1e-7);
    }
    assert!(adjusted.residuals.norm() < 1e-7);
}

/// Source: as above, Wampler2, certified coefficients 1, 0.1, 0.01, 0.001, 0.0001, 0.00001 and no residual.
#[test]
fn wampler_2() {
    let want = [1.0, 1e-1, 1e-2, 1e-3, 1e-4, 1e-5];
    let adjusted = fifth_degree(|x| want.iter().rev().fold(0.0, |sum, b| sum * x + b));
    for (got, want) in adjusted.unknowns.iter().zip(want) {
        assert_relative_eq!(*got, want, max_relative = 1e-9);
    }
    assert!(adjusted.residuals.norm() < 1e-11);
}

/// Wampler3, 4 and 5 add 1, 100 and 10000 times this to the polynomial of Wampler1.
const WAMPLER_NOISE: [f64; 21] = [
    759., -2048., 2048., -2048., 2523., -2048., 2048., -2048., 1838., -2048., 2048., -2048., 1838.,
    -2048., 2048., -2048., 2523., -2048., 2048., -2048., 759.,
];

/// Source: as above, Wampler3, Wampler4 and Wampler5: certified coefficients all 1, the standard deviations of
/// the coefficients of Wampler3 and of its residuals; those of the others are 100 and 10000 times as large. Noise
/// and values typed in from memory, and confirmed in exact fractions and 50 digits: the noise is orthogonal to
/// every power of x up to the fifth, and all seven deviations follow from it to every digit printed.
///
/// The deviations come out to 13 digits. A coefficient comes within 3e-14 of its own deviation, which is as near
/// as QR can come: rounding moves it as noise of 1e-16 of the response would, and the deviation says what
/// noise of the size of the residuals does.
#[test]
fn wampler_3_to_5() {
    const OF_RESIDUALS: f64 = 2_360.145_023_792_68;
    const OF_COEFFICIENTS: [f64; 6] = [
        2_152.326_246_781_70,
        2_363.551_734_696_81,
        779.343_524_331_583,
        101.475_507_550_350,
        5.645_665_121_707_52,
        0.112_324_854_679_312,
    ];
    for times in [1.0, 100.0, 10_000.0] {
        let adjusted = with_noise(|x| (0..6).map(|k| x.powi(k)).sum(), times);
        let s0 = (adjusted.sum_of_squares() / 15.0).sqrt();
        assert_relative_eq!(s0, times * OF_RESIDUALS, max_relative = 1e-14);
        let covariance = adjusted.covariance();
        for (k, deviation) in OF_COEFFICIENTS.into_iter().enumerate() {
            let (got, want) = (covariance[(k, k)].sqrt() * s0, times * deviation);
            assert_relative_eq!(got, want, max_relative = 5e-13);
            assert_abs_diff_eq!(adjusted.unknowns[k], 1.0, epsilon = 1e-13 * want);
        }
    }
}

/// Source: as above, Longley; data and certified values typed in from memory. Employment against the price
/// deflator, gross national product, unemployment, armed forces, population and the year.
#[test]
fn longley() {
    const DATA: [[f64; 7]; 16] = [
        [60323., 83.0, 234_289., 2356., 1590., 107_608., 1947.],
        [61122., 88.5, 259_426., 2325., 1456., 108_632., 1948.],
        [60171., 88.2, 258_054., 3682., 1616., 109_773., 1949.],
        [61187., 89.5, 284_599., 3351., 1650., 110_929., 1950.],
        [63221., 96.2, 328_975., 2099., 3099., 112_075., 1951.],
        [63639., 98.1, 346_999., 1932., 3594., 113_270., 1952.],
        [64989., 99.0, 365_385., 1870., 3547., 115_094., 1953.],
        [63761., 100.0, 363_112., 3578., 3350., 116_219., 1954.],
        [66019., 101.2, 397_469., 2904., 3048., 117_388., 1955.],
        [67857., 104.6, 419_180., 2822., 2857., 118_734., 1956.],
        [68169., 108.4, 442_769., 2936., 2798., 120_445., 1957.],
        [66513., 110.8, 444_546., 4681., 2637., 121_950., 1958.],
        [68655., 112.6, 482_704., 3813., 2552., 123_366., 1959.],
        [69564., 114.2, 502_601., 3931., 2514., 125_368., 1960.],
        [69331., 115.7, 518_173., 4806., 2572., 127_852., 1961.],
        [70551., 116.9, 554_894., 4007., 2827., 130_081., 1962.],
    ];
    const CERTIFIED: [(f64, f64); 7] = [
        (-3_482_258.634_595_82, 890_420.383_607_373),
        (15.061_872_271_373_3, 84.914_925_774_766_9),
        (-0.358_191_792_925_910e-1, 0.334_910_077_722_432e-1),
        (-2.020_229_803_816_83, 0.488_399_681_651_699),
        (-1.033_226_867_173_59, 0.214_274_163_161_675),
        (-0.511_041_056_535_807e-1, 0.226_073_200_069_370),
        (1_829.151_464_613_55, 455.478_499_142_212),
    ];
    let design = DMatrix::from_fn(16, 7, |i, j| if j == 0 { 1.0 } else { DATA[i][j] });
    let target = DVector::from_fn(16, |i, _| DATA[i][0]);
    let adjusted = LeastSquares::new(design, target).solve();
    let s0 = (adjusted.sum_of_squares() / 9.0).sqrt();
    assert_relative_eq!(s0, 304.854_073_561_965, max_relative = 1e-9);
    let covariance = adjusted.covariance();
    for (k, (value, deviation)) in CERTIFIED.into_iter().enumerate() {
        assert_relative_eq!(adjusted.unknowns[k], value, max_relative = 1e-8);
        assert_relative_eq!(
            covariance[(k, k)].sqrt() * s0,
            deviation,
            max_relative = 1e-8
        );
    }
}

proptest! {
    /// What is left over is at right angles to everything that was fitted.
    #[test]
    fn residuals_are_orthogonal_to_the_columns(
        entries in proptest::collection::vec(-1.0..1.0_f64, 60),
        target in proptest::collection::vec(-1.0..1.0_f64, 12),
        scale in proptest::collection::vec(-6..6_i32, 5),
    ) {
        let mut design = DMatrix::from_vec(12, 5, entries);
        for (mut column, power) in design.column_iter_mut().zip(scale) {
            column *= 10f64.powi(power);
        }
        let target = DVector::from_vec(target);
        let adjusted = LeastSquares::new(design.clone(), target.clone()).solve();
        for column in design.column_iter() {
            let cosine = column.dot(&adjusted.residuals) / column.norm() / target.norm();
            prop_assert!(cosine.abs() < 1e-12, "cosine {cosine:e}");
        }
    }

    /// Redundancy numbers add up to the degrees of freedom, whatever the rank.
    #[test]
    fn redundancy_numbers_add_up(
        entries in proptest::collection::vec(-1.0..1.0_f64, 40),
        rank in 1..5_usize,
    ) {
        let wide = DMatrix::from_vec(10, 4, entries[..40].to_vec());
        let design = wide.columns(0, rank.min(4)) * DMatrix::from_fn(rank.min(4), 6, |i, j| ((i * 7 + j * 3) % 5) as f64 - 2.0 + f64::from(u8::from(i == j)));
        let adjusted = LeastSquares::new(design, DVector::zeros(10)).solve();
        let free = 10 - adjusted.rank;
        prop_assert!((adjusted.redundancy().sum() - free as f64).abs() < 1e-9);
    }
}
