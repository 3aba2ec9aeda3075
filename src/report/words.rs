//! Words that text and JSON share.

use crate::survey::{Clockwise, Foot, Side, Word};

/// The word for the way a foot's screw goes round, seen from above, to raise (`true`) or lower the bed.
///
/// ```
/// use quarterturn::report::words::way_round;
/// use quarterturn::survey::Clockwise;
///
/// assert_eq!(way_round(Clockwise::Raises, true), "clockwise");
/// assert_eq!(way_round(Clockwise::Lowers, true), "anticlockwise");
/// ```
pub fn way_round(clockwise: Clockwise, raises: bool) -> &'static str {
    if (clockwise == Clockwise::Raises) == raises {
        "clockwise"
    } else {
        "anticlockwise"
    }
}

/// The same for this foot and a signed number of quarter-turns; `None` for none.
pub fn way_of_turn(foot: &Foot, quarter_turns: f64) -> Option<&'static str> {
    (quarter_turns != 0.0).then(|| way_round(foot.clockwise, quarter_turns > 0.0))
}

/// The name of a side.
pub fn side(side: Side) -> &'static str {
    side.word()
}
