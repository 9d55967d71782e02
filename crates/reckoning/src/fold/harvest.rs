//! Yeast taken out of a brew, and jars divided.

use std::sync::Arc;

use barm_quantity::{Estimate, FactorName, Measure};
use barm_syntax::ast::{AmountKind, Harvest, HarvestFrom, Kind, Shape};
use barm_zymology::storage::{self, Store};
use barm_zymology::{cake, supply};

use super::{Descent, Fold, Line, thickness, thousandth};
use crate::additions::Addition;
use crate::batch::Batch;
use crate::blends::Mix;
use crate::fault::Fault;
use crate::history::{Donor, Harvested};
use crate::lot::{LiveShare, State, Supply, normalised};
use crate::names::{LotId, LotKind};
use crate::{Fact, Moment, vessels, volumes};

impl Fold<'_, '_> {
    pub(super) fn harvest(&mut self, from: LotId, harvest: &Harvest, line: Line, at: Moment) {
        let context = self.context;
        let Some(into) = context.names.lot(&harvest.name.text) else { return };
        let declared_here = line.at(harvest.name.span);
        if context.names.lots.get(into.0 as usize).is_none_or(|l| l.place != declared_here) {
            return; // A doubled name: the first declaration holds.
        }
        self.descents.push(Descent { from, to: into, at, place: line.place, packaged: false });
        if context.kind(from) == Some(LotKind::Brew) {
            self.harvest_brew(from, into, harvest, line, at);
        } else {
            self.divide(from, into, harvest, line, at);
        }
    }

    /// A jar (or a starter) divided: the same yeast in another vessel, no generation older.
    pub(super) fn divide(&mut self, from: LotId, into: LotId, harvest: &Harvest, line: Line, at: Moment) {
        let place = line.place;
        let Some(taken) = self.take(from, Some(&harvest.amount), line, at, false) else { return };
        let Some(parent) = self.state(from).cloned() else { return };
        let mut state = State { last_draw: None, made: parent.made.or(Some((at, place))), ..parent };
        if matches!(state.supply, Supply::Wort) {
            // Yeast out of a starter: a slurry of its cells in the volume stated.
            let Some(measure) = whole(harvest.amount.kind).filter(|measure| measure.base() > 0.0) else {
                return;
            };
            let weighed = measure.dimension() == barm_quantity::Dimension::Mass;
            let millilitres = match weighed {
                true => measure.base() / supply::SLURRY_GRAMS_PER_ML,
                false => measure.base() * 1000.0,
            };
            let name = self.context.name(into);
            let thickness = harvest.thickness.map(thickness);
            let models = &self.context.settings.models;
            let density = match &taken.total {
                Some(total) => total.scaled(1.0 / millilitres),
                None => models.slurry(thickness, supply::Origin::Bottom, &name),
            };
            state.supply = Supply::Slurry { density, weighed };
            state.left = measure.base();
            // Of how many cells it was grown nobody asks, but whether it had grown at all where all of them may be dead.
            let may_be_dead = taken.unknown.as_ref().is_some_and(|unknown| unknown.was_frozen);
            let fresh = taken.live_share.filter(|_| !may_be_dead);
            state.live = fresh.map(|start| Box::new(self.slurry_from(start, at)));
            let count = Fact::Count(place, into);
            state.unknown = taken.unknown.map(|unknown| Box::new(unknown.from(&taken.name, count)));
            (state.made, state.counted_cells, state.put_away) = (Some((at, place)), None, Vec::new());
        } else if let Supply::Part { cells, .. } = &mut state.supply {
            *cells = cells.scaled(taken.taken);
            state.left = 1.0;
        } else {
            // `taken` is in shown units; the supply's own unit differs only for volumes.
            state.left = if state.supply.unit() == "mL" { taken.taken / 1000.0 } else { taken.taken };
        }
        state.declared = state.left;
        state.generation = taken.generation;
        if let Some(slot) = self.state_mut(into) {
            *slot = state;
        }
    }

    pub(super) fn slurry_from(&self, start: Estimate, at: Moment) -> LiveShare {
        LiveShare {
            start,
            since: Some(at),
            days_either_way: 0.0,
            begun: Some((at, 0.0)),
            reckoned_back: false,
            best_before: None,
            loss: self.context.settings.models.slurry_loss,
            store: Store::Slurry,
            first: self.context.settings.refrigerator(),
            kept: Vec::new(),
            measured: false,
        }
    }

    pub(super) fn harvest_brew(
        &mut self,
        from: LotId,
        into: LotId,
        harvest: &Harvest,
        line: Line,
        at: Moment,
    ) {
        let name = self.context.name(into);
        let measure = whole(harvest.amount.kind);
        let amount_place = line.at(harvest.amount.span);
        let wort = self.batch(from).and_then(|b| b.wort.as_ref()).map(|w| w.volume);
        if let (Some(measure), Some(wort)) = (measure, wort)
            && slurry_litres(&measure) >= wort.as_litres()
        {
            let wort = self.context.scale(amount_place).volume(wort);
            self.faults.push(match thousandth(&measure) {
                Some(likely) => Fault::UnlikelyUnit {
                    place: amount_place,
                    written: measure,
                    likely,
                    why: format!("the wort was {wort}"),
                    impossible: true,
                },
                None => Fault::Impossible {
                    place: amount_place,
                    why: format!("more yeast than there was wort ({wort})"),
                },
            });
            return;
        }
        if let (Some(measure), Some(jar)) = (measure, &harvest.vessel) {
            let litres = slurry_litres(&measure);
            let slack = volumes::slack(volumes::by_eye(&measure));
            volumes::fits(self.context, &jar.text, litres, (amount_place, slack), &mut self.faults);
        }
        let origin = match harvest.from {
            Some(HarvestFrom::Top) => supply::Origin::Top,
            _ if self.hopped(from, at) => supply::Origin::Hopped,
            _ if self.coned(from, at) => supply::Origin::Cone,
            _ => supply::Origin::Bottom,
        };
        // Off the top of a beer that still lays down its cake.
        let is_crop = origin == supply::Origin::Top && !self.has_worked(from, at);
        let models = &self.context.settings.models;
        let density = models.slurry(harvest.thickness.map(thickness), origin, &name);
        let fresh = models.harvested(self.strength(from, at), &name);
        let start = if self.is_boiled(from) { Estimate::exact(0.0) } else { fresh };
        let idle_since = self.worked_out(from, at).plus_hours(cake::KEEPS.as_hours());
        let exposure =
            storage::exposure(Store::Slurry, self.beer_temperature(from, at), at.since(idle_since));
        let start = (start * storage::left(models.slurry_loss, exposure, &name)).capped(1.0);
        let supply = match measure {
            Some(measure) => self.jar_of_cake((from, into), at, (density, is_crop), &measure),
            None => self.part_of_cake(from, at, (density, is_crop), harvest.amount.kind),
        };
        let left = measure.map_or(1.0, |measure| measure.base());
        let generation = self.generation(from);
        let lab = self.state(from).and_then(|s| s.lab);
        let parent = self.state(from);
        let rounds = parent.and_then(|s| s.rounds).map(|rounds| rounds + 1);
        let line_began = parent.and_then(|s| s.line);
        let shares = self.shares(from);
        let donor = Donor { lot: from, alcohol: self.strength(from, at) };
        if let Some(batch) = self.batch_mut(from) {
            batch.harvests.push(Harvested { place: line.place, at, lot: into, donor });
        }
        let live = self.slurry_from(start, at);
        let known_to = measure.map(|measure| measure.estimate(FactorName::new("amount", Arc::clone(&name))));
        if let Some(slot) = self.state_mut(into) {
            *slot = State {
                supply,
                left,
                declared: left,
                amount_factor: known_to.filter(|known_to| known_to.spread() > 0.0).map(Box::new),
                live: Some(Box::new(live)),
                generation,
                lab,
                shares,
                mix: Mix::default(),
                rounds,
                line: line_began,
                donor: Some(donor),
                made: Some((at, line.place)),
                ..State::unknown()
            };
        }
    }

    /// Whether the yeast in a brew was boiled, and none went in since.
    pub(super) fn is_boiled(&self, lot: LotId) -> bool {
        let dead = |live: &LiveShare| live.start.median() <= 0.0;
        self.batch(lot).is_some_and(|batch| batch.pitches.is_empty())
            && self.state(lot).and_then(|state| state.live.as_deref()).is_some_and(dead)
    }

    /// Slurry of a density leaves a cake, so much of it: its cells as a part of the cake's, and never more than all of them.
    /// More than there could be is beer where the yeast swims in it.
    fn jar_of_cake(
        &mut self,
        (brew, jar): (LotId, LotId),
        at: Moment,
        (density, is_crop): (Estimate, bool),
        measure: &Measure,
    ) -> Supply {
        let weighed = measure.dimension() == barm_quantity::Dimension::Mass;
        let millilitres = slurry_litres(measure) * 1000.0;
        let Some((cake, _)) = self.caked(brew, at).filter(|(cake, _)| cake.median() > 0.0) else {
            return Supply::Slurry { density, weighed };
        };
        let is_beer = density.low() * millilitres > cake.high() && self.swims(brew, at);
        let beer = self.batch(brew).and_then(|batch| batch.wort).filter(|_| is_beer);
        let density = match beer.map(|wort| wort.volume.as_millilitres()).filter(|beer| *beer > 0.0) {
            Some(beer) => density.scaled(cake.median() / beer / density.median()),
            None => density,
        };
        let cells = density.median() * millilitres;
        if let Some(there) = self.state(brew).filter(|state| state.left > 0.0) {
            let part = density.scaled(millilitres) / (cake.scaled(there.left) * there.known_to());
            self.stays(brew, &part, is_crop);
            let may_be_all = !is_crop && 1.0 - part.high() <= cake::STICKS.as_fraction();
            if let Some(state) = self.state_mut(brew).filter(|_| may_be_all) {
                state.jarred = Some(jar);
            }
        }
        // Not the cake's own estimate: what that is made of would grow with each generation.
        let density = if cells > cake.high() { density.scaled(cake.median() / cells) } else { density };
        Supply::Slurry { density, weighed }
    }

    /// A share of what is left of a cake leaves it. What is none, or one of nothing, says nothing of its cells.
    fn part_of_cake(
        &mut self,
        brew: LotId,
        at: Moment,
        (density, is_crop): (Estimate, bool),
        amount: AmountKind,
    ) -> Supply {
        let share = match amount {
            AmountKind::All => 1.0,
            AmountKind::Share(share) => share,
            _ => return Supply::Unknown,
        };
        let Some((cake, _)) = self.caked(brew, at) else { return Supply::Unknown };
        let Some(there) = self.state(brew).filter(|state| state.left > 0.0) else {
            return Supply::Unknown;
        };
        let cells = cake.scaled(share * there.left) * there.known_to();
        if is_crop {
            self.stays(brew, &Estimate::exact(share), true);
        } else if let Some(state) = self.state_mut(brew) {
            state.left -= share * state.left;
        }
        Supply::Part { cells, density: Box::new(density) }
    }

    /// What a jar that is a part of a cake leaves of it, or a crop of a cake to come: that part of what was left stays.
    fn stays(&mut self, brew: LotId, part: &Estimate, is_crop: bool) {
        let behind =
            if is_crop { cake::after_crop(part, &self.context.name(brew)) } else { cake::behind(part) };
        if let Some(state) = self.state_mut(brew) {
            let known_to = state.known_to() * normalised(&behind);
            state.left *= behind.median();
            state.amount_factor = (known_to.spread() > 0.0).then(|| Box::new(known_to));
        }
    }

    /// Whether yeast comes out of a cone of which something was let off before: what settled first is gone.
    pub(super) fn coned(&self, lot: LotId, at: Moment) -> bool {
        let vessel = vessels::is_in(self.context, lot, at);
        let shape = vessel.and_then(|vessel| self.context.vessels.named(vessel).shape);
        let Some(pitched) = self.batch(lot).and_then(Batch::pitched_at) else { return false };
        shape == Some(Shape::Conical)
            && self.context.events(lot).take_while(|(when, ..)| *when <= at).any(|(when, _, statement)| {
                matches!(&statement.kind, Kind::Dump(dump) if dump.lot.is_none() && dump.amount.is_some())
                    && when > pitched
            })
    }

    /// Whether hops (or other solids) went into the fermenter by a moment: they end up in the cake.
    pub(super) fn hopped(&self, lot: LotId, at: Moment) -> bool {
        let pitched = self.batch(lot).and_then(Batch::pitched_at);
        self.context.course(lot).take_while(|(when, _, _)| *when <= at).any(|(when, _, statement)| {
            let Kind::Add(add) = &statement.kind else { return false };
            let solid = matches!(add.amount.kind, AmountKind::Measured(m) if m.dimension() == barm_quantity::Dimension::Mass);
            solid
                && pitched.is_some_and(|p| when >= p)
                && Addition::read(&add.what.text) == Addition::Other
                && self.context.names.lot(&add.what.text).is_none()
        })
    }
}

/// The litres of so much slurry.
pub(super) fn slurry_litres(measure: &Measure) -> f64 {
    match measure.dimension() {
        barm_quantity::Dimension::Mass => measure.base() / supply::SLURRY_GRAMS_PER_ML / 1000.0,
        _ => measure.base(),
    }
}

/// `2 × 400 mL` is 800 mL in two jars.
fn whole(amount: AmountKind) -> Option<Measure> {
    match amount {
        AmountKind::Measured(measure) => Some(measure),
        AmountKind::Times(count, measure) => {
            Some(Measure { low: measure.low * count, high: measure.high * count, ..measure })
        }
        _ => None,
    }
}
