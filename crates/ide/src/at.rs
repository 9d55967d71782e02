//! What stands at a place.

use barm_quantity::Measure;
use barm_syntax::Span;
use barm_syntax::ast::{Block, BlockKind, Day, Placed, Statement};

use crate::mention::{Role, mentions};
use crate::piece::{self, Piece};
use crate::world::File;

/// What stands somewhere.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Thing<'f> {
    /// A name.
    Name { text: &'f str, role: Role },
    /// A value.
    Quantity(Measure),
    /// A `?`.
    Question,
    /// A rule named by an acceptance.
    Rule(&'f str),
    /// The word that opens a block.
    BlockWord(BlockKind),
    /// The first word of a fact or an event, or another of its words that is none of the others.
    FirstWord(&'f str),
    /// `on` and its date.
    Day(&'f Day),
}

/// What stands at a place, and where it does.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Here<'f> {
    pub(crate) thing: Thing<'f>,
    /// By file offsets.
    pub(crate) span: Span,
    pub(crate) placed: &'f Placed,
    pub(crate) statement: Option<&'f Statement>,
}

/// The block that holds an offset; the last for one at the end.
pub(crate) fn block_at(file: &File, offset: u32) -> Option<&Placed> {
    let blocks = &file.log.blocks;
    let after = blocks.partition_point(|placed| placed.start <= offset);
    blocks.get(after.checked_sub(1)?)
}

/// Whether an offset lies in a span or at its end, where a cursor that typed it stands.
pub(crate) const fn touches(span: Span, offset: u32) -> bool {
    span.start <= offset && offset <= span.end
}

/// The statement that an offset touches, by block offsets; of two that it lies between, the later.
pub(crate) fn statement_at(block: &Block, offset: u32) -> Option<&Statement> {
    block.statements.iter().rev().find(|statement| touches(statement.span, offset))
}

/// What stands at an offset.
pub(crate) fn at(file: &File, offset: u32) -> Option<Here<'_>> {
    let placed = block_at(file, offset)?;
    let block = &*placed.block;
    let inside = offset.checked_sub(placed.start)?;
    let statement = statement_at(block, inside);
    let found = |thing, span: Span| Some(Here { thing, span: span.shifted(placed.start), placed, statement });
    if let Some(mention) = mentions(block).into_iter().find(|m| touches(m.name.span, inside)) {
        return found(Thing::Name { text: &mention.name.text, role: mention.role }, mention.name.span);
    }
    for acceptance in &block.acceptances {
        if let Some(rule) = acceptance.rules.iter().find(|rule| touches(rule.span, inside)) {
            return found(Thing::Rule(&rule.text), rule.span);
        }
    }
    if let Some(statement) = statement {
        let mut piece = None;
        piece::of_statement(statement, &mut |span, it| {
            if touches(span, inside) && it != Piece::Amount {
                piece = Some((span, it));
            }
        });
        match piece {
            Some((span, Piece::Quantity(measure))) => return found(Thing::Quantity(measure), span),
            Some((span, Piece::Question)) => return found(Thing::Question, span),
            Some(_) => return None,
            None => {}
        }
        let text = statement.span.shifted(placed.start).text(&file.text);
        let span = word_around(text, inside - statement.span.start)?.shifted(statement.span.start);
        return found(Thing::FirstWord(first_word(text)), span);
    }
    if let Some(day) = block.days.iter().find(|day| touches(day.span, inside)) {
        let thing =
            if day.asked && touches(day.date_span, inside) { Thing::Question } else { Thing::Day(day) };
        let span = if day.asked && touches(day.date_span, inside) { day.date_span } else { day.span };
        return found(thing, span);
    }
    let word = length(block.kind.word());
    let header = Span::new(block.header.start, block.header.start + word);
    if touches(header, inside) && !matches!(block.kind, BlockKind::Unknown | BlockKind::Loose) {
        return found(Thing::BlockWord(block.kind), header);
    }
    None
}

/// The letters, digits, `-` and `_` around an offset of a text.
fn word_around(text: &str, offset: u32) -> Option<Span> {
    let (before, behind) = text.split_at_checked(offset as usize)?;
    let word = before.len() - last_word(before).len()..before.len() + first_word(behind).len();
    (!word.is_empty()).then(|| Span::of(word))
}

/// The letters, digits, `-` and `_` that a text ends with.
pub(crate) fn last_word(text: &str) -> &str {
    let start = text.char_indices().rev().take_while(|(_, c)| in_word(*c)).last();
    text.get(start.map_or(text.len(), |(at, _)| at)..).unwrap_or("")
}

fn in_word(c: char) -> bool {
    c.is_alphanumeric() || matches!(c, '-' | '_')
}

/// The letters, digits, `-` and `_` that a text begins with.
pub(crate) fn first_word(text: &str) -> &str {
    let end = text.find(|c: char| !in_word(c)).unwrap_or(text.len());
    text.get(..end).unwrap_or("")
}

/// How the lines of a text end.
pub(crate) fn line_end(text: &str) -> &'static str {
    if text.contains("\r\n") { "\r\n" } else { "\n" }
}

/// A length of text as spans count it.
pub(crate) fn length(text: &str) -> u32 {
    u32::try_from(text.len()).unwrap_or(u32::MAX)
}
