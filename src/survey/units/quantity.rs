//! Kinds of quantities and how they are written: a number and its unit.

use std::ops::Range;

use super::{
    ARCSECOND, CENTIMETRE, FOOT, INCH, INCH_PER_FOOT, KILOGRAM, METRE, MICROMETRE,
    MICROMETRE_PER_METRE, MILLIMETRE, MILLIMETRE_PER_METRE, POUND, TONNE, Unit,
};
use crate::survey::diagnostic::{Diagnostic, either};
use crate::survey::nearest::nearest;
use crate::survey::number::{digits, leading_number};

/// A kind of quantity, with the units it may be written in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// What it is called, with its article.
    pub name: &'static str,
    /// How to write one.
    pub example: &'static str,
    /// The units it may be written in.
    pub units: &'static [Unit],
}

/// Lengths, in metres.
pub const LENGTH: Quantity = Quantity {
    name: "a length",
    example: "2.5 mm",
    units: &[MILLIMETRE, MICROMETRE, CENTIMETRE, METRE, INCH, FOOT],
};

/// Slopes, in metres over a metre.
pub const SLOPE: Quantity = Quantity {
    name: "a slope",
    example: "0.02 mm/m",
    units: &[
        MILLIMETRE_PER_METRE,
        MICROMETRE_PER_METRE,
        INCH_PER_FOOT,
        ARCSECOND,
    ],
};

/// Masses, in kilograms.
pub const MASS: Quantity = Quantity {
    name: "a mass",
    example: "3100 kg",
    units: &[KILOGRAM, TONNE, POUND],
};

impl Quantity {
    /// Reads a number with its unit, such as `2.5 mm` or `1/13 in`, and gives it in SI.
    ///
    /// A number without a unit is taken in `bare`, and is a mistake where `bare` is `None`. The span of the
    /// diagnostic is within `text`.
    ///
    /// ```
    /// use quarterturn::survey::units::{LENGTH, SLOPE, MILLIMETRE};
    ///
    /// assert_eq!(LENGTH.parse("0.0005 in", None), Ok(0.0000127));
    /// assert_eq!(LENGTH.parse("120", Some(MILLIMETRE)), Ok(0.12));
    /// assert_eq!(SLOPE.parse("0.02 mm/m", None), Ok(0.00002));
    /// assert!(SLOPE.parse("0.02", None).is_err());
    /// ```
    pub fn parse(&self, text: &str, bare: Option<Unit>) -> Result<f64, Diagnostic> {
        let all = || 0..text.len();
        let written = text.trim();
        let Some((number, rest)) = leading_number(text) else {
            return Err(
                Diagnostic::new(all(), format!("`{written}` is not {}", self.name))
                    .label("expected a number and its unit")
                    .help(format!("write it like `\"{}\"`", self.example)),
            );
        };
        let number_text = text[..text.len() - rest.len()].trim();
        if let Some(decimals) = rest.strip_prefix(',')
            && digits(decimals) > 0
        {
            return Err(Diagnostic::new(all(), "a decimal comma is not understood")
                .label("comma in a number")
                .help(format!("write `\"{}\"`", written.replacen(',', ".", 1))));
        }
        let name = rest
            .trim()
            .split('/')
            .map(str::trim)
            .collect::<Vec<_>>()
            .join("/");
        if name.is_empty() {
            let Some(unit) = bare else {
                let usual = self.units.first().copied().unwrap_or(METRE);
                return Err(self.without_unit(number_text, usual, all()));
            };
            return self.finite(unit.to_si(number), text);
        }
        let unit = self.units.iter().find(|unit| {
            unit.names
                .iter()
                .any(|known| known.eq_ignore_ascii_case(&name))
        });
        let Some(unit) = unit else {
            let start = text.len() - rest.trim_start().len();
            let end = text.trim_end().len();
            return Err(self.unknown_unit(number_text, rest.trim(), start..end));
        };
        self.finite(unit.to_si(number), text)
    }

    fn finite(&self, value: f64, text: &str) -> Result<f64, Diagnostic> {
        if value.is_finite() {
            // Adding zero turns -0 into 0.
            return Ok(value + 0.0);
        }
        Err(Diagnostic::new(
            0..text.len(),
            format!("`{}` is too large for {}", text.trim(), self.name),
        ))
    }

    /// What to say of a number that should carry its unit, most likely this one.
    pub(in crate::survey) fn without_unit(
        &self,
        number: &str,
        unit: Unit,
        span: Range<usize>,
    ) -> Diagnostic {
        Diagnostic::new(span, format!("{} carries its unit", self.name))
            .label("a number without a unit")
            .help(format!(
                "write `\"{number} {}\"`, or with another of {}",
                unit.name(),
                self.known()
            ))
    }

    fn unknown_unit(&self, number: &str, name: &str, span: Range<usize>) -> Diagnostic {
        let diagnostic = Diagnostic::new(
            span,
            format!(
                "`{name}` is not a unit of {}",
                self.name.trim_start_matches("a ")
            ),
        )
        .label("unknown unit");
        let meant = match name {
            "\"" | "″" | "inch" | "inches" => Some("in"),
            "'" | "′" | "foot" | "feet" => Some("ft"),
            "mm per m" | "mm per metre" => Some("mm/m"),
            _ => nearest(name, self.units.iter().map(|unit| unit.name())),
        }
        .filter(|meant| self.units.iter().any(|unit| unit.name() == *meant));
        match meant {
            Some(meant) => diagnostic.help(format!("write `\"{number} {meant}\"`")),
            None => diagnostic.help(format!("write one of {}", self.known())),
        }
    }

    fn known(&self) -> String {
        either(self.units.iter().map(|unit| unit.name()))
    }
}
