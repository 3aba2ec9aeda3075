//! Units of length, slope and mass, to and from SI.
//!
//! Every factor is exact: 1 in = 25.4 mm and 1 lb = 0.453 592 37 kg by international agreement of 1959, 1 ft =
//! 12 in, 1 arcsec = π / 648 000 rad. A slope is a ratio of lengths; an angle in arcseconds is taken as its
//! slope, which over the range of a precision level (1 mm/m) differs from the tangent by less than one part in
//! a million.

use std::f64::consts::PI;

use super::diagnostic::{Diagnostic, either};
use super::model::LengthUnit;
use super::nearest::nearest;
use super::number::{digits, leading_number, whole_number};

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

/// A kind of quantity, with the units it may be written in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// What it is called, with its article.
    pub name: &'static str,
    /// How to write one.
    pub example: &'static str,
    /// The units it may be written in.
    pub units: &'static [Unit],
}

/// Lengths, in metres.
pub const LENGTH: Quantity = Quantity {
    name: "a length",
    example: "2.5 mm",
    units: &[MILLIMETRE, MICROMETRE, CENTIMETRE, METRE, INCH, FOOT],
};

/// Slopes, in metres over a metre.
pub const SLOPE: Quantity = Quantity {
    name: "a slope",
    example: "0.02 mm/m",
    units: &[
        MILLIMETRE_PER_METRE,
        MICROMETRE_PER_METRE,
        INCH_PER_FOOT,
        ARCSECOND,
    ],
};

/// Masses, in kilograms.
pub const MASS: Quantity = Quantity {
    name: "a mass",
    example: "3100 kg",
    units: &[KILOGRAM, TONNE, POUND],
};

impl Quantity {
    /// Reads a number with its unit, such as `2.5 mm` or `1/13 in`, and gives it in SI.
    ///
    /// A number without a unit is taken in `bare`, and is a mistake where `bare` is `None`. The span of the
    /// diagnostic is within `text`.
    ///
    /// ```
    /// use quarterturn::survey::units::{LENGTH, SLOPE, MILLIMETRE};
    ///
    /// assert_eq!(LENGTH.parse("0.0005 in", None), Ok(0.0000127));
    /// assert_eq!(LENGTH.parse("120", Some(MILLIMETRE)), Ok(0.12));
    /// assert_eq!(SLOPE.parse("0.02 mm/m", None), Ok(0.00002));
    /// assert!(SLOPE.parse("0.02", None).is_err());
    /// ```
    pub fn parse(&self, text: &str, bare: Option<Unit>) -> Result<f64, Diagnostic> {
        let all = || 0..text.len();
        let written = text.trim();
        let Some((number, rest)) = leading_number(text) else {
            return Err(
                Diagnostic::new(all(), format!("`{written}` is not {}", self.name))
                    .label("expected a number and its unit")
                    .help(format!("write it like `\"{}\"`", self.example)),
            );
        };
        let number_text = text[..text.len() - rest.len()].trim();
        if let Some(decimals) = rest.strip_prefix(',')
            && digits(decimals) > 0
        {
            return Err(Diagnostic::new(all(), "a decimal comma is not understood")
                .label("comma in a number")
                .help(format!("write `\"{}\"`", written.replacen(',', ".", 1))));
        }
        let name = rest
            .trim()
            .split('/')
            .map(str::trim)
            .collect::<Vec<_>>()
            .join("/");
        if name.is_empty() {
            return match bare {
                Some(unit) => self.finite(unit.to_si(number), text),
                None => Err(self.without_unit(number_text, all())),
            };
        }
        let unit = self.units.iter().find(|unit| {
            unit.names
                .iter()
                .any(|known| known.eq_ignore_ascii_case(&name))
        });
        let Some(unit) = unit else {
            let start = text.len() - rest.trim_start().len();
            let end = text.trim_end().len();
            return Err(self.unknown_unit(number_text, rest.trim(), start..end));
        };
        self.finite(unit.to_si(number), text)
    }

    fn finite(&self, value: f64, text: &str) -> Result<f64, Diagnostic> {
        if value.is_finite() {
            // Adding zero turns -0 into 0.
            return Ok(value + 0.0);
        }
        Err(Diagnostic::new(
            0..text.len(),
            format!("`{}` is too large for {}", text.trim(), self.name),
        ))
    }

    /// What to say of a number that should carry its unit.
    pub(super) fn without_unit(&self, number: &str, span: std::ops::Range<usize>) -> Diagnostic {
        let unit = self.units.first().map_or("", |unit| unit.name());
        Diagnostic::new(span, format!("{} carries its unit", self.name))
            .label("a number without a unit")
            .help(format!(
                "write `\"{number} {unit}\"`, or with another of {}",
                self.known()
            ))
    }

    fn unknown_unit(&self, number: &str, name: &str, span: std::ops::Range<usize>) -> Diagnostic {
        let diagnostic = Diagnostic::new(
            span,
            format!(
                "`{name}` is not a unit of {}",
                self.name.trim_start_matches("a ")
            ),
        )
        .label("unknown unit");
        let meant = match name {
            "\"" | "″" | "inch" | "inches" => Some("in"),
            "'" | "′" | "foot" | "feet" => Some("ft"),
            "mm per m" | "mm per metre" => Some("mm/m"),
            _ => nearest(name, self.units.iter().map(|unit| unit.name())),
        }
        .filter(|meant| self.units.iter().any(|unit| unit.name() == *meant));
        match meant {
            Some(meant) => diagnostic.help(format!("write `\"{number} {meant}\"`")),
            None => diagnostic.help(format!("write one of {}", self.known())),
        }
    }

    fn known(&self) -> String {
        either(self.units.iter().map(|unit| unit.name()))
    }
}

/// Reads a part of a turn, such as `1/24` or `0.25`, above zero and at most one turn.
///
/// ```
/// use quarterturn::survey::units::parse_part_of_turn;
///
/// assert_eq!(parse_part_of_turn("1/4"), Ok(0.25));
/// assert!(parse_part_of_turn("5/4").is_err());
/// ```
pub fn parse_part_of_turn(text: &str) -> Result<f64, Diagnostic> {
    let mistake = |title: &str| {
        Diagnostic::new(0..text.len(), title)
            .label("not a part of a turn")
            .help("write it like `\"1/4\"`, `\"1/12\"`, `\"1/24\"` or `\"1/72\"`")
    };
    match whole_number(text) {
        None => Err(mistake("a part of a turn is a fraction")),
        Some(turns) if turns <= 0.0 || turns > 1.0 => Err(mistake(
            "a part of a turn lies above zero and is at most one turn",
        )),
        Some(turns) => Ok(turns),
    }
}

/// A part of a turn as a fraction where it is one: `1/24`, `1`, else in decimals.
///
/// ```
/// use quarterturn::survey::units::show_part_of_turn;
///
/// assert_eq!(show_part_of_turn(1.0 / 24.0), "1/24");
/// assert_eq!(show_part_of_turn(0.75), "3/4");
/// ```
pub fn show_part_of_turn(turns: f64) -> String {
    /// Finer dials than this are not read in fractions.
    const FINEST: u16 = 1000;
    /// A fraction that was divided out and multiplied again is whole up to rounding.
    const WHOLE: f64 = 1e-9;
    let denominator = (1..=FINEST).find(|&denominator| {
        let numerator = turns * f64::from(denominator);
        numerator.round() >= 1.0 && (numerator - numerator.round()).abs() < WHOLE
    });
    match denominator {
        Some(1) => short_number(turns, 0),
        Some(denominator) => {
            let numerator = short_number(turns * f64::from(denominator), 0);
            format!("{numerator}/{denominator}")
        }
        None => short_number(turns, 6),
    }
}

/// A number with at most `decimals` places, without trailing zeros and never `-0`.
pub fn short_number(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" { "0" } else { text }.to_owned()
}

/// A length with its unit, to the micrometre or the ten-thousandth of an inch: `2900 mm`, `0.0005 in`.
pub fn show_length(metres: f64, units: LengthUnit) -> String {
    format!("{} {}", length_number(metres, units), units.length().name())
}

/// Two lengths with one unit: `0 to 2900 mm`.
pub fn show_range(lowest: f64, highest: f64, units: LengthUnit) -> String {
    format!(
        "{} to {}",
        length_number(lowest, units),
        show_length(highest, units)
    )
}

fn length_number(metres: f64, units: LengthUnit) -> String {
    let decimals = match units {
        LengthUnit::Millimetre => 3,
        LengthUnit::Inch => 4,
    };
    short_number(units.length().from_si(metres), decimals)
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

    /// Source: arithmetic on the definitions of the units, in the digits commonly printed in level makers'
    /// tables (1 division of 0.02 mm/m is 4", 0.0005 in/ft is 8.6").
    #[test]
    fn slopes_agree_with_the_tables() {
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
    fn numbers_are_short_and_never_minus_nothing() {
        assert_eq!(short_number(2900.0, 3), "2900");
        assert_eq!(short_number(0.25, 3), "0.25");
        assert_eq!(short_number(-0.0001, 3), "0");
        assert_eq!(short_number(-0.0, 0), "0");
        assert_eq!(short_number(100.0, 0), "100");
        assert_eq!(show_length(0.000_012_7, LengthUnit::Inch), "0.0005 in");
        assert_eq!(show_length(2.9, LengthUnit::Millimetre), "2900 mm");
    }

    #[test]
    fn parts_of_a_turn_read_as_they_are_shown() {
        for denominator in [1, 2, 3, 4, 6, 8, 12, 24, 36, 72, 100, 360] {
            let turns = 1.0 / f64::from(denominator);
            let text = show_part_of_turn(turns);
            assert_eq!(parse_part_of_turn(&text), Ok(turns), "{text}");
        }
        assert_eq!(show_part_of_turn(1.0), "1");
        assert_eq!(show_part_of_turn(1.5), "3/2");
        assert_eq!(show_part_of_turn(0.123_456_7), "0.123457");
        assert_eq!(show_part_of_turn(0.0), "0");
        assert_eq!(show_part_of_turn(f64::NAN), "NaN");
    }

    #[test]
    fn minus_nothing_becomes_nothing() {
        assert!(LENGTH.parse("-0 mm", None).unwrap().is_sign_positive());
    }
}
