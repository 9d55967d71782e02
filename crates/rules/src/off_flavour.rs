use barm_quantity::significant;
use barm_reckoning::{Batch, Figure, Flavour as Made, Place, Season};
use barm_syntax::ast::Kind;
use barm_zymology::flavour::Note;

use crate::causes::{self, Cause, Look};
use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "off-flavour";
const MOST_WORDS: usize = 100;

rule! {
    /// A tasting word that yeast causes, linked to what in this brew causes it.
    OffFlavour, "off-flavour", Note, "off_flavour.md", check
}

/// A flavour that comes of yeast.
struct Flavour {
    /// What tasters call it.
    words: &'static [&'static str],
    note: Note,
    /// A beer called `good` may be meant to have it.
    may_be_meant: bool,
    /// What brings it, the likeliest first.
    looks: &'static [Look],
    what: &'static str,
    advice: &'static str,
}

const FLAVOURS: &[Flavour] = &[
    Flavour {
        words: &["butter", "buttery", "butterscotch", "diacetyl", "vdk", "popcorn"],
        note: Note::Butter,
        may_be_meant: false,
        looks: &[
            causes::no_rest,
            causes::taken_early,
            causes::cooled_fast,
            causes::too_cold,
            causes::few_cells,
            causes::tired,
            causes::settles_early,
            causes::infected,
        ],
        what: "diacetyl: made in the first days, and taken up again by live yeast that is warm enough",
        advice: "two to five gravity points above the end let it rise to 18–20 °C for two days, then taste a warmed sample \
                 (`test vdk pass`) before cooling",
    },
    Flavour {
        words: &["green apple", "green apples", "acetaldehyde", "apple skin", "bruised apple"],
        note: Note::GreenApple,
        may_be_meant: false,
        looks: &[
            causes::too_warm,
            causes::taken_early,
            causes::too_cold,
            causes::little_oxygen,
            causes::tired,
            causes::few_cells,
        ],
        what: "acetaldehyde: beer taken off its yeast too soon, kept cold, or let run warm",
        advice: "leave it on its yeast until its gravity has stood still for two days, and keep the first three days inside the \
                 range",
    },
    Flavour {
        words: &[
            "solvent", "solventy", "nail varnish", "nail polish", "acetone", "paint thinner", "fusel", "fusels", "hot alcohol",
            "boozy", "ethyl acetate",
        ],
        note: Note::Solvent,
        may_be_meant: false,
        looks: &[causes::too_warm, causes::strong, causes::little_oxygen, causes::infected, causes::goes_on],
        what: "ethyl acetate and higher alcohols: a warm start, a strong wort, little oxygen, or wild yeast",
        advice: "pitch towards the cool end of the range and hold it there for three days; give strong wort its oxygen",
    },
    Flavour {
        words: &[
            "banana", "bananas", "pear drops", "pear drop", "bubble gum", "estery", "esters", "fruity", "isoamyl acetate",
        ],
        note: Note::Fruit,
        may_be_meant: true,
        looks: &[causes::too_warm, causes::strong, causes::little_oxygen],
        what: "esters: the strain first of all, then warmth, strong wort and little oxygen",
        advice: "a cleaner strain, or two degrees less in the first three days",
    },
    Flavour {
        words: &["rose", "roses", "rosewater"],
        note: Note::Rose,
        may_be_meant: true,
        looks: &[causes::too_warm],
        what: "phenylethanol and its ester: the strain, and warmth",
        advice: "a cleaner strain, or two degrees less in the first three days",
    },
    Flavour {
        words: &["clove", "cloves", "phenolic", "phenols", "medicinal", "smoky", "4vg"],
        note: Note::Clove,
        may_be_meant: true,
        looks: &[causes::infected, causes::goes_on],
        what: "4-vinylguaiacol: a strain that makes it, or wild yeast where the strain does not",
        advice: "from a clean strain it is a sign of wild yeast: keep its yeast out of other beers, and clean the vessel",
    },
    Flavour {
        words: &[
            "sulphur", "sulfur", "sulphury", "sulfury", "sulphurous", "rotten egg", "rotten eggs", "eggs", "eggy", "struck match",
            "h2s",
        ],
        note: Note::RottenEgg,
        may_be_meant: false,
        looks: &[causes::few_cells, causes::tired, causes::little_oxygen, causes::too_cold],
        what: "hydrogen sulphide: the strain, a young lager, or yeast under stress; time and warmth drive it off",
        advice: "give it another week or two; next time more live yeast and more oxygen",
    },
    Flavour {
        words: &["vinegar", "acetic", "sour", "tart"],
        note: Note::Vinegar,
        may_be_meant: true,
        looks: &[causes::infected, causes::goes_on],
        what: "acids that brewing yeast hardly makes: bacteria or wild yeast, and air",
        advice: "keep its yeast out of other beers, and clean the vessel before the next",
    },
    Flavour {
        words: &["goat", "goaty", "soapy", "waxy", "meaty", "brothy", "autolysis", "autolysed", "rubbery"],
        note: Note::Goat,
        may_be_meant: false,
        looks: &[causes::long_on_yeast, causes::tired, causes::cooled_fast],
        what: "fatty acids from yeast that dies in its beer",
        advice: "take it off its yeast within a few weeks, and pitch younger yeast",
    },
];

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        let tasted = tasted(season, batch);
        if tasted.is_empty() {
            report.silent(NAME, &batch.name, "no `taste` stands in its lines");
            continue;
        }
        let good = tasted.iter().any(|(_, words)| words == "good");
        for (place, words) in &tasted {
            let Some(flavour) = FLAVOURS.iter().find(|flavour| says(flavour.words, words)) else {
                report.silent(NAME, &batch.name, || format!("{words}: no off-flavour that it knows"));
                continue;
            };
            match linked(season, batch, flavour, (*place, words), good) {
                Ok(finding) => report.found(finding),
                Err(why) => report.silent(NAME, &batch.name, || format!("{words}: {why}")),
            }
        }
    }
}

/// The words of its `taste` lines, in small letters, and where each stands; no more than are told of one file.
pub(crate) fn tasted(season: &Season, batch: &Batch) -> Vec<(Place, String)> {
    let Some((block, start)) = season.block(batch.block) else { return Vec::new() };
    let place = |span: &barm_syntax::Span| Place { file: batch.block.file, span: span.shifted(start) };
    let tastes = block.statements.iter().filter_map(|s| match &s.kind {
        Kind::Taste(words) => Some(words),
        _ => None,
    });
    tastes
        .flat_map(|words| words.iter())
        .take(MOST_WORDS)
        .map(|span| (place(span), season.text(place(span)).trim().to_lowercase()))
        .collect()
}

/// Whether a taster's words name a flavour, by one of its words, and do not say that it is missing.
pub(crate) fn says(flavour: &[&str], said: &str) -> bool {
    let words: Vec<&str> = said.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect();
    if words.iter().any(|w| ["no", "not", "without", "free", "never", "isn"].contains(w)) {
        return false;
    }
    let said = format!(" {} ", words.join(" "));
    flavour.iter().any(|word| said.contains(&format!(" {word} ")))
}

fn linked(
    season: &Season,
    batch: &Batch,
    flavour: &Flavour,
    (place, words): (Place, &str),
    good: bool,
) -> Result<Finding, &'static str> {
    if good && flavour.may_be_meant {
        return Err("the beer is called good");
    }
    let made = made(batch, flavour.note);
    let mut found: Vec<Cause> = made.iter().map(|made| by_strain(made)).collect();
    found.extend(causes::shown(flavour.looks, season, batch));
    if found.is_empty() {
        return Err("nothing in this log tells why");
    }
    let message = format!("{words}: {}", causes::phrase(&found));
    let finding = Finding::new(NAME, Level::Note, place, message).about(batch.name.to_string());
    let mut finding = causes::pointed(finding, &found)
        .noting(flavour.what)
        .noting("what this log shows of its usual causes; it proves none")
        .noting(flavour.advice);
    if let Some(units) = made.and_then(|made| made.units.as_ref()) {
        let from = "level over threshold, shares by live cells; people differ twentyfold".to_owned();
        finding = finding.showing(Figure::of("flavour-units", units, 1.0, "", from));
    }
    Ok(finding)
}

/// What the strains of a brew are said to make of a flavour.
fn made(batch: &Batch, note: Note) -> Option<&Made> {
    batch.blend.as_ref()?.flavours.iter().find(|made| made.word == note.name())
}

fn by_strain(made: &Made) -> Cause {
    let strains = made.strains.join(" and ");
    let makes = if made.strains.len() > 1 { "make" } else { "makes" };
    let text = match (&made.units, made.noticeable) {
        (Some(units), Some(noticeable)) => format!(
            "{strains} {makes} it, about {} flavour units, {}",
            significant(units.median(), 2),
            noticeable.words()
        ),
        _ => format!("{strains} {makes} it"),
    };
    Cause { text, place: None }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_found_alone_and_not_where_it_is_missing() {
        let of = |said: &str| FLAVOURS.iter().find(|f| says(f.words, said)).map(|f| f.note);
        assert_eq!(of("a little butter"), Some(Note::Butter));
        assert_eq!(of("green-apple"), Some(Note::GreenApple));
        assert_eq!(of("rotten egg"), Some(Note::RottenEgg));
        assert_eq!(of("butternut"), None);
        assert_eq!(of("no butter"), None);
        assert_eq!(of("free of diacetyl"), None);
        assert_eq!(of("bread crust"), None);
    }

    #[test]
    fn every_flavour_has_words_and_causes_of_its_own() {
        let mut all: Vec<&str> = FLAVOURS.iter().flat_map(|f| f.words).copied().collect();
        let count = all.len();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), count);
        assert!(FLAVOURS.iter().all(|f| !f.looks.is_empty()));
    }
}
