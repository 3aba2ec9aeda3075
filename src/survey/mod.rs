//! The survey: one machine, its feet, the levels, every pass and what was turned after it.
//!
//! * [`model`] holds what a survey file says, in SI units.
//! * [`read()`] makes a [`Survey`] of the text of a file, or says everything that is wrong with it.
//! * [`decode`] makes text of the bytes of a file, [`encode_like`] bytes of a text.
//! * [`notation`] reads and prints single readings such as `1.5F`.
//! * [`edit`] changes the text of a file and leaves every other byte of it alone.
//! * [`keys`] is the list of everything that a file may say.
//! * [`units`] reads lengths, slopes and masses with their units, and converts both ways.
//! * [`diagnostic`] is one mistake: what, where, and what would be right; [`render()`] prints it.

pub mod diagnostic;
mod document;
pub mod edit;
pub mod keys;
pub mod limit_class;
pub mod model;
mod nearest;
pub mod notation;
mod number;
mod read;
mod render;
mod text;
pub mod units;

pub use diagnostic::Diagnostic;
pub use keys::Word;
pub use model::*;
pub use notation::{
    QUARTER_DIVISION, decimals_of, format_entry, format_reading, lettered, parse_reading,
};
pub use read::{parse_packing, read};
pub use render::render;
pub(crate) use text::seen;
pub use text::{NotText, decode, encode_like, visible};
