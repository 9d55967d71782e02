//! Lots that grow: starters, cakes, and how much of them lives.

use barm_quantity::{Estimate, Plato, Share, Span, Temperature, significant};
use barm_syntax::ast::{Kind, Krausen};
use barm_zymology::storage::{self, Store};
use barm_zymology::{alcohol, cake, fermentation, pitching, starter};

use super::{Fold, before, last_fall};
use crate::Moment;
use crate::additions::Addition;
use crate::fermentation::foam;
use crate::history::Frozen;
use crate::lot::{LiveShare, Supply};
use crate::names::{LotId, LotKind};

impl Fold<'_, '_> {
    /// The part of a lot's cells that lives at a moment.
    pub(super) fn live_share(&self, lot: LotId, at: Moment) -> Option<Estimate> {
        let name = self.context.name(lot);
        let state = self.state(lot)?;
        if !matches!(state.supply, Supply::Wort) {
            return state.living(at).map(|live| live.at(at, &name));
        }
        if self.frozen(lot, at).is_some() {
            return None;
        }
        if let Some(live) = &state.live {
            return Some(live.at(at, &name));
        }
        let batch = self.batch(lot)?;
        let pitched = batch.pitched_at()?;
        let models = &self.context.settings.models;
        let idle = |from: Moment, temperature: Temperature| {
            let exposure = storage::exposure(Store::Slurry, temperature, at.since(from));
            storage::left(models.slurry_loss, exposure, &name)
        };
        if batch.kind == LotKind::Starter {
            // It ages once it has worked out, or is put into the cold.
            if let Some(resting) = self.resting(lot) {
                return Some(resting.at(at, &name));
            }
            let worked = pitched.plus_hours(starter::KEEPS.as_hours());
            return Some((starter::fresh(&name) * idle(worked, self.beer_temperature(lot, at))).capped(1.0));
        }
        let fresh = models.harvested(self.strength(lot, at), &name);
        let rests = self.worked_out(lot, at).plus_hours(cake::KEEPS.as_hours());
        Some((fresh * idle(rests, self.beer_temperature(lot, at))).capped(1.0))
    }

    /// A starter that was put into the cold ages like a slurry.
    fn resting(&self, lot: LotId) -> Option<LiveShare> {
        let ((first, temperature, _), later) = self.state(lot)?.put_away.split_first()?;
        let fresh = self.slurry_from(starter::fresh(&self.context.name(lot)), *first);
        Some(LiveShare { first: *temperature, kept: later.to_vec(), ..fresh })
    }

    /// How a lot was frozen before a moment. What lies under a beer is not: that is lagered as cold as it stays beer.
    pub(super) fn frozen(&self, lot: LotId, at: Moment) -> Option<Frozen> {
        let state = self.state(lot)?;
        if self.context.kind(lot) != Some(LotKind::Starter) {
            return state.frozen(at);
        }
        if let Some(live) = state.live.as_deref() {
            return live.frozen(at);
        }
        let (_, _, first) = state.put_away.first()?;
        let found = self.resting(lot)?.frozen(at)?;
        Some(Frozen { place: found.place.or(Some(*first)), ..found })
    }

    /// The beer's temperature as last read at a moment, else what it is held at, else a room's.
    pub(super) fn beer_temperature(&self, lot: LotId, at: Moment) -> Temperature {
        let Some(batch) = self.batch(lot) else { return fermentation::UNREAD };
        let read = before(&batch.temperatures, |(when, _, _)| *when <= at).map(|(when, t, _)| (*when, *t));
        let kept =
            self.state(lot).and_then(|s| s.put_away.last()).map(|(when, t, _)| (*when, t.as_celsius()));
        let read = match (read, kept) {
            (Some(read), Some(kept)) => Some(if kept.0 >= read.0 { kept.1 } else { read.1 }),
            (read, kept) => read.or(kept).map(|(_, t)| t),
        };
        let held = batch.hold.map(|((low, high), _)| f64::midpoint(low, high));
        let room = self.context.settings.places.get("room").copied().unwrap_or(fermentation::UNREAD);
        read.or(held).map_or(room, Temperature::celsius)
    }

    /// The last reading that still fell by a moment; without readings, when such a beer has worked out.
    pub(super) fn worked_out(&self, lot: LotId, at: Moment) -> Moment {
        let Some(batch) = self.batch(lot) else { return at };
        let pitched = batch.pitched_at().unwrap_or(at);
        last_fall(&batch.gravities, batch.wort.as_ref(), at)
            .unwrap_or_else(|| pitched.plus_hours(fermentation::WORKED_OUT.as_hours()))
            .min(at)
    }

    /// Days since yeast went into a starter.
    pub(super) fn starter_age(&self, lot: LotId, at: Moment) -> Option<f64> {
        self.batch(lot)?.pitched_at().map(|pitched| at.hours_since(pitched) / 24.0)
    }

    /// Days that a cake has lain under beer that no longer worked.
    pub(super) fn cake_age(&self, lot: LotId, at: Moment) -> Option<f64> {
        self.batch(lot)?;
        Some(at.hours_since(self.worked_out(lot, at)) / 24.0)
    }

    /// Alcohol of a brew by its last gravity at a moment.
    pub(super) fn strength(&self, lot: LotId, at: Moment) -> Option<barm_quantity::Share> {
        let batch = self.batch(lot)?;
        let last = before(&batch.gravities, |g| g.at <= at)?;
        let original = crate::fermentation::original_by(self.context, batch, last.at)?;
        Some(alcohol::by_volume(original, last.gravity))
    }

    /// Live cells that went into a batch.
    pub(super) fn pitched_cells(&self, lot: LotId) -> Option<Estimate> {
        let batch = self.batch(lot)?;
        let known: Vec<Estimate> = batch.pitches.iter().filter_map(|p| p.live.clone()).collect();
        (!known.is_empty()).then(|| known.into_iter().sum())
    }

    /// All cells in a starter at a moment: as they were counted, else by its growth.
    pub(super) fn grown(&self, lot: LotId, at: Moment) -> Option<(Estimate, String)> {
        if let Some(cells) = self.state(lot).and_then(|state| state.counted_cells.as_deref()) {
            let from = format!("{} B counted", significant(cells.median() / 1e9, 2));
            return Some((cells.clone(), from));
        }
        let batch = self.batch(lot)?;
        let pitched = self.pitched_cells(lot)?;
        let Some(wort) = &batch.wort else {
            if self.asks_for_wort(lot) {
                return None;
            }
            return Some((pitched, "no growth reckoned: its wort is not known".to_owned()));
        };
        let put_away = self.state(lot).and_then(|state| state.put_away.first());
        let stopped = put_away.map_or(at, |(kept, ..)| at.min(*kept));
        let begun = batch.pitched_at();
        let time = begun.map(|p| stopped.since(p));
        let temperature = self.beer_temperature(lot, at);
        // What was read of it holds it back, and its clock goes on from there.
        let read = begun.and_then(|begun| self.read_of_starter(lot, (begun, stopped)));
        let worked = read.map(|(read, gone, _)| {
            let worked =
                starter::worked(&pitched, wort.volume, wort.strength, batch.method, temperature, gone);
            worked + stopped.since(read)
        });
        let idle = read.filter(|(_, gone, _)| gone.as_fraction() <= 0.0).map(|(read, _, idle)| (read, idle));
        let believed =
            idle.map_or(Share::fraction(1.0), |(_, idle)| starter::believed_after(idle, temperature));
        // Once it has grown, how long its yeast has been in it is what is told.
        let grows = starter::time_to_finish(&pitched, wort.volume, wort.strength, batch.method, temperature);
        let held_back = worked.filter(|worked| *worked < grows);
        let time = time.map(|time| held_back.map_or(time, |worked| worked.min(time)));
        let total = starter::grown(
            &pitched,
            wort.volume,
            wort.strength,
            batch.method,
            temperature,
            time,
            &batch.name,
        );
        let total = starter::in_doubt(&pitched, &total, believed, &batch.name);
        let how = match batch.method {
            starter::Method::Still => "standing",
            starter::Method::Shaken => "shaken",
            starter::Method::Stirred => "stirred",
        };
        let hours = time.map_or(0.0, |t| t.as_hours());
        let scale = self.context.scale(wort.place);
        let (cells, volume) = (pitched.median() / 1e9, scale.volume(wort.volume));
        let wort = format!("{volume} at {}", scale.gravity(wort.gravity));
        let mut from = match idle {
            Some((read, _)) if total.median() < 1.01 * pitched.median() => {
                format!("{cells:.0} B in {wort}, {how}, and no sign of work by {read}")
            }
            Some((read, _)) if believed < Share::fraction(1.0) => format!(
                "{cells:.0} B in {wort}, {how}, no sign of work by {read}, and of what may have grown since a part is believed"
            ),
            _ => format!("{cells:.0} B grown in {wort}, {how}, {hours:.0} h"),
        };
        if begun.is_some_and(|begun| self.is_fed(lot, (begun, stopped))) {
            from.push_str(", and nothing in what was added to it");
        }
        Some((total, from))
    }

    /// How far a starter had come when its gravity or its krausen last told of it: by when, how much of its extract was gone, and
    /// where none was for how long at the least.
    fn read_of_starter(&self, lot: LotId, (begun, until): (Moment, Moment)) -> Option<(Moment, Share, Span)> {
        let batch = self.batch(lot)?;
        let wort = batch.wort.as_ref()?;
        // Of the day that it ends on what was read at no time told is of before.
        let by = |at: Moment, hours_either_way: f64| {
            let of_the_day = hours_either_way >= 12.0 && at.day_number() == until.day_number();
            if of_the_day { at.min(until) } else { at }
        };
        let foam = foam(self.context.events(lot)).map(|(at, _, hours, krausen)| (at, hours, Err(krausen)));
        let gravities = batch.gravities.iter().map(|read| (read.at, read.hours_either_way, Ok(read)));
        let signs = foam.chain(gravities).map(|(at, hours, sign)| (by(at, hours), hours, sign));
        let signs = signs.filter(|(at, ..)| *at >= begun && *at <= until);
        let mut signs: Vec<_> = signs.collect();
        signs.sort_by_key(|(at, ..)| *at);
        let idle = |at: Moment, hours_either_way: f64| {
            let hours = (at.hours_since(begun) - hours_either_way).max(0.0);
            (at, Share::fraction(0.0), Span::hours(hours))
        };
        let (mut last, mut has_worked) = (None, false);
        for (at, hours_either_way, sign) in signs {
            match sign {
                Ok(read) => {
                    let fall = wort.gravity.as_specific() - read.gravity.as_specific();
                    let error = wort.gravity_error + read.error + 1e-9;
                    let moved = fall > error;
                    let gone = alcohol::apparent_attenuation(wort.gravity, read.gravity);
                    // A slip of the pen tells nothing.
                    if fall >= -error {
                        last = Some(if moved {
                            (at, gone, Span::default())
                        } else {
                            idle(at, hours_either_way)
                        });
                    }
                    has_worked |= moved;
                }
                Err(Krausen::None) if !has_worked => last = Some(idle(at, hours_either_way)),
                Err(Krausen::None) => {}
                Err(_) => (last, has_worked) = (None, true),
            }
        }
        last
    }

    /// Whether anything with extract in it was added to a starter after its yeast: a second step, which is not reckoned.
    fn is_fed(&self, lot: LotId, (begun, until): (Moment, Moment)) -> bool {
        let since = self.context.events_from(lot, begun).take_while(|(at, ..)| *at <= until);
        since.skip_while(|(.., statement)| !self.context.brings_yeast(&statement.kind)).any(
            |(.., statement)| {
                let Kind::Add(add) = &statement.kind else { return false };
                matches!(Addition::of(add), Addition::Sugar(_) | Addition::Wort | Addition::Juice)
            },
        )
    }

    /// Whether how large a wort is is still asked, or stands in a line that could not be read.
    pub(super) fn asks_for_wort(&self, lot: LotId) -> bool {
        let context = self.context;
        self.batch(lot).is_some_and(|batch| batch.wort.is_none())
            && (context.has_wort_line(lot) || context.has_lost_wort(lot))
    }

    /// All cells in a brew's cake, or in the beer that will leave one.
    pub(super) fn caked(&self, lot: LotId, at: Moment) -> Option<(Estimate, String)> {
        let batch = self.batch(lot)?;
        let wort = batch.wort.as_ref()?;
        let pitched = self
            .pitched_cells(lot)
            .unwrap_or_else(|| pitching::unknown(wort.strength, wort.volume, &batch.name));
        let grown = batch.pitched_at().map_or(1.0, |pitched| cake::grown(at.since(pitched)).as_fraction());
        let fermented = Plato::degrees(wort.strength.as_degrees() * grown);
        let total = cake::left(&pitched, fermented, wort.volume, &batch.name);
        let what = if grown < 1.0 { "yeast" } else { "cake" };
        let mut from = format!(
            "the {what} of {} at {:.1} °P: what was pitched and 3 M/mL for each °P",
            self.context.scale(wort.place).volume(wort.volume),
            wort.strength.as_degrees()
        );
        if grown < 1.0 {
            from.push_str(&format!(", of which some {:.0} % has grown by then", grown * 100.0));
        }
        Some((total, from))
    }
}
