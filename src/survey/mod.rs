//! The survey: one machine, its feet, the levels, every pass and what was turned after it.
//!
//! * [`model`] holds what a survey file says, in SI units.
//! * [`units`] reads lengths, slopes and masses with their units, and converts both ways.
//! * [`diagnostic`] is one mistake: what, where, and what would be right.

pub mod diagnostic;
pub mod model;
mod nearest;
mod number;
pub mod units;

pub use diagnostic::Diagnostic;
pub use model::*;
