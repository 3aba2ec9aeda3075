//! Prints results and computes nothing.
//!
//! * [`shape`] holds what is known of the shape of the bed, [`turns`] what is to be turned, [`cut`] what a
//!   test cut says, [`settle`] what moved by itself, [`forecast`] what a pass will tell.
//! * [`words`] are those that text and JSON share.
//! * [`draw`] draws the bed, the feet and the rounds, in characters and as SVG.
//! * [`text`] tells it in words and tables, [`json`] for other programs, [`sheet`] on pages to print.

pub mod cut;
pub mod draw;
pub mod forecast;
pub mod json;
pub mod settle;
pub mod shape;
pub mod sheet;
pub mod text;
pub mod turns;
pub mod words;

pub use cut::CutReport;
pub use forecast::ForecastReport;
pub use settle::SettleReport;
pub use shape::ShapeReport;
pub use turns::TurnsReport;
