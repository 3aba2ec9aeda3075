//! What a test cut tells of the machine.
//!
//! A twisted bed rolls the carriage, so that the tool comes nearer to the work or farther from it: along the
//! bed the diameter changes by twice the centre height times the change of cross slope. A slewed headstock
//! looks just the same on one bar. The level tells them apart: the taper less what the surveyed twist
//! explains is the headstock's, or, between centres, the tailstock's.
//!
//! * [`bar`] is the bar as it was measured, with every diameter's uncertainty.
//! * [`taper`] finds the straight taper and the barrel of a bar, and how sure they are.
//! * [`explained`] is what the surveyed bed does to the same collars.
//! * [`deflection`] says how far a bar gives way under the tool.
//! * [`straightness`] says whether the collars lie on one straight taper.
//! * [`conclusion`] puts them together, or says why nothing may be concluded.
//! * [`agreement`] says whether other cuts and faced discs say the same of the spindle.
//! * [`chosen_twist`] proposes the twist that would cancel what is left.

pub mod agreement;
pub mod bar;
pub mod chosen_twist;
pub mod conclusion;
pub mod deflection;
pub mod explained;
pub mod straightness;
pub mod taper;

pub use agreement::{Testimony, Witness};
pub use bar::Bar;
pub use chosen_twist::ChosenTwist;
pub use conclusion::{Conclusion, Found, Left, NoConclusion};
pub use explained::{Explained, NotExplained};
pub use straightness::Departure;
pub use taper::{NoTaper, Taper};
