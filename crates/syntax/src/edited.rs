//! Reading a text again after an edit: only the lines that it touched, and the blocks that they lie in.

use std::sync::Arc;

use crate::ast::{Block, BlockKind, Day, Kind, Log, Placed, Statement};
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
        let head = same_head(old.as_bytes(), new.as_bytes());
        let tail = same_tail(old.as_bytes().split_at(head).1, new.as_bytes().split_at(head).1);
        let kept = Kept { log: self, old: old.len(), new: new.len(), head, tail };
        crate::read_with(new, |range, room| match kept.block(range, room) {
            Some(block) => Before::Same(block),
            None => kept.lines(range).map_or(Before::Nothing, Before::Edited),
        })
    }
}

/// Bytes that are compared at once, which is much faster than one after the other.
const AT_ONCE: usize = 64;

/// How many first bytes are equal.
fn same_head(a: &[u8], b: &[u8]) -> usize {
    let chunks = a.chunks_exact(AT_ONCE).zip(b.chunks_exact(AT_ONCE));
    let sure = AT_ONCE * chunks.take_while(|(a, b)| a == b).count();
    sure + a.iter().zip(b).skip(sure).take_while(|(a, b)| a == b).count()
}

/// How many last bytes are equal.
fn same_tail(a: &[u8], b: &[u8]) -> usize {
    let chunks = a.rchunks_exact(AT_ONCE).zip(b.rchunks_exact(AT_ONCE));
    let sure = AT_ONCE * chunks.take_while(|(a, b)| a == b).count();
    sure + a.iter().rev().zip(b.iter().rev()).skip(sure).take_while(|(a, b)| a == b).count()
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
            statements: &block.statements,
            days: &block.days,
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
    /// Of the lines that were not asked for yet.
    statements: &'l [Statement],
    days: &'l [Day],
    /// So many of its first bytes are as they were.
    head: usize,
    /// From here on, in the new text, all is as it was, so many bytes further on.
    tail: usize,
    moved: i64,
}

/// A line as it was before an edit.
pub(crate) struct KnownLine<'l> {
    /// So many bytes further on now.
    pub(crate) by: i64,
    /// The day that it opens.
    pub(crate) day: Option<&'l Day>,
    pub(crate) statements: &'l [Statement],
}

impl<'l> Known<'l> {
    /// How many bytes further on a line stands now, if all of it stood there before.
    const fn by(&self, line: Line) -> Option<i64> {
        // The last line may go on where the text was cut off.
        let ended = line.end < line.next;
        if line.next <= self.head && ended {
            Some(0)
        } else if line.start > self.tail {
            Some(self.moved)
        } else {
            None
        }
    }

    /// Whether there was something to tell of a stretch of it.
    fn told(&self, whole: Span) -> bool {
        let meets = |span: Span| span.start <= whole.end && whole.start <= span.end;
        self.block.problems.iter().any(|problem: &Problem| meets(problem.span))
    }

    /// What an item says, if it stood there before and its line is still the same. An item of which there was something
    /// to tell is read again, and so is one that the block had no place for.
    pub(crate) fn item(&self, line: Line, span: Span) -> Option<Kind> {
        let by = self.by(line)?;
        let was = span.moved(-by)?;
        if self.told(Span::of(line.start..line.next).moved(-by)?) {
            return None;
        }
        let statements = &self.block.statements;
        let at = statements.partition_point(|statement| statement.span.start < was.start);
        statements.get(at).filter(|statement| statement.span == was)?.kind.moved(by)
    }

    /// Whether its lines say what they say whatever stands above them, but for the day.
    pub(crate) fn is_plain(&self, kind: BlockKind) -> bool {
        let block = self.block;
        let all_told = block.lost.len() < sink::IN_A_FILE;
        kind == block.kind
            && kind != BlockKind::Loose
            && !block.in_conflict
            && block.acceptances.is_empty()
            && all_told
    }

    /// All that a line behind the header says, if it is still the same and nothing was amiss in it. Lines are asked for in
    /// their order.
    pub(crate) fn line(&mut self, line: Line) -> Option<KnownLine<'l>> {
        let by = self.by(line)?;
        let whole = Span::of(line.start..line.next).moved(-by)?;
        let was_within = self.block.header.end <= whole.start && whole.end <= self.block.len;
        let was_lost = || {
            self.block.lost.iter().any(|lost| lost.span.start < whole.end && whole.start <= lost.span.start)
        };
        if !was_within || self.told(whole) || was_lost() {
            return None;
        }
        let statements = taken(&mut self.statements, whole, |statement| statement.span.start);
        let day = taken(&mut self.days, whole, |day| day.span.start).first();
        Some(KnownLine { by, day, statements })
    }
}

/// What begins within a line; what is left are those that begin behind it.
fn taken<'l, T>(left: &mut &'l [T], line: Span, start: impl Fn(&T) -> u32) -> &'l [T] {
    let before = left.iter().take_while(|it| start(it) < line.start).count();
    let (_, from) = left.split_at(before);
    let (within, behind) = from.split_at(from.iter().take_while(|it| start(it) < line.end).count());
    *left = behind;
    within
}

#[cfg(test)]
#[allow(clippy::string_slice, reason = "a test may fail by panicking")]
mod tests {
    use proptest::prelude::*;

    const PIECES: &[&str] = &[
        "brew a\n",
        "brew a\n  on 2026-09-12\n",
        "  krausen high, crash\n  on ?\n  on 2026-13-12  temp 9 °C, krausen none\n",
        "  temp 18 °C\n",
        "\u{feff}",
        "culture b of c\r\n",
        "  on 2026-09-12  gravity 1,048\n",
        "  on 2026-09-13\n",
        "    18:00  temp 19 °C, gravity 1.040 at 19 °C, note cold # a remark\n",
        "    aerate air 5 min, pitch b 200 mL, krausen high\n",
        "  hold 18..20 °C",
        "  2026-09-14 temp 8 °C\n",
        "  15/9  krausen none\n",
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
        fn as_much_is_equal_as_bytes_are(a in prop::collection::vec(0_u8..2, 0..300), at in 0_usize..300, put in prop::collection::vec(0_u8..2, 0..3)) {
            let at = at.min(a.len());
            let b = [&a[..at], &put, &a[at..]].concat();
            let one_by_one = a.iter().zip(&b).take_while(|(a, b)| a == b).count();
            prop_assert_eq!(super::same_head(&a, &b), one_by_one);
            let one_by_one = a.iter().rev().zip(b.iter().rev()).take_while(|(a, b)| a == b).count();
            prop_assert_eq!(super::same_tail(&a, &b), one_by_one);
        }

        #[test]
        fn equals_reading_afresh_where_problems_abound(many in 80_usize..140, fewer in 0_usize..140) {
            let old = format!("brew a\n{}brew b\n{}brew c\n  wort 3\n", "  temp 3\n".repeat(fewer), "  temp 3\n".repeat(many));
            let new = old.replacen("  temp 3\n", "", fewer / 2);
            prop_assert_eq!(crate::read(&old).edited(&old, &new), crate::read(&new));
        }
    }
}
