use barm_quantity::plain;
use barm_reckoning::{Batch, Figure, Form, LotKind, Season};
use barm_zymology::starter;

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "strong-starter";
/// °P: stronger strains the yeast, weaker hardly feeds it.
const STRONG: f64 = starter::STRENGTHS.1.as_degrees();
const WEAK: f64 = starter::STRENGTHS.0.as_degrees();
/// A starter smaller than this wakes a few cells, and is meant to be thin, litres (judgement).
const FIRST_STEP: f64 = 0.25;

rule! {
    /// A starter whose wort is stronger or weaker than yeast grows well in.
    StrongStarter, "strong-starter", Note, "strong_starter.md", check, Starters
}

fn check(season: &Season, report: &mut Report) {
    let strong = season.settings.limit(NAME, STRONG);
    for batch in season.batches.iter().filter(|batch| batch.kind == LotKind::Starter) {
        let Some(wort) = &batch.wort else {
            report.silent(NAME, &batch.name, "its wort is not known");
            continue;
        };
        let degrees = wort.strength.as_degrees();
        let error = wort.strength_error();
        let (beyond, message) = if degrees > strong {
            let message = format!(
                "{} °P is strong for a starter: up to {} the yeast grows without strain",
                plain(degrees, 1),
                plain(strong, 1)
            );
            (degrees - strong, message)
        } else if degrees < WEAK && is_first_step(batch) {
            report.silent(NAME, &batch.name, "a first step may be thin: it wakes a few cells gently");
            continue;
        } else if degrees < WEAK {
            let message =
                format!("{} °P is thin for a starter: there is little in it to grow on", plain(degrees, 1));
            (WEAK - degrees, message)
        } else {
            let reason =
                format!("{} °P is within {}–{}", plain(degrees, 1), plain(WEAK, 1), plain(strong, 1));
            report.silent(NAME, &batch.name, reason);
            continue;
        };
        let chance = if beyond > error { 1.0 } else { 0.5 };
        let Some(finding) = Finding::new(NAME, Level::Note, wort.place, message).with_chance(chance) else {
            continue;
        };
        report.found(
            finding
                .about(batch.name.to_string())
                .labelled("the starter's wort")
                .noting("7–11 °P (1.028–1.044) is usual: 100 g of dry extract in a litre is about 9 °P")
                .showing(Figure::plain("strength", degrees, error, "°P", "from its gravity".to_owned())),
        );
    }
}

/// Whether it wakes few cells: those of a slant or a vial, or in so little wort.
fn is_first_step(batch: &Batch) -> bool {
    batch.pitches.first().is_some_and(|pitch| pitch.form == Form::Bank)
        || batch.wort.is_some_and(|wort| wort.volume.as_litres() < FIRST_STEP)
}
