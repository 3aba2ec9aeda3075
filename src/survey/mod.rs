//! The survey: one machine, its feet, the levels, every pass and what was turned after it.
//!
//! * [`model`] holds what a survey file says, in SI units.

pub mod model;

pub use model::*;
