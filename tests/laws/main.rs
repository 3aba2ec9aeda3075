//! What the library has to hold: laws, values published elsewhere, second ways to the same number. One program, for what they
//! share is compiled once.

mod adjustment_laws;
mod beam_laws;
mod beams;
mod bearing;
mod cards;
mod closure;
mod gaps;
mod honesty;
mod limits;
mod loads;
mod mirrored;
mod networks;
mod plan;
mod regressions;
mod resting;
mod settling;
mod shape_of_passes;
mod solver;
mod survey_edits;
mod survey_files;
mod survey_laws;
mod test_cuts;
mod two_levels;
mod virtual_bed;
mod work;

#[path = "../made_up/mod.rs"]
mod made_up;
