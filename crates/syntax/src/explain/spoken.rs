//! Items that say the right thing as one speaks: a number as a word, a lot by what it is, parts in another order.

use super::refused::{View, is_sediment};
use crate::cut::is_space;
use crate::grammar;
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
/// What a lot is, before its name.
const KINDS: &[&str] = &["culture", "jar", "lot", "slurry", "starter", "strain", "yeast"];
/// The ways to aerate, and what may stand around them.
const METHODS: &[&str] = &["shake", "splash", "air", "oxygen"];
const AROUND: &[&str] = &["by", "for", "of", "pure", "through", "using", "with"];
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
        Means::Pitch => number(view, &words).or_else(|| kind_before(view, &words)).or_else(|| sediment(view)),
        Means::Dump => number(view, &words).or_else(|| kind_before(view, &words)),
        Means::Decant => kind_before(view, &words).or_else(|| decanted(view)),
        Means::Aerate => aerated(view, &words),
        Means::Kept => cold(view, &words),
        Means::Wash => water(view),
        Means::Count => dilution(view),
        Means::Harvest => harvested(view, &words),
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

/// `aerate 60 s oxygen`, `aerate with pure oxygen for 60 s`
fn aerated(view: &View<'_, '_>, words: &[&str]) -> Option<Problem> {
    let method = words.iter().position(|word| is(word, METHODS))?;
    let behind = words.iter().enumerate().filter(|(at, word)| *at != method && !is(word, AROUND));
    let mut meant = vec![*words.get(method)?];
    meant.extend(behind.map(|(_, word)| *word));
    instead(view, "first comes how it was aerated", &meant.join(" ")).filter(|_| view.odd == view.rest)
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
