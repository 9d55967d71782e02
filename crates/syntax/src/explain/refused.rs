//! Items that their rule refuses.

use barm_quantity::{Dimension, Unit};
use strsim::osa_distance;

use super::counted::count_in_order;
use super::header::name_like;
use super::near::{is_form, misspelt};
use super::packaged::{
    and_at, asks_at, bare_part, by_the_case, by_the_cask, filled_from, make_before, rated_for, set_for,
    size_behind, to_carbonation,
};
use super::spoken::{racked, spoken};
use super::word::{hidden_character, is_amount, is_hidden, joined_by_word, what_before_amount};
use super::{INNER_WORDS, generic, harvest_name, is_inner_word, may_be_a_note, usage};
use crate::ast::{Measured, Name};
use crate::cut::is_space;
use crate::date;
use crate::grammar::{self, Rule};
use crate::item::{several_for_one, shown};
use crate::place::{Behind, Item};
use crate::sink::Sink;
use crate::value::Values;
use crate::words::{Means, first_word, look_up};
use crate::{Edit, Fix, Problem, ProblemKind, Span};

/// What is to be done about a refused item.
pub(crate) enum Refusal {
    /// It ends before this column of the line, where another item or a comment begins.
    Split { problem: Problem, at: usize, end: usize },
    /// With a change after which one may look what else is wrong.
    Problem(Problem, Option<Edit>),
}

/// Explains an item that `rule`, reading from `word_end` on, refuses at `column`; all three count in the line.
pub(crate) fn refused(
    item: &Item<'_>,
    rule: Rule,
    word_end: usize,
    column: usize,
    owner: Option<&Name>,
) -> Refusal {
    if let Some(refusal) = glued_comma(item, rule, word_end) {
        return refusal;
    }
    let view = View::new(item, word_end, column);
    if let Some(refusal) = remark(&view, rule).or_else(|| mark_behind(&view, rule)) {
        return refusal;
    }
    let verdict = verdict(&view).or_else(|| racked(&view));
    if verdict.is_none()
        && let Some(split) = split(item, rule, word_end)
    {
        return split;
    }
    let problem = verdict
        .or_else(|| clock_behind(&view))
        .or_else(|| unit_of_answer(&view))
        .or_else(|| mixed_number(&view))
        .or_else(|| fraction(&view))
        .or_else(|| spoken(&view))
        .or_else(|| by_word(&view, owner))
        .or_else(|| joined_events(&view, rule))
        .or_else(|| odd_sign(&view))
        .or_else(|| numbers(&view, rule))
        .or_else(|| odd_unit(&view, rule))
        .or_else(|| inner_word(&view, rule))
        .unwrap_or_else(|| words_behind(&view, rule, generic(item, column)));
    let mut further = only_edit(&problem);
    if further.is_none() && item.word.means == Means::Wort && view.odd.is_empty() {
        let end = item.place.span().end;
        further = Some(Edit { span: Span::new(end, end), text: " at ?".to_owned() });
    }
    Refusal::Problem(problem, further)
}

/// The edit of a problem's best fix, if it is a single one.
pub(crate) fn only_edit(problem: &Problem) -> Option<Edit> {
    match problem.fixes.first()?.edits.as_slice() {
        [edit] => Some(edit.clone()),
        _ => None,
    }
}

/// In so many places of an item, and in none longer than so many bytes, is an end looked for.
const MOST_TRIED: usize = 6;
const LONGEST: usize = 1000;

/// `temp 18 °C,krausen high`: a comma that ends an item, but for the space behind it.
fn glued_comma(item: &Item<'_>, rule: Rule, word_end: usize) -> Option<Refusal> {
    let place = &item.place;
    let body = place.content.get(word_end..place.end).filter(|body| body.len() <= LONGEST)?;
    let is_digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    let commas = body.match_indices(',').map(|(at, _)| at).filter(|at| {
        let (before, behind) = (body.get(..*at).unwrap_or(""), body.get(at + 1..).unwrap_or(""));
        let is_decimal = is_digit(before.chars().next_back()) && is_digit(behind.chars().next());
        !is_decimal && !behind.is_empty() && !behind.starts_with(is_space)
    });
    let ends_item = |at: &usize| {
        let before = body.get(..*at).unwrap_or("").trim_end_matches(is_space);
        grammar::read_behind(rule, before).1.is_ok()
    };
    let comma = commas.take(MOST_TRIED).find(ends_item)?;
    let end = word_end + comma;
    let span = place.span_of(end, end + 1);
    let problem = no_space_behind(Problem::new(ProblemKind::UnreadableLine, span, NO_SPACE), span);
    let next = first_word(place.content.get(end + 1..place.end)?);
    Some(if look_up(next).is_some_and(|_| !is_inner_word(next)) {
        Refusal::Split { problem, at: end + 1, end }
    } else {
        let further = only_edit(&problem);
        Refusal::Problem(problem, further)
    })
}

const NO_SPACE: &str = "a comma that ends something has a space behind it";

fn no_space_behind(problem: Problem, comma: Span) -> Problem {
    problem.fix(Fix::insert(comma.end, " ", "put a space in").safe())
}

/// A comma missing before another item, or a space before a comment.
fn split(item: &Item<'_>, rule: Rule, word_end: usize) -> Option<Refusal> {
    let place = &item.place;
    let content = place.content;
    let reads = |end: usize| {
        let text = content.get(word_end..end).unwrap_or("").trim_end_matches(is_space);
        grammar::read_behind(rule, text).1.is_ok().then_some(word_end + text.len())
    };
    let body = content.get(word_end..place.end)?;
    if let Some(at) = body.find('#').map(|at| at + word_end)
        && let Some(end) = reads(at)
    {
        let span = place.span_of(at, at + 1);
        let problem =
            Problem::new(ProblemKind::UnreadableLine, span, "a comment needs a space before its `#`")
                .fix(Fix::insert(span.start, " ", "put a space in").safe());
        return Some(Refusal::Split { problem, at, end });
    }
    let (end, at) = missing_comma(rule, content.get(word_end..place.end)?, 0)?;
    let (end, at) = (word_end + end, word_end + at);
    let word = first_word(content.get(at..place.end)?);
    let comma = Fix::insert(place.span_of(end, end).start, ",", "put a comma in");
    // `count 45 M/mL in suspension`: not every `in` is a vessel's.
    let is_vessel = look_up(word).is_some_and(|next| next.means == Means::In);
    let problem = Problem::new(
        ProblemKind::UnreadableLine,
        place.span_of(at, at + word.len()),
        format!("a comma is missing before `{word}`"),
    )
    .help("a comma ends one event and begins another")
    .fix(if is_vessel { comma } else { comma.safe() });
    Some(Refusal::Split { problem, at, end })
}

/// Where an item of `rule` ends and another begins, if a comma between them is all that is missing in `text`, or in
/// what follows: its end and the next one's beginning.
fn missing_comma(rule: Rule, text: &str, depth: usize) -> Option<(usize, usize)> {
    const DEEPEST: usize = 2;
    if depth > DEEPEST || text.len() > LONGEST {
        return None;
    }
    let words = text.match_indices(is_space).map(|(at, space)| at + space.len());
    let items = words.filter_map(|at| {
        let next = text.get(at..)?;
        let word = first_word(next);
        let entry = look_up(word).filter(|_| !is_inner_word(word))?;
        Some((at, entry, next.get(word.len()..)?))
    });
    for (at, entry, behind) in items.take(MOST_TRIED) {
        let before = text.get(..at).unwrap_or("").trim_end_matches(is_space);
        let next_reads = |rule| {
            grammar::read_behind(rule, behind).1.is_ok() || missing_comma(rule, behind, depth + 1).is_some()
        };
        if grammar::read_behind(rule, before).1.is_ok() && entry.rule.is_none_or(next_reads) {
            return Some((before.len(), at));
        }
    }
    None
}

/// So many faults of an item are looked at when a unit is tried in it.
const DOUBTS: usize = 8;

/// A refused item, laid out for looking at.
pub(super) struct View<'i, 't> {
    pub(super) item: &'i Item<'t>,
    /// Behind the first word.
    pub(super) rest: &'t str,
    word_end: usize,
    /// Where the grammar gave up, past white space.
    pub(super) column: usize,
    /// What stands before that, white space cut off, and what stands there.
    pub(super) before: &'t str,
    pub(super) odd: &'t str,
}

impl<'i, 't> View<'i, 't> {
    fn new(item: &'i Item<'t>, word_end: usize, column: usize) -> Self {
        let place = &item.place;
        let content: &'t str = place.content;
        let from_column = content.get(column..place.end).unwrap_or("");
        let column = place.end - from_column.trim_start_matches(is_space).len();
        Self {
            item,
            rest: content.get(word_end..place.end).unwrap_or("").trim_start_matches(is_space),
            word_end,
            column,
            before: content.get(place.at..column).unwrap_or("").trim_end_matches(is_space),
            odd: content.get(column..place.end).unwrap_or(""),
        }
    }

    pub(super) fn odd_word(&self) -> &'t str {
        self.odd.split(is_space).next().unwrap_or(self.odd)
    }

    /// So many bytes from the column on.
    pub(super) fn at_column(&self, length: usize) -> Span {
        self.item.place.span_of(self.column, self.column + length)
    }

    /// All behind the first word.
    pub(super) fn rest_span(&self) -> Span {
        let place = &self.item.place;
        place.span_of(place.end - self.rest.len(), place.end)
    }

    /// Whether a unit may stand here in place of so many bytes: what is behind it may still be wrong.
    fn reads_with(&self, unit: &str, length: usize, rule: Rule) -> bool {
        self.takes(unit, length, rule, ProblemKind::WrongUnit)
    }

    /// Whether something may stand here in place of so many bytes without a problem of one kind.
    fn takes(&self, unit: &str, length: usize, rule: Rule, kind: ProblemKind) -> bool {
        let place = &self.item.place;
        let mut mended = place.content.get(..place.end).unwrap_or("").to_owned();
        mended.replace_range(self.column..self.column + length, unit);
        let unit_end = self.column + unit.len();
        let (lead, read) = grammar::read_behind(rule, mended.get(self.word_end..).unwrap_or(""));
        let at = self.word_end + lead;
        let pieces = match read {
            Ok(pieces) => pieces,
            Err(column) => return at + column > unit_end,
        };
        let mut sink = Sink::new(DOUBTS);
        let (start, word) = (place.span().start, self.item.word);
        let mut values = Values { start, at: place.line_start + at, word: word.word, sink: &mut sink };
        let _ = values.kind(word, pieces);
        let here = place.span_of(self.column, unit_end);
        let odd = |problem: &Problem| problem.kind == kind && problem.span == here;
        !sink.finish().0.iter().any(odd)
    }

    pub(super) fn say(&self, span: Span, message: impl Into<String>) -> Problem {
        Problem::new(ProblemKind::UnreadableLine, span, message)
    }
}

/// How a test went, in other words.
const VERDICTS: &[(&str, &[&str])] = &[
    ("pass", &["clean", "fine", "good", "ok", "okay", "passed", "passes"]),
    ("fail", &["bad", "dirty", "failed", "fails", "infected"]),
];

/// `test plate clean`: some of these words begin an event elsewhere.
fn verdict(view: &View<'_, '_>) -> Option<Problem> {
    let odd = view.odd_word();
    let (meant, _) =
        VERDICTS.iter().find(|(_, words)| words.iter().any(|word| word.eq_ignore_ascii_case(odd)))?;
    (view.item.word.means == Means::Test && view.odd != view.rest).then(|| {
        let span = view.at_column(odd.len());
        view.say(span, format!("the log writes `{meant}` for `{odd}`"))
            .help(usage(view.item))
            .fix(Fix::replace(span, *meant))
    })
}

impl View<'_, '_> {
    /// Whether what stands before the column is an item by itself.
    fn reads_before(&self, rule: Rule) -> bool {
        let place = &self.item.place;
        let text = place.content.get(self.word_end..place.at + self.before.len());
        text.is_some_and(|text| grammar::read_behind(rule, text).1.is_ok())
    }
}

/// `gravity 1.030 (looks fine)`: what is read stands before it.
fn remark(view: &View<'_, '_>, rule: Rule) -> Option<Refusal> {
    let place = &view.item.place;
    let content = place.content;
    let inside = content.get(view.column..)?.strip_prefix('(')?;
    let (inside, behind) = inside.split_once(')').unwrap_or((inside, ""));
    let next = behind.trim_start_matches(is_space);
    let goes_on = !(next.is_empty() || next.starts_with([',', '#']));
    if goes_on || inside.contains('(') || !view.reads_before(rule) {
        return None;
    }
    let end = place.at + view.before.len();
    let behind_at = content.len() - behind.len();
    let said = inside.trim_matches(is_space);
    let span = place.span_of(view.column, behind_at);
    let problem = view.say(span, "a remark stands behind `#`, at the end of its line");
    let line_end = place.span_of(content.len(), content.len());
    let away = Edit { span: place.span_of(end, behind_at), text: String::new() };
    let put = if behind.contains('#') { format!(" ({said})") } else { format!(" # {said}") };
    let edits = if next.is_empty() {
        vec![Edit { span: place.span_of(end, content.len()), text: put }]
    } else {
        vec![away, Edit { span: line_end, text: put }]
    };
    let title = format!("put `{}` there", shown(said));
    // A number in it may belong to the line: `pitch tide-b (60 mL)`.
    if inside.contains(|c: char| c.is_ascii_digit() || c == '?') {
        let problem = problem.fix(Fix { title, edits, safe: false });
        let bare = format!("{} {said}", content.get(place.at..end)?);
        let first = view.item.word.word.len();
        let reads = grammar::read_behind(rule, bare.get(first..)?).1.is_ok();
        let signs =
            || Fix::replace(place.span_of(view.column, behind_at), said).titled("take the brackets out");
        return Some(Refusal::Problem(if reads { problem.fix(signs()) } else { problem }, None));
    }
    let at = content.len() - next.strip_prefix(',').unwrap_or(next).len();
    Some(Refusal::Split { problem: problem.fix(Fix { title, edits, safe: true }), at, end })
}

/// `gravity 1.012!`
fn mark_behind(view: &View<'_, '_>, rule: Rule) -> Option<Refusal> {
    let place = &view.item.place;
    let is_mark = !view.odd.is_empty() && view.odd.chars().all(|c| matches!(c, '!' | '.'));
    // `1.` may go on.
    let number = view.before.rsplit(is_space).next().unwrap_or("");
    let is_half = view.odd.starts_with('.') && number.bytes().all(|byte| byte.is_ascii_digit());
    if !is_mark || is_half || !view.reads_before(rule) {
        return None;
    }
    let end = place.at + view.before.len();
    let problem = view
        .say(view.at_column(view.odd.len()), format!("no `{}` stands behind this", shown(view.odd)))
        .fix(Fix::replace(place.span_of(end, place.end), "").titled("take it out").safe());
    let at = match place.behind {
        Behind::Comma(next) | Behind::Comment(next) => next,
        Behind::Nothing => place.content.len(),
    };
    Some(Refusal::Split { problem, at, end })
}

/// Words that say of what or how much: they are no remark.
const CHOOSING: &[&str] = &["all", "and", "both", "half", "most", "or", "plus", "rest", "some"];

/// `gravity 1.012 looks fine`: words behind an item that reads without them, and no number among them.
fn words_behind(view: &View<'_, '_>, rule: Rule, problem: Problem) -> Problem {
    let first = first_word(view.odd);
    let are_words = !first.is_empty()
        && !is_inner_word(first)
        && look_up(first).is_none()
        && may_be_a_note(view.odd)
        && !view.odd.contains(['?', '"'])
        && !CHOOSING.iter().any(|word| word.eq_ignore_ascii_case(first));
    let is_apart = view.odd != view.rest && view.item.place.at + view.before.len() < view.column;
    let is_last = view.item.place.behind == Behind::Nothing;
    if !(are_words && is_apart && is_last && view.reads_before(rule)) {
        return problem;
    }
    let title = format!("make a comment of `{}`", shown(view.odd));
    problem.fix(Fix::insert(view.at_column(0).start, "# ", title))
}

/// `krausen rising at 08:00`
fn clock_behind(view: &View<'_, '_>) -> Option<Problem> {
    let place = &view.item.place;
    let (before, time) = place.text().rsplit_once(" at ")?;
    let clock = time.trim_start_matches(is_space);
    if date::clock(clock)?.length < clock.len() {
        return None;
    }
    let before = before.trim_end_matches(is_space);
    let problem = view
        .say(place.span_of(place.end - clock.len(), place.end), "a time stands at the beginning of its line")
        .help(format!("such as `{} {before}`", shown(clock)));
    let lead = place.content.get(..place.at).unwrap_or("").trim_end_matches(is_space);
    let alone =
        view.item.time.is_none() && !lead.ends_with([',', ';']) && !matches!(place.behind, Behind::Comma(_));
    if !alone {
        return Some(problem);
    }
    let edits = vec![
        Edit { span: place.span_of(place.at, place.at), text: format!("{clock} ") },
        Edit { span: place.span_of(place.at + before.len(), place.end), text: String::new() },
    ];
    Some(problem.fix(Fix { title: "put it there".to_owned(), edits, safe: false }))
}

/// Slips that belong to one word.
fn by_word(view: &View<'_, '_>, owner: Option<&Name>) -> Option<Problem> {
    let words: Vec<&str> = view.rest.split(is_space).filter(|word| !word.is_empty()).take(12).collect();
    let rest = view.rest_span();
    let place = &view.item.place;
    match view.item.word.means {
        // `dump tide-b 100 mL of trub`
        Means::Dump if view.odd != view.rest && is_sediment(view.odd) => {
            let span = place.span_of(place.at + view.before.len(), place.end);
            let message = format!("what settled here needs no word: `{}`", shown(view.before));
            Some(
                view.say(view.at_column(view.odd.len()), message)
                    .fix(Fix::replace(span, "").titled("take it out")),
            )
        }
        Means::Pitch | Means::Dump => {
            let word = view.item.word.word;
            let is_amount = |c: char| c.is_ascii_digit() || matches!(c, '?' | '~');
            let number = words.first().is_some_and(|word| word.starts_with(is_amount));
            // `pitch tide-b half`
            if let Some((_, share)) = SHARES.iter().find(|(said, _)| said.eq_ignore_ascii_case(view.odd)) {
                let span = view.at_column(view.odd.len());
                let message = format!("a share of what is left is written `{share}`");
                return Some(view.say(span, message).fix(Fix::replace(span, *share)));
            }
            // `pitch all of tide-b`, `pitch whole packet`
            if let [share, "of", lot, more @ ..] | [share, lot, more @ ..] = words.as_slice()
                && let Some((_, share)) =
                    SHARES_FIRST.iter().find(|(said, _)| said.eq_ignore_ascii_case(share))
            {
                let meant = [&[*lot, *share], more].concat();
                let meant: Vec<&str> = meant.into_iter().filter(|word| !word.is_empty()).collect();
                let meant = meant.join(" ");
                if grammar::read(view.item.word.rule?, &meant).is_ok() {
                    return Some(
                        view.say(rest, format!("the lot comes first: `{word} {meant}`"))
                            .fix(Fix::replace(rest, meant.clone()).titled(format!("write `{word} {meant}`"))),
                    );
                }
            }
            // `pitch packet rehydrated in 50 mL water at 38 °C`
            let in_water = view.odd.to_ascii_lowercase().contains("water");
            if in_water && view.odd_word().eq_ignore_ascii_case("in") {
                let span = place.span_of(place.at + view.before.len(), place.end);
                return Some(
                    view.say(
                        view.at_column(view.odd.len()),
                        "the water that it was rehydrated in is not asked for",
                    )
                    .help("behind `at` stands how warm the yeast was when it was pitched")
                    .fix(Fix::replace(span, "").titled("take it out")),
                );
            }
            // `pitch tide-b ? for 1 M/mL/°P`
            if view.odd_word().eq_ignore_ascii_case("for") && word == "pitch" {
                let rate = view.odd.get("for".len()..)?.trim_start_matches(is_space);
                let message =
                    format!("the rate that you want is a fact of the brew: `target {}`", shown(rate));
                return Some(
                    view.say(view.at_column(view.odd.len()), message)
                        .help("it stands above the first day, on a line of its own"),
                );
            }
            // `dump 2 pints`: a unit is no lot.
            if let [amount, unit] = words.as_slice()
                && amount.starts_with(|c: char| c.is_ascii_digit())
                && let Some(end) = view.rest.rfind(unit).map(|at| at + unit.len())
            {
                let whole = Span::new(rest.start, rest.start + Span::of(0..end).end);
                let span = Span::new(whole.end - Span::of(0..unit.len()).end, whole.end);
                let problem = of_two_lands(amount, unit, whole).or_else(|| spelt_out(unit, span));
                if problem.is_some() && word == "dump" {
                    return problem;
                }
            }
            // A unit is no lot.
            if let [part, unit, ..] = words.as_slice()
                && let Some(length) = view.rest.find(unit).map(|at| at + unit.len())
                && let Some(problem) =
                    fraction_problem(part, unit, Span::new(rest.start, rest.start + Span::of(0..length).end))
            {
                return Some(problem);
            }
            // `pitch ? packs of tide-b`
            if let ["?", unit, "of", lot, more @ ..] | ["?", unit, lot, more @ ..] = words.as_slice()
                && is_unit_or_form(unit)
            {
                let meant = [&[*lot, "?"], more].concat().join(" ");
                if grammar::read(view.item.word.rule?, &meant).is_ok() {
                    let message =
                        format!("the lot comes first, and the answer brings its unit: `{word} {meant}`");
                    return Some(
                        view.say(rest, message)
                            .fix(Fix::replace(rest, meant.clone()).titled(format!("write `{word} {meant}`"))),
                    );
                }
            }
            let is_of_nothing = matches!(words.as_slice(), ["?", unit] if is_unit_or_form(unit));
            if number
                && !is_of_nothing
                && let Ok(pieces) = grammar::read(Rule::amount_first, view.rest)
            {
                let pieces: Vec<&str> = pieces.map(|piece| piece.as_str()).collect();
                if let [amount, lot, more @ ..] = pieces.as_slice() {
                    let more = more.concat();
                    let meant = format!("{lot} {amount}{}{more}", if more.is_empty() { "" } else { " " });
                    return Some(view.say(rest, format!("the lot comes first: `{word} {meant}`")).fix(
                        Fix::replace(rest, meant.clone()).titled(format!("write `{word} {meant}`")).safe(),
                    ));
                }
            }
            number
                .then(|| view.say(rest, "which lot? Its name comes before the amount").help(usage(view.item)))
        }
        Means::Harvest if view.rest.starts_with(|c: char| c.is_ascii_digit() || c == '~') => {
            let name = harvest_name(owner);
            Some(
                view.say(rest, "a harvest needs a name, to be pitched by later")
                    .help(usage(view.item))
                    .fix(Fix::insert(rest.start, format!("{name} "), format!("name it `{name}`"))),
            )
        }
        // `harvest tide-b 450 mL top`
        Means::Harvest if ["top", "bottom"].contains(&&*view.odd_word().to_ascii_lowercase()) => {
            let start = view.at_column(0).start;
            Some(
                view.say(
                    view.at_column(view.odd_word().len()),
                    "`from` is missing before where it was taken",
                )
                .help(usage(view.item))
                .fix(Fix::insert(start, "from ", "put `from` in").safe()),
            )
        }
        // `harvest tide-b 450 mL at 3 °C`
        Means::Harvest
            if view.odd_word().eq_ignore_ascii_case("at") && matches!(place.behind, Behind::Nothing) =>
        {
            let cold = view.odd.get("at".len()..)?.trim_start_matches(is_space);
            let kept = format!("kept {cold} {}", words.first()?);
            let span = place.span_of(place.at + view.before.len(), place.end);
            (is_a(Dimension::Temperature, cold) && is_amount(cold)).then(|| {
                let message =
                    format!("a `harvest` has no temperature; where it is kept is `{}`", shown(&kept));
                view.say(view.at_column("at".len()), message)
                    .fix(Fix::replace(span, format!(", {kept}")).titled("say that it is kept there"))
            })
        }
        // `kept tide-b 3 °C`
        Means::Kept if !view.rest.starts_with(|c: char| c.is_ascii_digit()) => {
            let (lot, temperature) = view
                .rest
                .split_once(is_space)
                .filter(|(lot, _)| !is_inner_word(lot) && !lot.eq_ignore_ascii_case("in"))?;
            let temperature = temperature.trim_start_matches(is_space);
            let meant = format!("{} {lot}", temperature.strip_prefix("at ").unwrap_or(temperature));
            grammar::read(Rule::kept, &meant).ok()?;
            let message = format!("the temperature comes first: `kept {}`", shown(&meant));
            Some(view.say(rest, message).fix(Fix::replace(rest, meant).safe()))
        }
        // `test plate pass tide-b`
        Means::Test if view.odd != view.rest && grammar::read(Rule::named, view.odd).is_ok() => {
            let span = place.span_of(place.at + view.before.len(), place.end);
            let whose = format!(
                "a `test` is of the block that it stands in, and names no lot: `{}`",
                shown(view.before)
            );
            let problem = view.say(view.at_column(view.odd.len()), whose);
            let own = owner.is_some_and(|owner| owner.text.eq_ignore_ascii_case(view.odd));
            Some(if own {
                problem.fix(Fix::replace(span, "").titled(format!("take `{}` out", view.odd)).safe())
            } else {
                let help =
                    format!("`culture {}` may stand a second time, with days of its own", shown(view.odd));
                problem.help(help)
            })
        }
        // `test tide-b plate pass`
        Means::Test => {
            let (lot, test) = view.rest.split_once(is_space)?;
            grammar::read(Rule::test, test).ok()?;
            let message = format!("a `test` is of the block that it stands in: `test {}`", shown(test));
            Some(
                view.say(rest, message)
                    .help(format!("`culture {}` may stand a second time, with days of its own", shown(lot))),
            )
        }
        Means::Count => count_in_order(view),
        // `wort 1/2 of porter-1`
        Means::Wort if words.first().is_some_and(|part| part.contains('/')) => Some(
            view.say(rest, "how much of that wort went in here? A share of it is no volume")
                .help("such as `wort 10 L of porter-1`"),
        ),
        Means::Wort if is_of_extract(view) => Some(of_extract(view)),
        Means::Wort if view.odd.is_empty() && !view.rest.is_empty() => {
            let volume = view.rest;
            let message = format!("how strong is this wort? `wort {} at 1.048`", shown(volume));
            Some(
                view.say(view.item.place.span(), message)
                    .help("or `wort 10 L of BREW`, a part of another brew's wort"),
            )
        }
        Means::Wort if view.before.ends_with(" of") && view.odd.starts_with(|c: char| c.is_ascii_digit()) => {
            let end = view.item.place.at + view.before.len();
            let of = view.item.place.span_of(end - "of".len(), end);
            Some(
                view.say(
                    of,
                    format!("`of` names another brew; a strength is written `at {}`", shown(view.odd)),
                )
                .help(usage(view.item))
                .fix(Fix::replace(of, "at").safe()),
            )
        }
        Means::Wort if view.odd.starts_with("1.0") => {
            let span = view.at_column(0);
            Some(
                view.say(view.at_column(view.odd_word().len()), "`at` is missing before the gravity")
                    .help(usage(view.item))
                    .fix(Fix::insert(span.start, "at ", "put `at` in").safe()),
            )
        }
        Means::Add | Means::Package(_) => {
            let adds = view.item.word.means == Means::Add;
            let last = if adds { view.rest } else { view.item.place.text().rsplit(", ").next()? };
            let all = || package_of_all(view).filter(|_| !adds);
            if !adds
                && let Some(problem) = by_the_case(view)
                    .or_else(|| by_the_cask(view))
                    .or_else(|| make_before(view))
                    .or_else(|| rated_for(view))
            {
                return Some(problem);
            }
            let part = to_carbonation(view).or_else(|| bare_part(view).filter(|_| !adds));
            if let Some(problem) = part.or_else(|| of_what(view, last)).or_else(all) {
                return Some(problem);
            }
            if let Some(problem) = how_much(view).filter(|_| adds) {
                return Some(problem);
            }
            let odd = if adds { view.rest } else { view.odd };
            if !adds
                && let Some(problem) = filled_from(view)
                    .or_else(|| size_behind(view))
                    .or_else(|| and_at(view))
                    .or_else(|| joined_by_word(&view.item.place, odd))
            {
                return Some(problem);
            }
            // `bottle 19 L fro 2.4 vol`
            let first = first_word(odd);
            let slip = || view.item.word.rule.and_then(|rule| near_inner(view, first, rule));
            if odd.starts_with(char::is_alphabetic) && !is_inner_word(first) && (adds || slip().is_none()) {
                return what_before_amount(&view.item.place, odd);
            }
            None
        }
        // `slurry 90 mL at 1 B/mL`
        Means::Slurry if first_word(view.odd).eq_ignore_ascii_case("at") => {
            let value = view.odd.get("at".len()..)?.trim_start_matches(is_space);
            let span = view.at_column(view.odd.len() - value.len());
            is_amount(value).then(|| {
                view.say(view.at_column("at".len()), format!("the density stands alone: `{}`", shown(value)))
                    .help(usage(view.item))
                    .fix(Fix::replace(span, "").titled("take `at` out").safe())
            })
        }
        // `pressure 1.2 bar at 2 °C`
        Means::Reading(Measured::Pressure | Measured::Oxygen | Measured::CarbonDioxide)
            if view.odd_word().eq_ignore_ascii_case("at") =>
        {
            let value = view.odd.get("at".len()..)?.trim_start_matches(is_space);
            let span = place.span_of(place.at + view.before.len(), place.end - value.len());
            let alone = is_a(Dimension::Temperature, value) && grammar::read(Rule::single, value).is_ok();
            alone.then(|| {
                let message = format!("each is read by itself: `temp {}`", shown(value));
                view.say(view.at_column("at".len()), message)
                    .fix(Fix::replace(span, ", temp ").titled("put `, temp` for it"))
            })
        }
        // `set temp 19 °C`
        Means::Set
            if ["temp", "temperature", "pressure", "to"]
                .contains(&&*first_word(view.rest).to_ascii_lowercase()) =>
        {
            let word = first_word(view.rest);
            let to = view.rest.get(word.len()..)?.trim_start_matches(is_space);
            let span = place.span_of(place.end - view.rest.len(), place.end - to.len());
            grammar::read(Rule::set, to).is_ok().then(|| {
                view.say(span, format!("its unit says what is set: `set {}`", shown(to)))
                    .fix(Fix::replace(span, "").titled(format!("take `{word}` out")).safe())
            })
        }
        // `set ? for 2.4 vol`
        Means::Set if view.odd_word().eq_ignore_ascii_case("for") => {
            let value = view.odd.get("for".len()..)?.trim_start_matches(is_space);
            is_a(Dimension::Carbonation, value).then(|| set_for(view))
        }
        // `set 0.8 bar at 4 °C`
        Means::Set if first_word(view.odd).eq_ignore_ascii_case("at") => {
            let value = view.odd.get("at".len()..)?.trim_start_matches(is_space);
            let place = &view.item.place;
            let span = place.span_of(place.at + view.before.len(), place.end - value.len());
            grammar::read(Rule::set, value).is_ok().then(|| {
                view.say(view.at_column("at".len()), format!("each is set by itself: `set {}`", shown(value)))
                    .fix(Fix::replace(span, ", set ").titled("put `, set` for it"))
            })
        }
        Means::Aerate if view.odd != view.rest && is_a(Dimension::Flow, view.odd) => {
            let span = view.at_column(0);
            Some(
                view.say(view.at_column(view.odd.len()), "`at` is missing before the flow")
                    .help(usage(view.item))
                    .fix(Fix::insert(span.start, "at ", "put `at` in").safe()),
            )
        }
        Means::Aerate if view.odd == view.rest => {
            let word = first_word(view.odd);
            let said = SAID_METHODS.iter().find(|(said, _)| said.eq_ignore_ascii_case(word));
            if let Some(meant) = said.map(|(_, meant)| *meant).or_else(|| nearest_of(word, METHODS)) {
                let message =
                    format!("`{word}` is no way to aerate that this log knows; did you mean `{meant}`?");
                let span = view.at_column(word.len());
                return Some(view.say(span, message).help(usage(view.item)).fix(Fix::replace(span, meant)));
            }
            let is_way = |c: char| c.is_alphanumeric() || matches!(c, '?' | '~');
            if !view.odd.is_empty() && !view.odd.starts_with(is_way) {
                return None;
            }
            let odd = view.odd_word();
            let span = if odd.is_empty() { view.item.place.span() } else { view.at_column(odd.len()) };
            Some(
                view.say(span, "how was it aerated? First comes `shake`, `splash`, `air` or `oxygen`")
                    .help(usage(view.item)),
            )
        }
        // `aerate oxygen for 50 s`
        Means::Aerate | Means::Boil if view.odd_word().eq_ignore_ascii_case("for") => {
            let time = view.odd.get("for".len()..)?.trim_start_matches(is_space);
            let span = view.at_column(view.odd.len() - time.len());
            (!time.is_empty()).then(|| {
                view.say(view.at_column("for".len()), format!("the time stands alone: `{}`", shown(time)))
                    .help(usage(view.item))
                    .fix(Fix::replace(span, "").titled("take `for` out").safe())
            })
        }
        // `wash ph 2.2 90 min`
        Means::Wash if is_a(Dimension::Duration, view.odd) => {
            let start = view.at_column(0).start;
            Some(
                view.say(view.at_column(view.odd_word().len()), "`for` is missing before the time")
                    .help(usage(view.item))
                    .fix(Fix::insert(start, "for ", "put `for` in").safe()),
            )
        }
        Means::Organism | Means::Flocculates | Means::Shape | Means::Krausen if !view.rest.is_empty() => {
            several_for_one(view.item.word, view.rest, rest)
        }
        Means::Harvest if view.before.ends_with(" from") && !view.odd.is_empty() => {
            let span = view.at_column(view.odd_word().len());
            let problem =
                view.say(span, "yeast is taken `from top` or `from bottom`; out of a cone it is the bottom");
            Some(problem.help(usage(view.item)))
        }
        Means::Clean if words.iter().any(|word| word.eq_ignore_ascii_case("with")) => None,
        Means::In | Means::Clean | Means::Rack => {
            let name = match words.iter().position(|word| word.eq_ignore_ascii_case("to")) {
                Some(to) => words.get(to + 1)?,
                None if view.item.word.means == Means::Rack => return None,
                None => words.first()?,
            };
            let start = view.rest.find(name)?;
            let written = view.rest.get(start..)?;
            let span = view.item.place.span_of(view.item.place.end - written.len(), view.item.place.end);
            let plain = written.chars().all(|c| c.is_alphanumeric() || is_space(c) || matches!(c, '-' | '_'));
            let meant = name_like(written, 'v');
            (plain && !meant.is_empty() && meant != written).then(|| {
                view.say(span, "a vessel's name starts with a letter and has no spaces")
                    .help(usage(view.item))
                    .fix(Fix::replace(span, meant))
            })
        }
        _ => None,
    }
}

/// `wort 1 L water, 100 g dme`, `wort 100 g dme in 1 L water`, `wort 1 L of 100 g dme`
fn is_of_extract(view: &View<'_, '_>) -> bool {
    let joins =
        ["of", "with", "and", "plus", "+"].iter().any(|known| known.eq_ignore_ascii_case(view.odd_word()));
    let behind = if joins { view.odd.get(view.odd_word().len()..).unwrap_or("") } else { view.odd };
    water_in(view.rest).is_some() || is_a(Dimension::Mass, behind.trim_start_matches(is_space))
}

/// Where `water` stands in a text.
fn water_in(text: &str) -> Option<usize> {
    let at = text.to_ascii_lowercase().find("water")?;
    text.get(..at)?.ends_with(is_space).then_some(at)
}

/// Water and extract, whose strength nobody has reckoned yet.
fn of_extract(view: &View<'_, '_>) -> Problem {
    let rest = view.rest_span();
    let water = water_in(view.rest);
    let before = view.rest.get(..water.unwrap_or(0)).unwrap_or("").trim_end_matches(is_space);
    // `1 L`, behind what else stands before the water.
    let start =
        before.rmatch_indices(is_space).map(|(at, space)| at + space.len()).take(2).last().unwrap_or(0);
    let volume = |text: &str| is_a(Dimension::Volume, text) && is_amount(text);
    let such =
        before.get(start..).filter(|text| volume(text)).or_else(|| Some(before).filter(|text| volume(text)));
    let problem = view
        .say(rest, format!("water is a wort of 1.000: `wort {} at 1.000`", such.unwrap_or("1 L")))
        .help("extract is added on its day, such as `add 100 g dme`; made up to 1 L that is `wort 1 L at 1.037`");
    let alone = water.is_some_and(|at| view.rest.len() == at + "water".len()) && such == Some(before);
    if alone { problem.fix(Fix::replace(rest, format!("{before} at 1.000"))) } else { problem }
}

/// `bottle, 110 g sucrose`: how much beer is not said, and so all of it is filled.
fn package_of_all(view: &View<'_, '_>) -> Option<Problem> {
    let put = if view.rest.starts_with(',') { " all" } else { "all, " };
    let all = format!("{}{}", put.trim_start(), view.rest);
    let fits = put == " all" || is_a(Dimension::Mass, view.rest);
    (fits && grammar::read(Rule::package, &all).is_ok()).then(|| {
        let word = view.item.word.word;
        view.say(view.item.place.span(), format!("how much beer? `{word} {}`", shown(&all)))
            .fix(Fix::insert(view.rest_span().start, put, format!("write `{word} all`")).safe())
    })
}

/// `add 1 sachet dry`: an amount at the end of an item, and nothing that it is of.
fn of_what(view: &View<'_, '_>, amount: &str) -> Option<Problem> {
    let place = &view.item.place;
    let amount = amount.trim_start_matches(is_space);
    let has_unit = !amount.ends_with(|c: char| c.is_ascii_digit());
    (has_unit && is_amount(amount)).then(|| {
        let counts_yeast = HOLDERS.iter().flatten().any(|holder| amount.to_lowercase().contains(holder));
        let such = if counts_yeast { "jar-1" } else { "sucrose" };
        view.say(
            place.span_of(place.end - amount.len(), place.end),
            format!("`{}` of what? Such as `{} {such}`", shown(amount), shown(amount)),
        )
        .help(if counts_yeast { "yeast goes by its name" } else { "" })
    })
}

/// `add irish moss`, `add dregs of 2 bottles`
fn how_much(view: &View<'_, '_>) -> Option<Problem> {
    let first = first_word(view.rest);
    let what = match first.to_ascii_lowercase().as_str() {
        "more" | "some" | "the" => view.rest.get(first.len()..)?.trim_start_matches(is_space),
        _ => view.rest,
    };
    let dregs = first_word(what).eq_ignore_ascii_case("dregs");
    let meant = if dregs { "50 mL dregs".to_owned() } else { format!("5 g {what}") };
    let begins =
        what.starts_with(char::is_alphabetic) && (dregs || may_be_a_note(what)) && view.odd == view.rest;
    let counted = ["a", "an", "half", "one", "two", "three", "four", "five", "six"];
    let reads = !counted.contains(&first_word(what)) && grammar::read(Rule::add, &meant).is_ok();
    (begins && reads && !says_about(first_word(what))).then(|| {
        view.say(view.rest_span(), format!("how much? Such as `add {}`", shown(&meant)))
            .help("a weight or a volume; what goes by the piece has its number: `add 2 vanilla pods`")
    })
}

/// Words that stand where a comma would end one event and begin another.
pub(super) const JOINTS: &[&str] = &["and", "&", "+", "plus"];

/// The word that joins two events, what stands before it, and what behind.
fn joint<'v>(view: &View<'v, '_>) -> Option<(&'v str, &'v str, &'v str)> {
    let is_joint = |word: &str| JOINTS.iter().any(|known| known.eq_ignore_ascii_case(word));
    let odd = view.odd_word();
    // `add 110 g sucrose in 300 mL water`
    let dissolved = odd.eq_ignore_ascii_case("in") && view.odd.to_ascii_lowercase().ends_with("water");
    if is_joint(odd) || dissolved {
        return Some((view.before, odd, view.odd.get(odd.len()..)?.trim_start_matches(is_space)));
    }
    // What is added may be called by several words, `and` among them.
    let (before, last) = view.before.rsplit_once(is_space)?;
    is_joint(last).then(|| (before.trim_end_matches(is_space), last, view.odd))
}

/// `temp 19 °C and krausen rising`, `pitch tide-b and tide-c`, `add 60 g sucrose and 2 L young`
fn joined_events(view: &View<'_, '_>, rule: Rule) -> Option<Problem> {
    let place = &view.item.place;
    let (before, joint, behind) = joint(view).filter(|(.., behind)| !behind.is_empty())?;
    let end = place.at + before.len();
    let reads = |rule, text: &str| grammar::read_behind(rule, text).1.is_ok();
    if !reads(rule, place.content.get(view.word_end..end)?) {
        return None;
    }
    let instead = place.span_of(end, place.end - behind.len());
    let word = view.item.word.word;
    let joint_at = end + place.content.get(end..)?.find(joint)?;
    let joint_span = place.span_of(joint_at, joint_at + joint.len());
    let next = first_word(behind);
    let event = look_up(next).filter(|_| !is_inner_word(next));
    if event.is_some_and(|event| {
        event.rule.is_none_or(|rule| reads(rule, behind.get(next.len()..).unwrap_or("")))
    }) {
        let message = format!("a comma stands for `{joint}` between two events");
        return Some(
            view.say(joint_span, message)
                .help("a comma ends one event and begins another")
                .fix(Fix::replace(instead, ", ").titled("put a comma for it")),
        );
    }
    let each = match view.item.word.means {
        Means::Pitch => "each lot is pitched by itself",
        Means::Add => "each is added by itself",
        _ => return None,
    };
    reads(rule, &format!(" {behind}")).then(|| {
        let meant = format!("{before}, {word} {behind}");
        view.say(joint_span, format!("{each}: `{}`", shown(&meant)))
            .fix(Fix::replace(instead, format!(", {word} ")).titled(format!("put `, {word}` for it")))
    })
}

/// Signs that stand where none should, or for others.
fn odd_sign(view: &View<'_, '_>) -> Option<Problem> {
    let word = view.item.word.word;
    let place = &view.item.place;
    let first = view.odd.chars().next();
    // `temp: 18 °C`, `temp = 18 °C`
    if let Some(sign) = view.rest.chars().next().filter(|c| matches!(c, ':' | '=')) {
        let at = place.end - view.rest.len();
        let glued = view.rest.get(sign.len_utf8()..).is_some_and(|rest| !rest.starts_with(is_space));
        let span = place.span_of(at, at + sign.len_utf8());
        let spaced = view.word_end < at;
        return Some(
            view.say(span, format!("no `{sign}` behind `{word}`")).help(usage(view.item)).fix(
                Fix::replace(span, if glued && !spaced { " " } else { "" })
                    .titled(format!("take the `{sign}` out"))
                    .safe(),
            ),
        );
    }
    let first = first?;
    let span = view.at_column(first.len_utf8());
    if is_hidden(first) {
        return Some(hidden_character(span, first));
    }
    if first == ',' {
        let behind = view.odd.chars().nth(1);
        if behind.is_some_and(|c| !is_space(c) && c != ',') {
            return Some(no_space_behind(view.say(span, NO_SPACE), span));
        }
        return Some(
            view.say(span, "a comma too many")
                .fix(Fix::replace(span, "").titled("take the comma out").safe()),
        );
    }
    let instead = match first {
        '@' if is_a(Dimension::Carbonation, view.odd.trim_start_matches(['@', ' '])) => {
            Some(("for", "what the beer is to have is written with `for`"))
        }
        '@' => Some(("at", "`@` is written `at`")),
        '“' | '”' | '„' | '«' | '»' => Some(("\"", "quotes are straight here")),
        '–' | '—' | '‐' | '‑' if view.column > 0 && view.before.len() + place.at == view.column => {
            Some(("-", "a name has plain hyphens"))
        }
        '…' => Some(("..", "a range is written with two points")),
        _ => None,
    };
    if let Some((instead, message)) = instead {
        let glued = |c: Option<char>| c.is_some_and(|c| !is_space(c));
        let behind = view.odd.get(first.len_utf8()..).and_then(|rest| rest.chars().next());
        let text = if first == '@' {
            let lead = if view.before.len() + place.at == view.column { " " } else { "" };
            format!("{lead}{instead}{}", if glued(behind) { " " } else { "" })
        } else {
            instead.to_owned()
        };
        return Some(view.say(span, message).help(usage(view.item)).fix(Fix::replace(span, text).safe()));
    }
    if view.odd.starts_with("...") {
        let span = view.at_column(3);
        return Some(
            view.say(span, "a range is written with two points").fix(Fix::replace(span, "..").safe()),
        );
    }
    if first == '"' && view.odd.matches('"').count() % 2 == 1 {
        let end = view.at_column(view.odd.len()).end;
        return Some(
            view.say(view.at_column(view.odd.len()), "the quote is not closed")
                .help(usage(view.item))
                .fix(Fix::insert(end, "\"", "close the quote")),
        );
    }
    if view.item.word.means == Means::Readings && view.odd == view.rest && !view.rest.is_empty() {
        let file = view.odd_word();
        let span = view.at_column(file.len());
        return Some(
            view.say(span, "the file's name stands between quotes")
                .help(usage(view.item))
                .fix(Fix::replace(span, format!("\"{}\"", file.trim_matches('\''))).safe()),
        );
    }
    None
}

/// `pitch tide-b ? mL`
fn unit_of_answer(view: &View<'_, '_>) -> Option<Problem> {
    let unit = view.odd_word();
    let asks = view.before.ends_with(" ?") && is_unit_or_form(unit);
    let span_from = |column: usize| view.item.place.span_of(column, view.column + unit.len());
    let end = view.item.place.at + view.before.len();
    if asks && matches!(view.item.word.means, Means::Package(_)) && view.before.ends_with(" at ?") {
        return Some(asks_at(span_from(end - "?".len()), view.item.word.word));
    }
    if asks && view.item.word.means == Means::Set {
        return Some(set_for(view));
    }
    asks.then(|| {
        view.say(view.at_column(unit.len()), "the answer brings its unit: `?`")
            .fix(Fix::replace(span_from(end), "").titled("take the unit out").safe())
    })
}

/// Whether an amount may end with a word.
fn is_unit_or_form(word: &str) -> bool {
    Unit::read(word).is_some() || is_form(word)
}

/// Numbers in other spellings.
fn numbers(view: &View<'_, '_>, rule: Rule) -> Option<Problem> {
    let place = &view.item.place;
    let digit_before = view.before.ends_with(|c: char| c.is_ascii_digit());
    let odd = view.odd_word();
    if let Some(problem) = digit_groups(view).or_else(|| scientific(view)).or_else(|| cells(view)) {
        return Some(problem);
    }
    if let Some(problem) = hyphen_before_unit(view) {
        return Some(problem);
    }
    // `.5 L`, `½ L`
    if odd.starts_with('.') && odd.get(1..).is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
    {
        let at = view.at_column(0).start;
        let number = odd.trim_end_matches(|c: char| !c.is_ascii_digit());
        let can_be = |digit: &str| {
            view.takes(&format!("{digit}{number}"), number.len(), rule, ProblemKind::ImpossibleValue)
        };
        let span = view.at_column(odd.len());
        let put = |digit: &str| Fix::insert(at, digit, format!("write `{digit}{number}`"));
        if can_be("0") {
            let message = format!("a number begins with a digit: `0{number}`");
            return Some(view.say(span, message).fix(put("0").safe()));
        }
        // `gravity .025`: the digit that is left out is no nought.
        let problem = view.say(span, "a number begins with a digit");
        return Some(if can_be("1") {
            problem.help(format!("is it `1{number}`?")).fix(put("1"))
        } else {
            problem
        });
    }
    let fractions = [('¼', "0.25"), ('½', "0.5"), ('¾', "0.75")];
    if let Some((sign, number)) = fractions.into_iter().find(|(sign, _)| view.odd.starts_with(*sign)) {
        let whole = view.before.bytes().rev().take_while(u8::is_ascii_digit).count();
        let start = place.at + view.before.len() - whole;
        let whole =
            view.before.get(view.before.len() - whole..).filter(|whole| !whole.is_empty()).unwrap_or("0");
        let meant = number.replacen('0', whole, 1);
        let span =
            place.span_of(if digit_before { start } else { view.column }, view.column + sign.len_utf8());
        return Some(
            view.say(span, format!("fractions are decimal: `{meant}`")).fix(Fix::replace(span, meant).safe()),
        );
    }
    if let Some(problem) = range(view) {
        return Some(problem);
    }
    // `about 19 L`, `ca. 19 L`
    if says_about(odd.trim_end_matches('.')) || matches!(odd, "≈" | "±") {
        let behind = view.odd.get(odd.len()..).unwrap_or("").trim_start_matches(is_space);
        let length = view.odd.len() - behind.len();
        let span = view.at_column(odd.len());
        let problem = view.say(span, format!("`{odd}` is written `~`"));
        let number = behind.starts_with(|c: char| c.is_ascii_digit());
        return Some(if number {
            problem.fix(Fix::replace(view.at_column(length), "~").safe())
        } else {
            problem.help(usage(view.item))
        });
    }
    // `1.015ish`
    if digit_before && odd.eq_ignore_ascii_case("ish") {
        let number = view.before.rsplit(is_space).next().unwrap_or("");
        let span = place.span_of(place.at + view.before.len() - number.len(), view.column + odd.len());
        return Some(
            view.say(span, format!("about is written `~{number}`"))
                .fix(Fix::replace(span, format!("~{number}")).safe()),
        );
    }
    None
}

/// Whether a word before a number says that it is not exact.
fn says_about(word: &str) -> bool {
    const ABOUT: &[&str] =
        &["about", "around", "approx", "approximately", "ca", "circa", "roughly", "nearly"];
    ABOUT.iter().any(|about| about.eq_ignore_ascii_case(word))
}

/// `temp about 19 °C`: what stands where a lot's name may, before a value at `value`, and is none.
pub(crate) fn about_for_lot(name: &Name, value: Span) -> Option<Problem> {
    says_about(&name.text).then(|| {
        Problem::new(ProblemKind::UnreadableLine, name.span, format!("`{}` is written `~`", name.text))
            .fix(Fix::replace(Span::new(name.span.start, value.start), "~").safe())
    })
}

/// `1 500 mL`, in the item's first number.
fn digit_groups(view: &View<'_, '_>) -> Option<Problem> {
    let place = &view.item.place;
    let digits = |text: &str| text.bytes().take_while(u8::is_ascii_digit).count();
    // The digits of a name begin no number.
    let begins = |at: usize| {
        let before = view.rest.get(..at).unwrap_or("");
        !before.ends_with(|c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.'))
    };
    let mut digit_places = view.rest.match_indices(|c: char| c.is_ascii_digit()).map(|(at, _)| at);
    let start = digit_places.find(|at| begins(*at))?;
    let number = view.rest.get(start..)?;
    let lead = digits(number);
    let behind = number.get(lead..)?.strip_prefix(' ')?;
    let goes_on = |text: &str| text.starts_with(|c: char| c.is_alphanumeric() || c == '.');
    if !(1..=3).contains(&lead) || digits(behind) != 3 || behind.get(3..).is_some_and(goes_on) {
        return None;
    }
    let joined = format!("{}{}", number.get(..lead)?, behind.get(..3)?);
    let at = place.end - number.len();
    let span = place.span_of(at, at + lead + 1 + 3);
    Some(
        view.say(span, format!("a number has no spaces in it: is it `{joined}`?"))
            .fix(Fix::replace(span, joined)),
    )
}

/// `add 12-oz honey`, `bottle 48 12-oz bottles`
fn hyphen_before_unit(view: &View<'_, '_>) -> Option<Problem> {
    let unit = view.odd.split_at(view.odd.len() - unit_of(view.odd).1.len()).0;
    let before = view.before.strip_suffix('-').filter(|_| Unit::read(unit).is_some())?;
    let mut words = before.rsplit(is_space);
    let number = words.next().filter(|number| number.starts_with(|c: char| c.is_ascii_digit()))?;
    let is_beer = matches!(view.item.word.means, Means::Package(_)) && !before.contains(',');
    // Beer is not weighed.
    let known = if is_beer && Unit::read(unit) == Some(Unit::Ounce) { "fl-oz" } else { unit };
    let count = words.next().filter(|word| is_beer && word.bytes().all(|byte| byte.is_ascii_digit()));
    let (length, meant) = match count.filter(|count| !count.is_empty()) {
        Some(count) => (count.len() + 1 + number.len(), format!("{count} × {number} {known}")),
        None => (number.len(), format!("{number} {known}")),
    };
    let place = &view.item.place;
    let span = place.span_of(place.at + before.len() - length, view.column + unit.len());
    Some(view.say(span, format!("no hyphen stands before a unit: `{meant}`")).fix(Fix::replace(span, meant)))
}

/// `1.35e9 cells/mL`
fn scientific(view: &View<'_, '_>) -> Option<Problem> {
    let number = view.before.rsplit(is_space).next()?;
    let power = view.odd.strip_prefix(['e', 'E'])?.trim_start_matches('+');
    let behind = power.trim_start_matches(|c: char| c.is_ascii_digit());
    let power: i32 = power.get(..power.len() - behind.len())?.parse().ok()?;
    let value = number.parse::<f64>().ok().filter(|_| (6..=13).contains(&power))? * 10_f64.powi(power);
    let unit = behind.trim_start_matches(is_space);
    let unit = unit.strip_prefix("cells").unwrap_or(unit).trim_start_matches(is_space);
    let each = ["/mL", "/ml", "/ mL", "/ ml", "per mL", "per ml"];
    let (per, behind) = match each.into_iter().find_map(|per| unit.strip_prefix(per)) {
        Some(behind) => ("/mL", behind),
        None => ("", unit),
    };
    let (value, cells) = if value >= 1e9 { (value / 1e9, "B") } else { (value / 1e6, "M") };
    let meant = format!("{} {cells}{per}", barm_quantity::plain(value, 3));
    let place = &view.item.place;
    // White space behind it stays.
    let taken = view.odd.len() - behind.len();
    let taken = view.odd.get(..taken)?.trim_end_matches(is_space).len();
    let span = place.span_of(place.at + view.before.len() - number.len(), view.column + taken);
    Some(
        view.say(span, format!("cells are written in B or M: `{meant}`"))
            .help("`B` is a thousand million, `M` a million")
            .fix(Fix::replace(span, meant)),
    )
}

/// `200 B cells`
fn cells(view: &View<'_, '_>) -> Option<Problem> {
    let word = view.odd_word();
    let counted = [" B", " M", "B/mL", "M/mL"].into_iter().any(|unit| view.before.ends_with(unit));
    (counted && ["cell", "cells"].iter().any(|known| known.eq_ignore_ascii_case(word))).then(|| {
        let place = &view.item.place;
        let span = place.span_of(place.at + view.before.len(), view.column + word.len());
        view.say(view.at_column(word.len()), "the unit says already that these are cells")
            .fix(Fix::replace(span, "").titled("take the word out").safe())
    })
}

/// Ranges with a unit at both ends, or with `to` between them.
fn range(view: &View<'_, '_>) -> Option<Problem> {
    let place = &view.item.place;
    let text = place.text();
    // The number that stands at the column or last before it.
    let last_digit = view.before.rfind(|c: char| c.is_ascii_digit())?;
    let is_number = |c: char| c.is_ascii_digit() || c == '.';
    let low_at = text
        .get(..=last_digit)?
        .rfind(|c| !is_number(c))
        .map_or(0, |at| at + text.get(at..).and_then(|rest| rest.chars().next()).map_or(1, char::len_utf8));
    let low = text.get(low_at..=last_digit)?.trim_matches('.');
    let unit_at = last_digit + 1;
    let (low_unit, behind) = unit_of(text.get(unit_at..)?);
    let joiner = behind.trim_start_matches(is_space);
    let sign = ["...", "..", "to ", "or ", "–", "—", "-", "±", "+-"]
        .into_iter()
        .find(|sign| joiner.starts_with(sign))?;
    let high_text = joiner.get(sign.len()..)?.trim_start_matches(is_space);
    let high_length = high_text.find(|c| !is_number(c)).unwrap_or(high_text.len());
    let (high, behind) = high_text.split_at_checked(high_length)?;
    let (high_unit, behind) = unit_of(behind);
    let unit = if high_unit.is_empty() { low_unit } else { high_unit };
    // `19 L - 300 g sugar` is no range, and `500 mL - 1 L` one whose numbers do not fit one unit.
    let two_units = !low_unit.is_empty() && Unit::read(unit) != Unit::read(low_unit);
    if high.is_empty() || (low_unit.is_empty() && !sign.ends_with(' ')) || two_units {
        return None;
    }
    let (between, message) = match sign {
        "±" | "+-" => (" ± ", "the unit comes once, behind both numbers"),
        _ => ("..", "a range is written with two points, its unit behind it"),
    };
    let span = place.span_of(place.at + low_at, place.at + text.len() - behind.len());
    let meant = format!("{low}{between}{high}{}{unit}", if unit.is_empty() { "" } else { " " });
    Some(view.say(span, format!("{message}: `{meant}`")).fix(Fix::replace(span, meant).safe()))
}

/// Whether a text begins with a quantity of a kind, such as a length of time: `90 min`.
pub(super) fn is_a(kind: Dimension, text: &str) -> bool {
    let number = text.trim_start_matches('~');
    let behind = number.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let (unit, _) = unit_of(behind);
    behind.len() < number.len() && Unit::read(unit).is_some_and(|unit| unit.dimension() == kind)
}

/// The unit at the start of a text, white space before it left out, and what follows it. Empty where there is none.
pub(super) fn unit_of(text: &str) -> (&str, &str) {
    let start = text.len() - text.trim_start_matches(is_space).len();
    let rest = text.get(start..).unwrap_or("");
    let length =
        rest.find(|c: char| !(c.is_alphabetic() || matches!(c, '°' | '/' | '%'))).unwrap_or(rest.len());
    match rest.split_at_checked(length) {
        Some((unit, behind)) if Unit::read(unit).is_some() => (unit, behind),
        _ => ("", text),
    }
}

/// A share of a jar, in words.
const SHARES: &[(&str, &str)] = &[
    ("half", "1/2"),
    ("half of it", "1/2"),
    ("a third", "1/3"),
    ("a quarter", "1/4"),
    ("everything", "all"),
    ("the rest", "rest"),
    ("the lot", "all"),
];

/// The same before its lot; all of it needs no word.
const SHARES_FIRST: &[(&str, &str)] =
    &[("all", ""), ("entire", ""), ("full", ""), ("half", "1/2"), ("rest", "rest"), ("whole", "")];

/// What settles in a vessel.
const SEDIMENT: &[&str] = &["sediment", "slurry", "trub", "yeast"];

pub(super) fn is_sediment(what: &str) -> bool {
    let what = what.strip_prefix("of ").unwrap_or(what);
    SEDIMENT.iter().any(|known| known.eq_ignore_ascii_case(what))
}

/// The ways to aerate.
pub(super) const METHODS: &[&str] = &["shake", "splash", "air", "oxygen"];

/// What they are called else.
pub(super) const SAID_METHODS: &[(&str, &str)] = &[
    ("o2", "oxygen"),
    ("pump", "air"),
    ("rocking", "shake"),
    ("shaking", "shake"),
    ("shook", "shake"),
    ("splashing", "splash"),
];

/// Units spelt out, and measures that are no units.
fn odd_unit(view: &View<'_, '_>, rule: Rule) -> Option<Problem> {
    if !view.before.ends_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let odd = view.odd_word();
    let letters = odd.trim_end_matches(['.', ',', '?']);
    let number = view.before.rsplit(is_space).next().unwrap_or("");
    let start = view.item.place.at + view.before.len() - number.len();
    let whole = view.item.place.span_of(start, view.column + letters.len());
    if let Some(problem) = fraction_problem(number, letters, whole) {
        return Some(problem);
    }
    if view.item.word.means == Means::Pitch
        && let Some(problem) = by_eye(letters, view.at_column(letters.len()))
    {
        let lot = first_word(view.rest);
        return Some(problem.help(format!("such as `pitch {lot} 11 g`, or of slurry `pitch {lot} 60 mL`")));
    }
    // `800 mbar`
    if ["hpa", "mbar", "mbars", "millibar", "millibars"].contains(&&*letters.to_ascii_lowercase())
        && let Ok(value) = number.parse::<f64>()
    {
        let meant = format!("{} bar", barm_quantity::plain(value / 1000.0, 3));
        let message = format!("a pressure is written in bar, psi or kPa: `{meant}`");
        return Some(Problem::new(ProblemKind::WrongUnit, whole, message).fix(Fix::replace(whole, meant)));
    }
    // `1.2 billion per mL`
    let joined = view.odd.replacen(" per ", "/", 1);
    if joined.len() < view.odd.len()
        && let Some(problem) = spelt_out(&joined, view.at_column(view.odd.len()))
    {
        return Some(problem);
    }
    let span = view.at_column(letters.len());
    of_two_lands(number, letters, whole).or_else(|| unit_problem(letters, span)).or_else(|| {
        let alone = letters.chars().all(|c| c.is_alphabetic() || matches!(c, '°' | '/' | '%' | '²' | '³'));
        if !alone || letters.is_empty() || is_inner_word(letters) {
            return None;
        }
        let span = view.at_column(letters.len());
        let near = misspelt(letters, span, |unit| view.reads_with(unit, letters.len(), rule));
        let unknown = || {
            let message = format!("`{}` is no unit that this log knows", shown(letters));
            near_inner(view, letters, rule)
                .is_none()
                .then(|| Problem::new(ProblemKind::WrongUnit, span, message))
        };
        // `1.012 looks fine`: one word may still be a unit.
        let several = letters.len() < view.odd.len();
        let unknown =
            || unknown().map(|problem| if several { words_behind(view, rule, problem) } else { problem });
        Some(near.or_else(unknown)?.help(usage(view.item)))
    })
}

/// `1/2 gal`: a share and a unit, at `span`.
pub(crate) fn fraction_problem(number: &str, unit: &str, span: Span) -> Option<Problem> {
    Some(decimal(0.0, number, unit, span)?.help("`1/4` alone is a share of what is left"))
}

/// `5 1/2 gal`
fn mixed_number(view: &View<'_, '_>) -> Option<Problem> {
    let words: Vec<&str> = view.rest.split(is_space).filter(|word| !word.is_empty()).take(12).collect();
    let at = |word: &str| word.as_ptr() as usize - view.rest.as_ptr() as usize;
    let start = view.rest_span().start;
    words.windows(3).find_map(|words| {
        let [whole, part, unit] = words else { return None };
        let unit = unit.trim_end_matches(',');
        let digits = whole.bytes().all(|byte| byte.is_ascii_digit());
        let whole_number: f64 = whole.parse().ok().filter(|_| digits)?;
        let from = start + Span::of(0..at(whole)).end;
        let to = start + Span::of(0..at(unit) + unit.len()).end;
        decimal(whole_number, part, unit, Span::new(from, to))
    })
}

/// `oxygen 1/2 min`
fn fraction(view: &View<'_, '_>) -> Option<Problem> {
    let whole = view.odd_word();
    let part = view.before.rsplit(is_space).next().filter(|_| whole.starts_with('/'))?;
    let unit = view.odd.get(whole.len()..)?.trim_start_matches(is_space);
    let word = unit.split(is_space).next()?.trim_end_matches(',');
    let place = &view.item.place;
    let end = place.end - unit.len() + word.len();
    let span = place.span_of(place.at + view.before.len() - part.len(), end);
    decimal(0.0, &format!("{part}{whole}"), word, span)
}

/// A number with a fraction and its unit, or what holds yeast, as the log writes it.
fn decimal(before: f64, fraction: &str, unit: &str, span: Span) -> Option<Problem> {
    let (part, whole) = fraction.split_once('/')?;
    let (part, whole): (f64, f64) = (part.parse().ok()?, whole.parse().ok()?);
    let holder = || HOLDERS.iter().find(|holders| holders.iter().any(|word| word.eq_ignore_ascii_case(unit)));
    let unit = match Unit::read(unit) {
        Some(unit) => unit.symbol(),
        None => holder()?[1],
    };
    let value = before + part / whole;
    if !value.is_finite() || value <= 0.0 {
        return None;
    }
    let meant = format!("{} {unit}", barm_quantity::plain(value, 3));
    let message = format!("fractions are decimal: `{meant}`");
    Some(Problem::new(ProblemKind::UnreadableLine, span, message).fix(Fix::replace(span, meant)))
}

/// What yeast is counted in: one, and several.
pub(super) const HOLDERS: &[[&str; 2]] = &[["pack", "packs"], ["sachet", "sachets"], ["vial", "vials"]];

/// Units as they are spelt out, and as the log writes them.
pub(super) const SPELT_OUT: &[(&str, &str)] = &[
    ("celsius", "°C"),
    ("centigrade", "°C"),
    ("fahrenheit", "°F"),
    ("liter", "L"),
    ("liters", "L"),
    ("litre", "L"),
    ("litres", "L"),
    ("ltr", "L"),
    ("milliliter", "mL"),
    ("milliliters", "mL"),
    ("millilitre", "mL"),
    ("millilitres", "mL"),
    ("mls", "mL"),
    ("cc", "mL"),
    ("hectoliter", "hL"),
    ("hectoliters", "hL"),
    ("hectolitre", "hL"),
    ("hectolitres", "hL"),
    ("gallon", "gal"),
    ("gallons", "gal"),
    ("gals", "gal"),
    ("quart", "qt"),
    ("quarts", "qt"),
    ("pint", "pt"),
    ("pints", "pt"),
    ("barrel", "bbl"),
    ("barrels", "bbl"),
    ("gm", "g"),
    ("gms", "g"),
    ("gr", "g"),
    ("gram", "g"),
    ("grams", "g"),
    ("gramme", "g"),
    ("grammes", "g"),
    ("kilo", "kg"),
    ("kilos", "kg"),
    ("kilogram", "kg"),
    ("kilograms", "kg"),
    ("kgs", "kg"),
    ("ounce", "oz"),
    ("ounces", "oz"),
    ("lbs", "lb"),
    ("pound", "lb"),
    ("pounds", "lb"),
    ("plato", "°P"),
    ("second", "s"),
    ("seconds", "s"),
    ("secs", "s"),
    ("mins", "min"),
    ("minute", "min"),
    ("minutes", "min"),
    ("hrs", "h"),
    ("wks", "wk"),
    ("billion", "B"),
    ("billions", "B"),
    ("bn", "B"),
    ("million", "M"),
    ("millions", "M"),
    ("percent", "%"),
    ("abv", "%ABV"),
    ("vols", "vol"),
    ("volumes", "vol"),
    ("ibus", "IBU"),
    ("lpm", "L/min"),
    ("gen", "generations"),
    ("packet", "pack"),
    ("packets", "packs"),
    ("smackpack", "pack"),
    ("envelope", "sachet"),
    ("envelopes", "sachets"),
];

/// Measures of the kitchen.
const BY_EYE: &[&str] = &[
    "tsp",
    "tsps",
    "teaspoon",
    "teaspoons",
    "tbsp",
    "tablespoon",
    "tablespoons",
    "spoon",
    "spoons",
    "spoonful",
    "cup",
    "cups",
    "handful",
    "handfuls",
    "pinch",
    "scoop",
    "scoops",
    "drop",
    "drops",
    "dash",
    "tablet",
    "tablets",
    "cube",
    "cubes",
    "lump",
    "lumps",
];

/// What is counted for want of a balance.
const PIECES: &[&str] = &[
    "bean", "beans", "capsule", "capsules", "clove", "cloves", "dash", "drop", "drops", "handful",
    "handfuls", "leaf", "leaves", "peel", "pinch", "pinches", "pod", "pods", "slice", "slices", "sprig",
    "sprigs", "stick", "sticks", "tab", "tablet", "tablets", "tabs", "zest", "piece", "pieces",
];

/// What is bought by the number, and brings some flavour and next to no sugar.
const BY_NUMBER: &[&str] = &[
    "chile",
    "chiles",
    "chili",
    "chilies",
    "chilis",
    "chilli",
    "chillies",
    "chillis",
    "grapefruit",
    "grapefruits",
    "lemon",
    "lemons",
    "lime",
    "limes",
    "orange",
    "oranges",
    "pepper",
    "peppers",
    "teabag",
    "teabags",
];

/// What is spooned, and brings no extract.
const SPOONED: &[&str] = &[
    "acid",
    "chalk",
    "chloride",
    "cinnamon",
    "coriander",
    "finings",
    "gelatin",
    "gelatine",
    "ginger",
    "gypsum",
    "hops",
    "moss",
    "nutrient",
    "nutrients",
    "pepper",
    "salt",
    "salts",
    "seed",
    "seeds",
    "spice",
    "spices",
];

/// What makes gas or brings extract, however it is counted.
const SWEET: &[&str] = &[
    "agave",
    "candi",
    "candied",
    "candy",
    "carbonation",
    "conditioning",
    "cordial",
    "demerara",
    "dextrin",
    "dextrose",
    "dme",
    "extract",
    "fructose",
    "glucose",
    "honey",
    "invert",
    "jam",
    "jaggery",
    "juice",
    "krausen",
    "lactose",
    "lme",
    "malt",
    "maltodextrin",
    "maltose",
    "marmalade",
    "molasses",
    "muscovado",
    "nectar",
    "panela",
    "piloncillo",
    "priming",
    "rapadura",
    "saccharose",
    "speise",
    "sucrose",
    "sugar",
    "sugars",
    "syrup",
    "treacle",
    "turbinado",
    "wort",
    "yeast",
];

/// Whether what stands behind a bare number is counted: `tablet finings`, `vanilla pod`, `tsp gypsum`. Of what may bring
/// sugar it must be known how much.
pub(crate) fn is_piece(what: &str) -> bool {
    let has = |known: &[&str]| {
        what.split([' ', '-']).any(|word| known.iter().any(|known| known.eq_ignore_ascii_case(word)))
    };
    let tea_bag = has(&["bag", "bags"]) && has(&["tea"]);
    // `85 lime hops` has lost its unit.
    let last = what.rsplit([' ', '-']).next().unwrap_or(what);
    let by_number = BY_NUMBER.iter().any(|known| known.eq_ignore_ascii_case(last));
    !is_sweet(what) && (has(PIECES) || by_number || tea_bag || has(BY_EYE) && has(SPOONED))
}

/// Whether it makes gas or brings extract.
pub(crate) fn is_sweet(what: &str) -> bool {
    let has = |known: &[&str]| {
        what.split([' ', '-']).any(|word| known.iter().any(|known| known.eq_ignore_ascii_case(word)))
    };
    // `yeast nutrient` is no yeast.
    has(SWEET) && !has(&["nutrient", "nutrients"])
}

/// What to say of a unit that is spelt out, or of a spoonful.
pub(crate) fn unit_problem(word: &str, span: Span) -> Option<Problem> {
    let small = word.to_lowercase();
    if matches!(small.as_str(), "°" | "º" | "deg" | "degs" | "degree" | "degrees") {
        return Some(
            Problem::new(ProblemKind::MissingUnit, span, "degrees of which scale: `°C` or `°F`?")
                .fix(Fix::replace(span, "°C"))
                .fix(Fix::replace(span, "°F")),
        );
    }
    spelt_out(word, span).or_else(|| by_eye(word, span))
}

/// `grams`, `billion/mL`
fn spelt_out(word: &str, span: Span) -> Option<Problem> {
    let written = |word: &str| {
        let spelt = SPELT_OUT.iter().find(|(spelt, _)| spelt.eq_ignore_ascii_case(word));
        spelt.map(|(_, unit)| *unit)
    };
    let unit = match word.split_once('/') {
        None => written(word)?,
        Some((of, each)) => {
            let unit = format!("{}/{}", written(of)?, written(each).unwrap_or(each));
            Unit::read(&unit)?.symbol()
        }
    };
    Some(
        Problem::new(ProblemKind::WrongUnit, span, format!("the log writes `{unit}` for `{}`", shown(word)))
            .fix(Fix::replace(span, unit).safe()),
    )
}

/// Measures that are a fifth larger in Britain than in America: how they are called, the American unit, and the litres of
/// the British one (definition).
const OF_TWO_LANDS: &[(&str, &str, f64)] =
    &[("gallon", "gal", 4.546_09), ("quart", "qt", 1.136_522_5), ("pint", "pt", 0.568_261_25)];

/// `5 gallons`, which may be 18.9 L or 22.7 L: an amount and its unit, at `span`.
pub(crate) fn of_two_lands(number: &str, unit: &str, span: Span) -> Option<Problem> {
    let small = unit.to_ascii_lowercase();
    let said = small.strip_suffix('s').unwrap_or(&small);
    let (said, american, litres) = OF_TWO_LANDS.iter().find(|(known, ..)| *known == said)?;
    let american = format!("{number} {american}");
    let about = if number.starts_with('~') { "~" } else { "" };
    let british = match number.trim_start_matches('~').trim_start_matches(is_space).parse::<f64>() {
        _ if *said == "gallon" => format!("{number} imp-gal"),
        Ok(number) => format!("{about}{} L", barm_quantity::plain(number * litres, 3)),
        Err(_) => return None,
    };
    let message = format!("which {said}? American it is `{american}`, British `{british}`");
    Some(
        Problem::new(ProblemKind::WrongUnit, span, message)
            .fix(Fix::replace(span, american.clone()).titled(format!("write `{american}`")))
            .fix(Fix::replace(span, british.clone()).titled(format!("write `{british}`"))),
    )
}

/// What things are sold in, so much that only its label knows.
const SOLD_IN: &[&str] = &[
    "bag", "bags", "can", "cans", "carton", "cartons", "jar", "jars", "pouch", "pouches", "punnet",
    "punnets", "tin", "tins",
];

/// `1 can raspberry puree`
pub(crate) fn in_holder(word: &str, span: Span) -> Option<Problem> {
    SOLD_IN.iter().any(|known| known.eq_ignore_ascii_case(word)).then(|| {
        let message = format!("how much is in a `{}`? Its label says so", word.trim_end_matches('s'));
        Problem::new(ProblemKind::WrongUnit, span, message).help("such as `add 1.5 kg malt extract`")
    })
}

/// What to say of what is counted or spooned, and of which nobody knows how much it is.
pub(crate) fn by_eye(word: &str, span: Span) -> Option<Problem> {
    BY_EYE.iter().any(|measure| measure.eq_ignore_ascii_case(word)).then(|| {
        // From memory: how densely sugar lies differs so much between kinds and hands.
        Problem::new(ProblemKind::WrongUnit, span, format!("nothing can be reckoned from `{word}`: weigh it"))
            .help("a spoon or cup of sugar can differ by a third; such as `add 110 g sucrose`, or for each bottle `19 × 3 g`")
    })
}

/// The inner word that a word nearly is, if the item reads with it there.
fn near_inner(view: &View<'_, '_>, word: &str, rule: Rule) -> Option<&'static str> {
    // A word of its own, and one letter from `for`.
    if is_inner_word(word) || word.eq_ignore_ascii_case("or") {
        return None;
    }
    nearest_of(word, INNER_WORDS).filter(|meant| view.reads_with(meant, word.len(), rule))
}

/// The nearest of some words: one slip away, two for words of more than four letters.
fn nearest_of(word: &str, words: &[&'static str]) -> Option<&'static str> {
    let small = word.to_lowercase();
    let most = if small.chars().count() <= 4 { 1 } else { 2 };
    words
        .iter()
        .filter(|known| known.len() > 2 && known.len().abs_diff(small.len()) <= 2)
        .map(|known| (osa_distance(&small, known), *known))
        .filter(|(distance, _)| *distance <= most)
        .min()
        .map(|(_, known)| known)
}

/// `sprnkled`
fn inner_word(view: &View<'_, '_>, rule: Rule) -> Option<Problem> {
    let word = first_word(view.odd);
    if word.is_empty() || view.column == view.word_end {
        return None;
    }
    let meant = near_inner(view, word, rule)?;
    let span = view.at_column(word.len());
    Some(
        view.say(
            span,
            format!("`{word}` is nothing that `{}` can have; did you mean `{meant}`?", view.item.word.word),
        )
        .help(usage(view.item))
        .fix(Fix::replace(span, meant)),
    )
}
