//! A made-up bed that answers turns with readings, to practise the whole loop and to try plans against.
//!
//! * [`scatter`] says how far a made-up machine and the hands at it stray from what a planner assumes.
//! * [`casting`] is its bed, worked out another way than the planner's, with shear, ribs that twist it and a section that changes.
//! * [`virtual_bed`] is the machine: floor, feet, casting, wear, and the screws that are turned.
//! * [`readings`] lays a level on it, as a person would, and writes a pass.
//! * [`watching`] turns a screw by count and then by the bubble.
//! * [`slips`] makes the mistakes that people make when they write readings down.
//! * `seating` turns a hanging foot until it just carries.
//! * `floor`, `screw` and `wear` are its parts.

pub mod casting;
mod floor;
pub mod readings;
pub mod scatter;
mod screw;
mod seating;
pub mod slips;
pub mod virtual_bed;
pub mod watching;
mod wear;

pub use readings::Stations;
pub use scatter::Scatter;
pub use slips::Slip;
pub use virtual_bed::{CannotStand, VirtualBed};
pub use watching::{Turned, Watch};
