//! Items that say the right thing as one speaks: a number as a word, a lot by what it is, parts in another order.

use super::refused::{METHODS, SAID_METHODS, SPELT_OUT, View, is_sediment};
use crate::cut::is_space;
use crate::grammar::{self, Rule};
use crate::item::shown;
use crate::words::Means;
use crate::{Fix, Problem};

/// Numbers as words.
const NUMBERS: &[(&str, &str)] = &[
    ("a", "1"),
    ("an", "1"),
    ("one", "1"),
    ("two", "2"),
    ("three", "3"),
    ("four", "4"),
    ("five", "5"),
    ("six", "6"),
    ("half", "1/2"),
];
const ORDINALS: &[(&str, &str)] =
    &[("first", "1"), ("second", "2"), ("third", "3"), ("fourth", "4"), ("fifth", "5"), ("sixth", "6")];
/// What a lot is, before its name.
const KINDS: &[&str] = &["culture", "jar", "lot", "slurry", "starter", "strain", "yeast"];
/// What may stand around a way to aerate.
const AROUND: &[&str] =
    &["a", "airstone", "an", "by", "for", "of", "pump", "pure", "stone", "the", "through", "using", "with"];
/// What may stand around a cake, and a part of it in words.
const AROUND_CAKE: &[&str] =
    &["a", "all", "entire", "from", "of", "old", "on", "onto", "the", "whole", "yeast"];
const PARTS: &[(&str, &str)] = &[("half", "1/2"), ("quarter", "1/4"), ("third", "1/3")];
/// Where a vessel's settled yeast lies.
const BOTTOM: &[&str] = &["bottom", "cone", "of", "the"];
/// What yeast is washed with where nothing else is said.
const WATER: &[&str] = &["boiled", "clean", "cold", "sterile", "water", "with"];
/// Cold places, and about how cold they are.
const COLD: &[(&str, Option<&str>)] = &[
    ("cellar", None),
    ("cold", None),
    ("cool", None),
    ("freezer", Some("-18 °C")),
    ("fridge", Some("4 °C")),
    ("refrigerator", Some("4 °C")),
];

/// What is meant where an item says it as one speaks.
pub(super) fn spoken(view: &View<'_, '_>) -> Option<Problem> {
    let words: Vec<&str> = view.rest.split(is_space).filter(|word| !word.is_empty()).take(12).collect();
    match view.item.word.means {
        Means::Pitch => cake(view, &words)
            .or_else(|| number(view, &words))
            .or_else(|| kind_before(view, &words))
            .or_else(|| sediment(view)),
        Means::Dump => cake(view, &words)
            .or_else(|| from_bottom(view))
            .or_else(|| number(view, &words))
            .or_else(|| kind_before(view, &words)),
        Means::Crash => crashed(view),
        Means::Decant => kind_before(view, &words).or_else(|| decanted(view)),
        Means::Aerate => aerated(view, &words),
        Means::Kept => cold(view, &words),
        Means::Wash => water(view),
        Means::Count => dilution(view),
        Means::Harvest => harvested(view, &words),
        Means::Generation => ordinal(view),
        _ => None,
    }
}

fn is(word: &str, known: &[&str]) -> bool {
    known.iter().any(|known| known.eq_ignore_ascii_case(word))
}

/// What to write for all behind the first word, where that reads.
fn instead(view: &View<'_, '_>, message: &str, meant: &str) -> Option<Problem> {
    grammar::read(view.item.word.rule?, meant).ok()?;
    let rest = view.rest_span();
    let whole = format!("{} {}", view.item.word.word, shown(meant));
    Some(
        view.say(rest, format!("{message}: `{whole}`"))
            .fix(Fix::replace(rest, meant).titled(format!("write `{whole}`"))),
    )
}

/// `pitch tide-a two packs`
fn number(view: &View<'_, '_>, words: &[&str]) -> Option<Problem> {
    let digits = |word: &str| {
        let number = NUMBERS.iter().find(|(said, _)| said.eq_ignore_ascii_case(word));
        number.map_or(word.to_owned(), |(_, number)| (*number).to_owned())
    };
    let (lot, amount) = words.split_first()?;
    let mut amount: Vec<String> = amount.iter().map(|word| digits(word)).collect();
    // `half a pack` is a part of what there is only where there is one.
    if amount.first().is_some_and(|first| first == "1/2") || amount.is_empty() {
        return None;
    }
    amount.insert(0, (*lot).to_owned());
    let meant = amount.join(" ");
    if meant == words.join(" ") {
        return None;
    }
    instead(view, "a number is written in digits", &meant)
}

/// `pitch half the cake of b9`, `pitch b9 1/3 cake`, `pitch onto b9`
fn cake(view: &View<'_, '_>, words: &[&str]) -> Option<Problem> {
    let at = words.iter().position(|word| word.eq_ignore_ascii_case("cake"));
    let (lot, before, more) = match (at, words) {
        (Some(at), _) => match words.get(at + 1..)? {
            [of, lot, more @ ..] if is(of, &["from", "of"]) => (lot, words.get(..at)?, more),
            more => (words.first()?, words.get(1..at)?, more),
        },
        (None, [onto, lot, more @ ..]) if is(onto, &["on", "onto"]) => (lot, &[][..], more),
        _ => return None,
    };
    let part = before.iter().filter(|word| !is(word, AROUND_CAKE)).map(|word| {
        let part = PARTS.iter().find(|(said, _)| said.eq_ignore_ascii_case(word));
        part.map_or(*word, |(_, part)| *part)
    });
    let meant: Vec<&str> = [*lot].into_iter().chain(part).chain(more.iter().copied()).collect();
    if is(lot, AROUND_CAKE) {
        return None;
    }
    instead(view, "a brew's cake goes by the brew's name", &meant.join(" "))
}

/// `dump 10 L from bottom`
fn from_bottom(view: &View<'_, '_>) -> Option<Problem> {
    let (before, bottom) = view.rest.rsplit_once("from ")?;
    let before = before.trim_end_matches(is_space);
    let mut words = bottom.split(is_space).filter(|word| !word.is_empty());
    let place = &view.item.place;
    let said = place.span_of(place.end - bottom.len() - "from ".len(), place.end);
    if !words.all(|word| is(word, BOTTOM)) {
        return None;
    }
    // Alone it would be all of the beer.
    if before.is_empty() {
        return Some(view.say(said, "how much ran off? Such as `dump 500 mL`"));
    }
    grammar::read(view.item.word.rule?, before).ok()?;
    let start = place.end - view.rest.len() + before.len();
    Some(
        view.say(said, "what is dumped runs off at the bottom, and needs no word for it")
            .fix(Fix::replace(place.span_of(start, place.end), "").titled("take it out").safe()),
    )
}

/// `crash to 2 °C`, `crash 2 °C over 2 d`
fn crashed(view: &View<'_, '_>) -> Option<Problem> {
    let (first, behind) = view.rest.split_once(is_space)?;
    let joined = is(first, &["at", "down", "to"]);
    let to = if joined { behind.trim_start_matches(is_space) } else { view.rest };
    let to = to.strip_prefix("to ").unwrap_or(to);
    let place = &view.item.place;
    if to != view.rest && grammar::read(view.item.word.rule?, to).is_ok() {
        let span = place.span_of(place.end - view.rest.len(), place.end - to.len());
        let said = view.rest.get(..view.rest.len() - to.len())?.trim_end_matches(is_space);
        return Some(
            view.say(
                place.span_of(place.end - view.rest.len(), place.end - view.rest.len() + said.len()),
                format!("how cold it gets stands alone: `crash {}`", shown(to)),
            )
            .fix(Fix::replace(span, "").titled(format!("take `{said}` out")).safe()),
        );
    }
    let slowly = to.contains(" over ") && grammar::read(Rule::set, &said_units(to)).is_ok();
    slowly.then(|| {
        let meant = format!("set {}", said_units(to));
        let message = format!("what is cooled slowly is `set`: `{}`", shown(&meant));
        view.say(place.span(), message)
            .fix(Fix::replace(place.span(), meant.clone()).titled(format!("write `{meant}`")))
    })
}

/// Words with the units among them as the log writes them.
fn said_units(text: &str) -> String {
    let words = text.split(is_space).filter(|word| !word.is_empty()).map(|word| {
        let unit = SPELT_OUT.iter().find(|(spelt, _)| spelt.eq_ignore_ascii_case(word));
        unit.map_or(word, |(_, unit)| *unit)
    });
    words.collect::<Vec<_>>().join(" ")
}

/// `rack 19 L into keg-1`
pub(super) fn racked(view: &View<'_, '_>) -> Option<Problem> {
    let word = view.odd_word();
    if view.item.word.means != Means::Rack || !is(word, &["in", "into", "onto"]) {
        return None;
    }
    let before = view.rest.get(..view.rest.len() - view.odd.len())?;
    let vessel = view.odd.get(word.len()..)?;
    grammar::read(view.item.word.rule?, &format!("{before}to{vessel}")).ok()?;
    let span = view.at_column(word.len());
    let fix = Fix::replace(span, "to");
    let message = format!("where beer is racked is written with `to`: `to{}`", shown(vessel));
    // `in` may begin what a comma is missing before.
    Some(view.say(span, message).fix(if word.eq_ignore_ascii_case("in") { fix } else { fix.safe() }))
}

/// `pitch starter tide-s2`
fn kind_before(view: &View<'_, '_>, words: &[&str]) -> Option<Problem> {
    let (first, behind) = words.split_first()?;
    let behind = behind.strip_prefix(&["of"]).unwrap_or(behind);
    if !is(first, KINDS) || behind.is_empty() {
        return None;
    }
    instead(view, "a lot goes by its name alone", &behind.join(" "))
}

/// `pitch tide-b 150 mL of slurry`
fn sediment(view: &View<'_, '_>) -> Option<Problem> {
    let said = view.odd.to_ascii_lowercase();
    let is_thick = |word: &str| is(word, &["thick", "medium", "thin"]);
    let thick = said.split(is_space).next().filter(|word| is_thick(word));
    let what = thick.map_or(&*said, |thick| said.get(thick.len()..).unwrap_or("").trim_start());
    if view.odd == view.rest || !(is_sediment(what) || thick.is_some() && what.is_empty()) {
        return None;
    }
    let place = &view.item.place;
    let span = place.span_of(place.at + view.before.len(), place.end);
    let message = match thick {
        Some(thick) => format!("how thick it is stands with its jar: `slurry 450 mL {thick}`"),
        None => format!("what is pitched needs no word: `{}`", shown(view.before)),
    };
    let fix = Fix::replace(span, "").titled("take it out");
    Some(view.say(view.at_column(view.odd.len()), message).fix(fix))
}

/// `decant tide-b half`
fn decanted(view: &View<'_, '_>) -> Option<Problem> {
    let is_share = is(view.odd_word(), &["half", "most", "a", "two", "one", "almost", "about"]);
    (is_share && view.odd != view.rest).then(|| {
        view.say(view.at_column(view.odd.len()), "how much is poured off is written as a volume")
            .help(format!("such as `{} 200 mL`", shown(view.before)))
    })
}

/// `aerate 60 s oxygen`, `aerate by shaking for 2 minutes`
fn aerated(view: &View<'_, '_>, words: &[&str]) -> Option<Problem> {
    let way = |word: &str| {
        let said = SAID_METHODS.iter().find(|(said, _)| said.eq_ignore_ascii_case(word));
        said.map(|(_, meant)| *meant)
            .or_else(|| METHODS.iter().copied().find(|way| way.eq_ignore_ascii_case(word)))
    };
    let (method, meant) = words.iter().enumerate().find_map(|(at, word)| Some((at, way(word)?)))?;
    if method == 0 {
        return None;
    }
    let behind = words.iter().enumerate().filter(|(at, word)| *at != method && !is(word, AROUND));
    let mut parts = vec![meant];
    parts.extend(behind.map(|(_, word)| *word));
    let meant = said_units(&parts.join(" "));
    instead(view, "first comes how it was aerated", &meant).filter(|_| view.odd == view.rest)
}

/// `kept in the fridge`
fn cold(view: &View<'_, '_>, words: &[&str]) -> Option<Problem> {
    let place = words.iter().find(|word| !is(word, &["at", "in", "the", "a"]))?;
    let (_, celsius) = COLD.iter().find(|(said, _)| said.eq_ignore_ascii_case(place))?;
    let rest = view.rest_span();
    let problem = view.say(rest, format!("how cold is that? `kept {}`", celsius.unwrap_or("4 °C")));
    Some(match celsius {
        Some(celsius) => problem.fix(Fix::replace(rest, *celsius).titled(format!("write `kept {celsius}`"))),
        None => problem,
    })
}

/// `wash tide-b with water`
fn water(view: &View<'_, '_>) -> Option<Problem> {
    let mut said = view.odd.split(is_space).filter(|word| !word.is_empty());
    let is_water = view.odd.to_ascii_lowercase().ends_with("water") && said.all(|word| is(word, WATER));
    let place = &view.item.place;
    let span = place.span_of(place.at + view.before.len(), place.end);
    is_water.then(|| {
        let message = "it is water unless a `ph` says that it was acid";
        view.say(view.at_column(view.odd.len()), message)
            .fix(Fix::replace(span, "").titled("take it out").safe())
    })
}

/// `generation 2nd`, `generation second`
fn ordinal(view: &View<'_, '_>) -> Option<Problem> {
    let said = view.rest.to_ascii_lowercase();
    let named = ORDINALS.iter().find(|(ordinal, _)| *ordinal == said).map(|(_, number)| *number);
    let number = said.trim_start_matches(['g', '#']);
    let number = ["st", "nd", "rd", "th"].iter().find_map(|end| number.strip_suffix(end)).unwrap_or(number);
    let number = named.unwrap_or(number);
    let is_number = !number.is_empty() && number.bytes().all(|byte| byte.is_ascii_digit());
    instead(view, "a generation is a number", number).filter(|_| is_number)
}

/// `count 5 squares 231 live 9 dead 200x`
fn dilution(view: &View<'_, '_>) -> Option<Problem> {
    let odd = view.odd.to_ascii_lowercase();
    let times = odd.strip_suffix(['x', '×']).or_else(|| odd.strip_prefix(['x', '×']))?.trim();
    let is_number = !times.is_empty() && times.bytes().all(|byte| byte.is_ascii_digit());
    let span = view.at_column(view.odd.len());
    (is_number && view.odd != view.rest).then(|| {
        let meant = format!("1:{times}");
        view.say(span, format!("a dilution is written `{meant}`")).fix(Fix::replace(span, meant))
    })
}

/// `harvest 450 mL tide-b`, `harvest tide-b`
fn harvested(view: &View<'_, '_>, words: &[&str]) -> Option<Problem> {
    match words {
        [number, unit, name, more @ ..] if number.starts_with(|c: char| c.is_ascii_digit() || c == '~') => {
            let name = if name.eq_ignore_ascii_case("of") { more.first()? } else { name };
            let more = if more.first() == Some(name) { more.get(1..)? } else { more };
            let meant = [&[*name, *number, *unit], more].concat().join(" ");
            instead(view, "a harvest's name comes before its amount", &meant)
        }
        [name] if name.starts_with(char::is_alphabetic) => Some(
            view.say(view.rest_span(), format!("how much was taken? `harvest {name} 400 mL thick`"))
                .help("a volume or a weight, and how thick it is"),
        ),
        _ => None,
    }
}
