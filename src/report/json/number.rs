//! Numbers as they stand in JSON: rounded, never `-0`.

use serde::Serialize;

/// Decimals of millimetres, mm/m, quarter-turns and divisions: far below what any level sees.
const DECIMALS: i32 = 6;
/// Decimals of the places along the bed: 0.001 mm.
const DECIMALS_OF_A_PLACE: i32 = 3;

/// Millimetres in a metre; also mm/m in m/m.
const MILLI: f64 = 1e3;

/// A number of millimetres, or of mm/m.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Milli(f64);

/// A place along the bed, mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Place(f64);

/// A number without a unit, or in the unit of its name.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Plain(f64);

impl Milli {
    /// From metres or m/m.
    pub fn of(si: f64) -> Self {
        Self(rounded(si * MILLI, DECIMALS))
    }
}

impl Place {
    /// From metres.
    pub fn of(metres: f64) -> Self {
        Self(rounded(metres * MILLI, DECIMALS_OF_A_PLACE))
    }
}

impl Plain {
    /// The number, rounded.
    pub fn of(number: f64) -> Self {
        Self(rounded(number, DECIMALS))
    }
}

/// Adding zero turns -0 into 0.
fn rounded(number: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (number * scale).round() / scale + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_has_no_sign() {
        for number in [-0.0, -1e-12, 1e-12] {
            assert!(rounded(number, 6).is_sign_positive(), "{number}");
        }
    }

    #[test]
    fn a_length_is_rounded_to_the_nanometre() {
        assert_eq!(Milli::of(0.031e-3), Milli(0.031));
        assert_eq!(Milli::of(1.234_567_89e-6), Milli(0.001_235));
        assert_eq!(Place::of(1.149_999_999_7), Place(1150.0));
    }
}
