//! What stands at a place.

use barm_quantity::Measure;
use barm_syntax::ast::{Block, BlockKind, Clock, Day, Kind, Placed, Statement};
use barm_syntax::{Span, read_clock};
use jiff::civil::Date;

use crate::mention::{Role, mentions};
use crate::piece::{self, Of, Piece};
use crate::world::File;

/// What stands somewhere.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Thing<'f> {
    /// A name.
    Name { text: &'f str, role: Role },
    /// The title of what has a name.
    Title { name: &'f str, role: Role },
    /// A value.
    Quantity(Measure, Of),
    /// A `?`.
    Question,
    /// A rule named by an acceptance.
    Rule(&'f str),
    /// The word that opens a block.
    BlockWord(BlockKind),
    /// The first word of a fact or an event, or another of its words that is none of the others.
    FirstWord(&'f str),
    /// A word of a tasting, or a flavour that a strain makes.
    Flavour(&'f str),
    /// `on` and its date.
    Day(&'f Day),
    /// A time before what happened then.
    Clock(Option<Date>, Clock),
    /// `accept`.
    Acceptance,
    /// Something in a line that could not be read, and the word that this seems to begin with.
    Lost(&'static str),
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
        let word = Span::new(acceptance.span.start, acceptance.span.start + length("accept"));
        if touches(word, inside) {
            return found(Thing::Acceptance, word);
        }
    }
    if let (Some(title), Some(name)) = (block.title.filter(|title| touches(*title, inside)), &block.name) {
        let role = mentions(block).first().map_or(Role::DeclaresLot, |own| own.role);
        return found(Thing::Title { name: &name.text, role }, title);
    }
    if let Some(statement) = statement {
        let mut piece = None;
        piece::of_statement(statement, &mut |span, it| {
            if touches(span, inside) && it != Piece::Amount {
                piece = Some((span, it));
            }
        });
        let text = statement.span.shifted(placed.start).text(&file.text);
        let first = Thing::FirstWord(first_word(text));
        return match (piece, &statement.kind) {
            (Some((span, Piece::Quantity(measure, of))), _) => found(Thing::Quantity(measure, of), span),
            (Some((span, Piece::Question)), _) => found(Thing::Question, span),
            (Some((span, _)), Kind::Taste(_)) => {
                found(Thing::Flavour(span.shifted(placed.start).text(&file.text)), span)
            }
            (Some(_), Kind::Note) => None,
            (Some((span, _)), _) => found(first, span),
            (None, Kind::Makes(makes)) if touches(makes.flavour.span, inside) => {
                found(Thing::Flavour(&makes.flavour.text), makes.flavour.span)
            }
            (None, _) => {
                found(first, word_around(text, inside - statement.span.start)?.shifted(statement.span.start))
            }
        };
    }
    if let Some(day) = block.days.iter().find(|day| touches(day.span, inside)) {
        let thing =
            if day.asked && touches(day.date_span, inside) { Thing::Question } else { Thing::Day(day) };
        let span = if day.asked && touches(day.date_span, inside) { day.date_span } else { day.span };
        return found(thing, span);
    }
    let text = Span::new(placed.start, placed.start + block.len).text(&file.text);
    let word = word_around(text, inside)?;
    let time = around(text, inside, |c| c.is_ascii_digit() || matches!(c, ':' | '~'));
    if let Some((time, (clock, _))) = time.and_then(|time| Some((time, read_clock(time.text(text))?))) {
        let day = block.days.iter().rfind(|day| day.span.end <= time.start);
        return found(Thing::Clock(day.and_then(|day| day.date), clock), time);
    }
    let lost = block.lost.iter().find(|lost| touches(lost.span, inside));
    if let Some(word_meant) = lost.and_then(|lost| lost.word) {
        return found(Thing::Lost(word_meant), word);
    }
    if touches(block.header, inside) && !matches!(block.kind, BlockKind::Unknown | BlockKind::Loose) {
        return found(Thing::BlockWord(block.kind), word);
    }
    None
}

/// The letters, digits, `-` and `_` around an offset of a text; where there are none, the signs.
fn word_around(text: &str, offset: u32) -> Option<Span> {
    around(text, offset, in_word).or_else(|| around(text, offset, |c| !c.is_whitespace() && c != ','))
}

fn around(text: &str, offset: u32, is_part: fn(char) -> bool) -> Option<Span> {
    let (before, behind) = text.split_at_checked(offset as usize)?;
    let from = before.trim_end_matches(is_part).len();
    let to = text.len() - behind.trim_start_matches(is_part).len();
    (from < to).then(|| Span::of(from..to))
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
