//! Lengths and slopes as they are printed: in which unit, with how many decimals.

use super::prose::TIE;
use crate::survey::LengthUnit;
use crate::survey::units::{Unit, short_number};

/// Decimals that an uncertainty smaller than the usual last digit may add.
const MOST_EXTRA_DECIMALS: usize = 2;
/// An uncertainty is printed as at least this many steps of the last digit.
const STEPS_IN_AN_UNCERTAINTY: f64 = 2.0;
/// Decimals of a limit or another number that a person wrote.
const DECIMALS_OF_A_LIMIT: usize = 6;

/// Prints numbers of one kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    unit: Unit,
    decimals: usize,
}

impl Scale {
    /// For lengths: 0.001 mm or 0.0001 in, finer where the uncertainty is smaller than that.
    ///
    /// ```
    /// use quarterturn::report::text::Scale;
    /// use quarterturn::survey::LengthUnit;
    ///
    /// let scale = Scale::lengths(LengthUnit::Millimetre, 4e-6);
    /// assert_eq!(scale.number(0.000_021), "0.021");
    /// assert_eq!(scale.signed(-1e-9), "0.000");
    /// ```
    pub fn lengths(units: LengthUnit, u95: f64) -> Self {
        let usual = match units {
            LengthUnit::Millimetre => 3,
            LengthUnit::Inch => 4,
        };
        Self::of(units.length(), usual, u95)
    }

    /// For slopes: 0.001 mm/m or 0.0001 in/ft, finer where the uncertainty is smaller than that.
    pub fn slopes(units: LengthUnit, u95: f64) -> Self {
        let usual = match units {
            LengthUnit::Millimetre => 3,
            LengthUnit::Inch => 4,
        };
        Self::of(units.slope(), usual, u95)
    }

    fn of(unit: Unit, usual: usize, u95: f64) -> Self {
        let shown = unit.from_si(u95);
        let needed = (0..usual + MOST_EXTRA_DECIMALS).find(|decimals| {
            let scale = 10_f64.powi(i32::try_from(*decimals).unwrap_or(0));
            shown <= 0.0 || shown * scale >= STEPS_IN_AN_UNCERTAINTY
        });
        let decimals = needed.unwrap_or(usual + MOST_EXTRA_DECIMALS).max(usual);
        Self { unit, decimals }
    }

    /// How the unit is written.
    pub fn unit(&self) -> &'static str {
        self.unit.name()
    }

    /// The number alone.
    pub fn number(&self, value: f64) -> String {
        if value.is_infinite() {
            // What is off the scale has no other end.
            return "?".to_owned();
        }
        let text = format!("{:.*}", self.decimals, self.unit.from_si(value));
        match text.strip_prefix('-') {
            Some(size) if is_nothing(size) => size.to_owned(),
            _ => text,
        }
    }

    /// The number with its sign, `+` included; nothing has no sign.
    pub fn signed(&self, value: f64) -> String {
        let text = self.number(value);
        if is_nothing(&text) || text.starts_with('-') {
            text
        } else {
            format!("+{text}")
        }
    }

    /// The number and its unit.
    pub fn with_unit(&self, value: f64) -> String {
        format!("{}{TIE}{}", self.number(value), self.unit())
    }

    /// A limit: as many decimals as it was written with, and its unit.
    pub fn limit(&self, value: f64) -> String {
        let number = short_number(self.unit.from_si(value), DECIMALS_OF_A_LIMIT);
        format!("{number}{TIE}{}", self.unit())
    }
}

/// Whether a printed number is nothing.
pub(super) fn is_nothing(number: &str) -> bool {
    number
        .chars()
        .all(|character| matches!(character, '0' | '.'))
}

/// A place along the bed: its number alone, to 0.1 mm or 0.01 in.
pub fn place_number(at: f64, units: LengthUnit) -> String {
    let decimals = match units {
        LengthUnit::Millimetre => 1,
        LengthUnit::Inch => 2,
    };
    short_number(units.length().from_si(at), decimals)
}

/// A place along the bed with its unit.
pub fn place(at: f64, units: LengthUnit) -> String {
    format!("{}{TIE}{}", place_number(at, units), units.length().name())
}
