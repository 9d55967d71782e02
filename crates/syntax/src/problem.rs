//! What could not be read, and how to mend it.

use crate::Span;

/// Which rule a problem falls under. The names and pages of the rules are `barm-rules`'s.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ProblemKind {
    /// A line, or part of one, that no form fits.
    UnreadableLine,
    /// The marks of a merge conflict.
    MergeMarks,
    /// A header whose first word is nearly a block word.
    MisspeltBlock,
    /// A bare number where a unit is needed.
    MissingUnit,
    /// A unit that measures something else.
    WrongUnit,
    /// A comma as the decimal sign.
    DecimalComma,
    /// A value that nobody can have measured.
    ImpossibleValue,
    /// A first word that the language does not have, and that is near one that it has.
    UnknownWord,
    /// An acceptance without its reason.
    AcceptanceWithoutReason,
}

/// Something that could not be read. What stands around it was read all the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Its kind.
    pub kind: ProblemKind,
    /// Where it stands (block offsets in a [`crate::ast::Block`], file offsets in a [`crate::ast::Log`]).
    pub span: Span,
    /// One plain sentence.
    pub message: String,
    /// What was expected, with an example.
    pub help: Option<String>,
    /// Ways to mend it, best first.
    pub fixes: Vec<Fix>,
}

/// A change of the text that mends something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fix {
    /// What it does, as a brewer would say it: "write `18 °C`".
    pub title: String,
    /// The edits, in order of place, none overlapping another.
    pub edits: Vec<Edit>,
    /// Whether it may be made without a look: it cannot change what the log means.
    pub safe: bool,
}

/// One replacement.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    /// What is replaced; empty to insert.
    pub span: Span,
    /// By what.
    pub text: String,
}
