//! Answers to the questions of a log.

use barm_syntax::Edit;
use barm_syntax::ast::{AmountKind, Kind};

use crate::context::{Context, MOST_FED};
use crate::parting::DEEPEST;
use crate::{Fact, Figure, LotId, Moment, Place, additions, packaging};

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

/// An addition of which it is still asked how much.
#[derive(Clone, Copy)]
pub(crate) struct Open<'a> {
    at: Moment,
    what: &'a str,
    /// It is for the gas in the beer, and not for the strength of the wort.
    for_gas: bool,
}

impl<'a> Open<'a> {
    /// Whether a line is one. What yeast is asked for is answered where the yeast is.
    pub(crate) fn of(context: &Context<'a>, at: Moment, kind: &'a Kind) -> Option<Self> {
        let Kind::Add(add) = kind else { return None };
        let is_asked = add.amount.kind == AmountKind::Asked;
        let counts = is_asked && !additions::bitters(add) && context.yeast(&add.what.text).is_none();
        counts.then(|| Self { at, what: &add.what.text, for_gas: packaging::wanted_by(add).is_some() })
    }
}

/// The first that the strength of a wort hangs on by a moment: of its own, or of what it is a part of.
fn opens<'a>(context: &Context<'a>, mut lot: LotId, mut by: Moment) -> Option<&'a str> {
    for _ in 0..DEEPEST {
        let first = context.open(lot).iter().filter(|open| !open.for_gas).min_by_key(|open| open.at);
        if let Some(open) = first.filter(|open| open.at <= by) {
            return Some(open.what);
        }
        let part = context.parts.get(&lot)?;
        (lot, by) = (part.whole, part.at.min(by));
    }
    None
}

/// What hangs on an addition of which it is still asked how much: the lines of a lot below it, and what is added. A part
/// hangs on what is added to its whole, and a starter on what is added to the wort that it is for.
pub(crate) fn hanging<'a>(context: &Context<'a>, lot: LotId) -> Vec<(Place, &'a str)> {
    if context.nothing_is_open() {
        return Vec::new();
    }
    let of_whole = context.parts.get(&lot).and_then(|part| opens(context, part.whole, part.at));
    let fed = context.feeds(lot).iter().take(MOST_FED);
    if let Some(what) = of_whole.or_else(|| fed.filter_map(|fed| opens(context, fed.into, fed.at)).next()) {
        let all = context
            .blocks(lot)
            .flat_map(|shelved| shelved.block.statements.iter().map(move |s| (shelved, s)));
        return all.map(|(shelved, statement)| (shelved.place(statement.span), what)).collect();
    }
    let mut lines = Vec::new();
    let mut above: Option<Open<'a>> = None;
    let events = context.events(lot).filter(|_| !context.open(lot).is_empty());
    for (at, shelved, statement) in events {
        let open = Open::of(context, at, &statement.kind);
        match (above, open) {
            (None, _) => above = open,
            // What is asked for the same end shares it.
            (Some(above), Some(open)) if above.for_gas || !open.for_gas => {}
            (Some(above), _) => lines.push((shelved.place(statement.span), above.what)),
        }
    }
    lines
}

/// What hangs on an addition waits for it: its answer would be another.
pub(crate) fn wait_for_additions(hanging: &mut [(Place, &str)], answers: &mut [Answer]) {
    hanging.sort_by_key(|(line, _)| *line);
    // What lacks a fact waits for that first.
    for answer in answers.iter_mut().filter(|answer| answer.lacks.is_empty()) {
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
