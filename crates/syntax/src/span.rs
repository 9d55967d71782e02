//! Places in a text.

use std::ops::Range;

/// A stretch of bytes, relative to the block (or file) that it was read from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// From `start` to before `end`; an `end` before `start` makes it empty.
    #[must_use]
    pub const fn new(start: u32, end: u32) -> Self {
        Self { start, end: if end < start { start } else { end } }
    }

    /// From byte indices of a text. Reading refuses texts above 4 GiB, so they always fit; one that does not is cut.
    #[must_use]
    pub fn of(range: Range<usize>) -> Self {
        let cut = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Self::new(cut(range.start), cut(range.end))
    }

    /// Moved right by `by` bytes: from a block's count to its file's.
    #[must_use]
    pub const fn shifted(self, by: u32) -> Self {
        Self { start: self.start.saturating_add(by), end: self.end.saturating_add(by) }
    }

    /// The same, so many bytes further on or, where negative, further up; `None` where nothing is there.
    pub(crate) fn moved(self, by: i64) -> Option<Self> {
        let moved = |at: u32| u32::try_from(i64::from(at).checked_add(by)?).ok();
        Some(Self { start: moved(self.start)?, end: moved(self.end)? })
    }

    /// From the start of the one to the end of the other.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self { start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// Whether `at` lies in it.
    #[must_use]
    pub const fn contains(self, at: u32) -> bool {
        self.start <= at && at < self.end
    }

    /// How many bytes it holds.
    #[must_use]
    pub const fn len(self) -> u32 {
        self.end - self.start
    }

    /// Whether it holds none.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.end == self.start
    }

    /// As indices into a text.
    #[must_use]
    pub const fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }

    /// What stands there in `text`; empty where the span does not fit the text.
    #[must_use]
    pub fn text(self, text: &str) -> &str {
        text.get(self.range()).unwrap_or("")
    }
}
