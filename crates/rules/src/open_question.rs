use std::collections::{BTreeMap, BTreeSet};

use barm_reckoning::{Answer, BlockId, FileId, LotId, Place, Season};
use barm_syntax::Span;
use barm_syntax::ast::{Amount, AmountKind, Asked, Block, BlockKind, Kind, Name};

use crate::registry::rule;
use crate::{Finding, Fix, Level, Report, bottle_pressure, oxygen_ceiling};

/// The rule whose fixes are answers.
pub const QUESTION: &str = "open-question";
const NAME: &str = QUESTION;
const UNREAD: &str = "a line that it depends on could not be read";

rule! {
    /// A `?`, with its answer or with what is missing for one.
    OpenQuestion, "open-question", Note, "open_question.md", check,
    Anything "no `?` stands in its lines"
}

fn check(season: &Season, report: &mut Report) {
    let mut answered = BTreeSet::new();
    let unread = season.unread_blocks();
    let mut sure: BTreeMap<LotId, bool> = BTreeMap::new();
    for answer in &season.answers {
        answered.insert(answer.place);
        // What no time is long enough for is told by the rule about that.
        if !oxygen_ceiling::answers(season, answer) {
            let is_sure = *sure.entry(answer.lot).or_insert_with(|| !season.hangs_on(answer.lot, &unread));
            report.found(told(season, answer, is_sure));
        }
    }
    for (file, source) in season.sources.iter().enumerate() {
        let file = FileId(u32::try_from(file).unwrap_or(u32::MAX));
        for (index, placed) in source.log.blocks.iter().enumerate() {
            let id = BlockId { file, index: u32::try_from(index).unwrap_or(u32::MAX) };
            for (span, what, dated) in questions(&placed.block) {
                let place = Place { file, span: span.shifted(placed.start) };
                // A day that no calendar has is no question.
                if season.text(place) == "?" && !answered.contains(&place) {
                    match unanswered(season, id, &placed.block, place, (what, dated)) {
                        Ok(finding) => report.found(finding),
                        Err(lot) => report.silent(NAME, &lot, "what it asks for is told as an unknown name"),
                    }
                }
            }
        }
    }
}

/// `is_sure`: all lines that it may depend on could be read.
fn told(season: &Season, answer: &Answer, is_sure: bool) -> Finding {
    // What it lacks is there, and the error at its line says what is wrong with it.
    let unread = answer.edit.is_none() && answer.lacks.iter().any(|fact| season.is_unread(*fact));
    let text = if unread { format!("cannot be answered yet: {UNREAD}") } else { answer.text.clone() };
    let mut finding = Finding::new(NAME, Level::Note, answer.place, text);
    for fact in answer.lacks.iter().filter(|_| !unread) {
        finding = finding.lacking(season, *fact);
    }
    if let Some(lot) = season.lot(answer.lot) {
        finding = finding.about(lot.name.to_string());
    }
    for note in &answer.notes {
        finding = finding.noting(note.clone());
    }
    for figure in &answer.figures {
        finding = finding.showing(figure.clone());
    }
    let Some(edit) = answer.edit.as_ref().filter(|_| !is_too_much(season, answer)) else { return finding };
    if !is_sure {
        finding = finding.noting("a line that it may depend on could not be read: mend that first");
    }
    finding.mending(Fix {
        title: format!("write `{}`", edit.text),
        file: answer.place.file,
        edits: vec![edit.clone()],
        safe: is_sure,
    })
}

/// Whether what is answered brings bottles to more than they should have to hold, which their own finding says.
fn is_too_much(season: &Season, answer: &Answer) -> bool {
    let packages = season.batch(answer.lot).map_or(&[][..], |batch| &batch.packages);
    let mut asked = packages.iter().filter(|package| package.place.holds(answer.place));
    asked.any(|package| {
        bottle_pressure::level(season, package) == Some(Level::Error) || bottle_pressure::thin_glass(package).is_some()
    })
}

/// What a `?` asks for.
#[derive(Clone, Copy)]
enum Question<'b> {
    Day,
    Wort,
    Strength,
    Pitch(&'b Name),
    Packaged,
    Other,
}

/// Every `?` of a block, and whether its day is known.
fn questions(block: &Block) -> Vec<(Span, Question<'_>, bool)> {
    let mut out = Vec::new();
    for day in block.days.iter().filter(|day| day.date.is_none()) {
        out.push((day.date_span, Question::Day, true));
    }
    for statement in &block.statements {
        let day = statement.day.and_then(|day| block.days.get(day.position()));
        let dated = day.is_none_or(|day| day.date.is_some());
        let mut put = |span: Option<Span>, what| out.extend(span.map(|span| (span, what, dated)));
        match &statement.kind {
            Kind::Wort(wort) => {
                put(asked(&wort.volume), Question::Wort);
                put(asked(&wort.gravity), Question::Strength);
            }
            Kind::Aerate(aerate) => put(aerate.duration.as_ref().and_then(asked), Question::Other),
            Kind::Pitch(pitch) => put(pitch.amount.as_ref().and_then(amount), Question::Pitch(&pitch.lot)),
            Kind::Package(package) => {
                put(package.amount.as_ref().and_then(amount), Question::Packaged);
                package.with.iter().for_each(|with| put(amount(&with.amount), Question::Other));
            }
            Kind::Add(add) => put(amount(&add.amount), Question::Other),
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
///
/// # Errors
/// The lot that asks, where the error about the name that it asks about is enough.
fn unanswered(
    season: &Season,
    id: BlockId,
    block: &Block,
    place: Place,
    (what, dated): (Question<'_>, bool),
) -> Result<Finding, String> {
    let lot = season.names.lots.iter().find(|lot| lot.blocks.contains(&id));
    let why = match (lot, what) {
        (Some(lot), Question::Pitch(name)) if season.names.lot(&name.text).is_none() => {
            return Err(lot.name.to_string());
        }
        (None, _) => "this block is not reckoned",
        (_, Question::Day) if block.kind != BlockKind::Starter => "only a starter's day can be reckoned",
        (_, Question::Day) => "no brew pitches this starter on a day that is known",
        (_, Question::Wort) if block.kind != BlockKind::Starter => "only a starter's wort can be reckoned",
        (_, Question::Wort) => "no brew pitches this starter",
        (_, Question::Strength) => "how strong a wort is to be is not reckoned: write it, as `at 1.048`",
        (_, Question::Packaged) => "how much beer there is to package is not reckoned: write it, as `19 L`",
        _ if !dated => "its day is not known",
        _ => "what it is asked of is not known",
    };
    let finding = Finding::new(NAME, Level::Note, place, format!("cannot be answered yet: {why}"));
    Ok(match lot {
        Some(lot) => finding.about(lot.name.to_string()),
        None => finding,
    })
}
