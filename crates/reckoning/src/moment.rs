//! Wall-clock time, as a log has it.

use std::fmt;

use barm_quantity::Span as Hours;
use jiff::ToSpan;
use jiff::civil::{Date, date};

const EPOCH: Date = date(1900, 1, 1);
const DAY: i32 = 24 * 60;

/// A minute of wall-clock time between 1900 and 2199.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Moment(i32);

impl Moment {
    /// A minute, h: the least by which two moments differ.
    pub(crate) const LEAST_HOURS: f64 = 1.0 / 60.0;
    /// Later than any event.
    pub(crate) const LAST: Self = Self(i32::MAX);

    /// A date and the minutes since its midnight.
    #[must_use]
    pub fn new(date: Date, minutes: u16) -> Self {
        // The reader refuses years outside 1900..=2199, so the days fit; a date beyond is held at the end.
        let days = i32::try_from(date.duration_since(EPOCH).as_hours() / 24).unwrap_or(i32::MAX / DAY / 2);
        Self(days.saturating_mul(DAY)).plus_minutes(minutes)
    }

    /// So many minutes later.
    pub(crate) const fn plus_minutes(self, minutes: u16) -> Self {
        Self(self.0.saturating_add(minutes as i32))
    }

    /// The date that it lies on.
    #[must_use]
    pub fn date(self) -> Date {
        EPOCH.checked_add(self.0.div_euclid(DAY).days()).unwrap_or(EPOCH)
    }

    /// Minutes since midnight.
    #[must_use]
    pub fn minutes(self) -> u16 {
        u16::try_from(self.0.rem_euclid(DAY)).unwrap_or(0)
    }

    /// Hours from `earlier` to here; negative where it lies after.
    #[must_use]
    pub fn hours_since(self, earlier: Self) -> f64 {
        (f64::from(self.0) - f64::from(earlier.0)) / 60.0
    }

    /// Time from `earlier` to here; nothing where it lies after.
    #[must_use]
    pub fn since(self, earlier: Self) -> Hours {
        Hours::hours(self.hours_since(earlier).max(0.0))
    }

    /// So many hours later, to the minute.
    #[must_use]
    pub fn plus_hours(self, hours: f64) -> Self {
        #[expect(clippy::cast_possible_truncation, reason = "float to int casts saturate")]
        let minutes = (hours * 60.0).round() as i32;
        Self(self.0.saturating_add(minutes))
    }

    /// The minute, as a number that grows by one each.
    pub(crate) const fn minute_number(self) -> i32 {
        self.0
    }

    /// The same day, as a number that grows by one a day.
    pub(crate) const fn day_number(self) -> i32 {
        self.0.div_euclid(DAY)
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {:02}:{:02}", self.date(), self.minutes() / 60, self.minutes() % 60)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_hours_over_midnight_and_months() {
        let a = Moment::new(date(2026, 8, 31), 22 * 60);
        let b = Moment::new(date(2026, 9, 1), 90);
        assert_eq!(b.hours_since(a), 3.5);
        assert_eq!(a.plus_hours(3.5), b);
        assert_eq!(b.date(), date(2026, 9, 1));
        assert_eq!(b.to_string(), "2026-09-01 01:30");
        assert_eq!(a.since(b).as_hours(), 0.0);
    }
}
