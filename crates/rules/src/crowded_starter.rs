use barm_quantity::Estimate;
use barm_reckoning::{Batch, Figure, LotKind, Season, advice};
use barm_zymology::starter;

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, say};

const NAME: &str = "crowded-starter";
/// Millions of live cells in a millilitre above which little grows, above which nothing does, and at which it grows well.
const LITTLE: f64 = starter::CROWDED.as_millions();
const NOTHING: f64 = starter::FULL.as_millions();
const GOOD: f64 = starter::ROOMY.as_millions();

rule! {
    /// A starter with so much yeast in it that it hardly grows.
    CrowdedStarter, "crowded-starter", Note, "crowded_starter.md", check, Starters
}

fn check(season: &Season, report: &mut Report) {
    let limit = season.settings.limit(NAME, LITTLE);
    for batch in season.batches.iter().filter(|batch| batch.kind == LotKind::Starter) {
        match batch.crowding() {
            Some(crowding) => match judged(season, batch, &crowding.scaled(1e-6), limit) {
                Ok(finding) => report.found(finding),
                Err(reason) => report.silent(NAME, &batch.name, reason),
            },
            None => report.silent(NAME, &batch.name, "its wort, or the cells pitched into it, are not known"),
        }
    }
}

fn judged<'c>(season: &Season, batch: &Batch, crowding: &'c Estimate, limit: f64) -> Result<Finding, Why<'c>> {
    let range = || say::range(crowding);
    let chance = 1.0 - crowding.chance_below(&Estimate::exact(limit));
    let first = batch.pitches.first().ok_or("nothing is pitched into it")?;
    let message = || {
        let live = format!("{} M/mL of live yeast in this starter", range());
        if crowding.median() > NOTHING {
            format!("{live}: above {NOTHING:.0} it wakes and does not grow")
        } else {
            format!("{live}: above {limit:.0} little grows")
        }
    };
    let mut finding = Finding::likely(NAME, Level::Note, first.place, chance, message)
        .ok_or_else(|| Why::of(move || format!("{} M/mL; the limit is {limit:.0}", say::range(crowding))))?
        .about(batch.name.to_string())
        .labelled("the yeast goes in here");
    if let Some(wort) = &batch.wort {
        let litres = wort.volume.as_litres() * crowding.median() / GOOD;
        let wanted = advice::volume(litres, season.speaks_us(wort.place));
        finding = finding
            .pointing(wort.place, "into so much wort")
            .noting(format!("next time: less of the yeast, or about {wanted} of wort for as much"));
    }
    Ok(finding
        .noting("to wake old yeast a small wort is enough: if that is what it is for, accept it")
        .showing(Figure::of(
            "crowding",
            crowding,
            1.0,
            "M/mL",
            "live cells by the volume of its wort".to_owned(),
        )))
}
