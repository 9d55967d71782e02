//! Dates and times in other spellings than the log's.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::cut::is_space;
use crate::date::{self, BadDate, YEARS};
use crate::item::shown;
use crate::place::{Place, looks_like_a_clock};
use crate::words::{first_word, look_up};
use crate::{Edit, Fix, Problem, ProblemKind, Span};

/// What is known where a date is missing.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Context {
    /// The last date above.
    pub(crate) before: Option<Date>,
    /// When the block's yeast was pitched.
    pub(crate) pitched: Option<Date>,
    /// Whether a month without its day will do.
    pub(crate) months: bool,
}

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];
const WEEKDAYS: [&str; 7] = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

/// The number of the month that a word names, in full or from its first three letters on.
fn month(word: &str) -> Option<i16> {
    let small = word.to_ascii_lowercase();
    let at =
        MONTHS.iter().position(|month| small.len() >= 3 && (month.starts_with(&small) || small == "sept"))?;
    let at = if small == "sept" { 8 } else { at };
    i16::try_from(at + 1).ok()
}

fn is_weekday(word: &str) -> bool {
    let small = word.to_ascii_lowercase();
    small.len() >= 3 && WEEKDAYS.iter().any(|day| day.starts_with(&small))
}

/// Words of a date that is not written as the log's: how many bytes of `rest` they take. Where nothing looks like a
/// date, all of it.
pub(crate) fn bad_day_length(rest: &str) -> usize {
    let length = day_length(rest);
    let limit = rest
        .match_indices('#')
        .find(|(at, _)| rest.get(..*at).is_some_and(|before| before.ends_with(is_space)))
        .map_or(rest.len(), |(at, _)| at);
    let end = if length == 0 { limit } else { length.min(limit) };
    rest.get(..end).unwrap_or("").trim_end_matches(is_space).len()
}

/// So many bytes look like a date.
fn day_length(rest: &str) -> usize {
    const MOST_WORDS: usize = 5;
    let mut end = 0;
    for _ in 0..MOST_WORDS {
        let left = rest.get(end..).unwrap_or("");
        let lead = left.len() - left.trim_start_matches(is_space).len();
        let left = left.get(lead..).unwrap_or("");
        let length = left.find(is_space).unwrap_or(left.len());
        let word = left.get(..length).unwrap_or("").trim_end_matches([',', '.', ':']);
        let behind = left.get(length..).unwrap_or("").trim_start_matches(is_space);
        let is_hour = ["am", "pm"].iter().any(|half| first_word(behind).eq_ignore_ascii_case(half));
        // `7pm`, or `7 pm`.
        let small = word.to_ascii_lowercase();
        let half = small.strip_suffix("am").or_else(|| small.strip_suffix("pm"));
        let is_hour = is_hour || half.is_some_and(|hour| hour.ends_with(|c: char| c.is_ascii_digit()));
        let is_number =
            word.starts_with(|c: char| c.is_ascii_digit()) && !looks_like_a_clock(word) && !is_hour;
        let is_word = DAYS.iter().chain(&["the"]).any(|w| w.eq_ignore_ascii_case(word));
        if !(is_number || is_word || month(word).is_some() || is_weekday(word)) {
            break;
        }
        end += lead + length;
    }
    end
}

/// The dates that a text may mean, likeliest first.
fn meant(text: &str, context: Context) -> Vec<String> {
    // `2026-09-12T18:00`
    if let Some((date, time)) = text.split_once('T')
        && let (Ok(date), Some((_, length))) = (date::read(date), date::read_clock(time))
    {
        return vec![format!("{date} {}", time.get(..length).unwrap_or(""))];
    }
    let words: Vec<&str> =
        text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let number = |word: &str| date::digits(word.trim_end_matches(|c: char| c.is_ascii_alphabetic()));
    let year = |word: &str| number(word).map(|year| if word.len() <= 2 { year + 2000 } else { year });
    let known_year = context.before.map(Date::year);
    let words: Vec<&str> = words.into_iter().filter(|word| !is_weekday(word)).collect();
    if let [a, b] = words.as_slice()
        && context.months
    {
        return month_of_year(a, b).into_iter().collect();
    }
    let mut dates: Vec<Date> = Vec::new();
    let mut put = |year: Option<i16>, month: Option<i16>, day: Option<i16>| {
        if let (Some(year), Some(month), Some(day)) = (year, month, day)
            && let Ok(date) = date::of(year, month, day)
            && !dates.contains(&date)
        {
            dates.push(date);
        }
    };
    match words.as_slice() {
        ["day" | "Day", day] => {
            if let (Some(pitched), Some(day)) = (context.pitched, number(day)) {
                // Some count the pitch as day 0, some as day 1.
                for days in [day, day - 1] {
                    dates.extend(pitched.checked_add(i64::from(days).days()).ok());
                }
            }
        }
        [a, b] if month(a).is_some() => put(known_year, month(a), number(b)),
        [a, b] if month(b).is_some() => put(known_year, month(b), number(a)),
        [a, b] => {
            if !text.contains('.') {
                put(known_year, number(a), number(b));
            }
            put(known_year, number(b), number(a));
        }
        [a, b, c] if month(a).is_some() => put(year(c), month(a), number(b)),
        [a, b, c] if month(b).is_some() => {
            if a.len() == 4 {
                put(number(a), month(b), number(c));
            } else {
                put(year(c), month(b), number(a));
            }
        }
        [a, b, c] if a.len() == 4 => put(number(a), number(b), number(c)),
        [a, b, c] => {
            // A point parts day from month; a stroke means the one here and the other there.
            if text.contains('/') {
                put(year(c), number(a), number(b));
            }
            put(year(c), number(b), number(a));
        }
        [all] if all.len() == 8 => {
            put(all.get(..4).and_then(number), all.get(4..6).and_then(number), all.get(6..).and_then(number));
        }
        _ => {}
    }
    dates.iter().map(Date::to_string).collect()
}

/// `08/2026`, `2026 Aug`, `12/26`: what is dated by hand has its year, and so a number that is no month is taken for that.
fn month_of_year(a: &str, b: &str) -> Option<String> {
    let (named, year) = if a.len() == 4 && date::digits(a).is_some() { (b, a) } else { (a, b) };
    let month = month(named).or_else(|| date::digits(named)).filter(|month| (1..=12).contains(month))?;
    let year = match (date::digits(year)?, year.len()) {
        (year, 4) => year,
        (year @ 13..=49, 2) => 2000 + year,
        _ => return None,
    };
    Some(format!("{year}-{month:02}"))
}

/// Why a text is no date, and which it may mean.
pub(crate) fn bad_date(fault: BadDate, span: Span, text: &str, context: Context) -> Problem {
    let shown = shown(text);
    match fault {
        BadDate::NoSuchDay => {
            return Problem::new(ProblemKind::ImpossibleValue, span, format!("no calendar has `{shown}`"))
                .help("a date is year, month and day, such as `2026-08-14`");
        }
        BadDate::Year => {
            let message = format!(
                "a log's years run from {} to {}; `{shown}` is none of theirs",
                YEARS.start(),
                YEARS.end()
            );
            return Problem::new(ProblemKind::ImpossibleValue, span, message);
        }
        BadDate::Form => {}
    }
    let dates = meant(text, context);
    let message = match dates.as_slice() {
        [] if context.months => "a date is written `2026-08-14`, a month `2026-08`".to_owned(),
        [] => "a date is written `2026-08-14`".to_owned(),
        [one] => format!("a date is written `{one}`"),
        [one, other, ..] => format!("is `{shown}` `{one}` or `{other}`?"),
    };
    let mut problem = Problem::new(ProblemKind::UnreadableLine, span, message);
    problem = if text.to_ascii_lowercase().starts_with("day") && context.pitched.is_some() {
        problem.help("counted from the pitch, which some call day 0 and some day 1")
    } else if context.months && dates.iter().all(|date| date.len() == "2026-08".len()) {
        problem.help("year and month, or year, month and day; a month is half of one either way")
    } else if context.months {
        problem.help("year, month, day")
    } else {
        problem.help("year, month, day; `on ?` asks the log for the day")
    };
    let only = dates.len() == 1;
    for date in dates {
        // `12/26` may be a day all the same.
        let is_month = date.len() == "2026-08".len();
        let is_sure = only && !(is_month && date.get(..4).is_none_or(|year| !text.contains(year)));
        let fix = Fix::replace(span, date);
        problem = problem.fix(if is_sure && context.before.is_none() { fix.safe() } else { fix });
    }
    problem
}

/// Whether a line begins with a day and not with `on`: `2026-10-05`, `5/10/2026 18:00`, `Oct 5  pitch tide-b`, `day 9`.
pub(crate) fn is_day_without_on(text: &str, context: Context) -> bool {
    // Nearly all lines are settled by their first word: it is one of the language, or a time.
    let bare = text.strip_prefix('~').map_or(text, |text| text.trim_start_matches(is_space));
    let word = first_word(bare);
    let first = word.bytes().next().unwrap_or(b' ');
    let is_settled = if first.is_ascii_digit() { looks_like_a_clock(bare) } else { look_up(word).is_some() };
    if is_settled {
        return false;
    }
    if first.is_ascii_digit() && date::day(text).is_some() {
        return true;
    }
    let is_named = is_weekday(word) || DAYS.iter().any(|day| day.eq_ignore_ascii_case(word));
    if !(first.is_ascii_digit() || is_named || month(word).is_some()) {
        return false;
    }
    let length = day_length(text);
    let Some((written, behind)) = text.split_at_checked(length) else { return false };
    let behind = behind.trim_start_matches(is_space);
    let next = first_word(behind);
    let ends = behind.is_empty()
        || behind.starts_with(['#', ','])
        || looks_like_a_clock(behind.trim_start_matches('~'))
        || look_up(next).is_some()
        || bad_clock(behind, 0).is_some();
    // A number with a point, and a fraction, are dates only where they can be nothing else.
    let parts = written.split(['/', '.', '-']).filter(|part| !part.is_empty()).count();
    let is_number = written.bytes().all(|byte| byte.is_ascii_digit() || b"/.-".contains(&byte));
    let is_whole =
        !is_number || parts == 3 || (parts == 2 && (written.contains('/') || written.ends_with('.')));
    // `14:3` is half a time.
    let is_whole = is_whole && (written.contains('T') || !written.trim_end_matches(':').contains(':'));
    length > 0 && ends && is_whole && (is_named || !meant(written, context).is_empty())
}

/// Days that are named by where they lie.
const DAYS: &[&str] = &["day", "yesterday", "today", "tomorrow"];

/// `2026-10-05`, without its `on`.
pub(crate) fn no_on(span: Span, date: &str) -> Problem {
    Problem::new(ProblemKind::UnreadableLine, span, format!("a day is opened with `on`: `on {date}`"))
        .fix(Fix::insert(span.start, "on ", "put `on` in").safe())
}

/// What is wrong with a date, and that its `on` was forgotten too.
pub(crate) fn with_on(mut problem: Problem) -> Problem {
    problem.message = format!("a day is opened with `on`: {}", problem.message);
    for fix in &mut problem.fixes {
        for edit in &mut fix.edits {
            edit.text.insert_str(0, "on ");
            fix.title = format!("write `{}`", edit.text);
        }
        fix.safe = false;
    }
    problem
}

/// `on` and nothing behind it.
pub(crate) fn no_date(on: Span) -> Problem {
    Problem::new(ProblemKind::UnreadableLine, on, "on which day?")
        .help("such as `on 2026-08-14`, or `on 2026-08-14 18:00`")
}

/// A time in another spelling: what to say, and how many bytes of `rest` it takes. `None` where it looks like no time.
pub(crate) fn bad_clock(rest: &str, at: u32) -> Option<(Problem, usize)> {
    let about = rest.len() - rest.trim_start_matches('~').trim_start_matches(is_space).len();
    let text = rest.get(about..)?;
    let length = text.find(|c| is_space(c) || c == ',').unwrap_or(text.len());
    let word = text.get(..length)?.to_ascii_lowercase();
    let behind = text.get(length..).unwrap_or("");
    let next = behind.trim_start_matches(is_space);
    let next_word = first_word(next);
    // Digits, and what parts them.
    let hours_length = word.bytes().take_while(u8::is_ascii_digit).count();
    let hours: u16 = word.get(..hours_length.min(4))?.parse().ok()?;
    let tail = word.get(hours_length..)?;
    let half_behind = ["am", "pm"].into_iter().find(|half| next_word.eq_ignore_ascii_case(half));
    let (tail, half, taken) = match (tail.strip_suffix("am"), tail.strip_suffix("pm"), half_behind) {
        (Some(cut), ..) => (cut, Some("am"), length),
        (_, Some(cut), _) => (cut, Some("pm"), length),
        (None, None, Some(half)) => (tail, Some(half), length + behind.len() - next.len() + half.len()),
        (None, None, None) => (tail, None, length),
    };
    // What follows must be an item or nothing, or a number with a unit would be taken for a time.
    let followed = next.is_empty() || next.starts_with(['#', ',']) || look_up(next_word).is_some();
    let minutes = |text: &str| (text.len() == 2).then(|| text.parse::<u16>().ok()).flatten();
    let (hours, minutes) = match tail {
        "" if half.is_some() => (hours, 0),
        "" if hours_length == 4 && followed => (hours / 100, hours % 100),
        "h" | "uhr" if hours_length <= 2 && followed => (hours, 0),
        _ => {
            let trimmed = tail.trim_end_matches('h');
            if hours_length <= 2 && trimmed.starts_with(':') && trimmed.len() < 3 {
                let span = Span::new(at, at.saturating_add(Span::of(0..about + length).end));
                let problem = Problem::new(ProblemKind::UnreadableLine, span, "a time is written `14:05`")
                    .help("hours from 0 to 23, a colon, two digits of minutes");
                return Some((problem, about + length));
            }
            let parted = trimmed.strip_prefix(':').or_else(|| {
                (half.is_some() || followed).then(|| trimmed.strip_prefix(['.', 'h'])).flatten()
            })?;
            (hours, minutes(parted)?)
        }
    };
    if hours_length > 2 && !tail.is_empty() {
        return None;
    }
    let hours = match half {
        Some(_) if !(1..=12).contains(&hours) => 99,
        Some("pm") => hours % 12 + 12,
        Some(_) => hours % 12,
        None => hours,
    };
    let taken = taken + about;
    let written = rest.get(..taken)?;
    let span = Span::new(at, at.saturating_add(Span::of(0..taken).end));
    let problem = if hours < 24 && minutes < 60 {
        let mark = if about > 0 { "~" } else { "" };
        let meant = format!("{mark}{hours:02}:{minutes:02}");
        Problem::new(ProblemKind::UnreadableLine, span, format!("a time is written `{meant}`"))
            .help("hours from 0 to 23, a colon, minutes")
            .fix(Fix::replace(span, meant).safe())
    } else {
        let message = format!("no clock shows `{}`", shown(written));
        Problem::new(ProblemKind::ImpossibleValue, span, message)
            .help("times run from `00:00` to `23:59`; midnight is the next day's `00:00`")
    };
    Some((problem, taken))
}

/// Hours that a word for a part of the day stands for.
pub(crate) fn part_of_day(word: &str) -> Option<&'static str> {
    let parts = [
        ("morning", "~08:00"),
        ("noon", "~12:00"),
        ("midday", "~12:00"),
        ("lunchtime", "~12:00"),
        ("afternoon", "~15:00"),
        ("evening", "~20:00"),
        ("tonight", "~20:00"),
        ("night", "~22:00"),
    ];
    parts.into_iter().find(|(part, _)| part.eq_ignore_ascii_case(word)).map(|(_, time)| time)
}

/// A time in the middle of a line, at `place.at` and so many bytes long.
pub(crate) fn time_in_line(place: &Place<'_>, length: usize) -> Problem {
    let time = place.span_of(place.at, place.at + length);
    let before = place.content.get(..place.at).unwrap_or("").trim_end_matches(is_space);
    let indent = place.content.len() - place.content.trim_start_matches(is_space).len();
    let problem =
        Problem::new(ProblemKind::UnreadableLine, time, "a time stands at the beginning of its line")
            .help("events of one line happen at one time; begin a new line for the next");
    match before.strip_suffix(',') {
        Some(items) => {
            let span = place.span_of(items.len(), place.at);
            let text = format!("{}{}", place.newline, " ".repeat(indent));
            let edits = vec![Edit { span, text }];
            problem.fix(Fix { title: "begin a new line".to_owned(), edits, safe: false })
        }
        None => problem,
    }
}
