//! Single values: numbers, lengths, slopes, masses, texts, dates, choices.

use toml::de::DeValue;
use toml::value::Datetime;

use super::diagnostic::{Diagnostic, either};
use super::document::{Given, Item};
use super::nearest::nearest;
use super::units::{
    LENGTH, MASS, METRE, MILLIMETRE_PER_METRE, Quantity, SLOPE, Unit, parse_part_of_turn,
    show_length,
};

/// Nothing about a bed is longer, m.
const LONGEST: f64 = 1000.0;

/// No bed, way spacing or level is shorter, m.
const SHORTEST: f64 = 0.01;

/// No bed that wants levelling is steeper, m/m.
const STEEPEST: f64 = 0.1;

/// A longer name of a foot or a level fits in no table, characters.
const LONGEST_NAME: usize = 40;

/// No machine is heavier, kg.
const HEAVIEST: f64 = 1e7;

impl<'a> Item<'a> {
    /// A finite number.
    pub(super) fn number(&self, wanted: &str, example: &str) -> Option<f64> {
        let value = self.plain_number();
        if value.is_none() {
            self.report_kind(wanted, example);
        }
        self.finite(value?)
    }

    /// A number above zero.
    pub(super) fn positive_number(&self, wanted: &str, example: &str) -> Option<f64> {
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
    pub(super) fn plain_number(&self) -> Option<f64> {
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
    pub(super) fn length(&self) -> Option<f64> {
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
    pub(super) fn size(&self) -> Option<f64> {
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
    pub(super) fn extent(&self) -> Option<f64> {
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
    pub(super) fn slope(&self) -> Option<f64> {
        let value = self.quantity(&SLOPE, None)?;
        if value.abs() > STEEPEST {
            self.report(
                format!("`{}` is steeper than any bed or level", self.key),
                &format!(
                    "this is {} mm/m",
                    super::units::short_number(MILLIMETRE_PER_METRE.from_si(value), 3)
                ),
                "levels are marked in hundredths of mm/m or ten-thousandths of in/ft: look at the unit",
            );
            return None;
        }
        Some(value)
    }

    /// A slope above zero, m/m.
    pub(super) fn positive_slope(&self) -> Option<f64> {
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
    pub(super) fn mass(&self) -> Option<f64> {
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

    fn quantity(&self, quantity: &Quantity, bare: Option<Unit>) -> Option<f64> {
        if let Some(number) = self.plain_number() {
            let number = self.finite(number)?;
            return if let Some(unit) = bare {
                Some(unit.to_si(number))
            } else {
                let span = self.span.clone();
                self.reader
                    .report(quantity.without_unit(self.source_text(), span));
                None
            };
        }
        let DeValue::String(text) = self.value else {
            let example = format!("{} = \"{}\"", self.key, quantity.example);
            match bare {
                Some(unit) => self.report_kind(
                    &format!(
                        "{}: a number in `{}`, or a text with its unit",
                        quantity.name,
                        unit.name()
                    ),
                    &example,
                ),
                None => self.report_kind(
                    &format!("{}: a text with its unit", quantity.name),
                    &example,
                ),
            }
            return None;
        };
        match quantity.parse(text, None) {
            Ok(value) => Some(value),
            Err(diagnostic) => {
                self.report_inside(text, diagnostic);
                None
            }
        }
    }

    /// A part of a turn such as `"1/4"`, in turns, above zero and at most one.
    pub(super) fn part_of_turn(&self) -> Option<f64> {
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

    /// A text; `example` is a line that would be right.
    pub(super) fn text(&self, example: &str) -> Option<&'a str> {
        let DeValue::String(text) = self.value else {
            self.report_kind("a text in quotes", example);
            return None;
        };
        let is_control = |c: char| c.is_control() && !matches!(c, '\n' | '\t');
        if text.contains(is_control) {
            self.report(
                format!("`{}` has a character that cannot be printed", self.key),
                "a control character",
                "write letters, digits and signs only",
            );
            return None;
        }
        Some(text)
    }

    /// Whether the key is a name that can be printed in a list; reports it if not.
    pub(super) fn has_good_name(&self, kind: &str) -> bool {
        let is_good = !self.key.is_empty()
            && self.key == self.key.trim()
            && self.key.chars().count() <= LONGEST_NAME
            && !self.key.contains(char::is_control);
        if !is_good {
            self.reader.report(
                Diagnostic::new(
                    self.key_span.clone(),
                    format!("`{}` is no name for a {kind}", self.key),
                )
                .label("not a name")
                .help(format!(
                    "a name has 1 to {LONGEST_NAME} letters, digits or signs, and no space at its ends"
                )),
            );
        }
        is_good
    }

    /// Yes or no.
    pub(super) fn flag(&self) -> Option<bool> {
        if let DeValue::Boolean(flag) = self.value {
            return Some(*flag);
        }
        self.report(
            format!("`{}` is `true` or `false`", self.key),
            "neither",
            format!("write `{} = true` or `{} = false`", self.key, self.key),
        );
        None
    }

    /// One of a few words.
    pub(super) fn choice<T: Copy>(&self, words: &[(&'static str, T)]) -> Option<T> {
        let known = || words.iter().map(|(word, _)| *word);
        let given = match self.value {
            DeValue::String(text) => &**text,
            _ => self.source_text(),
        };
        let quoted = matches!(self.value, DeValue::String(_));
        if quoted && let Some((_, value)) = words.iter().find(|(word, _)| *word == given) {
            return Some(*value);
        }
        let help = match nearest(given, known()) {
            Some(meant) => format!("write `{} = \"{meant}\"`", self.key),
            None => format!(
                "write {}",
                either(
                    known()
                        .map(|word| format!("{} = \"{word}\"", self.key))
                        .collect::<Vec<_>>()
                        .iter()
                        .map(String::as_str)
                )
            ),
        };
        self.report(
            format!("`{}` is {}", self.key, either(known())),
            "none of these",
            help,
        );
        None
    }

    /// A day, or a day and a time.
    pub(super) fn date(&self) -> Option<Given<Datetime>> {
        let example = format!("{} = 2026-03-02T09:40:00", self.key);
        match self.value {
            DeValue::Datetime(date) if date.date.is_some() => Some(Given {
                value: *date,
                span: self.span.clone(),
            }),
            DeValue::Datetime(_) => {
                self.report(
                    format!("`{}` needs the day", self.key),
                    "a time without a day",
                    format!("write it like `{example}`, or the day alone"),
                );
                None
            }
            DeValue::String(text) if text.parse::<Datetime>().is_ok() => {
                self.report(
                    format!("`{}` is a date, written without quotes", self.key),
                    "a text in quotes",
                    format!("write `{} = {text}`", self.key),
                );
                None
            }
            _ => {
                self.report_kind("a date", &example);
                None
            }
        }
    }
}
