//! The parser that pest makes of `grammar/barm.pest`.

#![allow(missing_docs, reason = "the rules are explained in the grammar")]

use pest::iterators::{Pair, Pairs};
use pest_derive::Parser;

#[derive(Parser)]
#[grammar = "../../grammar/barm.pest"]
pub(crate) struct Grammar;

/// A piece of an item.
pub(crate) type Piece<'t> = Pair<'t, Rule>;
/// What lies in a piece, in order; taken from the front.
pub(crate) struct Pieces<'t>(Pairs<'t, Rule>);

impl<'t> Pieces<'t> {
    /// What lies in `piece`.
    pub(crate) fn of(piece: Piece<'t>) -> Self {
        Self(piece.into_inner())
    }

    /// The next of them, which stays.
    pub(crate) fn peek(&self) -> Option<Piece<'t>> {
        self.0.peek()
    }

    /// The first of them.
    pub(crate) fn first(piece: Piece<'t>) -> Option<Piece<'t>> {
        Self::of(piece).next()
    }

    /// The next piece, if it is a `rule`.
    pub(crate) fn next_if(&mut self, rule: Rule) -> Option<Piece<'t>> {
        if self.0.peek().is_some_and(|piece| piece.as_rule() == rule) { self.0.next() } else { None }
    }
}

impl<'t> Iterator for Pieces<'t> {
    type Item = Piece<'t>;
    fn next(&mut self) -> Option<Piece<'t>> {
        self.0.next()
    }
}

/// Reads what stands behind an item's first word by the item's rule; otherwise the byte at which it could not go on.
/// Pieces and byte count from the first letter, past the white space: so many bytes.
pub(crate) fn read_behind(rule: Rule, behind: &str) -> (usize, Result<Pieces<'_>, usize>) {
    let text = behind.trim_start_matches(' ');
    let lead = behind.len() - text.len();
    if lead == 0 && !text.is_empty() {
        return (0, Err(0));
    }
    (lead, read(rule, text))
}

/// Reads `text` by `rule`; otherwise the byte at which it could not go on.
pub(crate) fn read(rule: Rule, text: &str) -> Result<Pieces<'_>, usize> {
    use pest::Parser;
    use pest::error::InputLocation;
    match Grammar::parse(rule, text) {
        Ok(mut pairs) => pairs.next().map(Pieces::of).ok_or(0),
        Err(error) => Err(match error.location {
            InputLocation::Pos(at) | InputLocation::Span((at, _)) => at,
        }),
    }
}
