//! The formatter: every line that was read is set anew, every other is left as it is.

mod item;

use std::fmt::Write;
use std::ops::Range;

use crate::ast::{Block, BlockKind, Clock, Day, Kind, Statement};
use crate::block::plain_spaces;
use crate::cut::{BOM, cut, is_space};
use crate::lines::Lines;
use crate::words::{first_word, look_up};
use crate::{Problem, ProblemKind, Span, read_block};

/// How far facts and days are indented, and how far events.
const FACT: usize = 2;
const EVENT: usize = 4;
/// A fact's word takes so many columns, two more than the longest of them has letters.
const FACT_WORD: usize = 13;

/// Sets a log's indentation and columns, units and ranges, white space and blank lines. What it says, its comments, the
/// order of its lines and their ends stay; lines that cannot be read are not touched. Formatting twice is formatting once.
///
/// ```
/// let typed = "brew slack-3\nWORT 21l at 1.048\n\n\non 2026-09-12\n8:15 temp 18-19C, gravity 1.044 # tap\n";
/// let set = "brew slack-3\n  wort         21 L at 1.048\n\n  on 2026-09-12\n    08:15  temp 18..19 °C, gravity 1.044  # tap\n";
/// assert_eq!(barm_syntax::format(typed), set);
/// ```
#[must_use]
pub fn format(text: &str) -> String {
    let (mark, text) = parted(text);
    let mut out = mark.to_owned();
    each(&rows(text), |row, set| {
        if let Some(set) = set {
            out.push_str(set);
            out.push_str(row.end);
        }
    });
    out
}

/// A line of a log as [`format`] sets it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FormattedLine {
    /// Where it stands, without its end.
    pub span: Span,
    /// Where the next begins.
    pub next: u32,
    /// What is to stand there; `None` for the second of two blank lines, which goes with its end.
    pub text: Option<String>,
}

/// Every line of a log, as [`format`] sets it.
///
/// ```
/// let lines = barm_syntax::format_lines("brew slack-3\nWORT 21l at 1.048\n");
/// assert_eq!(lines[1].text.as_deref(), Some("  wort         21 L at 1.048"));
/// ```
#[must_use]
pub fn format_lines(text: &str) -> Vec<FormattedLine> {
    let (mark, text) = parted(text);
    let mut at = mark.len();
    let mut out = Vec::new();
    each(&rows(text), |row, set| {
        let (end, next) = (at + row.length, at + row.length + row.end.len());
        let (span, next_line) = (Span::of(at..end), Span::of(next..next).start);
        out.push(FormattedLine { span, next: next_line, text: set.map(str::to_owned) });
        at = next;
    });
    out
}

/// A byte order mark, and the rest.
fn parted(text: &str) -> (&str, &str) {
    text.split_at(if text.starts_with(BOM) { BOM.len_utf8() } else { 0 })
}

fn rows(text: &str) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    for range in cut(text) {
        let block_text = text.get(range).unwrap_or("");
        rows_of(block_text, &read_block(block_text, false), &mut rows);
    }
    rows
}

/// A line on its way out, with the length and the end of line that it has.
struct Row<'t> {
    content: Content<'t>,
    length: usize,
    end: &'t str,
}

enum Content<'t> {
    Blank,
    /// As it was.
    Untouched(&'t str),
    /// A comment alone, and whether it was indented.
    Comment {
        text: &'t str,
        indented: bool,
    },
    /// Set anew, without the comment behind it.
    Set {
        indent: usize,
        text: String,
        comment: Option<&'t str>,
    },
}

fn rows_of<'t>(text: &'t str, block: &Block, rows: &mut Vec<Row<'t>>) {
    let plain = plain_spaces(text);
    let mut setter = Setter { text: &plain, raw: text, block, statement: 0, day: 0 };
    for line in Lines::of(text) {
        let whole = text.get(line.range()).unwrap_or("");
        let end = text.get(line.end..line.next).unwrap_or("");
        let body = whole.trim_matches(is_space);
        let content = if block.in_conflict {
            Content::Untouched(whole)
        } else if body.is_empty() {
            Content::Blank
        } else if body.starts_with('#') && !body.contains('\r') {
            Content::Comment { text: body, indented: whole.starts_with(is_space) }
        } else {
            match setter.line(line.range()) {
                Some((indent, set, comment)) => {
                    let comment =
                        comment.and_then(|at| whole.get(at..)).map(|text| text.trim_end_matches(is_space));
                    Content::Set { indent, text: set, comment }
                }
                None => Content::Untouched(whole),
            }
        };
        rows.push(Row { content, length: whole.len(), end });
    }
}

/// Goes through a block's lines and, beside them, its days and statements.
struct Setter<'b> {
    /// With plain spaces only, and as it is.
    text: &'b str,
    raw: &'b str,
    block: &'b Block,
    statement: usize,
    day: usize,
}

impl<'b> Setter<'b> {
    /// Indentation, text and the place of the comment of the line that lies there; `None` if it is not to be touched.
    fn line(&mut self, range: Range<usize>) -> Option<(usize, String, Option<usize>)> {
        let inside = |start: u32| (start as usize) < range.end;
        let day = self.block.days.get(self.day).filter(|day| inside(day.span.start));
        self.day += usize::from(day.is_some());
        let rest = self.block.statements.get(self.statement..).unwrap_or(&[]);
        let statements = rest.get(..rest.iter().take_while(|s| inside(s.span.start)).count()).unwrap_or(&[]);
        self.statement += statements.len();
        let is_here = |problem: &Problem| {
            problem.kind != ProblemKind::AcceptanceWithoutReason
                && range.contains(&(problem.span.start as usize))
        };
        if self.block.kind == BlockKind::Loose || self.block.problems.iter().any(is_here) {
            return None;
        }
        let content = self.text.get(range.clone())?;
        if range.contains(&(self.block.header.start as usize)) && day.is_none() && statements.is_empty() {
            return self.header(content, range.start);
        }
        let comment = covered(content, range.start, day, statements)?;
        let first = statements.first();
        let time = first.and_then(|statement| statement.time);
        let (indent, mut set) = match day {
            Some(day) => (FACT, set_day(day)?),
            None => {
                let first = first?;
                let is_note = matches!(first.kind, Kind::Note | Kind::Kept(_));
                let is_event = first.kind.is_event() || time.is_some() || (is_note && first.day.is_some());
                (if is_event { EVENT } else { FACT }, time.map(set_clock).unwrap_or_default())
            }
        };
        let in_columns = indent == FACT && day.is_none();
        for (n, statement) in statements.iter().enumerate() {
            match n {
                0 if set.is_empty() => {}
                0 => set.push_str("  "),
                _ => set.push_str(", "),
            }
            let (word, behind) = self.item(statement)?;
            let width = if n == 0 && in_columns && !behind.is_empty() && statement.kind != Kind::Note {
                FACT_WORD - 1
            } else {
                0
            };
            let _ = write!(set, "{word:width$}");
            if !behind.is_empty() {
                let _ = write!(set, " {behind}");
            }
        }
        Some((indent, set, comment))
    }

    /// An item's word and what stands behind it.
    fn item(&self, statement: &Statement) -> Option<(&'static str, String)> {
        let item = statement.span.text(self.text);
        let written = first_word(item);
        let word = look_up(written)?;
        let behind = match word.rule {
            Some(rule) => item::set(rule, item.get(written.len()..)?)?,
            None => statement.span.text(self.raw).get(written.len()..)?.trim_matches(is_space).to_owned(),
        };
        Some((word.word, behind))
    }

    /// A header; `None` where something in it was not read.
    fn header(&self, content: &str, at: usize) -> Option<(usize, String, Option<usize>)> {
        let header = self.block.header;
        if self.block.kind == BlockKind::Unknown
            || self.block.problems.iter().any(|p| p.span.start <= header.end)
        {
            return None;
        }
        let mut set = format!("{} {}", self.block.kind.word(), self.block.name.as_ref()?.text);
        // The title may stand before the strains or behind them.
        let title = self.block.title.map(|span| (span.start, format!(" {}", span.text(self.raw))));
        let strains: Vec<&str> = self.block.strains.iter().map(|strain| &*strain.text).collect();
        let strains = self
            .block
            .strains
            .first()
            .map(|first| (first.span.start, format!(" of {}", strains.join(" + "))));
        let mut parts: Vec<_> = title.into_iter().chain(strains).collect();
        parts.sort();
        set.extend(parts.into_iter().map(|(_, part)| part));
        let end = (header.end as usize).checked_sub(at)?;
        Some((0, set, comment_at(content, end)?))
    }
}

/// Where the comment is, if behind `end` there is nothing else. The outer `None` says that there is.
#[expect(clippy::option_option, reason = "something else, nothing and a comment are three things")]
fn comment_at(content: &str, end: usize) -> Option<Option<usize>> {
    let behind = content.get(end..)?;
    let rest = behind.trim_start_matches(is_space);
    match rest.bytes().next() {
        None => Some(None),
        Some(b'#') if rest.len() < behind.len() => Some(Some(content.len() - rest.len())),
        Some(_) => None,
    }
}

/// Where the comment is, if day, statements, commas and comment are all that stands on the line: then nothing is lost
/// when it is set from them. `at` is where the line begins. The outer `None` says that there is more.
#[expect(clippy::option_option, reason = "something else, nothing and a comment are three things")]
fn covered(content: &str, at: usize, day: Option<&Day>, statements: &[Statement]) -> Option<Option<usize>> {
    let mut end = day.map_or(0, |day| (day.span.end as usize).saturating_sub(at));
    let mut lead = day.is_none();
    for (n, statement) in statements.iter().enumerate() {
        let start = (statement.span.start as usize).checked_sub(at)?;
        let between = content.get(end..start)?.trim_matches(is_space);
        let expected = match n {
            0 if lead && statement.time.is_some() => {
                crate::date::clock(between).is_some_and(|c| c.length == between.len())
            }
            0 => between.is_empty(),
            _ => between == ",",
        };
        if !expected {
            return None;
        }
        lead = false;
        end = (statement.span.end as usize).checked_sub(at)?;
    }
    let behind = content.get(end..)?;
    let comma = behind.trim_start_matches(is_space).strip_prefix(',').filter(|_| !statements.is_empty());
    comment_at(content, comma.map_or(end, |rest| content.len() - rest.len()))
}

fn set_clock(clock: Clock) -> String {
    format!("{}{:02}:{:02}", if clock.about { "~" } else { "" }, clock.minutes / 60, clock.minutes % 60)
}

/// `None` for a day that could not be read.
fn set_day(day: &Day) -> Option<String> {
    let date = match day.date {
        Some(date) => date.to_string(),
        None if day.asked => "?".to_owned(),
        None => return None,
    };
    let time = day.time.map(|time| format!(" {}", set_clock(time))).unwrap_or_default();
    Some(format!("on {}{date}{time}", if day.about { "~" } else { "" }))
}

/// Meets each row with the line that it is set as, comments in their places; blank lines come one at a time, and with nothing
/// where they are left out.
fn each(rows: &[Row<'_>], mut met: impl FnMut(&Row<'_>, Option<&str>)) {
    let mut set = String::new();
    let mut level = 0;
    let mut after_blank = false;
    let columns = comment_columns(rows);
    for (n, row) in rows.iter().enumerate() {
        let blank = matches!(row.content, Content::Blank);
        let left_out = blank && after_blank;
        after_blank = blank;
        set.clear();
        match &row.content {
            Content::Blank => {}
            Content::Untouched(text) => set.push_str(text),
            Content::Comment { text, indented } => {
                let below = rows
                    .get(n + 1..)
                    .unwrap_or(&[])
                    .iter()
                    .find(|row| !matches!(row.content, Content::Comment { .. }));
                let indent = match below {
                    Some(Row { content: Content::Set { indent, .. }, .. }) => *indent,
                    _ if !indented => 0,
                    _ => level.max(FACT),
                };
                let _ = write!(set, "{:indent$}{text}", "");
            }
            Content::Set { indent, text, comment } => {
                level = *indent;
                let _ = write!(set, "{:indent$}{text}", "");
                if let Some(comment) = comment {
                    let column = columns.get(n).copied().unwrap_or(0);
                    let width = column.saturating_sub(indent + text.chars().count());
                    let _ = write!(set, "{:width$}{comment}", "");
                }
            }
        }
        met(row, (!left_out).then_some(&set));
    }
}

/// The column of each row's comment: comments of neighbouring lines stand below one another.
fn comment_columns(rows: &[Row<'_>]) -> Vec<usize> {
    let mut columns = vec![0; rows.len()];
    let width = |row: &Row<'_>| match &row.content {
        Content::Set { indent, text, comment: Some(_) } => Some(indent + text.chars().count() + 2),
        _ => None,
    };
    let mut start = 0;
    while start < rows.len() {
        let group = rows.get(start..).unwrap_or(&[]).iter().map_while(width);
        let (many, column) = group.fold((0, 0), |(many, column), width| (many + 1, column.max(width)));
        if let Some(group) = columns.get_mut(start..start + many) {
            group.fill(column);
        }
        start += many.max(1);
    }
    columns
}
