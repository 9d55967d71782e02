//! Where an item lies on its line.

use crate::Span;
use crate::ast::Clock;
use crate::cut::is_space;
use crate::words::{Means, Word, first_word};

/// What stands behind an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Behind {
    /// A comma; the next item begins here.
    Comma(usize),
    /// A comment begins here.
    Comment(usize),
    Nothing,
}

/// A part of a line: offsets count within the line's content.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Place<'t> {
    /// The whole line without its end.
    pub(crate) content: &'t str,
    /// Where the line begins in its block.
    pub(crate) line_start: usize,
    pub(crate) at: usize,
    pub(crate) end: usize,
    pub(crate) behind: Behind,
    /// How this line ends; `\n` for the last line of a text.
    pub(crate) newline: &'static str,
}

impl<'t> Place<'t> {
    pub(crate) fn text(&self) -> &'t str {
        self.content.get(self.at..self.end).unwrap_or("")
    }

    pub(crate) fn span(&self) -> Span {
        self.span_of(self.at, self.end)
    }

    /// A span in the block, of offsets in the line.
    pub(crate) fn span_of(&self, start: usize, end: usize) -> Span {
        Span::of(self.line_start + start..self.line_start + end)
    }
}

/// An item whose first word is known.
#[derive(Clone, Copy)]
pub(crate) struct Item<'t> {
    pub(crate) place: Place<'t>,
    pub(crate) word: &'static Word,
    pub(crate) time: Option<Clock>,
}

/// Past the white space from `at` on.
pub(crate) fn skip_spaces(content: &str, at: usize) -> usize {
    content.get(at..).map_or(at, |rest| at + rest.len() - rest.trim_start_matches(is_space).len())
}

/// Finds the end of the item that begins at `at`, trailing white space left out. Commas and `#` inside `"…"` are part of
/// it; so are all commas of a `taste`, and those of packaging behind which it goes on. A `;` is a slip for a comma.
pub(crate) fn item_end(content: &str, at: usize, means: Option<Means>) -> (usize, Behind) {
    let (end, behind) = find_end(content, at, means);
    let text = content.get(at..end).unwrap_or("");
    (at + text.trim_end_matches(is_space).len(), behind)
}

fn find_end(content: &str, at: usize, means: Option<Means>) -> (usize, Behind) {
    if means == Some(Means::Note) {
        return (content.len(), Behind::Nothing);
    }
    let bytes = content.as_bytes();
    let mut quotes = true;
    let mut i = at;
    while let Some(byte) = bytes.get(i) {
        match byte {
            b'"' if quotes => match content.get(i + 1..).and_then(|rest| rest.find('"')) {
                Some(length) => i += length + 1,
                // An unclosed quote takes nothing away from what follows.
                None => quotes = false,
            },
            b',' | b';' if means != Some(Means::Taste) => {
                let rest = content.get(i + 1..).unwrap_or("");
                let next = skip_spaces(content, i + 1);
                let parts = if *byte == b',' { rest.is_empty() || next > i + 1 } else { i > at };
                if parts && !(matches!(means, Some(Means::Package(_))) && packaging_goes_on(content, next)) {
                    return (i, Behind::Comma(next));
                }
            }
            b'#' if i > 0 && content.get(..i).is_some_and(|before| before.ends_with(is_space)) => {
                return (i, Behind::Comment(i));
            }
            _ => {}
        }
        i += 1;
    }
    (content.len(), Behind::Nothing)
}

/// Whether packaging goes on here: with an amount, `with`, `at`, `for` or `rated`.
pub(crate) fn packaging_goes_on(content: &str, at: usize) -> bool {
    let rest = content.get(at..).unwrap_or("");
    let word = first_word(rest);
    let is_word = |words: &[&str]| words.iter().any(|known| known.eq_ignore_ascii_case(word));
    match rest.bytes().next() {
        Some(b'?' | b'~') => true,
        Some(b'0'..=b'9') => !looks_like_a_clock(rest),
        _ => is_word(&["with", "at", "for", "rated", "all", "rest"]),
    }
}

/// Whether a text begins like `14:05`.
pub(crate) fn looks_like_a_clock(text: &str) -> bool {
    let digits = |text: &[u8]| text.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let bytes = text.as_bytes();
    let hours = digits(bytes);
    let minutes = bytes.get(hours..).and_then(|rest| rest.strip_prefix(b":"));
    (1..=2).contains(&hours) && minutes.is_some_and(|minutes| digits(minutes) == 2)
}
