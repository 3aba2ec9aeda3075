//! The screw of a foot: its thread, its play and its travel.

use crate::survey::Foot;

/// Degrees of a turn.
pub(super) const TURN: f64 = 360.0;

/// A screw as it really is.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Screw {
    /// What one turn really lifts, m.
    lift_per_turn: f64,
    /// What it turns without lifting when reversed, turns.
    backlash: f64,
    /// How far it is turned, turns from the start.
    turned: f64,
    /// Where in its play it sits: at `backlash` it lifts at once, at 0 it lowers at once, turns.
    play: f64,
    /// Travel downwards and upwards, turns from the start.
    travel: [f64; 2],
    /// How much it has lifted, m.
    lift: f64,
}

impl Screw {
    /// A screw that last lifted.
    pub fn new(foot: &Foot, lift_per_turn: f64, backlash_degrees: f64) -> Self {
        let backlash = backlash_degrees / TURN;
        Self {
            lift_per_turn,
            backlash,
            turned: 0.0,
            play: backlash,
            travel: [
                foot.lowest_turns.unwrap_or(f64::NEG_INFINITY),
                foot.highest_turns.unwrap_or(f64::INFINITY),
            ],
            lift: 0.0,
        }
    }

    /// How much it has lifted since the start, m.
    pub fn lift(&self) -> f64 {
        self.lift
    }

    /// Turns it, up positive; returns what the end of its travel left undone, turns.
    pub fn turn(&mut self, turns: f64) -> f64 {
        let [lowest, highest] = self.travel;
        let wanted = self.turned + turns;
        let goal = wanted.max(lowest).min(highest);
        let undone = wanted - goal;
        let wanted = self.play + (goal - self.turned);
        self.turned = goal;
        self.play = wanted.clamp(0.0, self.backlash);
        self.lift += self.lift_per_turn * (wanted - self.play);
        undone
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::{Clockwise, Side};

    fn foot(travel: Option<f64>) -> Foot {
        Foot {
            name: "F1".to_string(),
            side: Side::Front,
            at: 0.1,
            across: 0.2,
            lift_per_turn: 0.0015,
            clockwise: Clockwise::Raises,
            smallest_turn: 0.25,
            lowest_turns: travel.map(|turns| -turns),
            highest_turns: travel,
            kind: None,
            hold_down: None,
            lock_nut: None,
        }
    }

    #[test]
    fn a_reversal_loses_the_backlash_once() {
        let mut screw = Screw::new(&foot(None), 0.001, 36.0);
        let mut lifted_by = |turns: f64| {
            let before = screw.lift();
            screw.turn(turns);
            screw.lift() - before
        };
        for (turns, want) in [
            (1.0, 1.0e-3),
            (-1.0, -0.9e-3),
            (-1.0, -1.0e-3),
            (0.05, 0.0),
            (0.05, 0.0),
            (0.5, 0.5e-3),
        ] {
            let got = lifted_by(turns);
            assert!((got - want).abs() < 1e-15, "{turns}: {got}");
        }
    }

    #[test]
    fn travel_ends() {
        let mut screw = Screw::new(&foot(Some(2.0)), 0.001, 0.0);
        assert!((screw.turn(5.0) - 3.0).abs() < 1e-15);
        assert!((screw.lift() - 0.002).abs() < 1e-15);
        assert!((screw.turn(-5.0) + 1.0).abs() < 1e-15);
        assert!((screw.lift() + 0.002).abs() < 1e-15);
    }
}
