//! Values that are words: texts, names, choices, yes and no, dates.

use toml::de::DeValue;
use toml::value::Datetime;

use super::Given;
use super::item::Item;
use crate::survey::diagnostic::{Diagnostic, either};
use crate::survey::keys::Word;
use crate::survey::nearest::nearest;
use crate::survey::seen;

/// A longer name of a foot or a level fits in no table, characters.
const LONGEST_NAME: usize = 40;

impl<'a> Item<'a> {
    /// A text.
    pub(in crate::survey) fn text(&self) -> Option<&'a str> {
        let DeValue::String(text) = self.value else {
            self.report_kind("a text in quotes");
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
    pub(in crate::survey) fn has_good_name(&self, kind: &str) -> bool {
        let is_good = !self.key.is_empty()
            && self.key == self.key.trim()
            && self.key.chars().count() <= LONGEST_NAME
            && self.key.chars().all(|c| seen(c) == c);
        if !is_good {
            self.reader.lose_names();
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
    pub(in crate::survey) fn flag(&self) -> Option<bool> {
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
    pub(in crate::survey) fn word<T: Word>(&self) -> Option<T> {
        let known = || T::WORDS.iter().map(|(word, _)| *word);
        let given = match self.value {
            DeValue::String(text) => &**text,
            _ => self.source_text(),
        };
        let quoted = matches!(self.value, DeValue::String(_));
        if quoted && let Some((_, value)) = T::WORDS.iter().find(|(word, _)| *word == given) {
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
    pub(in crate::survey) fn date(&self) -> Option<Given<Datetime>> {
        match self.value {
            DeValue::Datetime(date) if date.date.is_some() => Some(Given {
                value: *date,
                span: self.span.clone(),
            }),
            DeValue::Datetime(_) => {
                self.report(
                    format!("`{}` needs the day", self.key),
                    "a time without a day",
                    format!("write it like `{}`, or the day alone", self.spec.line()),
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
                self.report_kind("a date");
                None
            }
        }
    }
}
