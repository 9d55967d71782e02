use barm_reckoning::{Batch, Figure, Idle, SLOW_BELOW, Scale, Season, shows_work_within};
use barm_syntax::ast::Organism;

use crate::registry::rule;
use crate::{Finding, Level, Report, causes, say};

const NAME: &str = "slow-start";
/// Below this, °C, a lager is slow too (common practice: they are pitched at 6 to 12 °C).
const COLD_LAGER: f64 = 6.0;

rule! {
    /// No sign of work a day after pitching.
    SlowStart, "slow-start", Note, "slow_start.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        let Some(found) = &batch.fermentation else {
            report.silent(NAME, &batch.name, "no yeast is pitched");
            continue;
        };
        if matches!(batch.traits.organism, Some(Organism::Wild | Organism::Bacteria)) {
            report.silent(NAME, &batch.name, "wild yeast and bacteria take their time");
            continue;
        }
        let of = |idle: &Idle| shows_work_within(&season.settings, batch.celsius_by(idle.at));
        match found.idle.iter().find(|idle| idle.hours > of(idle)) {
            Some(idle) => report.found(finding(season, batch, idle, of(idle))),
            None => {
                let why = match (found.began, found.idle.last()) {
                    (Some((at, _)), _) => format!("it worked by {at}"),
                    (None, Some(idle)) => format!("the last word is from {:.0} h after pitching", idle.hours),
                    (None, None) => "no `krausen` and no gravity tells".to_owned(),
                };
                report.silent(NAME, &batch.name, why);
            }
        }
    }
}

/// Colder than most yeast likes it, where no range says what this one likes.
fn chilly(season: &Season, batch: &Batch, idle: &Idle) -> Option<causes::Cause> {
    let celsius = batch.celsius_by(idle.at).filter(|_| batch.temperature.is_none())?;
    let likes = if batch.traits.organism == Some(Organism::Lager) { COLD_LAGER } else { SLOW_BELOW };
    let read = Scale::of(season, Some(idle.place)).temperature(celsius);
    (celsius < likes).then(|| causes::Cause { text: format!("{read}, where most yeast is slow"), place: None })
}

fn finding(season: &Season, batch: &Batch, idle: &Idle, limit: f64) -> Finding {
    let what = if idle.krausen { "no krausen yet" } else { "the gravity still as it was" };
    let message = format!("{:.0} h after pitching and {what}", idle.hours);
    let mut finding = Finding::new(NAME, Level::Note, idle.place, message)
        .about(batch.name.to_string())
        .labelled("no sign of work");
    if let Some(pitch) = batch.pitches.first() {
        finding = finding.pointing(pitch.place, "pitched here");
    }
    let began = batch.fermentation.as_ref().and_then(|found| found.began);
    if let Some((_, place)) = began {
        finding = finding.pointing(place, "it worked by here");
    }
    let advice = if began.is_none() {
        "now: see that it is as warm as its yeast likes, and rouse it; if nothing moves within another day, pitch fresh yeast"
    } else {
        "next time: more live yeast, more oxygen, and wort as warm as its yeast likes"
    };
    let mut shown = causes::shown(causes::WEAK, season, batch);
    shown.extend(chilly(season, batch, idle));
    causes::told(finding, &shown)
        .noting(format!("the limit is {limit:.0} h: 24, or 48 below 13 °C; half of that is usual (judgement)"))
        .noting(advice)
        .showing(Figure::plain("hours-without-work", idle.hours, 0.0, "h", "since the first pitch".to_owned()))
}
