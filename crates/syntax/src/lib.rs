//! Reads brewing logs: text to blocks and typed lines, with errors beside them.

pub mod ast;
mod problem;
mod span;

pub use problem::{Edit, Fix, Problem, ProblemKind};
pub use span::Span;
