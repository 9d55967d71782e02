//! Units and forms that are nearly known ones.

use barm_quantity::{Dimension, Unit};
use strsim::osa_distance;

use super::refused::SPELT_OUT;
use crate::item::shown;
use crate::{Fix, Problem, ProblemKind, Span};

/// The forms that yeast is counted in.
const FORMS: &[&str] = &["pack", "packs", "sachet", "sachets", "vial", "vials", "loop", "loops"];
/// No unit or form that is spelt out is longer by more than a slip.
const LONGEST: usize = 14;
const SHORT: usize = 4;

/// What to say of a unit or a form that is nearly one that fits here.
pub(crate) fn misspelt(word: &str, span: Span, fits: impl Fn(&str) -> bool) -> Option<Problem> {
    let meant = nearest(word, fits)?;
    let message = format!("`{}` is no unit that this log knows; did you mean `{meant}`?", shown(word));
    Some(Problem::new(ProblemKind::WrongUnit, span, message).fix(Fix::replace(span, meant)))
}

/// The nearest unit or form that fits: one slip away, two for what is spelt out at length. What is short has to begin
/// alike or have the same letters, or it is near to everything: `2 mint leaves` are no pints.
fn nearest(word: &str, fits: impl Fn(&str) -> bool) -> Option<&'static str> {
    let small = word.to_lowercase();
    let length = small.chars().count();
    if !(2..=LONGEST).contains(&length) || !small.chars().all(|c| c.is_alphabetic() || "°/%".contains(c)) {
        return None;
    }
    let most = if length <= SHORT { 1 } else { 2 };
    let mut near: Vec<(usize, bool, bool, &str, &str)> = spellings()
        .filter(|(spelt, _)| spelt.chars().count().abs_diff(length) <= most)
        .filter_map(|(spelt, meant)| {
            let known = spelt.to_lowercase();
            let distance = osa_distance(&small, &known);
            let begins_alike = known.chars().next() == small.chars().next();
            let swapped = is_swapped(&small, &known);
            let near = distance <= most && (length > SHORT || begins_alike || swapped);
            near.then_some((distance, !swapped, !begins_alike, spelt, meant))
        })
        .collect();
    near.sort_unstable();
    near.into_iter().map(|(.., meant)| meant).find(|meant| fits(meant))
}

/// Every spelling of a unit or a form, and as the log writes it.
fn spellings() -> impl Iterator<Item = (&'static str, &'static str)> {
    // No line of a log is about lengths.
    let units = Unit::ALL.iter().filter(|unit| unit.dimension() != Dimension::Length);
    units
        .flat_map(|unit| unit.spellings().iter().map(|spelt| (*spelt, unit.symbol())))
        .chain(SPELT_OUT.iter().copied())
        .chain(FORMS.iter().map(|form| (*form, *form)))
        .filter(|(spelt, _)| !spelt.is_empty())
}

/// `Lm` for `mL`: the same letters in another order.
fn is_swapped(a: &str, b: &str) -> bool {
    let letters = |word: &str| {
        let mut letters: Vec<char> = word.chars().collect();
        letters.sort_unstable();
        letters
    };
    letters(a) == letters(b)
}

/// Whether a word is a form that yeast is counted in.
pub(crate) fn is_form(word: &str) -> bool {
    FORMS.iter().any(|form| form.eq_ignore_ascii_case(word))
}
