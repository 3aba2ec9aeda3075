//! Words of the trade for sides, forms and limits.

use super::prose::TIE;
use super::scale::Scale;
use crate::geometry::Figure;
pub(in crate::report) use crate::report::words::side;
use crate::survey::{Line, Side};

/// The name of the side across.
pub(in crate::report) fn other_side(side: Side) -> &'static str {
    match side {
        Side::Front => "rear",
        Side::Rear => "front",
    }
}

/// What a departure from the line is called.
pub(in crate::report) fn form(departure: f64) -> &'static str {
    if departure < 0.0 { "sag" } else { "crown" }
}

/// The interval of a figure that has no sign.
pub(in crate::report) fn between(figure: &Figure, scale: &Scale) -> String {
    if figure.high.is_infinite() {
        return format!("{} at least", scale.number(figure.low));
    }
    format!(
        "between {} and{TIE}{}",
        scale.number(figure.low),
        scale.number(figure.high)
    )
}

/// The interval of a crown; one that reaches both ways says so.
pub(in crate::report) fn crown_between(crown: &Figure, scale: &Scale) -> String {
    let size = |end: f64| scale.number(end.abs());
    if crown.low < 0.0 && crown.high > 0.0 {
        return format!(
            "between sag{TIE}{} and crown{TIE}{}",
            size(crown.low),
            size(crown.high)
        );
    }
    let (near, far) = if crown.value < 0.0 {
        (crown.high, crown.low)
    } else {
        (crown.low, crown.high)
    };
    format!("between {} and{TIE}{}", size(near), size(far))
}

/// What the limits of the crown allow.
pub(in crate::report) fn crown_limit([lowest, highest]: [f64; 2], scale: &Scale) -> String {
    if lowest == 0.0 {
        format!("no sag, crown up to {}", scale.limit(highest))
    } else if highest == 0.0 {
        format!("no crown, sag up to {}", scale.limit(-lowest))
    } else {
        format!(
            "from {} {} to {} {}",
            form(lowest),
            scale.limit(lowest.abs()),
            form(highest),
            scale.limit(highest.abs())
        )
    }
}

/// What a reading of this line is called.
pub(in crate::report) fn reading_of(line: Line, reversed: bool) -> &'static str {
    match (line, reversed) {
        (Line::Cross, false) => "cross",
        (Line::Cross, true) => "reversed cross",
        (Line::Front, false) => "front",
        (Line::Front, true) => "reversed front",
        (Line::Rear, false) => "rear",
        (Line::Rear, true) => "reversed rear",
    }
}

/// A count and its noun.
pub(in crate::report) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number}{TIE}{}", if number == 1 { one } else { many })
}
