//! Levels a machine bed: readings of a precision level in, turns for every foot out.
//!
//! Data flows one way through the rooms of this library:
//! survey text → [`survey::Survey`] → [`geometry`] → [`response`] → [`plan`] → [`report`].
//!
//! Inside, every length is in metres, every slope in metres per metre, every mass in kilograms and
//! every force in newtons; only [`survey`] and [`report`] convert. `at` is measured along the bed from
//! the headstock end; across the bed the front (the operator's side) is positive; up is positive.

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
