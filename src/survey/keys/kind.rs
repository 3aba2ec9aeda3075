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
}

/// Nothing about a bed is longer, m.
const LONGEST: f64 = 1000.0;

/// No bed, way spacing or level is shorter, m.
const SHORTEST: f64 = 0.01;

/// Nothing that is measured on a bed is smaller, m: a hundredth of a micrometre.
pub(super) const SMALLEST: f64 = 1e-8;

/// No bar that is turned is thinner, m.
const THINNEST: f64 = 1e-3;

/// No level shows less, m/m: a millionth of a millimetre over a metre.
const FLATTEST: f64 = 1e-9;

/// No machine is lighter, kg.
const LIGHTEST: f64 = 1e-3;

/// No bed that wants levelling is steeper, m/m.
const STEEPEST: f64 = 0.1;

/// No machine is heavier, kg.
const HEAVIEST: f64 = 1e7;

impl Bounds {
    /// Any number.
    pub const ANY: Self = Self::new(-f64::MAX, f64::MAX);
    /// A number of divisions: no level shows fewer than a thousandth of one, or more than a million.
    pub const DIVISIONS: Self = Self::new(1e-3, 1e6);

    /// From `least` to `most`, both allowed.
    pub const fn new(least: f64, most: f64) -> Self {
        Self { least, most }
    }

    /// Whether a value lies within them.
    pub fn contain(&self, value: f64) -> bool {
        (self.least..=self.most).contains(&value)
    }
}

impl Kind {
    /// A length of either sign.
    pub const LENGTH: Self = Self::Length(Bounds::new(-LONGEST, LONGEST));
    /// A length above zero.
    pub const SIZE: Self = Self::Length(Bounds::new(SMALLEST, LONGEST));
    /// The diameter of a bar.
    pub const DIAMETER: Self = Self::Length(Bounds::new(THINNEST, LONGEST));
    /// A length measured away from something.
    pub const DISTANCE: Self = Self::Length(Bounds::new(0.0, LONGEST));
    /// A length of something as large as a level or a bed.
    pub const EXTENT: Self = Self::Length(Bounds::new(SHORTEST, LONGEST));
    /// A slope of either sign.
    pub const SLOPE: Self = Self::Slope(Bounds::new(-STEEPEST, STEEPEST));
    /// A slope above zero.
    pub const GRADE: Self = Self::Slope(Bounds::new(FLATTEST, STEEPEST));
    /// A mass above zero.
    pub const MASS: Self = Self::Mass(Bounds::new(LIGHTEST, HEAVIEST));

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
