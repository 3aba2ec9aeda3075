//! Runs the built program and compares all that it prints.

mod cut;
mod failures;
mod machine;
mod meddling;
mod mend;
mod new;
mod paperwork;
mod plots;
mod program;
mod readings;
mod readme;
mod rehearse;
mod round;
mod saving;
mod settle;
mod shape;
mod sheet;
mod short_pass;
mod terminal;
mod turned;
mod turns;
