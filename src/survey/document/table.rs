//! A table that remembers which of its keys were asked for.

use std::cell::RefCell;
use std::ops::Range;

use toml::de::DeTable;

use super::item::Item;
use super::reader::Reader;
use crate::survey::diagnostic::Diagnostic;

/// A table of the file.
pub(in crate::survey) struct Table<'a> {
    pub(in crate::survey) reader: &'a Reader<'a>,
    /// What it is called in messages: `` `[bed]` ``, `a collar`.
    pub(in crate::survey) heading: String,
    /// Its header, or the whole of an inline table.
    pub(in crate::survey) span: Range<usize>,
    entries: &'a DeTable<'a>,
    known: RefCell<Vec<&'static str>>,
    missing: RefCell<Vec<(&'static str, Diagnostic)>>,
}

impl<'a> Table<'a> {
    pub(in crate::survey) fn new(
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
    pub(in crate::survey) fn get(&self, key: &'static str) -> Option<Item<'a>> {
        self.known.borrow_mut().push(key);
        let (name, value) = self.entries.get_key_value(key)?;
        Some(Item::new(self.reader, name, value))
    }

    /// The value of a key that must be there; `example` is a line that would be right.
    pub(in crate::survey) fn need(&self, key: &'static str, example: &str) -> Option<Item<'a>> {
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
    pub(in crate::survey) fn miss(&self, key: &'static str, diagnostic: Diagnostic) {
        self.missing.borrow_mut().push((key, diagnostic));
    }

    /// Every entry, for tables whose keys are names that the person chose.
    pub(in crate::survey) fn items(&self) -> impl Iterator<Item = Item<'a>> + use<'a> {
        let reader = self.reader;
        self.entries
            .iter()
            .map(move |(name, value)| Item::new(reader, name, value))
    }

    /// Reports every key that nobody asked for, with the known one it may stand for, and every key missing.
    ///
    /// Returns the known keys that unknown ones seem to stand for.
    pub(in crate::survey) fn close(self) -> Vec<&'static str> {
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
