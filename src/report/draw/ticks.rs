//! Round numbers along an axis.

/// Decimals beyond which no label goes.
const MOST_DECIMALS: i32 = 9;
/// Share of a step by which a tick may miss the end of its axis through rounding.
const ROUNDING: f64 = 1e-6;

/// Evenly spaced round numbers: 1, 2 or 5 times a power of ten apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Ticks {
    /// Distance between two of them.
    pub step: f64,
    /// The numbers in order.
    pub values: Vec<f64>,
}

impl Ticks {
    /// The round numbers from `low` to `high`, as many as there can be without being more than `most`.
    ///
    /// ```
    /// use quarterturn::report::draw::Ticks;
    ///
    /// assert_eq!(Ticks::between(0.0, 2900.0, 7).values, [0.0, 500.0, 1000.0, 1500.0, 2000.0, 2500.0]);
    /// assert_eq!(Ticks::between(-0.013, 0.041, 4).step, 0.02);
    /// ```
    pub fn between(low: f64, high: f64, most: usize) -> Self {
        let span = (high - low).max(f64::MIN_POSITIVE);
        let most = most.max(2) as f64;
        let mut step = round_down(span / most);
        // From one of the steps 1, 2, 5 to the next there are at most a few.
        while (high / step + ROUNDING).floor() - (low / step - ROUNDING).ceil() + 1.0 > most {
            step = next_up(step);
        }
        let first = (low / step - ROUNDING).ceil();
        let last = (high / step + ROUNDING).floor();
        let mut values = Vec::new();
        let mut count = first;
        while count <= last {
            // Adding zero turns -0 into 0.
            values.push(clean(count * step) + 0.0);
            count += 1.0;
        }
        Self { step, values }
    }

    /// Decimals that tell neighbouring ticks apart.
    pub fn decimals(&self) -> usize {
        let decimals = (-self.step.log10().floor()).clamp(0.0, f64::from(MOST_DECIMALS));
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let decimals = decimals as usize;
        decimals
    }
}

/// The largest of 1, 2, 5 times a power of ten that is not above a positive size.
pub(super) fn round_down(size: f64) -> f64 {
    let power = 10_f64.powf(size.log10().floor());
    let lead = size / power;
    let factor = if lead >= 5.0 * (1.0 - ROUNDING) {
        5.0
    } else if lead >= 2.0 * (1.0 - ROUNDING) {
        2.0
    } else {
        1.0
    };
    clean(factor * power)
}

/// The next larger of 1, 2, 5 times a power of ten.
fn next_up(step: f64) -> f64 {
    let power = 10_f64.powf((step.log10() + ROUNDING).floor());
    let lead = (step / power).round();
    let factor = if lead < 2.0 {
        2.0
    } else if lead < 5.0 {
        5.0
    } else {
        10.0
    };
    clean(factor * power)
}

/// The number with the rounding of a few operations taken off.
fn clean(number: f64) -> f64 {
    /// Digits that are kept.
    const DIGITS: usize = 12;
    format!("{number:.DIGITS$e}").parse().unwrap_or(number)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn steps_are_one_two_five() {
        let steps: Vec<f64> = [1.0, 1.9, 2.0, 4.9, 5.0, 9.99, 10.0, 0.03]
            .into_iter()
            .map(round_down)
            .collect();
        assert_eq!(steps, [1.0, 1.0, 2.0, 2.0, 5.0, 5.0, 10.0, 0.02]);
        let next: Vec<f64> = [1.0, 2.0, 5.0, 0.05].into_iter().map(next_up).collect();
        assert_eq!(next, [2.0, 5.0, 10.0, 0.1]);
    }

    #[test]
    fn labels_tell_neighbours_apart() {
        assert_eq!(Ticks::between(0.0, 0.05, 5).decimals(), 2);
        assert_eq!(Ticks::between(0.0, 0.0021, 5).decimals(), 4);
        assert_eq!(Ticks::between(0.0, 3000.0, 5).decimals(), 0);
    }

    #[test]
    fn nothing_is_negative_zero() {
        let ticks = Ticks::between(-0.2, 0.3, 6);
        assert!(
            ticks
                .values
                .iter()
                .all(|tick| tick.to_bits() != (-0.0_f64).to_bits())
        );
        assert!(ticks.values.contains(&0.0));
    }

    proptest! {
        #[test]
        fn ticks_lie_inside_and_are_no_more_than_asked(
            low in -1e4..1e4_f64, span in 1e-7..1e4_f64, most in 2..12_usize,
        ) {
            let high = low + span;
            let ticks = Ticks::between(low, high, most);
            prop_assert!(ticks.values.len() <= most);
            // A step finer would have been too many: there are at least a few.
            prop_assert!(ticks.values.len() + 1 >= most / 3);
            for pair in ticks.values.windows(2) {
                prop_assert!(((pair[1] - pair[0]) / ticks.step - 1.0).abs() < 1e-4);
            }
            for tick in &ticks.values {
                prop_assert!(*tick >= low - 1e-5 * ticks.step && *tick <= high + 1e-5 * ticks.step);
            }
        }
    }
}
