//! Times as loggers write them.

use jiff::civil::DateTime;
use jiff::{Span, ToSpan as _};

/// A time of a row: as the clock on the wall shows it, and the zone behind it where there is one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stamp {
    pub(super) clock: DateTime,
    /// How far that clock is ahead of UTC.
    pub(super) zone: Option<Ahead>,
}

/// Minutes ahead of UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Ahead(i16);

impl Ahead {
    /// Reads `+02:00`, `-0530`, `+02`, `Z` or `UTC`.
    pub(super) fn read(text: &str) -> Option<Self> {
        if text.eq_ignore_ascii_case("z") || text.eq_ignore_ascii_case("utc") {
            return Some(Self(0));
        }
        let (sign, digits) = match text.split_at_checked(1)? {
            ("+", digits) => (1, digits),
            ("-" | "−", digits) => (-1, digits),
            _ => return None,
        };
        let (hours, minutes) = match digits.split_once(':') {
            Some(parts) => parts,
            None if digits.len() == 4 => digits.split_at_checked(2)?,
            None => (digits, "0"),
        };
        let number = |text: &str, most: i16| {
            let digits = (1..=2).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
            text.parse().ok().filter(|n: &i16| digits && *n <= most)
        };
        Some(Self(sign * (number(hours, 14)? * 60 + number(minutes, 59)?)))
    }

    /// From the clock of one zone to that of another.
    fn to(self, other: Self) -> Span {
        (i64::from(other.0) - i64::from(self.0)).minutes()
    }
}

impl std::fmt::Display for Ahead {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let sign = if self.0 < 0 { '-' } else { '+' };
        write!(f, "{sign}{:02}:{:02}", self.0.abs() / 60, self.0.abs() % 60)
    }
}

impl Stamp {
    /// Reads `2026-09-12 14:05`, with `T` for the blank, seconds and a zone if there are any.
    pub(super) fn read(text: &str) -> Option<Self> {
        let text = text.trim();
        // A date and nothing else is no time.
        let time_at = text.find([' ', 'T', 't']).filter(|at| *at >= 8)?;
        let behind = text.get(time_at + 1..)?;
        let zone_at = behind.find(|c: char| matches!(c, '+' | '-' | '−') || c.is_ascii_alphabetic());
        let (clock, zone) = match zone_at {
            Some(at) => {
                let zone = behind.get(at..)?;
                let zone = zone.split_once('[').map_or(zone, |(offset, _)| offset);
                (text.get(..time_at + 1 + at)?.trim_end(), Some(Ahead::read(zone.trim())?))
            }
            None => (text, None),
        };
        let clock: DateTime = clock.parse().ok()?;
        (1900..=2199).contains(&clock.year()).then_some(Self { clock, zone })
    }

    /// What the clock in the brewhouse showed; `None` where the zone behind it was not reckoned with.
    pub(super) fn in_the_brewhouse(self, brewhouse: Option<Ahead>) -> Option<DateTime> {
        match (self.zone, brewhouse) {
            (None, _) => Some(self.clock),
            (Some(zone), Some(brewhouse)) => self.clock.checked_add(zone.to(brewhouse)).ok(),
            (Some(_), None) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn reads_iso_times_with_a_blank_or_t() {
        let clock = date(2026, 9, 12).at(14, 5, 0, 0);
        for text in ["2026-09-12 14:05", "2026-09-12T14:05:00", " 2026-09-12 14:05:00.000 "] {
            assert_eq!(Stamp::read(text), Some(Stamp { clock, zone: None }), "{text}");
        }
        for (text, minutes) in [
            ("2026-09-12T14:05:00Z", 0),
            ("2026-09-12 14:05+02:00", 120),
            ("2026-09-12T14:05:00-0530", -330),
            ("2026-09-12 14:05:00 +02", 120),
            ("2026-09-12T14:05+02:00[Europe/Somewhere]", 120),
            ("2026-09-12 14:05 UTC", 0),
        ] {
            assert_eq!(Stamp::read(text), Some(Stamp { clock, zone: Some(Ahead(minutes)) }), "{text}");
        }
        for text in [
            "",
            "14:05",
            "2026-09-12",
            "12.09.2026 14:05",
            "9/12/2026 2:05 PM",
            "1757685900",
            "2026-09-12 25:00",
            "2026-02-30 10:00",
            "1850-01-01 10:00",
            "2026-09-12 14:05+99:00",
            "2026-09-12 14:05 CEST",
        ] {
            assert_eq!(Stamp::read(text), None, "{text}");
        }
    }

    #[test]
    fn a_zone_counts_only_where_the_brewhouse_states_its_own() {
        let stamp = Stamp::read("2026-09-12T23:05:00Z").unwrap();
        assert_eq!(stamp.in_the_brewhouse(None), None);
        let there = stamp.in_the_brewhouse(Ahead::read("+02:00")).unwrap();
        assert_eq!(there, date(2026, 9, 13).at(1, 5, 0, 0));
        let wall = Stamp::read("2026-09-12 23:05").unwrap();
        assert_eq!(wall.in_the_brewhouse(Ahead::read("+02:00")), wall.in_the_brewhouse(None));
        assert_eq!(Ahead::read("-3:30").unwrap().to_string(), "-03:30");
    }
}
