//! Levels a machine bed: readings of a precision level in, turns for every foot out.
//!
//! Data flows one way through the rooms of this library:
//! survey text → [`survey::Survey`] → [`geometry`] → [`response`] → [`plan`] → [`report`].
//!
//! ```
//! use quarterturn::{plan, survey};
//!
//! let text = include_str!("../demo-data/eight-foot-lathe.toml");
//! let survey = survey::read(text).expect("no mistakes, or all of them with their places");
//! let last = survey.passes.len() - 1;
//! let plan = plan::plan(&survey, last).expect("readings that show how the bed lies");
//! for line in &plan.lines {
//!     let foot = &survey.feet[line.foot];
//!     println!("{} {:+.3} quarter-turns, {:+.3} mm", foot.name, line.quarter_turns, 1e3 * line.lift);
//!     // A quarter-turn lifts a quarter of what a whole turn does.
//!     assert!((line.lift - line.quarter_turns * foot.lift_per_turn / 4.0).abs() < 1e-12);
//! }
//! assert!(plan.lines.iter().any(|line| line.quarter_turns != 0.0));
//! ```
//!
//! Inside, every length is in metres, every slope in metres per metre, every mass in kilograms and
//! every force in newtons; only [`survey`] and [`report`] convert. `at` is measured along the bed from
//! the headstock end; across the bed the front (the operator's side) is positive; up is positive.
//! What a survey may say is listed in [`survey::keys`].
//!
//! # Where the numbers come from
//!
//! - **Slopes and heights:** all readings of a pass are adjusted together by least squares, as a levelling network is,
//!   with one zero error of the level across and one along. Between the readings the surface bends and
//!   twists as smoothly as suits them best. The heights of ways that were walked end to end owe nothing to that: they
//!   are the readings added up, checked by the cross readings at the ends of the level.
//! - **Straightness and crown** are measured from the line through a way's ends; `--reference` takes the other two of
//!   ISO 230-1. Twist is the range of the cross slope.
//! - **Uncertainties** hold 95 times in 100 and come from the scatter of the readings, how finely they were read, and how
//!   well they close. Noise can only widen a range, so an interval does not lie evenly about its figure.
//! - **Verdicts** follow ISO 14253-1: inside only if the whole interval is, outside only if none of it is.
//! - **The bed's answer** is a beam in bending and torsion on elastic feet, usual stiffnesses to begin with, then what the
//!   rounds in the file have shown: how far bending and twist reach, how stiff each foot is beside the others, and what
//!   share of its lift arrives.
//! - **Turns** are whole degrees where a bubble stops the hand, whole steps of `smallest_turn` where it only counts, found by
//!   an exact integer search, or with the gap that remains. Far from the limits they leave the least, mean square; near them
//!   they are those after which the next pass is most likely to prove every limit kept, and where reading again is about as
//!   likely to do so, nothing is turned. No foot goes further than 0.4 mm in one walk (US Army TM 38-260, 7-5: 0.25 to 0.38 mm
//!   at a time). Turns after which the level could not be read are planned anew, with its scale in mind.
//! - **A bed that only rests on its feet** is planned with the feet that carry it on every line of the card, when the machine's
//!   mass is given: a foot that is raised takes the load off its neighbours, and once they hang it moves the bed more. A foot
//!   that would hang in the end is asked to carry. The loads all this begins with are a guess: feel every foot, and list
//!   what hangs in `hanging`.
//! - **What to watch** is the reading that leaves the least doubt about the whole bed, in the divisions of the level in hand,
//!   its zero error left in. The readings to go round at the end are those that, all right at once, leave least of what the
//!   bed answered otherwise than thought.
//! - **The limits hold for the bed**, not for what was read of it: where one way was read further than the other, `turns` judges
//!   both as far, and is the less sure of the part that was not read.
//!
//! `cargo run --release --example coverage` measures on made-up beds how often the intervals hold, and
//! `cargo run --release --example rounds` how many rounds it takes.

pub mod cli;
pub mod cut;
pub mod geometry;
pub mod plan;
pub mod rehearse;
pub mod report;
pub mod response;
pub mod settle;
pub mod solver;
pub mod survey;
pub mod work;
