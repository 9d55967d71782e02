//! Dates and times of day as written.

use jiff::civil::Date;

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

/// `14:05` as minutes since midnight; `None` for `25:00` and what has another form.
pub(crate) fn clock(text: &str) -> Option<u16> {
    let (hours, minutes) = text.split_once(':')?;
    let (hours, minutes) = (hours.parse::<u16>().ok()?, minutes.parse::<u16>().ok()?);
    (hours < 24 && minutes < 60).then_some(hours * 60 + minutes)
}
