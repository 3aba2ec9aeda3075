//! From readings to the shape of the bed.
//!
//! * [`least_squares`] adjusts weighted observations by QR.
//! * [`bay`] walks the closed loops between cross stations.
//! * [`closure`] says whether the readings fit each other.
//! * [`complement`] is what is at right angles to some columns.
//! * [`layout`] says how a bed bends and twists between the places that were read.
//! * [`observation`] makes rows of readings.
//! * [`belief`] is what is thought of a bed's roughness before it was read.
//! * [`smoothness`] estimates how rough the bed is between them.
//! * [`held`] says what of that the readings leave open.
//! * [`rise`] is what a level lies on: a function of two heights.
//! * `rows` writes readings as functions of the unknowns.
//! * `bounds` says when a reading off the scale counts.
//! * `chained` says which cross readings have no say in the heights of ways walked end to end.
//! * [`adjustment`] puts all readings of a pass together.
//! * [`sight`] writes what figures are made of as functions of the unknowns.
//! * [`shape`] reads cross slopes, ways, twist and crown out of an adjustment.
//! * [`stations`] are good places to read.
//! * [`suspects`] names a reading that does not fit, and what probably went wrong.
//! * [`warmth`] is what a bed does that is warmer on top than below.
//! * [`weighing`] says how credible a pass would be with some readings changed.
//! * [`reference_line`] measures straightness against the three lines of ISO 230-1.
//! * `draws` are the random numbers for it, the same in every run.
//! * [`extreme`] gives ranges and largest departures an honest uncertainty.
//! * [`figure`] is a number with its uncertainty, and its verdict against a limit.
//! * [`forecast`](mod@forecast) says what stations will tell before they are read.
//! * [`settling`](mod@settling) says what would settle a verdict that is too close to call.
//! * [`local`] measures any part of the bed, [`convex`] whether a way is convex, [`particulars`] whatever else
//!   the limits and the aim ask for.
//! * [`judgement`] holds the shape against the survey's limits.
//! * [`joint`] puts two passes on one surface, the second with what it may have moved; [`differences`] is what they disagree
//!   about, and [`change`] tests whether they can have seen the same bed.
//! * [`passes`] works all that out once for every pass.

pub mod adjustment;
pub mod bay;
pub mod belief;
mod bounds;
mod chained;
pub mod change;
pub mod closure;
pub mod complement;
pub mod convex;
pub mod differences;
pub(crate) mod draws;
pub mod extreme;
pub mod figure;
pub mod forecast;
pub mod held;
pub mod joint;
pub mod judgement;
pub mod layout;
pub mod least_squares;
pub mod likelihood;
pub mod local;
pub mod network;
pub mod observation;
pub mod particulars;
pub mod passes;
pub mod reference_line;
pub mod rise;
mod rows;
pub mod settling;
pub mod shape;
pub mod sight;
pub mod smoothness;
pub mod stations;
pub mod suspects;
pub mod warmth;
pub mod weighing;

pub use adjustment::{Adjustment, Refusal};
pub use bay::Bay;
pub use change::Change;
pub use closure::{Check, Closure, Drift, GlobalTest, Repeats};
pub use convex::Convexity;
pub use figure::{Figure, Verdict};
pub use forecast::{Forecast, LocalForecast, WayForecast, forecast};
pub use judgement::Judgement;
pub use layout::{Layout, Roughness};
pub use least_squares::{Adjusted, LeastSquares};
pub use local::{LocalStraightness, LocalWay};
pub use observation::{Observation, Observations, Stations};
pub use particulars::Particulars;
pub use passes::{Passes, Told, Untold};
pub use reference_line::ReferenceLine;
pub use rise::Rise;
pub use settling::{Remedy, Settling, Subject, settling};
pub use shape::{BedShape, CrossSlope, Way, WayPoint, ZeroError};
pub use suspects::{Evidence, Slip, Suspect, Suspects};
pub use warmth::Warmth;
