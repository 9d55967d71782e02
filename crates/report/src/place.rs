//! Where things stand, as people count: lines and columns from 1, in Unicode characters.

use std::cell::OnceCell;
use std::ops::Range;

use barm_reckoning::{FileId, Place, Source};
use barm_syntax::{Encoding, LineIndex, Span};

use crate::Base;

/// A line and a column, both from 1; a column is a Unicode character, whatever its width.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Position {
    /// The line.
    pub line: u32,
    /// The column.
    pub column: u32,
}

/// Files, with what is needed to find a line in them.
#[derive(Debug)]
pub struct Files<'a> {
    sources: &'a [Source],
    base: &'a Base,
    /// Built at the first question: most files of a season have nothing to show.
    indexes: Vec<OnceCell<LineIndex>>,
}

impl<'a> Files<'a> {
    /// The files of a workspace, as they look from a folder.
    #[must_use]
    pub fn new(sources: &'a [Source], base: &'a Base) -> Self {
        Self { sources, base, indexes: sources.iter().map(|_| OnceCell::new()).collect() }
    }

    pub(crate) fn source(&self, file: FileId) -> Option<&'a Source> {
        self.sources.get(file.0 as usize)
    }

    /// A file's path from the folder that the user stands in.
    #[must_use]
    pub fn path(&self, file: FileId) -> String {
        self.source(file).map_or_else(String::new, |source| self.base.path(&source.path))
    }

    pub(crate) fn text(&self, file: FileId) -> &'a str {
        self.source(file).map_or("", |source| &source.text)
    }

    pub(crate) fn index(&self, file: FileId) -> Option<&LineIndex> {
        Some(self.indexes.get(file.0 as usize)?.get_or_init(|| LineIndex::new(self.text(file))))
    }

    /// The line (from 0) that an offset stands in.
    pub(crate) fn line(&self, file: FileId, offset: u32) -> u32 {
        self.index(file).map_or(0, |index| index.line_of(offset))
    }

    /// The bytes of a line (from 0) without its end.
    pub(crate) fn line_range(&self, file: FileId, line: u32) -> Range<usize> {
        self.index(file).and_then(|index| index.line(self.text(file), line)).map_or(0..0, Span::range)
    }

    /// Where an offset stands; one past the end of the text stands at its end.
    pub(crate) fn position(&self, file: FileId, offset: u32) -> Position {
        let at = self.index(file).map(|index| index.position(self.text(file), offset, Encoding::Chars));
        at.map_or(Position { line: 1, column: 1 }, |at| Position {
            line: at.line.saturating_add(1),
            column: at.column.saturating_add(1),
        })
    }

    /// Where a place begins.
    #[must_use]
    pub fn start(&self, place: Place) -> Position {
        self.position(place.file, place.span.start)
    }
}
