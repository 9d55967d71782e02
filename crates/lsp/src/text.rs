//! Places as the protocol names them, and edits to a text by them. Every conversion of positions happens here.

use std::ops::Range;

use barm_syntax::Span;
use ropey::Rope;
use tower_lsp::lsp_types::{Position, PositionEncodingKind, Range as Lines};

/// How the client counts columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Encoding {
    Utf8,
    Utf16,
    Utf32,
}

impl Encoding {
    /// The cheapest of those that a client offers; UTF-16 where it offers none.
    pub(crate) fn negotiated(offered: Option<&[PositionEncodingKind]>) -> Self {
        let offers = |kind: PositionEncodingKind| offered.is_some_and(|offered| offered.contains(&kind));
        if offers(PositionEncodingKind::UTF8) {
            Self::Utf8
        } else if offers(PositionEncodingKind::UTF32) && !offers(PositionEncodingKind::UTF16) {
            Self::Utf32
        } else {
            Self::Utf16
        }
    }

    pub(crate) const fn kind(self) -> PositionEncodingKind {
        match self {
            Self::Utf8 => PositionEncodingKind::UTF8,
            Self::Utf16 => PositionEncodingKind::UTF16,
            Self::Utf32 => PositionEncodingKind::UTF32,
        }
    }

    /// How many characters of a line end before a column.
    fn chars_within(self, line: &str, column: usize) -> usize {
        let mut width = 0;
        let ends_within = |c: &char| {
            width += match self {
                Self::Utf8 => c.len_utf8(),
                Self::Utf16 => c.len_utf16(),
                Self::Utf32 => 1,
            };
            width <= column
        };
        line.chars().take_while(ends_within).count()
    }

    /// How wide a stretch of one line is.
    fn width(self, text: &str) -> usize {
        match self {
            _ if text.is_ascii() => text.len(),
            Self::Utf8 => text.len(),
            Self::Utf16 => text.chars().map(char::len_utf16).sum(),
            Self::Utf32 => text.chars().count(),
        }
    }
}

fn short(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// A text whose lines end as the protocol says: at `\n`, `\r\n` or `\r`.
#[derive(Debug, Clone)]
pub(crate) struct Text {
    rope: Rope,
    encoding: Encoding,
}

impl Text {
    pub(crate) fn new(text: &str, encoding: Encoding) -> Self {
        Self { rope: Rope::from_str(text), encoding }
    }

    pub(crate) fn whole(&self) -> String {
        String::from(&self.rope)
    }

    /// The byte that a position names: a column past its line's end is the end, a line past the last the text's end, a
    /// column within a character the character's start.
    pub(crate) fn offset(&self, position: Position) -> usize {
        self.rope.char_to_byte(self.char_at(position))
    }

    fn char_at(&self, position: Position) -> usize {
        let line = usize::try_from(position.line).unwrap_or(usize::MAX);
        if line >= self.rope.len_lines() {
            return self.rope.len_chars();
        }
        let column = usize::try_from(position.character).unwrap_or(usize::MAX);
        let at = self.rope.line_to_byte(line);
        let (chunk, begins, chars_before, _) = self.rope.chunk_at_byte(at);
        // Most lines lie in one stretch of the text.
        if let Some((before, rest)) = chunk.split_at_checked(at - begins)
            && let Some(end) = rest.find(['\r', '\n'])
            && let Some(content) = rest.get(..end)
        {
            return chars_before + before.chars().count() + self.encoding.chars_within(content, column);
        }
        let start = self.rope.line_to_char(line);
        let content = self.content_len(line);
        let chars = match self.encoding {
            Encoding::Utf32 => column,
            Encoding::Utf16 => {
                let first = self.rope.char_to_utf16_cu(start);
                let last = self.rope.char_to_utf16_cu(start + content);
                self.rope.utf16_cu_to_char(first.saturating_add(column).min(last)) - start
            }
            Encoding::Utf8 => {
                let first = self.rope.char_to_byte(start);
                let last = self.rope.char_to_byte(start + content);
                self.rope.byte_to_char(first.saturating_add(column).min(last)) - start
            }
        };
        start + chars.min(content)
    }

    /// How many characters a line has, its end left out.
    fn content_len(&self, line: usize) -> usize {
        let slice = self.rope.line(line);
        let len = slice.len_chars();
        let ends = |back: usize, c: char| len >= back && slice.get_char(len - back) == Some(c);
        match () {
            () if ends(1, '\n') && ends(2, '\r') => len - 2,
            () if ends(1, '\n') || ends(1, '\r') => len - 1,
            () => len,
        }
    }

    /// The position of a byte; of one within a character, the character's.
    pub(crate) fn position(&self, offset: usize) -> Position {
        let at = self.rope.byte_to_char(offset.min(self.rope.len_bytes()));
        let line = self.rope.char_to_line(at);
        let start = self.rope.line_to_char(line);
        // Between the two characters of a line's end there is no place.
        let is = |at: usize, c: char| self.rope.get_char(at) == Some(c);
        let between = at > start && is(at, '\n') && is(at - 1, '\r');
        let at = if between { at - 1 } else { at };
        let column = match self.encoding {
            Encoding::Utf32 => at - start,
            Encoding::Utf16 => self.rope.char_to_utf16_cu(at) - self.rope.char_to_utf16_cu(start),
            Encoding::Utf8 => self.rope.char_to_byte(at) - self.rope.char_to_byte(start),
        };
        Position { line: short(line), character: short(column) }
    }

    pub(crate) fn lines(&self, span: Span) -> Lines {
        Lines { start: self.position(span.start as usize), end: self.position(span.end as usize) }
    }

    /// The span of a range; one that ends before it begins is empty.
    pub(crate) fn span(&self, lines: Lines) -> Span {
        let (start, end) = (self.offset(lines.start), self.offset(lines.end));
        Span::of(start..end.max(start))
    }

    /// How wide a stretch of one line is, in the client's units.
    pub(crate) fn width(&self, span: Range<usize>) -> u32 {
        let (start, end) = (self.position(span.start), self.position(span.end));
        end.character.saturating_sub(start.character)
    }

    /// Puts `new` where `lines` lies; the whole text where that is `None`.
    pub(crate) fn change(&mut self, lines: Option<Lines>, new: &str) {
        let Some(lines) = lines else {
            self.rope = Rope::from_str(new);
            return;
        };
        let a = self.char_at(lines.start);
        let b = if lines.start == lines.end { a } else { self.char_at(lines.end) };
        let (start, end) = (a.min(b), a.max(b));
        if start < end {
            self.rope.remove(start..end);
        }
        if !new.is_empty() {
            self.rope.insert(start, new);
        }
    }
}

/// A text as it stands, its lines found once for many places in it.
pub(crate) struct Table<'t> {
    text: &'t str,
    starts: Vec<usize>,
    encoding: Encoding,
}

impl<'t> Table<'t> {
    pub(crate) fn new(text: &'t str, encoding: Encoding) -> Self {
        let byte = |at: usize| text.as_bytes().get(at);
        let ends = memchr::memchr2_iter(b'\n', b'\r', text.as_bytes())
            .filter(|at| byte(*at) == Some(&b'\n') || byte(at + 1) != Some(&b'\n'));
        Self { text, starts: std::iter::once(0).chain(ends.map(|end| end + 1)).collect(), encoding }
    }

    /// As [`Text::position`].
    fn position(&self, offset: usize) -> Position {
        let is_start = |at: &usize| self.text.is_char_boundary(*at);
        let at = (0..=offset.min(self.text.len())).rfind(is_start).unwrap_or(0);
        let line = self.starts.partition_point(|start| *start <= at).saturating_sub(1);
        let before = self.starts.get(line).and_then(|start| self.text.get(*start..at)).unwrap_or("");
        let between = before.ends_with('\r') && self.text.as_bytes().get(at) == Some(&b'\n');
        let column = self.encoding.width(before) - usize::from(between);
        Position { line: short(line), character: short(column) }
    }

    pub(crate) fn lines(&self, span: Span) -> Lines {
        Lines { start: self.position(span.start as usize), end: self.position(span.end as usize) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const fn at(line: u32, character: u32) -> Position {
        Position { line, character }
    }

    #[test]
    fn lines_end_as_the_protocol_says() {
        // Another crate that asks ropey for its default features would change this.
        let text = Text::new("a\nb\r\nc\rd\u{b}\u{c}\u{85}\u{2028}e", Encoding::Utf16);
        assert_eq!(text.rope.len_lines(), 4);
        assert_eq!(text.offset(at(3, 0)), 7);
        assert_eq!(text.position(4), at(1, 1), "within a line's end");
    }

    #[test]
    fn places_out_of_bounds_are_held() {
        for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
            let text = Text::new("é𝛼x\r\nlast", encoding);
            assert_eq!(text.offset(at(0, 999)), 7);
            assert_eq!(text.offset(at(0, u32::MAX)), 7);
            assert_eq!(text.offset(at(u32::MAX, 3)), 13);
            assert_eq!(text.offset(at(1, 99)), 13);
        }
        let within = Text::new("𝛼", Encoding::Utf16);
        assert_eq!(within.offset(at(0, 1)), 0, "within a surrogate pair");
    }

    #[test]
    fn a_column_is_found_wherever_its_line_lies() {
        // The first lines lie in one stretch, some in two, and the last has no end.
        let lines = ["ab\r\n", "\n", "18 °C 𝛼x\r", "def\n"].concat();
        let text = format!("{}é𝛼b", lines.repeat(300));
        for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
            let rope = Text::new(&text, encoding);
            let mut start = 0;
            for (line, whole) in (0..).zip(rope.rope.lines().map(|line| line.to_string())) {
                let content = whole.trim_end_matches(['\r', '\n']);
                for character in 0..content.len() + 3 {
                    let within =
                        |at: &usize| content.get(..*at).is_some_and(|it| encoding.width(it) <= character);
                    let wanted = (0..=content.len()).rfind(within).unwrap();
                    assert_eq!(rope.offset(at(line, short(character))), start + wanted, "{line}:{character}");
                }
                start += whole.len();
            }
        }
    }

    proptest! {
        #[test]
        fn a_table_tells_the_same_places(parts in prop::collection::vec(prop::sample::select(vec!["a", "é", "𝛼", "e\u{301}", "\n", "\r\n", "\r", " "]), 0..30)) {
            let whole = parts.concat();
            for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
                let (text, table) = (Text::new(&whole, encoding), Table::new(&whole, encoding));
                for offset in 0..whole.len() + 3 {
                    prop_assert_eq!(table.position(offset), text.position(offset), "{}", offset);
                }
            }
        }

        #[test]
        fn positions_and_offsets_are_inverse(parts in prop::collection::vec(prop::sample::select(vec!["a", "é", "𝛼", "e\u{301}", "\n", "\r\n", "\r", " "]), 0..30), wanted in 0_usize..80) {
            let whole = parts.concat();
            for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
                let text = Text::new(&whole, encoding);
                let offset = (0..=wanted.min(whole.len())).rev().find(|i| whole.is_char_boundary(*i)).unwrap();
                // Between `\r` and `\n` there is no place.
                let offset = if whole.get(..offset).is_some_and(|t| t.ends_with('\r')) && whole.get(offset..).is_some_and(|t| t.starts_with('\n')) { offset - 1 } else { offset };
                prop_assert_eq!(text.offset(text.position(offset)), offset);
            }
        }

        #[test]
        fn a_change_by_range_is_the_change_of_the_text(parts in prop::collection::vec(prop::sample::select(vec!["a", "é", "𝛼", "\n", "\r\n"]), 0..20), lines in (0_u32..6, 0_u32..9, 0_u32..6, 0_u32..9), new in "[a𝛼\n]{0,4}") {
            for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
                let mut whole = parts.concat();
                let mut text = Text::new(&whole, encoding);
                let range = Lines { start: at(lines.0, lines.1), end: at(lines.2, lines.3) };
                let (a, b) = (text.offset(range.start), text.offset(range.end));
                whole.replace_range(a.min(b)..a.max(b), &new);
                text.change(Some(range), &new);
                prop_assert_eq!(text.whole(), whole);
            }
        }
    }
}
