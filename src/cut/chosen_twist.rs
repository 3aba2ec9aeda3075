//! The twist that would make the machine cut straight.
//!
//! With the tool at the front a twist of t per length of bed changes the diameter by -2 · centre height · t
//! per length, so what is left after the surveyed twist is taken off is cancelled by
//! `t = left / (2 · centre height)`, with the tool at the rear by the opposite.

use crate::geometry::Figure;
use crate::survey::Side;

/// Largest share of the limit on twist that a chosen twist may take: the other half stays for what steps and
/// readings leave. A headstock that wants more is slewed back instead.
pub const LARGEST_SHARE: f64 = 0.5;

/// Whether to aim the bed's twist at the headstock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ChosenTwist {
    /// What is left could be nothing.
    NothingToCancel,
    /// Aim at this twist: cross slope at the tailstock end minus that at the headstock end, m/m.
    Aim {
        /// The twist.
        twist: Figure,
    },
    /// It would take too much of the limit: slew the headstock.
    SlewHeadstock {
        /// The twist it would take, m/m.
        twist: Figure,
        /// The most that may be chosen, m/m.
        most: f64,
    },
    /// Without a limit on twist nobody can say how much may be chosen.
    NoLimit {
        /// The twist it would take, m/m.
        twist: Figure,
    },
}

impl ChosenTwist {
    /// What to aim at when `left` (diameter over length, m/m) stays after the surveyed twist is taken off.
    ///
    /// ```
    /// use quarterturn::cut::ChosenTwist;
    /// use quarterturn::geometry::Figure;
    /// use quarterturn::survey::Side;
    ///
    /// // 0.012 mm over 300 mm at a centre height of 300 mm is 0.02 mm/m over those 300 mm, so 0.2 mm/m over
    /// // a bed of 3 m: far too much to choose.
    /// let left = Figure::normal(0.012e-3 / 0.3, 1e-6);
    /// let chosen = ChosenTwist::cancelling(left, 0.3, Side::Front, 3.0, Some(0.04e-3));
    /// let ChosenTwist::SlewHeadstock { twist, most } = chosen else { panic!("{chosen:?}") };
    /// assert!((twist.value - 0.2e-3).abs() < 1e-9 && most == 0.02e-3);
    /// ```
    pub fn cancelling(
        left: Figure,
        centre_height: f64,
        tool: Side,
        bed_length: f64,
        limit: Option<f64>,
    ) -> Self {
        if left.value.abs() <= left.u95 {
            return Self::NothingToCancel;
        }
        let per_left = bed_length / (2.0 * centre_height)
            * match tool {
                Side::Front => 1.0,
                Side::Rear => -1.0,
            };
        let ends = [left.low * per_left, left.high * per_left];
        let twist = Figure {
            value: left.value * per_left,
            u95: left.u95 * per_left.abs(),
            low: ends[0].min(ends[1]),
            high: ends[0].max(ends[1]),
        };
        match limit.map(|limit| limit * LARGEST_SHARE) {
            None => Self::NoLimit { twist },
            Some(most) if twist.value.abs() > most => Self::SlewHeadstock { twist, most },
            Some(_) => Self::Aim { twist },
        }
    }
}
