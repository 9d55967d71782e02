use std::collections::HashSet;

use barm_reckoning::{Batch, Fact, Figure, Form, LotId, Pitching, Season, advice};

use crate::registry::rule;
use crate::{Finding, Level, Report, missing_fact, say, stale_culture, underpitched};

const NAME: &str = "unknown-age";

rule! {
    /// Yeast of unknown age that may be too little, and may not, told at the first pitch of it.
    UnknownAge, "unknown-age", Note, "unknown_age.md", check
}

fn check(season: &Season, report: &mut Report) {
    let mut told: HashSet<LotId> = HashSet::new();
    for batch in say::brews_in_time(season) {
        let mut any = false;
        for pitch in batch.pitches.iter().filter(|pitch| missing_fact::undated(pitch).is_some()) {
            any = true;
            match judged(season, batch, pitch, &mut told) {
                Ok(finding) => report.found(finding),
                Err(reason) => report.silent(NAME, &batch.name, || format!("{}: {reason}", pitch.name)),
            }
        }
        if !any {
            report.silent(NAME, &batch.name, "the age of all its yeast is known, or of no matter");
        }
    }
}

fn judged(
    season: &Season,
    batch: &Batch,
    pitch: &Pitching,
    told: &mut HashSet<LotId>,
) -> Result<Finding, &'static str> {
    let (Some(live), Some(figures)) = (&pitch.live, &batch.pitch) else {
        return Err("its live cells are not reckoned");
    };
    if missing_fact::is_unread(season, pitch) {
        return Err(say::UNREAD);
    }
    if missing_fact::tells_of_age(season, batch) {
        return Err("told with missing-fact");
    }
    if underpitched::level(season, batch).is_some() {
        return Err("told with underpitched");
    }
    if stale_culture::is_stale(season, batch, pitch) {
        return Err("told with stale-culture");
    }
    if figures.mass.is_some() || underpitched::is_enough_at_worst(season, batch) {
        return Err("old or new, it is enough");
    }
    if !told.insert(pitch.lot) {
        return Err("told at an earlier pitch of it");
    }
    let message = format!(
        "no date to reckon {} from: {} live, taken as anything from new to two months old",
        pitch.name,
        say::cells(live)
    );
    let word = if pitch.form == Form::Pack { "made" } else { "harvested" };
    let lot = season.lot(pitch.lot).map(|lot| lot.place);
    let mut finding = Finding::new(NAME, Level::Note, pitch.place, message)
        .about(batch.name.to_string())
        .labelled("pitched here")
        .lacking(season, Fact::Age(pitch.lot));
    if let Some(place) = lot {
        finding = finding.pointing(place, format!("no `{word}` here"));
    }
    if let Some(target) = figures.target {
        finding = finding
            .noting(format!("{} are wanted: it may be enough and it may not", advice::billions(target)));
    }
    Ok(finding
        .noting(format!("`{word} 2026-05` is enough, or a `best-before`, a count, a `viability`"))
        .showing(Figure::of("live-cells", live, 1e9, "B", pitch.from.clone())))
}
