//! A number with its uncertainty, and what may be said of it against a limit.

/// Half width of the interval that holds 95 % of a normal distribution, in standard deviations.
pub const COVERAGE_95: f64 = 1.959_963_984_540_054;

/// A measured figure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// The value.
    pub value: f64,
    /// Expanded uncertainty: the truth lies within this of the value 95 times in 100.
    pub u95: f64,
    /// Lower end of the 95 % interval. For a figure that is an extreme value the interval is not centred
    /// on the value: noise can only widen a range.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
}

/// What may be said about a figure and a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Inside by more than the expanded uncertainty.
    Inside,
    /// Too close to call.
    Unsure,
    /// Outside by more than the expanded uncertainty.
    Outside,
}

impl Figure {
    /// A normally distributed figure with this standard deviation.
    pub fn normal(value: f64, deviation: f64) -> Self {
        let u95 = COVERAGE_95 * deviation;
        Self {
            value,
            u95,
            low: value - u95,
            high: value + u95,
        }
    }

    /// The same figure where something else says that it is at least this much.
    #[must_use]
    pub fn at_least(self, least: f64) -> Self {
        Self {
            value: self.value.max(least),
            low: self.low.max(least),
            high: self.high.max(least),
            ..self
        }
    }

    /// The same figure where it may be any larger.
    #[must_use]
    pub fn without_end(self) -> Self {
        Self {
            u95: f64::INFINITY,
            high: f64::INFINITY,
            ..self
        }
    }

    /// The decision rule of ISO 14253-1: conformity is proven only inside the limits reduced by the
    /// expanded uncertainty at both ends, nonconformity only outside the limits widened by it.
    ///
    /// ```
    /// use quarterturn::geometry::{Figure, Verdict};
    ///
    /// let twist = Figure::normal(0.03, 0.01);
    /// assert_eq!(twist.verdict(0.0, 0.06), Verdict::Inside);
    /// assert_eq!(twist.verdict(0.0, 0.04), Verdict::Unsure);
    /// assert_eq!(twist.verdict(0.0, 0.01), Verdict::Outside);
    /// ```
    pub fn verdict(&self, lowest: f64, highest: f64) -> Verdict {
        if self.low >= lowest && self.high <= highest {
            Verdict::Inside
        } else if self.high < lowest || self.low > highest {
            Verdict::Outside
        } else {
            Verdict::Unsure
        }
    }
}

impl Verdict {
    /// The worst of several verdicts; `None` when there is none.
    pub fn worst(verdicts: impl IntoIterator<Item = Self>) -> Option<Self> {
        verdicts.into_iter().max()
    }

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Inside => "inside",
            Self::Unsure => "unsure",
            Self::Outside => "outside",
        }
    }
}
