use barm_reckoning::{Figure, Pitching, Reuse, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "late-generation";
const LIMIT: f64 = 10.0;

rule! {
    /// A culture reused more often than is wise, told at the first brew that crosses the limit.
    LateGeneration, "late-generation", Note, "late_generation.md", check
}

/// The limit for a yeast, and whose it is. `None`: as often as one likes.
fn limit(season: &Season, pitch: &Pitching) -> Option<(f64, &'static str)> {
    match pitch.traits.reuse {
        Some(Reuse::Any) => None,
        Some(Reuse::Generations(limit)) => Some((limit, "the strain's `reuse`")),
        None => Some((season.settings.limit(NAME, LIMIT), "five to ten in a brewery, fewer at home (common practice)")),
    }
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        // The generation of a brew is its yeast's: the oldest line in it.
        let Some(pitch) = batch.pitches.iter().max_by_key(|p| p.generation) else {
            report.silent(NAME, &batch.name, "no yeast is pitched");
            continue;
        };
        let Some(generation) = pitch.generation else {
            report.silent(NAME, &batch.name, format!("{} is of unknown origin", pitch.name));
            continue;
        };
        let Some((limit, whose)) = limit(season, pitch) else {
            report.silent(NAME, &batch.name, "the strain may be reused as often as one likes");
            continue;
        };
        let generation = f64::from(generation);
        // Only the first brew past the limit: its yeast came from one that was still within.
        if generation <= limit || generation > limit + 1.0 {
            report.silent(NAME, &batch.name, format!("generation {generation:.0}; the limit is {limit:.0} ({whose})"));
            continue;
        }
        let message = format!("generation {generation:.0} since the lab, past {limit:.0}: time for fresh yeast");
        let mut finding = Finding::new(NAME, Level::Note, pitch.place, message)
            .about(batch.name.to_string())
            .labelled(format!("{} is generation {generation:.0}", pitch.name));
        if let Some(place) = pitch.since {
            finding = finding.pointing(place, "harvested here");
        }
        report.found(
            finding
                .noting(format!("the limit is {limit:.0}: {whose}"))
                .noting("a count, a clean plate and a beer that tastes as it should are better judges than a number")
                .noting("next time: a new pack, or a jar of an earlier generation")
                .showing(Figure::plain("generation", generation, 0.0, "", "counted from the lab".to_owned())),
        );
    }
}
