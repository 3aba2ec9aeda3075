//! From a shape and a response to turns for every foot.
//!
//! * [`card`] is the card to work from, and what the turns should leave.
//! * [`advice`] is what the plan has to say beside the turns.

pub mod advice;
pub mod card;

pub use advice::Advice;
pub use card::{Action, CardLine, FootLoad, Prediction, Proof, TurnPlan, Watch};
