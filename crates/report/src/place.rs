//! Where things stand, as people count: lines and columns from 1, in Unicode characters.

use std::cell::OnceCell;

use barm_reckoning::{FileId, Place, Source};
use barm_syntax::LineIndex;

use crate::Base;

/// A line and a column, both from 1; a column is a Unicode character, whatever its width.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Position {
    pub(crate) line: u32,
    pub(crate) column: u32,
}

/// Files, with what is needed to find a line in them.
pub(crate) struct Files<'a> {
    sources: &'a [Source],
    base: &'a Base,
    /// Built at the first question: most files of a season have nothing to show.
    indexes: Vec<OnceCell<LineIndex>>,
}

impl<'a> Files<'a> {
    pub(crate) fn new(sources: &'a [Source], base: &'a Base) -> Self {
        Self { sources, base, indexes: sources.iter().map(|_| OnceCell::new()).collect() }
    }

    pub(crate) fn source(&self, file: FileId) -> Option<&'a Source> {
        self.sources.get(file.0 as usize)
    }

    /// A file's path from the folder that the user stands in.
    pub(crate) fn path(&self, file: FileId) -> String {
        self.source(file).map_or_else(String::new, |source| self.base.path(&source.path))
    }

    pub(crate) fn text(&self, file: FileId) -> &'a str {
        self.source(file).map_or("", |source| &source.text)
    }

    pub(crate) fn index(&self, file: FileId) -> Option<&LineIndex> {
        Some(self.indexes.get(file.0 as usize)?.get_or_init(|| LineIndex::new(self.text(file))))
    }

    /// The line (from 0) that an offset stands in, and that line's bytes without its end.
    pub(crate) fn line(&self, file: FileId, offset: u32) -> (u32, std::ops::Range<usize>) {
        let Some(index) = self.index(file) else { return (0, 0..0) };
        let line = index.line(offset);
        (line, self.line_range(file, line))
    }

    /// The bytes of a line (from 0) without its end.
    pub(crate) fn line_range(&self, file: FileId, line: u32) -> std::ops::Range<usize> {
        self.index(file).map_or(0..0, |index| index.span(line).range())
    }

    /// Where an offset stands; one past the end of the text stands at its end.
    pub(crate) fn position(&self, file: FileId, offset: u32) -> Position {
        let (line, range) = self.line(file, offset);
        let end = boundary(self.text(file), (offset as usize).clamp(range.start, range.end.max(range.start)));
        let before = self.text(file).get(range.start..end);
        let column = before.map_or(0, |text| text.chars().count());
        Position {
            line: line.saturating_add(1),
            column: u32::try_from(column).unwrap_or(u32::MAX).saturating_add(1),
        }
    }

    /// Where a place begins.
    pub(crate) fn start(&self, place: Place) -> Position {
        self.position(place.file, place.span.start)
    }
}

/// The start of the character that `at` lies in.
pub(crate) fn boundary(text: &str, at: usize) -> usize {
    let at = at.min(text.len());
    (0..=at).rev().find(|&i| text.is_char_boundary(i)).unwrap_or(0)
}
