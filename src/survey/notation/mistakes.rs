//! What to say of a reading that was typed in another way.

use std::ops::Range;

use super::USUAL_RANGE;
use super::scanner::Scanner;
use crate::survey::diagnostic::{Diagnostic, either};
use crate::survey::model::Line;
use crate::survey::units::short_number;

impl Scanner<'_> {
    pub(super) fn mixed(&self) -> Diagnostic {
        Diagnostic::new(
            self.all(),
            "`>` stands for one reading and cannot be averaged with others",
        )
        .label("`>` among repeats")
        .help(format!(
            "a bubble off the scale gives a bound, not a number: write `{}` alone, or only the readings that \
             were on the scale",
            self.beyond(self.spoken(0))
        ))
    }

    pub(super) fn nothing_beyond(&self) -> Diagnostic {
        Diagnostic::new(
            self.all(),
            "`>` needs the last graduation on the scale and the letter of the high ".to_owned()
                + self.line.place(),
        )
        .label("how far at least?")
        .help(format!(
            "write {}; `-` if no reading was taken",
            either([&*self.beyond(self.spoken(0)), &self.beyond(self.spoken(1))])
        ))
    }

    /// `>10F`, with the level's own range.
    pub(super) fn beyond(&self, letter: char) -> String {
        let range = self.range.unwrap_or(USUAL_RANGE);
        format!(">{}{letter}", short_number(range, 6))
    }

    pub(super) fn spoken(&self, index: usize) -> char {
        self.line.spoken()[index.min(1)]
    }

    pub(super) fn all(&self) -> Range<usize> {
        let start = self.text.len() - self.text.trim_start().len();
        start..self.text.trim_end().len()
    }

    pub(super) fn signed(
        &self,
        number: &str,
        sign: &str,
        letter: Option<char>,
        span: Range<usize>,
    ) -> Diagnostic {
        let [one, other] = self.line.spoken();
        let help = match letter {
            Some(letter) if sign == "+" => format!("write `{number}{letter}`"),
            _ => format!(
                "write `{number}{one}` or `{number}{other}`, whichever {} is high",
                self.line.place()
            ),
        };
        Diagnostic::new(span, "a reading has no sign")
            .label(format!(
                "the letter alone says which {} is high",
                self.line.place()
            ))
            .help(help)
    }

    pub(super) fn no_letter(&self, number: &str, span: Range<usize>) -> Diagnostic {
        let number = format!("{}{number}", self.beyond_sign);
        which_is_high(self.line, &number, span)
    }

    pub(super) fn wrong_letter(&self, number: &str, word: &str, span: Range<usize>) -> Diagnostic {
        let [one, other] = self.line.spoken();
        let full = |word: &str| {
            self.line.spoken().into_iter().find(|letter| {
                Line::meaning(*letter)
                    .split(' ')
                    .any(|name| name.eq_ignore_ascii_case(word))
            })
        };
        let lower = word.to_lowercase();
        let (title, label, help) = if matches!(&*lower, "f" | "r" | "h" | "t") {
            let (title, which) = match self.line {
                Line::Cross => ("a cross reading takes `F` or `R`", "side"),
                Line::Front | Line::Rear => ("an along reading takes `H` or `T`", "end"),
            };
            let label = match self.line {
                Line::Cross => format!("`{word}` is for readings along a way"),
                Line::Front | Line::Rear => format!("`{word}` is for readings across the ways"),
            };
            (
                title.to_owned(),
                label,
                format!("write `{number}{one}` or `{number}{other}`, whichever {which} is high"),
            )
        } else if matches!(
            &*lower,
            "mm" | "um"
                | "µm"
                | "μm"
                | "in"
                | "m"
                | "arcsec"
                | "div"
                | "divs"
                | "division"
                | "divisions"
        ) {
            (
                "a reading is counted in divisions of the level, without a unit".to_owned(),
                format!("unexpected `{word}`"),
                format!(
                    "write `{number}{one}` or `{number}{other}` for {number} {}",
                    if number == "1" {
                        "division"
                    } else {
                        "divisions"
                    }
                ),
            )
        } else if let Some(letter) = full(word) {
            (
                format!("one letter is enough for the high {}", self.line.place()),
                format!("unexpected `{word}`"),
                format!("write `{number}{letter}`"),
            )
        } else {
            (
                format!("`{word}` names no {} of the bed", self.line.place()),
                "unknown letter".to_owned(),
                self.how_to_write(),
            )
        };
        Diagnostic::new(span, title).label(label).help(help)
    }

    /// What stands at `start` does not begin like a reading.
    pub(super) fn no_number(&self, start: usize) -> Diagnostic {
        let span = self.word_from(start);
        let word = &self.text[span.clone()];
        let mut letters = word.chars();
        if let Some(first) = letters.next()
            && let Some(letter) = self.letter(&first.to_string())
            && !letters.as_str().is_empty()
            && letters.as_str().parse::<f64>().is_ok()
        {
            return Diagnostic::new(span.clone(), "the letter comes after the number")
                .label("letter first")
                .help(format!("write `{}{letter}`", letters.as_str()));
        }
        self.not_a_reading(span)
    }

    pub(super) fn not_a_reading(&self, span: Range<usize>) -> Diagnostic {
        let word = &self.text[span.clone()];
        if word
            .chars()
            .all(|c| matches!(c, '-' | '–' | '—' | '−' | '?' | 'x' | '/'))
        {
            return Diagnostic::new(span.clone(), format!("`{word}` is not a reading"))
                .label("no reading taken?")
                .help("write `-` where no reading was taken");
        }
        Diagnostic::new(span.clone(), format!("`{word}` is not a reading"))
            .label(format!("expected {}", self.line.kind()))
            .help(self.how_to_write())
    }

    pub(super) fn how_to_write(&self) -> String {
        let [one, other] = self.line.spoken();
        format!(
            "write the divisions and the letter of the high {}: `1.5{one}` or `0.25{other}`; `0` for level, \
             `{}` off the scale, `-` not taken",
            self.line.place(),
            self.beyond(one)
        )
    }
}

/// A number of divisions without the letter of the high side.
pub(in crate::survey) fn which_is_high(line: Line, number: &str, span: Range<usize>) -> Diagnostic {
    let [one, other] = line.spoken();
    Diagnostic::new(span, format!("which {} is high?", line.place()))
        .label("a number without its letter")
        .help(format!(
            "write `{number}{one}` if {} is high, `{number}{other}` if {} is",
            Line::meaning(one),
            Line::meaning(other)
        ))
}

pub(super) fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit())
}

pub(super) fn fraction(text: &str) -> Option<f64> {
    let (over, under) = text.split_once('/')?;
    if !is_digits(over) || !is_digits(under) {
        return None;
    }
    let value = over.parse::<f64>().ok()? / under.parse::<f64>().ok()?;
    value.is_finite().then_some(value)
}

/// `1.5` or `1,5`.
pub(super) fn decimal(text: &str) -> Option<f64> {
    if text.contains('/') {
        return None;
    }
    let point = match text.split_once(',') {
        Some((whole, decimals)) if is_digits(whole) && is_digits(decimals) => {
            text.replace(',', ".")
        }
        _ => text.to_owned(),
    };
    point.parse().ok()
}
