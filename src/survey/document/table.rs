//! A table of the file and the keys that it may have.

use std::cell::RefCell;
use std::ops::Range;

use toml::de::DeTable;
use toml::value::Datetime;

use super::item::Item;
use super::reader::Reader;
use crate::survey::diagnostic::Diagnostic;
use crate::survey::document::Given;
use crate::survey::keys::{Section, Word};

/// A table of the file.
pub(in crate::survey) struct Table<'a> {
    pub(in crate::survey) reader: &'a Reader<'a>,
    /// What it is called in messages: `` `[bed]` ``, `a collar`.
    pub(in crate::survey) heading: String,
    /// Its header, or the whole of an inline table.
    pub(in crate::survey) span: Range<usize>,
    section: &'static Section,
    entries: &'a DeTable<'a>,
    /// Which keys were asked for, so that none of the list is forgotten.
    asked: RefCell<Vec<&'static str>>,
    missing: RefCell<Vec<(&'static str, Diagnostic)>>,
}

impl<'a> Table<'a> {
    pub(in crate::survey) fn new(
        reader: &'a Reader<'a>,
        section: &'static Section,
        heading: impl Into<String>,
        span: Range<usize>,
        entries: &'a DeTable<'a>,
    ) -> Self {
        Self {
            reader,
            heading: heading.into(),
            span,
            section,
            entries,
            asked: RefCell::default(),
            missing: RefCell::default(),
        }
    }

    /// The value of a key, or that it is missing where the list of keys says that it must be there.
    pub(in crate::survey) fn get(&self, name: &'static str) -> Option<Item<'a>> {
        let item = self.optional(name);
        if item.is_none()
            && let Some(key) = self.section.key(name).filter(|key| key.needed)
        {
            self.miss(
                name,
                Diagnostic::new(
                    self.span.clone(),
                    format!("{} has no `{name}`", self.heading),
                )
                .label(format!("`{name}` is missing"))
                .help(format!("add a line like `{}`", key.line())),
            );
        }
        item
    }

    /// The value of a key of which something else decides whether it may be left out.
    pub(in crate::survey) fn optional(&self, name: &'static str) -> Option<Item<'a>> {
        let key = self.section.key(name);
        debug_assert!(
            key.is_some(),
            "`{name}` is not in the list of the keys of {}",
            self.heading
        );
        self.asked.borrow_mut().push(name);
        let (name, value) = self.entries.get_key_value(name)?;
        Some(Item::new(self.reader, name, value, key?))
    }

    /// The number under a key, in SI.
    pub(in crate::survey) fn number(&self, name: &'static str) -> Option<f64> {
        self.get(name)?.number()
    }

    /// Yes or no under a key.
    pub(in crate::survey) fn flag(&self, name: &'static str) -> Option<bool> {
        self.get(name)?.flag()
    }

    /// What the word under a key stands for.
    pub(in crate::survey) fn word<T: Word>(&self, name: &'static str) -> Option<T> {
        self.get(name)?.word()
    }

    /// The text under a key.
    pub(in crate::survey) fn text(&self, name: &'static str) -> Option<String> {
        self.get(name)?.text().map(str::to_owned)
    }

    /// The day under a key.
    pub(in crate::survey) fn date(&self, name: &'static str) -> Option<Given<Datetime>> {
        self.get(name)?.date()
    }

    /// The table under a key.
    pub(in crate::survey) fn table(&self, name: &'static str) -> Option<Table<'a>> {
        self.get(name)?.table()
    }

    /// Notes that a key is missing, unless it turns out at the end that it is there and misspelt.
    pub(in crate::survey) fn miss(&self, key: &'static str, diagnostic: Diagnostic) {
        self.missing.borrow_mut().push((key, diagnostic));
    }

    /// Every entry, for tables whose keys are names that the person chose.
    pub(in crate::survey) fn items(&self) -> impl Iterator<Item = Item<'a>> + use<'a> {
        let reader = self.reader;
        let any = self.section.keys.first();
        self.entries
            .iter()
            .filter_map(move |(name, value)| Some(Item::new(reader, name, value, any?)))
    }

    /// Reports every key that is not in the list, with the known one it may stand for, and every key missing.
    ///
    /// Returns the known keys that unknown ones seem to stand for.
    pub(in crate::survey) fn close(self) -> Vec<&'static str> {
        let asked = self.asked.into_inner();
        let known = || self.section.keys.iter().map(|key| key.name);
        debug_assert!(
            known().all(|key| asked.contains(&key)),
            "only {asked:?} of {} are read",
            self.heading
        );
        let mut misspelt = Vec::new();
        for name in self.entries.keys() {
            if self.section.key(name.get_ref()).is_some() {
                continue;
            }
            let meant = self.reader.suggest(name.get_ref(), known());
            misspelt.extend(meant);
            let diagnostic = Diagnostic::new(
                name.span(),
                format!("unknown key `{}` in {}", name.get_ref(), self.heading),
            );
            self.reader.report(if let Some(meant) = meant {
                diagnostic.label(format!("did you mean `{meant}`?"))
            } else {
                let known: Vec<String> = known().map(|key| format!("`{key}`")).collect();
                diagnostic
                    .label(format!("not a key of {}", self.heading))
                    .help(format!("known keys are {}", known.join(", ")))
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
