//! What a turned foot does to the bed.
//!
//! * [`model`] says what the bed is: a beam in bending and torsion on elastic feet.
//! * [`reach`] holds the two reaches, which stand in for a drawing of the casting.
//! * [`survey_bed`] makes the model from a survey and the reaches.
//! * [`linked`] answers for a bed whose feet push and pull.
//! * [`contact`] answers for a bed whose feet may hang.
//! * [`bearing`] tells how a bed that only rests bears on its feet, from its form: `flexibility` is what loads bend and
//!   twist, `load_rows` what is known of them.
//! * [`loads`] says what every foot carries before and after its turns.
//! * [`history`] is the bed as all rounds show it; `rounds` is what the file tells of them,
//!   `learning` works the bed out of it, `answering` is how a bed of which this and that is unknown answers its
//!   feet, `slopes` is what a level sees of it.
//! * `mesh` cuts the beam into elements, `banded` solves for them, `equilibrium` finds the feet that carry.

mod answering;
mod banded;
pub mod bearing;
pub mod contact;
mod equilibrium;
mod flexibility;
pub mod history;
mod learning;
pub mod linked;
mod load_rows;
pub mod loads;
mod mesh;
pub mod model;
pub mod reach;
mod rounds;
mod slopes;
pub mod survey_bed;

pub use bearing::Bearing;
pub use contact::{Hanging, Stance, Standing};
pub use history::{Answer, History, NoHistory};
pub use linked::BedResponse;
pub use loads::{Carried, FootLoad, FootLoads, NoLoads};
pub use model::{BedModel, PointLoad, Stretch, Support, Unsupported};
pub use reach::Reaches;
pub use rounds::lifts;

/// A place on the bed, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Distance from the headstock end, m.
    pub at: f64,
    /// Distance from the centre line, m, front positive.
    pub across: f64,
}
