use barm_reckoning::{Batch, Form, Pitching, Season, oxygen};
use barm_zymology::oxygen::Method;

use crate::registry::rule;
use crate::{Finding, Level, Report, low_oxygen, say};

const NAME: &str = "no-aeration";

rule! {
    /// Liquid yeast in a wort of which nobody wrote how it was aerated, on a day that was well kept otherwise.
    NoAeration, "no-aeration", Note, "no_aeration.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        match judged(season, batch) {
            Err(reason) => report.silent(NAME, &batch.name, reason),
            Ok(pitch) => report.found(told(season, batch, pitch)),
        }
    }
}

/// The first pitch of liquid yeast; otherwise why nothing is said.
fn judged<'b>(season: &Season, batch: &'b Batch) -> Result<&'b Pitching, &'static str> {
    if let Some(reason) = low_oxygen::not_judged(batch) {
        return Err(reason);
    }
    let was_aerated = batch.record.aerated && batch.record.boiled_out.is_none();
    if batch.oxygen.is_some() || was_aerated {
        return Err("an `aerate` or `oxygen` is on record");
    }
    if say::aeration_may_be_unread(season, batch) {
        return Err("a line of this brew could not be read: it may be the aeration");
    }
    let liquid = |form| matches!(form, Form::Pack | Form::Slurry | Form::Starter | Form::Cake | Form::Bank);
    let mut judged = batch.pitches.iter().filter(|pitch| liquid(pitch.form) && !say::has_wild(season, pitch));
    let pitch = judged.next().ok_or("no liquid yeast is pitched, but for wild yeast and bacteria")?;
    if !batch.record.day_kept {
        return Err("its pitching day is kept in a few words: what is not written is no fault");
    }
    Ok(pitch)
}

fn told(season: &Season, batch: &Batch, pitch: &Pitching) -> Finding {
    let message = match batch.record.boiled_out {
        Some(_) => "boiled after it was aerated, and not aerated since: how did the wort get its oxygen?",
        None => "no aeration on record, on a day that is well kept otherwise: how did the wort get its oxygen?",
    };
    let mut finding = Finding::new(NAME, Level::Note, pitch.place, message)
        .about(batch.name.to_string())
        .labelled("pitched here");
    if let Some(aerated) = batch.record.boiled_out {
        finding = finding.pointing(aerated, "the boil drives out what this gave");
    }
    finding = finding
        .noting("if it was aerated, add it before the pitch: `aerate shake 2 min`, `aerate oxygen 60 s at 1 L/min`");
    if say::is_young(batch)
        && let Some((wort, _)) = oxygen::conditions(&season.settings, batch, (pitch.at, pitch.place))
        && let Some((aim, time)) = oxygen::time_for_aim(batch, Method::Oxygen, &wort)
    {
        let how = say::pure_oxygen(aim, time);
        finding = finding.noting(format!("if it was not: now, within 9 h of pitching, {how}"));
    }
    finding.noting("8–10 mg/L is wanted at pitching (common practice); dry yeast at its first use needs none")
}
