//! Numbers and lengths as they are printed.

use crate::survey::model::LengthUnit;

/// A number with at most `decimals` places, without trailing zeros and never `-0`.
pub fn short_number(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" { "0" } else { text }.to_owned()
}

/// A length with its unit, to the micrometre or the ten-thousandth of an inch: `2900 mm`, `0.0005 in`.
pub fn show_length(metres: f64, units: LengthUnit) -> String {
    format!("{} {}", length_number(metres, units), units.length().name())
}

/// Two lengths with one unit: `0 to 2900 mm`.
pub fn show_range(lowest: f64, highest: f64, units: LengthUnit) -> String {
    format!(
        "{} to {}",
        length_number(lowest, units),
        show_length(highest, units)
    )
}

fn length_number(metres: f64, units: LengthUnit) -> String {
    let decimals = match units {
        LengthUnit::Millimetre => 3,
        LengthUnit::Inch => 4,
    };
    short_number(units.length().from_si(metres), decimals)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_never_minus_nothing() {
        assert_eq!(short_number(2900.0, 3), "2900");
        assert_eq!(short_number(0.25, 3), "0.25");
        assert_eq!(short_number(-0.0001, 3), "0");
        assert_eq!(short_number(-0.0, 0), "0");
        assert_eq!(short_number(100.0, 0), "100");
        assert_eq!(show_length(0.000_012_7, LengthUnit::Inch), "0.0005 in");
        assert_eq!(show_length(2.9, LengthUnit::Millimetre), "2900 mm");
    }
}
