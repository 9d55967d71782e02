//! A part of a wort that is taken with the yeast in it.

use barm_zymology::cake;

use super::{Fold, last_fall};
use crate::batch::Guest;
use crate::lot::State;
use crate::names::LotId;
use crate::parting::Taken;
use crate::{Moment, Place};

impl Fold<'_, '_> {
    /// A part is taken: of the yeast it has as much as of the wort, and of all that is known of that the whole of it.
    pub(super) fn part(&mut self, whole: LotId, part: LotId, at: Moment, place: Place) {
        let (Some(from), Some(into)) = (self.batch(whole), self.batch(part)) else { return };
        let volume = into.wort.map(|wort| wort.volume);
        let share =
            volume.zip(from.wort).map(|(volume, from)| volume / from.volume).filter(|s| s.is_finite());
        let pitches: Vec<_> = from.pitches.iter().filter(|p| p.at <= at).map(|p| p.part(share)).collect();
        let in_whole = |guest: &&Guest| guest.at <= at && !guest.packaged;
        let guests: Vec<_> = from.guests.iter().filter(in_whole).cloned().collect();
        let gravities: Vec<_> = from.gravities.iter().filter(|read| read.at <= at).copied().collect();
        let by_then = |read: &[(Moment, f64, Place)]| -> Vec<_> {
            read.iter().filter(|(when, ..)| *when <= at).copied().collect()
        };
        let (temperatures, air) = (by_then(&from.temperatures), by_then(&from.air));
        let before = from.taken.as_deref();
        let first = before.map_or(from.wort.map(|wort| wort.volume), |before| before.first);
        let mut parts = before.map(|before| before.parts.clone()).unwrap_or_default();
        parts.extend(volume.map(|volume| (into.block, volume)));
        let traits = into.traits.or(&from.traits);
        let share = share.unwrap_or(1.0).min(1.0);
        // What has settled stays where it is.
        let settled = self.has_worked(whole, at);
        let Some(had) = self.state(whole).cloned() else { return };
        if let Some(state) = self.state_mut(whole) {
            let drawn = if settled { 0.0 } else { state.left.min(share) };
            state.left -= drawn;
            if drawn > 0.0 {
                state.last_draw = Some(place);
            }
        }
        if let Some(state) = self.state_mut(part) {
            *state = State {
                supply: state.supply.clone(),
                left: state.left,
                declared: state.declared,
                litres: state.litres,
                made: Some((at, place)),
                last_draw: None,
                counted_cells: had.counted_cells.as_ref().map(|cells| Box::new(cells.scaled(share))),
                mix: had.mix.part(share),
                ..had
            };
        }
        if let Some(batch) = self.batch_mut(part) {
            batch.traits = traits;
            batch.pitches.splice(0..0, pitches);
            batch.guests.splice(0..0, guests);
            batch.gravities.splice(0..0, gravities);
            batch.temperatures.splice(0..0, temperatures);
            batch.air.splice(0..0, air);
            batch.taken = Some(Box::new(Taken { whole, at, first, parts }));
        }
        self.descents.push(super::Descent { from: whole, to: part, at, place, packaged: false });
    }

    /// Whether a brew has worked, so that most of its yeast lies at the bottom.
    pub(super) fn has_worked(&self, lot: LotId, at: Moment) -> bool {
        let Some(batch) = self.batch(lot) else { return false };
        // What is read later tells nothing of what was there.
        let by = batch.gravities.partition_point(|read| read.at <= at);
        let last = by.checked_sub(1).and_then(|last| batch.gravities.get(last));
        let stands = last_fall(&batch.gravities, batch.wort.as_ref(), at)
            .is_some_and(|fell| last.is_some_and(|last| last.at > fell));
        stands || batch.pitched_at().is_some_and(|pitched| at.hours_since(pitched) >= cake::MADE.as_hours())
    }
}
