//! Prints results and computes nothing.
//!
//! * [`shape`] holds what is known of the shape of the bed, [`cut`] what a test cut says.
//! * [`text`] tells it in words and tables, [`json`] for other programs.

pub mod cut;
pub mod json;
pub mod shape;
pub mod text;

pub use cut::CutReport;
pub use shape::ShapeReport;
