//! What is still to ferment in beer as it is packaged, or did so after that.

use barm_quantity::{CarbonDioxide, Gravity, Mass, Share, Volume};
use barm_syntax::ast::{Kind, Organism};
use barm_zymology::fermentation::{SAME, tells_for};
use barm_zymology::{alcohol, carbonation, gravity};

use super::{UNSEEN, before};
use crate::batch::Batch;
use crate::context::Context;
use crate::fermentation::{ExpectedEnd, FermentationFigures};
use crate::{Moment, Place};

/// Extract that is still to ferment.
#[derive(Debug, Clone, PartialEq)]
pub struct ToFerment {
    /// Something was added since the reading, and counts.
    pub fed: bool,
    /// The carbon dioxide that it gives.
    pub gas: CarbonDioxide,
    /// Give or take.
    pub error: CarbonDioxide,
    /// The gravity that it is reckoned from, and where it was read.
    pub gravity: f64,
    /// Where it was read.
    pub place: Place,
    /// How long before packaging, h.
    pub hours_before: f64,
    /// So long that most of it may have gone unread.
    pub stale: bool,
    /// Where it is expected to end.
    pub end: ExpectedEnd,
    /// Where it was read lower after it was packaged: it went on.
    pub went_on: Option<Place>,
}

/// What is still to ferment at a moment of all that was given by another: what was given as priming is counted as such. `until`:
/// when it was put where it is too cold to work, or that moment.
pub(super) fn to_ferment(
    batch: &Batch,
    fermentation: &FermentationFigures,
    (at, until): (Moment, Moment),
    given_by: Moment,
) -> Option<ToFerment> {
    let reading = before(batch, at)?;
    let lager = batch.traits.organism == Some(Organism::Lager);
    let (extract, or_more, end) = fermentation.still_to_ferment(reading, given_by)?;
    let litre = Volume::litres(1.0);
    // What goes on for ever so slowly takes the half of it, or none or all.
    let rests = fermentation.rests(batch, at, given_by);
    let (extract, or_more) =
        if rests { (extract * 0.5, or_more + extract * 0.5) } else { (extract, or_more) };
    let of_error = extract_between(reading.error);
    let error = Mass::grams(of_error.as_grams().hypot(or_more.as_grams()));
    let given = [fermentation.given_by((reading.at, reading.place)), fermentation.given_at(given_by)];
    let fed = given[0] != given[1];
    // What was given since has had no longer, and what slept until fresh yeast came works from then on.
    let woken = fermentation.fresh_by(given_by).filter(|(fresh, _)| *fresh >= reading.at);
    let given_last = given[1].filter(|_| fed).map(|given| given.from);
    let last = given_last.max(woken.map(|(fresh, _)| fresh)).unwrap_or(reading.at);
    Some(ToFerment {
        gas: carbonation::from_extract(extract, litre),
        error: carbonation::from_extract(error, litre),
        gravity: reading.gravity.as_specific(),
        place: reading.place,
        hours_before: at.hours_since(reading.at),
        fed,
        // In the cold nothing happens to it.
        stale: fermentation.cold.map_or(until, |cold| cold.min(until)).since(last)
            > if fed || woken.is_some() { UNSEEN } else { tells_for(lager) },
        end,
        went_on: None,
    })
}

/// What fermented after a beer was packaged, where a bottle that was opened later, or what was left of the beer, was read lower.
pub(super) fn went_on(
    context: &Context<'_>,
    batch: &Batch,
    found: &FermentationFigures,
    (at, place): (Moment, Place),
) -> Option<ToFerment> {
    let before = before(batch, at)?;
    // What is given to the rest of it later takes that elsewhere.
    let later = context.events(batch.lot).skip_while(|(when, ..)| *when < at);
    let changed = later.filter(|(when, shelved, line)| {
        (*when, shelved.place(line.span)) > (at, place) && matches!(line.kind, Kind::Add(_) | Kind::Pitch(_))
    });
    let changed = changed.map(|(when, ..)| when).next().unwrap_or(Moment::LAST);
    // A logger may float in the rest or lie on the bench.
    let read = batch.gravities.iter().filter(|read| !read.logged && read.at > at && read.at <= changed);
    let lowest = read.reduce(|lowest, read| if read.gravity < lowest.gravity { read } else { lowest })?;
    // Water thins it, and nothing has fermented.
    let given = [before, lowest].map(|read| found.given_by((read.at, read.place)).map(|given| given.volume));
    let thinned = given[0].zip(given[1]).map_or(1.0, |(then, now)| then / now.max(then));
    let fallen = (before.gravity.as_specific() - 1.0) * thinned - (lowest.gravity.as_specific() - 1.0);
    let error = before.error.hypot(lowest.error);
    if fallen <= SAME.as_specific().max(2.0 * error) + 1e-9 {
        return None;
    }
    let litre = Volume::litres(1.0);
    let gas = |fallen| carbonation::from_extract(extract_between(fallen), litre);
    Some(ToFerment {
        fed: false,
        gas: gas(fallen),
        error: gas(error),
        gravity: before.gravity.as_specific(),
        place: before.place,
        hours_before: at.hours_since(before.at),
        stale: false,
        end: ExpectedEnd::read(lowest, found.attenuation(lowest)?),
        went_on: Some(lowest.place),
    })
}

/// Extract that goes from a litre as its gravity falls by so much.
pub(super) fn extract_between(specific: f64) -> Mass {
    let fallen = gravity::plato(Gravity::specific(1.0 + specific));
    gravity::extract(alcohol::extract_fermented(fallen, Share::percent(100.0))) * Volume::litres(1.0)
}
