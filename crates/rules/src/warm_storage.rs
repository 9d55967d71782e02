use std::collections::HashSet;

use barm_quantity::plain;
use barm_reckoning::{Batch, Figure, LotId, Pitching, Scale, Season, Warm, advice};
use barm_zymology::storage;

use crate::registry::{Reason as _, Why, rule};
use crate::{Finding, Level, Report, say, stale_culture};

const NAME: &str = "warm-storage";
/// Days above 10 °C.
const LIMIT: f64 = 2.0;

rule! {
    /// Slurry kept warm for days before it was pitched, told at the first pitch of it.
    WarmStorage, "warm-storage", Note, "warm_storage.md", check
}

fn check(season: &Season, report: &mut Report) {
    let mut told: HashSet<LotId> = HashSet::new();
    for batch in say::brews_in_time(season) {
        let mut any = false;
        for pitch in &batch.pitches {
            let Some(warm) = &pitch.history.warm else { continue };
            any = true;
            match judged(season, batch, pitch, warm, &mut told) {
                Ok(finding) => report.found(finding),
                Err(reason) => report.silent(NAME, &batch.name, || format!("{}: {}", pitch.name, reason.words())),
            }
        }
        if !any {
            report.silent(NAME, &batch.name, "no slurry of known age is pitched");
        }
    }
}

/// Said of a slurry by the rule about old ones, which then says it all.
pub(crate) fn note(season: &Season, pitch: &Pitching) -> Option<String> {
    let warm = pitch.history.warm.as_deref().filter(|warm| is_long(season, warm))?;
    Some(sentence(Scale::of(season, Some(pitch.place)), warm))
}

fn is_long(season: &Season, warm: &Warm) -> bool {
    warm.hours > season.settings.limit(NAME, LIMIT) * 24.0
}

fn sentence(scale: Scale, warm: &Warm) -> String {
    format!(
        "{} above {} ({} at the warmest) aged it like {} in the refrigerator",
        advice::days_to_a_tenth(warm.hours / 24.0),
        scale.temperature(storage::WARM.as_celsius()),
        scale.temperature(warm.warmest.as_celsius()),
        advice::days(warm.as_cold_days)
    )
}

fn judged(
    season: &Season,
    batch: &Batch,
    pitch: &Pitching,
    warm: &Warm,
    told: &mut HashSet<LotId>,
) -> Result<Finding, Why<'static>> {
    if !is_long(season, warm) {
        let hours = warm.hours;
        return Err(Why::of(move || format!("{} h above 10 °C", plain(hours, 0))));
    }
    if stale_culture::is_stale(season, batch, pitch) {
        return Err("told with stale-culture".into());
    }
    if !told.insert(pitch.lot) {
        return Err("told at an earlier pitch of it".into());
    }
    let mut finding = Finding::new(NAME, Level::Note, pitch.place, sentence(Scale::of(season, Some(pitch.place)), warm))
        .about(batch.name.to_string())
        .labelled(format!("{} pitched here", pitch.name));
    if let Some(place) = warm.place {
        finding = finding.pointing(place, "kept warm from here");
    }
    if let Some(place) = pitch.since {
        finding = finding.pointing(place, "harvested here");
    }
    Ok(finding
        .noting(say::reckoned(pitch))
        .noting("a count or a `viability` line settles how much of it lives")
        .noting(
            "next time: into the refrigerator on the day of the harvest, never with its lid closed tightly",
        )
        .showing(Figure::plain(
            "warm",
            warm.hours,
            0.0,
            "h",
            "above 10 °C, since its harvest or its last count".to_owned(),
        )))
}
