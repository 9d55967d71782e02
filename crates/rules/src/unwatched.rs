use barm_reckoning::Season;
use barm_zymology::fermentation::EARLY;

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "unwatched";
/// In these hours after pitching most flavour is made.
const HOURS: f64 = EARLY.as_hours();

rule! {
    /// No temperature in the first three days.
    Unwatched, "unwatched", Figure, "unwatched.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        let (Some(pitch), Some(last)) = (batch.pitches.first(), batch.last_event) else {
            report.silent(NAME, &batch.name, "no yeast is pitched");
            continue;
        };
        if last.hours_since(pitch.at) < HOURS {
            report.silent(NAME, &batch.name, "its log ends before three days are over");
            continue;
        }
        let early = |hours: f64| hours > 0.0 && hours <= HOURS;
        let read = batch.temperatures.iter().filter(|(at, ..)| early(at.hours_since(pitch.at))).count();
        if read > 0 {
            report.silent(NAME, &batch.name, || format!("{read} readings in the first three days"));
            continue;
        }
        if season.may_have_lost(batch.lot, say::TEMPERATURES) {
            report.silent(NAME, &batch.name, "a line of this brew could not be read: it may be a temperature");
            continue;
        }
        report.found(
            Finding::new(NAME, Level::Figure, pitch.place, "no temperature in the first three days after pitching")
                .about(batch.name.to_string())
                .noting("most flavour is made in them (a yeast maker's talk, 2014)"),
        );
    }
}
