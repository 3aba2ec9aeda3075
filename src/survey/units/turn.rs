//! Parts of a turn, which are spoken of as fractions.

use super::short_number;
use crate::survey::diagnostic::Diagnostic;
use crate::survey::number::{leading_number, whole_number};

/// Degrees in a quarter-turn.
pub const DEGREES_OF_A_QUARTER: f64 = 90.0;
/// Quarter-turns in a turn.
const QUARTERS_OF_A_TURN: f64 = 4.0;

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

/// How far a screw was turned, as it was typed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TypedTurn {
    /// With its unit, or as a fraction, which nobody uses for degrees: quarter-turns, + raises.
    Said(f64),
    /// A number alone.
    Bare(f64),
}

impl TypedTurn {
    /// In quarter-turns, where a number alone counts parts of this size.
    pub fn quarter_turns(self, bare: f64) -> f64 {
        match self {
            Self::Said(quarters) => quarters,
            Self::Bare(number) => number * bare,
        }
    }
}

/// Reads how far a screw was turned, + raises: `3`, `-1,5`, `11 3/4`, `15°`, `-15 deg`, `2 turns`,
/// `1 quarter-turn and 20°`; what stands behind it in brackets says the same once more. `None` if it is nothing of
/// the kind.
///
/// ```
/// use quarterturn::survey::units::{TypedTurn, parse_turn};
///
/// assert_eq!(parse_turn("-1.5"), Some(TypedTurn::Bare(-1.5)));
/// assert_eq!(parse_turn("+3/4"), Some(TypedTurn::Said(0.75)));
/// assert_eq!(parse_turn("-45°"), Some(TypedTurn::Said(-0.5)));
/// assert_eq!(parse_turn("1 1/4 quarter-turns (112°)"), Some(TypedTurn::Said(1.25)));
/// assert_eq!(parse_turn("F2"), None);
/// ```
pub fn parse_turn(text: &str) -> Option<TypedTurn> {
    // A text that was set in print has signs and spaces of its own.
    let text = text
        .replace('\u{2212}', "-")
        .replace(['\u{a0}', '\u{202f}'], " ")
        .replace(',', ".")
        .to_lowercase();
    let text = match text.split_once('(') {
        Some((before, _)) => before.trim(),
        None => text.trim(),
    };
    let (size, sign) = match text.strip_prefix('-') {
        Some(size) => (size, -1.0),
        None => (text.strip_prefix('+').unwrap_or(text), 1.0),
    };
    let mut sum = 0.0;
    let mut said = false;
    for part in size.split(" and ") {
        let (number, unit) = leading_number(part)?;
        if number < 0.0
            || !part
                .trim_start()
                .starts_with(|c: char| c.is_ascii_digit() || c == '.')
        {
            return None;
        }
        let quarters = match unit.trim() {
            "°" | "deg" | "degree" | "degrees" => 1.0 / DEGREES_OF_A_QUARTER,
            "" | "quarter" | "quarters" | "quarter-turn" | "quarter-turns" => 1.0,
            "turn" | "turns" => QUARTERS_OF_A_TURN,
            _ => return None,
        };
        said |= !unit.trim().is_empty() || part.contains('/');
        sum += number * quarters;
    }
    // Adding zero turns -0 into 0.
    let sum = sign * sum + 0.0;
    if !sum.is_finite() {
        return None;
    }
    Some(if said {
        TypedTurn::Said(sum)
    } else {
        TypedTurn::Bare(sum)
    })
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
