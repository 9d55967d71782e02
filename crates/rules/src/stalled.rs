use barm_reckoning::{Batch, EndFrom, FermentationFigures, Figure, GravityReading, Scale, Season, still_since, advice};
use barm_syntax::ast::Organism;
use barm_zymology::fermentation::ATTENUATES;

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, causes, say};

const NAME: &str = "stalled";
/// Days without a change of gravity; a lager is given five for these three.
const LIMIT: f64 = 3.0;
const LAGER: f64 = 5.0 / 3.0;
/// A gravity is unchanged within this.
const UNCHANGED: f64 = 0.001;
/// Points of attenuation below the low end of its yeast.
const BELOW: f64 = 0.05;
/// The same below what yeast usually reaches, where nobody says how far this one goes.
const FAR_BELOW: f64 = 2.0 * BELOW;

rule! {
    /// The gravity stands still well above where its yeast should take it.
    Stalled, "stalled", Warning, "stalled.md", check
}

fn check(season: &Season, report: &mut Report) {
    let days = season.settings.limit(NAME, LIMIT);
    for batch in say::brews(season) {
        let outcome = stands(batch, days).and_then(|stands| {
            let reached = stands.reached * 100.0;
            Finding::likely(NAME, Level::Warning, stands.last.place, stands.chance, || stands.message(season))
                .map(|finding| explained(season, batch, &stands, finding))
                .ok_or_else(|| {
                    Why::of(move || {
                        format!("it stands still at {reached:.0} % attenuation, and its yeast reaches that")
                    })
                })
        });
        match outcome {
            Ok(finding) => report.found(finding),
            Err(why) => report.silent(NAME, &batch.name, why),
        }
    }
}

/// A beer whose gravity stands still.
struct Stands<'a> {
    found: &'a FermentationFigures,
    first: &'a GravityReading,
    last: &'a GravityReading,
    reached: f64,
    error: f64,
    /// What its yeast reaches with what it was given, least and most.
    yeast: (f64, f64),
    chance: f64,
}

impl Stands<'_> {
    fn message(&self, season: &Season) -> String {
        format!(
            "{} for {}, {:.0} % attenuation where {} {:.0}–{:.0} %",
            Scale::of(season, Some(self.last.place)).gravity(self.last.gravity),
            advice::days(self.last.at.hours_since(self.first.at) / 24.0),
            self.reached * 100.0,
            if self.found.attenuates.is_some() { "its yeast reaches" } else { "yeast usually reaches" },
            self.yeast.0 * 100.0,
            self.yeast.1 * 100.0
        )
    }
}

fn stands(batch: &Batch, days: f64) -> Result<Stands<'_>, Why<'static>> {
    let found = batch.fermentation.as_ref().ok_or("no yeast is pitched")?;
    if matches!(batch.traits.organism, Some(Organism::Wild | Organism::Bacteria)) {
        return Err("wild yeast and bacteria take their time".into());
    }
    let days = if batch.traits.organism == Some(Organism::Lager) { days * LAGER } else { days };
    let last = batch.last_gravity().ok_or("no gravity is on record")?;
    let first = still_since(&batch.gravities, UNCHANGED, days * 24.0)
        .ok_or_else(|| Why::of(move || format!("no two readings {} apart agree", advice::days_to_a_tenth(days))))?;
    if !found.extract_is_known(last.at) {
        return Err("its extract is not known".into());
    }
    let given = found.given_by((last.at, last.place)).ok_or("no `wort` stands in its lines")?;
    if batch.record.stabilised.is_some_and(|at| at <= first.at) {
        return Err("it was stabilised: what was added holds its yeast back".into());
    }
    if given.from > first.at {
        return Err("it was fed after the first of them".into());
    }
    if let Some(end) = found.expected(last.at).filter(|end| end.from == EndFrom::Forced) {
        let end = end.gravity.as_specific();
        if last.gravity.as_specific() - end <= 2.0 * UNCHANGED {
            return Err(Why::of(move || format!("`test forced` ended at {end:.3}: it can go no further")));
        }
    }
    let (low, high) = found.attenuates.unwrap_or_else(|| {
        let [least, _, most] = ATTENUATES.map(barm_quantity::Share::as_fraction);
        (least, most)
    });
    let reached = found.attenuation(last).ok_or("no `wort` stands in its lines")?;
    let error = found.attenuation_error(last, batch.wort.as_ref());
    let yeast = (given.attenuation(low), given.attenuation(high));
    let below = if found.attenuates.is_some() { BELOW } else { FAR_BELOW };
    let chance = say::chance_over(yeast.0 - reached, error, below);
    Ok(Stands { found, first, last, reached, error, yeast, chance })
}

fn explained(season: &Season, batch: &Batch, stands: &Stands<'_>, finding: Finding) -> Finding {
    let mut finding = finding
        .about(batch.name.to_string())
        .labelled("unchanged")
        .pointing(stands.first.place, "as low here already");
    let mut causes = causes::shown(causes::WEAK, season, batch);
    causes.extend(causes::settles_early(season, batch));
    causes.extend(causes::chilled(stands.found, stands.last));
    causes.extend(causes::cold_between(season, batch, (stands.first.at, stands.last.at)));
    finding = causes::told(finding, &causes);
    if let Some(end) = stands.found.expected(stands.last.at) {
        finding = finding.noting(format!(
            "it was expected to come down to about {} ({})",
            Scale::of(season, Some(stands.last.place)).gravity(end.gravity),
            end.from
        ));
    }
    let last_word = batch.packages.is_empty();
    if last_word {
        finding = finding
            .noting("now: rouse the yeast and warm it by a few degrees; if that does nothing, pitch fresh yeast at high krausen")
            .noting("do not put it in glass before it has moved on, or a `test forced` shows that it is done");
    }
    finding
        .noting("a mash that left much dextrin ends higher: a `test forced` tells that apart")
        .showing(Figure::plain(
            "attenuation",
            stands.reached * 100.0,
            stands.error * 100.0,
            "%",
            "fall of the gravity by the gravity of all that it was given".to_owned(),
        ))
}
