//! From a shape and a response to turns for every foot.
//!
//! * [`departures`] lists what a bed may be wrong in; [`objective`] weighs it in shares of the limits.
//! * `steps` puts it as an integer least-squares problem and has it solved.
//! * `watch` chooses the reading that says when to stop, `going_round` those to look at when all is turned.
//! * `choosing` takes the turns after which the next pass is most likely to prove the limits kept, a `chance`.
//! * `resting` plans in loads where a bed only rests on its feet.
//! * `footing` is the bed on its feet, some of which may hang: how it goes with them and what they carry; `loads` tells
//!   that before and after the turns.
//! * `pulled_down` tells what the anchors moved.
//! * `standing` is where the bed stands against its limits, `judged` what the last pass says by itself.
//! * `prediction` gives the figures that turns should leave, `held_against` holds them against the limits.
//! * [`trips`] puts it in order, `advising` says what goes with it, [`turns`] makes the plan of both.
//! * [`minutes`] is what it all costs at the machine; [`next_pass`] is what to read next for the fewest of them, at some of the
//!   `spots`, packed with a `strip`.
//! * [`first_pass`] reads a machine that was never read, [`mod@to_read`] says what is to be read of a file as it stands.
//! * `facing` is the bed from one of its corners, so that the names of its sides and ends do not change its turns.
//! * `midway` is the bed in the middle of a round, where the rest of it is planned anew.
//! * `hazards` are what can hurt whoever works from the card.
//! * [`expected`] is the shape they should leave, place by place.
//! * [`card`] is that card, [`advice`] what the plan has to say beside it.

pub mod advice;
mod advising;
pub mod card;
mod chance;
mod choosing;
pub mod departures;
pub mod expected;
mod facing;
pub mod first_pass;
mod footing;
mod going_round;
mod hazards;
mod held_against;
mod judged;
mod loads;
mod midway;
pub mod minutes;
pub mod next_pass;
pub mod objective;
mod prediction;
mod pulled_down;
mod resting;
mod spots;
mod standing;
mod steps;
mod strip;
pub mod to_read;
pub mod trips;
pub mod turns;
mod watch;

pub use advice::Advice;
pub use card::{
    Action, CardLine, FootLoad, LOOK_AGAIN_REACH, Look, Prediction, Proof, THREAD_SLACK, TurnPlan,
    Watch, overrun,
};
pub use expected::{ExpectedShape, Moved};
pub use first_pass::{FirstPass, first_passes};
pub use going_round::TIMES_ROUND;
pub use hazards::Hazard;
pub use midway::midway;
pub use next_pass::NextPass;
pub use strip::strip_under;
pub use to_read::{ToRead, to_read};
pub use trips::LARGEST_TRIP;
pub use turns::{NoPlan, after, plan};
