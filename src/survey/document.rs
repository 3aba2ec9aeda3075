//! The parsed file as tables and items that know their place in the text.
//!
//! A table remembers which keys were asked for; [`Table::close`] reports the others. So a key is made known to
//! the reader by the one line that reads it.

use std::cell::{Cell, RefCell};
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::diagnostic::Diagnostic;
use super::model::LengthUnit;
use super::nearest::nearest;

/// After so many mistakes unknown words are no longer compared with the known ones.
const MOST_COMPARED: usize = 1000;

/// What is shared while one file is read: its text, its unit, and everything found wrong so far.
pub(super) struct Reader<'a> {
    source: &'a str,
    /// The file's text has syntax errors, so what seems to be missing may only be unreadable.
    damaged: bool,
    names_lost: Cell<bool>,
    units: Cell<LengthUnit>,
    found: RefCell<Vec<Diagnostic>>,
}

impl<'a> Reader<'a> {
    pub(super) fn new(source: &'a str, damaged: bool) -> Self {
        Self {
            source,
            damaged,
            names_lost: Cell::default(),
            units: Cell::default(),
            found: RefCell::default(),
        }
    }

    /// The unit of bare lengths.
    pub(super) fn units(&self) -> LengthUnit {
        self.units.get()
    }

    pub(super) fn set_units(&self, units: LengthUnit) {
        self.units.set(units);
    }

    /// Notes that some table was not recognised, so that a name may be unknown only because of that.
    pub(super) fn lose_names(&self) {
        self.names_lost.set(true);
    }

    /// Whether every name that the file defines is known.
    pub(super) fn has_all_names(&self) -> bool {
        !self.damaged && !self.names_lost.get()
    }

    pub(super) fn report(&self, diagnostic: Diagnostic) {
        self.found.borrow_mut().push(diagnostic);
    }

    /// Reports what is missing, unless the text is damaged and it may stand there after all.
    pub(super) fn report_missing(&self, diagnostic: Diagnostic) {
        if !self.damaged {
            self.report(diagnostic);
        }
    }

    /// The known word that an unknown one may stand for.
    ///
    /// In a file with so many mistakes that most are not shown nothing is compared any more.
    pub(super) fn suggest<'n>(
        &self,
        word: &str,
        known: impl IntoIterator<Item = &'n str>,
    ) -> Option<&'n str> {
        if self.found.borrow().len() > MOST_COMPARED {
            return None;
        }
        nearest(word, known)
    }

    pub(super) fn into_found(self) -> Vec<Diagnostic> {
        self.found.into_inner()
    }
}

/// A value that was read, and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Given<T> {
    pub(super) value: T,
    pub(super) span: Range<usize>,
}

/// A table of the file.
pub(super) struct Table<'a> {
    pub(super) reader: &'a Reader<'a>,
    /// What it is called in messages: `` `[bed]` ``, `a collar`.
    pub(super) heading: String,
    /// Its header, or the whole of an inline table.
    pub(super) span: Range<usize>,
    entries: &'a DeTable<'a>,
    known: RefCell<Vec<&'static str>>,
    missing: RefCell<Vec<(&'static str, Diagnostic)>>,
}

impl<'a> Table<'a> {
    pub(super) fn new(
        reader: &'a Reader<'a>,
        heading: impl Into<String>,
        span: Range<usize>,
        entries: &'a DeTable<'a>,
    ) -> Self {
        Self {
            reader,
            heading: heading.into(),
            span,
            entries,
            known: RefCell::default(),
            missing: RefCell::default(),
        }
    }

    /// The value of a key that may be left out.
    pub(super) fn get(&self, key: &'static str) -> Option<Item<'a>> {
        self.known.borrow_mut().push(key);
        let (name, value) = self.entries.get_key_value(key)?;
        Some(Item::new(self.reader, name, value))
    }

    /// The value of a key that must be there; `example` is a line that would be right.
    pub(super) fn need(&self, key: &'static str, example: &str) -> Option<Item<'a>> {
        let item = self.get(key);
        if item.is_none() {
            self.miss(
                key,
                Diagnostic::new(
                    self.span.clone(),
                    format!("{} has no `{key}`", self.heading),
                )
                .label(format!("`{key}` is missing"))
                .help(format!("add a line like `{example}`")),
            );
        }
        item
    }

    /// Notes that a key is missing, unless it turns out at the end that it is there and misspelt.
    pub(super) fn miss(&self, key: &'static str, diagnostic: Diagnostic) {
        self.missing.borrow_mut().push((key, diagnostic));
    }

    /// Every entry, for tables whose keys are names that the person chose.
    pub(super) fn items(&self) -> impl Iterator<Item = Item<'a>> + use<'a> {
        let reader = self.reader;
        self.entries
            .iter()
            .map(move |(name, value)| Item::new(reader, name, value))
    }

    /// Reports every key that nobody asked for, with the known one it may stand for, and every key missing.
    ///
    /// Returns the known keys that unknown ones seem to stand for.
    pub(super) fn close(self) -> Vec<&'static str> {
        let known = self.known.into_inner();
        let mut misspelt = Vec::new();
        for name in self.entries.keys() {
            if known.iter().any(|known| known == name.get_ref()) {
                continue;
            }
            let meant = self.reader.suggest(name.get_ref(), known.iter().copied());
            misspelt.extend(meant);
            let diagnostic = Diagnostic::new(
                name.span(),
                format!("unknown key `{}` in {}", name.get_ref(), self.heading),
            );
            self.reader.report(if let Some(meant) = meant {
                diagnostic.label(format!("did you mean `{meant}`?"))
            } else {
                let known = known.iter().map(|key| format!("`{key}`"));
                diagnostic
                    .label(format!("not a key of {}", self.heading))
                    .help(format!(
                        "known keys are {}",
                        known.collect::<Vec<_>>().join(", ")
                    ))
            });
        }
        for (key, diagnostic) in self.missing.into_inner() {
            if !misspelt.contains(&key) {
                self.reader.report_missing(diagnostic);
            }
        }
        misspelt
    }
}

/// A value of the file under its key.
#[derive(Clone)]
pub(super) struct Item<'a> {
    pub(super) reader: &'a Reader<'a>,
    /// The key it stands under; for an item of a list, the key of the list.
    pub(super) key: &'a str,
    /// Where the key stands.
    pub(super) key_span: Range<usize>,
    /// Where the value stands.
    pub(super) span: Range<usize>,
    pub(super) value: &'a DeValue<'a>,
}

impl<'a> Item<'a> {
    fn new(
        reader: &'a Reader<'a>,
        name: &'a Spanned<std::borrow::Cow<'a, str>>,
        value: &'a Spanned<DeValue<'a>>,
    ) -> Self {
        Self {
            reader,
            key: name.get_ref(),
            key_span: name.span(),
            span: value.span(),
            value: value.get_ref(),
        }
    }

    /// Reports this value.
    pub(super) fn report(&self, title: impl AsRef<str>, label: &str, help: impl AsRef<str>) {
        self.reader.report(
            Diagnostic::new(self.span.clone(), title)
                .label(label)
                .help(help),
        );
    }

    /// Reports that this value is of another kind than wanted, with a line that would be right.
    pub(super) fn report_kind(&self, wanted: &str, example: &str) {
        let found = match self.value {
            DeValue::String(_) => "a text in quotes",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "`true` or `false`",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        self.report(
            format!("`{}` is {wanted}", self.key),
            &format!("this is {found}"),
            format!("write it like `{example}`"),
        );
    }

    /// Reports a mistake inside this text, found at a place counted from the text's start.
    pub(super) fn report_inside(&self, text: &str, diagnostic: Diagnostic) {
        let inside = self.span.start + 1;
        let is_verbatim = self
            .source_text()
            .strip_prefix(['"', '\''])
            .is_some_and(|quoted| quoted.len() == text.len() + 1 && quoted.starts_with(text));
        self.reader.report(if is_verbatim && !text.is_empty() {
            diagnostic.shifted(inside)
        } else {
            Diagnostic {
                span: self.span.clone(),
                ..diagnostic
            }
        });
    }

    /// The value as it is written in the file.
    pub(super) fn source_text(&self) -> &'a str {
        self.reader
            .source
            .get(self.span.clone())
            .unwrap_or_default()
    }

    /// A list, item by item.
    pub(super) fn list(&self, example: &str) -> Option<Vec<Item<'a>>> {
        let DeValue::Array(array) = self.value else {
            self.report_kind("a list", example);
            return None;
        };
        Some(
            array
                .iter()
                .map(|value| Item {
                    span: value.span(),
                    value: value.get_ref(),
                    ..self.clone()
                })
                .collect(),
        )
    }

    /// A table that stands once; `heading` is how it is written, such as `[bed]`.
    pub(super) fn table(&self, heading: &str) -> Option<Table<'a>> {
        let called = format!("`{heading}`");
        match self.value {
            DeValue::Table(entries) => {
                Some(Table::new(self.reader, called, self.span.clone(), entries))
            }
            DeValue::Array(array)
                if matches!(array.first().map(Spanned::get_ref), Some(DeValue::Table(_))) =>
            {
                self.report(
                    format!("`{heading}` stands once, without doubled brackets"),
                    "doubled brackets",
                    format!("write `{heading}`"),
                );
                self.tables(heading).into_iter().next()
            }
            _ => {
                self.report_kind("a table", heading);
                None
            }
        }
    }

    /// Tables of which there may be several; `heading` is how each is written, such as `[[pass]]`.
    pub(super) fn tables(&self, heading: &str) -> Vec<Table<'a>> {
        let called = format!("`{heading}`");
        match self.value {
            DeValue::Array(array) => array
                .iter()
                .filter_map(|value| {
                    let item = Item {
                        span: value.span(),
                        value: value.get_ref(),
                        ..self.clone()
                    };
                    let DeValue::Table(entries) = item.value else {
                        item.report_kind("a list of tables", heading);
                        return None;
                    };
                    Some(Table::new(self.reader, &*called, item.span, entries))
                })
                .collect(),
            DeValue::Table(entries) => {
                self.report(
                    format!("there may be several of `{heading}`, so its brackets are doubled"),
                    "single brackets",
                    format!("write `{heading}`"),
                );
                vec![Table::new(self.reader, called, self.span.clone(), entries)]
            }
            _ => {
                self.report_kind("a list of tables", heading);
                Vec::new()
            }
        }
    }
}
