//! Prints results and computes nothing.
//!
//! * [`shape`] holds what is known of the shape of the bed.
//! * [`text`] tells it in words and tables, [`json`] for other programs.

pub mod json;
pub mod shape;
pub mod text;

pub use shape::ShapeReport;
