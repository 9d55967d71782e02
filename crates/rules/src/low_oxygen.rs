use barm_quantity::{Estimate, plain};
use barm_reckoning::{Batch, Form, OxygenFigures, Season, oxygen};
use barm_syntax::ast::Organism;
use barm_zymology::oxygen::{Method, TAKEN_UP};
use barm_zymology::storage;

use crate::registry::{Why, rule};
use crate::{Finding, Label, Level, Report, late_oxygen, say};
use barm_reckoning::Figure;

const NAME: &str = "low-oxygen";
/// A cake no older than this is fresh.
const FRESH_DAYS: f64 = storage::STALE_AFTER.as_days();

rule! {
    /// Dissolved oxygen at pitching under the low end of what the yeast needs.
    LowOxygen, "low-oxygen", Warning, "low_oxygen.md", check
}

fn check(season: &Season, report: &mut Report) {
    let mut told: Vec<(&Batch, Finding)> = Vec::new();
    for batch in say::brews(season) {
        match judge(season, batch) {
            Ok(finding) => match told.iter_mut().find(|(first, _)| is_same_dose(first, batch)) {
                // One dose is told once, of whichever part.
                Some((first, told)) => {
                    let text = "and this part of it".to_owned();
                    told.labels.push(Label { place: finding.place, text });
                    report.silent(NAME, &batch.name, || format!("told of `{}`, of the same wort", first.name));
                }
                None => told.push((batch, finding)),
            },
            Err(why) => report.silent(NAME, &batch.name, why),
        }
    }
    told.into_iter().for_each(|(_, finding)| report.found(finding));
}

/// Whether both are parts of one wort that was aerated as a whole, and have of it what both want.
fn is_same_dose(one: &Batch, other: &Batch) -> bool {
    let dose = |batch: &Batch| batch.oxygen.as_ref().and_then(|found| Some((found.in_whole?, found.wanted.0)));
    dose(one).is_some_and(|of_one| dose(other) == Some(of_one))
}

fn judge(season: &Season, batch: &Batch) -> Result<Finding, Why<'static>> {
    if let Some(reason) = not_judged(batch) {
        return Err(reason.into());
    }
    if say::aeration_is_unread(season, batch) {
        return Err("a line of this brew could not be read: it may be one more dose".into());
    }
    let found = batch.oxygen.as_ref().ok_or("no `aerate` or `oxygen` is on record")?;
    let (wanted, chance) = judged(season, found);
    let how = if found.measured { "measured" } else { "dissolved" };
    let message = || format!(
        "{} mg/L of oxygen {how} where {} wants {} at the least",
        say::range(&found.dissolved),
        say::beer(batch),
        plain(wanted, 1)
    );
    Finding::likely(NAME, Level::Warning, found.place, chance, message)
        .map(|finding| explained(season, batch, found, wanted, finding))
        .ok_or_else(|| {
            let (dissolved, wanted, chance) = (say::range(&found.dissolved), plain(wanted, 1), chance * 100.0);
            Why::of(move || format!("{dissolved} mg/L; the chance that it is under {wanted} is {chance:.0} %"))
        })
}

/// What is wanted at the least, and the chance that there was less.
fn judged(season: &Season, found: &OxygenFigures) -> (f64, f64) {
    let wanted = season.settings.limits.get(NAME).copied().unwrap_or(found.wanted.0);
    // As much as is wanted is enough: a meter that reads just that is silent.
    let enough = found.dissolved.median() >= wanted * (1.0 - 1e-9);
    (wanted, if enough { 0.0 } else { found.dissolved.chance_below(&Estimate::exact(wanted)) })
}

/// Whether it tells of a brew, with what the method reaches at best.
pub(crate) fn speaks(season: &Season, batch: &Batch) -> bool {
    let judged_at_all = not_judged(batch).is_none() && !say::aeration_is_unread(season, batch);
    let Some(found) = batch.oxygen.as_ref().filter(|_| judged_at_all) else { return false };
    say::speaks(season, NAME, Level::Warning, judged(season, found).1).is_some()
}

/// Why nothing is said of a brew's oxygen, however much there was.
pub(crate) fn not_judged(batch: &Batch) -> Option<&'static str> {
    match batch.traits.organism {
        Some(Organism::Wild) => return Some("wild yeast is not judged by it"),
        Some(Organism::Bacteria) => return Some("bacteria are not judged by it"),
        _ => {}
    }
    if batch.pitches.is_empty() {
        return Some("no yeast is pitched");
    }
    if batch.is_first_use_dry() {
        return Some("dry yeast at its first use brings what it needs");
    }
    let fresh_cake = |p: &barm_reckoning::Pitching| {
        p.form == Form::Cake && p.part >= 0.75 && p.age_days.is_none_or(|age| age <= FRESH_DAYS)
    };
    if batch.pitches.iter().any(fresh_cake) {
        return Some("a whole fresh cake hardly grows and needs little");
    }
    if has_second_dose(batch) {
        return Some("a second dose within a day is what a strong wort wants");
    }
    is_asked(batch).then_some("how long to aerate is still asked")
}

/// Whether a strong wort got more when its yeast had taken up the first, as `late-oxygen` advises.
fn has_second_dose(batch: &Batch) -> bool {
    let second = |hours: f64| hours > TAKEN_UP.as_hours() && hours <= late_oxygen::LIMIT;
    batch.wort.as_ref().is_some_and(|wort| wort.strength.as_degrees() > late_oxygen::STRONG)
        && batch.doses.iter().any(|dose| dose.asked.is_none() && dose.hours.is_some_and(second))
}

/// Whether a dose that will count is still asked for, and nobody has measured what there is.
fn is_asked(batch: &Batch) -> bool {
    let counts = |hours: f64| hours <= TAKEN_UP.as_hours();
    let asked = batch.doses.iter().any(|dose| dose.asked.is_some() && dose.hours.is_none_or(counts));
    asked && batch.oxygen.as_ref().is_none_or(|found| !found.measured)
}

fn explained(season: &Season, batch: &Batch, found: &OxygenFigures, wanted: f64, finding: Finding) -> Finding {
    let label = match (found.in_whole.is_some(), found.measured) {
        (true, _) => "a part of a wort that was aerated as a whole",
        (false, true) => "measured here",
        (false, false) => "aerated here",
    };
    let mut finding = finding
        .about(batch.name.to_string())
        .labelled(label)
        .noting(format!("reckoned from: {}", found.from))
        .noting(format!(
            "{} mg/L is the low end for {}; 8–10 is the aim (common practice)",
            plain(wanted, 1),
            found.wanted.1
        ));
    if let Some(aerated) = found.in_whole {
        finding = finding.pointing(aerated, "aerated here");
    }
    if let Some((method, ceiling)) = &found.method {
        finding = finding.noting(format!(
            "{} reaches {} mg/L here at best",
            oxygen::method_name(*method),
            say::range(ceiling)
        ));
    }
    if !found.measured {
        finding = finding.noting("a dissolved-oxygen reading would replace this estimate");
    }
    let when = if say::is_young(batch) { "now, within 9 h of pitching" } else { "next time" };
    // What is to be aerated is the wort as it is pitched: a part of a whole, with what was added since.
    let own = batch.pitches.first();
    let own = own.and_then(|pitch| oxygen::conditions(&season.settings, batch, (pitch.at, pitch.place)));
    let wort = own.map_or(found.wort, |(wort, _)| wort);
    if let Some((aim, time)) = oxygen::time_for_aim(batch, Method::Oxygen, &wort) {
        finding = finding.noting(format!("{when}: {}", say::pure_oxygen(aim, time)));
    }
    if let Some((aim, time)) = oxygen::time_for_aim(batch, Method::Air, &wort) {
        finding = finding.noting(format!(
            "{when}: an air pump through a fine stone for about {:.0} min reaches {} mg/L",
            time.as_minutes().ceil(),
            plain(aim, 1)
        ));
    }
    finding
        .showing(Figure::of("dissolved-oxygen", &found.dissolved, 1.0, "mg/L", found.from.clone()))
        .showing(Figure::plain(
            "oxygen-wanted",
            wanted,
            0.0,
            "mg/L",
            format!("the low end for {}", found.wanted.1),
        ))
}
