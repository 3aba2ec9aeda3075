//! Limits by name: what a class of lathes allows a bed.
//!
//! The numbers are those of ISO 1708, test G1, **from memory**: nobody here has the standard's text, and the
//! person's own copy rules. They hold for a swing up to 800 mm:
//!
//! | class | along, convex only | across | taper over 300 mm |
//! |---|---|---|---|
//! | ordinary | 0.01 mm to 500 mm between centres, 0.02 to 1000, then 0.01 more for each further 1000 | 0.04 mm/m | 0.04 mm |
//! | precision | 0.01 mm to 500 mm between centres, 0.015 to 1000, 0.02 to 1500 | 0.03 mm/m | 0.02 mm |
//!
//! The taper is that of a turned diameter, which may only be larger towards the headstock.

use super::model::LimitClass;

/// Largest swing for which the numbers hold, m.
pub const LARGEST_SWING: f64 = 0.8;

/// What a class allows a bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClassLimits {
    /// Largest crown, m; sag is not allowed.
    pub crown: f64,
    /// Largest range of the cross slope over the bed, m/m.
    pub across: f64,
}

/// Why a class gives no limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoClassLimits {
    /// The swing is larger than the class's.
    SwingTooLarge,
    /// The distance between centres is larger than this, m.
    TooLong(f64),
}

/// Ends of the bands of a class, m between centres, with the crown allowed up to there, m.
const ORDINARY: [(f64, f64); 2] = [(0.5, 10e-6), (1.0, 20e-6)];
const PRECISION: [(f64, f64); 3] = [(0.5, 10e-6), (1.0, 15e-6), (1.5, 20e-6)];

/// What each further metre adds for ordinary lathes, m.
const ORDINARY_PER_METRE: f64 = 10e-6;

const ORDINARY_ACROSS: f64 = 0.04e-3;
const PRECISION_ACROSS: f64 = 0.03e-3;

/// Length over which the taper of a class is stated, m.
pub const TAPER_LENGTH: f64 = 0.3;

/// Rounding of a distance that was given in inches, m.
const ROUNDING: f64 = 1e-6;

impl LimitClass {
    /// How much larger towards the headstock a turned diameter may be over [`TAPER_LENGTH`], m.
    pub fn taper(self) -> f64 {
        match self {
            Self::Ordinary => 0.04e-3,
            Self::Precision => 0.02e-3,
        }
    }

    /// What this class allows a lathe with this distance between centres and this swing, m.
    ///
    /// ```
    /// use quarterturn::survey::LimitClass;
    ///
    /// let limits = LimitClass::Ordinary.limits(2.0, 0.6).unwrap();
    /// assert!((limits.crown - 0.03e-3).abs() < 1e-9);
    /// assert!((limits.across - 0.04e-3).abs() < 1e-12);
    /// assert!(LimitClass::Precision.limits(2.0, 0.6).is_err());
    /// ```
    pub fn limits(
        self,
        distance_between_centres: f64,
        swing: f64,
    ) -> Result<ClassLimits, NoClassLimits> {
        if swing > LARGEST_SWING + ROUNDING {
            return Err(NoClassLimits::SwingTooLarge);
        }
        let distance = distance_between_centres - ROUNDING;
        let band = |bands: &[(f64, f64)]| {
            bands
                .iter()
                .find(|(end, _)| distance <= *end)
                .map(|(_, crown)| *crown)
        };
        match self {
            Self::Ordinary => {
                let [.., (end, last)] = ORDINARY;
                let crown = band(&ORDINARY)
                    .unwrap_or_else(|| last + ORDINARY_PER_METRE * (distance - end).ceil());
                Ok(ClassLimits {
                    crown,
                    across: ORDINARY_ACROSS,
                })
            }
            Self::Precision => {
                let [.., (end, _)] = PRECISION;
                let crown = band(&PRECISION).ok_or(NoClassLimits::TooLong(end))?;
                Ok(ClassLimits {
                    crown,
                    across: PRECISION_ACROSS,
                })
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 1708, test G1, from memory: check before relying on them.
    #[test]
    fn the_bands_of_the_classes() {
        let crown = |class: LimitClass, distance: f64| {
            class
                .limits(distance, 0.5)
                .map(|limits| (limits.crown * 1e6).round())
        };
        for (distance, want) in [
            (0.4, 10.0),
            (0.5, 10.0),
            (0.75, 20.0),
            (1.0, 20.0),
            (1.5, 30.0),
            (2.0, 30.0),
            (3.0, 40.0),
        ] {
            assert_eq!(
                crown(LimitClass::Ordinary, distance),
                Ok(want),
                "{distance}"
            );
        }
        for (distance, want) in [(0.5, 10.0), (1.0, 15.0), (1.5, 20.0)] {
            assert_eq!(
                crown(LimitClass::Precision, distance),
                Ok(want),
                "{distance}"
            );
        }
        assert_eq!(
            crown(LimitClass::Precision, 1.6),
            Err(NoClassLimits::TooLong(1.5))
        );
    }

    #[test]
    fn a_larger_swing_has_no_numbers() {
        let refused = LimitClass::Ordinary.limits(2.0, 1.0);
        assert_eq!(refused, Err(NoClassLimits::SwingTooLarge));
    }
}
