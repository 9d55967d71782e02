use barm_reckoning::{Batch, Figure, Pitching, Reuse, Season};

use crate::registry::{Why, rule};
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
        None => Some((
            season.settings.limit(NAME, LIMIT),
            "five to ten in a brewery, fewer at home (common practice)",
        )),
    }
}

/// The oldest line in a brew that is the first past the limit, its generation and the limit; else why nothing is said.
fn judged<'b>(season: &Season, batch: &'b Batch) -> Result<(&'b Pitching, f64, f64, &'static str), Why<'b>> {
    // The generation of a brew is its yeast's: the oldest line in it.
    let pitch = batch.pitches.iter().max_by_key(|p| p.generation).ok_or("no yeast is pitched")?;
    let generation = pitch.generation.ok_or_else(|| Why::of(|| format!("{} is of unknown origin", pitch.name)))?;
    let (limit, whose) = limit(season, pitch).ok_or("the strain may be reused as often as one likes")?;
    let generation = f64::from(generation);
    // Only the first brew past the limit: its yeast came from one that was still within.
    if generation <= limit || generation > limit + 1.0 {
        return Err(Why::of(move || format!("generation {generation:.0}; the limit is {limit:.0} ({whose})")));
    }
    Ok((pitch, generation, limit, whose))
}

/// Whether it tells of a brew, with how long the line has run.
pub(crate) fn speaks(season: &Season, batch: &Batch) -> bool {
    say::level(season, NAME, Level::Note).is_some() && judged(season, batch).is_ok()
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        let (pitch, generation, limit, whose) = match judged(season, batch) {
            Ok(found) => found,
            Err(reason) => {
                report.silent(NAME, &batch.name, reason);
                continue;
            }
        };
        let message =
            format!("generation {generation:.0} since the lab, past {limit:.0}: time for fresh yeast");
        let mut finding = Finding::new(NAME, Level::Note, pitch.place, message)
            .about(batch.name.to_string())
            .labelled(format!("{} is generation {generation:.0}", pitch.name));
        if let Some(place) = pitch.since {
            finding = finding.pointing(place, "harvested here");
        }
        finding = finding.noting(format!("the limit is {limit:.0}: {whose}"));
        if let Some(began) = pitch.history.line {
            let days = pitch.at.hours_since(began) / 24.0;
            finding = finding
                .noting(format!("its line has been pitched on for {days:.0} days, since {}", began.date()));
        }
        report.found(
            finding
                .noting("a count, a clean plate and a beer that tastes as it should are better judges than a number")
                .noting("next time: a new pack, or a jar of an earlier generation")
                .showing(Figure::plain("generation", generation, 0.0, "", "counted from the lab".to_owned())),
        );
    }
}
