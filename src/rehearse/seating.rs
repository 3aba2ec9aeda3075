//! A hanging foot, turned until it just carries.

use super::virtual_bed::VirtualBed;

/// How far a hand turns a screw between two feels for the first force, quarter-turns: two degrees.
const FEELING_STEP: f64 = 2.0 / 90.0;

/// A hand gives up after this many quarter-turns.
const MOST_TURNS: f64 = 40.0;

impl VirtualBed {
    /// Raises a foot until it just carries; returns what the hand counted, quarter-turns.
    ///
    /// # Panics
    ///
    /// When there is no such foot.
    pub fn seat(&mut self, foot: usize) -> f64 {
        let mut counted = 0.0;
        while !self.stance.carries[foot] && counted < MOST_TURNS {
            let undone = self.move_screw(foot, FEELING_STEP);
            counted += FEELING_STEP - undone;
            if undone > 0.0 {
                break;
            }
        }
        counted
    }
}
