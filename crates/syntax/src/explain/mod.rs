//! Why something cannot be read, in words. What was expected comes from the table of first words; the grammar only says
//! where it could not go on.

mod counted;
mod dose;
pub(crate) mod header;
mod near;
mod packaged;
mod refused;
mod spoken;
pub(crate) mod time;
mod word;

pub(crate) use dose::dose_in_words;
pub(crate) use near::{is_form, misspelt};
pub(crate) use packaged::{asks_at, of_one_size};
pub(crate) use refused::{
    Refusal, about_for_lot, by_eye, fraction_problem, in_holder, is_piece, is_sweet, of_two_lands, only_edit,
    refused, unit_problem,
};
pub(crate) use word::unknown;

use crate::ast::{BlockKind, Kind, Name};
use crate::cut::is_space;
use crate::grammar::{self, Rule};
use crate::item::shown;
use crate::place::{Behind, Item, Place, item_end, looks_like_a_clock};
use crate::words::{Means, Word, first_word, look_up};
use crate::{Edit, Fix, Problem, ProblemKind, Span};

/// Words that go on with an item; none of them begins one.
const INNER_WORDS: &[&str] = &[
    "at",
    "columns",
    "dead",
    "diluted",
    "dry",
    "fail",
    "for",
    "from",
    "liquid",
    "live",
    "medium",
    "of",
    "over",
    "pass",
    "rated",
    "rehydrated",
    "sprinkled",
    "square",
    "squares",
    "thick",
    "thin",
    "to",
    "with",
];

fn is_inner_word(word: &str) -> bool {
    INNER_WORDS.iter().any(|inner| inner.eq_ignore_ascii_case(word))
}

/// So many commas in one item are taken for slips.
const SLIPS: usize = 3;

/// An item with commas in it that should not be there.
pub(crate) struct Joined {
    /// The item, as long as written, with spaces for the commas.
    pub(crate) text: String,
    /// Where the commas stand in the line.
    pub(crate) commas: Vec<usize>,
    pub(crate) end: usize,
    pub(crate) behind: Behind,
}

/// Whether an item goes on behind the comma that ends it: `pitch packet, sprinkled`. Its rule must read the whole.
pub(crate) fn joined(item: &Item<'_>, rule: Rule, word_end: usize) -> Option<Joined> {
    let content = item.place.content;
    let mut steps = Vec::new();
    let mut behind = item.place.behind;
    while let Behind::Comma(next) = behind
        && steps.len() < SLIPS
        && goes_on(item.word.means, content.get(next..).unwrap_or(""))
    {
        let (end, after) = item_end(content, next, None);
        steps.push((end, after));
        behind = after;
    }
    let comma_from = |end: usize| Some(content.get(end..)?.find([',', ';'])? + end);
    let first_comma = comma_from(item.place.end)?;
    while let Some((end, behind)) = steps.last().copied() {
        let mut text = content.get(word_end..end)?.to_owned();
        let mut commas = vec![first_comma];
        for (end, _) in steps.iter().take(steps.len() - 1) {
            commas.push(comma_from(*end)?);
        }
        for comma in &commas {
            text.replace_range(comma - word_end..=comma - word_end, " ");
        }
        if grammar::read_behind(rule, &text).1.is_ok() {
            return Some(Joined { text, commas, end, behind });
        }
        steps.pop();
    }
    None
}

fn goes_on(means: Means, next: &str) -> bool {
    let word = first_word(next);
    match next.bytes().next() {
        // `1:10` is a dilution there.
        Some(b'0'..=b'9' | b'?' | b'~') => {
            means == Means::Count || !looks_like_a_clock(next.trim_start_matches('~'))
        }
        _ => is_inner_word(word) || (means == Means::Harvest && word.eq_ignore_ascii_case("in")),
    }
}

/// A comma within an item.
pub(crate) fn slipped_comma(item: &Item<'_>, comma: usize) -> Problem {
    let span = item.place.span_of(comma, comma + 1);
    let next = item.place.content.get(comma + 1..).unwrap_or("").trim_start_matches(is_space);
    let next = next.split(is_space).next().unwrap_or("").trim_end_matches(',');
    let word = item.word.word;
    let message = format!("no comma before `{}`: it belongs to the `{word}`", shown(next));
    Problem::new(ProblemKind::UnreadableLine, span, message)
        .help("a comma ends one event and begins another")
        .fix(Fix::replace(span, "").titled("take the comma out").safe())
}

/// `temp 18 °C; krausen high`: the sign with the white space behind it, and whether something follows.
pub(crate) fn semicolon(span: Span, goes_on: bool) -> Problem {
    let sign = Span::new(span.start, span.start + 1);
    Problem::new(ProblemKind::UnreadableLine, sign, "a comma stands for `;`")
        .help("a comma ends one event and begins another")
        .fix(Fix::replace(span, if goes_on { ", " } else { "" }).titled("put a comma for it").safe())
}

/// A comma with nothing before it.
pub(crate) fn idle_comma(place: &Place<'_>) -> Problem {
    let span = place.span_of(place.at, place.at + 1);
    Problem::new(ProblemKind::UnreadableLine, span, "nothing stands before this comma")
        .fix(Fix::replace(span, "").titled("take the comma out").safe())
}

/// How an item should look.
pub(crate) fn usage(item: &Item<'_>) -> String {
    let word = item.word;
    if word.form == word.word {
        format!("`{}` stands alone", word.word)
    } else {
        format!("write `{}`, such as `{}`", word.form, word.example)
    }
}

/// An item that cannot be read from `column` of its line on, and nothing better to say about it.
pub(crate) fn generic(item: &Item<'_>, column: usize) -> Problem {
    let place = &item.place;
    let word = item.word.word;
    let column = column.clamp(place.at, place.end);
    let left = place.content.get(column..place.end).unwrap_or("");
    let lead = left.len() - left.trim_start_matches(is_space).len();
    let left = left.get(lead..).unwrap_or("");
    if left.is_empty() {
        let message = format!("this `{word}` ends too soon");
        return Problem::new(ProblemKind::UnreadableLine, place.span(), message).help(usage(item));
    }
    let odd = left.split(is_space).next().unwrap_or(left);
    let span = place.span_of(column + lead, column + lead + odd.len());
    let message = format!("this `{word}` cannot be read from `{}` on", shown(odd));
    Problem::new(ProblemKind::UnreadableLine, span, message).help(usage(item))
}

/// Whether words whose first is none of the log's may be kept unread: no number stands in them, and so no amount and no
/// reading is lost.
pub(crate) fn may_be_a_note(text: &str) -> bool {
    !text.contains(|c: char| c.is_ascii_digit())
}

/// Keeps what stands at a place as a note: where other items follow it on the line, on a line of its own.
pub(crate) fn keep_as_note(place: &Place<'_>) -> Fix {
    let title = format!("keep it as `note {}`", shown(place.text()));
    match place.behind {
        Behind::Comma(next) if next < place.content.len() => {
            let indent = place.content.len() - place.content.trim_start_matches(is_space).len();
            let indent = place.content.get(..indent).unwrap_or("");
            let line_end = place.span_of(place.content.len(), place.content.len());
            let edits = vec![
                Edit { span: place.span_of(place.at, next), text: String::new() },
                Edit { span: line_end, text: format!("{}{indent}note {}", place.newline, place.text()) },
            ];
            Fix { title, edits, safe: false }
        }
        _ => Fix::insert(place.span().start, "note ", title),
    }
}

/// A line above every block.
pub(crate) fn loose(item: &Item<'_>) -> Problem {
    let message = "this stands above every block, and belongs to none";
    Problem::new(ProblemKind::UnreadableLine, item.place.span(), message)
        .help("put `brew NAME` (or `strain`, `culture`, `starter`, `vessel`) on a line above it")
}

/// A word in a block where it says nothing.
pub(crate) fn misplaced(item: &Item<'_>, kind: BlockKind) -> Problem {
    let message =
        format!("`{}` belongs in {}, not in a {}", item.word.word, item.word.places.described(), kind.word());
    Problem::new(ProblemKind::UnreadableLine, item.place.span(), message)
}

/// Yeast loses by the month, and a vessel by the kelvin.
pub(crate) fn loses_otherwise(kind: &Kind, block: BlockKind) -> Option<Problem> {
    let (of, loss, example) = match (kind, block) {
        (Kind::Loses(loss), BlockKind::Vessel) => ("heat for each kelvin", loss, "loses 1.8 W/K"),
        (Kind::LosesHeat(loss), BlockKind::Culture) => ("live cells by the month", loss, "loses 20 %/month"),
        _ => return None,
    };
    let is = loss.measure.dimension().described();
    let message = format!("`{}` is {is}; a {} loses {of}", loss.measure, block.word());
    Some(Problem::new(ProblemKind::WrongUnit, loss.span, message).help(format!("such as `{example}`")))
}

/// An event above the first day.
pub(crate) fn undated(item: &Item<'_>) -> Problem {
    let message = format!("when was this `{}`? No day stands above it", item.word.word);
    Problem::new(ProblemKind::UnreadableLine, item.place.span(), message)
        .help("put `on DATE` on the line above, such as `on 2026-08-14`; it dates all lines below it")
}

/// The first word of an item once an edit has mended it.
pub(crate) fn begins_with(place: &Place<'_>, edit: &Edit) -> Option<&'static Word> {
    let from = (edit.span.start as usize).checked_sub(place.line_start)?;
    let to = (edit.span.end as usize).checked_sub(place.line_start)?;
    let before = place.content.get(place.at..from)?;
    let mended = format!("{before}{}{}", edit.text, place.content.get(to..place.end)?);
    look_up(first_word(mended.trim_start_matches(is_space)))
}

/// Whether words of a `taste` are an event of their own: `gravity 1.012`, `test plate fail`, `infected`.
pub(crate) fn is_an_event(words: &str) -> bool {
    let word = first_word(words);
    let mut behind = words.get(word.len()..).unwrap_or("").split(is_space).filter(|word| !word.is_empty());
    let is_number = |word: &str| word.starts_with(|c: char| c.is_ascii_digit() || c == '?');
    let is_of = |word: &str, known: &[&str]| known.iter().any(|known| known.eq_ignore_ascii_case(word));
    look_up(word).is_some_and(|entry| match entry.means {
        Means::Taste | Means::Note | Means::Clean => false,
        Means::Infected => true,
        Means::Test => {
            behind.any(|word| is_of(word, &["pass", "fail"]) || word.contains('.') && is_number(word))
        }
        Means::Krausen => behind.any(|word| is_of(word, &["none", "rising", "high", "fallen"])),
        Means::Dump | Means::Crash => {
            behind.next().is_none_or(|word| is_number(word) || is_of(word, &["all"]))
        }
        _ => behind.any(is_number),
    })
}

/// `taste good, gravity 1.012`
pub(crate) fn event_in_taste(item: &Item<'_>, words: &str, at: Span) -> Problem {
    let place = &item.place;
    let problem = Problem::new(ProblemKind::UnreadableLine, at, "`taste` takes the rest of the line")
        .help(format!("put `{}` before it", shown(words)));
    let before = Edit { span: place.span_of(place.at, place.at), text: format!("{words}, ") };
    let start = (at.start as usize).saturating_sub(place.line_start);
    let lead = place.content.get(..start).unwrap_or("").trim_end_matches(is_space);
    let Some(lead) = lead.strip_suffix(',').filter(|lead| lead.len() > place.at + item.word.word.len())
    else {
        return problem;
    };
    let away =
        Edit { span: Span::new(place.span_of(lead.len(), lead.len()).start, at.end), text: String::new() };
    problem.fix(Fix {
        title: format!("put `{}` before it", shown(words)),
        edits: vec![before, away],
        safe: false,
    })
}

/// The name that a harvest of this block might get.
pub(crate) fn harvest_name(owner: Option<&Name>) -> String {
    owner.map_or_else(|| "jar-1".to_owned(), |owner| format!("{}-cake", owner.text))
}
