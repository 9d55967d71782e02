use std::collections::BTreeMap;

use barm_quantity::Gravity;
use barm_reckoning::{ABOVE_WORT, Batch, FermentationFigures, Figure, Forced, GravityReading, Moment, Scale, Season, Wort};
use barm_zymology::fermentation::COLD;

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "gravity-rose";
const MINUTE: f64 = 1.0 / 60.0;

rule! {
    /// A gravity above an earlier one or above its wort, though nothing was added.
    GravityRose, "gravity-rose", Note, "gravity_rose.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        for forced in batch.fermentation.iter().flat_map(|found| &found.not_forced) {
            report.found(finding_forced(season, batch, forced));
        }
        let Some(found) = batch.fermentation.as_ref().filter(|_| !batch.gravities.is_empty()) else {
            report.silent(NAME, &batch.name, "there is no gravity since it was wort");
            continue;
        };
        if let Some((earlier, later)) = rose(batch, found) {
            report.found(finding(season, batch, earlier, later));
        } else if let Some((wort, gravity, reading)) = above_wort(batch, found) {
            report.found(finding_above(season, batch, wort, gravity, reading));
        } else {
            let silent = "no gravity lies above its wort, nor above an earlier one of its instrument";
            report.silent(NAME, &batch.name, silent);
        }
    }
}

/// The first reading that lies above an earlier one of its instrument by more than both errors, though nothing that was
/// added explains it.
fn rose<'b>(batch: &'b Batch, found: &FermentationFigures) -> Option<(&'b GravityReading, &'b GravityReading)> {
    let mut lowest: BTreeMap<_, &GravityReading> = BTreeMap::new();
    for reading in &batch.gravities {
        if found.unknown_extract.is_some_and(|(from, _)| from <= reading.at) {
            return None;
        }
        // A logger stands where its file is named.
        let instrument = (reading.refractometer, reading.logged.then_some(reading.place));
        let risen = |earlier: &GravityReading| -> f64 {
            let read = earlier.gravity.as_specific();
            // What bears the hour of a reading, or its day where it has no hour, may have gone in on either side of it.
            let from = earlier.at.plus_hours(-earlier.hours_either_way - MINUTE);
            let to = reading.at.plus_hours(reading.hours_either_way);
            reading.gravity.as_specific() - read - added(found, read, (from, to))
        };
        match lowest.get(&instrument) {
            Some(earlier) if risen(earlier) > earlier.error + reading.error + 1e-9 => return Some((earlier, reading)),
            Some(earlier) if risen(earlier) >= 0.0 => {}
            _ => {
                lowest.insert(instrument, reading);
            }
        }
    }
    None
}

/// The first reading far above all that the beer had been given by then, and what that was.
fn above_wort<'b>(batch: &'b Batch, found: &FermentationFigures) -> Option<(&'b Wort, Gravity, &'b GravityReading)> {
    let wort = batch.wort.as_ref()?;
    batch.gravities.iter().find_map(|reading| Some((wort, found.above_wort(reading, wort)?, reading)))
}

/// What was added between two moments raised a beer of this gravity by as much at the most: mixed with it, nothing of it
/// fermented. By mass: what was added weighs the difference of all that was given.
fn added(found: &FermentationFigures, beer: f64, (from, to): (Moment, Moment)) -> f64 {
    let (Some(before), Some(after)) = (found.given_at(from), found.given_at(to)) else { return 0.0 };
    let (then, now) = (before.volume.as_litres(), after.volume.as_litres());
    if now <= 0.0 {
        return 0.0;
    }
    let brought = now * after.gravity.as_specific() - then * before.gravity.as_specific();
    ((then * beer + brought) / now - beer).max(0.0)
}

/// What such a reading usually is. A warm sample reads low, so that what follows looks risen; a cold one reads high.
fn reasons(season: &Season, batch: &Batch, higher: &GravityReading) -> String {
    let written = season.text(higher.place);
    let sample = cold_sample(batch, higher).filter(|_| !written.contains(" at ")).map_or_else(
        || "a warm sample without its `at`".to_owned(),
        |celsius| {
            let celsius = Scale::of(season, Some(higher.place)).temperature(celsius);
            format!("a cold sample without its `at`, for it reads high (`{written} at {celsius}`)")
        },
    );
    format!("bubbles on the hydrometer, {sample}, a sample from the bottom, or a slip of the pen")
}

/// How cold a beer was last read or set, °C, when it was read with a hydrometer.
fn cold_sample(batch: &Batch, read: &GravityReading) -> Option<f64> {
    let last = batch.temperatures.iter().rfind(|(at, ..)| *at <= read.at).map(|(at, celsius, _)| (*at, *celsius));
    let crashed = batch.fermentation.as_ref().and_then(|found| found.crashed.as_deref());
    let crashed = crashed.filter(|(at, ..)| *at < read.at).and_then(|(at, celsius, _)| Some((*at, (*celsius)?)));
    let set = crashed.filter(|(at, _)| last.is_none_or(|(last, _)| last <= *at));
    let (_, celsius) = set.or(last)?;
    (!read.refractometer && !read.logged && celsius <= COLD.as_celsius()).then_some(celsius)
}

fn finding_above(season: &Season, batch: &Batch, wort: &Wort, given: Gravity, reading: &GravityReading) -> Finding {
    let (wanted, read) = (given.as_specific(), reading.gravity.as_specific());
    let scale = Scale::of(season, Some(reading.place));
    let [of_wort, of_beer] = [given, reading.gravity].map(|gravity| scale.gravity(gravity));
    let message = format!("{of_beer} out of a wort of {of_wort}: gravity does not rise by itself");
    let figure =
        |name, value, error, by: &str| Figure::plain(name, value, error, "SG", by.to_owned());
    Finding::new(NAME, Level::Note, reading.place, message)
        .about(batch.name.to_string())
        .labelled("higher")
        .pointing(wort.place, "the wort")
        .noting(format!("more than {ABOVE_WORT:.3} (judgement) and both may be out; what was added is allowed for"))
        .noting(reasons(season, batch, reading))
        .showing(figure("gravity", read, reading.error, "as read, corrected for its temperature"))
        .showing(figure("gravity-before", wanted, wort.gravity_error, "of all that it was given"))
}

fn finding_forced(season: &Season, batch: &Batch, forced: &Forced) -> Finding {
    let scale = Scale::of(season, Some(forced.place));
    let ended = scale.gravity(forced.gravity);
    // What was read last before it lies below it, or it is the wort itself.
    let read = batch.gravities.iter().rfind(|read| read.at <= forced.at && read.gravity < forced.gravity);
    let above = read.map_or_else(|| "the wort".to_owned(), |read| scale.gravity(read.gravity));
    let message = format!("a forced sample ends below its beer, and {ended} is no lower than {above}");
    let finding = Finding::new(NAME, Level::Warning, forced.place, message)
        .about(batch.name.to_string())
        .labelled("cannot be its end")
        .noting("mend the figure: until then it is not used, and the end is reckoned from its yeast and from what else was read");
    match read {
        Some(read) => finding.pointing(read.place, "the beer that it was taken of"),
        None => finding,
    }
}

fn finding(season: &Season, batch: &Batch, earlier: &GravityReading, later: &GravityReading) -> Finding {
    let (before, after) = (earlier.gravity.as_specific(), later.gravity.as_specific());
    let scale = Scale::of(season, Some(later.place));
    let [lower, higher] = [earlier, later].map(|read| scale.gravity(read.gravity));
    let message = format!("{higher} after {lower}: gravity does not rise by itself");
    let figure =
        |name, value, error| Figure::plain(name, value, error, "SG", "as read, corrected for its temperature".to_owned());
    Finding::new(NAME, Level::Note, later.place, message)
        .about(batch.name.to_string())
        .labelled("higher")
        .pointing(earlier.place, "lower, and earlier")
        .noting(format!(
            "more than both readings may be out ({:.3} and {:.3}); what was added in between is allowed for",
            earlier.error, later.error
        ))
        .noting(reasons(season, batch, later))
        .showing(figure("gravity", after, later.error))
        .showing(figure("gravity-before", before, earlier.error))
}
