use crate::reading::reads;

reads! {
    /// A line, or part of one, that no form fits.
    UnreadableLine, "unreadable-line", Error, "unreadable_line.md", UnreadableLine,
    "every line of it can be read"
}
