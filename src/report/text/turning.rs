//! Parts of a turn and of a division in words that a hand and an eye can follow.

use super::prose::TIE;
use crate::survey::units::short_number;
use crate::survey::{Line, QUARTER_DIVISION};

/// Degrees in a quarter-turn.
const DEGREES: f64 = 90.0;
/// Parts of a quarter-turn that a hand can judge: halves, thirds, quarters and sixths (45°, 30°, 22.5°, 15°).
const HAND_PARTS: [u32; 5] = [1, 2, 3, 4, 6];
/// Rounding of what was computed, parts.
const ROUNDING: f64 = 1e-6;
/// From this many quarter-turns on, whole turns are told too.
const WHOLE_TURN: f64 = 4.0;

/// How far a screw goes round, without its sign.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Turning {
    /// In quarter-turns where a hand can judge them, else in degrees of the wrench.
    pub amount: String,
    /// The same in turns and degrees of the wrench, where that helps.
    pub wrench: Option<String>,
}

impl Turning {
    /// Of a number of quarter-turns.
    ///
    /// ```
    /// use quarterturn::report::text::turning::Turning;
    ///
    /// let turning = Turning::of(-2.5);
    /// assert_eq!(turning.amount.replace('\u{a0}', " "), "2 1/2 quarter-turns");
    /// assert_eq!(turning.wrench.as_deref(), Some("225°"));
    /// ```
    pub fn of(quarter_turns: f64) -> Self {
        let size = quarter_turns.abs();
        let whole = size.floor();
        let degrees = |quarter_turns| short_number(quarter_turns * DEGREES, 1);
        let Some(mixed) = mixed(size, &HAND_PARTS) else {
            return if whole == 0.0 {
                Self {
                    amount: format!("{}°", degrees(size)),
                    wrench: None,
                }
            } else {
                let noun = noun(whole);
                let rest = degrees(size - whole);
                Self {
                    amount: format!("{whole}{TIE}{noun} and{TIE}{rest}°"),
                    wrench: Some(turns(size)),
                }
            };
        };
        let is_whole = (size - size.round()).abs() < ROUNDING;
        let plain = is_whole && size < WHOLE_TURN - ROUNDING;
        Self {
            amount: format!("{mixed}{TIE}{}", noun(size)),
            wrench: (!plain).then(|| turns(size)),
        }
    }
}

fn noun(quarter_turns: f64) -> &'static str {
    if quarter_turns <= 1.0 + ROUNDING {
        "quarter-turn"
    } else {
        "quarter-turns"
    }
}

/// The same in whole turns and degrees.
fn turns(quarter_turns: f64) -> String {
    let whole = (quarter_turns / WHOLE_TURN + ROUNDING).floor();
    let degrees = short_number((quarter_turns - whole * WHOLE_TURN) * DEGREES, 1);
    let noun = if whole > 1.0 { "turns" } else { "turn" };
    match (whole, degrees.as_str()) {
        (0.0, _) => format!("{degrees}°"),
        (_, "0") => format!("{whole}{TIE}{noun}"),
        _ => format!("{whole}{TIE}{noun} and{TIE}{degrees}°"),
    }
}

/// A signed number of quarter-turns in as few letters as can be, `+` raises: `+2 1/3`, or in degrees where no
/// hand could judge the part: `-110°`.
///
/// ```
/// use quarterturn::report::text::turning::short_turn;
///
/// assert_eq!(short_turn(-1.5).replace('\u{a0}', " "), "-1 1/2");
/// assert_eq!(short_turn(1.0 / 18.0), "+5°");
/// ```
pub fn short_turn(quarter_turns: f64) -> String {
    let size = quarter_turns.abs();
    let words =
        mixed(size, &HAND_PARTS).unwrap_or_else(|| format!("{}°", short_number(size * DEGREES, 1)));
    let sign = match words.as_str() {
        "0" => "",
        _ if quarter_turns < 0.0 => "-",
        _ => "+",
    };
    format!("{sign}{words}")
}

/// A turn that must not be passed: whole quarter-turns and quarters of them, or whole degrees of the wrench,
/// rounded towards none.
///
/// ```
/// use quarterturn::report::text::turning::at_most;
///
/// let words = |number| at_most(number).replace('\u{a0}', " ");
/// assert_eq!(words(3.4), "3 1/4 quarter-turns");
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
    format!("{mixed}{TIE}{}", noun(size))
}

/// A reading to the quarter of a division, with the letter of the high side: `3 1/4 R`.
///
/// ```
/// use quarterturn::report::text::turning::reading;
/// use quarterturn::survey::Line;
///
/// let words = |line, divisions| reading(line, divisions).replace('\u{a0}', " ");
/// assert_eq!(words(Line::Cross, -3.3), "3 1/4 R");
/// assert_eq!(words(Line::Front, 0.5), "1/2 T");
/// assert_eq!(words(Line::Cross, -0.1), "0");
/// ```
pub fn reading(line: Line, divisions: f64) -> String {
    let size = (divisions.abs() / QUARTER_DIVISION).round() * QUARTER_DIVISION;
    let number = mixed(size, &[1, 2, 4]).unwrap_or_else(|| short_number(size, 2));
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

    fn words(number: f64) -> String {
        let turning = Turning::of(number);
        let wrench = turning
            .wrench
            .map_or_else(String::new, |wrench| format!(" ({wrench})"));
        format!("{}{wrench}", turning.amount).replace(TIE, " ")
    }

    #[test]
    fn every_step_of_a_fine_screw_can_be_said() {
        // Steps of 1/72 turn are 5°, of 1/24 turn 15°, of 1/12 turn 30°.
        for (parts, want) in [
            (72.0, "5°"),
            (24.0, "1/6 quarter-turn (15°)"),
            (12.0, "1/3 quarter-turn (30°)"),
            (8.0, "1/2 quarter-turn (45°)"),
            (4.0, "1 quarter-turn"),
            (1.0, "4 quarter-turns (1 turn)"),
        ] {
            assert_eq!(words(4.0 / parts), want);
        }
    }

    #[test]
    fn large_turns_are_told_in_turns_too() {
        for (number, want) in [
            (3.0, "3 quarter-turns"),
            (8.0, "8 quarter-turns (2 turns)"),
            (9.0, "9 quarter-turns (2 turns and 90°)"),
            (5.0 + 1.0 / 3.0, "5 1/3 quarter-turns (1 turn and 120°)"),
            (22.0 / 18.0, "1 quarter-turn and 20° (110°)"),
            (5.0 + 1.0 / 18.0, "5 quarter-turns and 5° (1 turn and 95°)"),
        ] {
            assert_eq!(words(number), want);
        }
    }

    #[test]
    fn a_limit_is_never_rounded_up() {
        let words = |number| at_most(number).replace(TIE, " ");
        assert_eq!(words(1.249), "1 quarter-turn");
        assert_eq!(words(1.25), "1 1/4 quarter-turns");
        assert_eq!(words(0.999), "89°");
    }
}
