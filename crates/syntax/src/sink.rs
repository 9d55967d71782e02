//! Where problems gather, and how many of them.

use crate::{Edit, Fix, Problem, ProblemKind, Span};

/// At most so many a file.
pub(crate) const IN_A_FILE: usize = 100;
/// At most so many a line.
const ON_A_LINE: usize = 20;
/// For so many unknown words of a block the nearest known one is sought.
const SOUGHT: u32 = 50;

/// Problems, bounded. What is beyond the bound is counted and never even worded.
pub(crate) struct Sink {
    list: Vec<Problem>,
    left_out: u32,
    room: usize,
    on_line: usize,
    sought: u32,
}

impl Sink {
    /// With room for so many.
    pub(crate) const fn new(room: usize) -> Self {
        Self { list: Vec::new(), left_out: 0, room, on_line: 0, sought: 0 }
    }

    /// From here on another line is read.
    pub(crate) const fn next_line(&mut self) {
        self.on_line = 0;
    }

    /// Whether one more fits; otherwise it is counted as left out, and need not be worded.
    pub(crate) fn has_room(&mut self) -> bool {
        let fits = self.list.len() < self.room && self.on_line < ON_A_LINE;
        if fits {
            self.on_line += 1;
        } else {
            self.left_out = self.left_out.saturating_add(1);
        }
        fits
    }

    /// Puts in what [`Sink::has_room`] made room for.
    pub(crate) fn put(&mut self, problem: Problem) {
        self.list.push(problem);
    }

    /// Puts in what `word` words, if there is room.
    pub(crate) fn report(&mut self, word: impl FnOnce() -> Problem) {
        if self.has_room() {
            let problem = word();
            self.put(problem);
        }
    }

    /// Whether the nearest word may be sought once more.
    pub(crate) const fn may_seek(&mut self) -> bool {
        let may = self.sought < SOUGHT;
        self.sought += may as u32;
        may
    }

    /// Whether there are any, left out or not.
    pub(crate) fn is_empty(&self) -> bool {
        self.list.is_empty() && self.left_out == 0
    }

    /// All of them in order of place, and how many more there were.
    pub(crate) fn finish(mut self) -> (Vec<Problem>, u32) {
        self.list.sort_by_key(|problem| problem.span);
        self.list.shrink_to_fit();
        (self.list, self.left_out)
    }
}

impl Problem {
    pub(crate) fn new(kind: ProblemKind, span: Span, message: impl Into<String>) -> Self {
        Self { kind, span, message: message.into(), help: None, fixes: Vec::new() }
    }

    pub(crate) fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into()).filter(|help: &String| !help.is_empty());
        self
    }

    pub(crate) fn fix(mut self, fix: Fix) -> Self {
        self.fixes.push(fix);
        self
    }

    /// The same, counted from elsewhere.
    pub(crate) fn shifted(&self, by: u32) -> Self {
        let mut moved = self.clone();
        moved.span = moved.span.shifted(by);
        for edit in moved.fixes.iter_mut().flat_map(|fix| &mut fix.edits) {
            edit.span = edit.span.shifted(by);
        }
        moved
    }
}

impl Fix {
    /// Replaces what stands at `span`, to be looked at first.
    pub(crate) fn replace(span: Span, text: impl Into<String>) -> Self {
        let text = text.into();
        Self { title: format!("write `{}`", text.trim()), edits: vec![Edit { span, text }], safe: false }
    }

    /// Puts `text` in at `at`.
    pub(crate) fn insert(at: u32, text: impl Into<String>, title: impl Into<String>) -> Self {
        let edit = Edit { span: Span::new(at, at), text: text.into() };
        Self { title: title.into(), edits: vec![edit], safe: false }
    }

    pub(crate) fn titled(mut self, title: impl Into<String>) -> Self {
        self.title = title.into();
        self
    }

    /// It cannot change what the log means.
    pub(crate) const fn safe(mut self) -> Self {
        self.safe = true;
        self
    }
}
