//! Answers to the questions of a log.

use barm_syntax::Edit;

use crate::{Figure, LotId, Place};

/// A `?`, and what the log says to it.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// Where the `?` stands.
    pub place: Place,
    /// The lot whose block it stands in.
    pub lot: LotId,
    /// What is said: "180 mL of fen-b", or what is missing.
    pub text: String,
    /// What to write in place of the `?`; `None` where it cannot be answered.
    pub edit: Option<Edit>,
    /// How it was reckoned, and the amount that would be sure.
    pub notes: Vec<String>,
    /// The figures in it.
    pub figures: Vec<Figure>,
}

impl Answer {
    /// What is said where there is nothing to write.
    pub(crate) const fn open(place: Place, lot: LotId, text: String) -> Self {
        Self { place, lot, text, edit: None, notes: Vec::new(), figures: Vec::new() }
    }
}
