//! A value under its key.

use std::borrow::Cow;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::reader::Reader;
use super::table::Table;
use crate::survey::diagnostic::Diagnostic;
use crate::survey::keys::{Key, Kind, Section};

/// A value of the file under its key.
#[derive(Clone)]
pub(in crate::survey) struct Item<'a> {
    pub(in crate::survey) reader: &'a Reader<'a>,
    /// The key it stands under; for an item of a list, the key of the list.
    pub(in crate::survey) key: &'a str,
    /// Where the key stands.
    pub(in crate::survey) key_span: Range<usize>,
    /// Where the value stands.
    pub(in crate::survey) span: Range<usize>,
    pub(in crate::survey) value: &'a DeValue<'a>,
    /// What is known of the key.
    pub(in crate::survey) spec: &'static Key,
    /// What kind of value this is; for an item of a list, of what kind the list is.
    pub(super) kind: &'static Kind,
}

impl<'a> Item<'a> {
    pub(in crate::survey) fn new(
        reader: &'a Reader<'a>,
        name: &'a Spanned<Cow<'a, str>>,
        value: &'a Spanned<DeValue<'a>>,
        spec: &'static Key,
    ) -> Self {
        Self {
            reader,
            key: name.get_ref(),
            key_span: name.span(),
            span: value.span(),
            value: value.get_ref(),
            spec,
            kind: &spec.kind,
        }
    }

    /// Reports this value.
    pub(in crate::survey) fn report(
        &self,
        title: impl AsRef<str>,
        label: &str,
        help: impl AsRef<str>,
    ) {
        self.reader.report(
            Diagnostic::new(self.span.clone(), title)
                .label(label)
                .help(help),
        );
    }

    /// Reports that this value is of another kind than wanted, with a line that would be right.
    pub(in crate::survey) fn report_kind(&self, wanted: &str) {
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
            format!("write it like `{}`", self.spec.line()),
        );
    }

    /// Reports a mistake inside this text, found at a place counted from the text's start.
    pub(in crate::survey) fn report_inside(&self, text: &str, diagnostic: Diagnostic) {
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
    pub(in crate::survey) fn source_text(&self) -> &'a str {
        self.reader
            .source
            .get(self.span.clone())
            .unwrap_or_default()
    }

    /// A list, item by item.
    pub(in crate::survey) fn list(&self) -> Option<Vec<Item<'a>>> {
        let DeValue::Array(array) = self.value else {
            self.report_kind("a list");
            return None;
        };
        Some(array.iter().map(|value| self.part(value)).collect())
    }

    /// A value inside this one.
    fn part(&self, value: &'a Spanned<DeValue<'a>>) -> Item<'a> {
        Item {
            span: value.span(),
            value: value.get_ref(),
            kind: match self.kind {
                Kind::List(kind) | Kind::Pair(kind) => kind,
                kind => kind,
            },
            ..self.clone()
        }
    }

    /// The same value as one of this kind.
    pub(super) fn of_kind(&self, kind: &'static Kind) -> Item<'a> {
        Item {
            kind,
            ..self.clone()
        }
    }

    /// A table that stands once.
    pub(in crate::survey) fn table(&self) -> Option<Table<'a>> {
        self.table_called(self.section()?.heading)
    }

    /// The same where the person chose the name: `heading` is how it is written, such as `[foot.R4]`.
    pub(in crate::survey) fn table_called(&self, heading: &str) -> Option<Table<'a>> {
        match self.value {
            DeValue::Table(entries) => self.as_table(heading, entries),
            DeValue::Array(array)
                if matches!(array.first().map(Spanned::get_ref), Some(DeValue::Table(_))) =>
            {
                self.report(
                    format!("`{heading}` stands once, without doubled brackets"),
                    "doubled brackets",
                    format!("write `{heading}`"),
                );
                self.tables().into_iter().next()
            }
            _ => {
                self.report_kind("a table");
                None
            }
        }
    }

    /// Tables of which there may be several.
    pub(in crate::survey) fn tables(&self) -> Vec<Table<'a>> {
        let heading = self.section().map_or("", |section| section.heading);
        match self.value {
            DeValue::Array(array) => array
                .iter()
                .filter_map(|value| {
                    let item = self.part(value);
                    let DeValue::Table(entries) = item.value else {
                        item.report_kind("a list of tables");
                        return None;
                    };
                    item.as_table(heading, entries)
                })
                .collect(),
            DeValue::Table(entries) => {
                self.report(
                    format!("there may be several of `{heading}`, so its brackets are doubled"),
                    "single brackets",
                    format!("write `{heading}`"),
                );
                self.as_table(heading, entries).into_iter().collect()
            }
            _ => {
                self.report_kind("a list of tables");
                Vec::new()
            }
        }
    }

    /// These entries as the table that this key stands for.
    pub(in crate::survey) fn as_table(
        &self,
        heading: &str,
        entries: &'a DeTable<'a>,
    ) -> Option<Table<'a>> {
        let called = if heading.contains(' ') {
            heading.to_owned()
        } else {
            format!("`{heading}`")
        };
        let section = self.section()?;
        Some(Table::new(
            self.reader,
            section,
            called,
            self.span.clone(),
            entries,
        ))
    }

    fn section(&self) -> Option<&'static Section> {
        let section = self.kind.section();
        debug_assert!(section.is_some(), "`{}` is no table", self.spec.name);
        section
    }
}
