//! Pages to print: one file of HTML with the drawings inside, no script, nothing fetched.
//!
//! * [`readings`] is for taking to the machine: blank boxes in walking order.
//! * [`card`] is for turning: every foot with its turn, and a box to tick.
//! * [`record`] is for keeping: before and after, the verdicts, the readings as left.
//! * `html` holds what they share, `style` how they look.

pub mod card;
mod figures;
mod html;
pub mod readings;
pub mod record;
mod style;

pub use readings::ReadingSheet;
pub use record::RecordReport;
