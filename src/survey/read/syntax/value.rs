//! Values that are neither numbers nor in quotes, or numbers written in another way.

use std::ops::Range;

use super::explain::Here;
use super::{Kind, Slip};
use crate::survey::diagnostic::Diagnostic;
use crate::survey::model::Line;
use crate::survey::notation::parse_reading;
use crate::survey::number::{digits, whole_number};

/// How to write a day, or a day and a time.
pub(super) const DATE: &str = "write it like `2026-03-02` or `2026-03-02T09:40:00`";

impl<'a> Here<'a> {
    /// A value that is neither a number nor in quotes.
    pub(super) fn unquoted(&self) -> Slip {
        let line = self.line();
        if self.text.is_empty() {
            let key = self.body[line.start..self.span.start]
                .trim()
                .trim_end_matches('=')
                .trim();
            return self.slip(
                Kind::Other,
                Diagnostic::new(self.span.clone(), format!("`{key}` has no value"))
                    .label("expected a value")
                    .help("write the value behind `=`, or leave the line out"),
            );
        }
        if let Some((value, remark)) = self.text.split_once("//") {
            let start = self.span.start + value.len();
            return self.slip(
                Kind::Other,
                Diagnostic::new(start..self.span.end, "a remark starts with `#`")
                    .label("unexpected `//`")
                    .help(format!("write `# {}`", remark.trim())),
            );
        }
        if let Some(slip) = self.reading(self.span.clone(), self.text) {
            return slip;
        }
        if is_date(self.text) {
            return self.odd_date(self.span.clone(), self.text);
        }
        let plain = self
            .text
            .trim_matches(|c| matches!(c, '“' | '”' | '„' | '‟' | '«' | '»' | '‘' | '’' | '"'));
        let title = if plain.len() == self.text.len() {
            "a text stands in quotes"
        } else {
            "quotes are straight"
        };
        let help = match &*plain.to_lowercase() {
            "yes" | "true" => "write `true`".to_owned(),
            "no" | "false" => "write `false`".to_owned(),
            _ => format!("write `\"{plain}\"`"),
        };
        self.slip(
            Kind::Other,
            Diagnostic::new(self.span.clone(), title)
                .label("not a number, and not in quotes")
                .help(help),
        )
    }

    /// Something that begins like a number or like `true` and does not end like it.
    pub(super) fn odd_number(&self) -> Option<Slip> {
        let (span, word) = self.word();
        if word.is_empty() {
            return None;
        }
        if is_date(word) {
            return Some(self.odd_date(span, word));
        }
        if let Some(slip) = self.reading(span.clone(), word) {
            return Some(slip);
        }
        let meant = match (&*word.to_lowercase(), whole_number(word)) {
            ("true", _) => "true".to_owned(),
            ("false", _) => "false".to_owned(),
            (_, Some(number)) => format!("{number}"),
            _ => return None,
        };
        Some(
            self.slip(
                Kind::Other,
                Diagnostic::new(span, format!("`{word}` is not understood"))
                    .label("written in an unknown way")
                    .help(format!("write `{meant}`")),
            ),
        )
    }

    /// `02.03.2026`
    fn odd_date(&self, span: Range<usize>, word: &str) -> Slip {
        self.slip(
            Kind::Other,
            Diagnostic::new(span, format!("`{word}` is not understood as a date"))
                .label("expected year, month, day")
                .help(DATE),
        )
    }

    /// Readings without quotes.
    fn reading(&self, span: Range<usize>, word: &str) -> Option<Slip> {
        let written = if word.split_whitespace().all(is_reading) {
            word.split_whitespace()
                .map(|reading| format!("\"{reading}\""))
                .collect::<Vec<_>>()
                .join(", ")
        } else if is_reading(word) {
            format!("\"{word}\"")
        } else {
            return None;
        };
        Some(
            self.slip(
                Kind::Reading,
                Diagnostic::new(span, "a reading stands in quotes")
                    .label("without quotes")
                    .help(format!("write `{written}`")),
            ),
        )
    }

    /// The text around the place, up to spaces, commas, brackets and quotes.
    fn word(&self) -> (Range<usize>, &'a str) {
        let ends = |c: char| c.is_whitespace() || ",[]{}=\"'#".contains(c);
        let before = &self.body[..self.span.start];
        let start = before.trim_end_matches(|c| !ends(c)).len();
        let after = &self.body[self.span.start..];
        let end = self.span.start + after.find(ends).unwrap_or(after.len());
        (start..end, &self.body[start..end])
    }
}

/// Three numbers with points, dashes or strokes between them.
fn is_date(word: &str) -> bool {
    let mut parts = word.split(['.', '-', '/']);
    let is_short = |part: Option<&str>| {
        part.is_some_and(|part| matches!(part.len(), 1..=4) && digits(part) == part.len())
    };
    is_short(parts.next())
        && is_short(parts.next())
        && is_short(parts.next())
        && parts.next().is_none()
}

fn is_reading(word: &str) -> bool {
    let has_letter_and_number = word.contains(|c: char| c.is_ascii_digit())
        && word.ends_with(|c: char| c.is_ascii_alphabetic());
    word == "-"
        || has_letter_and_number
            && [Line::Cross, Line::Front]
                .into_iter()
                .any(|line| parse_reading(word, line, None).is_ok())
}
