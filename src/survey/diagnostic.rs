//! What is wrong in a survey, where, and what would be right; how it is printed is another file's matter.

use std::ops::Range;

use super::text::seen;
use super::units::short_number;

/// One mistake that the person can mend.
///
/// The texts follow one style: lower case, the fact first, names and things to type in `backticks`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// Where it stands, as byte positions in the text that was read.
    pub span: Range<usize>,
    /// What is wrong.
    pub title: String,
    /// What to say right at the place; may be empty.
    pub label: String,
    /// What would be right.
    pub help: Option<String>,
}

/// A longer word in a message tells nobody more, characters.
const LONGEST_WORD: usize = 60;

/// A longer message is not read to its end, characters.
const LONGEST_TEXT: usize = 400;

impl Diagnostic {
    /// A mistake at this place, without a label or help yet.
    pub fn new(span: Range<usize>, title: impl AsRef<str>) -> Self {
        Self {
            span,
            title: printable(title.as_ref()),
            label: String::new(),
            help: None,
        }
    }

    /// The same with something to say right at the place.
    #[must_use]
    pub fn label(mut self, label: impl AsRef<str>) -> Self {
        self.label = printable(label.as_ref());
        self
    }

    /// The same with what would be right.
    #[must_use]
    pub fn help(mut self, help: impl AsRef<str>) -> Self {
        self.help = Some(printable(help.as_ref()));
        self
    }

    /// The same, for a text that starts `offset` bytes into a longer one.
    #[must_use]
    pub fn shifted(mut self, offset: usize) -> Self {
        self.span = self.span.start + offset..self.span.end + offset;
        self
    }
}

/// A message that fits a terminal, whatever the file it quotes contains: no control characters, nothing endless.
fn printable(text: &str) -> String {
    let mut printable = String::new();
    let mut length = 0;
    let mut word_length = 0;
    for c in text.chars() {
        if length >= LONGEST_TEXT {
            printable.push_str("...");
            break;
        }
        word_length = if c == ' ' { 0 } else { word_length + 1 };
        if word_length <= LONGEST_WORD {
            printable.push(seen(c));
            length += 1;
        } else if word_length == LONGEST_WORD + 1 {
            printable.push_str("...");
        }
    }
    printable
}

/// A count and its noun: `1 reading`, `2 readings`.
pub(super) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// A number of any kind and its noun: `0.5 divisions`, `1 division`.
pub(super) fn count_of(number: f64, one: &str, many: &str) -> String {
    let noun = if number.to_bits() == 1_f64.to_bits() {
        one
    } else {
        many
    };
    format!("{} {noun}", short_number(number, 6))
}

/// Things to type, each in backticks: `` `mm`, `in` or `ft` ``.
pub(super) fn either<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let mut names: Vec<String> = names.into_iter().map(|name| format!("`{name}`")).collect();
    let last = names.pop().unwrap_or_default();
    if names.is_empty() {
        last
    } else {
        format!("{} or {last}", names.join(", "))
    }
}

#[cfg(test)]
mod tests {
    use super::{Diagnostic, LONGEST_TEXT, LONGEST_WORD, count, either};

    #[test]
    fn a_message_fits_a_terminal() {
        let diagnostic = Diagnostic::new(0..0, format!("unknown `{}` here", "x".repeat(1000)))
            .label("red \u{1b}[31m and\nbelow")
            .help("word ".repeat(1000));
        assert_eq!(
            diagnostic.title,
            format!("unknown `{}... here", "x".repeat(LONGEST_WORD - 1))
        );
        assert_eq!(diagnostic.label, "red \u{fffd}[31m and\u{fffd}below");
        assert!(diagnostic.help.unwrap().len() <= LONGEST_TEXT + 3);
    }

    #[test]
    fn one_is_singular_and_none_is_plural() {
        assert_eq!(count(0, "reading", "readings"), "0 readings");
        assert_eq!(count(1, "reading", "readings"), "1 reading");
        assert_eq!(count(2, "reading", "readings"), "2 readings");
    }

    #[test]
    fn a_choice_reads_like_a_sentence() {
        assert_eq!(either(["F"]), "`F`");
        assert_eq!(either(["F", "R"]), "`F` or `R`");
        assert_eq!(either(["mm", "in", "ft"]), "`mm`, `in` or `ft`");
        assert_eq!(either([]), "");
    }
}
