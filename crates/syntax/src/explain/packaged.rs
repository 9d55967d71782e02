//! Lines that package beer, and say what it is to have in other words or in another order.

use barm_quantity::{Dimension, Unit};

use super::refused::{JOINTS, View, is_a, unit_of};
use super::word::is_amount;
use crate::cut::is_space;
use crate::grammar::{self, Rule};
use crate::item::shown;
use crate::{Fix, Problem, ProblemKind, Span};

/// `? sucrose to 2.4 vol`
pub(super) fn to_carbonation(view: &View<'_, '_>) -> Option<Problem> {
    let (before, behind) = view.item.place.text().rsplit_once(" to ")?;
    is_a(Dimension::Carbonation, behind).then(|| {
        let at = view.item.place.at + before.len() + " ".len();
        let span = view.item.place.span_of(at, at + "to".len());
        view.say(span, "what the beer is to have is written with `for`").fix(Fix::replace(span, "for"))
    })
}

/// An amount between commas that is of nothing: `2.4 vol`, `0.8 bar`, or a second size of bottle.
pub(super) fn bare_part(view: &View<'_, '_>) -> Option<Problem> {
    let place = &view.item.place;
    let (before, part) = view.before.rsplit_once(',')?;
    let part = part.trim_start_matches(is_space);
    let end = place.at + view.before.len();
    let span = place.span_of(end - part.len(), end);
    if !is_amount(part) {
        return None;
    }
    let word = [
        (Dimension::Carbonation, "for", "what the beer is to have"),
        (Dimension::Pressure, "at", "a pressure that the beer is put under"),
        (Dimension::Temperature, "at", "the beer's temperature"),
    ];
    if let Some((_, word, what)) = word.into_iter().find(|(kind, ..)| is_a(*kind, part)) {
        let meant = format!("{word} {part}");
        let problem = view.say(span, format!("{what} is written `{}`", shown(&meant)));
        let twice = word == "for" && before.contains(" for ");
        return Some(if twice { problem } else { problem.fix(Fix::replace(span, meant)) });
    }
    let is_size = part.contains(['×', 'x', '*']) && before.contains(['×', 'x', '*']);
    (is_size && is_a(Dimension::Volume, part.rsplit(['×', 'x', '*']).next()?.trim_start_matches(is_space)))
        .then(|| of_one_size(span))
}

/// `bottle 24 × 330 mL, 12 × 1 L PET`
pub(crate) fn of_one_size(span: Span) -> Problem {
    Problem::new(ProblemKind::UnreadableLine, span, "a line fills bottles of one size")
        .help("each size is filled on a line of its own, with the sugar that went into it")
}

/// `bottle 19 L from keg`
pub(super) fn filled_from(view: &View<'_, '_>) -> Option<Problem> {
    let from = view.odd_word();
    let holder = view.odd.split(is_space).nth(1)?.trim_end_matches(',');
    let is_holder = ["keg", "cask"].iter().any(|known| known.eq_ignore_ascii_case(holder));
    (is_holder && from.eq_ignore_ascii_case("from")).then(|| {
        let place = &view.item.place;
        let start = place.at + view.before.len();
        let length = from.len() + " ".len() + holder.len();
        let span = place.span_of(start, view.column + length);
        view.say(view.at_column(length), "a later filling comes out of the keg or cask by itself")
            .fix(Fix::replace(span, "").titled("take it out"))
    })
}

/// `bottle 19 L in 500 mL bottles`
pub(super) fn size_behind(view: &View<'_, '_>) -> Option<Problem> {
    let size = view.odd.strip_prefix("in ").or_else(|| view.odd.strip_prefix("into "))?;
    let beer = view.before.get(view.item.word.word.len()..)?.trim_matches(is_space);
    let (number, each) = (litres(beer)?, litres(size)?);
    let count = (number / each + 1e-9).floor();
    if !(1.0..=9999.0).contains(&count) {
        return None;
    }
    let (_, behind) = unit_of(size.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.'));
    let size = size.get(..size.len() - behind.len())?;
    let meant = format!("{} × {size}", barm_quantity::plain(count, 0));
    let end = view.item.place.end - behind.len();
    let start = view.item.place.at + view.before.len() - beer.len();
    let span = view.item.place.span_of(start, end);
    let message = format!("a size has the number of bottles before it: `{meant}`");
    Some(view.say(view.item.place.span_of(view.column, end), message).fix(Fix::replace(span, meant)))
}

/// The litres of a volume at the beginning of a text: `500 mL bottles`.
fn litres(text: &str) -> Option<f64> {
    let behind = text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let number: f64 = text.get(..text.len() - behind.len())?.parse().ok()?;
    let unit = Unit::read(unit_of(behind).0).filter(|unit| unit.dimension() == Dimension::Volume)?;
    Some(unit.to_base(number)).filter(|litres| *litres > 0.0)
}

/// `keg corny 19 L`, from the name on: what the beer is filled into.
pub(super) fn make_before(view: &View<'_, '_>) -> Option<Problem> {
    let place = &view.item.place;
    let number = view.rest.find(|c: char| c.is_ascii_digit()).filter(|_| view.odd == view.rest)?;
    let (make, beer) = view.rest.split_at_checked(number)?;
    let is_beer = is_a(Dimension::Volume, beer.rsplit(['×', 'x']).next()?.trim_start_matches(is_space))
        || is_a(Dimension::Volume, beer);
    let fits = make.ends_with(is_space) && is_beer && grammar::read(Rule::package, beer).is_ok();
    let make = make.trim_end_matches(is_space);
    fits.then(|| {
        let start = place.end - view.rest.len();
        let word = view.item.word.word;
        view.say(
            place.span_of(start, start + make.len()),
            format!("the amount comes first; what the `{word}` is, is a `note`"),
        )
        .help(format!("such as `{word} {}`", shown(beer)))
        .fix(
            Fix::replace(place.span_of(start, place.end - beer.len()), "")
                .titled(format!("take `{}` out", shown(make))),
        )
    })
}

/// `rated for 4 vol`
pub(super) fn rated_for(view: &View<'_, '_>) -> Option<Problem> {
    let word = view.odd_word();
    let value = view.odd.get(word.len()..)?.trim_start_matches(is_space);
    let joins = ["for", "to", "at"].iter().any(|known| known.eq_ignore_ascii_case(word));
    let is_rating = is_a(Dimension::Carbonation, value) || is_a(Dimension::Pressure, value);
    (joins && is_rating && view.before.ends_with(" rated")).then(|| {
        let span = view.at_column(view.odd.len() - value.len());
        view.say(
            view.at_column(word.len()),
            format!(
                "what it is made for stands alone: `rated {}`",
                shown(value.split(',').next().unwrap_or(value))
            ),
        )
        .fix(Fix::replace(span, "").titled(format!("take `{word}` out")).safe())
    })
}

/// `keg 19 L at ? psi`
pub(crate) fn asks_at(span: Span, word: &str) -> Problem {
    let message = "neither a pressure nor a temperature is reckoned here";
    Problem::new(ProblemKind::UnreadableLine, span, message).help(format!(
        "write what the beer is put under, such as `{word} 19 L at 0.8 bar`, or what it is to have, such as `{word} 19 L for \
         2.4 vol`"
    ))
}

/// `set ? psi`, `set ? for 2.4 vol`, `set 0.8 bar for 2.4 vol`
pub(super) fn set_for(view: &View<'_, '_>) -> Problem {
    let message = if view.rest.starts_with('?') {
        "neither a pressure nor a temperature is reckoned here"
    } else {
        "what the beer is to have is written where it is filled"
    };
    view.say(view.rest_span(), message).help(
        "write what is set, such as `set 0.8 bar`, and what the beer is to have as `keg 19 L for 2.4 vol`",
    )
}

/// `keg 19 L at 12 psi and 38 °F`
pub(super) fn and_at(view: &View<'_, '_>) -> Option<Problem> {
    let word = view.odd_word();
    let behind = view.odd.get(word.len()..)?.trim_start_matches(is_space);
    let fits = is_a(Dimension::Temperature, behind) || is_a(Dimension::Pressure, behind);
    (fits && JOINTS.contains(&word)).then(|| {
        let span = view.at_column(word.len());
        view.say(span, format!("`at` stands before each: `at {}`", shown(behind)))
            .fix(Fix::replace(span, "at"))
    })
}

/// Casks of the trade, and the imperial gallons that each holds (definition).
const CASKS: &[(&str, &str)] = &[("pin", "4.5"), ("firkin", "9"), ("kilderkin", "18"), ("hogshead", "54")];

/// `cask 12 firkins`
pub(super) fn by_the_cask(view: &View<'_, '_>) -> Option<Problem> {
    let said = view.odd_word().trim_end_matches(',');
    let small = said.to_ascii_lowercase();
    let (cask, gallons) = CASKS.iter().find(|(cask, _)| *cask == small.trim_end_matches('s'))?;
    let number = view.before.rsplit(is_space).next()?;
    if !number.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let meant = format!("{number} × {gallons} imp-gal");
    let place = &view.item.place;
    let span = place.span_of(place.at + view.before.len() - number.len(), view.column + said.len());
    Some(
        view.say(span, format!("a {cask} holds {gallons} imp-gal: `{meant}`")).fix(Fix::replace(span, meant)),
    )
}

/// What holds bottles, so many that only the brewer knows.
const CASES: &[&str] = &[
    "box",
    "boxes",
    "case",
    "cases",
    "crate",
    "crates",
    "sixpack",
    "sixpacks",
    "six-pack",
    "six-packs",
    "tray",
    "trays",
];

/// `bottle 2 cases`
pub(super) fn by_the_case(view: &View<'_, '_>) -> Option<Problem> {
    let place = &view.item.place;
    let text = place.text();
    let beer = text.get(view.item.word.word.len()..)?.trim_start_matches(is_space);
    let mut words = beer.split(is_space).filter(|word| !word.is_empty());
    let (number, case) = (words.next()?, words.next()?.trim_end_matches(','));
    let counted = number.chars().all(char::is_alphanumeric)
        && CASES.iter().any(|known| known.eq_ignore_ascii_case(case));
    counted.then(|| {
        let start = place.at + text.len() - beer.len();
        let length = beer.find(case).unwrap_or(0) + case.len();
        view.say(
            place.span_of(start, start + length),
            format!(
                "how many bottles, and of which size, are `{}`?",
                shown(beer.get(..length).unwrap_or(beer))
            ),
        )
        .help("such as `bottle 48 × 330 mL`")
    })
}
