use std::cell::LazyCell;
use std::collections::HashSet;

use barm_reckoning::{Batch, Figure, LotId, Pitching, Reuse, Season, advice};

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, late_generation, say};

const NAME: &str = "old-line";
/// Days: two months of repitching in a brewery (common practice).
const LIMIT: f64 = 61.0;

rule! {
    /// A line repitched for longer than is wise, told at the first brew that crosses the limit.
    OldLine, "old-line", Note, "old_line.md", check
}

fn check(season: &Season, report: &mut Report) {
    let limit = season.settings.limit(NAME, LIMIT);
    // Lots whose line was past the limit before: what descends from them is not told again.
    let mut past: HashSet<LotId> = HashSet::new();
    let told_of_late = LazyCell::new(|| late_generation::spoken(season));
    for batch in say::brews_in_time(season) {
        match judged(batch, limit) {
            Ok((pitch, days)) => {
                let known =
                    past.contains(&pitch.lot) || pitch.history.donor.is_some_and(|d| past.contains(&d.lot));
                past.extend([batch.lot, pitch.lot]);
                if known {
                    report.silent(
                        NAME,
                        &batch.name,
                        || format!("{} of repitching, told at an earlier brew", advice::days(days)),
                    );
                } else if told_of_late.contains(&batch.lot) {
                    report.silent(NAME, &batch.name, "told with late-generation");
                } else {
                    report.found(told(batch, pitch, days, limit));
                }
            }
            Err(reason) => report.silent(NAME, &batch.name, reason),
        }
    }
}

/// The oldest line that was pitched, and its days since it left the lab's own pack, where they are too many.
fn judged(batch: &Batch, limit: f64) -> Result<(&Pitching, f64), Why<'_>> {
    let pitches = batch.pitches.iter().filter(|p| p.generation.is_some_and(|generation| generation > 0));
    let (pitch, began) = pitches
        .filter_map(|p| Some((p, p.history.line?)))
        .min_by_key(|(_, began)| *began)
        .ok_or("none of its yeast is of a line that began on record")?;
    if pitch.traits.reuse == Some(Reuse::Any) {
        return Err("the strain may be reused as often as one likes".into());
    }
    let days = pitch.at.hours_since(began) / 24.0;
    if days <= limit {
        return Err(Why::of(move || format!("{} of repitching; the limit is {limit:.0}", advice::days(days))));
    }
    Ok((pitch, days))
}

fn told(batch: &Batch, pitch: &Pitching, days: f64, limit: f64) -> Finding {
    let message =
        format!("{} of repitching one line: about two months is usual before fresh yeast", advice::days(days));
    let mut finding = Finding::new(NAME, Level::Note, pitch.place, message)
        .about(batch.name.to_string())
        .labelled(format!("{} goes on here", pitch.name));
    if let Some(place) = pitch.since {
        finding = finding.pointing(place, "its last harvest");
    }
    if let Some(began) = pitch.history.line {
        finding = finding.noting(format!("the line began on {}; the limit is {}", began.date(), advice::days(limit)));
    }
    finding
        .noting(
            "a clean plate, a count and a beer that tastes as it should are better judges than a calendar",
        )
        .noting("next time: a new pack; a strain that may go on for ever says `reuse any`")
        .showing(Figure::plain(
            "line-age",
            days.floor(),
            0.0,
            "d",
            "since its lab yeast was first pitched".to_owned(),
        ))
}
