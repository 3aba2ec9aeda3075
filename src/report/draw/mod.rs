//! Drawings of the bed, of the feet and of the rounds.
//!
//! What is to be seen, its scales, ticks and lines, is settled once; characters and SVG draw the same.
//!
//! * [`ticks`] finds round numbers, [`axis`] sets them along an axis, [`chart`] is what stands between two axes.
//! * [`profiles`] makes charts of the cross slope and of both ways, [`mod@rounds`] of what comes from pass to pass.
//! * [`mod@plot`] draws charts in [`characters`] on a `canvas`, [`mod@legend`] says what they mean.
//! * [`drawing`] is a sheet of paper with lines and words on it, [`svg`] writes it down.
//! * [`mod@chart_drawing`] draws charts on it, [`mod@bed`] the exaggerated bed, [`mod@plan_view`] the feet and
//!   their turns, [`mod@stations`] where the level goes.

pub mod axis;
pub mod bed;
mod canvas;
pub mod characters;
pub mod chart;
pub mod chart_drawing;
pub mod drawing;
pub mod legend;
pub mod plan_view;
pub mod plot;
pub mod profiles;
pub mod rounds;
pub mod stations;
pub mod svg;
pub mod ticks;

pub use axis::{Axis, Tick};
pub use bed::bed;
pub use characters::Characters;
pub use chart::Chart;
pub use chart_drawing::chart_drawing;
pub use drawing::Drawing;
pub use legend::{heading, legend};
pub use plan_view::plan_view;
pub use plot::plot;
pub use profiles::{Seen, cut};
pub use rounds::{Round, rounds};
pub use stations::{Leg, bubble, stations};
pub use ticks::Ticks;
