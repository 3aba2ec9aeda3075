//! The parsed file as tables and items that know their place in the text.
//!
//! What a key may hold stands in [`keys`](super::keys); the reader asks for it by its name, and [`Table::close`] reports
//! what the list does not know.
//!
//! * [`reader`] is shared by all of a file: its text, its unit, and everything found wrong so far.
//! * [`table`] gives the values of keys, [`item`] is one value.
//! * [`quantity`] and [`word`] read single values: numbers with and without a unit, texts and dates.

mod item;
mod quantity;
mod reader;
mod table;
mod word;

use std::ops::Range;

pub(super) use self::item::Item;
pub(super) use self::reader::Reader;
pub(super) use self::table::Table;

/// A value that was read, and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Given<T> {
    pub(super) value: T,
    pub(super) span: Range<usize>,
}
