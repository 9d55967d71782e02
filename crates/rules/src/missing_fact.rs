use barm_reckoning::{Batch, Fact, Form, Pitching, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "missing-fact";

rule! {
    /// What a brew's reckoning lacks, in one note.
    MissingFact, "missing-fact", Note, "missing_fact.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        if let Some(reason) = nothing_asked(batch) {
            report.silent(NAME, &batch.name, reason);
            continue;
        }
        let (lacking, unread) = lacking(season, batch);
        if lacking.is_empty() {
            report.silent(NAME, &batch.name, if unread { say::UNREAD } else { "nothing is missing" });
            continue;
        }
        let message = format!("not reckoned: {}; add what you know", lacking.join(", "));
        let mut finding = Finding::new(NAME, Level::Note, batch.place, message).about(batch.name.to_string());
        for fact in batch.missing.iter().map(|missing| missing.lacks).chain(ages(batch)) {
            if !season.is_unread(fact) {
                finding = finding.lacking(season, fact);
            }
        }
        report.found(finding);
    }
}

/// Whether it tells that a pitch of a brew is of unknown age.
pub(crate) fn tells_of_age(season: &Season, batch: &Batch) -> bool {
    say::level(season, NAME, Level::Note).is_some() && nothing_asked(batch).is_none()
}

/// What is not written is no fault: why nothing is said of it.
fn nothing_asked(batch: &Batch) -> Option<&'static str> {
    if batch.pitches.is_empty() {
        return Some("no yeast is pitched");
    }
    if batch.asks_for_yeast {
        return Some("how much yeast it gets is asked: what that lacks is told with the question");
    }
    let unwatched = batch.hold.is_some() && batch.temperatures.is_empty();
    let matters = batch.asks || unwatched || batch.missing.iter().any(|missing| missing.matters);
    (!matters).then_some("nothing is asked of it: no `?`, no `target`, no `hold`")
}

/// Each figure that is missing, and for want of which fact; and whether another may stand in a line that could not be
/// read, and is not told.
fn lacking(season: &Season, batch: &Batch) -> (Vec<String>, bool) {
    let mut all: Vec<(String, bool)> = Vec::new();
    for missing in &batch.missing {
        all.push((format!("{} ({})", missing.figure, missing.fact), season.is_unread(missing.lacks)));
    }
    // Oxygen has a rule of its own, `no-aeration`; a `hold` asks about temperature alone.
    if batch.hold.is_some() && batch.temperatures.is_empty() {
        let unread = season.may_have_lost(batch.lot, say::TEMPERATURES);
        all.push(("temperature (no `temp`)".to_owned(), unread));
    }
    let ages = pitched_into(batch).filter_map(|pitch| Some((undated(pitch)?, is_unread(season, pitch))));
    all.extend(ages);
    let unread = all.iter().any(|(_, unread)| *unread);
    let mut told: Vec<String> = all.into_iter().filter(|(_, unread)| !unread).map(|(text, _)| text).collect();
    told.dedup();
    (told, unread)
}

/// What was pitched into a brew itself, and not into a whole that it is a part of.
fn pitched_into(batch: &Batch) -> impl Iterator<Item = &Pitching> {
    batch.pitches.iter().filter(|pitch| !pitch.of_whole)
}

/// The ages that are not known.
fn ages(batch: &Batch) -> impl Iterator<Item = Fact> {
    pitched_into(batch).filter(|pitch| missing_date(pitch).is_some()).map(|pitch| Fact::Age(pitch.lot))
}

/// Whether the age of what was pitched may stand in a line that could not be read.
pub(crate) fn is_unread(season: &Season, pitch: &Pitching) -> bool {
    season.is_unread(Fact::Age(pitch.lot))
}

/// The age of a pack or a jar whose day is not known.
pub(crate) fn undated(pitch: &Pitching) -> Option<String> {
    missing_date(pitch).map(|word| format!("age of `{}` (no `{word}`)", pitch.name))
}

/// The word of the fact that would tell the age of a pack or a jar, where no day is known.
fn missing_date(pitch: &Pitching) -> Option<&'static str> {
    let word = match pitch.form {
        Form::Pack => "made",
        Form::Slurry => "harvested",
        _ => return None,
    };
    (pitch.age_days.is_none() && !pitch.measured).then_some(word)
}
