//! Dates and times of day as written.

use jiff::civil::Date;

use crate::ast::Clock;

/// The years that a log may speak of.
pub(crate) const YEARS: std::ops::RangeInclusive<i16> = 1900..=2199;

/// The number that a run of at most four digits says.
pub(crate) fn digits(text: &str) -> Option<i16> {
    let plain = (1..=4).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    if plain { text.parse().ok() } else { None }
}

/// A date that is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum BadDate {
    /// Not written `2026-09-12`.
    Form,
    /// No such day, such as 31 February.
    NoSuchDay,
    /// Before 1900 or after 2199.
    Year,
}

/// A date of these numbers, if there is such a day.
pub(crate) fn of(year: i16, month: i16, day: i16) -> Result<Date, BadDate> {
    let small = |n: i16| i8::try_from(n).unwrap_or(0);
    let date = Date::new(year, small(month), small(day)).map_err(|_| BadDate::NoSuchDay)?;
    if YEARS.contains(&year) { Ok(date) } else { Err(BadDate::Year) }
}

/// `2026-09-12`.
pub(crate) fn read(text: &str) -> Result<Date, BadDate> {
    let mut parts = text.split('-');
    let (Some(year), Some(month), Some(day), None) = (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return Err(BadDate::Form);
    };
    if (year.len(), month.len(), day.len()) != (4, 2, 2) {
        return Err(BadDate::Form);
    }
    let numbers = (digits(year), digits(month), digits(day));
    let (Some(year), Some(month), Some(day)) = numbers else { return Err(BadDate::Form) };
    of(year, month, day)
}

/// `2026-09`: its middle, and how many days either way the month reaches.
pub(crate) fn read_month(text: &str) -> Option<Result<(Date, u8), BadDate>> {
    let (year, month) = text.split_once('-')?;
    if (year.len(), month.len()) != (4, 2) {
        return None;
    }
    let (year, month) = (digits(year)?, digits(month)?);
    Some(of(year, month, 15).map(|middle| (middle, 15)))
}

/// A time at the start of a text: `14:05`, `~9:30`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct WrittenClock {
    /// `None` for `25:00`.
    pub(crate) minutes: Option<u16>,
    pub(crate) about: bool,
    /// How many bytes it takes.
    pub(crate) length: usize,
}

/// Reads the time at the start of a text; `None` where there is none of this form.
pub(crate) fn clock(text: &str) -> Option<WrittenClock> {
    let bare = text.strip_prefix('~').map_or(text, |rest| rest.trim_start_matches(' '));
    let (hours, behind) = bare.split_once(':').filter(|(hours, _)| matches!(hours.len(), 1 | 2))?;
    let minutes = behind.get(..2)?;
    let goes_on = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ':');
    if behind.get(2..)?.starts_with(goes_on) {
        return None;
    }
    let (hours, minutes) = (digits(hours)?, digits(minutes)?);
    let sound = (0..24).contains(&hours) && (0..60).contains(&minutes);
    let length = text.len() - behind.len() + 2;
    let minutes = u16::try_from(hours * 60 + minutes).ok().filter(|_| sound);
    Some(WrittenClock { minutes, about: bare.len() < text.len(), length })
}

/// The time of day that a text begins with, and how many bytes it takes.
///
/// ```
/// use barm_syntax::{ast::Clock, read_clock};
/// assert_eq!(read_clock("~9:30 temp 18 °C"), Some((Clock { minutes: 570, about: true }, 5)));
/// assert_eq!(read_clock("25:00"), None);
/// ```
#[must_use]
pub fn read_clock(text: &str) -> Option<(Clock, usize)> {
    let WrittenClock { minutes, about, length } = clock(text)?;
    Some((Clock { minutes: minutes?, about }, length))
}

/// A date at the start of a text, `2026-09-12`, and whether a `~` stands before it: how many bytes it takes with and
/// without that. The date itself may be none, as 31 February.
pub(crate) struct WrittenDate {
    pub(crate) date: Result<Date, BadDate>,
    pub(crate) about: bool,
    /// Where it lies in the text.
    pub(crate) range: std::ops::Range<usize>,
}

/// Reads the date at the start of a text; `None` where there is none of this form.
pub(crate) fn day(text: &str) -> Option<WrittenDate> {
    const LENGTH: usize = "2026-09-12".len();
    let bare = text.strip_prefix('~').map_or(text, |rest| rest.trim_start_matches(' '));
    let start = text.len() - bare.len();
    let goes_on = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ':' | '/');
    let date = read(bare.get(..LENGTH)?);
    if date == Err(BadDate::Form) || bare.get(LENGTH..)?.starts_with(goes_on) {
        return None;
    }
    Some(WrittenDate { date, about: start > 0, range: start..start + LENGTH })
}
