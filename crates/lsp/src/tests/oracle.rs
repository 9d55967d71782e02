//! Texts and places as the protocol describes them, written once more over a plain `String` and as simply as it goes.

use tower_lsp::lsp_types::{Position, Range};

use crate::text::Encoding;

fn width(c: char, encoding: Encoding) -> usize {
    match encoding {
        Encoding::Utf8 => c.len_utf8(),
        Encoding::Utf16 => c.len_utf16(),
        Encoding::Utf32 => 1,
    }
}

/// Where each line begins and where its content ends.
fn lines(text: &str) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    let mut start = 0;
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let next = match c {
            '\r' if chars.peek().is_some_and(|(_, c)| *c == '\n') => {
                chars.next();
                at + 2
            }
            '\r' | '\n' => at + 1,
            _ => continue,
        };
        out.push((start, at));
        start = next;
    }
    out.push((start, text.len()));
    out
}

/// The byte of a position, held within the text.
pub(super) fn offset(text: &str, position: Position, encoding: Encoding) -> usize {
    let Some(&(start, end)) = lines(text).get(position.line as usize) else { return text.len() };
    let mut left = position.character as usize;
    let mut at = start;
    for c in text[start..end].chars() {
        let Some(rest) = left.checked_sub(width(c, encoding)) else { break };
        left = rest;
        at += c.len_utf8();
    }
    at
}

/// The position of a byte at which a character begins.
pub(super) fn position(text: &str, offset: usize, encoding: Encoding) -> Position {
    let (line, (start, end)) =
        lines(text).into_iter().enumerate().take_while(|(_, (start, _))| *start <= offset).last().unwrap();
    let column: usize = text[start..offset.min(end)].chars().map(|c| width(c, encoding)).sum();
    Position { line: line.try_into().unwrap(), character: column.try_into().unwrap() }
}

/// Puts `new` where `range` lies, or in place of everything.
pub(super) fn change(text: &mut String, range: Option<Range>, new: &str, encoding: Encoding) {
    let Some(range) = range else {
        new.clone_into(text);
        return;
    };
    let (a, b) = (offset(text, range.start, encoding), offset(text, range.end, encoding));
    text.replace_range(a.min(b)..a.max(b), new);
}
