//! Takes apart what was typed for one place.

use std::ops::Range;

use super::MOST_DIVISIONS;
use super::mistakes::{decimal, fraction, is_digits};
use crate::survey::diagnostic::{Diagnostic, count_of};
use crate::survey::model::Line;

/// Walks through what was typed, one reading after the other.
pub(super) struct Scanner<'a> {
    pub(super) text: &'a str,
    /// How far it was read, bytes.
    pub(super) at: usize,
    pub(super) line: Line,
    pub(super) range: Option<f64>,
    /// What to put before a number in what would be right: `>` for a bubble off the scale.
    pub(super) beyond_sign: &'static str,
}

impl<'a> Scanner<'a> {
    pub(super) fn new(text: &'a str, line: Line, range: Option<f64>) -> Self {
        Self {
            text,
            at: 0,
            line,
            range,
            beyond_sign: "",
        }
    }

    pub(super) fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    pub(super) fn skip_spaces(&mut self) {
        self.at = self.text.len() - self.rest().trim_start().len();
    }

    /// Takes the letters, digits or signs that `wanted` accepts.
    fn take(&mut self, wanted: impl Fn(char) -> bool) -> &'a str {
        let rest = self.rest();
        let taken = &rest[..rest.len() - rest.trim_start_matches(wanted).len()];
        self.at += taken.len();
        taken
    }

    /// From `start` to the next space.
    pub(super) fn word_from(&self, start: usize) -> Range<usize> {
        let length = self.text[start..]
            .find(char::is_whitespace)
            .unwrap_or(self.text.len() - start);
        start..start + length
    }

    /// `>10F` and nothing else.
    pub(super) fn off_scale(&mut self) -> Result<f64, Diagnostic> {
        if !self.rest().starts_with('>') {
            return Err(self.mixed());
        }
        self.at += 1;
        self.skip_spaces();
        if self
            .rest()
            .trim_start_matches(char::is_alphabetic)
            .is_empty()
        {
            return Err(self.nothing_beyond());
        }
        self.beyond_sign = ">";
        let (value, _) = self.reading()?;
        self.skip_spaces();
        if self.at < self.text.len() {
            return Err(self.mixed());
        }
        if value == 0.0 {
            return Err(self.nothing_beyond());
        }
        Ok(value)
    }

    /// One number and its letter.
    pub(super) fn reading(&mut self) -> Result<(f64, Range<usize>), Diagnostic> {
        let start = self.at;
        let sign = self.take(|c| matches!(c, '+' | '-' | '−' | '–'));
        let number = self.number();
        if !number.contains(|c: char| c.is_ascii_digit()) {
            return Err(self.no_number(start));
        }
        let after_number = self.at;
        self.skip_spaces();
        let letter_start = self.at;
        let word = self.take(char::is_alphabetic);
        let letter = self.letter(word);
        if !sign.is_empty() {
            return Err(self.signed(number, sign, letter, start..self.at));
        }
        let size = self.size(number, start..after_number)?;
        let Some(letter) = letter else {
            if !word.is_empty() {
                return Err(self.wrong_letter(number, word, letter_start..self.at));
            }
            self.at = after_number;
            self.end_of_reading(start)?;
            if size == 0.0 {
                return Ok((0.0, start..after_number));
            }
            return Err(self.no_letter(number, start..after_number));
        };
        self.end_of_reading(start)?;
        let [positive, _] = self.line.letters();
        let value = if letter == positive { size } else { -size };
        // Adding zero turns -0 into 0.
        Ok((value + 0.0, start..self.at))
    }

    /// The letter of this line that a word is.
    pub(super) fn letter(&self, word: &str) -> Option<char> {
        self.line
            .letters()
            .into_iter()
            .find(|letter| word.len() == 1 && word.eq_ignore_ascii_case(&letter.to_string()))
    }

    /// `1.5`, `1,5`, `1/2`, or `1 1/2`; after nought a fraction is a repeat of its own.
    fn number(&mut self) -> &'a str {
        let start = self.at;
        let part = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '/');
        let number = self.take(part);
        if is_digits(number) && number.bytes().any(|digit| digit != b'0') {
            let end = self.at;
            self.skip_spaces();
            if self.at == end || fraction(self.take(part)).is_none() {
                self.at = end;
            }
        }
        &self.text[start..self.at]
    }

    /// The number of divisions, or what is wrong with how it is written.
    fn size(&self, number: &str, span: Range<usize>) -> Result<f64, Diagnostic> {
        let value = match number.split_once(char::is_whitespace) {
            Some((whole, part)) => whole.parse().ok().zip(fraction(part.trim())),
            None => fraction(number)
                .or_else(|| decimal(number))
                .map(|value| (value, 0.0)),
        };
        match value {
            Some((whole, part)) => self.check_size(whole + part, span).map(|()| whole + part),
            None => Err(Diagnostic::new(span, format!("`{number}` is not a number"))
                .label("expected divisions of the level")
                .help(self.how_to_write())),
        }
    }

    fn check_size(&self, size: f64, span: Range<usize>) -> Result<(), Diagnostic> {
        if size <= MOST_DIVISIONS {
            return Ok(());
        }
        Err(Diagnostic::new(span, "no level shows so many divisions")
            .label(format!("more than {MOST_DIVISIONS} divisions"))
            .help(format!(
                "{} counts graduations of the level; write `{}` if the bubble left the scale",
                self.line.kind(),
                self.beyond(self.spoken(0))
            )))
    }

    pub(super) fn check_range(&self, value: f64, span: Range<usize>) -> Result<(), Diagnostic> {
        let Some(range) = self.range.filter(|range| value.abs() > *range) else {
            return Ok(());
        };
        let [positive, negative] = self.line.letters();
        let letter = if value > 0.0 { positive } else { negative };
        Err(
            Diagnostic::new(span, "the reading lies beyond the level's scale")
                .label(format!(
                    "the level shows {} to either side",
                    count_of(range, "division", "divisions")
                ))
                .help(format!(
                    "write `{}` if the bubble left the scale",
                    self.beyond(letter)
                )),
        )
    }

    /// Nothing but a space or the end may follow a reading.
    fn end_of_reading(&self, start: usize) -> Result<(), Diagnostic> {
        let Some(next) = self.rest().chars().next().filter(|c| !c.is_whitespace()) else {
            return Ok(());
        };
        let done = &self.text[start..self.at];
        let span = start..self.word_from(self.at).end;
        if matches!(next, ',' | ';') {
            return Err(
                Diagnostic::new(self.at..self.at + 1, "repeats are separated by a space")
                    .label(format!("unexpected `{next}`"))
                    .help(format!(
                        "write `{}`",
                        self.text
                            .split([',', ';', ' '])
                            .filter(|word| !word.is_empty())
                            .collect::<Vec<_>>()
                            .join(" ")
                    )),
            );
        }
        if next.is_ascii_digit() {
            return Err(
                Diagnostic::new(span, "two readings run together").help(format!(
                    "write them with a space between: `{done} {}`",
                    &self.text[self.at..self.word_from(self.at).end]
                )),
            );
        }
        Err(self.not_a_reading(span))
    }
}
