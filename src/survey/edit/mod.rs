//! Changes to the text of a survey file that leave every other byte of it as it was.
//!
//! A file is kept for years by people who comment it, line it up and save it with editors of their own. So
//! nothing is ever written anew: each change is a few bytes put in the place of others, found where the parser
//! says they stand. The byte-order mark, the ends of lines and every comment stay.
//!
//! * [`append_pass`] adds a pass at the end, [`begin_pass`] gives a planned pass its empty lists,
//!   [`extend_pass`] gives one more places.
//! * [`lists`] says what is still open in a pass, [`set_reading`] fills one place, [`set_note`], [`set_felt`] and
//!   [`set_packing`] write what else was noticed.
//! * [`merged`] keeps two changes that were made apart, [`difference`] shows what changed.
//! * [`set_turned`] records what was turned, [`set_unfinished`] that it is not all yet.
//! * [`set_key`] changes one value anywhere, [`value_of`] says what it is.
//!
//! `splice` puts bytes in the place of others, `layout` writes new lines the way a person would.

mod key;
mod layout;
mod merge;
mod pass;
mod splice;
mod turned;

pub use key::{set_key, value_of};
pub use merge::{difference, merged};
pub use pass::{
    Draft, OpenList, append_pass, begin_pass, extend_pass, lists, set_felt, set_level, set_note,
    set_packing, set_reading, set_taken, set_unfinished,
};
pub use turned::set_turned;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::read::BYTE_ORDER_MARK;

/// Why a text cannot be changed this way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CannotEdit {
    /// The text is not TOML, or has no pass of this number.
    NoPass,
    /// The pass stands inside a list in brackets, and not under a header `[[pass]]` of its own.
    PassInList,
    /// The pass has no such list of readings, or it is shorter than that.
    NoReading,
    /// The file has no table for such a key.
    NoKey,
}

/// The tables of a file and where its text begins after the byte-order mark.
struct Document<'t> {
    offset: usize,
    body: &'t str,
    root: Spanned<DeTable<'t>>,
}

/// One pass of it.
struct PassTable<'d, 't> {
    /// Where its header stands, in the body.
    header: std::ops::Range<usize>,
    entries: &'d DeTable<'t>,
    under_header: bool,
}

impl<'t> Document<'t> {
    fn of(text: &'t str) -> Result<Self, CannotEdit> {
        let body = text.strip_prefix(BYTE_ORDER_MARK).unwrap_or(text);
        Ok(Self {
            offset: text.len() - body.len(),
            body,
            root: DeTable::parse(body).map_err(|_| CannotEdit::NoPass)?,
        })
    }

    fn pass(&self, index: usize) -> Result<PassTable<'_, 't>, CannotEdit> {
        let Some(DeValue::Array(passes)) = self.root.get_ref().get("pass").map(Spanned::get_ref)
        else {
            return Err(CannotEdit::NoPass);
        };
        let pass = passes.get(index).ok_or(CannotEdit::NoPass)?;
        let DeValue::Table(entries) = pass.get_ref() else {
            return Err(CannotEdit::NoPass);
        };
        let header = pass.span();
        Ok(PassTable {
            under_header: self.body[header.clone()].starts_with("[["),
            header,
            entries,
        })
    }
}

impl PassTable<'_, '_> {
    /// Where the last value of the pass's own ends, tables with headers of their own apart.
    fn end(&self, body: &str) -> Result<usize, CannotEdit> {
        if !self.under_header {
            return Err(CannotEdit::PassInList);
        }
        let own = self.entries.iter().filter(|(_, value)| {
            !(value.get_ref().is_table() && body[value.span()].starts_with('['))
        });
        Ok(own
            .map(|(_, value)| last_end(value))
            .max()
            .unwrap_or(self.header.end))
    }
}

/// Where the last part of a value ends; a table made of dotted keys has its parts on several lines.
fn last_end(value: &Spanned<DeValue<'_>>) -> usize {
    let own = value.span().end;
    match value.get_ref() {
        DeValue::Table(entries) => entries
            .values()
            .map(last_end)
            .max()
            .map_or(own, |end| end.max(own)),
        _ => own,
    }
}
