//! A value under its key.

use std::borrow::Cow;
use std::ops::Range;

use toml::Spanned;
use toml::de::DeValue;

use super::reader::Reader;
use super::table::Table;
use crate::survey::diagnostic::Diagnostic;

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
}

impl<'a> Item<'a> {
    pub(in crate::survey) fn new(
        reader: &'a Reader<'a>,
        name: &'a Spanned<Cow<'a, str>>,
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
    pub(in crate::survey) fn report_kind(&self, wanted: &str, example: &str) {
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
    pub(in crate::survey) fn list(&self, example: &str) -> Option<Vec<Item<'a>>> {
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
    pub(in crate::survey) fn table(&self, heading: &str) -> Option<Table<'a>> {
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
    pub(in crate::survey) fn tables(&self, heading: &str) -> Vec<Table<'a>> {
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
