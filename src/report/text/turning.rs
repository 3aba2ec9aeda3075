//! Turns and parts of a division in words that a hand and an eye can follow.

use super::prose::TIE;
use crate::survey::units::{DEGREES_OF_A_QUARTER as DEGREES, short_number};
use crate::survey::{Line, QUARTER_DIVISION, decimals_of};

/// Parts of a quarter-turn that a hand can judge: halves, thirds, quarters and sixths (45°, 30°, 22.5°, 15°).
const HAND_PARTS: [u32; 5] = [1, 2, 3, 4, 6];
/// Rounding of what was computed, parts.
const ROUNDING: f64 = 1e-6;
/// A number of quarter-turns without its sign: below one in degrees alone, from there on in quarter-turns with the
/// degrees in brackets.
///
/// ```
/// use quarterturn::report::text::turning::turn;
///
/// let words = |number| turn(number).replace('\u{a0}', " ");
/// assert_eq!(words(1.0 / 6.0), "15°");
/// assert_eq!(words(-2.5), "2 1/2 quarter-turns (225°)");
/// assert_eq!(words(22.0 / 18.0), "1 quarter-turn and 20° (110°)");
/// ```
pub fn turn(quarter_turns: f64) -> String {
    let size = quarter_turns.abs();
    if is_below_one(size) {
        return degrees(size);
    }
    let whole = size.floor();
    let amount = mixed(size, &HAND_PARTS).map_or_else(
        || {
            format!(
                "{whole}{TIE}{} and{TIE}{}",
                noun(whole),
                degrees(size - whole)
            )
        },
        |mixed| format!("{mixed}{TIE}{}", noun(size)),
    );
    format!("{amount} ({:.0}°)", size * DEGREES)
}

fn is_below_one(size: f64) -> bool {
    size < 1.0 - ROUNDING
}

fn degrees(quarter_turns: f64) -> String {
    format!("{}°", short_number(quarter_turns * DEGREES, 1))
}

fn noun(quarter_turns: f64) -> &'static str {
    if quarter_turns <= 1.0 + ROUNDING {
        "quarter-turn"
    } else {
        "quarter-turns"
    }
}

/// The same signed and in as few letters as can be, `+` raises: `+15°`, `-2 1/3 (210°)`.
///
/// ```
/// use quarterturn::report::text::turning::short_turn;
///
/// let words = |number| short_turn(number).replace('\u{a0}', " ");
/// assert_eq!(words(-1.5), "-1 1/2 (135°)");
/// assert_eq!(words(1.0 / 18.0), "+5°");
/// assert_eq!(words(0.0), "0");
/// ```
pub fn short_turn(quarter_turns: f64) -> String {
    let size = quarter_turns.abs();
    if size < ROUNDING {
        return "0".to_owned();
    }
    let sign = if quarter_turns < 0.0 { "-" } else { "+" };
    if is_below_one(size) {
        return format!("{sign}{}", degrees(size));
    }
    let number = mixed(size, &HAND_PARTS).unwrap_or_else(|| short_number(size, 2));
    format!("{sign}{number}{TIE}({:.0}°)", size * DEGREES)
}

/// The same in degrees alone, where there is room for no more: `-180°`.
///
/// ```
/// assert_eq!(quarterturn::report::text::turning::signed_degrees(-2.0), "-180°");
/// ```
pub fn signed_degrees(quarter_turns: f64) -> String {
    let sign = if quarter_turns < 0.0 { "-" } else { "+" };
    format!("{sign}{}", degrees(quarter_turns.abs()))
}

/// A turn that must not be passed, rounded towards none: whole degrees, or quarter-turns and quarters of them.
///
/// ```
/// use quarterturn::report::text::turning::at_most;
///
/// let words = |number| at_most(number).replace('\u{a0}', " ");
/// assert_eq!(words(3.4), "3 1/4 quarter-turns (292°)");
/// assert_eq!(words(-0.45), "40°");
/// ```
pub fn at_most(number: f64) -> String {
    const QUARTERS: f64 = 4.0;
    let size = number.abs();
    if size < 1.0 {
        return format!("{:.0}°", (size * DEGREES + ROUNDING).floor());
    }
    let size = (size * QUARTERS + ROUNDING).floor() / QUARTERS;
    let mixed = mixed(size, &HAND_PARTS).unwrap_or_default();
    format!(
        "{mixed}{TIE}{} ({:.0}°)",
        noun(size),
        (size * DEGREES).floor()
    )
}

/// A reading as a level shows it of which these parts of a division can be read, with the letter of the high side:
/// `3 1/4 R` by eye, `0.034 F` of one that shows numbers.
///
/// ```
/// use quarterturn::report::text::turning::reading;
/// use quarterturn::survey::{Line, QUARTER_DIVISION};
///
/// let words = |line, divisions, part| reading(line, divisions, part).replace('\u{a0}', " ");
/// assert_eq!(words(Line::Cross, -3.3, QUARTER_DIVISION), "3 1/4 R");
/// assert_eq!(words(Line::Front, 0.5, QUARTER_DIVISION), "1/2 T");
/// assert_eq!(words(Line::Cross, -0.1, QUARTER_DIVISION), "0");
/// assert_eq!(words(Line::Cross, 0.3004, 0.001), "0.3 F");
/// assert_eq!(words(Line::Rear, -12.3, 1.0), "12 H");
/// ```
pub fn reading(line: Line, divisions: f64, part: f64) -> String {
    let size = (divisions.abs() / part).round() * part;
    let by_eye = (part / QUARTER_DIVISION).fract() == 0.0;
    let number = by_eye
        .then(|| mixed(size, &[1, 2, 4]))
        .flatten()
        .unwrap_or_else(|| short_number(size, decimals_of(part)));
    lettered(line, divisions, &number)
}

/// What was worked out in divisions rather than read, with the letter of the high side: `1.86 F`.
pub(super) fn decimal_reading(line: Line, divisions: f64) -> String {
    let number = short_number(divisions.abs(), 2);
    lettered(line, divisions, &number)
}

/// A number of divisions with the letter of the high side, unless it is nothing.
fn lettered(line: Line, divisions: f64, number: &str) -> String {
    if number == "0" {
        return number.to_owned();
    }
    let [positive, negative] = line.letters();
    let letter = if divisions > 0.0 { positive } else { negative };
    format!("{number}{TIE}{letter}")
}

/// A whole number and a fraction with one of these denominators; `None` if no such number is near.
fn mixed(size: f64, denominators: &[u32]) -> Option<String> {
    denominators.iter().find_map(|denominator| {
        let parts = size * f64::from(*denominator);
        if (parts - parts.round()).abs() > ROUNDING {
            return None;
        }
        let whole = (parts.round() / f64::from(*denominator)).floor();
        let rest = parts.round() - whole * f64::from(*denominator);
        Some(match (whole, rest) {
            (whole, 0.0) => format!("{whole}"),
            (0.0, rest) => format!("{rest}/{denominator}"),
            (whole, rest) => format!("{whole}{TIE}{rest}/{denominator}"),
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::units::parse_turn;

    /// Steps of 1/72 turn are 5°, of 1/24 turn 15°, of 1/12 turn 30°.
    #[test]
    fn every_step_of_a_fine_screw_can_be_said() {
        for (parts, want) in [
            (72.0, "5°"),
            (24.0, "15°"),
            (12.0, "30°"),
            (8.0, "45°"),
            (4.0, "1 quarter-turn (90°)"),
            (1.0, "4 quarter-turns (360°)"),
            (3.0 / 4.0, "5 1/3 quarter-turns (480°)"),
        ] {
            assert_eq!(turn(4.0 / parts).replace(TIE, " "), want);
        }
        assert_eq!(
            turn(5.0 + 1.0 / 18.0).replace(TIE, " "),
            "5 quarter-turns and 5° (455°)"
        );
    }

    #[test]
    fn a_limit_is_never_rounded_up() {
        let words = |number| at_most(number).replace(TIE, " ");
        assert_eq!(words(1.249), "1 quarter-turn (90°)");
        assert_eq!(words(1.25), "1 1/4 quarter-turns (112°)");
        assert_eq!(words(0.999), "89°");
    }

    /// What is printed can be typed, to half a degree.
    #[test]
    fn what_is_printed_is_understood() {
        for degrees in 0..1000 {
            let quarters = f64::from(degrees) / DEGREES;
            for words in [turn(quarters), short_turn(quarters), short_turn(-quarters)] {
                let sign = if words.starts_with('-') { -1.0 } else { 1.0 };
                let typed = parse_turn(&words).expect(&words).quarter_turns(1.0);
                assert!(
                    (typed - sign * quarters).abs() * DEGREES < 0.5,
                    "{words}: {typed}"
                );
            }
        }
    }
}
