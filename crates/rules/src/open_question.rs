use std::collections::BTreeSet;

use barm_reckoning::{Answer, BlockId, FileId, Place, Season};
use barm_syntax::Span;
use barm_syntax::ast::{Amount, AmountKind, Asked, Block, BlockKind, Kind};

use crate::registry::rule;
use crate::{Finding, Fix, Level, Report, oxygen_ceiling};

const NAME: &str = "open-question";

rule! {
    /// A `?`, with its answer or with what is missing for one.
    OpenQuestion, "open-question", Note, "open_question.md", check
}

fn check(season: &Season, report: &mut Report) {
    let mut answered = BTreeSet::new();
    for answer in &season.answers {
        answered.insert(answer.place);
        // What no time is long enough for is told by the rule about that.
        if !oxygen_ceiling::answers(season, answer) {
            report.found(told(season, answer));
        }
    }
    for (file, source) in season.sources.iter().enumerate() {
        let file = FileId(u32::try_from(file).unwrap_or(u32::MAX));
        for (index, placed) in source.log.blocks.iter().enumerate() {
            let id = BlockId { file, index: u32::try_from(index).unwrap_or(u32::MAX) };
            for (span, what) in questions(&placed.block) {
                let place = Place { file, span: span.shifted(placed.start) };
                // A day that no calendar has is no question.
                if season.text(place) == "?" && !answered.contains(&place) {
                    report.found(unanswered(season, id, &placed.block, place, what));
                }
            }
        }
    }
}

fn told(season: &Season, answer: &Answer) -> Finding {
    let mut finding = Finding::new(NAME, Level::Note, answer.place, answer.text.clone());
    if let Some(lot) = season.lot(answer.lot) {
        finding = finding.about(lot.name.to_string());
    }
    for note in &answer.notes {
        finding = finding.noting(note.clone());
    }
    for figure in &answer.figures {
        finding = finding.showing(figure.clone());
    }
    match &answer.edit {
        Some(edit) => finding.mending(Fix {
            title: format!("write `{}`", edit.text),
            file: answer.place.file,
            edits: vec![edit.clone()],
            safe: true,
        }),
        None => finding,
    }
}

/// What a `?` asks for.
#[derive(Clone, Copy)]
enum Question {
    Day,
    Wort,
    Strength,
    Aeration,
    Pitch,
    Other,
}

/// Every `?` of a block.
fn questions(block: &Block) -> Vec<(Span, Question)> {
    let mut out = Vec::new();
    for day in block.days.iter().filter(|day| day.date.is_none()) {
        out.push((day.date_span, Question::Day));
    }
    for statement in &block.statements {
        match &statement.kind {
            Kind::Wort(wort) => {
                out.extend(asked(&wort.volume).map(|span| (span, Question::Wort)));
                out.extend(asked(&wort.gravity).map(|span| (span, Question::Strength)));
            }
            Kind::Aerate(aerate) => {
                out.extend(aerate.duration.iter().filter_map(asked).map(|span| (span, Question::Aeration)));
            }
            Kind::Pitch(pitch) => out.extend(pitch.amount.iter().filter_map(amount).map(|span| (span, Question::Pitch))),
            Kind::Package(package) => {
                let amounts = package.amount.iter().chain(package.with.iter().map(|with| &with.amount));
                out.extend(amounts.filter_map(amount).map(|span| (span, Question::Other)));
            }
            Kind::Add(add) => out.extend(amount(&add.amount).map(|span| (span, Question::Other))),
            _ => {}
        }
    }
    out
}

fn asked<T>(value: &Asked<T>) -> Option<Span> {
    match value {
        Asked::Asked(span) => Some(*span),
        Asked::Known(_) => None,
    }
}

fn amount(amount: &Amount) -> Option<Span> {
    (amount.kind == AmountKind::Asked).then_some(amount.span)
}

/// A question that the reckoning never came to, and what it would have needed.
fn unanswered(season: &Season, id: BlockId, block: &Block, place: Place, what: Question) -> Finding {
    let lot = season.names.lots.iter().find(|lot| lot.blocks.contains(&id));
    let why = match (lot, what) {
        (None, _) => "this block is not reckoned",
        (_, Question::Day) if block.kind != BlockKind::Starter => "only a starter's day can be reckoned",
        (_, Question::Day) => "no brew pitches this starter on a day that is known",
        (_, Question::Wort) if block.kind != BlockKind::Starter => "only a starter's wort can be reckoned",
        (_, Question::Wort) => "no brew pitches this starter",
        (_, Question::Strength) => "how strong a wort is to be is not reckoned: write it, as `at 1.048`",
        (_, Question::Aeration) => "no `wort` to aerate before its yeast takes up the oxygen: add `wort 21 L at 1.048`",
        (_, Question::Pitch) => "what is pitched here is not there",
        (_, Question::Other) => "its day, or what it is asked for, is missing",
    };
    let finding = Finding::new(NAME, Level::Note, place, format!("cannot be answered yet: {why}"));
    match lot {
        Some(lot) => finding.about(lot.name.to_string()),
        None => finding,
    }
}
