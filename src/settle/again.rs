//! When to look again.

use super::rate::WEEK;

/// When to read the bed again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Again {
    /// In two or three days.
    Soon,
    /// In a week.
    Week,
    /// In a month.
    Month,
    /// In half a year.
    HalfYear,
}

/// Share of what is left to a limit that may be used up before somebody looks again.
pub const SHARE_OF_MARGIN: f64 = 0.5;

/// Nobody is sent away for longer than this many times the span that was watched.
pub const LOOK_AHEAD: f64 = 4.0;

/// How fast a quantity that has a limit goes, and what is left.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margin {
    /// The fastest it may go, in a week.
    pub fastest: f64,
    /// What is left to the limit; negative when it is passed.
    pub left: f64,
}

impl Again {
    /// All of them, the longest first.
    const ALL: [Self; 4] = [Self::HalfYear, Self::Month, Self::Week, Self::Soon];

    /// About how long that is, days.
    pub fn days(self) -> f64 {
        match self {
            Self::Soon => 3.0,
            Self::Week => WEEK,
            Self::Month => 30.0,
            Self::HalfYear => 182.0,
        }
    }

    /// From what is left to the limits at the fastest credible rate. Without dates or limits, the common
    /// practice: again after some days while it moves, and after some weeks when it does not.
    ///
    /// ```
    /// use quarterturn::settle::{Again, again::Margin};
    ///
    /// // 0.02 mm left at 0.001 mm a week: half of it is used up in ten weeks.
    /// let margin = Margin { fastest: 0.001e-3, left: 0.02e-3 };
    /// assert_eq!(Again::of(&[margin], Some(60.0), true), Again::Month);
    /// // Watched for two days only, nobody knows about a month.
    /// assert_eq!(Again::of(&[margin], Some(2.0), true), Again::Week);
    /// assert_eq!(Again::of(&[], None, false), Again::Month);
    /// ```
    pub fn of(margins: &[Margin], watched: Option<f64>, moves: bool) -> Self {
        let without = if moves { Self::Week } else { Self::Month };
        let Some(watched) = watched.filter(|_| !margins.is_empty()) else {
            return without;
        };
        let in_time = margins
            .iter()
            .map(|margin| {
                if margin.fastest > 0.0 {
                    (SHARE_OF_MARGIN * margin.left / margin.fastest * WEEK).max(0.0)
                } else {
                    f64::INFINITY
                }
            })
            .fold(f64::INFINITY, f64::min)
            .min(LOOK_AHEAD * watched);
        Self::ALL
            .into_iter()
            .find(|again| again.days() <= in_time)
            .unwrap_or(Self::Soon)
    }
}
