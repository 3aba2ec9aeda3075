//! Units of length, slope and mass, to and from SI.
//!
//! Every factor is exact: 1 in = 25.4 mm and 1 lb = 0.453 592 37 kg by international agreement of 1959, 1 ft =
//! 12 in, 1 arcsec = π / 648 000 rad. A slope is a ratio of lengths; an angle in arcseconds is taken as its
//! slope, which over the range of a precision level (1 mm/m) differs from the tangent by less than one part in
//! a million.

mod quantity;
mod show;
mod turn;

use std::f64::consts::PI;

use super::model::LengthUnit;

pub use self::quantity::{LENGTH, MASS, Quantity, SLOPE};
pub use self::show::{short_number, show_length, show_range};
pub use self::turn::{
    DEGREES_OF_A_QUARTER, TypedTurn, parse_part_of_turn, parse_turn, show_part_of_turn,
};

/// A unit: how it is written, and what it is in SI as an exact ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// How it is printed, then the other ways of writing it.
    names: &'static [&'static str],
    times: f64,
    over: f64,
}

impl Unit {
    /// How the unit is printed.
    pub fn name(self) -> &'static str {
        self.names.first().copied().unwrap_or_default()
    }

    /// A number of these units in SI.
    pub fn to_si(self, number: f64) -> f64 {
        number * self.times / self.over
    }

    /// An SI value as a number of these units.
    pub fn from_si(self, value: f64) -> f64 {
        value * self.over / self.times
    }
}

/// 0.001 m.
pub const MILLIMETRE: Unit = unit(&["mm"], 1.0, 1e3);
/// 0.000 001 m.
pub const MICROMETRE: Unit = unit(&["um", "µm", "μm"], 1.0, 1e6);
/// 0.01 m.
pub const CENTIMETRE: Unit = unit(&["cm"], 1.0, 1e2);
/// The SI unit of length.
pub const METRE: Unit = unit(&["m"], 1.0, 1.0);
/// 25.4 mm.
pub const INCH: Unit = unit(&["in"], 254.0, 1e4);
/// 12 in.
pub const FOOT: Unit = unit(&["ft"], 3048.0, 1e4);

/// A millimetre over a metre, 0.001.
pub const MILLIMETRE_PER_METRE: Unit = unit(&["mm/m"], 1.0, 1e3);
/// A micrometre over a metre, 0.000 001.
pub const MICROMETRE_PER_METRE: Unit = unit(&["um/m", "µm/m", "μm/m"], 1.0, 1e6);
/// An inch over a foot, 1/12.
pub const INCH_PER_FOOT: Unit = unit(&["in/ft"], 1.0, 12.0);
/// A second of arc, π / 648 000.
pub const ARCSECOND: Unit = unit(&["arcsec", "\"", "″"], PI, 648_000.0);

/// The SI unit of mass.
pub const KILOGRAM: Unit = unit(&["kg"], 1.0, 1.0);
/// 1000 kg.
pub const TONNE: Unit = unit(&["t"], 1e3, 1.0);
/// The pound, 0.453 592 37 kg.
pub const POUND: Unit = unit(&["lb", "lbs"], 45_359_237.0, 1e8);

const fn unit(names: &'static [&'static str], times: f64, over: f64) -> Unit {
    Unit { names, times, over }
}

impl LengthUnit {
    /// The unit of bare lengths.
    pub fn length(self) -> Unit {
        match self {
            Self::Millimetre => MILLIMETRE,
            Self::Inch => INCH,
        }
    }

    /// The unit in which slopes are printed.
    pub fn slope(self) -> Unit {
        match self {
            Self::Millimetre => MILLIMETRE_PER_METRE,
            Self::Inch => INCH_PER_FOOT,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, want: f64, tolerance: f64, source: &str) {
        assert!(
            (got - want).abs() <= tolerance,
            "got {got}, want {want} within {tolerance} ({source})"
        );
    }

    /// Source: arithmetic on the definitions of the units.
    #[test]
    fn slopes_in_seconds_of_arc() {
        let metric = SLOPE.parse("0.02 mm/m", None).unwrap();
        close(
            ARCSECOND.from_si(metric),
            4.125,
            0.0005,
            "0.02 mm/m in arcsec",
        );
        let imperial = SLOPE.parse("0.0005 in/ft", None).unwrap();
        close(
            MILLIMETRE_PER_METRE.from_si(imperial),
            0.041_667,
            0.000_000_5,
            "0.0005 in/ft in mm/m",
        );
        close(
            ARCSECOND.from_si(imperial),
            8.594,
            0.0005,
            "0.0005 in/ft in arcsec",
        );
    }

    /// Source: international yard and pound agreement, 1959; SI brochure for the prefixes.
    #[test]
    fn definitions_are_exact() {
        for (text, metres) in [
            ("1 in", 0.0254),
            ("1 ft", 0.3048),
            ("12 in", 0.3048),
            ("2.5 mm", 0.0025),
            ("20 um", 0.00002),
            ("20 µm", 0.00002),
            ("290 cm", 2.9),
            ("2.9m", 2.9),
            ("0.0005 in", 0.000_012_7),
            ("1/10 IN", 0.002_54),
        ] {
            assert_eq!(LENGTH.parse(text, None), Ok(metres), "{text}");
        }
        assert_eq!(MASS.parse("1 lb", None), Ok(0.453_592_37));
        assert_eq!(MASS.parse("3.1 t", None), Ok(3100.0));
        assert_eq!(SLOPE.parse("0.012 in/ft", None), Ok(0.001));
        assert_eq!(
            SLOPE.parse("20 um / m", None),
            SLOPE.parse("0.02 mm/m", None)
        );
        assert_eq!(SLOPE.parse("648000 arcsec", None), Ok(PI));
        assert_eq!(SLOPE.parse("4\"", None), SLOPE.parse("4 arcsec", None));
    }

    #[test]
    fn a_unit_undoes_itself() {
        for unit in LENGTH.units.iter().chain(SLOPE.units).chain(MASS.units) {
            close(unit.from_si(unit.to_si(7.25)), 7.25, 1e-14, unit.name());
        }
    }

    #[test]
    fn minus_nothing_becomes_nothing() {
        assert!(LENGTH.parse("-0 mm", None).unwrap().is_sign_positive());
    }
}
