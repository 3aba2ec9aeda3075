//! Results as text for a terminal or a phone, at any width.
//!
//! * [`prose`] is words with a tone; [`page`] breaks them into lines; [`table`] sets numbers in columns.
//! * [`scale`] prints lengths and slopes in the unit that is asked for, [`turning`] parts of a turn.
//! * [`cut`] tells what a test cut says, [`settle`] what moved by itself.
//! * [`shape`] tells the shape of the bed: `head`, `verdict`, `doubts`, `settling`, `plots`,
//!   `profile` and `statistics` are its parts. [`forecast`] tells what a pass will show.
//! * [`mod@reference`] prints every key of the survey file.
//! * [`history`] tells all rounds in one table.
//! * [`round`] goes through one round, a foot at a time.
//! * [`turns`] tells what to turn: `card`, `advice`, `next_pass` and `safety` are its parts.

pub(in crate::report) mod advice;
pub(in crate::report) mod card;
pub mod cut;
mod doubts;
pub mod forecast;
pub(in crate::report) mod head;
pub mod history;
mod loads;
mod next_pass;
pub mod page;
pub(in crate::report) mod particulars;
mod plots;
mod profile;
pub mod prose;
pub mod reference;
pub mod round;
pub(in crate::report) mod safety;
pub mod scale;
pub mod settle;
mod settling;
pub mod shape;
mod statistics;
pub mod table;
pub mod turning;
pub mod turns;
pub(in crate::report) mod verdict;
pub(in crate::report) mod words;

pub use advice::packed;
pub use page::Page;
pub use prose::{Prose, Tone};
pub use scale::{Scale, place};
pub use shape::Telling;
pub use table::Table;
