//! Runs the built program and compares all that it prints.

mod cut;
mod failures;
mod plots;
mod program;
mod readme;
mod shape;
mod turns;
