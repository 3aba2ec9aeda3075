//! What kinds of values there are, and within which bounds they lie.

use super::Section;

/// What kind of value a key has.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// A whole number.
    Whole(Bounds),
    /// A number of these.
    Number(&'static str, Bounds),
    /// A length, m.
    Length(Bounds),
    /// A place along the bed, from the headstock end, m.
    Place,
    /// A slope, m/m.
    Slope(Bounds),
    /// A mass, kg.
    Mass(Bounds),
    /// A part of a turn, turns.
    PartOfTurn,
    /// Yes or no.
    Flag,
    /// One of these words.
    Word(fn() -> Vec<&'static str>),
    /// Any words.
    Text,
    /// A day, or a day and a time.
    Date,
    /// A reading of a level.
    Reading,
    /// A lowest and a highest one.
    Pair(&'static Kind),
    /// Any number of these.
    List(&'static Kind),
    /// A table that stands once.
    Table(&'static Section),
    /// Tables of which there may be several.
    Tables(&'static Section),
    /// One or the other.
    Either(&'static Kind, &'static Kind),
}

/// Between which two values a number lies, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// No value lies below it.
    pub least: f64,
    /// No value lies above it.
    pub most: f64,
    /// Whether the least value itself is too small.
    pub above: bool,
}

/// Nothing about a bed is longer, m.
const LONGEST: f64 = 1000.0;

/// No bed, way spacing or level is shorter, m.
const SHORTEST: f64 = 0.01;

/// No bed that wants levelling is steeper, m/m.
const STEEPEST: f64 = 0.1;

/// No machine is heavier, kg.
const HEAVIEST: f64 = 1e7;

impl Bounds {
    /// Any number.
    pub const ANY: Self = Self::new(-f64::MAX, f64::MAX);
    /// Any number above zero.
    pub const POSITIVE: Self = Self::above_zero(f64::MAX);

    /// From `least` to `most`, both allowed.
    pub const fn new(least: f64, most: f64) -> Self {
        Self {
            least,
            most,
            above: false,
        }
    }

    /// Above zero, up to `most`.
    pub const fn above_zero(most: f64) -> Self {
        Self {
            least: 0.0,
            most,
            above: true,
        }
    }

    /// Whether a value lies within them.
    pub fn contain(&self, value: f64) -> bool {
        value <= self.most && (value > self.least || (value >= self.least && !self.above))
    }
}

impl Kind {
    /// A length of either sign.
    pub const LENGTH: Self = Self::Length(Bounds::new(-LONGEST, LONGEST));
    /// A length above zero.
    pub const SIZE: Self = Self::Length(Bounds::above_zero(LONGEST));
    /// A length measured away from something.
    pub const DISTANCE: Self = Self::Length(Bounds::new(0.0, LONGEST));
    /// A length of something as large as a level or a bed.
    pub const EXTENT: Self = Self::Length(Bounds::new(SHORTEST, LONGEST));
    /// A slope of either sign.
    pub const SLOPE: Self = Self::Slope(Bounds::new(-STEEPEST, STEEPEST));
    /// A slope above zero.
    pub const GRADE: Self = Self::Slope(Bounds::above_zero(STEEPEST));
    /// A mass above zero.
    pub const MASS: Self = Self::Mass(Bounds::above_zero(HEAVIEST));

    /// The tables of this kind.
    pub fn section(&self) -> Option<&'static Section> {
        match self {
            Self::Table(section) | Self::Tables(section) => Some(section),
            Self::Either(one, other) => one.section().or(other.section()),
            Self::List(kind) => kind.section(),
            _ => None,
        }
    }
}
