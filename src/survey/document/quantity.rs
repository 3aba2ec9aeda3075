//! Values that are numbers, with or without a unit.

use toml::de::DeValue;

use super::item::Item;
use crate::survey::keys::{Bounds, Kind};
use crate::survey::number::whole_number;
use crate::survey::units::{
    LENGTH, MASS, METRE, MICROMETRE, MILLIMETRE_PER_METRE, Quantity, SLOPE, Unit,
    parse_part_of_turn, short_number, show_length,
};

impl Item<'_> {
    /// A number with or without a unit, as the list of keys has it, within its bounds; in SI.
    pub(in crate::survey) fn number(&self) -> Option<f64> {
        let units = self.reader.units();
        let (value, bounds) = match *self.kind {
            Kind::Number(of, bounds) => (self.bare_number(&format!("a number of {of}"))?, bounds),
            Kind::Whole(bounds) => (self.whole(bounds)?, bounds),
            Kind::Length(bounds) => (self.quantity(&LENGTH, Some(units.length()))?, bounds),
            Kind::Slope(bounds) => (self.quantity(&SLOPE, None)?, bounds),
            Kind::Mass(bounds) => (self.quantity(&MASS, MASS.units.first().copied())?, bounds),
            Kind::PartOfTurn => return self.part_of_turn(),
            Kind::Place => return self.of_kind(&Kind::LENGTH).number(),
            Kind::Either(kind, _) => return self.of_kind(kind).number(),
            _ => {
                debug_assert!(false, "`{}` is no number", self.spec.name);
                return None;
            }
        };
        if bounds.contain(value) {
            return Some(value);
        }
        self.report_outside(value, bounds);
        None
    }

    fn report_outside(&self, value: f64, bounds: Bounds) {
        let (title, label, help) = self.outside(value, bounds);
        // A length that is too short is so in the same way under every key.
        let too_short =
            matches!(self.kind, Kind::Length(_)) && 0.0 < bounds.least && value < bounds.least;
        match &self.spec.outside {
            Some(own) if !too_short => self.report(
                own.title,
                if own.label.is_empty() {
                    &label
                } else {
                    own.label
                },
                if own.help.is_empty() { &help } else { own.help },
            ),
            _ => self.report(title, &label, help),
        }
    }

    /// What is wrong with a value out of its bounds, what to say beside it, and what would be right.
    fn outside(&self, value: f64, bounds: Bounds) -> (String, String, String) {
        let key = self.key;
        let example = format!("write it like `{key} = {}`", self.spec.example);
        if value <= 0.0 && bounds.least > 0.0 {
            let help = match self.kind {
                Kind::Length(_) => {
                    "write the length as measured, or leave the key out if it is not known"
                        .to_owned()
                }
                _ => example,
            };
            return (
                format!("`{key}` must be more than zero"),
                "not above zero".to_owned(),
                help,
            );
        }
        let show = |metres: f64| show_length(metres, self.reader.units());
        match self.kind {
            Kind::Length(_) => (
                if value.abs() > bounds.most {
                    let kilometres = METRE.from_si(bounds.most) / 1000.0;
                    format!("`{key}` is longer than {} km", short_number(kilometres, 3))
                } else {
                    let least = if bounds.least < MICROMETRE.to_si(1.0) {
                        format!("{} um", short_number(MICROMETRE.from_si(bounds.least), 3))
                    } else {
                        show(bounds.least)
                    };
                    format!("`{key}` is shorter than {least}")
                },
                format!("this is {}", show(value)),
                self.unit_reminder(),
            ),
            Kind::Slope(_) => (
                if value.abs() > bounds.most {
                    format!("`{key}` is steeper than any bed or level")
                } else {
                    format!("`{key}` is less than any level shows")
                },
                format!("this is {} mm/m", short_number(MILLIMETRE_PER_METRE.from_si(value), 3)),
                "levels are marked in hundredths of mm/m or ten-thousandths of in/ft: look at the unit".to_owned(),
            ),
            Kind::Mass(_) => (
                if value > bounds.most {
                    format!("`{key}` is heavier than any machine")
                } else {
                    format!("`{key}` is lighter than any machine")
                },
                format!("this is {value} kg"),
                example,
            ),
            _ => (
                format!("`{key}` is out of bounds"),
                String::new(),
                if bounds.contain(-value) {
                    format!("write `{key} = {}`", short_number(-value, 6))
                } else {
                    example
                },
            ),
        }
    }

    /// A finite number without a unit.
    fn bare_number(&self, wanted: &str) -> Option<f64> {
        let value = self.plain_number();
        if value.is_none() {
            self.report_kind(wanted);
        }
        self.finite(value?)
    }

    /// A whole number; what is none lies outside its bounds.
    fn whole(&self, bounds: Bounds) -> Option<f64> {
        if matches!(self.value, DeValue::Integer(_)) {
            return self.plain_number();
        }
        self.report_outside(f64::INFINITY, bounds);
        None
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

    fn unit_reminder(&self) -> String {
        let unit = self.reader.units().length().name();
        format!(
            "a bare number is in `{unit}`, the file's `units`; another unit is written like `\"2.9 {}\"`",
            METRE.name()
        )
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
            self.report_kind(&format!("{}: {form}", quantity.name));
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
    fn part_of_turn(&self) -> Option<f64> {
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
