//! What `warm-pitch` and `self-heating` share: beer that grows warmer than anybody read.

use barm_reckoning::{Air, Batch, Figure, Peak, Scale, Season};

use crate::{Finding, Level, Report, say, too_warm};

/// One of the two.
pub(crate) struct Heated {
    pub name: &'static str,
    /// K above the range.
    pub limit: f64,
    pub airs: &'static [Air],
    /// `bool`: whether the days that tell are over.
    pub sentence: fn(Scale, &Peak, bool) -> String,
    pub label: &'static str,
    pub advice: &'static str,
}

pub(crate) fn check(rule: &Heated, season: &Season, report: &mut Report) {
    let limit = season.settings.limit(rule.name, rule.limit);
    for batch in say::brews(season) {
        let Some(peak) = batch.heat.peak.as_deref().filter(|peak| rule.airs.contains(&peak.air)) else {
            report.silent(rule.name, &batch.name, not_reckoned(batch));
            continue;
        };
        if season.has_lost(batch.lot, say::TEMPERATURES) {
            report.silent(rule.name, &batch.name, "a temperature of this brew could not be read");
            continue;
        }
        if say::is_told_killed(season, batch) {
            report.silent(rule.name, &batch.name, say::KILLED);
            continue;
        }
        if too_warm::is_told_at(season, batch, peak.place) {
            report.silent(rule.name, &batch.name, "it was too warm as it was read: `too-warm` says so");
            continue;
        }
        let [low, warmest, high] = peak.warmest;
        let over = warmest - peak.range.1;
        // The way to the limit is on the cooler side where the best guess is over it.
        let error = if over > limit { warmest - low } else { high - warmest };
        let scale = Scale::of(season, Some(peak.place));
        let finding =
            Finding::new(rule.name, Level::Note, peak.place, (rule.sentence)(scale, peak, is_over(batch)));
        match finding.with_chance(say::chance_over(over, error, limit)) {
            Some(finding) => report.found(explained(rule, batch, peak, limit, finding, scale)),
            None => report.silent(rule.name, &batch.name, || {
                format!(
                    "reckoned {} at its warmest; the range ends at {}",
                    scale.temperature(warmest),
                    scale.temperature(peak.range.1)
                )
            }),
        }
    }
}

/// Whether anything is written of a brew after the day of its pitch.
fn is_over(batch: &Batch) -> bool {
    batch.pitched_at().zip(batch.last_event).is_some_and(|(pitched, last)| last.date() > pitched.date())
}

fn not_reckoned(batch: &Batch) -> &'static str {
    if batch.pitches.is_empty() {
        "no yeast is pitched"
    } else if batch.wort.is_none() {
        "no `wort` stands in its lines"
    } else if batch.hold.is_none() && batch.traits.range.is_none() {
        "no `hold`, and no `range` of its strain"
    } else if batch.heat.peak.is_some() {
        "the other of `warm-pitch` and `self-heating` looks at it"
    } else {
        "the beer was read, or is held, or nothing tells how warm it began"
    }
}

fn explained(
    rule: &Heated,
    batch: &Batch,
    peak: &Peak,
    limit: f64,
    finding: Finding,
    scale: Scale,
) -> Finding {
    let [low, warmest, high] = peak.warmest;
    let figure = Figure::plain("reckoned-warmest", warmest, 0.0, "°C", peak.from.clone());
    finding
        .about(batch.name.to_string())
        .labelled(rule.label)
        .noting(format!(
            "{}–{} {}, about {}; {}",
            scale.point(low),
            scale.point(high),
            scale.unit(),
            peak.at,
            peak.from
        ))
        .noting(format!(
            "the limit is {} above the range; a `temp` in the first two days would replace this",
            scale.distance(limit)
        ))
        .noting(rule.advice)
        .showing(Figure { low, high, ..figure })
}
