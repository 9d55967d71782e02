use barm_reckoning::{Batch, Figure, Season, oxygen, advice};
use barm_syntax::ast::Organism;

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, say};

const NAME: &str = "late-oxygen";
/// Hours after the first pitch.
pub(crate) const LIMIT: f64 = 24.0;
/// Above so many °P a second dose is sound, within these hours.
pub(crate) const STRONG: f64 = 20.0;

rule! {
    /// Oxygen into a beer that is already fermenting.
    LateOxygen, "late-oxygen", Note, "late_oxygen.md", check
}

fn check(season: &Season, report: &mut Report) {
    let limit = season.settings.limit(NAME, LIMIT);
    for batch in say::brews(season) {
        match judged(batch, limit) {
            Ok(finding) => report.found(finding),
            Err(reason) => report.silent(NAME, &batch.name, reason),
        }
    }
}

fn judged(batch: &Batch, limit: f64) -> Result<Finding, Why<'_>> {
    if matches!(batch.traits.organism, Some(Organism::Wild | Organism::Bacteria)) {
        return Err("wild yeast and bacteria are not judged by it".into());
    }
    let first = batch.pitches.first().ok_or("no yeast is pitched")?;
    let fresh = |dose: &barm_reckoning::Dose| {
        // Yeast that went in later than the first may want some of its own.
        let before = batch.pitches.partition_point(|pitch| pitch.at <= dose.at);
        let last =
            before.checked_sub(1).filter(|index| *index > 0).and_then(|index| batch.pitches.get(index));
        last.is_some_and(|pitch| dose.at.hours_since(pitch.at) <= limit)
    };
    // A wort that has not started by then has yeast that may still want it.
    let idle = |dose: &barm_reckoning::Dose| {
        batch.fermentation.as_ref().is_some_and(|found| {
            let not_yet = found.began.is_none_or(|(began, _)| began > dose.at);
            let last = found.idle.iter().rfind(|idle| idle.at <= dose.at);
            not_yet && last.is_some_and(|idle| dose.at.hours_since(idle.at) <= limit)
        })
    };
    let is_late = |dose: &&barm_reckoning::Dose| dose.hours.is_some_and(|h| h > limit) && !fresh(dose) && !idle(dose);
    let mut late = batch.doses.iter().filter(is_late);
    let none = move || format!("no dose is later than {limit:.0} h after its yeast, into a wort that had started");
    let dose = late.next().ok_or_else(|| Why::of(none))?;
    let hours = dose.hours.unwrap_or(0.0);
    let unsure = dose.hours_either_way + first.hours_either_way;
    let message = || {
        let when = if hours >= 48.0 { advice::days(hours / 24.0) } else { format!("{hours:.0} h") };
        format!("oxygen {when} after the pitch: by now it stales the beer and feeds no yeast")
    };
    let chance = if hours - unsure > limit { 1.0 } else { 0.5 };
    let mut finding = Finding::likely(NAME, Level::Note, dose.place, chance, message)
        .ok_or("it is not sure enough")?
        .about(batch.name.to_string())
        .labelled(format!("{} here", oxygen::method_name(dose.method)))
        .pointing(first.place, "pitched here");
    for more in late {
        finding = finding.pointing(more.place, "and again");
    }
    if batch.wort.as_ref().is_some_and(|wort| wort.strength.as_degrees() > STRONG) {
        finding = finding
            .noting("in so strong a wort a second dose is sound 12–18 h after the pitch; next time then");
    } else {
        finding = finding.noting(
            "next time: all of it at the pitch; a second dose, 12–18 h later, is for worts above 20 °P",
        );
    }
    Ok(finding
        .noting("what is in now: keep the beer cool and closed, and drink it young")
        .showing(Figure::plain("dose-after-pitch", hours, unsure, "h", "from the first pitch".to_owned())))
}
