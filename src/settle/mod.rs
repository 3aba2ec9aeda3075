//! What moved by itself between passes.
//!
//! Floors sink, castings settle, anchors are pulled down: between two passes with nothing turned the bed may
//! have changed, or the readings may only scatter. The passes may have been taken with any levels at any
//! stations; each keeps zero errors of its own, and the bed may lean as a whole.
//!
//! * [`stretch`] finds the passes between which nothing was turned.
//! * [`movement`] is what lies between two passes as a surface of its own.
//! * [`moved`] is what changed of twist and crown, and at every place.
//! * [`trace`] follows twist and crown through the passes.
//! * [`rate`] is how fast they go, [`approach`] whether they come to rest.
//! * [`floor`] finds the foot whose floor sinks.
//! * [`warmth`] is what a bed does that is warmer on top than below.
//! * [`again`] says when to look again, by what `margins` finds left to the limits.
//! * [`settlement`] puts them together.

pub mod again;
pub mod approach;
pub mod floor;
mod margins;
pub mod moved;
pub mod movement;
pub mod rate;
pub mod settlement;
pub mod stretch;
pub mod trace;
pub mod warmth;

pub use crate::geometry::Change;
pub use again::Again;
pub use approach::{Approach, NoApproach};
pub use floor::Sinking;
pub use moved::{Moved, PlaceChange};
pub use rate::Rate;
pub use settlement::{NoSettlement, Settlement, Step, StepKind};
pub use trace::{Quantity, Trace};
pub use warmth::Warmth;
