//! What is shared while one file is read.

use std::cell::{Cell, RefCell};

use crate::survey::diagnostic::Diagnostic;
use crate::survey::model::LengthUnit;
use crate::survey::nearest::nearest;

/// After so many mistakes unknown words are no longer compared with the known ones.
const MOST_COMPARED: usize = 1000;

/// What is shared while one file is read: its text, its unit, and everything found wrong so far.
pub(in crate::survey) struct Reader<'a> {
    pub(in crate::survey) source: &'a str,
    /// The file's text has syntax errors, so what seems to be missing may only be unreadable.
    damaged: bool,
    names_lost: Cell<bool>,
    units: Cell<LengthUnit>,
    found: RefCell<Vec<Diagnostic>>,
}

impl<'a> Reader<'a> {
    pub(in crate::survey) fn new(source: &'a str, damaged: bool) -> Self {
        Self {
            source,
            damaged,
            names_lost: Cell::default(),
            units: Cell::default(),
            found: RefCell::default(),
        }
    }

    /// The unit of bare lengths.
    pub(in crate::survey) fn units(&self) -> LengthUnit {
        self.units.get()
    }

    pub(in crate::survey) fn set_units(&self, units: LengthUnit) {
        self.units.set(units);
    }

    /// Notes that some table was not recognised, so that a name may be unknown only because of that.
    pub(in crate::survey) fn lose_names(&self) {
        self.names_lost.set(true);
    }

    /// Whether every name that the file defines is known.
    pub(in crate::survey) fn has_all_names(&self) -> bool {
        !self.damaged && !self.names_lost.get()
    }

    pub(in crate::survey) fn report(&self, diagnostic: Diagnostic) {
        self.found.borrow_mut().push(diagnostic);
    }

    /// Reports what is missing, unless the text is damaged and it may stand there after all.
    pub(in crate::survey) fn report_missing(&self, diagnostic: Diagnostic) {
        if !self.damaged {
            self.report(diagnostic);
        }
    }

    /// The known word that an unknown one may stand for.
    ///
    /// In a file with so many mistakes that most are not shown nothing is compared any more.
    pub(in crate::survey) fn suggest<'n>(
        &self,
        word: &str,
        known: impl IntoIterator<Item = &'n str>,
    ) -> Option<&'n str> {
        if self.found.borrow().len() > MOST_COMPARED {
            return None;
        }
        nearest(word, known)
    }

    pub(in crate::survey) fn into_found(self) -> Vec<Diagnostic> {
        self.found.into_inner()
    }
}
