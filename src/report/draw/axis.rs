//! One axis of a chart: which numbers it spans, what is written along it.

use super::ticks::Ticks;

/// Share of the span that is left free beyond the outermost number.
const MARGIN: f64 = 0.06;

/// A number written along an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Where.
    pub value: f64,
    /// What is written.
    pub label: String,
}

/// An axis in the unit that is printed.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What runs along it, with its unit.
    pub name: String,
    /// Its lower end.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// The numbers written along it, in order.
    pub ticks: Vec<Tick>,
}

impl Axis {
    /// From end to end, with at most this many round numbers.
    pub fn between(name: impl Into<String>, low: f64, high: f64, most: usize) -> Self {
        let ticks = Ticks::between(low, high, most);
        let decimals = ticks.decimals();
        let label = |value: f64| format!("{value:.decimals$}");
        Self {
            name: name.into(),
            low,
            high,
            ticks: ticks
                .values
                .iter()
                .map(|&value| Tick {
                    value,
                    label: label(value),
                })
                .collect(),
        }
    }

    /// Wide enough for all these numbers and a little more. If they are all one, `least` to either side.
    pub fn around(
        name: impl Into<String>,
        numbers: impl IntoIterator<Item = f64>,
        least: f64,
        most: usize,
    ) -> Self {
        let (low, high) = numbers
            .into_iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), number| {
                (low.min(number), high.max(number))
            });
        let (low, high) = if low <= high { (low, high) } else { (0.0, 0.0) };
        let margin = if high - low < least {
            least
        } else {
            MARGIN * (high - low)
        };
        Self::between(name, low - margin, high + margin, most)
    }

    /// Where a number lies: 0 at the lower end, 1 at the upper.
    pub fn share(&self, value: f64) -> f64 {
        (value - self.low) / (self.high - self.low)
    }

    /// Whether a number lies on the axis.
    pub fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_axis_holds_what_it_is_made_for() {
        let axis = Axis::around("height, mm", [-0.02, 0.05, 0.01], 0.001, 5);
        assert!(axis.holds(-0.02) && axis.holds(0.05));
        let labels: Vec<&str> = axis.ticks.iter().map(|tick| tick.label.as_str()).collect();
        assert_eq!(labels, ["-0.02", "0.00", "0.02", "0.04"]);
        assert!((axis.share(axis.high) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn one_number_gets_room_around_it() {
        let axis = Axis::around("height, mm", [0.0, 0.0], 0.01, 5);
        assert_eq!((axis.low, axis.high), (-0.01, 0.01));
        let nothing = Axis::around("height, mm", [], 0.01, 5);
        assert_eq!((nothing.low, nothing.high), (-0.01, 0.01));
    }
}
