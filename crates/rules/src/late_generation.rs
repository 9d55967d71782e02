use std::collections::HashSet;

use barm_reckoning::{Batch, Figure, Form, LotId, LotKind, Pitching, Reuse, Season, advice};

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, say};

const NAME: &str = "late-generation";
const LIMIT: f64 = 10.0;

rule! {
    /// A culture reused more often than is wise, told at the first brew of a line that is past the limit.
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

/// A brew whose yeast is past the limit.
struct Past<'b> {
    /// The oldest line in it.
    pitch: &'b Pitching,
    generation: f64,
    limit: f64,
    whose: &'static str,
}

/// The oldest line in a brew, where it is past the limit; else why nothing is said.
fn past<'b>(season: &Season, batch: &'b Batch) -> Result<Past<'b>, Why<'b>> {
    // The generation of a brew is its yeast's: the oldest line in it.
    let pitch = batch.pitches.iter().max_by_key(|p| p.generation).ok_or("no yeast is pitched")?;
    let generation = pitch.generation.ok_or_else(|| Why::of(|| format!("{} is of unknown origin", pitch.name)))?;
    let (limit, whose) = limit(season, pitch).ok_or("the strain may be reused as often as one likes")?;
    let generation = f64::from(generation);
    if generation <= limit {
        return Err(Why::of(move || format!("generation {generation:.0}; the limit is {limit:.0} ({whose})")));
    }
    Ok(Past { pitch, generation, limit, whose })
}

/// Where yeast of a generation comes from: up through starters and divided jars to a pack, a bought jar, what was harvested
/// of a brew, or a cake.
fn origin(season: &Season, mut lot: LotId) -> LotId {
    // Lots that go round in a circle are told elsewhere.
    for _ in 0..season.names.lots.len() {
        let above = match season.batch(lot) {
            Some(batch) if batch.kind == LotKind::Starter => {
                batch.pitches.iter().max_by_key(|p| p.generation).map(|pitch| pitch.lot)
            }
            Some(_) => None,
            None => season.lot(lot).and_then(|lot| lot.taken_from).filter(|from| !is_brew(season, *from)),
        };
        let Some(above) = above else { break };
        lot = above;
    }
    lot
}

fn is_brew(season: &Season, lot: LotId) -> bool {
    season.lot(lot).is_some_and(|lot| lot.kind == LotKind::Brew)
}

/// Each brew in order of time, and whether it is the first of its line on record that is past the limit.
fn judged(season: &Season) -> impl Iterator<Item = (&Batch, Result<Past<'_>, Why<'_>>)> {
    let mut told: HashSet<LotId> = HashSet::new();
    say::brews_in_time(season).into_iter().map(move |batch| {
        let first = past(season, batch).and_then(|past| {
            let origin = origin(season, past.pitch.lot);
            let from = season.lot(origin).and_then(|lot| lot.taken_from).unwrap_or(origin);
            let known = told.contains(&origin) || told.contains(&from);
            told.extend([batch.lot, origin]);
            if known {
                let generation = past.generation;
                return Err(Why::of(move || format!("generation {generation:.0}, told at an earlier brew")));
            }
            Ok(past)
        });
        (batch, first)
    })
}

/// The brews that it tells of, with how long their line has run.
pub(crate) fn spoken(season: &Season) -> HashSet<LotId> {
    if say::level(season, NAME, Level::Note).is_none() {
        return HashSet::new();
    }
    judged(season).filter(|(_, found)| found.is_ok()).map(|(batch, _)| batch.lot).collect()
}

fn check(season: &Season, report: &mut Report) {
    for (batch, found) in judged(season) {
        let Past { pitch, generation, limit, whose } = match found {
            Ok(past) => past,
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
            finding = finding.pointing(
                place,
                match pitch.form {
                    // Nobody harvested it: it lay where its own yeast went in.
                    Form::Cake => "its beer was pitched here",
                    Form::Starter => "its starter was begun here",
                    _ => "harvested here",
                },
            );
        }
        finding = finding.noting(format!("the limit is {limit:.0}: {whose}"));
        if let Some(began) = pitch.history.line {
            let days = pitch.at.hours_since(began) / 24.0;
            finding = finding
                .noting(format!("its line has been pitched on for {}, since {}", advice::days(days), began.date()));
        }
        report.found(
            finding
                .noting("a count, a clean plate and a beer that tastes as it should are better judges than a number")
                .noting("next time: a new pack, or a jar of an earlier generation")
                .showing(Figure::plain("generation", generation, 0.0, "", "counted from the lab".to_owned())),
        );
    }
}
