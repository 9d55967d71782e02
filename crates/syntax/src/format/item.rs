//! An item set anew: its units, ranges and signs as barm writes them.

use std::ops::Range;

use crate::grammar::{self, Piece, Pieces, Rule};
use crate::value::unit;

/// What stands behind an item's word, set anew. `None` where its rule does not read it.
pub(super) fn set(rule: Rule, behind: &str) -> Option<String> {
    let text = behind.trim_start_matches(' ');
    let (_, read) = grammar::read_behind(rule, behind);
    let mut parts = Vec::new();
    for piece in read.ok()? {
        collect(piece, &mut parts);
    }
    let mut out = String::new();
    let mut end = 0;
    for (range, part) in parts {
        between(text.get(end..range.start)?, &mut out);
        out.push_str(&part);
        end = range.end;
    }
    between(text.get(end..)?, &mut out);
    Some(out.trim_end_matches(' ').to_owned())
}

/// What stands between the parts: words of the language, commas, colons, plus signs and white space.
fn between(text: &str, out: &mut String) {
    let words: Vec<&str> = text.split(' ').filter(|word| !word.is_empty()).collect();
    let glued = matches!(words.as_slice(), [":" | "+" | "/"]);
    let space = |out: &mut String| {
        if !out.is_empty() && !out.ends_with(' ') {
            out.push(' ');
        }
    };
    if text.starts_with(' ') && !glued && words.first().is_none_or(|word| !word.starts_with(',')) {
        space(out);
    }
    for (n, word) in words.iter().enumerate() {
        let glued_to_number =
            out.ends_with(|c: char| c.is_ascii_digit()) && word.starts_with(char::is_alphabetic);
        if (n > 0 && !word.starts_with(',')) || glued_to_number {
            space(out);
        }
        out.push_str(&word.to_lowercase());
    }
    if text.ends_with(' ') && !glued {
        space(out);
    }
}

/// The parts of a piece that are set anew or kept as they are, in order.
fn collect(piece: Piece<'_>, parts: &mut Vec<(Range<usize>, String)>) {
    let span = piece.as_span();
    let range = span.start()..span.end();
    let text = piece.as_str();
    match piece.as_rule() {
        Rule::EOI => {}
        Rule::measure => parts.push((range, measure(piece))),
        Rule::amount => parts.push((range, amount(piece))),
        Rule::phrase
        | Rule::chosen
        | Rule::thickness
        | Rule::dry
        | Rule::method
        | Rule::verdict
        | Rule::any
        | Rule::end_of_vessel => {
            parts.push((range, text.to_lowercase()));
        }
        Rule::what | Rule::flavour => {
            let words: Vec<&str> = text.split(' ').filter(|word| !word.is_empty()).collect();
            parts.push((range, words.join(" ")));
        }
        _ => {
            let before = parts.len();
            for inner in Pieces::of(piece) {
                collect(inner, parts);
            }
            if parts.len() == before {
                parts.push((range, text.to_owned()));
            }
        }
    }
}

/// `~180 ± 30 mL`
fn measure(piece: Piece<'_>) -> String {
    let mut out = String::new();
    for part in Pieces::of(piece) {
        let number = || part.as_str().replace('−', "-");
        match part.as_rule() {
            Rule::about => out.push('~'),
            Rule::low => out.push_str(&number()),
            Rule::high => {
                out.push_str("..");
                out.push_str(&number());
            }
            Rule::error => {
                out.push_str(" ± ");
                out.push_str(&number());
            }
            Rule::unit => {
                out.push(' ');
                out.push_str(unit(part.as_str()).map_or(part.as_str(), |unit| unit.symbol()));
            }
            _ => out.push_str(part.as_str()),
        }
    }
    out
}

fn amount(piece: Piece<'_>) -> String {
    let text = piece.as_str();
    let mut parts = Pieces::of(piece.clone());
    match (parts.next(), parts.next()) {
        (Some(count), Some(each)) if each.as_rule() == Rule::measure => {
            format!("{} × {}", count.as_str(), measure(each))
        }
        (Some(count), Some(container)) if container.as_rule() == Rule::container => {
            let words: Vec<&str> = container.as_str().split(' ').filter(|word| !word.is_empty()).collect();
            format!("{} {}", count.as_str(), words.join(" ").to_lowercase())
        }
        (Some(_), Some(whole)) if whole.as_rule() == Rule::whole => text.to_owned(),
        (Some(only), None) if only.as_rule() != Rule::low => text.to_lowercase(),
        _ => measure(piece),
    }
}
