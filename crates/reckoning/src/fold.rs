//! The one fold over all events: stock, age, generation and shares of every lot at every draw.

use std::sync::Arc;

use barm_quantity::{Cells, CellsPerGram, Estimate, FactorName, Measure, Temperature, Unit, Volume};
use barm_syntax::ast::{
    Amount, AmountKind, Asked, BlockKind, Container, Count, Counted, DatedWhat, DryPitch, Harvest,
    HarvestFrom, Kind, Measured, Pitch, Slurry, Thickness,
};
use barm_zymology::storage::{self, Store};
use barm_zymology::{alcohol, cake, count, starter, supply};

use crate::additions::Addition;
use crate::answer::Answer;
use crate::batch::{Batch, Form, GravityReading, Missing, Pitching, Wort};
use crate::context::Context;
use crate::fault::Fault;
use crate::lot::{LiveShare, State, Supply};
use crate::names::{LotId, LotKind};
use crate::strain::{Rate, StrainId, Strains, Traits};
use crate::timeline::{Entry, Shelved};
use crate::{Moment, Place, wort};

/// One lot goes into or comes out of another.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Descent {
    pub from: LotId,
    pub to: LotId,
    pub place: Place,
    pub at: Moment,
}

/// A statement's place, and where its block begins, so that what stands in it can be pointed at.
#[derive(Debug, Clone, Copy)]
struct Line {
    place: Place,
    start: u32,
}

impl Line {
    const fn at(self, span: barm_syntax::Span) -> Place {
        Place { file: self.place.file, span: span.shifted(self.start) }
    }
}

/// What was taken by one draw.
#[derive(Debug, Clone)]
struct Drawn {
    /// In the supply's own unit.
    amount: f64,
    /// Part of what was left.
    part: f64,
    /// What stays.
    left: f64,
    /// The amount's own uncertainty.
    known_to: Estimate,
    /// A volume or mass of a whole cake, which is drawn by its slurry and not by its share.
    slurry_litres: Option<f64>,
}

/// The fold.
pub(crate) struct Fold<'c, 'a> {
    context: &'c Context<'a>,
    pub strains: Strains,
    pub states: Vec<State>,
    /// By lot; `None` for what is no batch.
    pub batches: Vec<Option<Batch>>,
    pub descents: Vec<Descent>,
    pub answers: Vec<Answer>,
    pub faults: Vec<Fault>,
}

impl<'c, 'a> Fold<'c, 'a> {
    pub(crate) fn run(context: &'c Context<'a>, order: &[Entry], faults: Vec<Fault>) -> Self {
        let strains = Strains::collect(&context.shelf);
        let lots = context.names.lots.len();
        let mut fold = Self {
            context,
            strains,
            states: vec![State::unknown(); lots],
            batches: vec![None; lots],
            descents: Vec::new(),
            answers: Vec::new(),
            faults,
        };
        for (index, shelved) in context.shelf.iter().enumerate() {
            let Some(lot) = context.owner.get(index).copied().flatten() else { continue };
            match shelved.block.kind {
                BlockKind::Culture if context.kind(lot) == Some(LotKind::Culture) => {
                    fold.declare_culture(lot, shelved)
                }
                BlockKind::Starter | BlockKind::Brew => fold.declare_batch(lot, shelved),
                _ => {}
            }
        }
        for &entry in order {
            fold.step(entry);
        }
        fold
    }

    /// What it found: states, batches, strains and faults.
    pub(crate) fn finish(self) -> (Vec<State>, Vec<Option<Batch>>, Vec<crate::strain::Strain>, Vec<Fault>) {
        (self.states, self.batches, self.strains.all, self.faults)
    }

    fn state(&self, lot: LotId) -> Option<&State> {
        self.states.get(lot.0 as usize)
    }
    fn state_mut(&mut self, lot: LotId) -> Option<&mut State> {
        self.states.get_mut(lot.0 as usize)
    }
    fn batch(&self, lot: LotId) -> Option<&Batch> {
        self.batches.get(lot.0 as usize)?.as_ref()
    }
    fn batch_mut(&mut self, lot: LotId) -> Option<&mut Batch> {
        self.batches.get_mut(lot.0 as usize)?.as_mut()
    }

    // --- what the blocks declare

    fn declare_culture(&mut self, lot: LotId, shelved: &Shelved<'_>) {
        let block = shelved.block;
        let name = self.context.name(lot);
        let own = Traits::of(block);
        let mut state = State::unknown();
        // A culture with facts of its own is an organism of its own, known by its strain's facts where it has none.
        let strains: Vec<StrainId> = block.strains.iter().map(|s| self.strains.named(&s.text)).collect();
        state.shares = if own == Traits::default() && !strains.is_empty() {
            #[expect(clippy::cast_precision_loss, reason = "a handful of strains")]
            let share = 1.0 / strains.len() as f64;
            strains.into_iter().map(|s| (s, share)).collect()
        } else {
            let known = strains.first().map(|s| self.strains.traits(*s)).unwrap_or_default();
            vec![(self.strains.own(Arc::clone(&name), shelved.place(block.header), own.or(known)), 1.0)]
        };
        let refrigerator = self.context.settings.refrigerator();
        let default_pack_loss = match self.context.settings.pack_loss {
            Some(loss) => storage::claimed(loss),
            None => storage::pack_loss(storage::PACK_MONTHLY),
        };
        let mut kept = refrigerator;
        let mut dated: Option<(Moment, f64)> = None;
        let mut claimed = None;
        let mut from_lab = false;
        for statement in &block.statements {
            match &statement.kind {
                Kind::Pack(pack) => {
                    let label = Cells::each(pack.cells.measure.base());
                    state.supply = Supply::Packs { each: supply::pack(label, &name) };
                    (state.left, from_lab) = (pack.count, true);
                }
                Kind::Sachet(sachet) => {
                    let label = sachet.cells.map(|q| CellsPerGram::billions(q.measure.base() / 1e9));
                    let per_gram = supply::dry(label, false, &name);
                    let grams = sachet.mass.measure.base();
                    state.supply = Supply::Dry { per_gram, sachet: grams };
                    (state.left, from_lab) = (sachet.count * grams, true);
                }
                Kind::Slurry(slurry) => self.declare_slurry(&mut state, slurry, &name),
                Kind::Slant => {
                    state.supply = Supply::Slant;
                    (state.left, from_lab) = (f64::INFINITY, true);
                }
                Kind::Vial(vial) => {
                    state.supply = Supply::Vials { litres: vial.volume.measure.base(), density: None };
                    (state.left, from_lab) = (vial.count, true);
                }
                Kind::Dated(date) => {
                    let (back, either_way) = match date.what {
                        // Packs are commonly given about six months (common practice); two months either way.
                        DatedWhat::BestBefore if dated.is_none() => (-182.0 * 24.0, 60.0),
                        DatedWhat::BestBefore => continue,
                        DatedWhat::Made | DatedWhat::Harvested => (0.0, 0.0),
                    };
                    let at = Moment::new(date.date, 12 * 60).plus_hours(back);
                    dated = Some((at, either_way + f64::from(date.days_either_way)));
                    state.made = Some((at, shelved.place(statement.span)));
                }
                Kind::Generation(q) => {
                    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "saturates")]
                    let generation = q.measure.base().max(0.0) as u32;
                    state.generation = Some(generation);
                }
                Kind::Loses(q) => claimed = Some(barm_quantity::Share::fraction(q.measure.base())),
                Kind::Kept(k) if statement.day.is_none() => {
                    kept = Temperature::celsius(k.temperature.measure.base())
                }
                _ => {}
            }
        }
        state.declared = state.left;
        if from_lab {
            state.generation = state.generation.or(Some(0));
            state.lab = dated.map(|(at, _)| at);
        }
        let (store, mut loss, start) = match state.supply {
            Supply::Dry { .. } => (Store::Dry, storage::DRY, Estimate::exact(1.0)),
            Supply::Slurry { .. } => (Store::Slurry, storage::SLURRY, supply::harvest_viability(None, &name)),
            _ => (Store::Pack, default_pack_loss, Estimate::exact(1.0)),
        };
        if let Some(claimed) = claimed {
            loss = storage::claimed(claimed);
        }
        state.live = Some(LiveShare {
            start,
            since: dated.map(|(at, _)| at),
            days_either_way: dated.map_or(0.0, |(_, days)| days),
            loss,
            store,
            first: kept,
            kept: Vec::new(),
            measured: false,
        });
        if let Some(slot) = self.state_mut(lot) {
            *slot = state;
        }
    }

    fn declare_slurry(&self, state: &mut State, slurry: &Slurry, name: &Arc<str>) {
        let density = match &slurry.cells {
            Some(cells) => cells.measure.estimate(FactorName::new("cell density", Arc::clone(name))),
            None => supply::slurry(slurry.thickness.map(thickness), supply::Origin::Bottom, name),
        };
        if let AmountKind::Measured(measure) = slurry.amount.kind {
            let weighed = measure.dimension() == barm_quantity::Dimension::Mass;
            state.left = measure.base();
            state.supply = Supply::Slurry { density, weighed };
            let known_to = measure.estimate(FactorName::new("amount", Arc::clone(name)));
            state.amount_factor = (known_to.spread() > 0.0).then_some(known_to);
        }
    }

    fn declare_batch(&mut self, lot: LotId, shelved: &Shelved<'_>) {
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
            pitches: Vec::new(),
            pitch: None,
            oxygen: None,
            temperature: None,
            gravities: Vec::new(),
            temperatures: Vec::new(),
            last_event: None,
            asks: false,
            missing: Vec::new(),
        };
        let asked = |amount: &Option<Amount>| matches!(amount, Some(Amount { kind: AmountKind::Asked, .. }));
        let mut pitched = None;
        for (at, home, statement) in self.context.events(lot) {
            batch.last_event = Some(batch.last_event.map_or(at, |l| l.max(at)));
            if matches!(statement.kind, Kind::Pitch(_)) && pitched.is_none() && home.id == shelved.id {
                pitched = Some(at);
            }
        }
        for statement in &block.statements {
            match &statement.kind {
                Kind::Hold(q) => {
                    let measure = &q.measure;
                    // A single temperature is held by a controller that lets it swing: a kelvin either way (judgement).
                    let slack = if measure.is_range() { 0.0 } else { HOLD_SLACK };
                    let range = (measure.low_base() - slack, measure.high_base() + slack);
                    batch.hold = Some((range, shelved.place(statement.span)));
                    batch.asks = true;
                }
                Kind::Target(q) => {
                    batch.target = Rate::of(&q.measure).map(|rate| (rate, shelved.place(statement.span)));
                    batch.asks = true;
                }
                Kind::Shaken => batch.method = starter::Method::Shaken,
                Kind::Stirred => batch.method = starter::Method::Stirred,
                Kind::Pitch(pitch) => batch.asks |= asked(&pitch.amount),
                Kind::Aerate(aerate) => batch.asks |= matches!(aerate.duration, Some(Asked::Asked(_))),
                _ => {}
            }
        }
        match wort::at_pitching(self.context, lot, shelved, pitched, 0) {
            Ok(wort) => batch.wort = Some(wort),
            Err(fact) => batch.missing.push(Missing { figure: "wort", fact, matters: pitched.is_some() }),
        }
        for (at, home, statement) in self.context.events(lot) {
            let Kind::Reading(reading) = &statement.kind else { continue };
            let place = home.place(statement.span);
            if reading.what == Measured::Temperature {
                batch.temperatures.push((at, reading.value.measure.base(), place));
            } else if pitched.is_some_and(|p| at > p)
                && let Some(read) = wort::read_gravity(self.context, reading, at, place, batch.wort.as_ref())
            {
                batch.gravities.push(read);
            }
        }
        if let Some(state) = self.state_mut(lot) {
            state.supply = Supply::Wort;
            state.left = 1.0;
            state.declared = 1.0;
        }
        if let Some(slot) = self.batches.get_mut(lot.0 as usize) {
            *slot = Some(batch);
        }
    }

    // --- the events, one by one

    fn step(&mut self, entry: Entry) {
        let context = self.context;
        let Some((&shelved, statement)) = context.look(entry) else { return };
        let own = context.owner.get(entry.shelf as usize).copied().flatten();
        let at = entry.at;
        let place = shelved.place(statement.span);
        let line = Line { place, start: shelved.start };
        let lot_of = |fold: &mut Self, name: &Option<barm_syntax::ast::Name>| match name {
            Some(name) => context.known_lot(name, &shelved, &mut fold.faults),
            None => own,
        };
        match &statement.kind {
            Kind::Pitch(pitch) => {
                let Some(from) = context.known_lot(&pitch.lot, &shelved, &mut self.faults) else { return };
                if let Some(into) = own {
                    self.pitch(from, into, pitch, line, at);
                }
            }
            Kind::Harvest(harvest) => {
                if let Some(from) = own {
                    self.harvest(from, harvest, line, at);
                }
            }
            Kind::Kept(kept) => {
                let lot = match &kept.lot {
                    None => harvested_on_line(&shelved, entry.statement)
                        .and_then(|n| context.names.lot(n))
                        .or(own),
                    named => lot_of(self, named),
                };
                let temperature = Temperature::celsius(kept.temperature.measure.base());
                if let Some(live) = lot.and_then(|l| self.state_mut(l)).and_then(|s| s.live.as_mut()) {
                    live.kept.push((at, temperature));
                }
            }
            Kind::Count(counted) => {
                if let Some(lot) = lot_of(self, &counted.lot) {
                    self.count(lot, counted, at);
                }
            }
            Kind::Viability(viability) => {
                if let Some(lot) = lot_of(self, &viability.lot) {
                    let name = context.name(lot);
                    let measure = viability.value.measure;
                    let spread =
                        (measure.error_base() / measure.base().max(0.01)).max(0.05) / barm_quantity::NINETY;
                    let share = Estimate::exact(measure.base())
                        .with_factor(FactorName::new("viability as read", name), spread)
                        .capped(1.0);
                    self.measured(lot, share, at);
                }
            }
            Kind::Decant(amount) => {
                if let (Some(lot), Some(amount)) = (own, amount) {
                    self.decant(lot, amount);
                }
            }
            Kind::Dump(dump) => {
                if let Some(lot) = lot_of(self, &dump.lot) {
                    // Dumping beer ends a brew, not its yeast's story: only what is drawn afterwards finds nothing.
                    let _ = self.draw(lot, dump.amount.as_ref(), at, line);
                }
            }
            Kind::Add(add) => {
                if let (Some(from), Some(into)) = (context.names.lot(&add.what.text), own) {
                    let _ = self.draw(from, Some(&add.amount), at, line);
                    self.descents.push(Descent { from, to: into, place, at });
                } else if let Some(nearest) = crate::additions::nearly_a_sugar(&add.what.text) {
                    let place = shelved.place(add.what.span);
                    self.faults.push(Fault::UnknownAddition {
                        what: add.what.text.to_string(),
                        place,
                        nearest,
                    });
                }
            }
            _ => {}
        }
    }

    /// A lot must be there before it is used; where it is not, the fault says when it comes to be.
    fn is_there(&mut self, lot: LotId, at: Moment, place: Place) -> bool {
        let comes = match self.context.kind(lot) {
            Some(LotKind::Culture) => self.state(lot).and_then(|s| {
                let slack = s.live.as_ref().map_or(0.0, |l| l.days_either_way);
                s.made.map(|(made, place)| (made.plus_hours(-24.0 * slack), place))
            }),
            Some(LotKind::Harvest) => match self.state(lot).and_then(|s| s.made) {
                Some(made) => Some(made),
                None => self.first_event(lot, |kind| matches!(kind, Kind::Harvest(_))),
            },
            Some(LotKind::Starter | LotKind::Brew) => {
                self.first_event(lot, |kind| matches!(kind, Kind::Pitch(_)))
            }
            None => None,
        };
        match comes {
            Some((made_at, made)) if made_at.day_number() > at.day_number() => {
                self.faults.push(Fault::NotYetThere { lot, place, used: at, made, made_at });
                false
            }
            _ => true,
        }
    }

    fn first_event(&self, lot: LotId, is: impl Fn(&Kind) -> bool) -> Option<(Moment, Place)> {
        // A harvest stands among its parent's events, a pitch among its own.
        let among = match self.context.kind(lot)? {
            LotKind::Harvest => self.context.names.lots.get(lot.0 as usize)?.taken_from?,
            _ => lot,
        };
        self.context
            .events(among)
            .filter(|(_, _, statement)| match &statement.kind {
                Kind::Harvest(h) => self.context.names.lot(&h.name.text) == Some(lot),
                kind => is(kind),
            })
            .map(|(at, shelved, statement)| (at, shelved.place(statement.span)))
            .next()
    }

    fn pitch(&mut self, from: LotId, into: LotId, pitch: &Pitch, line: Line, at: Moment) {
        if from == into {
            self.faults.push(Fault::Loop { lots: vec![from], places: vec![line.at(pitch.lot.span)] });
            return;
        }
        let there = self.is_there(from, at, line.at(pitch.lot.span));
        self.descents.push(Descent { from, to: into, place: line.place, at });
        if let Some(Amount { kind: AmountKind::Asked, span }) = &pitch.amount {
            let amount = there.then(|| self.answer_pitch(from, into, line.at(*span), at)).flatten();
            if let Some(amount) = amount {
                let kind = AmountKind::Share(amount);
                self.pour(from, into, pitch, Some(&Amount { span: *span, kind }), line, at);
            }
            return;
        }
        if there {
            self.answer_starter_size(from, into);
            self.pour(from, into, pitch, pitch.amount.as_ref(), line, at);
        }
    }

    /// Yeast goes in: takes it from the lot and notes what it is.
    fn pour(
        &mut self,
        from: LotId,
        into: LotId,
        pitch: &Pitch,
        amount: Option<&Amount>,
        line: Line,
        at: Moment,
    ) {
        let sprinkled = pitch.dry == Some(DryPitch::Sprinkled);
        let Some(pitching) = self.take(from, amount, line, at, sprinkled) else { return };
        let gains = pitching.traits;
        let shares = self.shares(from);
        let lab = pitching.lab;
        if let Some(batch) = self.batch_mut(into) {
            batch.traits = batch.traits.or(gains);
            batch.pitches.push(pitching);
        }
        if let Some(state) = self.state_mut(into) {
            for (strain, share) in shares {
                match state.shares.iter_mut().find(|(s, _)| *s == strain) {
                    Some((_, sum)) => *sum += share,
                    None => state.shares.push((strain, share)),
                }
            }
            let total: f64 = state.shares.iter().map(|(_, share)| share).sum();
            if total > 0.0 {
                for (_, share) in &mut state.shares {
                    *share /= total;
                }
            }
            state.lab = match (state.lab, lab) {
                (Some(a), Some(b)) => Some(a.min(b)),
                (a, b) => a.or(b),
            };
            state.made.get_or_insert((at, line.place));
        }
    }

    fn shares(&self, lot: LotId) -> Vec<(StrainId, f64)> {
        self.state(lot).map(|s| s.shares.clone()).unwrap_or_default()
    }

    fn traits(&self, lot: LotId) -> Traits {
        let own = self.batch(lot).map(|b| b.traits).unwrap_or_default();
        let of_strains = self
            .state(lot)
            .and_then(|s| s.shares.iter().max_by(|a, b| a.1.total_cmp(&b.1)))
            .map(|(strain, _)| self.strains.traits(*strain))
            .unwrap_or_default();
        own.or(of_strains)
    }

    /// Takes an amount out of a lot at a moment and tells all that is known of it.
    fn take(
        &mut self,
        lot: LotId,
        amount: Option<&Amount>,
        line: Line,
        at: Moment,
        sprinkled: bool,
    ) -> Option<Pitching> {
        let context = self.context;
        let name = context.name(lot);
        let drawn = self.draw(lot, amount, at, line);
        let state = self.state(lot)?;
        let supply = state.supply.clone();
        let live_share = self.live_share(lot, at);
        let mut out = Pitching {
            place: line.place,
            at,
            lot,
            name: Arc::clone(&name),
            form: Form::Unknown,
            taken: 0.0,
            unit: supply.unit(),
            part: 0.0,
            left_after: 0.0,
            total: None,
            live_share: live_share.clone(),
            live: None,
            live_per_unit: None,
            age_days: state.live.as_ref().and_then(|l| l.age_days(at)),
            since: state.made.map(|(_, place)| place),
            measured: state.live.as_ref().is_some_and(|l| l.measured),
            generation: self.generation(lot),
            lab: state.lab,
            dry_grams: None,
            first_use_dry: false,
            traits: self.traits(lot),
            mixture: state.shares.len() > 1,
            from: String::new(),
        };
        let kept = state.live.as_ref().and_then(|l| l.temperature_at(at));
        let mut per_unit_total: Option<Estimate> = None;
        match &supply {
            Supply::Packs { each } => {
                out.form = Form::Pack;
                per_unit_total = Some(each.clone());
                out.from = format!("{:.0} B on the label × 0.97", each.median() / 0.97e9);
            }
            Supply::Dry { per_gram, .. } => {
                out.form = Form::Dry;
                out.first_use_dry = true;
                let factor = if sprinkled {
                    supply::dry(None, true, &name) / supply::dry(None, false, &name)
                } else {
                    Estimate::exact(1.0)
                };
                per_unit_total = Some(per_gram.clone() * factor);
                out.from = format!("{:.1} B/g dry", per_gram.median() / 1e9);
                if sprinkled {
                    out.from.push_str(", sprinkled");
                }
            }
            Supply::Slurry { density, weighed } => {
                out.form = Form::Slurry;
                let per_ml = density.clone();
                per_unit_total =
                    Some(if *weighed { per_ml.scaled(1.0 / supply::SLURRY_GRAMS_PER_ML) } else { per_ml });
                let how = if out.measured { "counted" } else { "by its thickness" };
                out.from = format!("{:.2} B/mL {how}", density.median() / 1e9);
            }
            Supply::Vials { litres, density } => {
                out.form = Form::Bank;
                per_unit_total = density.as_ref().map(|d| d.scaled(litres * 1000.0));
            }
            Supply::Slant => out.form = Form::Bank,
            Supply::Wort => {
                let starter = context.kind(lot) == Some(LotKind::Starter);
                out.form = if starter { Form::Starter } else { Form::Cake };
                let cells = if starter { self.grown(lot, at) } else { self.caked(lot) };
                if let Some((total, how)) = cells {
                    let total = match drawn.as_ref().and_then(|d| d.slurry_litres) {
                        Some(litres) => {
                            supply::slurry(None, supply::Origin::Bottom, &name).scaled(litres * 1000.0)
                        }
                        None => total.scaled(drawn.as_ref().map_or(1.0, |d| d.amount)),
                    };
                    out.total = Some(total);
                    out.from = how;
                }
                if !starter {
                    out.age_days = self.cake_age(lot, at);
                    out.measured = false;
                }
            }
            Supply::Unknown => {}
        }
        if let (Some(age), Some(kept), Some(share)) = (out.age_days, kept, &live_share)
            && !matches!(supply, Supply::Wort | Supply::Unknown)
            && age > 0.5
        {
            out.from.push_str(&format!(
                ", {:.0} days at {} °C: {:.0} % alive",
                age,
                barm_quantity::plain(kept.as_celsius(), 1),
                share.median() * 100.0
            ));
        }
        if let Some(drawn) = &drawn {
            out.taken = supply.shown(drawn.amount);
            out.part = drawn.part;
            out.left_after = supply.shown(drawn.left);
            if let Some(per_unit) = per_unit_total {
                let units = supply.shown(drawn.amount);
                out.total = Some(per_unit.scaled(units) * normalised(&drawn.known_to));
                out.live_per_unit = live_share.as_ref().map(|share| per_unit * share.clone());
            }
            if out.form == Form::Dry {
                out.dry_grams = Some(drawn.amount);
            }
        }
        out.live = match (&out.total, &live_share) {
            (Some(total), Some(share)) => Some(total.clone() * share.clone()),
            _ => None,
        };
        if matches!(supply, Supply::Wort)
            && let (Some(live), Some(drawn)) = (&out.live, &drawn)
            && drawn.amount > 0.0
        {
            out.live_per_unit = Some(live.scaled(1.0 / drawn.amount));
        }
        Some(out)
    }

    /// Generations since the lab of what a lot gives: one more for a brew's cake, none for a starter.
    fn generation(&self, lot: LotId) -> Option<u32> {
        let Some(batch) = self.batch(lot) else { return self.state(lot)?.generation };
        let mut highest = None;
        for pitch in &batch.pitches {
            highest = Some(highest.unwrap_or(0).max(pitch.generation?));
        }
        Some(highest? + u32::from(batch.kind == LotKind::Brew))
    }

    /// The part of a lot's cells that lives at a moment.
    fn live_share(&self, lot: LotId, at: Moment) -> Option<Estimate> {
        let name = self.context.name(lot);
        let state = self.state(lot)?;
        if !matches!(state.supply, Supply::Wort) {
            return state.live.as_ref().map(|live| live.at(at, &name));
        }
        if let Some(live) = &state.live {
            return Some(live.at(at, &name));
        }
        let batch = self.batch(lot)?;
        let pitched = batch.pitched_at()?;
        let idle = |from: Moment, temperature: Temperature| {
            let exposure = storage::exposure(Store::Slurry, temperature, at.since(from));
            storage::left(storage::SLURRY, exposure, &name)
        };
        if batch.kind == LotKind::Starter {
            // A fresh starter is 95–98 % alive; it ages once it has worked out, or is put into the cold.
            let fresh = Estimate::band(
                0.95,
                0.965,
                0.98,
                FactorName::new("viability of the starter", Arc::clone(&name)),
            );
            let (from, temperature) = match self.first_kept(lot) {
                Some((kept, temperature)) => (kept, temperature),
                None => (pitched.plus_hours(72.0), self.beer_temperature(lot, at)),
            };
            return Some((fresh * idle(from, temperature)).capped(1.0));
        }
        let fresh = supply::harvest_viability(self.strength(lot, at), &name);
        let rests = self.worked_out(lot, at).plus_hours(14.0 * 24.0);
        Some((fresh * idle(rests, self.beer_temperature(lot, at))).capped(1.0))
    }

    /// When a starter was first put into the cold.
    fn first_kept(&self, lot: LotId) -> Option<(Moment, Temperature)> {
        self.context.events(lot).find_map(|(at, _, statement)| match &statement.kind {
            Kind::Kept(kept) if kept.lot.is_none() => {
                Some((at, Temperature::celsius(kept.temperature.measure.base())))
            }
            _ => None,
        })
    }

    /// The beer's temperature as last read at a moment, else what it is held at, else a room's.
    fn beer_temperature(&self, lot: LotId, at: Moment) -> Temperature {
        let Some(batch) = self.batch(lot) else { return Temperature::celsius(20.0) };
        let read = before(&batch.temperatures, |(when, _, _)| *when <= at).map(|(_, t, _)| *t);
        let held = batch.hold.map(|((low, high), _)| f64::midpoint(low, high));
        let room = self.context.settings.places.get("room").map_or(20.0, |t| t.as_celsius());
        Temperature::celsius(read.or(held).unwrap_or(room))
    }

    /// The last reading that still fell by a moment; without readings, ten days after pitching (judgement).
    fn worked_out(&self, lot: LotId, at: Moment) -> Moment {
        let Some(batch) = self.batch(lot) else { return at };
        let pitched = batch.pitched_at().unwrap_or(at);
        last_fall(&batch.gravities, batch.wort.as_ref(), at)
            .unwrap_or_else(|| pitched.plus_hours(240.0))
            .min(at)
    }

    /// Days that a cake has lain under beer that no longer worked.
    fn cake_age(&self, lot: LotId, at: Moment) -> Option<f64> {
        self.batch(lot)?;
        Some(at.hours_since(self.worked_out(lot, at)) / 24.0)
    }

    /// Alcohol of a brew by its last gravity at a moment.
    fn strength(&self, lot: LotId, at: Moment) -> Option<barm_quantity::Share> {
        let batch = self.batch(lot)?;
        let wort = batch.wort.as_ref()?;
        let last = before(&batch.gravities, |g| g.at <= at)?;
        Some(alcohol::by_volume(wort.gravity, last.gravity))
    }

    /// Live cells that went into a batch.
    fn pitched_cells(&self, lot: LotId) -> Option<Estimate> {
        let batch = self.batch(lot)?;
        let known: Vec<Estimate> = batch.pitches.iter().filter_map(|p| p.live.clone()).collect();
        (!known.is_empty()).then(|| known.into_iter().sum())
    }

    /// All cells in a starter at a moment.
    fn grown(&self, lot: LotId, at: Moment) -> Option<(Estimate, String)> {
        let batch = self.batch(lot)?;
        let pitched = self.pitched_cells(lot)?;
        let Some(wort) = &batch.wort else {
            return Some((pitched, "no growth reckoned: its wort is not known".to_owned()));
        };
        let stopped = self.first_kept(lot).map_or(at, |(kept, _)| kept.min(at));
        let time = batch.pitched_at().map(|p| stopped.since(p));
        let temperature = self.beer_temperature(lot, at);
        let total = starter::grown(
            &pitched,
            wort.volume,
            wort.strength,
            batch.method,
            temperature,
            time,
            &batch.name,
        );
        let how = match batch.method {
            starter::Method::Still => "standing",
            starter::Method::Shaken => "shaken",
            starter::Method::Stirred => "stirred",
        };
        let hours = time.map_or(0.0, |t| t.as_hours());
        let from = format!(
            "{:.0} B grown in {} L at {:.3}, {how}, {hours:.0} h",
            pitched.median() / 1e9,
            barm_quantity::plain(wort.volume.as_litres(), 2),
            wort.gravity.as_specific(),
        );
        Some((total, from))
    }

    /// All cells in a brew's cake.
    fn caked(&self, lot: LotId) -> Option<(Estimate, String)> {
        let batch = self.batch(lot)?;
        let wort = batch.wort.as_ref()?;
        let pitched = self.pitched_cells(lot).unwrap_or_else(|| {
            // Nobody knows what went in: about what such a wort is usually given, a third to three times as much.
            let usual = 0.75e6 * wort.strength.as_degrees() * wort.volume.as_millilitres();
            Estimate::band(
                usual / 3.0,
                usual,
                usual * 3.0,
                FactorName::new("yeast pitched", Arc::clone(&batch.name)),
            )
        });
        let total = cake::left(&pitched, wort.strength, wort.volume, &batch.name);
        let from = format!(
            "the cake of {} L at {:.1} °P: what was pitched and 3 M/mL for each °P",
            barm_quantity::plain(wort.volume.as_litres(), 1),
            wort.strength.as_degrees()
        );
        Some((total, from))
    }

    /// Takes an amount out of a lot's stock, in its own unit.
    fn draw(&mut self, lot: LotId, amount: Option<&Amount>, at: Moment, line: Line) -> Option<Drawn> {
        let name = self.context.name(lot);
        let batch_litres = self.batch(lot).and_then(|b| b.wort.as_ref()).map(|w| w.volume.as_litres());
        let live_share = self.live_share(lot, at);
        let is_brew = self.context.kind(lot) == Some(LotKind::Brew);
        let state = self.states.get_mut(lot.0 as usize)?;
        let left = state.left;
        let mut known_to = state.amount_factor.clone().map_or(Estimate::exact(1.0), |f| normalised(&f));
        let mut slurry_litres = None;
        let mut written: Option<Measure> = None;
        let kind = amount.map_or(AmountKind::All, |a| a.kind);
        let taken = match kind {
            AmountKind::All => left,
            AmountKind::Asked => return None,
            AmountKind::Share(share) => share * left,
            AmountKind::Counted(number, container) => match (&state.supply, container) {
                (Supply::Packs { .. }, Container::Pack) | (Supply::Vials { .. }, Container::Vial) => number,
                (Supply::Dry { sachet, .. }, Container::Sachet | Container::Pack) => number * sachet,
                (Supply::Slant, _) => number,
                _ => return None,
            },
            AmountKind::Times(..) | AmountKind::Measured(_) => {
                let (measure, number) = match kind {
                    AmountKind::Times(number, measure) => (measure, number),
                    AmountKind::Measured(measure) => (measure, 1.0),
                    _ => return None,
                };
                written = Some(measure);
                // What is written of the draw is what is known of it; the stock's own uncertainty stays with the stock.
                known_to = normalised(&measure.estimate(FactorName::new("amount taken", Arc::clone(&name))));
                let base = measure.base() * number;
                use barm_quantity::Dimension as D;
                match (&state.supply, measure.dimension()) {
                    (Supply::Slurry { weighed: false, .. }, D::Volume) | (Supply::Dry { .. }, D::Mass) => {
                        base
                    }
                    (Supply::Slurry { weighed: true, .. }, D::Mass) => base,
                    (Supply::Slurry { weighed: false, .. }, D::Mass) => {
                        base / supply::SLURRY_GRAMS_PER_ML / 1000.0
                    }
                    (Supply::Slurry { weighed: true, .. }, D::Volume) => {
                        base * 1000.0 * supply::SLURRY_GRAMS_PER_ML
                    }
                    (Supply::Slurry { density, weighed }, D::Cells) => {
                        let live_per_ml =
                            density.median() * live_share.as_ref().map_or(1.0, Estimate::median);
                        let ml = if live_per_ml > 0.0 { base / live_per_ml } else { return None };
                        if *weighed { ml * supply::SLURRY_GRAMS_PER_ML } else { ml / 1000.0 }
                    }
                    (Supply::Packs { each }, D::Cells) => {
                        let live_each = each.median() * live_share.as_ref().map_or(1.0, Estimate::median);
                        if live_each > 0.0 { base / live_each } else { return None }
                    }
                    (Supply::Vials { litres, .. }, D::Volume) if *litres > 0.0 => base / litres,
                    (Supply::Wort, D::Volume) if is_brew => {
                        slurry_litres = Some(base);
                        0.0
                    }
                    (Supply::Wort, D::Mass) if is_brew => {
                        slurry_litres = Some(base / supply::SLURRY_GRAMS_PER_ML / 1000.0);
                        0.0
                    }
                    (Supply::Wort, D::Volume) => base / batch_litres.filter(|l| *l > 0.0)?,
                    _ => return None,
                }
            }
        };
        let about = amount.is_some_and(|_| written.is_some_and(|w| w.about)) || known_to.spread() > 0.0;
        let slack = left * if about { 0.25 } else { 0.02 };
        if taken > left + slack && !matches!(state.supply, Supply::Unknown) {
            let shown = |x: f64| state.supply.shown(x);
            let fault = match written.and_then(|w| thousandth(&w)) {
                Some(likely) if taken / 1000.0 <= left + slack && left < taken / 100.0 => {
                    Fault::UnlikelyUnit {
                        place: amount.map_or(line.place, |a| line.at(a.span)),
                        written: written.unwrap_or(likely),
                        likely,
                        why: format!(
                            "{} holds {} {}",
                            name,
                            barm_quantity::significant(shown(left), 2),
                            state.supply.unit()
                        ),
                        impossible: false,
                    }
                }
                _ => Fault::Overdrawn {
                    lot,
                    place: line.place,
                    taken: shown(taken),
                    left: shown(left),
                    unit: if state.supply.unit().is_empty() { "parts" } else { state.supply.unit() },
                    last_draw: state.last_draw,
                },
            };
            self.faults.push(fault);
        }
        state.last_draw = Some(line.place);
        state.left = (left - taken).max(0.0);
        let part = if left > 0.0 && left.is_finite() { (taken / left).min(1.0) } else { 0.0 };
        Some(Drawn { amount: taken, part, left: state.left, known_to, slurry_litres })
    }

    fn decant(&mut self, lot: LotId, amount: &Amount) {
        let AmountKind::Measured(measure) = amount.kind else { return };
        let Some(state) = self.state_mut(lot) else { return };
        // The yeast stays: less liquid, the same cells.
        if let Supply::Slurry { density, weighed: false } = &mut state.supply
            && measure.base() < state.left
        {
            let rest = state.left - measure.base();
            *density = density.scaled(state.left / rest);
            state.left = rest;
        }
    }

    fn count(&mut self, lot: LotId, counted: &Count, at: Moment) {
        let name = self.context.name(lot);
        let (density, viability) = match &counted.what {
            Counted::Density(q) => (q.measure.estimate(FactorName::new("count", Arc::clone(&name))), None),
            Counted::Squares { live, singly, squares, dead, dilution, .. } => {
                let dead = u64::from(*dead);
                let count = if *singly {
                    count::Count::singly(live.iter().map(|c| u64::from(*c)).collect(), dead, *dilution)
                } else {
                    count::Count::total(live.iter().map(|c| u64::from(*c)).sum(), dead, *squares, *dilution)
                };
                (count.density(&name), Some(count.viability(&name)))
            }
        };
        if let Some(state) = self.state_mut(lot) {
            match &mut state.supply {
                Supply::Slurry { density: known, .. } => *known = density,
                Supply::Vials { density: known, .. } => *known = Some(density),
                _ => {}
            }
        }
        match viability {
            Some(share) => self.measured(lot, share, at),
            None => {
                // A density says nothing of the living: their share goes on as it was, and counts as looked at.
                if let Some(live) = self.state_mut(lot).and_then(|s| s.live.as_mut()) {
                    live.measured = true;
                }
            }
        }
    }

    fn measured(&mut self, lot: LotId, share: Estimate, at: Moment) {
        let temperature = self.context.settings.refrigerator();
        if let Some(state) = self.state_mut(lot) {
            match &mut state.live {
                Some(live) => live.measured(share, at, temperature),
                None => {
                    state.live = Some(LiveShare {
                        start: share,
                        since: Some(at),
                        days_either_way: 0.0,
                        loss: storage::SLURRY,
                        store: Store::Slurry,
                        first: temperature,
                        kept: Vec::new(),
                        measured: true,
                    });
                }
            }
        }
    }

    fn harvest(&mut self, from: LotId, harvest: &Harvest, line: Line, at: Moment) {
        let context = self.context;
        let Some(into) = context.names.lot(&harvest.name.text) else { return };
        let declared_here = line.at(harvest.name.span);
        if context.names.lots.get(into.0 as usize).is_none_or(|l| l.place != declared_here) {
            return; // A doubled name: the first declaration holds.
        }
        self.descents.push(Descent { from, to: into, place: line.place, at });
        if context.kind(from) == Some(LotKind::Brew) {
            self.harvest_brew(from, into, harvest, line, at);
        } else {
            self.divide(from, into, harvest, line, at);
        }
    }

    /// A jar (or a starter) divided: the same yeast in another vessel, no generation older.
    fn divide(&mut self, from: LotId, into: LotId, harvest: &Harvest, line: Line, at: Moment) {
        let place = line.place;
        let Some(taken) = self.take(from, Some(&harvest.amount), line, at, false) else { return };
        let Some(parent) = self.state(from).cloned() else { return };
        let mut state = State { last_draw: None, made: parent.made.or(Some((at, place))), ..parent };
        if matches!(state.supply, Supply::Wort) {
            // Yeast out of a starter: a slurry of its cells in the volume stated.
            let AmountKind::Measured(measure) = harvest.amount.kind else { return };
            let (Some(total), litres) = (taken.total, measure.base()) else { return };
            if litres <= 0.0 {
                return;
            }
            state.supply = Supply::Slurry { density: total.scaled(1.0 / (litres * 1000.0)), weighed: false };
            state.left = litres;
            state.live = taken.live_share.map(|start| self.slurry_from(start, at));
            state.made = Some((at, place));
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

    fn slurry_from(&self, start: Estimate, at: Moment) -> LiveShare {
        LiveShare {
            start,
            since: Some(at),
            days_either_way: 0.0,
            loss: storage::SLURRY,
            store: Store::Slurry,
            first: self.context.settings.refrigerator(),
            kept: Vec::new(),
            measured: false,
        }
    }

    fn harvest_brew(&mut self, from: LotId, into: LotId, harvest: &Harvest, line: Line, at: Moment) {
        let name = self.context.name(into);
        let AmountKind::Measured(measure) = harvest.amount.kind else { return };
        let weighed = measure.dimension() == barm_quantity::Dimension::Mass;
        let litres =
            if weighed { measure.base() / supply::SLURRY_GRAMS_PER_ML / 1000.0 } else { measure.base() };
        let amount_place = line.at(harvest.amount.span);
        let wort_litres = self.batch(from).and_then(|b| b.wort.as_ref()).map(|w| w.volume.as_litres());
        if let Some(wort_litres) = wort_litres
            && litres >= wort_litres
        {
            self.faults.push(match thousandth(&measure) {
                Some(likely) => Fault::UnlikelyUnit {
                    place: amount_place,
                    written: measure,
                    likely,
                    why: format!("the wort was {} L", barm_quantity::plain(wort_litres, 1)),
                    impossible: true,
                },
                None => Fault::Impossible {
                    place: amount_place,
                    why: format!(
                        "more yeast than there was wort ({} L)",
                        barm_quantity::plain(wort_litres, 1)
                    ),
                },
            });
            return;
        }
        let origin = match harvest.from {
            Some(HarvestFrom::Top) => supply::Origin::Top,
            _ if self.hopped(from, at) => supply::Origin::Hopped,
            _ => supply::Origin::Bottom,
        };
        let density = supply::slurry(harvest.thickness.map(thickness), origin, &name);
        let start = supply::harvest_viability(self.strength(from, at), &name);
        let idle_since = self.worked_out(from, at).plus_hours(14.0 * 24.0);
        let exposure =
            storage::exposure(Store::Slurry, self.beer_temperature(from, at), at.since(idle_since));
        let start = (start * storage::left(storage::SLURRY, exposure, &name)).capped(1.0);
        // What leaves the cake: its cells as a part of the cake's.
        if let Some((cake, _)) = self.caked(from)
            && cake.median() > 0.0
        {
            let part = (density.median() * litres * 1000.0 / cake.median()).min(1.0);
            if let Some(state) = self.state_mut(from) {
                state.left = (state.left - part).max(0.0);
            }
        }
        let generation = self.generation(from);
        let lab = self.state(from).and_then(|s| s.lab);
        let shares = self.shares(from);
        let live = self.slurry_from(start, at);
        let known_to = measure.estimate(FactorName::new("amount", Arc::clone(&name)));
        if let Some(slot) = self.state_mut(into) {
            *slot = State {
                supply: Supply::Slurry { density, weighed },
                left: measure.base(),
                declared: measure.base(),
                amount_factor: (known_to.spread() > 0.0).then_some(known_to),
                live: Some(live),
                generation,
                lab,
                shares,
                made: Some((at, line.place)),
                last_draw: None,
            };
        }
    }

    /// Whether hops (or other solids) went into the fermenter by a moment: they end up in the cake.
    fn hopped(&self, lot: LotId, at: Moment) -> bool {
        let pitched = self.batch(lot).and_then(Batch::pitched_at);
        self.context.events(lot).take_while(|(when, _, _)| *when <= at).any(|(when, _, statement)| {
            let Kind::Add(add) = &statement.kind else { return false };
            let solid = matches!(add.amount.kind, AmountKind::Measured(m) if m.dimension() == barm_quantity::Dimension::Mass);
            solid
                && pitched.is_some_and(|p| when >= p)
                && Addition::read(&add.what.text) == Addition::Other
                && self.context.names.lot(&add.what.text).is_none()
        })
    }

    // --- questions that the fold itself answers

    /// `pitch LOT ?`: the share of what is left that meets the target.
    fn answer_pitch(&mut self, from: LotId, into: LotId, place: Place, at: Moment) -> Option<f64> {
        let state = self.state(from)?;
        let (supply, left) = (state.supply.clone(), state.left);
        let share = self.live_share(from, at);
        let traits = self.traits(from);
        let per_unit = match &supply {
            Supply::Packs { each } => Some(each.clone()),
            Supply::Dry { per_gram, .. } => Some(per_gram.clone()),
            Supply::Slurry { density, weighed: false } => Some(density.scaled(1000.0)),
            Supply::Slurry { density, weighed: true } => {
                Some(density.scaled(1.0 / supply::SLURRY_GRAMS_PER_ML))
            }
            Supply::Vials { litres, density } => density.as_ref().map(|d| d.scaled(litres * 1000.0)),
            Supply::Wort => {
                let starter = self.context.kind(from) == Some(LotKind::Starter);
                if starter { self.grown(from, at) } else { self.caked(from) }.map(|(total, _)| total)
            }
            Supply::Slant | Supply::Unknown => None,
        };
        let live_per_unit = per_unit.zip(share).map(|(total, share)| total * share);
        let batch = self.batch(into)?;
        let wort = batch.wort;
        let unknown = |text: String| Answer {
            place,
            lot: into,
            text,
            edit: None,
            notes: Vec::new(),
            figures: Vec::new(),
        };
        let wanted = wort.as_ref().map(|w| crate::pitch::wanted(self.context.settings, batch, &traits, w));
        let answer = match (wort, wanted, live_per_unit) {
            (None, _, _) => unknown("no `wort` to pitch into: add `wort 21 L at 1.048`".to_owned()),
            (_, None, _) => unknown("how much it wants is not known".to_owned()),
            (_, Some(Err(why)), _) => unknown(format!("how much it wants is not known: {why}")),
            (_, _, None) => unknown(format!(
                "how much {} holds is not known: add its `pack`, `sachet` or `slurry`",
                self.context.name(from)
            )),
            (Some(wort), Some(Ok(wanted)), Some(live)) => {
                let have: f64 =
                    batch.pitches.iter().filter_map(|p| p.live.as_ref()).map(Estimate::median).sum();
                let by_mass = matches!(supply, Supply::Dry { .. }) && wanted.grams.is_some();
                let (units, sure) = if by_mass {
                    let grams = wanted.grams.unwrap_or(0.0);
                    (grams, grams)
                } else {
                    let units = (wanted.cells - have).max(0.0) / live.median();
                    (units, units * (barm_quantity::NINETY * live.spread()).exp())
                };
                let written = crate::advice::amount(&supply, units, self.context.settings);
                let enough = units <= left * 1.001;
                let mut notes =
                    vec![format!("{} wanted: {}", crate::advice::billions(wanted.cells), wanted.rate)];
                if sure > units * 1.01 {
                    notes.push(format!(
                        "{} would be sure (less than a 5 % chance of falling short)",
                        crate::advice::amount(&supply, sure, self.context.settings)
                    ));
                }
                if enough {
                    let edit = barm_syntax::Edit { span: place.span, text: written.clone() };
                    let text = format!("{written} of {}", self.context.name(from));
                    self.answers.push(Answer {
                        place,
                        lot: into,
                        text,
                        edit: Some(edit),
                        notes,
                        figures: Vec::new(),
                    });
                    return Some((units / left).clamp(0.0, 1.0));
                }
                let all = live.scaled(left);
                let text =
                    crate::advice::too_little(&self.context.name(from), &all, wanted.cells - have, &wort, at);
                Answer { place, lot: into, text, edit: None, notes, figures: Vec::new() }
            }
        };
        self.answers.push(answer);
        None
    }

    /// `wort ? at G` in a starter: as large as what is pitched from it wants.
    fn answer_starter_size(&mut self, starter: LotId, into: LotId) {
        let context = self.context;
        let Some(batch) = self.batch(starter) else { return };
        if batch.kind != LotKind::Starter || batch.wort.is_some() {
            return;
        }
        let Some(home) = context.home(starter) else { return };
        let Some((ask, gravity)) = home.block.statements.iter().find_map(|s| match &s.kind {
            Kind::Wort(w) => match (w.volume, w.gravity) {
                (Asked::Asked(span), Asked::Known(gravity)) => Some((home.place(span), gravity)),
                _ => None,
            },
            _ => None,
        }) else {
            return;
        };
        let gravity = wort::as_gravity(&gravity.measure);
        let strength = barm_zymology::gravity::plato(gravity);
        let traits = self.traits(starter);
        let wanted = self
            .batch(into)
            .and_then(|b| b.wort.as_ref().map(|w| crate::pitch::wanted(context.settings, b, &traits, w)));
        let pitched = self.pitched_cells(starter);
        let unanswered = |text: String| Answer {
            place: ask,
            lot: starter,
            text,
            edit: None,
            notes: Vec::new(),
            figures: Vec::new(),
        };
        let answer = match (wanted, pitched) {
            (None, _) => unanswered("the wort that it is for is not known".to_owned()),
            (Some(Err(why)), _) => unanswered(format!("how much the brew wants is not known: {why}")),
            (_, None) => unanswered("what is pitched into it is not known".to_owned()),
            (Some(Ok(wanted)), Some(pitched)) => {
                // 95–98 % of a fresh starter lives.
                let target = Cells::each(wanted.cells / 0.965);
                match starter::volume_for(target, &pitched, strength, batch.method) {
                    Some(volume) => {
                        let litres = crate::advice::round_up(volume.as_litres().max(0.1));
                        let volume = Volume::litres(litres);
                        let text = format!("{} L", barm_quantity::plain(litres, 2));
                        let notes = vec![format!(
                            "{} wanted ({}), from {} pitched into the starter",
                            crate::advice::billions(wanted.cells),
                            wanted.rate,
                            crate::advice::billions(pitched.median())
                        )];
                        let placed = Wort {
                            volume,
                            volume_error: Volume::litres(0.0),
                            gravity,
                            gravity_error: context.settings.hydrometer_error,
                            strength,
                            place: ask,
                            measured: false,
                        };
                        if let Some(batch) = self.batch_mut(starter) {
                            batch.wort = Some(placed);
                            batch.missing.retain(|m| m.figure != "wort");
                        }
                        let edit = barm_syntax::Edit { span: ask.span, text: text.clone() };
                        Answer {
                            place: ask,
                            lot: starter,
                            text,
                            edit: Some(edit),
                            notes,
                            figures: Vec::new(),
                        }
                    }
                    None => unanswered(format!(
                        "one step from {} cannot reach {}: grow it in two steps, or begin with more",
                        crate::advice::billions(pitched.median()),
                        crate::advice::billions(wanted.cells)
                    )),
                }
            }
        };
        self.answers.push(answer);
    }
}

/// A kelvin either way of a single temperature.
pub(crate) const HOLD_SLACK: f64 = 1.0;

const fn thickness(word: Thickness) -> supply::Thickness {
    match word {
        Thickness::Thin => supply::Thickness::Thin,
        Thickness::Medium => supply::Thickness::Medium,
        Thickness::Thick => supply::Thickness::Thick,
    }
}

/// The same uncertainty around one.
fn normalised(estimate: &Estimate) -> Estimate {
    if estimate.median() > 0.0 { estimate.scaled(1.0 / estimate.median()) } else { Estimate::exact(1.0) }
}

/// The measure in the unit a thousand times smaller, where there is one: `450 L` is likely `450 mL`.
fn thousandth(measure: &Measure) -> Option<Measure> {
    let unit = match measure.unit {
        Unit::Litre => Unit::Millilitre,
        Unit::Kilogram => Unit::Gram,
        Unit::Hectolitre => Unit::Litre,
        _ => return None,
    };
    Some(Measure { unit, ..*measure })
}

/// The last of what comes first in a list in order of time.
fn before<T>(list: &[T], is_before: impl Fn(&T) -> bool) -> Option<&T> {
    list.get(..list.partition_point(is_before))?.last()
}

/// The last reading by a moment that had still fallen by more than a point since the one before it.
pub(crate) fn last_fall(readings: &[GravityReading], wort: Option<&Wort>, at: Moment) -> Option<Moment> {
    let mut before = wort.map(|w| w.gravity.as_specific());
    let mut fell = None;
    for reading in readings.iter().take_while(|r| r.at <= at) {
        let now = reading.gravity.as_specific();
        if before.is_none_or(|b| b - now > 0.001) {
            fell = Some(reading.at);
        }
        before = Some(now);
    }
    fell
}

/// The name of the harvest before a `kept` on the same line.
fn harvested_on_line<'s>(shelved: &Shelved<'s>, index: u32) -> Option<&'s str> {
    let before = shelved.statement(index.checked_sub(1)?)?;
    let kept = shelved.statement(index)?;
    // One line: nothing but a comma and blanks lie between.
    let near = kept.span.start.saturating_sub(before.span.end) <= 8 && kept.time == before.time;
    match &before.kind {
        Kind::Harvest(harvest) if near && before.day == kept.day => Some(&harvest.name.text),
        _ => None,
    }
}
