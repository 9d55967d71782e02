//! What is wrong with a header, and with the marks and lines around blocks.

use crate::ast::{BlockKind, Name};
use crate::cut::{Mark, is_space, mark};
use crate::item::{is_reserved, shown};
use crate::lines::Lines;
use crate::{Edit, Fix, Problem, ProblemKind, Span};

/// The two ways to end a conflict, where its marks are whole. `inside` runs from the first mark's line past the last's.
pub(crate) fn conflict_fixes(problem: Problem, inside: &str, at: usize) -> Problem {
    let marks: Vec<_> = Lines::of(inside)
        .filter_map(|line| inside.get(line.range()).and_then(mark).map(|mark| (mark, line)))
        .collect();
    let kinds: Vec<Mark> = marks.iter().map(|(mark, _)| *mark).collect();
    let whole = matches!(
        kinds.as_slice(),
        [Mark::Ours, Mark::Between, Mark::Theirs] | [Mark::Ours, Mark::Base, Mark::Between, Mark::Theirs]
    );
    let (Some((_, ours)), Some((_, ours_end)), Some((_, between)), Some((_, theirs))) =
        (marks.first(), marks.get(1), marks.iter().rev().nth(1), marks.last())
    else {
        return problem;
    };
    if !whole {
        return problem;
    }
    let cut = |from: usize, to: usize| Edit { span: Span::of(at + from..at + to), text: String::new() };
    let keep = |title: &str, edits: Vec<Edit>| Fix { title: title.to_owned(), edits, safe: false };
    problem
        .fix(keep("keep the upper side", vec![cut(ours.start, ours.next), cut(ours_end.start, theirs.next)]))
        .fix(keep("keep the lower side", vec![cut(ours.start, between.next), cut(theirs.start, theirs.next)]))
}

pub(crate) fn misspelt_block(word: &str, span: Span, meant: Option<BlockKind>) -> Problem {
    let meant = meant.map_or("brew", BlockKind::word);
    Problem::new(
        ProblemKind::MisspeltBlock,
        span,
        format!("`{word}` opens no block; did you mean `{meant}`?"),
    )
    .help("until it is mended, the lines below belong to nothing")
    .fix(Fix::replace(span, meant))
}

/// A header of such a block as it should look.
const fn example(kind: BlockKind) -> &'static str {
    match kind {
        BlockKind::Strain => "strain tidemill-ale",
        BlockKind::Culture => "culture packet-1 of tidemill-ale",
        BlockKind::Starter => "starter packet-1-s",
        BlockKind::Brew | BlockKind::Unknown | BlockKind::Loose => "brew slack-water-3",
        BlockKind::Vessel => "vessel bucket-2",
    }
}

/// A header with nothing behind its word.
pub(crate) fn nameless(kind: BlockKind, word: &str, span: Span) -> Problem {
    Problem::new(
        ProblemKind::UnreadableLine,
        span,
        format!("this {} needs a name", word.to_ascii_lowercase()),
    )
    .help(format!("such as `{}`", example(kind)))
}

/// `of` in a header that is no culture's.
pub(crate) fn of_no_culture(kind: BlockKind, span: Span) -> Problem {
    let word = kind.word();
    let message = format!("a {word} is `of` nothing; only a culture names its strain");
    Problem::new(ProblemKind::UnreadableLine, span, message).help(format!("such as `{}`", example(kind)))
}

/// Names are letters, digits, `-` and `_`: the nearest such name to some words.
pub(crate) fn name_like(text: &str, first: char) -> String {
    let mut name = String::new();
    for c in text.chars() {
        if c.is_alphanumeric() || c == '_' {
            name.push(c);
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
    }
    let mut name = name.trim_end_matches('-').to_owned();
    if is_reserved(&name) {
        name.insert(0, '-');
    }
    if !name.starts_with(char::is_alphabetic) {
        name.insert(0, first);
    }
    name.chars().take(64).collect()
}

/// What stands in a header and cannot be read. It lies at `span`; `name` is what was read before it, `plain` says that
/// no title and no strain stand between.
pub(crate) fn rest(kind: BlockKind, name: Option<&Name>, plain: bool, span: Span, text: &str) -> Problem {
    let help = format!("such as `{}`", example(kind));
    let say = |message: String| Problem::new(ProblemKind::UnreadableLine, span, message).help(help.clone());
    if text.starts_with(['“', '”', '„', '«', '‘', '’', '\'']) && name.is_some() {
        let inside = text.trim_matches(['“', '”', '„', '«', '»', '‘', '’', '\'', '"']);
        return say("a title stands between straight quotes".to_owned())
            .fix(Fix::replace(span, format!("\"{}\"", inside.replace('"', "'"))).safe());
    }
    if text.starts_with('"') && name.is_some() {
        let closed = text.len() > 1 && text.get(1..).is_some_and(|rest| rest.contains('"'));
        if closed {
            return say("one title is enough, and it ends the header".to_owned());
        }
        return say("the title has no closing quote".to_owned())
            .fix(Fix::insert(span.end, "\"", "close the title").safe());
    }
    let first_word = text.split(is_space).next().unwrap_or("");
    if first_word.eq_ignore_ascii_case("of") && kind == BlockKind::Culture {
        return say("of which strain?".to_owned())
            .help("a strain's name, or several with `+` between them; leave `of` out where nobody knows")
            .fix(Fix::replace(span, "").titled("leave the strain out"));
    }
    let first = kind.word().chars().next().unwrap_or('b');
    let Some(name) = name else {
        let message = if text.starts_with(char::is_alphabetic) {
            format!("`{}` is no name", shown(text))
        } else {
            "a name starts with a letter".to_owned()
        };
        let meant = name_like(text.split('"').next().unwrap_or(text), first);
        let problem = say(message);
        let bare = text.split('"').next().unwrap_or("").trim_end_matches(is_space);
        let place = Span::new(span.start, span.start.saturating_add(Span::of(0..bare.len()).end));
        return if meant.is_empty() || bare.is_empty() {
            problem
        } else {
            problem.fix(Fix::replace(place, meant))
        };
    };
    if !plain {
        return say(format!("this header cannot be read from `{}` on", shown(first_word)));
    }
    let joined = format!("{}{}{text}", name.text, if span.start > name.span.end { " " } else { "" });
    let meant = name_like(&joined, first);
    say("a name has no spaces and no signs but `-` and `_`".to_owned())
        .help("what else there is to say fits in a \"Title\" behind the name")
        .fix(Fix::replace(name.span.to(span), meant))
}

/// A carriage return that ends no line, at `at` in a line's content.
pub(crate) fn lone_return(content: &str, line_start: usize, at: usize) -> Problem {
    let edits = content
        .match_indices('\r')
        .take(20)
        .map(|(at, _)| Edit { span: Span::of(line_start + at..line_start + at + 1), text: "\n".to_owned() })
        .collect();
    let span = Span::of(line_start + at..line_start + at + 1);
    Problem::new(ProblemKind::UnreadableLine, span, "a carriage return without a line feed ends no line")
        .help("lines end with a line feed, or with a carriage return and a line feed")
        .fix(Fix { title: "put line feeds in its place".to_owned(), edits, safe: false })
}
