//! The parser's words for a slip, and ours.

use std::ops::Range;

use super::value::DATE;
use super::{Kind, Lines, Slip};
use crate::survey::diagnostic::Diagnostic;
use crate::survey::number::{digits, whole_number};

/// What a syntax error means.
pub(super) fn explain(lines: &Lines<'_>, error: &toml::de::Error) -> Slip {
    let body = lines.body;
    let span = error.span().unwrap_or(0..0);
    let span = span.start.min(body.len())..span.end.min(body.len());
    let message = error.message();
    let (fact, expected) = match message.split_once(", expected ") {
        Some((fact, expected)) => (fact, format!("expected {expected}")),
        None => (message, String::new()),
    };
    let here = Here {
        lines,
        body,
        text: body.get(span.clone()).unwrap_or_default(),
        span,
    };
    here.known(fact, &expected).unwrap_or_else(|| {
        let diagnostic = Diagnostic::new(here.span.clone(), fact).label(expected);
        here.slip(Kind::Other, diagnostic)
    })
}

/// Where the parser stumbled.
pub(super) struct Here<'a> {
    lines: &'a Lines<'a>,
    pub(super) body: &'a str,
    pub(super) span: Range<usize>,
    /// The text of the span.
    pub(super) text: &'a str,
}

impl Here<'_> {
    /// A slip that only spoils its own line.
    pub(super) fn slip(&self, kind: Kind, diagnostic: Diagnostic) -> Slip {
        let line = self.lines.around(diagnostic.span.start);
        Slip {
            kind,
            diagnostic,
            unsure: line.start..line.end + 1,
        }
    }

    pub(super) fn line(&self) -> Range<usize> {
        self.lines.around(self.span.start)
    }

    fn known(&self, fact: &str, expected: &str) -> Option<Slip> {
        if fact.contains("recurs") {
            return Some(
                self.endless(
                    Diagnostic::new(self.span.clone(), "brackets are nested too deeply")
                        .label("too deep")
                        .help("no list or table of a survey lies deeper than three brackets"),
                ),
            );
        }
        match fact {
            "duplicate key" => Some(
                self.slip(
                    Kind::Twice,
                    Diagnostic::new(self.span.clone(), format!("`{}` stands twice", self.text))
                        .label("the second time")
                        .help("keep one of the two"),
                ),
            ),
            "missing comma between array elements" if self.starts_an_entry() => {
                Some(self.not_closed("list", ']'))
            }
            "unclosed array" => Some(self.not_closed("list", ']')),
            "unclosed inline table" | "invalid inline table element" => {
                Some(self.not_closed("table", '}'))
            }
            "missing comma between array elements"
            | "missing comma between key-value pairs"
            | "extra assignment between key-value pairs" => Some(
                self.slip(
                    Kind::Other,
                    Diagnostic::new(self.span.clone(), "a comma is missing")
                        .label("expected `,` before this")
                        .help("separate the items by commas"),
                ),
            ),
            "unclosed table" | "unclosed array table" => Some(self.open_header()),
            "key with no value" => Some(self.no_value()),
            "invalid unquoted key" if self.text == ":" => Some(self.no_value()),
            "unexpected key or value" => Some(self.more_on_the_line()),
            "missing opening quote" => Some(self.quote_missing()),
            "string values must be quoted" => Some(self.unquoted()),
            _ if fact.starts_with("invalid date") || fact.starts_with("invalid time") => Some(
                self.slip(
                    Kind::Other,
                    Diagnostic::new(self.span.clone(), format!("`{}` is not a date", self.text))
                        .label(expected)
                        .help(DATE),
                ),
            ),
            _ if fact.ends_with("string") && self.text.is_empty() => Some(self.quote_missing()),
            _ if fact.starts_with("invalid") || fact.contains("leading zero") => self.odd_number(),
            _ => None,
        }
    }

    /// Whether the place begins a new line with a key or a table, so that what came before has no end.
    fn starts_an_entry(&self) -> bool {
        let line = self.line();
        let before = &self.body[line.start..self.span.start];
        let after = &self.body[self.span.start..line.end];
        let key = after
            .trim_start_matches(|c: char| c.is_alphanumeric() || matches!(c, '_' | '-' | '.'))
            .trim_start();
        before.trim().is_empty() && (after.starts_with('[') || key.starts_with('='))
    }

    fn not_closed(&self, what: &str, bracket: char) -> Slip {
        let end = self.body[..self.span.start].trim_end().len();
        self.endless(
            Diagnostic::new(end..end, format!("the {what} is not closed"))
                .label(format!("expected `{bracket}`"))
                .help(format!(
                    "close it with `{bracket}`; what follows was not checked"
                )),
        )
    }

    /// A slip after which nothing is sure; what stands before it on its line was read well.
    fn endless(&self, diagnostic: Diagnostic) -> Slip {
        Slip {
            kind: Kind::Endless,
            unsure: diagnostic.span.start..self.body.len() + 1,
            diagnostic,
        }
    }

    /// `[bed` or `[[pass]`.
    fn open_header(&self) -> Slip {
        let line = self.line();
        let header = self.body[line.clone()].trim();
        let name = header.trim_matches(['[', ']', ' ']);
        let (open, close) = if header.starts_with("[[") {
            ("[[", "]]")
        } else {
            ("[", "]")
        };
        // `[pass.turned]` still belongs to a broken `[[pass`.
        let within = format!("{name}.");
        let next_header = self.body[line.end..]
            .match_indices("\n[")
            .map(|(next, _)| line.end + next)
            .find(|next| {
                let header = self.body[*next..].trim_start_matches(['\n', '[', ' ']);
                !header.starts_with(&within)
            })
            .unwrap_or(self.body.len());
        Slip {
            kind: Kind::Other,
            diagnostic: Diagnostic::new(self.span.clone(), format!("`{header}` is not closed"))
                .label(format!("expected `{close}`"))
                .help(format!("write `{open}{name}{close}`")),
            unsure: line.start..next_header + 1,
        }
    }

    /// `length 2900`, `length: 2900`, `way spacing = 380`, or no survey at all.
    fn no_value(&self) -> Slip {
        let line = self.line();
        let text = self.body[line].trim();
        let diagnostic =
            Diagnostic::new(self.span.clone(), "a key and its value are joined by `=`")
                .label("expected `=`");
        let mut words = text.split([' ', '\t', ':']).filter(|word| !word.is_empty());
        let diagnostic = match (words.next(), words.next(), words.next()) {
            _ if text.contains('=') => {
                let (key, value) = text.split_once('=').unwrap_or((text, ""));
                let key = key.split_whitespace().collect::<Vec<_>>().join("_");
                diagnostic.help(format!(
                    "a key is one word: write `{key} = {}`",
                    value.trim()
                ))
            }
            (Some(key), Some(value), None) => diagnostic.help(format!("write `{key} = {value}`")),
            _ => diagnostic.help("write `key = value`, or put `#` before a remark"),
        };
        self.slip(Kind::Other, diagnostic)
    }

    /// Something behind a complete value.
    fn more_on_the_line(&self) -> Slip {
        let line = self.line();
        let before = &self.body[line.start..self.span.start];
        let rest = self.body[self.span.start..line.end].trim();
        let number = before
            .rsplit(|c: char| c.is_whitespace() || c == '=')
            .next()
            .unwrap_or_default();
        let decimals = rest.strip_prefix(',').map_or(0, digits);
        if decimals > 0 && whole_number(number).is_some() {
            let start = self.span.start - number.len();
            let end = self.span.start + 1 + decimals;
            return self.slip(
                Kind::Other,
                Diagnostic::new(start..end, "a decimal comma is not understood")
                    .label("comma in a number")
                    .help(format!("write `{}.{}`", number, &rest[1..=decimals])),
            );
        }
        self.slip(
            Kind::Other,
            Diagnostic::new(
                self.span.start..self.span.start + rest.len(),
                "nothing more may follow on this line",
            )
            .label("unexpected")
            .help("start a new line, or put `#` before a remark"),
        )
    }

    fn quote_missing(&self) -> Slip {
        self.slip(
            Kind::Quote,
            Diagnostic::new(self.span.clone(), "a quote is missing on this line")
                .label("a text has no end here")
                .help("every text stands between two quotes, like `\"1.5F\"`"),
        )
    }
}
