//! What the blocks declare: cultures with their stock, starters and brews with their wort.

use std::sync::Arc;

use barm_quantity::{Cells, CellsPerGram, Dimension, Estimate, FactorName, Measure, Temperature};
use barm_syntax::ast::{
    Amount, AmountKind, Asked, BlockKind, DatedWhat, Kind, Measured, Organism, Quantity, Slurry,
};
use barm_zymology::storage::{self, Store};
use barm_zymology::{heat, starter, supply};

use super::{Fold, thickness, thousandfold};
use crate::batch::{Batch, GravityReading, Missing};
use crate::degrees;
use crate::fault::Fault;
use crate::heat::HeatFigures;
use crate::lot::{LiveShare, State, Supply};
use crate::names::{LotId, LotKind};
use crate::record::Record;
use crate::strain::{Makes, Rate, StrainId, Traits};
use crate::timeline::{self, Shelved};
use crate::{Fact, Moment, Place, advice, logger, volumes, wort};

/// The most yeast in a millilitre: cells of 5 µm, as close as spheres lie at random (64 %).
pub(super) const PACKED: f64 = 10e9;
/// The most in a gram of dry yeast: such a cell weighs over 20 pg when it is dry.
const DRY: f64 = 50e9;
/// No pack of liquid yeast holds fewer cells (judgement).
const LEAST_PACK: f64 = 1e9;
/// A slurry may hold so many times more or less than such slurries do, and be like them all the same (judgement).
const SLURRIES_DIFFER: f64 = 2.0;

impl Fold<'_, '_> {
    /// Whether so many cells have room in a millilitre or a gram; bacteria are a hundred times smaller.
    pub(super) fn is_possible(&mut self, cells: &Quantity, organism: Option<Organism>, place: Place) -> bool {
        let measure = &cells.measure;
        let (most, why) = match measure.dimension() {
            Dimension::CellsPerMass => (DRY, "no dry yeast holds so many cells as"),
            _ => (PACKED, "not even packed yeast holds so many cells as"),
        };
        let is_possible = organism == Some(Organism::Bacteria) || measure.high_base() <= most;
        if !is_possible {
            self.faults.push(Fault::Impossible { place, why: format!("{why} {measure}") });
        }
        is_possible
    }

    /// The density of a slurry as it is likely meant, where a thousand times as much is what such slurry holds: told, and `None`
    /// where it is as written.
    pub(super) fn meant_density(
        &mut self,
        written: &Quantity,
        usual: &Estimate,
        organism: Option<Organism>,
        shelved: &Shelved<'_>,
    ) -> Option<Quantity> {
        let likely = thousandfold(&written.measure).filter(|_| organism != Some(Organism::Bacteria))?;
        let (low, high) = (usual.low() / SLURRIES_DIFFER, usual.high() * SLURRIES_DIFFER);
        if likely.low_base() < low || likely.high_base() > high {
            return None;
        }
        let usual = advice::billions_range(usual);
        let why = format!("a slurry like that holds some {usual}/mL");
        self.tell_unlikely(written, likely, why, shelved)
    }

    /// What a pack of liquid yeast is likely labelled with, where it is not what is written.
    fn meant_label(
        &mut self,
        written: &Quantity,
        organism: Option<Organism>,
        shelved: &Shelved<'_>,
    ) -> Option<Quantity> {
        let likely = thousandfold(&written.measure).filter(|_| organism != Some(Organism::Bacteria))?;
        if written.measure.high_base() >= LEAST_PACK {
            return None;
        }
        self.tell_unlikely(written, likely, "no pack holds so little".to_owned(), shelved)
    }

    fn tell_unlikely(
        &mut self,
        written: &Quantity,
        likely: Measure,
        why: String,
        shelved: &Shelved<'_>,
    ) -> Option<Quantity> {
        let (place, of) = (shelved.place(written.span), written.measure);
        self.faults.push(Fault::UnlikelyUnit { place, written: of, likely, why, impossible: false });
        Some(Quantity { measure: likely, ..*written })
    }

    pub(super) fn declare_culture(&mut self, lot: LotId, shelved: &Shelved<'_>) {
        let block = shelved.block;
        let name = self.context.name(lot);
        let own = Traits::of(block);
        let mut state = State::unknown();
        // A culture with facts of its own is an organism of its own, known by its strain's facts where it has none.
        let strains: Vec<StrainId> = block.strains.iter().map(|s| self.strains.named(&s.text)).collect();
        let known = strains.first().and_then(|s| self.strains.get(*s)).and_then(|s| s.traits.organism);
        let organism = own.organism.or(known);
        let mut makes = Makes::of(block);
        state.shares = if own == Traits::default() && makes.is_empty() && !strains.is_empty() {
            #[expect(clippy::cast_precision_loss, reason = "a handful of strains")]
            let share = 1.0 / strains.len() as f64;
            // Equal parts stand for what nobody stated.
            state.rounds = (strains.len() == 1).then_some(0);
            strains.into_iter().map(|s| (s, share)).collect()
        } else {
            let of = strains.first().and_then(|s| self.strains.get(*s));
            let known = of.map(|s| s.traits.clone()).unwrap_or_default();
            if makes.is_empty() {
                makes = of.map(|s| s.makes.clone()).unwrap_or_default();
            }
            vec![(
                self.strains.own(Arc::clone(&name), shelved.place(block.header), own.or(&known), makes),
                1.0,
            )]
        };
        let refrigerator = self.context.settings.refrigerator();
        let models = &self.context.settings.models;
        let mut kept = refrigerator;
        let (mut dated, mut best_before) = (None, None);
        let mut claimed = None;
        let mut from_lab = false;
        for statement in &block.statements {
            match &statement.kind {
                Kind::Pack(pack) => {
                    let cells = self.meant_label(&pack.cells, organism, shelved).unwrap_or(pack.cells);
                    let label = Cells::each(cells.measure.base());
                    state.supply = Supply::Packs { each: supply::pack(label, &name) };
                    (state.left, from_lab) = (pack.count, true);
                }
                Kind::Sachet(sachet) => {
                    let label = sachet.cells.filter(|q| self.is_possible(q, organism, shelved.place(q.span)));
                    let label = label.map(|q| CellsPerGram::billions(q.measure.base() / 1e9));
                    let per_gram = models.dry(label, &name);
                    let grams = sachet.mass.measure.base();
                    state.supply = Supply::Dry { per_gram, sachet: grams };
                    (state.left, from_lab) = (sachet.count * grams, true);
                }
                Kind::Slurry(slurry) => {
                    let usual = models.slurry(None, supply::Origin::Bottom, &name);
                    let cells =
                        slurry.cells.map(|q| self.meant_density(&q, &usual, organism, shelved).unwrap_or(q));
                    let cells = cells.filter(|q| self.is_possible(q, organism, shelved.place(q.span)));
                    self.declare_slurry(&mut state, &Slurry { cells, ..Slurry::clone(slurry) }, &name);
                }
                Kind::Slant => {
                    state.supply = Supply::Slant;
                    (state.left, from_lab) = (f64::INFINITY, true);
                }
                Kind::Vial(vial) => {
                    state.supply = Supply::Vials { litres: vial.volume.measure.base(), density: None };
                    (state.left, from_lab) = (vial.count, true);
                }
                Kind::Dated(date) => {
                    let at = Moment::new(date.date, 12 * 60);
                    let told = (at, f64::from(date.days_either_way), shelved.place(statement.span));
                    match date.what {
                        DatedWhat::BestBefore => best_before = Some(told),
                        DatedWhat::Made | DatedWhat::Harvested => dated = Some(told),
                    }
                }
                Kind::Generation(q) => {
                    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "saturates")]
                    let generation = q.measure.base().max(0.0) as u32;
                    state.generation = Some(generation);
                }
                Kind::Loses(q) => claimed = Some(barm_quantity::Share::fraction(q.measure.base())),
                Kind::Kept(k) if statement.day.is_none() => {
                    let (written, place) = (k.temperature.measure, shelved.place(k.temperature.span));
                    let read = degrees::read(written, degrees::Of::Yeast, place, &mut self.faults);
                    kept = Temperature::celsius(read.base());
                }
                _ => {}
            }
        }
        state.declared = state.left;
        let reckoned_back = dated.is_none() && best_before.is_some();
        let dated = dated.or_else(|| {
            let (at, either_way, place) = best_before?;
            let (before, give_or_take) = match state.supply {
                Supply::Dry { .. } => storage::DRY_BEFORE_BEST_BEFORE,
                _ => storage::BEFORE_BEST_BEFORE,
            };
            Some((at.plus_hours(-before.as_hours()), either_way + give_or_take.as_days(), place))
        });
        state.made = dated.map(|(at, _, place)| (at, place));
        if from_lab {
            state.generation = state.generation.or(Some(0));
            state.lab = dated.map(|(at, ..)| at);
        }
        let (store, mut loss, start) = match state.supply {
            Supply::Dry { .. } => (Store::Dry, storage::DRY, Estimate::exact(1.0)),
            Supply::Slurry { .. } => (Store::Slurry, models.slurry_loss, models.harvested(None, &name)),
            _ => (Store::Pack, models.pack_loss, Estimate::exact(1.0)),
        };
        if let Some(claimed) = claimed {
            loss = storage::claimed(claimed);
        }
        state.live = Some(Box::new(LiveShare {
            start,
            since: dated.map(|(at, ..)| at),
            days_either_way: dated.map_or(0.0, |(_, days, _)| days),
            begun: dated.map(|(at, days, _)| (at, days)),
            reckoned_back,
            // A month is good to its end.
            best_before: best_before.map(|(at, either_way, _)| {
                if either_way > 0.0 { at.date().last_of_month() } else { at.date() }
            }),
            loss,
            store,
            first: kept,
            kept: Vec::new(),
            measured: false,
        }));
        if let Some(slot) = self.state_mut(lot) {
            *slot = state;
        }
    }

    pub(super) fn declare_slurry(&self, state: &mut State, slurry: &Slurry, name: &Arc<str>) {
        let density = match &slurry.cells {
            Some(cells) => cells.measure.estimate(FactorName::new("cell density", Arc::clone(name))),
            None => {
                let models = &self.context.settings.models;
                models.slurry(slurry.thickness.map(thickness), supply::Origin::Bottom, name)
            }
        };
        if let AmountKind::Measured(measure) = slurry.amount.kind {
            let weighed = measure.dimension() == barm_quantity::Dimension::Mass;
            state.left = measure.base();
            state.supply = Supply::Slurry { density, weighed };
            let known_to = measure.estimate(FactorName::new("amount", Arc::clone(name)));
            state.amount_factor = (known_to.spread() > 0.0).then(|| Box::new(known_to));
        }
    }

    pub(super) fn declare_batch(&mut self, lot: LotId, shelved: &Shelved<'_>) {
        let block = shelved.block;
        let mut batch = Batch {
            lot,
            name: self.context.name(lot),
            kind: if block.kind == BlockKind::Starter { LotKind::Starter } else { LotKind::Brew },
            block: shelved.id,
            place: shelved.place(block.name.as_ref().map_or(block.header, |n| n.span)),
            traits: Traits::of(block),
            hold: None,
            target: None,
            method: starter::Method::Still,
            wort: None,
            filled: None,
            earlier: Vec::new(),
            later: Vec::new(),
            taken_out: Vec::new(),
            parted: None,
            taken: None,
            pitches: Vec::new(),
            guests: Vec::new(),
            pitch: None,
            oxygen: None,
            temperature: None,
            fermentation: None,
            unpitched: None,
            heat: HeatFigures::default(),
            packages: Vec::new(),
            gravities: Vec::new(),
            temperatures: Vec::new(),
            air: Vec::new(),
            logged_pressure: None,
            pressures: Vec::new(),
            doses: Vec::new(),
            harvests: Vec::new(),
            one_strain: false,
            blend: None,
            record: Record::default(),
            last_event: None,
            asks: false,
            asks_for_yeast: false,
            missing: Vec::new(),
        };
        let asked = |amount: &Option<Amount>| matches!(amount, Some(Amount { kind: AmountKind::Asked, .. }));
        batch.last_event = self.context.events(lot).map(|(at, ..)| at).max();
        let pitched = wort::pitched(self.context, lot, shelved.id);
        for statement in &block.statements {
            match &statement.kind {
                Kind::Hold(q) => {
                    let place = shelved.place(q.span);
                    let measure = degrees::read(q.measure, degrees::Of::Beer, place, &mut self.faults);
                    // A single temperature is held by a controller that lets it swing: a kelvin either way (judgement).
                    let slack = if measure.is_range() { 0.0 } else { heat::HELD_WITHIN.as_kelvin() };
                    let range = (measure.low_base() - slack, measure.high_base() + slack);
                    batch.hold = Some((range, shelved.place(statement.span)));
                }
                Kind::Target(q) => {
                    let place = shelved.place(statement.span);
                    batch.target = Rate::of(&q.measure).map(|rate| Box::new((rate, place)));
                    batch.asks = true;
                }
                Kind::Wort(wort) => {
                    let strength = wort.gravity.known().map(|q| (q.measure, shelved.place(q.span)));
                    let likely = strength.and_then(|(written, place)| {
                        let likely = wort::has_a_zero_too_many(self.context, lot, &written, place)?;
                        Some(Fault::UnlikelyUnit {
                            place,
                            written,
                            likely,
                            why: "no wort is so thin".to_owned(),
                            impossible: false,
                        })
                    });
                    self.faults.extend(likely);
                }
                Kind::WortOf(of) => {
                    let from = self.context.known_lot(&of.brew, shelved, &mut self.faults);
                    let kind = from.and_then(|from| self.context.kind(from));
                    let name = &of.brew.text;
                    let why = match kind {
                        Some(LotKind::Culture | LotKind::Harvest) => {
                            Some(format!("`{name}` is yeast and has no wort: a part is taken of a brew's"))
                        }
                        _ if from == Some(lot) => Some(format!(
                            "a part is taken of another brew's wort, and this is `{name}` itself"
                        )),
                        _ => None,
                    };
                    if let Some(why) = why {
                        self.faults.push(Fault::Impossible { place: shelved.place(of.brew.span), why });
                    }
                }
                Kind::Shaken => batch.method = starter::Method::Shaken,
                Kind::Stirred => batch.method = starter::Method::Stirred,
                Kind::Pitch(pitch) => batch.asks |= asked(&pitch.amount),
                Kind::Aerate(aerate) => batch.asks |= matches!(aerate.duration, Some(Asked::Asked(_))),
                _ => {}
            }
        }
        match self.wholes.start(self.context, lot, shelved) {
            Ok(start) => {
                let pitched = wort::at_pitching(self.context, lot, start, pitched);
                batch.wort = Some(pitched.wort);
                batch.filled = pitched.filled.filter(|_| batch.kind == LotKind::Brew).map(Box::new);
                (batch.earlier, batch.later) = (pitched.earlier, pitched.later);
                batch.taken_out = pitched.taken_out;
                batch.parted = wort::parted_from(self.context, lot).map(|_| Box::new(start));
                if let Some((whole, wort, left)) = self.wholes.take(self.context, lot, start.wort.volume) {
                    self.faults.extend(volumes::check_part(whole, &wort, left, &start.wort));
                }
            }
            Err(fact) => {
                // That it is a part of itself is told where it says so.
                let of_itself =
                    wort::parted_from(self.context, lot) == Some(lot) || self.context.rings.contains(&lot);
                let (lacks, matters) = (Fact::Wort(lot), pitched.is_some() && !of_itself);
                batch.missing = vec![Missing { figure: "wort", fact, lacks, matters }];
            }
        }
        let still_wort = wort::StillWort::of(self.context, lot, pitched);
        let (mut in_brix, mut first_in_brix) = (Vec::new(), None);
        for (at, home, statement) in self.context.events(lot) {
            let Kind::Reading(reading) = &statement.kind else { continue };
            let place = home.place(statement.span);
            if let Some(sample) = reading.at() {
                let at = home.place(sample.span);
                degrees::read(sample.measure, degrees::Of::Wort, at, &mut self.faults);
            }
            let original = batch.wort.as_ref().filter(|_| !still_wort.at(at));
            let value = home.place(reading.value(statement.span).span);
            self.faults.extend(wort::odd_brix(self.context.settings, reading, (place, value), original));
            let settings = self.context.settings;
            if let Some(gravities) = original.and_then(|wort| wort::brix_of_beer(settings, reading, wort)) {
                let item = Place { span: place.span.to(value.span), ..place };
                in_brix.push((item, reading.measure()));
                first_in_brix.get_or_insert((value, gravities));
            }
            if reading.what == Measured::Temperature {
                let of = if pitched.is_some_and(|pitched| at > pitched) {
                    degrees::Of::Beer
                } else {
                    degrees::Of::Wort
                };
                let value = reading.value(statement.span);
                let read = degrees::read(value.measure, of, home.place(value.span), &mut self.faults);
                batch.temperatures.push((at, read.base(), place));
            } else if reading.what == Measured::Ambient {
                let value = reading.value(statement.span);
                let air =
                    degrees::read(value.measure, degrees::Of::Beer, home.place(value.span), &mut self.faults);
                batch.air.push((at, air.base(), place));
            } else if !still_wort.at(at) {
                let meant = original.and_then(|wort| {
                    let of = (wort, pitched);
                    Some((wort, wort::lacks_a_zero(self.context, lot, reading, (at, value), of)?))
                });
                if let Some((wort, likely)) = meant {
                    let wort = self.context.scale(value).gravity(wort.gravity);
                    self.faults.push(Fault::UnlikelyUnit {
                        place: value,
                        written: reading.measure(),
                        likely,
                        why: format!("its wort was {wort}"),
                        impossible: false,
                    });
                }
                let meant = meant.map(|(_, likely)| likely);
                let wort = batch.wort.as_ref();
                let Some(read) = wort::read_gravity(self.context, reading, meant, at, place, wort) else {
                    continue;
                };
                let hours_either_way = timeline::hours_either_way(home, statement);
                batch.gravities.push(GravityReading { hours_either_way, ..read });
            }
        }
        let faulty =
            first_in_brix.map(|(value, gravities)| Fault::BrixOfBeer { read: in_brix, value, gravities });
        self.faults.extend(faulty);
        for statement in &block.statements {
            if let Kind::Readings(readings) = &statement.kind {
                let line = (shelved, &**readings);
                let acidity = logger::merge(self.context, &mut batch, line, still_wort, &mut self.faults);
                self.acidity.extend(acidity);
            }
        }
        batch.temperatures.shrink_to_fit();
        batch.air.shrink_to_fit();
        batch.pressures.shrink_to_fit();
        batch.gravities.shrink_to_fit();
        volumes::check_wort(self.context, &batch, &mut self.faults);
        let litres = batch.wort.as_ref().map(|w| w.volume.as_litres());
        if let Some(state) = self.state_mut(lot) {
            state.supply = Supply::Wort;
            state.litres = litres;
            state.left = 1.0;
            state.declared = 1.0;
        }
        if let Some(slot) = self.batch_of.get_mut(lot.0 as usize) {
            *slot = Some(self.batches.len());
            self.batches.push(batch);
        }
    }
}
