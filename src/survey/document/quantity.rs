//! Values that are numbers, with or without a unit.

use toml::de::DeValue;

use super::item::Item;
use crate::survey::number::whole_number;
use crate::survey::units::{
    LENGTH, MASS, METRE, MILLIMETRE_PER_METRE, Quantity, SLOPE, Unit, parse_part_of_turn,
    short_number, show_length,
};

/// Nothing about a bed is longer, m.
const LONGEST: f64 = 1000.0;

/// No bed, way spacing or level is shorter, m.
const SHORTEST: f64 = 0.01;

/// No bed that wants levelling is steeper, m/m.
const STEEPEST: f64 = 0.1;

/// No machine is heavier, kg.
const HEAVIEST: f64 = 1e7;

impl Item<'_> {
    /// A finite number.
    pub(in crate::survey) fn number(&self, wanted: &str, example: &str) -> Option<f64> {
        let value = self.plain_number();
        if value.is_none() {
            self.report_kind(wanted, example);
        }
        self.finite(value?)
    }

    /// A number above zero.
    pub(in crate::survey) fn positive_number(&self, wanted: &str, example: &str) -> Option<f64> {
        let value = self.number(wanted, example)?;
        if value <= 0.0 {
            self.report(
                format!("`{}` must be more than zero", self.key),
                "not above zero",
                format!("write it like `{example}`"),
            );
            return None;
        }
        Some(value)
    }

    /// The value of a TOML number, whether finite or not.
    pub(in crate::survey) fn plain_number(&self) -> Option<f64> {
        match self.value {
            DeValue::Integer(digits) => {
                let value = i128::from_str_radix(digits.as_str(), digits.radix());
                // Only an integer too long for 128 bits fails here, and it is refused as not finite.
                #[expect(clippy::cast_precision_loss, reason = "a length needs no 53 bits")]
                Some(value.map_or(f64::INFINITY, |value| value as f64))
            }
            DeValue::Float(digits) => digits.as_str().parse().ok(),
            _ => None,
        }
    }

    fn finite(&self, value: f64) -> Option<f64> {
        if value.is_finite() {
            // Adding zero turns -0 into 0.
            return Some(value + 0.0);
        }
        self.report(
            format!("`{}` must be a finite number", self.key),
            "not finite",
            "write the number that was measured, or leave the key out if it is not known",
        );
        None
    }

    /// A length of either sign, m.
    pub(in crate::survey) fn length(&self) -> Option<f64> {
        let value = self.quantity(&LENGTH, Some(self.reader.units().length()))?;
        if value.abs() > LONGEST {
            self.report(
                format!("`{}` is longer than 1 km", self.key),
                &self.in_file_units(value),
                self.unit_reminder(),
            );
            return None;
        }
        Some(value)
    }

    /// A length above zero, m.
    pub(in crate::survey) fn size(&self) -> Option<f64> {
        let value = self.length()?;
        if value <= 0.0 {
            self.report(
                format!("`{}` must be more than zero", self.key),
                "not above zero",
                "write the length as measured, or leave the key out if it is not known",
            );
            return None;
        }
        Some(value)
    }

    /// A length of something as large as a level or a bed, m.
    pub(in crate::survey) fn extent(&self) -> Option<f64> {
        let value = self.size()?;
        if value < SHORTEST {
            self.report(
                format!("`{}` is shorter than 10 mm", self.key),
                &self.in_file_units(value),
                self.unit_reminder(),
            );
            return None;
        }
        Some(value)
    }

    /// What a length comes to in the unit of the file.
    fn in_file_units(&self, metres: f64) -> String {
        format!("this is {}", show_length(metres, self.reader.units()))
    }

    fn unit_reminder(&self) -> String {
        let unit = self.reader.units().length().name();
        format!(
            "a bare number is in `{unit}`, the file's `units`; another unit is written like `\"2.9 {}\"`",
            METRE.name()
        )
    }

    /// A slope of either sign, m/m.
    pub(in crate::survey) fn slope(&self) -> Option<f64> {
        let value = self.quantity(&SLOPE, None)?;
        if value.abs() > STEEPEST {
            self.report(
                format!("`{}` is steeper than any bed or level", self.key),
                &format!(
                    "this is {} mm/m",
                    short_number(MILLIMETRE_PER_METRE.from_si(value), 3)
                ),
                "levels are marked in hundredths of mm/m or ten-thousandths of in/ft: look at the unit",
            );
            return None;
        }
        Some(value)
    }

    /// A slope above zero, m/m.
    pub(in crate::survey) fn positive_slope(&self) -> Option<f64> {
        let value = self.slope()?;
        if value <= 0.0 {
            self.report(
                format!("`{}` must be more than zero", self.key),
                "not above zero",
                format!("write it like `{} = \"{}\"`", self.key, SLOPE.example),
            );
            return None;
        }
        Some(value)
    }

    /// A mass above zero, kg; a bare number is in kg.
    pub(in crate::survey) fn mass(&self) -> Option<f64> {
        let value = self.quantity(&MASS, MASS.units.first().copied())?;
        if value <= 0.0 || value > HEAVIEST {
            let (title, label) = if value > 0.0 {
                ("is heavier than any machine", "more than 10 000 tonnes")
            } else {
                ("must be more than zero", "not above zero")
            };
            self.report(
                format!("`{}` {title}", self.key),
                label,
                format!("write it like `{} = \"{}\"`", self.key, MASS.example),
            );
            return None;
        }
        Some(value)
    }

    /// A number with its unit; without one it is in `bare`, or a mistake where that is `None`.
    fn quantity(&self, quantity: &Quantity, bare: Option<Unit>) -> Option<f64> {
        if let Some(number) = self.plain_number() {
            let number = self.finite(number)?;
            let Some(unit) = bare else {
                self.reader.report(quantity.without_unit(
                    self.source_text(),
                    self.likely_unit(quantity),
                    self.span.clone(),
                ));
                return None;
            };
            return Some(unit.to_si(number));
        }
        let DeValue::String(text) = self.value else {
            let form = match bare {
                Some(unit) => format!("a number in `{}`, or a text with its unit", unit.name()),
                None => "a text with its unit".to_owned(),
            };
            self.report_kind(
                &format!("{}: {form}", quantity.name),
                &format!("{} = \"{}\"", self.key, quantity.example),
            );
            return None;
        };
        let read = if whole_number(text).is_none() {
            quantity.parse(text, None)
        } else {
            let number = text.trim();
            let unit = self.likely_unit(quantity);
            let diagnostic = quantity.without_unit(number, unit, 0..text.len());
            Err(match bare {
                None => diagnostic,
                Some(bare) => diagnostic.help(format!(
                    "write `{number}` without quotes for `{}`, or `\"{number} {}\"`",
                    bare.name(),
                    unit.name()
                )),
            })
        };
        read.map_err(|diagnostic| self.report_inside(text, diagnostic))
            .ok()
    }

    /// The unit that was most likely meant where one is missing: the one of the file.
    fn likely_unit(&self, quantity: &Quantity) -> Unit {
        let units = self.reader.units();
        [units.length(), units.slope()]
            .into_iter()
            .find(|unit| quantity.units.contains(unit))
            .or(quantity.units.first().copied())
            .unwrap_or(METRE)
    }

    /// A part of a turn such as `"1/4"`, in turns, above zero and at most one.
    pub(in crate::survey) fn part_of_turn(&self) -> Option<f64> {
        let text = match self.value {
            DeValue::String(text) => text,
            _ => self.source_text(),
        };
        match parse_part_of_turn(text) {
            Ok(turns) => Some(turns),
            Err(diagnostic) => {
                self.report_inside(text, diagnostic);
                None
            }
        }
    }
}
