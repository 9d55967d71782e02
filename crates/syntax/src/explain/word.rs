//! First words that the language does not have.

use barm_quantity::{Dimension, Unit};
use strsim::osa_distance;

use super::keep_as_note;
use super::refused::{HOLDERS, is_a, unit_of};
use super::time::part_of_day;
use crate::ast::BlockKind;
use crate::cut::is_space;
use crate::grammar::{self, Rule};
use crate::item::shown;
use crate::place::{Behind, Place, packaging_goes_on};
use crate::sink::Sink;
use crate::words::{Means, WORDS, first_word, look_up};
use crate::{Edit, Fix, Problem, ProblemKind, Span};

/// What people write for a first word, and the word.
const SYNONYMS: &[(&str, &str)] = &[
    ("og", "gravity"),
    ("fg", "gravity"),
    ("sg", "gravity"),
    ("plato", "gravity"),
    ("hydrometer", "gravity"),
    ("refractometer", "brix"),
    ("t", "temp"),
    ("temperature", "temp"),
    ("room", "ambient"),
    ("carbonation", "co2"),
    ("o2", "oxygen"),
    ("do", "oxygen"),
    ("ferment", "hold"),
    ("fermenter", "in"),
    ("vessel", "in"),
    ("cold-crash", "crash"),
    ("coldcrash", "crash"),
    ("crashed", "crash"),
    ("transfer", "rack"),
    ("transferred", "rack"),
    ("racked", "rack"),
    ("pitched", "pitch"),
    ("repitch", "pitch"),
    ("repitched", "pitch"),
    ("inoculate", "pitch"),
    ("inoculated", "pitch"),
    ("bottled", "bottle"),
    ("kegged", "keg"),
    ("dryhop", "add"),
    ("dry-hop", "add"),
    ("dry-hopped", "add"),
    ("stored", "kept"),
    ("washed", "wash"),
    ("prime", "add"),
    ("primed", "add"),
    ("priming", "add"),
    ("rinse", "wash"),
    ("rinsed", "wash"),
    ("yeast", "pitch"),
    ("discard", "dump"),
    ("discarded", "dump"),
    ("threw", "dump"),
    ("cleaned", "clean"),
    ("infection", "infected"),
    ("contaminated", "infected"),
    ("plate", "test plate"),
    ("plated", "test plate"),
    ("flavour", "makes"),
    ("smell", "taste"),
    ("aroma", "taste"),
    ("tastes", "taste"),
    ("tasted", "taste"),
    ("ibu", "hops"),
    ("bitterness", "hops"),
    ("abv", "tolerates"),
    ("attenuation", "attenuates"),
    ("flocculation", "flocculates"),
    ("alcohol", "tolerates"),
    ("packet", "pack"),
    ("best-by", "best-before"),
    ("use-by", "best-before"),
    ("bbe", "best-before"),
    ("expires", "best-before"),
    ("dated", "made"),
    ("packed", "made"),
    ("oxygenate", "aerate oxygen"),
    ("oxygenated", "aerate oxygen"),
    ("shook", "aerate shake"),
    ("splashed", "aerate splash"),
    ("crop", "harvest"),
    ("cropped", "harvest"),
    ("skim", "harvest"),
    ("skimmed", "harvest"),
    ("cip", "clean"),
    ("must", "wort"),
    ("diacetyl", "test diacetyl"),
    ("vdk", "test vdk"),
    ("capacity", "holds"),
    ("backsweeten", "add"),
    ("backsweetened", "add"),
    ("spund", "set"),
    ("spunded", "set"),
    ("viable", "viability"),
    ("shake", "aerate shake"),
    ("splash", "aerate splash"),
    ("aerated", "aerate"),
    ("remark", "note"),
    ("comment", "note"),
    ("remember", "note"),
];

/// What opens a block, but for a vessel: within a brew that is what it lies in.
const BLOCKS: &[BlockKind] = &[BlockKind::Strain, BlockKind::Culture, BlockKind::Starter, BlockKind::Brew];

/// How an item begins that says in other words how the krausen stands.
const KRAUSEN: &[(&str, &str)] = &[
    ("no bubbles", "krausen none"),
    ("no activity", "krausen none"),
    ("no krausen", "krausen none"),
    ("no sign", "krausen none"),
    ("no fermentation", "krausen none"),
    ("nothing happening", "krausen none"),
    ("bubbling", "krausen rising"),
    ("bubbles", "krausen rising"),
    ("airlock bubbl", "krausen rising"),
    ("airlock activ", "krausen rising"),
    ("airlock is", "krausen rising"),
    ("fermenting", "krausen rising"),
];

/// What says that there are no more bubbles, or fewer: nothing begins then.
const ENDS: &[&str] =
    &["ceased", "done", "ended", "fewer", "finished", "less", "longer", "more", "over", "slow", "stop"];

/// How an item begins that says a word in several, what is said of it, an example, and the word.
const SEVERAL: &[(&str, &str, &str, &str)] = &[
    ("dry hops", "hops are added with `add`", "add 85 g northgate hops", "add"),
    ("dry hop", "hops are added with `add`", "add 85 g northgate hops", "add"),
    ("top up", "water is added with `add`", "add 3 L water for 1.044", "add"),
    ("topped up", "water is added with `add`", "add 3 L water for 1.044", "add"),
    ("cold crash to", "the word for `cold crash` is `crash`", "crash 3 °C", "crash"),
    ("cold crash", "the word for `cold crash` is `crash`", "crash 3 °C", "crash"),
    ("best before", "the word for `best before` is `best-before`", "best-before 2027-03", "best-before"),
    ("best by", "the word for `best by` is `best-before`", "best-before 2027-03", "best-before"),
    ("use by", "the word for `use by` is `best-before`", "best-before 2027-03", "best-before"),
    ("on stir plate", "a starter on a stirrer is `stirred`", "stirred", "stirred"),
    ("forced test", "the word comes first: `test forced`", "test forced 1.009", "test forced"),
    ("stir plate", "a starter on a stirrer is `stirred`", "stirred", "stirred"),
];

/// What is done to a temperature that is set higher.
const WARMED: &[&str] = &["raise", "raised", "ramp", "ramped", "warm", "warmed"];

/// What is done to the yeast in a beer, and changes no figure.
const ROUSED: &[&str] = &["rouse", "roused", "swirl", "swirled"];

/// What a beer's own figures are called. A strain states what it can do; what a beer came to is reckoned.
const RECKONED: &[(&str, &str)] =
    &[("abv", "alcohol"), ("alcohol", "alcohol"), ("attenuation", "attenuation")];

/// What is wrong with an item whose first word is unknown.
pub(crate) struct Unknown {
    pub(crate) problem: Problem,
    /// So many bytes are dealt with; behind them an item may begin. 0 where the whole item is dealt with.
    pub(crate) taken: usize,
}

/// Explains the item at `place` in a block of some kind; `before` is what the item before it on the line says.
pub(crate) fn unknown(
    place: &Place<'_>,
    block: BlockKind,
    before: Option<Means>,
    sink: &mut Sink,
) -> Unknown {
    let text = place.text();
    let word = first_word(text);
    let taken_to = |length: usize| place.span_of(place.at, place.at + length);
    let whole = |problem| Unknown { problem, taken: 0 };
    let unreadable = |span, message: String| Problem::new(ProblemKind::UnreadableLine, span, message);
    // `add 500 g sucrose, 200 g honey`
    if before == Some(Means::Add) && grammar::read(Rule::add, text).is_ok() {
        let problem = unreadable(place.span(), format!("each is added by itself: `add {}`", shown(text)))
            .fix(Fix::insert(place.span().start, "add ", "put `add` in"));
        return whole(problem);
    }
    if block == BlockKind::Culture
        && let Some(problem) = counted_first(place, text).or_else(|| weighed_first(place, text))
    {
        return whole(problem);
    }
    if let Some(problem) = odd_beginning(place, text) {
        return whole(problem);
    }
    if let Some(time) = part_of_day(word) {
        let span = taken_to(word.len());
        let problem = unreadable(span, format!("a time is written `{time}`"))
            .help("`~` says about: two hours either way")
            .fix(Fix::replace(span, time));
        return Unknown { problem, taken: word.len() };
    }
    let small: String = text.chars().take(32).collect::<String>().to_lowercase();
    let stands = KRAUSEN.iter().find(|(said, _)| small.starts_with(said));
    if stands.is_some() && ENDS.iter().any(|said| small.contains(said)) {
        let problem = Problem::new(
            ProblemKind::UnknownWord,
            place.span(),
            "is it a `note`, or has the head gone: `krausen fallen`?",
        )
        .help("no bubbles are no sure sign that it is done: two readings of the `gravity` are")
        .fix(keep_as_note(place))
        .fix(Fix::replace(place.span(), "krausen fallen"));
        return whole(problem);
    }
    if let Some((_, meant)) = stands {
        let problem = Problem::new(
            ProblemKind::UnknownWord,
            place.span(),
            format!("the log says this as `{meant}`"),
        )
        .help("`krausen none|rising|high|fallen`: `rising` ends the lag, `none` says that it has not ended")
        .fix(Fix::replace(place.span(), *meant));
        return whole(problem);
    }
    if small.starts_with("day ") || small.starts_with("yesterday") || small.starts_with("today") {
        return whole(
            unreadable(place.span(), "a day is opened by its date".to_owned())
                .help("such as `on 2026-08-14`, on a line of its own or with an event behind it"),
        );
    }
    if let Some(problem) = set_in_words(place, text) {
        return whole(problem);
    }
    if let Some((said, message, such, meant)) = SEVERAL.iter().find(|(said, ..)| small.starts_with(said)) {
        let span = taken_to(said.len());
        let problem = Problem::new(ProblemKind::UnknownWord, span, *message)
            .help(format!("such as `{such}`"))
            .fix(Fix::replace(span, *meant));
        return whole(problem);
    }
    if matches!(before, Some(Means::Package(_)))
        && let Some(problem) = joined_by_word(place, text).or_else(|| what_before_amount(place, text))
    {
        return whole(problem);
    }
    if let Some(problem) = rated_behind(place, text).filter(|_| block == BlockKind::Brew) {
        return whole(problem);
    }
    let span = taken_to(word.len());
    let figure = RECKONED.iter().find(|(said, _)| said.eq_ignore_ascii_case(word));
    if let Some((_, figure)) = figure.filter(|_| block == BlockKind::Brew) {
        let message = format!("the {figure} of a beer is reckoned from its gravities");
        return whole(Problem::new(ProblemKind::UnknownWord, span, message));
    }
    if ROUSED.iter().any(|said| said.eq_ignore_ascii_case(word)) {
        let message = format!("nothing is reckoned from `{word}`: it is a `note`");
        return whole(Problem::new(ProblemKind::UnknownWord, span, message));
    }
    if let Some(problem) = primed(place, text, before) {
        return whole(problem);
    }
    if let Some(block) = BLOCKS.iter().find(|block| block.word().eq_ignore_ascii_case(word)) {
        let opens = block.word();
        let problem = unreadable(span, format!("`{opens}` opens a block, on a line of its own"))
            .help(format!("such as `{opens} NAME`, with its facts and days on the lines below"));
        return whole(problem);
    }
    if let Some(problem) = canned(span, word).or_else(|| packaged(span, word)) {
        return whole(problem);
    }
    if word.eq_ignore_ascii_case("pellicle") {
        let problem =
            Problem::new(ProblemKind::UnknownWord, place.span(), "is it a `note`, or is this `infected`?")
                .help("where wild yeast was pitched a pellicle is its own")
                .fix(keep_as_note(place))
                .fix(Fix::replace(place.span(), "infected"));
        return whole(problem);
    }
    let dated = if block == BlockKind::Culture { "made" } else { "on" };
    let date = word.eq_ignore_ascii_case("date").then_some(dated);
    let meant =
        SYNONYMS.iter().find(|(said, _)| said.eq_ignore_ascii_case(word)).map(|(_, meant)| *meant).or(date);
    if let Some(meant) = meant {
        let problem =
            Problem::new(ProblemKind::UnknownWord, span, format!("the word for `{word}` is `{meant}`"))
                .help(usage(meant))
                .fix(Fix::replace(span, meant));
        return whole(problem);
    }
    let letters = word.trim_end_matches(|c: char| c.is_ascii_digit());
    if letters.len() < word.len() && look_up(letters).is_some() {
        let at = place.span_of(place.at + letters.len(), place.at + letters.len()).start;
        let problem = unreadable(span, format!("a space is missing behind `{letters}`"))
            .help(usage(&letters.to_ascii_lowercase()))
            .fix(Fix::insert(at, " ", "put a space in").safe());
        return whole(problem);
    }
    if let Some(meant) = sink.may_seek().then(|| nearest(word)).flatten() {
        let problem = Problem::new(
            ProblemKind::UnknownWord,
            span,
            format!("unknown word `{word}`; did you mean `{meant}`?"),
        )
        .help(usage(meant))
        .fix(Fix::replace(span, meant));
        return whole(problem);
    }
    // `pitch tide-b, tide-c`
    if before == Some(Means::Pitch) && grammar::read(Rule::pitch, text).is_ok() {
        let problem = unreadable(span, format!("each lot is pitched by itself: `pitch {}`", shown(text)))
            .fix(Fix::insert(span.start, "pitch ", "put `pitch` in"));
        return whole(problem);
    }
    let problem = unreadable(place.span(), format!("`{}` is nothing that this log can read", shown(text)))
        .help("a line begins with the word for what happened, such as `temp`, `gravity`, `pitch`, `add` or `note`");
    whole(problem)
}

/// `warm to 20 °C`, `diacetyl rest 15 °C`: a temperature that is set.
fn set_in_words(place: &Place<'_>, text: &str) -> Option<Problem> {
    let words: Vec<&str> = text.split(is_space).filter(|word| !word.is_empty()).collect();
    let is = |word: &str, known: &[&str]| known.iter().any(|known| known.eq_ignore_ascii_case(word));
    let lead = match words.as_slice() {
        [test, rest, ..] if is(test, &["d", "diacetyl", "vdk"]) && is(rest, &["rest"]) => 2,
        [first, ..] if is(first, &["d-rest"]) => 1,
        [first, ..] if is(first, WARMED) && text.contains(|c: char| c.is_ascii_digit()) => 1,
        _ => return None,
    };
    let is_joining = |word: &&&str| is(word, &["at", "temp", "temperature", "the", "to", "up"]);
    let joining = words.iter().skip(lead).take_while(is_joining).count();
    let end =
        |at: usize| words.get(at).map_or(text.len(), |word| word.as_ptr() as usize - text.as_ptr() as usize);
    let (said, to) = (text.get(..end(lead))?.trim_end_matches(is_space), text.get(end(lead + joining)..)?);
    let problem = Problem::new(
        ProblemKind::UnknownWord,
        place.span_of(place.at, place.at + said.len()),
        format!("the word for `{said}` is `set`"),
    );
    let reads = grammar::read(Rule::set, to).is_ok() && is_a(Dimension::Temperature, to);
    Some(if reads {
        let span = place.span_of(place.at, place.end - to.len());
        problem.fix(Fix::replace(span, "set ").titled(format!("write `set {}`", shown(to))))
    } else {
        problem.help(usage("set"))
    })
}

/// `can 19 L`
fn canned(span: Span, word: &str) -> Option<Problem> {
    ["can", "canned"].iter().any(|said| said.eq_ignore_ascii_case(word)).then(|| {
        Problem::new(ProblemKind::UnknownWord, span, format!("the word for `{word}` is `bottle`"))
            .help("such as `bottle 57 × 330 mL cans, 100 g sucrose`")
            .fix(Fix::replace(span, "bottle"))
    })
}

/// `package 19 L`
fn packaged(span: Span, word: &str) -> Option<Problem> {
    ["package", "packaged", "fill", "filled"].iter().any(|said| said.eq_ignore_ascii_case(word)).then(|| {
        ["bottle", "keg", "cask"].into_iter().fold(
            Problem::new(ProblemKind::UnknownWord, span, "into what? `bottle`, `keg` or `cask`")
                .help("such as `bottle 19 L, 110 g sucrose`, or `keg 19 L at 0.8 bar`"),
            |problem, meant| problem.fix(Fix::replace(span, meant)),
        )
    })
}

/// `11 g dry yeast` in a culture's block, or `100 B`.
fn weighed_first(place: &Place<'_>, text: &str) -> Option<Problem> {
    let number = text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let (unit, behind) = unit_of(number);
    let word = match Unit::read(unit).filter(|_| number.len() < text.len())?.dimension() {
        Dimension::Mass => "sachet",
        Dimension::Cells => "pack",
        _ => return None,
    };
    let of_yeast =
        |word: &str| ["dry", "liquid", "of", "yeast", "cells"].contains(&&*word.to_ascii_lowercase());
    let meant = format!("{word} {}", text.get(..text.len() - behind.len())?);
    behind.split(is_space).filter(|word| !word.is_empty()).all(of_yeast).then(|| {
        let message = format!("the word comes first: `{}`", shown(&meant));
        Problem::new(ProblemKind::UnreadableLine, place.span(), message)
            .fix(Fix::replace(place.span(), meant))
    })
}

/// `2 sachets 11 g`: what yeast comes in, behind how many of it.
fn counted_first(place: &Place<'_>, text: &str) -> Option<Problem> {
    let (count, behind) = text.split_once(is_space)?;
    let behind = behind.trim_start_matches(is_space);
    let said = first_word(behind);
    let holder =
        HOLDERS.iter().find(|holders| holders.iter().any(|word| word.eq_ignore_ascii_case(said)))?[0];
    let each = behind.get(said.len()..)?.trim_start_matches(is_space);
    let each = each.strip_prefix("of ").unwrap_or(each);
    let example = look_up(holder)?.example;
    let meant = format!("{holder} {count} × {each}");
    let reads = grammar::read(Rule::packed, meant.get(holder.len() + 1..)?).is_ok() && is_amount(each);
    if !count.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let say = |such: &str| {
        Problem::new(ProblemKind::UnreadableLine, place.span(), format!("the word comes first: `{such}`"))
    };
    Some(if reads { say(&shown(&meant)).fix(Fix::replace(place.span(), meant)) } else { say(example) })
}

/// Items that begin with no word at all.
fn odd_beginning(place: &Place<'_>, text: &str) -> Option<Problem> {
    let say = |span: Span, message: &str| Problem::new(ProblemKind::UnreadableLine, span, message);
    let lead = |length: usize| place.span_of(place.at, place.at + length);
    if let Some(sign) = ["//", "--", ";", "%"].into_iter().find(|sign| text.starts_with(sign)) {
        let problem = say(lead(sign.len()), "a comment begins with `#`");
        return Some(problem.fix(Fix::replace(lead(sign.len()), "#")));
    }
    let bullet = text.strip_prefix(['-', '*', '•', '–']).map(|rest| rest.trim_start_matches(is_space));
    if let Some(rest) = bullet.filter(|rest| look_up(first_word(rest)).is_some()) {
        let span = lead(text.len() - rest.len());
        return Some(
            say(span, "a line needs no mark before it")
                .fix(Fix::replace(span, "").titled("delete it").safe()),
        );
    }
    if let Some(hidden) = text.chars().next().filter(|c| is_hidden(*c)) {
        return Some(hidden_character(lead(hidden.len_utf8()), hidden));
    }
    if text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '~' | '?')) {
        let mut problem = say(place.span(), "a line begins with a word that says what this is")
            .help("such as `temp 18 °C`, `gravity 1.012` or `add 85 g northgate hops`; what need not be read is a `note`");
        let alone = |word: &str, rule| grammar::read(rule, text).is_ok().then(|| word.to_owned());
        if let Some(word) = alone("temp", Rule::single).filter(|_| is_degrees(text)) {
            problem = problem.fix(Fix::insert(
                place.span().start,
                format!("{word} "),
                format!("write `{word} {text}`"),
            ));
        } else if let Some(word) = alone("gravity", Rule::single).filter(|_| text.starts_with("1.0")) {
            problem = problem.fix(Fix::insert(
                place.span().start,
                format!("{word} "),
                format!("write `{word} {text}`"),
            ));
        }
        return Some(problem);
    }
    None
}

fn is_degrees(text: &str) -> bool {
    text.ends_with(['C', 'F', 'c', 'f', '℃', '℉']) && !text.contains('/')
}

/// Characters that nobody sees, and that hide in pasted text.
pub(crate) fn is_hidden(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}' | '\u{ad}')
        || (c.is_control() && c != '\t')
}

pub(crate) fn hidden_character(span: Span, c: char) -> Problem {
    Problem::new(
        ProblemKind::UnreadableLine,
        span,
        format!("a character that cannot be seen (U+{:04X})", c as u32),
    )
    .help("it may have come with pasted text")
    .fix(Fix::replace(span, "").titled("delete it"))
}

/// Words that people put between an amount and what goes in with it.
const JOINING: &[&str] = &["&", "+", "adding", "and", "including", "plus", "using", "w/"];

/// What may be moved behind its amount by a program: no word of it can mean anything else.
const PLAIN_THINGS: &[&str] = &[
    "beet sugar",
    "cane sugar",
    "dextrose",
    "glucose",
    "honey",
    "hops",
    "sucrose",
    "sugar",
    "table sugar",
    "water",
    "white sugar",
];

fn is_plain(what: &str) -> bool {
    PLAIN_THINGS.iter().any(|thing| thing.eq_ignore_ascii_case(what))
}

/// `bottle 19 L and 110 g sucrose`, from the joining word on.
pub(crate) fn joined_by_word(place: &Place<'_>, text: &str) -> Option<Problem> {
    let word =
        text.split(is_space).next().filter(|word| JOINING.iter().any(|j| j.eq_ignore_ascii_case(word)))?;
    let behind = text.get(word.len()..)?.trim_start_matches(is_space);
    grammar::read(Rule::package, &format!("with {behind}")).ok()?;
    let start = place.at + (place.text().len() - text.len());
    let before = place.content.get(place.at..start)?.trim_end_matches(is_space);
    let span = place.span_of(start, start + word.len());
    let problem = Problem::new(
        ProblemKind::UnreadableLine,
        span,
        format!("a comma stands for `{word}` before what goes in: `, {}`", shown(behind)),
    );
    let fix = if before.is_empty() {
        let to = start + text.len() - behind.len();
        Fix::replace(place.span_of(start, to), "").titled(format!("take `{word}` out"))
    } else {
        let from = place.at + before.len();
        Fix::replace(place.span_of(from, start + word.len()), ",").titled("put a comma for it")
    };
    let known = PLAIN_THINGS.iter().any(|thing| {
        let (amount, what) =
            behind.split_at_checked(behind.len().saturating_sub(thing.len())).unwrap_or_default();
        what.eq_ignore_ascii_case(thing) && is_amount(amount.trim_end_matches(is_space))
    });
    Some(problem.fix(if known { fix.safe() } else { fix }))
}

/// `bottle 19 L, kept 20 °C, rated 3.5 vol`: what the glass is made for, behind another event.
fn rated_behind(place: &Place<'_>, text: &str) -> Option<Problem> {
    let is_rated =
        first_word(text).eq_ignore_ascii_case("rated") && grammar::read(Rule::package, text).is_ok();
    let before = place.content.get(..place.at).filter(|_| is_rated)?;
    let is_package = |word: &str| look_up(word).is_some_and(|entry| matches!(entry.means, Means::Package(_)));
    // Where the packaging ends, and its word.
    let (mut package, mut open, mut at) = (None, false, 0);
    for part in before.split(',') {
        let end = at + part.len();
        if let Some(word) = part.split(is_space).find(|word| is_package(word)) {
            (package, open) = (Some((word, end)), true);
        } else if let Some((word, _)) = package.filter(|_| open) {
            let start = at + part.len() - part.trim_start_matches(is_space).len();
            open = !part.trim_matches(is_space).is_empty() && packaging_goes_on(before, start);
            package = Some((word, if open { end } else { at - 1 }));
        }
        at = end + 1;
    }
    let word = package.map_or("bottle", |(word, _)| word);
    let message = format!("`{}` belongs to the `{word}`, before a comma ends it", shown(text));
    let problem = Problem::new(ProblemKind::UnreadableLine, place.span(), message)
        .help("it says what the glass is made for");
    let Some((_, end)) = package else { return Some(problem) };
    let away = before.trim_end_matches(is_space).trim_end_matches(',').len();
    let edits = vec![
        Edit { span: place.span_of(end, end), text: format!(" {text}") },
        Edit { span: place.span_of(away, place.end), text: String::new() },
    ];
    let title = format!("put it behind the `{word}`");
    Some(problem.fix(Fix { title, edits, safe: false }))
}

/// `bottle 19 L, primed with 110 g sucrose`, `prime with 110 g sucrose`, `prime 19 L, 110 g sucrose`
fn primed(place: &Place<'_>, text: &str, before: Option<Means>) -> Option<Problem> {
    let word = first_word(text);
    if !["prime", "primed", "priming"].iter().any(|said| said.eq_ignore_ascii_case(word)) {
        return None;
    }
    let behind = text.get(word.len()..)?.trim_start_matches(is_space);
    let lead = |length: usize| place.span_of(place.at, place.at + length);
    let say = |message: String| Problem::new(ProblemKind::UnknownWord, lead(word.len()), message);
    let with = first_word(behind).eq_ignore_ascii_case("with");
    if with && matches!(before, Some(Means::Package(_))) && grammar::read(Rule::package, behind).is_ok() {
        let taken = lead(text.len() - behind.len());
        return Some(
            say(format!("what goes in needs no `{word}`: `{}`", shown(behind)))
                .fix(Fix::replace(taken, "").titled(format!("take `{word}` out"))),
        );
    }
    let added = if with { behind.get("with".len()..)?.trim_start_matches(is_space) } else { behind };
    if with && grammar::read(Rule::add, added).is_ok() {
        return Some(
            say(format!("the word for `{word} with` is `add`"))
                .help(usage("add"))
                .fix(Fix::replace(lead(text.len() - added.len()), "add ").titled("write `add`")),
        );
    }
    // How much beer is primed, and behind a comma the sugar.
    (is_amount(behind) && matches!(place.behind, Behind::Comma(_))).then(|| {
        say(format!("beer is primed where it is filled: `bottle {}`", shown(behind)))
            .help(usage("bottle"))
            .fix(Fix::replace(lead(word.len()), "bottle"))
    })
}

/// Whether a text is an amount and nothing else.
pub(crate) fn is_amount(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '~' | '?'))
        && grammar::read(Rule::part_of_lot, text).is_ok()
}

/// `sucrose 110 g`
pub(crate) fn what_before_amount(place: &Place<'_>, text: &str) -> Option<Problem> {
    // The digits of `CO2` and `run-3` begin no number.
    let mut digits = text.match_indices(|c: char| c.is_ascii_digit() || c == '?').map(|(at, _)| at);
    let number = digits.find(|at| text.get(..*at).is_some_and(|before| before.ends_with(is_space)))?;
    let (what, amount) = (text.get(..number)?.trim_matches(is_space), text.get(number..)?);
    // `water 3 L for 1.050`
    let behind = [" at ", " for "].into_iter().filter_map(|word| amount.find(word)).min();
    let (amount, behind) = amount.split_at_checked(behind.unwrap_or(amount.len()))?;
    let turned = format!("{amount} {what}{behind}");
    let start = place.at + (place.text().len() - text.len());
    let span = place.span_of(start, start + text.len());
    // Of `the 300 g sugar` it is the sugar that is weighed, and what stands before it no name.
    let joins = what.split(is_space).any(|word| JOINING.iter().any(|j| j.eq_ignore_ascii_case(word)));
    let readable =
        !what.is_empty() && !joins && is_amount(amount) && grammar::read(Rule::add, &turned).is_ok();
    readable.then(|| {
        let fix = Fix::replace(span, turned.clone());
        Problem::new(ProblemKind::UnreadableLine, span, format!("the amount comes first: `{turned}`"))
            .fix(if is_plain(what) { fix.safe() } else { fix })
    })
}

/// How a word is used.
fn usage(word: &str) -> String {
    let first = word.split(' ').next().unwrap_or(word);
    look_up(first).map_or_else(String::new, |entry| format!("`{}`, such as `{}`", entry.form, entry.example))
}

/// The nearest first word: one slip away, two for words of more than four letters.
fn nearest(word: &str) -> Option<&'static str> {
    let length = word.chars().count();
    if !(3..=13).contains(&length) {
        return None;
    }
    let small = word.to_lowercase();
    let most = if length <= 4 { 1 } else { 2 };
    let block_and_day = ["on", "strain", "culture", "starter", "brew", "vessel"];
    WORDS
        .iter()
        .map(|entry| entry.word)
        .chain(block_and_day)
        .filter(|known| known.len().abs_diff(length) <= 2)
        .map(|known| (osa_distance(&small, known), known))
        .filter(|(distance, _)| *distance <= most)
        .min()
        .map(|(_, known)| known)
}
