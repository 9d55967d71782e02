use barm_reckoning::{Batch, FermentationFigures, Figure, GravityReading, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "gravity-rose";

rule! {
    /// A gravity above an earlier one, though nothing was added.
    GravityRose, "gravity-rose", Note, "gravity_rose.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        let Some(found) = batch.fermentation.as_ref().filter(|_| batch.gravities.len() > 1) else {
            report.silent(NAME, &batch.name, "there are no two gravities");
            continue;
        };
        match rose(batch, found) {
            Some((earlier, later)) => report.found(finding(batch, earlier, later)),
            None => report.silent(NAME, &batch.name, "no gravity lies above an earlier one of its instrument"),
        }
    }
}

/// The first reading that lies above an earlier one of its instrument by more than both errors, though nothing that was
/// added explains it.
fn rose<'b>(batch: &'b Batch, found: &FermentationFigures) -> Option<(&'b GravityReading, &'b GravityReading)> {
    let mut lowest: [Option<&GravityReading>; 2] = [None, None];
    for reading in &batch.gravities {
        if found.unknown_extract.is_some_and(|(from, _)| from <= reading.at) {
            return None;
        }
        let [hydrometer, refractometer] = &mut lowest;
        let lowest = if reading.refractometer { refractometer } else { hydrometer };
        // What was added since raised it by as much at the most.
        let risen = |earlier: &GravityReading| -> f64 {
            let of = |at| found.given_at(at).map_or(0.0, |given| given.gravity.as_specific());
            let added = (of(reading.at) - of(earlier.at)).max(0.0);
            reading.gravity.as_specific() - earlier.gravity.as_specific() - added
        };
        match *lowest {
            Some(earlier) if risen(earlier) > earlier.error + reading.error + 1e-9 => return Some((earlier, reading)),
            Some(earlier) if risen(earlier) >= 0.0 => {}
            _ => *lowest = Some(reading),
        }
    }
    None
}

fn finding(batch: &Batch, earlier: &GravityReading, later: &GravityReading) -> Finding {
    let (before, after) = (earlier.gravity.as_specific(), later.gravity.as_specific());
    let message = format!("{after:.3} after {before:.3}: gravity does not rise by itself");
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
        .noting("bubbles on the hydrometer, a warm sample without its `at`, a sample from the bottom, or a slip of the pen")
        .showing(figure("gravity", after, later.error))
        .showing(figure("gravity-before", before, earlier.error))
}
