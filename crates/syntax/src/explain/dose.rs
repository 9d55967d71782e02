//! What goes into each bottle or each litre, said in words behind it.

use barm_quantity::{Dimension, Unit, plain};

use super::refused::{SPELT_OUT, by_eye};
use crate::item::shown;
use crate::{Fix, Problem, ProblemKind, Span};

/// What beer is filled into.
const FILLED: &[&str] =
    &["bottle", "bottles", "can", "flagon", "glass", "growler", "jar", "keg", "swing-top"];

const EACH: &str = "what goes into each is written with how many they are";

/// What an amount is told to be for.
enum Each {
    Bottle,
    Volume(Unit),
}

/// `8 g sucrose each`, `9 g sugar per litre`: taken at its words it would be all that went in.
pub(crate) fn dose_in_words(amount: &str, what: &str, span: Span, bottles: Option<f64>) -> Option<Problem> {
    let (thing, each) = parted(what)?;
    let say = |message: String| Problem::new(ProblemKind::UnreadableLine, span, message);
    if amount == "?" {
        let meant = format!("? {thing}");
        return Some(
            say(format!("the answer says how much for all of it: `{}`", shown(&meant)))
                .fix(Fix::replace(span, meant)),
        );
    }
    // `2 carbonation drops each`
    let counted = thing.split(' ').find_map(|word| by_eye(word, span));
    if let Some(problem) = counted.filter(|_| amount.ends_with(|last: char| last.is_ascii_digit())) {
        let such = match bottles {
            Some(bottles) => format!("{} × 4 g sugar", plain(bottles, 0)),
            None => "38 × 4 g sugar".to_owned(),
        };
        return Some(problem.help(format!("such as `{such}`, of what goes into each")));
    }
    let (meant, message) = match each {
        Each::Bottle => match bottles {
            _ if amount.contains(['×', 'x', '*']) => (Some(format!("{amount} {thing}")), EACH),
            Some(bottles) => (Some(format!("{} × {amount} {thing}", plain(bottles, 0))), EACH),
            None => (None, "into how many? What goes into each is written with their number"),
        },
        Each::Volume(unit) => {
            let number = amount.trim_end_matches(char::is_alphabetic);
            let dose = |unit: Unit| {
                let dose = format!("{}/{}", amount.get(number.len()..)?, unit.symbol());
                Unit::read(&dose).map(|dose| format!("{number}{} {thing}", dose.symbol()))
            };
            (dose(unit), "a dose has its unit by the amount")
        }
    };
    Some(match meant {
        Some(meant) => say(format!("{message}: `{}`", shown(&meant))).fix(Fix::replace(span, meant)),
        None => say(message.to_owned()).help("such as `9 g/L sugar`, or `38 × 8 g sucrose`"),
    })
}

/// What is added, and what an amount of it is for.
fn parted(what: &str) -> Option<(String, Each)> {
    let words: Vec<&str> = what.split_whitespace().collect();
    let is = |word: &str, known: &[&str]| known.iter().any(|known| known.eq_ignore_ascii_case(word));
    let (at, each, taken) = words.iter().enumerate().find_map(|(at, word)| {
        let next = words.get(at + 1).copied().unwrap_or("");
        let filled = is(next, FILLED);
        if is(word, &["each", "apiece"]) {
            return Some((at, Each::Bottle, if filled { 2 } else { 1 }));
        }
        let unit = Unit::read(next).or_else(|| {
            let spelt = SPELT_OUT.iter().find(|(spelt, _)| spelt.eq_ignore_ascii_case(next));
            spelt.and_then(|(_, unit)| Unit::read(unit))
        });
        let volume = unit.filter(|unit| unit.dimension() == Dimension::Volume).map(Each::Volume);
        let each = if filled { Some(Each::Bottle) } else { volume };
        // `dregs of a bottle` came out of one.
        let came_out =
            words.get(..at).and_then(<[_]>::last).is_some_and(|before| is(before, &["from", "of"]));
        each.filter(|_| is(word, &["a", "every", "per"]) && !came_out).map(|each| (at, each, 2))
    })?;
    let (before, behind) = (words.get(..at)?, words.get(at + taken..).unwrap_or(&[]));
    // `sucrose in each bottle`
    let before = match before.split_last() {
        Some((last, before)) if is(last, &["in", "into", "to"]) => before,
        _ => before,
    };
    let thing = if before.is_empty() { behind } else { before }.join(" ");
    (!thing.is_empty()).then_some((thing, each))
}
