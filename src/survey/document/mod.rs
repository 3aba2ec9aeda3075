//! The parsed file as tables and items that know their place in the text.
//!
//! A table remembers which keys were asked for; [`Table::close`] reports the others. So a key is made known to
//! the reader by the one line that reads it.
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
