//! Where blocks begin.

use std::ops::Range;

use crate::ast::BlockKind;
use crate::lines::Lines;
use crate::words::{block_word, first_word, look_up};

/// White space within a line.
pub(crate) const fn is_space(c: char) -> bool {
    matches!(c, ' ' | '\t' | '\u{a0}' | '\u{202f}')
}

/// What a line opens, if it opens a block; `Unknown` for a header misspelt in column 1.
pub(crate) fn opens(line: &str) -> Option<BlockKind> {
    // Nearly all lines are settled by their first letter.
    let indented = line.starts_with(is_space);
    let content = line.trim_start_matches(is_space);
    let first = content.bytes().next()?;
    let may_open = matches!(first.to_ascii_lowercase(), b's' | b'c' | b'b' | b'v');
    if !(may_open || (!indented && first.is_ascii_alphabetic())) {
        return None;
    }
    let word = first_word(content);
    block_word(word)
        .or_else(|| (!indented && looks_like_a_header(word, content)).then_some(BlockKind::Unknown))
}

/// One letter or one swap away from a block word, and a name or nothing behind it.
fn looks_like_a_header(word: &str, content: &str) -> bool {
    let behind = content.get(word.len()..).unwrap_or("");
    let named = behind.starts_with(is_space)
        && behind.trim_start_matches(is_space).chars().next().is_none_or(char::is_alphabetic);
    (named || behind.is_empty()) && meant_block(word).is_some() && look_up(word).is_none()
}

/// The block word that a misspelt one is one letter or one swap away from.
pub(crate) fn meant_block(word: &str) -> Option<BlockKind> {
    use BlockKind as K;
    if !(3..=8).contains(&word.len()) {
        return None;
    }
    let small = word.to_ascii_lowercase();
    [K::Strain, K::Culture, K::Starter, K::Brew, K::Vessel]
        .into_iter()
        .find(|kind| strsim::osa_distance(&small, kind.word()) == 1)
}

/// A mark that a merge leaves where two changes met.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    /// `<<<<<<<`
    Ours,
    /// `|||||||`
    Base,
    /// `=======`
    Between,
    /// `>>>>>>>`
    Theirs,
}

/// The merge mark that a line is.
pub(crate) fn mark(line: &str) -> Option<Mark> {
    let mark = match line.bytes().next()? {
        b'<' => ("<<<<<<<", Mark::Ours),
        b'|' => ("|||||||", Mark::Base),
        b'=' => ("=======", Mark::Between),
        b'>' => (">>>>>>>", Mark::Theirs),
        _ => return None,
    };
    let behind = line.strip_prefix(mark.0)?;
    (behind.is_empty() || behind.starts_with(' ')).then_some(mark.1)
}

/// Cuts a file into its blocks, in order and without gaps: the lines above the first header, if there are any, then
/// every header with the lines below it. A conflict left by a merge lies within one block, headers in it or not.
///
/// ```
/// let text = "# spring\nbrew a\n  temp 18 °C\nbrew b\n";
/// let blocks: Vec<&str> = barm_syntax::cut(text).into_iter().map(|range| &text[range]).collect();
/// assert_eq!(blocks, ["# spring\n", "brew a\n  temp 18 °C\n", "brew b\n"]);
/// ```
#[must_use]
pub fn cut(text: &str) -> Vec<Range<usize>> {
    let mut blocks = Vec::new();
    let mut start = 0;
    let text_start = if text.starts_with(BOM) { BOM.len_utf8() } else { 0 };
    let mut conflict_end = 0;
    let mut conflicts = Conflicts::default();
    let body = text.get(text_start..).unwrap_or("");
    for line in Lines::of(body) {
        if line.start < conflict_end {
            continue;
        }
        let content = body.get(line.range()).unwrap_or("");
        if mark(content) == Some(Mark::Ours) {
            conflict_end = conflicts.end(body, line.next).unwrap_or(0);
        } else if opens(content).is_some() {
            let at = if line.start == 0 { 0 } else { line.start + text_start };
            if at > start {
                blocks.push(start..at);
            }
            start = at;
        }
    }
    if text.len() > start {
        blocks.push(start..text.len());
    }
    blocks
}

/// The byte order mark that some editors put at a file's start.
pub(crate) const BOM: char = '\u{feff}';

/// Finds the ends of conflicts; where none is left in the text it does not look again.
#[derive(Default)]
pub(crate) struct Conflicts {
    none_left: bool,
}

impl Conflicts {
    /// Where the line after the next `>>>>>>>` from `from` on begins.
    pub(crate) fn end(&mut self, text: &str, from: usize) -> Option<usize> {
        if self.none_left {
            return None;
        }
        let rest = text.get(from..)?;
        let end = Lines::of(rest)
            .find(|line| rest.get(line.range()).and_then(mark) == Some(Mark::Theirs))
            .map(|line| from + line.next);
        self.none_left = end.is_none();
        end
    }
}
