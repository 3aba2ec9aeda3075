//! What TOML itself refuses, said so that somebody who never heard of TOML can mend it.
//!
//! The parser's own words are known by their beginning; those that are not known are passed on as they are.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::survey::diagnostic::Diagnostic;
use crate::survey::model::Line;
use crate::survey::notation::parse_reading;
use crate::survey::number::{digits, whole_number};

/// How to write a day, or a day and a time.
const DATE: &str = "write it like `2026-03-02` or `2026-03-02T09:40:00`";

/// Syntax errors and the reader's own findings in the order of the file.
///
/// Where the text could not be parsed it says nothing reliable about its content, so what was found there
/// besides the syntax error is left out.
pub(super) fn merge(
    body: &str,
    errors: &[toml::de::Error],
    found: Vec<Diagnostic>,
) -> Vec<Diagnostic> {
    let slips = best_of_each_line(body, errors);
    let mut all: Vec<Diagnostic> = found
        .into_iter()
        .filter(|diagnostic| {
            !slips
                .iter()
                .any(|slip| slip.unsure.contains(&diagnostic.span.start))
        })
        .collect();
    // Behind a list that never ends every line looks wrong.
    let sure_until = slips
        .iter()
        .filter(|slip| slip.kind == Kind::Endless)
        .map(|slip| slip.unsure.start)
        .min()
        .unwrap_or(body.len());
    all.extend(
        slips
            .into_iter()
            .filter(|slip| slip.unsure.start <= sure_until)
            .map(|slip| slip.diagnostic),
    );
    all.sort_by_key(|diagnostic| (diagnostic.span.start, diagnostic.span.end));
    all
}

/// What kind of slip it is; of several on one line the first kind says it best.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    /// A reading without quotes, of which a line may have many.
    Reading,
    /// A quote is missing.
    Quote,
    /// A list or a table in braces has no end.
    Endless,
    /// Anything else.
    Other,
}

/// A syntax error in our words.
struct Slip {
    kind: Kind,
    diagnostic: Diagnostic,
    /// Where the parser may have misunderstood the file because of it.
    unsure: Range<usize>,
}

impl Slip {
    /// A slip that only spoils its own line.
    fn on_its_line(body: &str, kind: Kind, diagnostic: Diagnostic) -> Self {
        let line = line_around(body, diagnostic.span.start);
        Self {
            kind,
            diagnostic,
            unsure: line.start..line.end + 1,
        }
    }
}

/// One slip often makes the parser stumble several times on a line: the one that says it best.
fn best_of_each_line(body: &str, errors: &[toml::de::Error]) -> Vec<Slip> {
    let mut by_line: BTreeMap<usize, Vec<Slip>> = BTreeMap::new();
    for error in errors {
        let slip = explain(body, error);
        let line = line_around(body, slip.diagnostic.span.start).start;
        by_line.entry(line).or_default().push(slip);
    }
    by_line
        .into_values()
        .flat_map(|mut slips| {
            slips.sort_by_key(|slip| (slip.kind, slip.diagnostic.span.start));
            let best = slips.first().map_or(Kind::Other, |slip| slip.kind);
            slips.dedup_by(|one, other| one.diagnostic == other.diagnostic);
            let many = if best == Kind::Reading {
                slips.len()
            } else {
                1
            };
            slips
                .into_iter()
                .take_while(move |slip| slip.kind == best)
                .take(many)
        })
        .collect()
}

fn explain(body: &str, error: &toml::de::Error) -> Slip {
    let span = error.span().unwrap_or(0..0);
    let span = span.start.min(body.len())..span.end.min(body.len());
    let message = error.message();
    let (fact, expected) = match message.split_once(", expected ") {
        Some((fact, expected)) => (fact, format!("expected {expected}")),
        None => (message, String::new()),
    };
    let here = Here {
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
struct Here<'a> {
    body: &'a str,
    span: Range<usize>,
    /// The text of the span.
    text: &'a str,
}

impl<'a> Here<'a> {
    fn slip(&self, kind: Kind, diagnostic: Diagnostic) -> Slip {
        Slip::on_its_line(self.body, kind, diagnostic)
    }

    fn line(&self) -> Range<usize> {
        line_around(self.body, self.span.start)
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
                    Kind::Other,
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

    fn endless(&self, diagnostic: Diagnostic) -> Slip {
        let start = line_around(self.body, diagnostic.span.start).start;
        // The list's own items were read well; only what stands on later lines is unsure.
        Slip {
            kind: Kind::Endless,
            unsure: diagnostic.span.start.max(start)..self.body.len() + 1,
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
        let next_header = self.body[line.end..]
            .find("\n[")
            .map_or(self.body.len(), |next| line.end + next);
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

    /// A value that is neither a number nor in quotes.
    fn unquoted(&self) -> Slip {
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
    fn odd_number(&self) -> Option<Slip> {
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

/// The line around a place, without its end.
fn line_around(body: &str, place: usize) -> Range<usize> {
    let bytes = body.as_bytes();
    let place = place.min(bytes.len());
    let is_newline = |&byte: &u8| byte == b'\n';
    let start = bytes[..place]
        .iter()
        .rposition(is_newline)
        .map_or(0, |newline| newline + 1);
    let end = bytes[place..]
        .iter()
        .position(is_newline)
        .map_or(bytes.len(), |length| place + length);
    start..end
}
