//! Places in the files of a workspace.

use barm_syntax::Span;

/// A file of the workspace, by its position in [`crate::Season::sources`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FileId(pub u32);

/// A stretch of a file, in the file's own byte offsets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// Which file.
    pub file: FileId,
    /// Where in it.
    pub span: Span,
}

impl Place {
    /// Whether another place begins in it.
    #[must_use]
    pub const fn holds(self, other: Self) -> bool {
        self.file.0 == other.file.0 && self.span.contains(other.span.start)
    }
}
