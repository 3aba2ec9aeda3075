//! Parts of a turn, which are spoken of as fractions.

use super::short_number;
use crate::survey::diagnostic::Diagnostic;
use crate::survey::number::whole_number;

/// Degrees in a quarter-turn.
const DEGREES_OF_A_QUARTER: f64 = 90.0;

/// Reads a part of a turn, such as `1/24` or `0.25`, above zero and at most one turn.
///
/// ```
/// use quarterturn::survey::units::parse_part_of_turn;
///
/// assert_eq!(parse_part_of_turn("1/4"), Ok(0.25));
/// assert!(parse_part_of_turn("5/4").is_err());
/// ```
pub fn parse_part_of_turn(text: &str) -> Result<f64, Diagnostic> {
    let mistake = |title: &str| {
        Diagnostic::new(0..text.len(), title)
            .label("not a part of a turn")
            .help("write it like `\"1/4\"`, `\"1/12\"`, `\"1/24\"` or `\"1/72\"`")
    };
    match whole_number(text) {
        None => Err(mistake("a part of a turn is a fraction")),
        Some(turns) if turns <= 0.0 || turns > 1.0 => Err(mistake(
            "a part of a turn lies above zero and is at most one turn",
        )),
        Some(turns) => Ok(turns),
    }
}

/// Reads a signed number of quarter-turns, + raises: `3`, `+3`, `-1.5`, `1/2`; or degrees of the wrench, `+10°` or
/// `10deg`. `None` if it is neither.
///
/// ```
/// use quarterturn::survey::units::parse_quarter_turns;
///
/// assert_eq!(parse_quarter_turns("-1.5"), Some(-1.5));
/// assert_eq!(parse_quarter_turns("+3/4"), Some(0.75));
/// assert_eq!(parse_quarter_turns("-45°"), Some(-0.5));
/// assert_eq!(parse_quarter_turns("F2"), None);
/// ```
pub fn parse_quarter_turns(text: &str) -> Option<f64> {
    // A text that was set in print has a sign of its own for minus; adding zero turns -0 into 0.
    let text = text.trim().replace('\u{2212}', "-");
    let degrees = text.strip_suffix('°').or(text.strip_suffix("deg"));
    let quarters = match degrees {
        Some(degrees) => whole_number(degrees)? / DEGREES_OF_A_QUARTER,
        None => whole_number(&text)?,
    };
    Some(quarters + 0.0)
}

/// A part of a turn as a fraction where it is one: `1/24`, `1`, else in decimals.
///
/// ```
/// use quarterturn::survey::units::show_part_of_turn;
///
/// assert_eq!(show_part_of_turn(1.0 / 24.0), "1/24");
/// assert_eq!(show_part_of_turn(0.75), "3/4");
/// ```
pub fn show_part_of_turn(turns: f64) -> String {
    /// Finer dials than this are not read in fractions.
    const FINEST: u16 = 1000;
    /// A fraction that was divided out and multiplied again is whole up to rounding.
    const WHOLE: f64 = 1e-9;
    let denominator = (1..=FINEST).find(|&denominator| {
        let numerator = turns * f64::from(denominator);
        numerator.round() >= 1.0 && (numerator - numerator.round()).abs() < WHOLE
    });
    match denominator {
        Some(1) => short_number(turns, 0),
        Some(denominator) => {
            let numerator = short_number(turns * f64::from(denominator), 0);
            format!("{numerator}/{denominator}")
        }
        None => short_number(turns, 6),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_of_a_turn_read_as_they_are_shown() {
        for denominator in [1, 2, 3, 4, 6, 8, 12, 24, 36, 72, 100, 360] {
            let turns = 1.0 / f64::from(denominator);
            let text = show_part_of_turn(turns);
            assert_eq!(parse_part_of_turn(&text), Ok(turns), "{text}");
        }
        assert_eq!(show_part_of_turn(1.0), "1");
        assert_eq!(show_part_of_turn(1.5), "3/2");
        assert_eq!(show_part_of_turn(0.123_456_7), "0.123457");
        assert_eq!(show_part_of_turn(0.0), "0");
        assert_eq!(show_part_of_turn(f64::NAN), "NaN");
    }
}
