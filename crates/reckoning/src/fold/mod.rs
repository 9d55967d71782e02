//! The one fold over all events: stock, age, generation and shares of every lot at every draw.

mod declare;
mod draw;
mod growth;
mod harvest;
mod measure;
mod part;
mod questions;
mod stock;

use std::collections::BTreeMap;

use barm_quantity::{Dimension, Estimate, Measure, Share, Temperature, Unit};
use barm_syntax::ast::{Add, AmountKind, BlockKind, Counted, Kind, Name, Quantity, Statement, Thickness};
use barm_zymology::{count, supply};

use crate::acidity::Acidity;
use crate::additions::{self, Addition};
use crate::answer::Answer;
use crate::batch::{Batch, GravityReading, Guest, Wort};
use crate::context::Context;
use crate::counts::Counting;
use crate::degrees;
use crate::fault::Fault;
use crate::lot::{LiveShare, State};
use crate::names::{LotId, LotKind};
use crate::strain::{Rate, StrainId, Strains, Traits};
use crate::timeline::{self, Entry, Shelved};
use crate::washes::Washed;
use crate::wort::Wholes;
use crate::{Moment, Place, blends};

pub(crate) use questions::units_for;
pub(crate) use stock::Holding;

/// One lot goes into or comes out of another.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Descent {
    pub from: LotId,
    pub to: LotId,
    pub at: Moment,
    pub place: Place,
    /// It goes into packages, and not into the lot that they are filled of.
    pub packaged: bool,
}

/// A statement's place, and where its block begins, so that what stands in it can be pointed at.
#[derive(Debug, Clone, Copy)]
struct Line {
    place: Place,
    start: u32,
    /// How far off the statement's moment may be.
    hours_either_way: f64,
}

impl Line {
    fn of(shelved: &Shelved<'_>, statement: &Statement) -> Self {
        let hours_either_way = timeline::hours_either_way(shelved, statement);
        Self { place: shelved.place(statement.span), start: shelved.start, hours_either_way }
    }

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
    /// All cells of a volume or mass of a cake, which is drawn by its slurry and not by its share.
    slurry: Option<Estimate>,
}

/// What the fold found.
pub(crate) struct Found {
    pub states: Vec<State>,
    pub batches: Vec<Batch>,
    pub batch_of: Vec<Option<usize>>,
    pub strains: Strains,
    pub counts: Vec<Counting>,
    pub washes: Vec<Washed>,
    pub acidity: Vec<Acidity>,
    pub faults: Vec<Fault>,
}

/// The fold.
pub(crate) struct Fold<'c, 'a> {
    context: &'c Context<'a>,
    pub strains: Strains,
    pub states: Vec<State>,
    /// In order of file and line.
    pub batches: Vec<Batch>,
    /// Position in `batches` by lot.
    pub batch_of: Vec<Option<usize>>,
    pub descents: Vec<Descent>,
    pub counts: Vec<Counting>,
    pub washes: Vec<Washed>,
    /// What loggers read of the pH.
    pub acidity: Vec<Acidity>,
    pub answers: Vec<Answer>,
    pub faults: Vec<Fault>,
    wholes: Wholes,
    /// What works in brews that say so themselves, and of which no strain is known that does.
    unnamed: BTreeMap<LotId, StrainId>,
    /// What a picture of the stock wants besides; kept only where one is drawn.
    pub trace: Option<Trace>,
}

/// What became of the stock on the way, which the states at the end no longer show.
#[derive(Default)]
pub(crate) struct Trace {
    /// Every draw: of which lot, when, where, how much in the unit shown, and what stayed.
    pub draws: Vec<(LotId, Moment, Place, f64, f64)>,
    /// Live shares as they were until something was measured or done.
    pub until: Vec<(LotId, Moment, LiveShare)>,
}

impl<'c, 'a> Fold<'c, 'a> {
    pub(crate) fn run(context: &'c Context<'a>, order: Vec<Entry>, faults: Vec<Fault>) -> Self {
        Self::new(context, faults, None).over(order)
    }

    /// The same, and notes what became of the stock on the way.
    pub(crate) fn traced(context: &'c Context<'a>, order: Vec<Entry>) -> (Self, Trace) {
        let mut fold = Self::new(context, Vec::new(), Some(Trace::default())).over(order);
        let trace = fold.trace.take().unwrap_or_default();
        (fold, trace)
    }

    fn new(context: &'c Context<'a>, faults: Vec<Fault>, trace: Option<Trace>) -> Self {
        let strains = Strains::collect(&context.shelf);
        let lots = context.names.lots.len();
        let is_batch = |kind| matches!(kind, BlockKind::Starter | BlockKind::Brew);
        let batches = context.shelf.iter().filter(|s| is_batch(s.block.kind)).count();
        let mut fold = Self {
            context,
            strains,
            states: vec![State::unknown(); lots],
            batches: Vec::with_capacity(batches),
            batch_of: vec![None; lots],
            descents: Vec::new(),
            counts: Vec::new(),
            washes: Vec::new(),
            acidity: Vec::new(),
            answers: Vec::new(),
            faults,
            wholes: Wholes::default(),
            unnamed: BTreeMap::new(),
            trace,
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
        fold
    }

    fn over(mut self, order: Vec<Entry>) -> Self {
        for entry in order {
            self.step(entry);
        }
        self.tell_unlikely_traits();
        self
    }

    /// A range of the other scale, and a rate that lacks its `/°P`.
    fn tell_unlikely_traits(&mut self) {
        let context = self.context;
        for (shelved, owner) in context.shelf.iter().zip(&context.owner) {
            for statement in &shelved.block.statements {
                let stated = match &statement.kind {
                    Kind::Rate(stated) | Kind::Target(stated) => stated,
                    Kind::Range(range) => {
                        let place = shelved.place(range.span);
                        degrees::read(range.measure, degrees::Of::Beer, place, &mut self.faults);
                        continue;
                    }
                    _ => continue,
                };
                let own = Traits::of(shelved.block).organism;
                let organism = own.or_else(|| self.traits((*owner)?).organism);
                let written = stated.measure;
                if let (Some(rate), Some(by_volume)) =
                    (Rate::of(&written), written.converted(Unit::MillionPerMillilitre))
                    && rate.meant(organism) != rate
                {
                    let place = shelved.place(stated.span);
                    let likely = Measure { unit: Unit::MillionPerMillilitrePerPlato, ..by_volume };
                    let why = "no wort wants so few cells".to_owned();
                    self.faults.push(Fault::UnlikelyUnit { place, written, likely, why, impossible: false });
                }
            }
        }
    }

    /// Notes a live share before something changes it.
    fn passes(&mut self, lot: LotId, at: Moment) {
        if let Some(trace) = &mut self.trace
            && let Some(live) = self.states.get(lot.0 as usize).and_then(|state| state.live.as_ref())
        {
            trace.until.push((lot, at, LiveShare::clone(live)));
        }
    }

    /// What it found: states, batches, strains, counts and faults.
    pub(crate) fn finish(self) -> Found {
        Found {
            states: self.states,
            batches: self.batches,
            batch_of: self.batch_of,
            strains: self.strains,
            counts: self.counts,
            washes: self.washes,
            acidity: self.acidity,
            faults: self.faults,
        }
    }

    fn state(&self, lot: LotId) -> Option<&State> {
        self.states.get(lot.0 as usize)
    }
    fn state_mut(&mut self, lot: LotId) -> Option<&mut State> {
        self.states.get_mut(lot.0 as usize)
    }
    fn batch(&self, lot: LotId) -> Option<&Batch> {
        self.batches.get((*self.batch_of.get(lot.0 as usize)?)?)
    }
    fn batch_mut(&mut self, lot: LotId) -> Option<&mut Batch> {
        self.batches.get_mut((*self.batch_of.get(lot.0 as usize)?)?)
    }

    /// What a beer is set or crashed to, as it is likely meant; what is doubtful is told. Before its yeast it is no beer.
    fn read_of_beer(
        &mut self,
        lot: LotId,
        to: &Quantity,
        of: degrees::Of,
        (at, line): (Moment, &Line),
    ) -> Measure {
        let is_beer = self.batch(lot).is_some_and(|batch| batch.is_pitched_by(at, line.place));
        if is_beer { degrees::read(to.measure, of, line.at(to.span), &mut self.faults) } else { to.measure }
    }

    fn step(&mut self, entry: Entry) {
        let context = self.context;
        let Some((&shelved, statement)) = context.look(entry) else { return };
        let own = context.owner.get(entry.shelf as usize).copied().flatten();
        let at = entry.at;
        let line = Line::of(&shelved, statement);
        let place = line.place;
        let lot_of = |fold: &mut Self, name: &Option<barm_syntax::ast::Name>| match name {
            Some(name) => context.known_lot(name, &shelved, &mut fold.faults),
            None => own,
        };
        // What is done with yeast behind a `harvest` on its line is done with what was harvested.
        let jar_of = |fold: &mut Self, name: &Option<barm_syntax::ast::Name>| match name {
            None => timeline::harvested_on_line(&shelved, entry.statement)
                .and_then(|name| context.names.lot(name))
                .or(own),
            named => lot_of(fold, named),
        };
        match &statement.kind {
            Kind::Pitch(pitch) => {
                let Some(from) = context.known_lot(&pitch.lot, &shelved, &mut self.faults) else { return };
                if let Some(into) = own {
                    self.pitch(from, into, pitch, line, at);
                }
            }
            Kind::WortOf(of) => {
                if let (Some(whole), Some(part)) = (context.names.lot(&of.brew.text), own) {
                    self.part(whole, part, at, place);
                }
            }
            Kind::Harvest(harvest) => {
                if let Some(from) = own {
                    self.harvest(from, harvest, line, at);
                }
            }
            Kind::Kept(kept) => {
                if let Some(lot) = jar_of(self, &kept.lot) {
                    let written = &kept.temperature;
                    let is_yeast = matches!(context.kind(lot), Some(LotKind::Culture | LotKind::Harvest));
                    let span = shelved.place(written.span);
                    let read = if is_yeast {
                        degrees::read(written.measure, degrees::Of::Yeast, span, &mut self.faults)
                    } else {
                        if self.batch(lot).is_some_and(|batch| batch.is_pitched_by(at, place)) {
                            degrees::read(written.measure, degrees::Of::Packaged, span, &mut self.faults);
                        }
                        // What a bottle must bear is reckoned as it is written: some are heated.
                        written.measure
                    };
                    self.keep(lot, at, Temperature::celsius(read.base()), place);
                }
            }
            Kind::Crash(Some(to)) => {
                if let Some(lot) = own {
                    let to = self.read_of_beer(lot, to, degrees::Of::Crashed, (at, &line));
                    self.keep(lot, at, Temperature::celsius(to.base()), place);
                }
            }
            // A starter grows on at what it is set to.
            Kind::Set(set) if set.to.measure.dimension() == Dimension::Temperature => {
                if let Some(lot) = own.filter(|lot| context.kind(*lot) == Some(LotKind::Brew)) {
                    let there = at.plus_hours(set.over.map_or(0.0, |over| over.measure.base().max(0.0)));
                    let to = self.read_of_beer(lot, &set.to, degrees::Of::Beer, (at, &line));
                    self.keep(lot, there, Temperature::celsius(to.base()), place);
                }
            }
            Kind::Count(counted) => {
                let Some(lot) = jar_of(self, &counted.lot) else { return };
                let meant = self.meant_count(lot, counted, &shelved);
                let counted = meant.as_ref().unwrap_or(counted);
                let is_possible = match &counted.what {
                    Counted::Density(q) => {
                        self.is_possible(q, self.traits(lot).organism, shelved.place(q.span))
                    }
                    Counted::Squares { .. } => true,
                };
                if is_possible {
                    self.count(lot, counted, at, place);
                }
            }
            Kind::Viability(viability) => {
                if let Some(lot) = jar_of(self, &viability.lot) {
                    let measure = viability.value.measure;
                    let (read, error) = (measure.base(), measure.error_base());
                    let share = count::viability_as_read(
                        Share::fraction(read),
                        Share::fraction(error),
                        &context.name(lot),
                    );
                    self.measured(lot, share, at);
                }
            }
            Kind::Decant(decant) => {
                if let Some(lot) = jar_of(self, &decant.lot) {
                    self.decant(lot, decant.amount.as_ref(), line);
                }
            }
            Kind::Wash(wash) => {
                if let Some(lot) = jar_of(self, &wash.lot) {
                    self.passes(lot, at);
                    self.wash(lot, wash, at, place);
                }
            }
            Kind::Boil(_) => {
                if let Some(lot) = own {
                    self.passes(lot, at);
                    self.boil(lot, at);
                }
            }
            Kind::Dump(dump) => {
                if let Some(lot) = lot_of(self, &dump.lot) {
                    let told = self.faults.len();
                    self.draw(lot, dump.amount.as_ref(), at, line);
                    // Of a brew it is the beer that is poured away where it is more than a cake.
                    if context.kind(lot) == Some(LotKind::Brew) {
                        self.faults.truncate(told);
                    }
                }
            }
            Kind::Add(add) => {
                if let (Some(yeast), Some(into)) = (context.yeast(&add.what.text), own) {
                    self.add_yeast(yeast, into, add, line, at);
                } else if let (Some(from), Some(into)) = (context.beer(&add.what.text), own) {
                    self.descents.push(Descent { from, to: into, at, place, packaged: false });
                    self.join(from, into, at, (place, false));
                } else {
                    self.tell_misspelt_sugar(&add.what, shelved);
                    self.tell_unlikely_sugar(own, add, line);
                    self.join_by_name(&add.what, own, at, (place, false));
                }
            }
            Kind::Package(package) => {
                if let Some(temperature) = &package.at_temperature {
                    degrees::read(
                        temperature.measure,
                        degrees::Of::Beer,
                        line.at(temperature.span),
                        &mut self.faults,
                    );
                }
                let is_named = |what: &str| context.yeast(what).is_some() || context.beer(what).is_some();
                for priming in package.with.iter().filter(|priming| !is_named(&priming.what.text)) {
                    self.tell_misspelt_sugar(&priming.what, shelved);
                    self.join_by_name(&priming.what, own, at, (place, true));
                }
                let named = package.with.iter().filter_map(|with| context.names.lot(&with.what.text));
                // What goes into the packages is gone from its jar, or from its starter.
                for with in package.with.iter().filter(|with| with.amount.kind != AmountKind::Asked) {
                    if let Some(yeast) = context.yeast(&with.what.text) {
                        self.draw(yeast, Some(&with.amount), at, line);
                    }
                }
                for (from, into) in named.filter_map(|from| Some((from, own.filter(|own| *own != from)?))) {
                    self.join(from, into, at, (place, true));
                }
                let beers = package.with.iter().filter_map(|with| context.beer(&with.what.text));
                for from in beers.filter(|from| own.is_some_and(|own| own != *from)) {
                    self.descents.extend(own.map(|to| Descent { from, to, at, place, packaged: true }));
                }
            }
            _ => {}
        }
    }

    /// More sugar than water can hold was meant in another unit.
    fn tell_unlikely_sugar(&mut self, own: Option<LotId>, add: &Add, line: Line) {
        // As it was before: a syrup would have room for anything.
        let stated = own.zip(own.and_then(|lot| self.context.home(lot)));
        let stated = stated.and_then(|(lot, home)| self.wholes.start(self.context, lot, home).ok());
        let wort = stated.map(|stated| stated.wort.volume);
        let sugar = matches!(Addition::read(&add.what.text), Addition::Sugar(_));
        let Some(wort) = wort.filter(|_| sugar) else { return };
        if let (Some(likely), AmountKind::Measured(written)) =
            (additions::meant_sugar(add.amount.kind, wort), add.amount.kind)
        {
            let why = format!("the wort was {}", self.context.scale(line.place).volume(wort));
            let place = line.at(add.amount.span);
            self.faults.push(Fault::UnlikelyUnit { place, written, likely, why, impossible: false });
        }
    }

    fn tell_misspelt_sugar(&mut self, what: &Name, shelved: Shelved<'_>) {
        if let Some(nearest) = additions::nearly_a_sugar(&what.text) {
            let (place, what) = (shelved.place(what.span), what.text.to_string());
            self.faults.push(Fault::UnknownAddition { what, place, nearest });
        }
    }

    /// A lot lies at a temperature from a moment on.
    fn keep(&mut self, lot: LotId, at: Moment, temperature: Temperature, place: Place) {
        let Some(state) = self.state_mut(lot) else { return };
        match &mut state.live {
            Some(live) => live.kept.push((at, temperature, place)),
            None => state.put_away.push((at, temperature, place)),
        }
    }

    /// When and where a lot comes to be, as far as that is written.
    fn comes_to_be(&self, lot: LotId) -> Option<(Moment, Place)> {
        match self.context.kind(lot) {
            Some(LotKind::Culture) => self.state(lot).and_then(|s| {
                let live = s.live.as_ref().filter(|live| !live.reckoned_back)?;
                s.made.map(|(made, place)| (made.plus_hours(-24.0 * live.days_either_way), place))
            }),
            Some(LotKind::Harvest) => match self.state(lot).and_then(|s| s.made) {
                Some(made) => Some(made),
                None => self.first_event(lot, |kind| matches!(kind, Kind::Harvest(_))),
            },
            Some(LotKind::Starter | LotKind::Brew) => {
                self.first_event(lot, |kind| self.context.brings_yeast(kind))
            }
            None => None,
        }
    }

    /// A lot must be there before it is used; where it is not, the fault says when it comes to be.
    fn is_there(&mut self, lot: LotId, at: Moment, place: Place) -> bool {
        match self.comes_to_be(lot) {
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

    fn shares(&self, lot: LotId) -> Vec<(StrainId, f64)> {
        self.state(lot).map(|s| s.shares.clone()).unwrap_or_default()
    }

    fn traits(&self, lot: LotId) -> Traits {
        let own = self.batch(lot).map(|b| b.traits.clone()).unwrap_or_default();
        let of_strains = self
            .state(lot)
            .and_then(|s| s.shares.iter().max_by(|a, b| a.1.total_cmp(&b.1)))
            .map(|(strain, _)| self.strains.traits(*strain))
            .unwrap_or_default();
        own.or(&of_strains)
    }

    /// A lot's yeast comes along into a brew, and stays in its cake unless it is packaged.
    fn join(&mut self, from: LotId, into: LotId, at: Moment, (line, packaged): (Place, bool)) {
        let mut strains: Vec<StrainId> = self.shares(from).into_iter().map(|(strain, _)| strain).collect();
        strains.extend(self.unnamed(from, &strains));
        self.joins(strains, (Some(from), into), at, (line, packaged));
    }

    /// What a line adds by a name that says what lives in it, and no block tells of.
    fn join_by_name(
        &mut self,
        what: &Name,
        into: Option<LotId>,
        at: Moment,
        (line, packaged): (Place, bool),
    ) {
        if let Some((organism, into)) = additions::lives(&what.text).zip(into) {
            let strain = self.strains.own((&*what.text).into(), line, Traits::of_kind(organism), Vec::new());
            self.joins(vec![strain], (None, into), at, (line, packaged));
        }
    }

    fn joins(
        &mut self,
        mut strains: Vec<StrainId>,
        (from, into): (Option<LotId>, LotId),
        at: Moment,
        (line, packaged): (Place, bool),
    ) {
        let there = self.shares(into);
        strains.retain(|strain| there.iter().all(|(known, _)| known != strain));
        for strain in strains {
            let traits = self.strains.traits(strain);
            let matters = traits.attenuates.is_some() || traits.goes_on().is_some();
            if let Some(batch) = self.batch_mut(into).filter(|_| matters) {
                batch.guests.push(Guest { at, from, line, packaged, traits });
            }
            if let Some(state) = self.state_mut(into).filter(|_| !packaged) {
                blends::join(&mut state.shares, strain);
                state.rounds = None;
            }
        }
    }

    /// What goes on in a brew that says so itself, where none of its strains does.
    fn unnamed(&mut self, brew: LotId, strains: &[StrainId]) -> Option<StrainId> {
        let traits = self.traits(brew);
        let goes_on = |strain: &StrainId| self.strains.traits(*strain).goes_on().is_some();
        if traits.goes_on().is_none() || strains.iter().any(goes_on) {
            return None;
        }
        if let Some(known) = self.unnamed.get(&brew) {
            return Some(*known);
        }
        let strain = self.strains.own(self.context.name(brew), self.batch(brew)?.place, traits, Vec::new());
        self.unnamed.insert(brew, strain);
        Some(strain)
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
}

const fn thickness(word: Thickness) -> supply::Thickness {
    match word {
        Thickness::Thin => supply::Thickness::Thin,
        Thickness::Medium => supply::Thickness::Medium,
        Thickness::Thick => supply::Thickness::Thick,
    }
}

/// The measure in the unit a thousand times smaller, where there is one: `450 L` is likely `450 mL`.
fn thousandth(measure: &Measure) -> Option<Measure> {
    let unit = match measure.unit {
        Unit::Litre => Unit::Millilitre,
        Unit::Kilogram => Unit::Gram,
        _ => return None,
    };
    Some(Measure { unit, ..*measure })
}

/// The cells in the unit a thousand times larger, where there is one: `100 M` is likely `100 B`.
fn thousandfold(measure: &Measure) -> Option<Measure> {
    let unit = match measure.unit {
        Unit::MillionCells => Unit::BillionCells,
        Unit::MillionPerMillilitre => Unit::BillionPerMillilitre,
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
