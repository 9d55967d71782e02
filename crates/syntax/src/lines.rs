//! Lines: how a text falls into them, and which line and column an offset has.

use std::ops::Range;

use crate::Span;

/// A line of a text: where its content lies, and where the next line begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Line {
    pub(crate) start: usize,
    /// Past the content: where the line's end, `\n` or `\r\n`, begins.
    pub(crate) end: usize,
    /// Where the next line begins.
    pub(crate) next: usize,
}

impl Line {
    pub(crate) const fn range(self) -> Range<usize> {
        self.start..self.end
    }
}

/// The lines of a text. An end of line at the end of the text opens no further line.
pub(crate) struct Lines<'t> {
    text: &'t str,
    at: usize,
}

impl<'t> Lines<'t> {
    pub(crate) const fn of(text: &'t str) -> Self {
        Self { text, at: 0 }
    }
}

impl Iterator for Lines<'_> {
    type Item = Line;

    fn next(&mut self) -> Option<Line> {
        let rest = self.text.get(self.at..).filter(|rest| !rest.is_empty())?;
        let start = self.at;
        let (end, next) = match rest.find('\n') {
            Some(length) => {
                let with_return = rest.get(..length).is_some_and(|content| content.ends_with('\r'));
                (start + length - usize::from(with_return), start + length + 1)
            }
            None => (self.text.len(), self.text.len()),
        };
        self.at = next;
        Some(Line { start, end, next })
    }
}

/// How columns are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Encoding {
    /// In bytes.
    Utf8,
    /// In UTF-16 code units.
    Utf16,
    /// In characters (Unicode scalar values).
    Chars,
}

/// A place as editors and people name it; both count from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Position {
    /// The line.
    pub line: u32,
    /// The column, in the units of an [`Encoding`].
    pub column: u32,
}

/// Where the lines of one text begin. Lines end at `\n` or `\r\n`; a lone `\r` ends none.
///
/// ```
/// use barm_syntax::{Encoding, LineIndex, Position};
/// let text = "brew a\r\n  temp 18 °C\n";
/// let index = LineIndex::new(text);
/// assert_eq!(index.position(text, 20, Encoding::Utf8), Position { line: 1, column: 12 });
/// assert_eq!(index.position(text, 20, Encoding::Utf16), Position { line: 1, column: 11 });
/// assert_eq!(index.offset(text, Position { line: 1, column: 11 }, Encoding::Utf16), 20);
/// assert_eq!(index.line(text, 0).map(|line| line.text(text)), Some("brew a"));
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LineIndex {
    starts: Vec<u32>,
}

impl LineIndex {
    /// Finds the lines of a text of less than 4 GiB; what lies beyond counts to the last line.
    #[must_use]
    pub fn new(text: &str) -> Self {
        let mut starts = vec![0];
        starts.extend(text.match_indices('\n').map_while(|(at, _)| u32::try_from(at + 1).ok()));
        starts.shrink_to_fit();
        Self { starts }
    }

    /// How many lines there are: one more than there are ends of lines.
    #[must_use]
    pub fn len(&self) -> u32 {
        u32::try_from(self.starts.len()).unwrap_or(u32::MAX)
    }

    /// Never: a text has at least one line.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        false
    }

    /// The line that holds an offset; the last for an offset past the end.
    #[must_use]
    pub fn line_of(&self, offset: u32) -> u32 {
        let after = self.starts.partition_point(|start| *start <= offset);
        u32::try_from(after.saturating_sub(1)).unwrap_or(u32::MAX)
    }

    /// What stands on a line, its end left out; `None` past the last line.
    #[must_use]
    pub fn line(&self, text: &str, line: u32) -> Option<Span> {
        let start = *self.starts.get(line as usize)?;
        let next = self.starts.get(line as usize + 1).map_or(text.len(), |next| *next as usize);
        let whole = text.get(start as usize..next).unwrap_or("");
        let content = whole.strip_suffix('\n').map_or(whole, |cut| cut.strip_suffix('\r').unwrap_or(cut));
        Some(Span::of(start as usize..start as usize + content.len()))
    }

    /// Line and column of an offset of this text. An offset within a character counts as the character's.
    #[must_use]
    pub fn position(&self, text: &str, offset: u32, encoding: Encoding) -> Position {
        let line = self.line_of(offset);
        let start = self.starts.get(line as usize).map_or(0, |start| *start as usize);
        let rest = text.get(start..).unwrap_or("");
        let mut wanted = (offset as usize).saturating_sub(start).min(rest.len());
        while !rest.is_char_boundary(wanted) {
            wanted -= 1;
        }
        let before = rest.get(..wanted).unwrap_or("");
        let column = match encoding {
            Encoding::Utf8 => before.len(),
            Encoding::Utf16 => before.chars().map(char::len_utf16).sum(),
            Encoding::Chars => before.chars().count(),
        };
        Position { line, column: u32::try_from(column).unwrap_or(u32::MAX) }
    }

    /// The offset of a line and column; a column past the line's content is its end, a line past the last the text's.
    #[must_use]
    pub fn offset(&self, text: &str, position: Position, encoding: Encoding) -> u32 {
        let Some(line) = self.line(text, position.line) else {
            return Span::of(0..text.len()).end;
        };
        let mut left = position.column as usize;
        let mut at = line.start;
        for c in line.text(text).chars() {
            let width = match encoding {
                Encoding::Utf8 => c.len_utf8(),
                Encoding::Utf16 => c.len_utf16(),
                Encoding::Chars => 1,
            };
            if width > left {
                break;
            }
            left -= width;
            at += Span::of(0..c.len_utf8()).end;
        }
        at
    }
}

#[cfg(test)]
#[allow(clippy::string_slice, reason = "a test may fail by panicking")]
mod tests {
    use super::*;

    #[test]
    fn lines_end_at_newlines_and_a_lone_return_ends_none() {
        let text = "a\r\nb\rc\n\nd";
        let lines: Vec<&str> = Lines::of(text).map(|line| &text[line.range()]).collect();
        assert_eq!(lines, ["a", "b\rc", "", "d"]);
        let index = LineIndex::new(text);
        assert_eq!(index.len(), 4);
        assert_eq!(index.line(text, 1).unwrap().text(text), "b\rc");
        assert_eq!(index.line(text, 4), None);
    }

    #[test]
    fn columns_in_three_encodings() {
        let text = "é𝛼x\n";
        let index = LineIndex::new(text);
        for (encoding, column) in [(Encoding::Utf8, 6), (Encoding::Utf16, 3), (Encoding::Chars, 2)] {
            let position = index.position(text, 6, encoding);
            assert_eq!(position, Position { line: 0, column });
            assert_eq!(index.offset(text, position, encoding), 6);
        }
        // Within a character, past a line, past the text.
        assert_eq!(index.position(text, 1, Encoding::Chars).column, 0);
        assert_eq!(index.offset(text, Position { line: 0, column: 99 }, Encoding::Chars), 7);
        assert_eq!(index.offset(text, Position { line: 9, column: 0 }, Encoding::Chars), 8);
    }
}
