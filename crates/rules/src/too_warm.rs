use barm_reckoning::{Batch, Place, Season};

use crate::Report;
use crate::degree_hours::{End, check, told};
use crate::registry::rule;

const END: End = End {
    name: "too-warm",
    side: "above",
    gives: "a couple of degrees over tends to give green apple and solvent, most of all in the first three days (common \
            practice)",
    advice: "next time: pitch towards the cool end of the range, yeast heats the beer; cool within the first day",
    of: |found| &found.warm,
};

/// Whether a brew is told too warm at a place.
pub(crate) fn is_told_at(season: &Season, batch: &Batch, place: Place) -> bool {
    let found = batch.temperature.as_ref();
    found.is_some_and(|found| told(&END, season, batch, found).is_some_and(|told| told.place == place))
}

rule! {
    /// Warmer than its yeast likes, by degree-hours.
    TooWarm, "too-warm", Warning, "too_warm.md", |season: &Season, report: &mut Report| check(&END, season, report)
}
