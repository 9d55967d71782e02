use barm_reckoning::{Batch, Form, Pitching, Season};

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
        let lacking = lacking(batch);
        if lacking.is_empty() {
            report.silent(NAME, &batch.name, "nothing is missing");
            continue;
        }
        let message = format!("not reckoned: {}; add what you know", lacking.join(", "));
        report.found(Finding::new(NAME, Level::Note, batch.place, message).about(batch.name.to_string()));
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
    let unwatched = batch.hold.is_some() && batch.temperatures.is_empty();
    let matters = batch.asks || unwatched || batch.missing.iter().any(|missing| missing.matters);
    (!matters).then_some("nothing is asked of it: no `?`, no `target`, no `hold`")
}

/// Each figure that is missing, and for want of which fact.
fn lacking(batch: &Batch) -> Vec<String> {
    let mut out: Vec<String> =
        batch.missing.iter().map(|missing| format!("{} ({})", missing.figure, missing.fact)).collect();
    // Oxygen has a rule of its own, `no-aeration`; a `hold` asks about temperature alone.
    if batch.hold.is_some() && batch.temperatures.is_empty() {
        out.push("temperature (no `temp`)".to_owned());
    }
    out.extend(batch.pitches.iter().filter_map(undated));
    out.dedup();
    out
}

/// The age of a pack or a jar whose day is not known.
pub(crate) fn undated(pitch: &Pitching) -> Option<String> {
    missing_date(pitch).map(|word| format!("age of `{}` (no `{word}`)", pitch.name))
}

/// The word of the fact that would tell the age of a pack or a jar, where no day is known.
#[must_use]
pub fn missing_date(pitch: &Pitching) -> Option<&'static str> {
    let word = match pitch.form {
        Form::Pack => "made",
        Form::Slurry => "harvested",
        _ => return None,
    };
    (pitch.age_days.is_none() && !pitch.measured).then_some(word)
}
