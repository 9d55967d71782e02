//! How far a line has come in its form, and what may follow there.
//!
//! A form is the reference's notation: `harvest NAME AMOUNT [thin|medium|thick] [from top|bottom] [in VESSEL]`. Words as
//! `from` begin a part of their own; what stands before the first of them comes first, and the parts in any order.

use barm_quantity::Unit;

/// Words that begin a part of a form.
pub(crate) const BEGIN: [&str; 11] =
    ["at", "columns", "for", "from", "in", "of", "over", "ph", "rated", "to", "with"];
/// What joins two numbers, or a count with what is counted.
pub(crate) const JOINS: [&str; 8] = ["±", "+-", "..", "–", "×", "x", "X", "*"];

/// What may be written in a place of a form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Blank<'f> {
    /// This word.
    Word(&'f str),
    /// What its name says: `LOT`, `TEMPERATURE`; behind an `N` stands what it counts.
    Named(&'f str, Option<&'f str>),
}

/// What may come next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Next<'f> {
    Blank(Blank<'f>),
    /// The unit of a number of such a name, or what it counts.
    Unit(&'f str, Option<&'f str>),
}

/// A place of a form.
#[derive(Debug, Default)]
struct Slot<'f> {
    may_lack: bool,
    /// More of the same may follow.
    more: bool,
    takes: Vec<Blank<'f>>,
}

impl Slot<'_> {
    fn takes_number(&self) -> bool {
        self.takes.iter().any(|blank| matches!(blank, Blank::Named(name, _) if !is_name(name)))
    }

    fn takes_word(&self, word: &str) -> bool {
        self.takes.iter().any(|blank| match blank {
            Blank::Word(it) => it.eq_ignore_ascii_case(word),
            Blank::Named(name, _) => is_name(name),
        })
    }
}

/// Whether something is filled in that is no number.
fn is_name(name: &str) -> bool {
    matches!(name, "LOT" | "NAME" | "VESSEL" | "BREW" | "WHAT" | "FLAVOUR" | "COLUMN" | "WORDS")
        || name.starts_with('"')
}

/// A part of a form: what stands first, or behind a word of its own.
#[derive(Debug, Default)]
struct Part<'f> {
    word: Option<&'f str>,
    /// It stands in place of another.
    instead: bool,
    /// In so many brackets.
    depth: usize,
    slots: Vec<Slot<'f>>,
    /// How many of its places the line has passed.
    passed: usize,
}

/// The parts of a form.
fn parts(form: &str) -> Vec<Part<'_>> {
    let mut parts = vec![Part::default()];
    let (mut at, mut depth, mut or, mut anew) = (0, 0_usize, false, false);
    let mut tokens = form.split(' ').skip(1);
    while let Some(token) = tokens.next() {
        if token == "(a" {
            // An aside: "(a culture)".
            tokens.next();
            continue;
        }
        depth += token.matches('[').count();
        let within = depth;
        depth = depth.saturating_sub(token.matches(']').count());
        let word = token.trim_matches(['[', ']', '(', ')', ',']);
        match word {
            "…" => {
                if let Some(slot) = parts.get_mut(at).and_then(|part| part.slots.last_mut()) {
                    slot.more = true;
                }
            }
            // It says nothing.
            "of" if token == "[of]" => {}
            // `(or …` says the whole of it otherwise.
            "or" if token.starts_with('(') => (or, anew) = (true, true),
            "or" => or = true,
            _ if BEGIN.contains(&word) => match parts.iter().position(|part| part.word == Some(word)) {
                Some(again) => (at, or) = (again, true),
                None => {
                    at = parts.len();
                    parts.push(Part {
                        word: Some(word),
                        instead: std::mem::take(&mut or),
                        depth: within,
                        ..Part::default()
                    });
                }
            },
            _ => {
                let Some(part) = parts.get_mut(at) else { continue };
                let may_lack = within > part.depth;
                let last = if std::mem::take(&mut anew) {
                    part.slots.iter_mut().find(|slot| slot.takes_number())
                } else {
                    part.slots.last_mut()
                };
                match last {
                    Some(Slot { takes, .. }) if matches!(takes.last(), Some(Blank::Named("N", None))) => {
                        takes.pop();
                        takes.push(Blank::Named("N", Some(word)));
                    }
                    Some(slot) if or => slot.takes.extend(blanks(word)),
                    _ => part.slots.push(Slot { may_lack, more: false, takes: blanks(word).collect() }),
                }
                or = false;
            }
        }
    }
    parts
}

fn blanks(token: &str) -> impl Iterator<Item = Blank<'_>> {
    let is_named = token.starts_with(|c: char| c.is_ascii_uppercase() || c.is_ascii_digit() || c == '"');
    token.split('|').map(move |word| if is_named { Blank::Named(word, None) } else { Blank::Word(word) })
}

/// What may follow in a form behind the words of a line, its first word aside.
pub(crate) fn next<'f>(form: &'f str, said: &[&str]) -> Vec<Next<'f>> {
    let mut parts = parts(form);
    let mut here = 0;
    // The places of a number that has no unit yet; whether another number belongs to it.
    let mut number: Option<Vec<Blank<'f>>> = None;
    let mut joins = false;
    let mut begun: Vec<usize> = Vec::new();
    for word in said {
        let begins = parts.iter().position(|part| part.word.is_some_and(|it| it.eq_ignore_ascii_case(word)));
        let Some(part) = parts.get_mut(here) else { break };
        let mut rest = part.slots.get(part.passed..).unwrap_or(&[]).iter();
        let counted =
            |blank: &Blank<'_>| matches!(blank, Blank::Named(_, Some(it)) if it.eq_ignore_ascii_case(word));
        if is_number(word) {
            // `41+38+50` counts cells, square by square.
            let squares = word.contains('+');
            let fits = |slot: &Slot<'_>| {
                slot.takes_number() && (!squares || slot.takes.contains(&Blank::Named("N", Some("live"))))
            };
            if !std::mem::take(&mut joins)
                && let Some(skipped) = rest.position(fits)
            {
                part.passed += skipped + 1;
            }
            let slot = part.passed.checked_sub(1).and_then(|last| part.slots.get(last));
            number = slot.filter(|_| lacks_unit(word)).map(|slot| slot.takes.clone());
        } else if number.as_ref().is_some_and(|takes| takes.iter().any(counted)) {
            number = None;
        } else if JOINS.contains(word) && number.is_some() {
            joins = true;
        } else if number.is_some() && (Unit::read(word).is_some() || is_container(word)) {
            // Of one thing nobody says how many there are: it is the size of it that was said.
            if number.take().is_some_and(|takes| takes.contains(&Blank::Named("N", Some("×")))) {
                part.passed += 1;
            }
        } else if let Some(begins) = begins {
            (here, number) = (begins, None);
            begun.push(begins);
        } else {
            number = None;
            if let Some(skipped) = rest.position(|slot| slot.takes_word(word)) {
                part.passed += skipped;
                part.passed += usize::from(part.slots.get(part.passed).is_some_and(|slot| !slot.more));
            }
        }
    }
    let mut out = Vec::new();
    if joins {
        return out;
    }
    for blank in number.iter().flatten() {
        if let Blank::Named(name, counts) = blank {
            out.push(Next::Unit(name, *counts));
        }
    }
    let stands_alone = |blank: &Blank<'_>| match blank {
        Blank::Named("N", counts) => counts.is_none(),
        Blank::Named(name, _) => matches!(*name, "GRAVITY" | "VALUE" | "DATE"),
        Blank::Word(_) => false,
    };
    if number.is_some_and(|takes| !takes.iter().any(stands_alone)) {
        return out;
    }
    for part in [here, 0].into_iter().take(if here == 0 { 1 } else { 2 }).filter_map(|at| parts.get(at)) {
        for slot in part.slots.iter().skip(part.passed) {
            out.extend(slot.takes.iter().copied().map(Next::Blank));
            if !slot.may_lack {
                return out;
            }
        }
    }
    let one_of_them = parts.iter().any(|part| part.instead);
    if !one_of_them || begun.is_empty() {
        let others = parts.iter().enumerate().filter(|(at, _)| !begun.contains(at));
        out.extend(others.filter_map(|(_, part)| Some(Next::Blank(Blank::Word(part.word?)))));
    }
    out
}

/// Whether a word begins as numbers do.
fn is_number(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '~' | '?' | '-' | '−'))
        || word.eq_ignore_ascii_case("all")
        || word.eq_ignore_ascii_case("rest")
}

/// Whether a number has no unit, and is none that goes without: `1/4`, `?`.
fn lacks_unit(word: &str) -> bool {
    word.ends_with(|c: char| c.is_ascii_digit()) && !word.contains(['/', ':'])
}

/// What yeast is counted in.
pub(crate) const CONTAINERS: [&str; 4] = ["packs", "sachets", "vials", "loops"];

fn is_container(word: &str) -> bool {
    CONTAINERS
        .iter()
        .any(|it| it.eq_ignore_ascii_case(word) || it.trim_end_matches('s').eq_ignore_ascii_case(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_form_is_made_of_what_is_known() {
        let mut names: Vec<&str> = Vec::new();
        for entry in barm_syntax::first_words(barm_syntax::ast::BlockKind::Unknown) {
            for blank in parts(entry.form).iter().flat_map(|part| &part.slots).flat_map(|slot| &slot.takes) {
                match blank {
                    Blank::Word(word) => {
                        assert!(!word.contains(['[', ']', '(', ')']), "{word} in {}", entry.form)
                    }
                    Blank::Named(name, _) => names.push(name),
                }
            }
        }
        names.sort_unstable();
        names.dedup();
        assert_eq!(
            names.join(" "),
            "\"FILE.csv\" 1:N AMOUNT BREW CARBONATION CELLS CELLS/g CO2 COLUMN DATE DENSITY DURATION FLAVOUR FLOW GRAVITY IBU LOT MASS \
             MONTH N NAME PRESSURE RATE TEMPERATURE VALUE VESSEL VOLUME WHAT WORDS"
        );
    }
}
