use barm_quantity::{Estimate, Mass};
use barm_reckoning::{Batch, Fault, Scale, Season, advice};

use crate::registry::rule;
use crate::{Finding, Level, Report, say, stale_culture};

const NAME: &str = "overpitched";
const LIMIT: f64 = 4.0;

rule! {
    /// Far more yeast than the wort wants, other than a whole cake.
    Overpitched, "overpitched", Note, "overpitched.md", check
}

fn check(season: &Season, report: &mut Report) {
    let limit = season.settings.limit(NAME, LIMIT);
    for batch in say::brews(season) {
        let Some(pitch) = &batch.pitch else {
            report.silent(NAME, &batch.name, "the pitch is not reckoned");
            continue;
        };
        if pitch.whole_cake {
            report.silent(NAME, &batch.name, "a whole cake is judged by whole-cake");
            continue;
        }
        let slip = |fault: &Fault| matches!(fault, Fault::Overdrawn { place, .. } if batch.pitches.iter().any(|p| p.place == *place));
        if season.faults.iter().any(slip) {
            report.silent(NAME, &batch.name, "told with overdrawn: more is written than there was");
            continue;
        }
        let chance = 1.0 - pitch.ratio.chance_below(&Estimate::exact(limit));
        let scale = Scale::of(season, Some(pitch.place));
        let times = || barm_quantity::significant(pitch.ratio.median(), 2);
        let message = || match (pitch.mass, pitch.target) {
            (Some((grams, wanted)), _) => format!(
                "{} of yeast where {} would do: about {} times what {} wants",
                scale.yeast(Mass::grams(grams)),
                scale.yeast(Mass::grams(wanted)),
                times(),
                say::beer(batch)
            ),
            (None, Some(target)) => format!(
                "{} live cells where {} would do: about {} times what {} wants",
                say::cells(&pitch.live),
                advice::billions(target),
                times(),
                say::beer(batch)
            ),
            (None, None) => format!("about {} times the yeast that {} wants", times(), say::beer(batch)),
        };
        let finding = Finding::likely(NAME, Level::Note, pitch.place, chance, message);
        match finding.filter(|f| f.level >= Level::Note) {
            Some(finding) => report.found(explained(season, batch, finding)),
            None => report.silent(NAME, &batch.name, || format!("about {} times the target; the limit is {limit}", times())),
        }
    }
}

fn explained(season: &Season, batch: &Batch, finding: Finding) -> Finding {
    let Some(pitch) = &batch.pitch else { return finding };
    let mut finding = finding.about(batch.name.to_string()).labelled("pitched here");
    for pitched in batch.pitches.iter().take(pitch.counted) {
        finding = finding.noting(say::reckoned(pitched));
    }
    finding.notes.extend(say::left_to_pitch(season, batch));
    // Of a jar that is mostly dead nobody should measure out a little.
    let spent = stale_culture::worn(season, batch).is_some_and(|(_, spent)| spent);
    if let Some(first) = batch
        .pitches
        .first()
        .filter(|p| !spent && p.taken > 0.0 && !p.unit.is_empty() && batch.pitches.len() == 1)
    {
        let us = season.speaks_us(first.place);
        let enough = say::amount(first.taken / pitch.ratio.median(), first.unit, us);
        finding = finding.noting(format!("{enough} of {} would have done", first.name));
    }
    finding = finding.noting("much less growth than usual, a blander beer; fine for a very strong wort");
    for figure in say::pitch_figures(batch) {
        finding = finding.showing(figure);
    }
    finding
}
