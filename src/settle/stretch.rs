//! The passes between which nothing was turned.

use jiff::civil;
use toml::value::{Datetime, Offset};

use crate::survey::{Entry, Pass, Survey};

/// Seconds in a day.
const DAY: f64 = 86_400.0;

/// Whether feet were turned after a pass. What is not recorded was not turned.
pub fn turned_after(pass: &Pass) -> bool {
    pass.turned
        .iter()
        .flatten()
        .any(|(_, quarters)| *quarters != 0.0)
}

/// Whether a pass holds a reading that is a number.
fn has_readings(pass: &Pass) -> bool {
    pass.readings
        .iter()
        .any(|reading| matches!(reading.entry, Entry::Read(_)))
}

/// Indices of the passes that end with `last` and between which nothing was turned, first to last; those
/// without readings are left out.
pub fn still_passes(survey: &Survey, last: usize) -> Vec<usize> {
    let mut first = last.min(survey.passes.len().saturating_sub(1));
    while first > 0 && !turned_after(&survey.passes[first - 1]) {
        first -= 1;
    }
    (first..=last)
        .filter(|&index| survey.passes.get(index).is_some_and(has_readings))
        .collect()
}

/// Days from one date to another; a day without a time counts from its noon. `None` where one has an offset
/// from universal time and the other has none.
///
/// ```
/// use quarterturn::settle::stretch::days_between;
///
/// let date = |text: &str| text.parse::<toml::value::Datetime>().unwrap();
/// let days = days_between(&date("2026-02-27T18:00:00"), &date("2026-03-02"));
/// assert_eq!(days, Some(2.75));
/// ```
pub fn days_between(from: &Datetime, to: &Datetime) -> Option<f64> {
    if from.offset.is_some() != to.offset.is_some() {
        return None;
    }
    let span = moment(to)?.duration_since(moment(from)?);
    Some(span.as_secs_f64() / DAY)
}

/// A date in universal time, as far as the offset is known.
fn moment(date: &Datetime) -> Option<civil::DateTime> {
    let narrow = |number: u8| i8::try_from(number).ok();
    let day = date.date?;
    let (hour, minute, second) = date.time.map_or((12, 0, 0), |time| {
        (time.hour, time.minute, time.second.unwrap_or(0))
    });
    let local = civil::DateTime::new(
        i16::try_from(day.year).ok()?,
        narrow(day.month)?,
        narrow(day.day)?,
        narrow(hour)?,
        narrow(minute)?,
        // A leap second is the last one of its minute here.
        narrow(second.min(59))?,
        0,
    )
    .ok()?;
    let minutes = match date.offset {
        Some(Offset::Custom { minutes }) => i64::from(minutes),
        Some(Offset::Z) | None => 0,
    };
    local
        .checked_sub(jiff::SignedDuration::from_mins(minutes))
        .ok()
}
