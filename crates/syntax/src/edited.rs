//! Reading a text again after an edit: only the lines that it touched, and the blocks that they lie in.

use std::sync::Arc;

use crate::ast::{Block, Kind, Log, Placed};
use crate::lines::Line;
use crate::{Problem, Span, sink};

impl Log {
    /// Reads `new`, taking over from this log, which was read from `old`, every block that lies before or behind what
    /// differs between the two, and of the others most lines. The result equals [`crate::read`] of `new`.
    ///
    /// ```
    /// use std::sync::Arc;
    /// let old = "brew a\n  temp 18 °C\nbrew b\n";
    /// let new = "brew a\n  temp 19 °C\nbrew b\n";
    /// let before = barm_syntax::read(old);
    /// let after = before.edited(old, new);
    /// assert_eq!(after, barm_syntax::read(new));
    /// assert!(Arc::ptr_eq(&before.blocks[1].block, &after.blocks[1].block));
    /// ```
    #[must_use]
    pub fn edited(&self, old: &str, new: &str) -> Self {
        let same = |(a, b): &(&u8, &u8)| a == b;
        let head = old.as_bytes().iter().zip(new.as_bytes()).take_while(same).count();
        let longest = old.len().min(new.len()) - head;
        let ends = old.as_bytes().iter().rev().zip(new.as_bytes().iter().rev());
        let tail = ends.take(longest).take_while(same).count();
        let kept = Kept { log: self, old: old.len(), new: new.len(), head, tail };
        crate::read_with(new, |range, room| match kept.block(range, room) {
            Some(block) => Before::Same(block),
            None => kept.lines(range).map_or(Before::Nothing, Before::Edited),
        })
    }
}

/// What was read before of what is to be read as a block.
pub(crate) enum Before<'l> {
    /// All of it.
    Same(Arc<Block>),
    /// Most lines of it.
    Edited(Known<'l>),
    /// Nothing.
    Nothing,
}

/// What of a log may be taken over.
struct Kept<'l> {
    log: &'l Log,
    /// Lengths of the texts, and how much of them is equal at the start and at the end.
    old: usize,
    new: usize,
    head: usize,
    tail: usize,
}

impl<'l> Kept<'l> {
    /// The block that was read from the same text as a stretch of the new one holds.
    fn block(&self, range: &std::ops::Range<usize>, room: usize) -> Option<Arc<Block>> {
        let start = if range.end <= self.head {
            range.start
        } else if range.start >= self.new - self.tail {
            range.start + self.old - self.new
        } else {
            return None;
        };
        // The first block of a file is read otherwise: it may begin with a byte order mark.
        if (start == 0) != (range.start == 0) {
            return None;
        }
        let block = self.began_at(start)?;
        let fits = block.len as usize == range.len()
            && block.problems_left_out == 0
            && block.problems.len() <= room.min(sink::IN_A_FILE);
        fits.then(|| Arc::clone(block))
    }

    /// The lines of a block that began where a stretch of the new text begins.
    fn lines(&self, range: &std::ops::Range<usize>) -> Option<Known<'l>> {
        let block = self.began_at(range.start).filter(|block| block.problems_left_out == 0)?;
        Some(Known {
            block,
            head: self.head.checked_sub(range.start)?,
            tail: (self.new - self.tail).saturating_sub(range.start),
            moved: i64::try_from(self.new).ok()? - i64::try_from(self.old).ok()?,
        })
    }

    fn began_at(&self, start: usize) -> Option<&'l Arc<Block>> {
        let start = Span::of(start..start).start;
        let at = self.log.blocks.binary_search_by_key(&start, |placed: &Placed| placed.start).ok()?;
        Some(&self.log.blocks.get(at)?.block)
    }
}

/// A block as it was before an edit.
pub(crate) struct Known<'l> {
    block: &'l Block,
    /// So many of its first bytes are as they were.
    head: usize,
    /// From here on, in the new text, all is as it was, so many bytes further on.
    tail: usize,
    moved: i64,
}

impl Known<'_> {
    /// What an item says, if it stood there before and its line is still the same. An item of which there was something
    /// to tell is read again, and so is one that the block had no place for.
    pub(crate) fn item(&self, line: Line, span: Span) -> Option<Kind> {
        let by = if line.next <= self.head {
            0
        } else if line.start > self.tail {
            self.moved
        } else {
            return None;
        };
        let was = span.moved(-by)?;
        let whole = Span::of(line.start..line.next).moved(-by)?;
        let told = |problem: &Problem| problem.span.start <= whole.end && whole.start <= problem.span.end;
        if self.block.problems.iter().any(told) {
            return None;
        }
        let statements = &self.block.statements;
        let at = statements.partition_point(|statement| statement.span.start < was.start);
        statements.get(at).filter(|statement| statement.span == was)?.kind.moved(by)
    }
}

#[cfg(test)]
#[allow(clippy::string_slice, reason = "a test may fail by panicking")]
mod tests {
    use proptest::prelude::*;

    const PIECES: &[&str] = &[
        "brew a\n",
        "  temp 18 °C\n",
        "\u{feff}",
        "culture b of c\r\n",
        "  on 2026-09-12  gravity 1,048\n",
        "  on 2026-09-13\n",
        "    18:00  temp 19 °C, gravity 1.040 at 19 °C, note cold # a remark\n",
        "    aerate air 5 min, pitch b 200 mL, krausen high\n",
        "  hold 18..20 °C",
        "brwe x\n",
        "<<<<<<< ours\n",
        ">>>>>>> theirs\n",
        "# accept too-warm: why\n",
        "  wort 21 at\n",
        "𝛼",
        "\n",
        "s",
        "starter d",
    ];

    fn texts() -> impl Strategy<Value = String> {
        prop::collection::vec(prop::sample::select(PIECES), 0..14).prop_map(|pieces| pieces.concat())
    }

    proptest! {
        #[test]
        fn equals_reading_afresh(old in texts(), at in 0.0..1.0, len in 0_usize..40, put in texts()) {
            let place = |wanted: usize| (0..=wanted.min(old.len())).rev().find(|i| old.is_char_boundary(*i)).unwrap();
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss, reason = "a place in a short text")]
            let start = place((old.len() as f64 * at) as usize);
            let end = place(start + len).max(start);
            let new = format!("{}{put}{}", &old[..start], &old[end..]);
            prop_assert_eq!(crate::read(&old).edited(&old, &new), crate::read(&new));
        }

        #[test]
        fn equals_reading_afresh_where_problems_abound(many in 80_usize..140, fewer in 0_usize..140) {
            let old = format!("brew a\n{}brew b\n{}brew c\n  wort 3\n", "  temp 3\n".repeat(fewer), "  temp 3\n".repeat(many));
            let new = old.replacen("  temp 3\n", "", fewer / 2);
            prop_assert_eq!(crate::read(&old).edited(&old, &new), crate::read(&new));
        }
    }
}
