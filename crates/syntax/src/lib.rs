//! Reads brewing logs: text to blocks and typed lines, with errors beside them.
//!
//! [`read`] never fails: what it cannot read it reports, with the place, what was expected and a way to mend it, and
//! reads everything around it. [`cut`] and [`read_block`] do the same block by block, for an editor that wants to read
//! only the block in which somebody types; a file read whole and a file read block by block come out the same.

extern crate alloc;

mod accept;
pub mod ast;
mod block;
mod cut;
mod date;
mod edited;
mod explain;
mod format;
mod grammar;
mod item;
mod lines;
mod place;
mod problem;
mod sink;
mod span;
mod value;
mod words;

use std::ops::Range;
use std::sync::Arc;

use ast::{Block, Log, Placed};
pub use cut::cut;
pub use date::read_clock;
use edited::{Before, Known};
pub use format::{FormattedLine, format, format_lines};
pub use lines::{Encoding, LineIndex, Position};
pub use problem::{Edit, Fix, Problem, ProblemKind};
pub use span::Span;
pub use words::{FirstWord, first_words};

/// Reads a whole log file.
///
/// The problems of the log are the first hundred of its blocks'. A block's own are kept in it too, but those beyond the
/// hundred are only counted there: a file of errors must not cost more memory than a log.
///
/// ```
/// use barm_syntax::ast::Kind;
/// let log = barm_syntax::read("brew slack-3\n  on 2026-09-12  temp 18 °C, gravity 1,048\n");
/// let block = &log.blocks[0].block;
/// assert_eq!(block.statements.len(), 1);
/// assert_eq!(log.problems[0].message, "the decimal sign is a point: `1.048`");
/// ```
#[must_use]
pub fn read(text: &str) -> Log {
    read_with(text, |_, _| Before::Nothing)
}

/// Reads a log, but for what was read `before`, by where a block lies and how many more problems are told.
fn read_with<'b>(text: &str, before: impl Fn(&Range<usize>, usize) -> Before<'b>) -> Log {
    if u32::try_from(text.len()).is_err() {
        let message = "a log of 4 GiB or more is not read";
        let problem = Problem::new(ProblemKind::UnreadableLine, Span::default(), message);
        return Log { blocks: Vec::new(), problems: vec![problem], problems_left_out: 0 };
    }
    let cuts = cut(text);
    let mut log = Log { blocks: Vec::with_capacity(cuts.len()), problems: Vec::new(), problems_left_out: 0 };
    for range in cuts {
        let start = Span::of(range.clone()).start;
        let room = sink::IN_A_FILE.saturating_sub(log.problems.len());
        let read = |known: Option<Known<'b>>| {
            Arc::new(block::read(text.get(range.clone()).unwrap_or(""), start == 0, room, known))
        };
        let block = match before(&range, room) {
            Before::Same(block) => block,
            Before::Edited(known) => read(Some(known)),
            Before::Nothing => read(None),
        };
        log.problems.extend(block.problems.iter().map(|problem| problem.shifted(start)));
        log.problems_left_out = log.problems_left_out.saturating_add(block.problems_left_out);
        log.blocks.push(Placed { start, block });
    }
    log
}

/// Reads the text of one block, as [`cut`] cuts it; `first` says that it is the first of its file.
#[must_use]
pub fn read_block(text: &str, first: bool) -> Block {
    block::read(text, first, sink::IN_A_FILE, None)
}
