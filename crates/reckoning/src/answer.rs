//! Answers to the questions of a log.

use barm_syntax::Edit;
use barm_syntax::ast::{AmountKind, Kind};

use crate::context::Context;
use crate::{Fact, Figure, LotId, Moment, Place, additions};

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
    /// The facts for want of which it cannot be answered, or only roughly.
    pub lacks: Vec<Fact>,
}

/// A `?`: where it stands, the item that it stands in, and when that happens.
#[derive(Clone, Copy)]
pub(crate) struct Asking {
    pub place: Place,
    pub line: Place,
    pub at: Moment,
}

/// Why there is no answer, and the facts for want of which there is none.
#[derive(Debug)]
pub(crate) struct Unanswered {
    pub why: String,
    pub lacks: Vec<Fact>,
}

impl<S: Into<String>> From<S> for Unanswered {
    fn from(why: S) -> Self {
        Self { why: why.into(), lacks: Vec::new() }
    }
}

impl Unanswered {
    /// For want of a fact.
    pub(crate) fn lacking(why: impl Into<String>, fact: Fact) -> Self {
        Self { why: why.into(), lacks: vec![fact] }
    }

    /// The same, where it keeps something else from being known.
    pub(crate) fn keeps(self, what: &str) -> Self {
        Self { why: format!("{what}: {}", self.why), lacks: self.lacks }
    }
}

/// There is no wort to reckon with, or its line asks itself.
pub(crate) fn no_wort(context: &Context<'_>, lot: LotId, what_for: &str) -> Unanswered {
    if context.has_wort_line(lot) {
        return format!("the `wort` line of {} asks itself: write what it is", context.name(lot)).into();
    }
    Unanswered::lacking(format!("no `wort` {what_for}"), Fact::Wort(lot))
}

impl Answer {
    /// What is said where there is nothing to write.
    pub(crate) fn open(place: Place, lot: LotId, why: impl Into<Unanswered>) -> Self {
        let Unanswered { why, lacks } = why.into();
        Self { place, lot, text: why, edit: None, notes: Vec::new(), figures: Vec::new(), lacks }
    }

    /// What is to be written in place of the `?`, and what is said of it.
    pub(crate) fn written(place: Place, lot: LotId, written: String, text: String) -> Self {
        let edit = Some(Edit { span: place.span, text: written });
        Self { place, lot, text, edit, notes: Vec::new(), figures: Vec::new(), lacks: Vec::new() }
    }
}

/// What hangs on an addition of which it is still asked how much: the lines of a lot below it, and what is added.
pub(crate) fn hanging<'a>(context: &Context<'a>, lot: LotId) -> Vec<(Place, &'a str)> {
    let mut asked: Option<&'a str> = None;
    let mut lines = Vec::new();
    for (_, shelved, statement) in context.events(lot) {
        match (&statement.kind, asked) {
            (Kind::Add(add), _) => {
                let is_asked = add.amount.kind == AmountKind::Asked;
                if is_asked && !additions::bitters(add) && context.yeast(&add.what.text).is_none() {
                    asked.get_or_insert(&add.what.text);
                }
            }
            (_, Some(what)) => lines.push((shelved.place(statement.span), what)),
            (_, None) => {}
        }
    }
    lines
}

/// What hangs on an addition waits for it: its answer would be another.
pub(crate) fn wait_for_additions(hanging: &mut [(Place, &str)], answers: &mut [Answer]) {
    hanging.sort_by_key(|(line, _)| *line);
    for answer in answers.iter_mut().filter(|answer| answer.edit.is_some()) {
        let Place { file, span } = answer.place;
        let above = hanging.partition_point(|(line, _)| (line.file, line.span.start) <= (file, span.start));
        let line = above.checked_sub(1).and_then(|above| hanging.get(above));
        if let Some((_, what)) = line.filter(|(line, _)| line.file == file && line.span.contains(span.start))
        {
            let why = format!("how much {what} is added above it? That comes first");
            *answer = Answer::open(answer.place, answer.lot, why);
        }
    }
}

/// What is said of an amount that is more than even chances.
pub(crate) fn sure(amount: &str) -> String {
    format!("{amount} would be sure (less than a 5 % chance of falling short)")
}
