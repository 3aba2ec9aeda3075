//! Drawings of the bed, of the feet and of the rounds.
//!
//! What is to be seen, its scales, ticks and lines, is settled once; characters and SVG draw the same.
//!
//! * [`ticks`] finds round numbers, [`axis`] sets them along an axis, [`chart`] is what stands between two axes.
//! * [`profiles`] makes charts of the cross slope and of both ways.
//! * [`mod@plot`] draws charts in characters on a `canvas`.

pub mod axis;
mod canvas;
pub mod chart;
pub mod plot;
pub mod profiles;
pub mod ticks;

pub use axis::{Axis, Tick};
pub use chart::Chart;
pub use plot::{Characters, heading, legend, plot};
pub use profiles::Seen;
pub use ticks::Ticks;
