//! Packaging: the carbon dioxide that comes to be in the beer, and questions there and in the kettle.

use std::collections::BTreeMap;

use barm_quantity::{
    Bitterness, CarbonDioxide, Dimension, Gravity, Mass, Measure, Pressure, Share, Span, Temperature, Unit,
    Volume, plain,
};
use barm_syntax::ast::{Add, AmountKind, Kind, Measured, Organism, Package, PackageKind, Quantity};
use barm_zymology::carbonation::{self, Sugar};
use barm_zymology::fermentation::{ATTENUATES, UNREAD, UNTOUCHED, tells_for};
use barm_zymology::{alcohol, bitterness, gravity};

use crate::additions::{self, Addition};
use crate::answer::{self, Answer, Unanswered};
use crate::batch::{Batch, Wort};
use crate::context::{self, Context};
use crate::fault::Fault;
use crate::fermentation::{ExpectedEnd, Shown, fermented_part};
use crate::names::{LotId, LotKind};
use crate::volumes;
use crate::wort::{self, Wholes};
use crate::{Fact, Figure, Moment, Place, Scale, advice};

/// Sugar or wort added so shortly before packaging is meant to carbonate, h.
const PRIMING_HOURS: f64 = 24.0;
/// No gravity is asked for more nearly than it is written.
const NEAR_ENOUGH: f64 = 0.0005;
/// Sugar is weighed for beer of which no more than so much may still come by itself, vol (a judgement).
const MAY_STILL_COME: f64 = 0.8;
/// Of more packages than anybody fills of one beer the rest is not reckoned.
const MOST_PACKAGES: usize = 100;

/// Extract that is still to ferment.
#[derive(Debug, Clone, PartialEq)]
pub struct ToFerment {
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
}

/// What a vessel is made for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rated {
    /// So much carbon dioxide.
    Gas(CarbonDioxide),
    /// So much pressure.
    Pressure(Pressure),
}

/// What says how much carbon dioxide comes to be in a package.
enum Said {
    /// A reading.
    Read(Place),
    /// What was asked for.
    Asked,
    /// The sum of all that is known.
    Reckoned,
}

/// One `bottle`, `keg` or `cask`, and the carbon dioxide that comes to be in it.
#[derive(Debug, Clone, PartialEq)]
pub struct PackageFigures {
    /// The statement.
    pub place: Place,
    /// When.
    pub at: Moment,
    /// Into what.
    pub kind: PackageKind,
    /// How much beer.
    pub volume: Option<Volume>,
    /// What fermentation left in it.
    pub residual: CarbonDioxide,
    /// What says so: "left from fermentation".
    pub residual_from: &'static str,
    /// What a `co2` later than this line says that came to be in it, and where.
    pub read: Option<(CarbonDioxide, Place)>,
    /// The warmest that the beer has been since it worked, °C, and whether that was stated or read.
    pub warmest: (f64, bool),
    /// What the sugar and the wort added give.
    pub added: CarbonDioxide,
    /// Give or take.
    pub added_error: CarbonDioxide,
    /// In words, each.
    pub additions: Vec<String>,
    /// Fruit or beer of unknown extract was added before to what goes on all the same.
    pub unknown_before: bool,
    /// What of what is added could not be reckoned: "cherries".
    pub unknown: Vec<String>,
    /// A sugar is still to be weighed: its line holds a `?`.
    pub is_asked: bool,
    /// What is still to ferment; `None` where no gravity was read or no end is known.
    pub to_ferment: Option<ToFerment>,
    /// Whether the log shows that the beer had stopped.
    pub shown: Shown,
    /// What makes it go on all the same: "a diastatic strain".
    pub goes_on: Option<&'static str>,
    /// The carbonation asked for.
    pub asked: Option<CarbonDioxide>,
    /// What the bottle, keg or cask is made for.
    pub rated: Option<Rated>,
}

impl PackageFigures {
    /// Whether what comes to be in it stays in it: a keg or cask vents unless its line says what it is made for.
    #[must_use]
    pub fn is_closed(&self) -> bool {
        self.kind == PackageKind::Bottle || self.rated.is_some()
    }

    /// What is still to ferment counts where a fresh reading does not show that the beer had stopped, or where it goes on
    /// all the same.
    #[must_use]
    pub fn counts_to_ferment(&self) -> Option<&ToFerment> {
        let works = |more: &&ToFerment| self.shown == Shown::Not && !more.stale;
        self.to_ferment.as_ref().filter(|more| works(more) || self.goes_on.is_some())
    }

    /// All carbon dioxide that comes to be in it, and give or take.
    #[must_use]
    pub fn carbonation(&self) -> (CarbonDioxide, CarbonDioxide) {
        let (gas, error, _) = self.comes();
        (gas, error)
    }

    /// The same, and what says so.
    fn comes(&self) -> (CarbonDioxide, CarbonDioxide, Said) {
        let (gas, error) = self.reckoned();
        match (self.read, self.asked) {
            // What goes on may still pass what was read.
            (Some((read, place)), _) if self.goes_on.is_none() || read > gas => {
                (read, carbonation::READ_ERROR, Said::Read(place))
            }
            // With no sugar on record it is brought to that in another way.
            (None, Some(asked)) if self.additions.is_empty() && asked > gas => {
                (asked, carbonation::READ_ERROR, Said::Asked)
            }
            _ => (gas, error, Said::Reckoned),
        }
    }

    /// The same without a reading of it.
    fn reckoned(&self) -> (CarbonDioxide, CarbonDioxide) {
        let (more, error) =
            self.counts_to_ferment().map_or((0.0, 0.0), |t| (t.gas.as_volumes(), t.error.as_volumes()));
        let error =
            carbonation::RESIDUAL_ERROR.as_volumes().hypot(self.added_error.as_volumes()).hypot(error);
        (
            CarbonDioxide::volumes(self.residual.as_volumes() + self.added.as_volumes() + more),
            CarbonDioxide::volumes(error),
        )
    }

    /// All carbon dioxide that comes to be in it, as outputs show it.
    #[must_use]
    pub fn carbonation_figure(&self) -> Figure {
        let (gas, error, said) = self.comes();
        let (from, place) = match said {
            Said::Read(place) => ("as read".to_owned(), place),
            Said::Asked => ("as asked for, by whatever means".to_owned(), self.place),
            Said::Reckoned => (self.reckoned_from(), self.place),
        };
        Figure::plain("carbonation", gas.as_volumes(), error.as_volumes(), "vol", from).at(place)
    }

    fn reckoned_from(&self) -> String {
        let mut from = vec![format!("{} vol {}", plain(self.residual.as_volumes(), 2), self.residual_from)];
        from.extend(self.additions.iter().cloned());
        if let Some(more) = self.counts_to_ferment() {
            from.push(format!("{} vol still to ferment", plain(more.gas.as_volumes(), 2)));
        }
        from.join(", ")
    }

    /// The pressure in the closed bottle at 20 and 30 °C, as outputs show it.
    #[must_use]
    pub fn pressure_figures(&self) -> [Figure; 2] {
        [("pressure-20", 20.0), ("pressure-30", 30.0)].map(|(name, celsius)| {
            let (gas, error) = self.carbonation();
            // Beer with less gas than air presses on it draws none in through its closure.
            let at = |gas| carbonation::pressure_at(gas, Temperature::celsius(celsius)).as_bar().max(0.0);
            let from = format!("gauge, in balance with its beer at {celsius} °C");
            let figure = Figure::plain(name, at(gas), 0.0, "bar", from).at(self.place);
            Figure { low: at(gas - error), high: at(gas + error), ..figure }
        })
    }
}

/// Beer or wort of another brew that carbonates what it is poured into.
#[derive(Debug, Clone, Copy)]
struct Young {
    /// What is still to ferment in it gives so much carbon dioxide, vol, and give or take.
    gas: f64,
    error: f64,
    /// Where it stood.
    gravity: Gravity,
}

impl Young {
    /// A brew as it was at a moment; `None` where nothing tells how far it had come.
    fn of(batch: &Batch, at: Moment) -> Option<Self> {
        let gas_of = |extract: Mass| carbonation::from_extract(extract, Volume::litres(1.0)).as_volumes();
        if let Some(read) = before(batch, at) {
            let more = to_ferment(batch, at, at)?;
            let (low, high) = more.end.range;
            // The end that is reckoned with is the lowest that is likely.
            let most = more.gas.as_volumes();
            let least = if more.stale { 0.0 } else { (most - gas_of(extract_between(high - low))).max(0.0) };
            let error = ((most - least) / 2.0).hypot(more.error.as_volumes());
            return Some(Self { gas: f64::midpoint(least, most), error, gravity: read.gravity });
        }
        let wort = batch.wort?;
        if batch.pitched_at().is_some_and(|pitched| at.since(pitched) > UNTOUCHED) {
            return None;
        }
        let [low, _, high] = ATTENUATES.map(Share::as_fraction);
        let (low, high) = batch.worked().and_then(|found| found.attenuates).unwrap_or((low, high));
        let [least, most] = [low, high].map(|share| {
            let extract = gravity::extract(wort.strength) * Volume::litres(1.0);
            gas_of(extract * fermented_part(wort.strength, share))
        });
        Some(Self { gas: f64::midpoint(least, most), error: (most - least) / 2.0, gravity: wort.gravity })
    }

    /// So many litres of it bring as many of beer from one carbonation to another.
    fn litres_for(self, beer: Volume, residual: CarbonDioxide, wanted: CarbonDioxide) -> Option<f64> {
        let lacks = wanted.as_volumes() - residual.as_volumes();
        (self.gas > lacks).then(|| beer.as_litres() * lacks.max(0.0) / (self.gas - lacks))
    }
}

/// What other brews were when some of them was poured in.
#[derive(Debug, Default)]
pub(crate) struct Others(BTreeMap<(LotId, Moment), Young>);

impl Others {
    fn of<'b>(context: &Context<'_>, into: LotId, batch: impl Fn(LotId) -> Option<&'b Batch>) -> Self {
        let mut out = BTreeMap::new();
        for (at, _, statement) in context.events(into) {
            let poured = context::poured_in(&statement.kind).filter_map(|(what, _)| context.beer(&what.text));
            for from in poured.filter(|from| *from != into) {
                out.extend(batch(from).and_then(|batch| Some(((from, at), Young::of(batch, at)?))));
            }
        }
        Self(out)
    }

    fn young(&self, context: &Context<'_>, what: &str, at: Moment) -> Option<Young> {
        self.0.get(&(context.beer(what)?, at)).copied()
    }
}

/// Reckons and answers for the brews that another's beer was poured into, when all others are reckoned.
pub(crate) fn of_blended(
    context: &Context<'_>,
    batches: &mut [Batch],
    batch_of: &[Option<usize>],
    faults: &mut Vec<Fault>,
    answers: &mut Vec<Answer>,
) {
    let index_of = |lot: LotId| *batch_of.get(lot.0 as usize)?;
    for lot in &context.blended {
        let others = Others::of(context, *lot, |lot| batches.get(index_of(lot)?));
        if let Some(batch) = index_of(*lot).and_then(|index| batches.get_mut(index)) {
            let mut told = Vec::new();
            reckon(context, batch, &others, &mut told);
            answer(context, batch, &others, &told, answers);
            faults.append(&mut told);
        }
    }
}

/// Reckons what a batch was packaged in.
pub(crate) fn reckon(context: &Context<'_>, batch: &mut Batch, others: &Others, faults: &mut Vec<Fault>) {
    if batch.kind != LotKind::Brew {
        return;
    }
    volumes::check(context, batch, faults);
    let mut out: Vec<PackageFigures> = Vec::new();
    let mut beer = Beer::of(context, batch, others);
    for (at, shelved, statement) in context.events(batch.lot) {
        let place = shelved.place(statement.span);
        beer.parted_by(at);
        match &statement.kind {
            Kind::Package(package) if out.len() < MOST_PACKAGES => {
                out.push(packaged(context, batch, package, place, at, &beer));
            }
            Kind::Reading(reading) if reading.what == Measured::CarbonDioxide => {
                if let Some(package) = out.last_mut() {
                    package.read = Some((asked_for(&reading.measure()), place));
                }
            }
            _ => {}
        }
        beer.goes_on(at, &statement.kind);
    }
    out.shrink_to_fit();
    batch.packages = out;
}

/// The beer that there is, as its lines go by.
struct Beer<'a> {
    context: &'a Context<'a>,
    others: &'a Others,
    pitched: Option<Moment>,
    /// Its yeast has gone by.
    works: bool,
    /// How much of it is left.
    left: Option<Volume>,
    /// Its carbonation as last read, and how.
    gas: Option<(CarbonDioxide, &'static str)>,
    temperatures: &'a [(Moment, f64, Place)],
    /// What was added, and to how much of it as a whole.
    adds: Vec<(Moment, &'a Add, Option<Volume>)>,
    whole: Option<Volume>,
    /// The parts that are still to be taken of it, the last first.
    parts: Vec<(Moment, Volume)>,
}

impl<'a> Beer<'a> {
    fn of(context: &'a Context<'a>, batch: &'a Batch, others: &'a Others) -> Self {
        let whole = batch.wort.map(|wort| wort.volume);
        let mut beer = Self {
            context,
            others,
            pitched: batch.pitched_at(),
            works: false,
            left: whole,
            gas: None,
            temperatures: &batch.temperatures,
            adds: Vec::new(),
            whole,
            parts: Vec::new(),
        };
        // A part goes on with what was added to its whole, and with the gas in it.
        if let Some(taken) = &batch.taken {
            for (at, shelved, statement) in context.before(batch.lot) {
                beer.whole = taken.volume_in(shelved.id);
                beer.goes_on(at, &statement.kind);
            }
            (beer.left, beer.whole) = (whole, whole);
        }
        let of_beer = batch.taken_out.iter().rev().filter(|part| !part.before_yeast);
        beer.parts = of_beer.map(|part| (part.at, part.volume)).collect();
        beer
    }

    /// Parts of it are taken before a line.
    fn parted_by(&mut self, at: Moment) {
        while let Some((_, part)) = self.parts.pop_if(|(taken, _)| *taken <= at) {
            self.left = self.left.map(|left| (left - part).max(Volume::default()));
        }
    }

    /// The next line of the brew. What was done to the wort before the yeast went in is in its volume already.
    fn goes_on(&mut self, at: Moment, kind: &'a Kind) {
        let works = self.works || self.pitched.is_some_and(|pitched| at > pitched);
        match kind {
            // What is written below it without a time of its own went in after it.
            Kind::Pitch(_) => self.works |= self.pitched.is_some_and(|pitched| at >= pitched),
            Kind::Add(add) => {
                self.adds.push((at, add, self.whole));
                let liquid = matches!(Addition::read(&add.what.text), Addition::Water | Addition::Wort)
                    || self.context.beer(&add.what.text).is_some();
                if let (true, Some(left)) = (works && liquid, self.left) {
                    let more = additions::measured(add.amount.kind, left).and_then(litres);
                    self.left = Some(Volume::litres(left.as_litres() + more.unwrap_or(0.0)));
                }
            }
            Kind::Reading(reading) if works && reading.what == Measured::Volume => {
                self.left = Some(Volume::litres(reading.measure().base()));
            }
            Kind::Reading(reading) if reading.what == Measured::CarbonDioxide => {
                self.gas = Some((asked_for(&reading.measure()), "as read"));
            }
            Kind::Reading(reading) if works && reading.what == Measured::Pressure => {
                let gas = under(&reading.measure(), self.celsius_at(at));
                self.gas = Some((gas, "by the pressure read"));
            }
            Kind::Set(set) if works && set.to.measure.dimension() == Dimension::Pressure => {
                let gas = under(&set.to.measure, self.celsius_at(at));
                self.gas = Some((gas, "by the pressure that was set"));
            }
            // What stays behind is yeast and trub.
            Kind::Rack(rack) => {
                if let Some(amount) = &rack.amount {
                    self.left = self.amount(amount.kind);
                }
            }
            Kind::Package(package) => {
                let taken = self.taken(package).map_or(0.0, Volume::as_litres);
                self.left = self.left.map(|left| Volume::litres((left.as_litres() - taken).max(0.0)));
            }
            _ => {}
        }
    }

    /// How warm it was, as last read.
    fn celsius_at(&self, at: Moment) -> f64 {
        let read = self.temperatures.partition_point(|(when, ..)| *when <= at);
        let last = read.checked_sub(1).and_then(|last| self.temperatures.get(last));
        last.map_or(UNREAD.as_celsius(), |(_, celsius, _)| *celsius)
    }

    fn amount(&self, amount: AmountKind) -> Option<Volume> {
        match amount {
            AmountKind::Share(share) => self.left.map(|left| Volume::litres(left.as_litres() * share)),
            AmountKind::All => self.left,
            AmountKind::Measured(measure)
                if self.left.is_some_and(|left| volumes::meant(&measure, left).is_some()) =>
            {
                Some(Volume::litres(measure.base() * 1000.0))
            }
            _ => additions::measured(amount, self.left.unwrap_or_default())
                .and_then(litres)
                .map(Volume::litres),
        }
    }

    /// How much beer a line packages; all that is left where it does not say.
    fn taken(&self, package: &Package) -> Option<Volume> {
        package.amount.as_ref().and_then(|amount| self.amount(amount.kind)).or(self.left)
    }

    /// What fermentation left in it: as read, else what stays in beer that was so warm.
    fn residual(&self, package: &Package, warmest: f64) -> (CarbonDioxide, &'static str) {
        let filled = package.at_pressure.as_ref().map(|at| {
            let celsius = package.at_temperature.as_ref().map_or(warmest, |at| at.measure.base());
            (under(&at.measure, celsius), "by the pressure that it is filled at")
        });
        filled.or(self.gas).unwrap_or_else(|| {
            (carbonation::residual(Temperature::celsius(warmest)), "left from fermentation")
        })
    }
}

/// What beer holds in balance with a pressure.
fn under(pressure: &Measure, celsius: f64) -> CarbonDioxide {
    carbonation::at_pressure(Pressure::bar(pressure.base()), Temperature::celsius(celsius))
}

/// Whether something that a line packages the beer with is still a question.
fn is_asked(package: &Package) -> bool {
    package.with.iter().any(|priming| priming.amount.kind == AmountKind::Asked)
}

fn litres(measure: Measure) -> Option<f64> {
    (measure.dimension() == Dimension::Volume).then(|| measure.base())
}

fn packaged(
    context: &Context<'_>,
    batch: &Batch,
    package: &Package,
    place: Place,
    at: Moment,
    beer: &Beer<'_>,
) -> PackageFigures {
    let fermentation = batch.worked();
    let volume = beer.taken(package);
    let mut gas = Priming::of(batch, package, (beer, at), volume);
    let warmest = warmest(context, batch, package, at);
    let (residual, residual_from) = beer.residual(package, warmest.unwrap_or(UNREAD.as_celsius()));
    let asked = package.for_co2.as_deref().map(|q| asked_for(&q.measure));
    // A question is answered by what the carbonation asked for needs beside all that is known.
    for priming in package.with.iter().filter(|priming| priming.amount.kind == AmountKind::Asked) {
        let what = &priming.what.text;
        let Some(asked) = asked else {
            gas.unknown.push(what.to_string());
            continue;
        };
        let wanted = ((asked - residual).as_volumes() - gas.added).max(0.0);
        let of_error = Sugar::read(what).map_or(carbonation::EXTRACT_ERROR, Sugar::error);
        gas.added += wanted;
        gas.error += wanted * of_error.as_fraction();
        gas.additions.push(format!("{what} as asked"));
    }
    let primed_from = at.plus_hours(-PRIMING_HOURS);
    for (when, add, whole) in beer.adds.iter().rev().take_while(|(when, ..)| *when > primed_from) {
        let what = &*add.what.text;
        gas.add(
            add.amount.kind,
            what,
            wort::added_gravity(add),
            whole.or(volume),
            has_unknown_extract(context, what),
            beer.others.young(context, what, *when),
        );
    }
    let to_ferment = to_ferment(batch, at, primed_from);
    PackageFigures {
        place,
        at,
        kind: package.kind,
        volume,
        residual,
        residual_from,
        read: None,
        warmest: (warmest.unwrap_or(UNREAD.as_celsius()), warmest.is_some()),
        added: CarbonDioxide::volumes(gas.added),
        added_error: CarbonDioxide::volumes(gas.error),
        additions: gas.additions,
        unknown_before: fermentation.is_some_and(|f| f.goes_on.is_some() && !f.extract_is_known(primed_from)),
        unknown: gas.unknown,
        is_asked: is_asked(package),
        to_ferment,
        shown: fermentation.map_or(Shown::Not, |f| f.shown_stable(batch, at, primed_from)),
        goes_on: fermentation
            .and_then(|f| f.goes_on.or(f.suspect.map(|_| "an infection or the risk of one"))),
        asked,
        rated: package.rated.as_deref().map(|q| match q.measure.dimension() {
            Dimension::Pressure => Rated::Pressure(Pressure::bar(q.measure.base())),
            _ => Rated::Gas(asked_for(&q.measure)),
        }),
    }
}

/// What is still to ferment at a moment of all that was given by another: what was given as priming is counted as such.
fn to_ferment(batch: &Batch, at: Moment, given_by: Moment) -> Option<ToFerment> {
    let (fermentation, reading) = (batch.worked()?, before(batch, at)?);
    let lager = batch.traits.organism == Some(Organism::Lager);
    let (extract, or_more, end) = fermentation.still_to_ferment(reading, given_by)?;
    let litre = Volume::litres(1.0);
    let of_error = extract_between(reading.error);
    let error = Mass::grams(of_error.as_grams().hypot(or_more.as_grams()));
    Some(ToFerment {
        gas: carbonation::from_extract(extract, litre),
        error: carbonation::from_extract(error, litre),
        gravity: reading.gravity.as_specific(),
        place: reading.place,
        hours_before: at.hours_since(reading.at),
        stale: at.since(reading.at) > tells_for(lager),
        end,
    })
}

/// Extract that goes from a litre as its gravity falls by so much.
fn extract_between(specific: f64) -> Mass {
    let fallen = gravity::plato(Gravity::specific(1.0 + specific));
    gravity::extract(alcohol::extract_fermented(fallen, Share::percent(100.0))) * Volume::litres(1.0)
}

/// The last gravity read by a moment.
fn before(batch: &Batch, at: Moment) -> Option<&crate::batch::GravityReading> {
    let after = batch.gravities.partition_point(|r| r.at <= at);
    batch.gravities.get(after.checked_sub(1)?)
}

/// Whether something brings extract that nobody knows: fruit, or the beer of another brew.
fn has_unknown_extract(context: &Context<'_>, what: &str) -> bool {
    context.beer(what).is_some() || additions::is_fruit(what)
}

/// How far added wort goes: of what is not known the most, for here too much gas is the danger.
fn attenuates_most(batch: &Batch) -> f64 {
    let [_, _, usual_most] = ATTENUATES;
    let known = batch.worked().and_then(|found| found.attenuates);
    known.map_or(usual_most.as_fraction(), |(_, most)| most)
}

/// What is added at packaging, or on the day before.
struct Priming {
    attenuates: f64,
    scale: Scale,
    added: f64,
    error: f64,
    additions: Vec<String>,
    unknown: Vec<String>,
}

impl Priming {
    /// What a line packages the beer with, but for its questions.
    fn of(batch: &Batch, package: &Package, (beer, at): (&Beer<'_>, Moment), volume: Option<Volume>) -> Self {
        let context = beer.context;
        let attenuates = attenuates_most(batch);
        let scale = context.scale(batch.wort.map_or(batch.place, |wort| wort.place));
        let mut gas =
            Self { attenuates, scale, added: 0.0, error: 0.0, additions: Vec::new(), unknown: Vec::new() };
        for priming in package.with.iter().filter(|priming| priming.amount.kind != AmountKind::Asked) {
            let gravity = priming.at.map(|q| wort::as_gravity(&q.measure));
            let what = &*priming.what.text;
            // What goes into a bottle goes there for its gas, unless it is known to give none.
            let is_for_gas = !additions::gives_no_gas(what) && context.yeast(what).is_none();
            let may_carbonate = is_for_gas || has_unknown_extract(context, what);
            let young = beer.others.young(context, what, at);
            gas.add(priming.amount.kind, what, gravity, volume, may_carbonate, young);
        }
        gas
    }

    /// `may_carbonate`: it may give gas even where it is no known sugar.
    fn add(
        &mut self,
        amount: AmountKind,
        what: &str,
        gravity: Option<Gravity>,
        beer: Option<Volume>,
        may_carbonate: bool,
        young: Option<Young>,
    ) {
        let addition = Addition::read(what);
        let Some(beer) = beer.filter(|b| b.as_litres() > 0.0) else {
            if matches!(addition, Addition::Sugar(_) | Addition::Wort) || may_carbonate {
                self.unknown.push(format!("{what} (in how much beer?)"));
            }
            return;
        };
        let measure = additions::measured(amount, beer);
        let (gas, error) = match (addition, measure, gravity) {
            (Addition::Sugar(sugar), Some(m), _) if m.dimension() == Dimension::Mass => {
                (sugar.carbonates(Mass::grams(m.base()), beer), sugar.error())
            }
            (Addition::Wort, Some(m), Some(gravity)) if m.dimension() == Dimension::Volume => {
                let strength = gravity::plato(gravity);
                let extract = gravity::extract(strength) * Volume::litres(m.base());
                let gas =
                    carbonation::from_extract(extract * fermented_part(strength, self.attenuates), beer);
                (gas, carbonation::EXTRACT_ERROR)
            }
            (Addition::Other, Some(m), _) if m.dimension() == Dimension::Volume && young.is_some() => {
                let share = m.base() / (m.base() + beer.as_litres());
                let gas = young.map_or(0.0, |young| young.gas * share);
                self.error += young.map_or(0.0, |young| young.error * share);
                (CarbonDioxide::volumes(gas), carbonation::EXTRACT_ERROR)
            }
            (Addition::Water, ..) => return,
            (Addition::Other, ..) if !may_carbonate => return,
            _ => {
                self.unknown.push(what.to_owned());
                return;
            }
        };
        self.added += gas.as_volumes();
        self.error += gas.as_volumes() * error.as_fraction();
        let stood = young.map_or_else(String::new, |young| {
            format!(", which stood at {}", self.scale.gravity(young.gravity))
        });
        self.additions.push(format!("{} vol from {what}{stood}", plain(gas.as_volumes(), 2)));
    }
}

/// The figures of it that outputs list.
pub(crate) fn figures(batch: &Batch, out: &mut Vec<Figure>) {
    for package in batch.packages.iter().filter(|p| p.is_closed()) {
        out.push(package.carbonation_figure());
        out.extend(package.pressure_figures());
    }
}

/// Answers the questions of a batch's `bottle`, `keg`, `cask` and `add` lines.
pub(crate) fn answer(
    context: &Context<'_>,
    batch: &Batch,
    others: &Others,
    faults: &[Fault],
    answers: &mut Vec<Answer>,
) {
    let mut beer = Beer::of(context, batch, others);
    for (at, shelved, statement) in context.events(batch.lot) {
        let line = shelved.place(statement.span);
        beer.parted_by(at);
        let mut put = |place, answer: Result<Answer, Unanswered>| {
            answers.push(answer.unwrap_or_else(|why| Answer::open(place, batch.lot, why)));
        };
        match &statement.kind {
            Kind::Package(package) => {
                for priming in package.with.iter().filter(|p| p.amount.kind == AmountKind::Asked) {
                    let place = shelved.place(priming.amount.span);
                    let asking = Asking { place, line, at };
                    // Sugar for more beer than there is would be too much for what there is.
                    let too_much =
                        |fault: &Fault| matches!(fault, Fault::TooMuchBeer { place, .. } if *place == line);
                    if faults.iter().any(too_much) {
                        put(place, Err("how much beer? There is not so much of it".into()));
                        continue;
                    }
                    put(place, sugar(context, batch, package, &priming.what.text, asking, &beer));
                }
            }
            // How much yeast is answered where the yeast is.
            Kind::Add(add)
                if add.amount.kind == AmountKind::Asked && context.yeast(&add.what.text).is_none() =>
            {
                let place = shelved.place(add.amount.span);
                let asking = Asking { place, line, at };
                put(
                    place,
                    match add.wanted {
                        Some(wanted) if wanted.measure.dimension() == Dimension::Bitterness => {
                            hops(context, batch, add, &wanted, asking)
                        }
                        Some(wanted) if wanted.measure.dimension() == Dimension::Carbonation => {
                            for_gas(context, batch, add, asked_for(&wanted.measure), asking, &beer)
                        }
                        wanted => {
                            let wanted = wanted.map(|q| wort::as_gravity(&q.measure));
                            to_gravity(context, batch, add, wanted, asking)
                        }
                    },
                );
            }
            _ => {}
        }
        beer.goes_on(at, &statement.kind);
    }
}

/// A `?`: where it stands, the item that it stands in, and when that happens.
#[derive(Clone, Copy)]
struct Asking {
    place: Place,
    line: Place,
    at: Moment,
}

/// A carbonation as written.
fn asked_for(measure: &Measure) -> CarbonDioxide {
    match measure.dimension() {
        Dimension::MassPerVolume => CarbonDioxide::grams_per_litre(measure.base()),
        _ => CarbonDioxide::volumes(measure.base()),
    }
}

/// The warmest that the beer has been since it worked, °C: stated, else as read.
fn warmest(context: &Context<'_>, batch: &Batch, package: &Package, at: Moment) -> Option<f64> {
    package.at_temperature.as_ref().map(|q| q.measure.base()).or_else(|| warmest_read(context, batch, at))
}

/// Readings so much colder than the one before them, K, are of a beer that was chilled, and not of one that worked.
const CHILLED: f64 = 5.0;

/// The same, read in the last half of its time, else at all. Of a beer that was read in that half only after it was chilled,
/// what stood before: gas that was gone does not come back.
fn warmest_read(context: &Context<'_>, batch: &Batch, at: Moment) -> Option<f64> {
    // A boil, as that of a kettle sour, drives out what there was: it is what works afterwards that leaves gas.
    let boils =
        context.course(batch.lot).filter(|(when, _, line)| *when <= at && matches!(line.kind, Kind::Boil(_)));
    let boiled = boils.map(|(when, ..)| when).last();
    let half = batch.pitched_at().map(|p| p.plus_hours(at.hours_since(p) / 2.0));
    let before = |moment: Moment| batch.temperatures.partition_point(|(when, ..)| *when < moment);
    let upto = batch.temperatures.partition_point(|(when, ..)| *when <= at);
    let from = boiled.map_or(0, |boiled| batch.temperatures.partition_point(|(when, ..)| *when <= boiled));
    let read = batch.temperatures.get(from..upto)?;
    let (early, late) = read.split_at(half.map_or(0, |half| before(half).clamp(from, upto) - from));
    let max = |read: &[(Moment, f64, Place)]| read.iter().map(|(_, celsius, _)| *celsius).reduce(f64::max);
    let stood = early.last().map(|(_, celsius, _)| *celsius);
    let late = max(late).map(|late| stood.filter(|stood| stood - late >= CHILLED).unwrap_or(late));
    late.or_else(|| max(early))
}

fn sugar(
    context: &Context<'_>,
    batch: &Batch,
    package: &Package,
    what: &str,
    Asking { place, line, at }: Asking,
    beer: &Beer<'_>,
) -> Result<Answer, Unanswered> {
    let source = match Addition::read(what) {
        Addition::Sugar(sugar) => Source::Sugar(sugar),
        _ => Source::Young(poured(context, beer, what, at)?),
    };
    let lacking = |why: &str, fact| Err(Unanswered::lacking(why, fact));
    let Some(wanted) = &package.for_co2 else {
        return lacking("how much carbonation? add `for 2.3 vol`", Fact::Behind(line, "for"));
    };
    let wanted = asked_for(&wanted.measure);
    let Some(volume) = beer.taken(package) else {
        return lacking("how much beer? write `bottle 19 L, …`", Fact::Wort(batch.lot));
    };
    let warmest = warmest(context, batch, package, at);
    if warmest.is_none() && beer.gas.is_none() {
        return lacking("how warm was the beer since it worked? add `at 18 °C`", Fact::Behind(line, "at"));
    }
    let warmest = warmest.unwrap_or(UNREAD.as_celsius());
    let (residual, left) = beer.residual(package, warmest);
    let beside = Priming::of(batch, package, (beer, at), Some(volume)).added;
    let works = batch.packages.iter().find(|figures| figures.place == line);
    let works = works.and_then(PackageFigures::counts_to_ferment).map_or(0.0, |more| more.gas.as_volumes());
    if works > MAY_STILL_COME {
        return Err(still_works(works).into());
    }
    let residual = CarbonDioxide::volumes(residual.as_volumes() + beside);
    let scale = Scale::house(context.settings);
    match source.amount(residual, wanted, volume, scale)? {
        Some(text) => {
            let mut left = match beer.gas {
                None if package.at_pressure.is_none() => {
                    format!("left in beer that was {} at its warmest (± 0.1)", scale.temperature(warmest))
                }
                _ => left.to_owned(),
            };
            if package.with.len() > 1 {
                left.push_str(", and from the other sugars");
            }
            let mut notes = vec![format!(
                "{} vol {left}; {} vol wanted in {}.",
                plain(residual.as_volumes(), 2),
                plain(wanted.as_volumes(), 2),
                scale.volume(volume)
            )];
            if let (Some(last), Some((low, _)), Some(w)) =
                (batch.last_gravity(), batch.traits.attenuates, &batch.wort)
            {
                let reached =
                    barm_zymology::alcohol::apparent_attenuation(w.gravity, last.gravity).as_fraction();
                if reached < low - 0.02 {
                    notes.push("It may not have finished: what still ferments adds to this.".to_owned());
                }
            }
            let said = format!("{text} of {}", source.name().unwrap_or(what));
            Ok(Answer { notes, ..Answer::written(place, batch.lot, text, said) })
        }
        None => Err(format!("none: the beer holds {} vol already", plain(residual.as_volumes(), 2)).into()),
    }
}

/// `add ? wort at 1.048 for 2.3 vol`, or sugar: what all the beer there is wants for a carbonation.
fn for_gas(
    context: &Context<'_>,
    batch: &Batch,
    add: &Add,
    wanted: CarbonDioxide,
    Asking { place, line, at }: Asking,
    beer: &Beer<'_>,
) -> Result<Answer, Unanswered> {
    let lacking = |why: &str, fact| Err(Unanswered::lacking(why, fact));
    let Some(volume) = beer.left.filter(|left| left.as_litres() > 0.0) else {
        return lacking("how much beer? write `volume 19 L` before it", Fact::Wort(batch.lot));
    };
    let by_warmth = || Some(carbonation::residual(Temperature::celsius(warmest_read(context, batch, at)?)));
    let Some(residual) = beer.gas.map(|(gas, _)| gas).or_else(by_warmth) else {
        let why = "how warm was the beer since it worked? add `temp 18 °C`";
        return lacking(why, Fact::Before(line, "temp"));
    };
    let scale = Scale::house(context.settings);
    let works = to_ferment(batch, at, at).filter(|more| !more.stale);
    let works = works.filter(|_| batch.worked().is_some_and(|f| f.shown_stable(batch, at, at) == Shown::Not));
    if let Some(more) = works.filter(|more| more.gas.as_volumes() > MAY_STILL_COME) {
        return Err(still_works(more.gas.as_volumes()).into());
    }
    let what = &add.what.text;
    let text = match Addition::read(what) {
        Addition::Sugar(sugar) => Source::Sugar(sugar).amount(residual, wanted, volume, scale)?,
        Addition::Wort => {
            let Some(gravity) = wort::added_gravity(add) else {
                return lacking("how strong is the wort? add `at 1.048`", Fact::Behind(line, "at"));
            };
            let strength = gravity::plato(gravity);
            let litre = Volume::litres(1.0);
            let ferments = fermented_part(strength, attenuates_most(batch));
            let gives = carbonation::from_extract(gravity::extract(strength) * litre * ferments, litre);
            let (gives, wanted) = (gives.as_volumes(), wanted.as_volumes());
            if gives <= wanted {
                return Err(format!("wort at {} is too weak for it", scale.gravity(gravity)).into());
            }
            let litres = volume.as_litres() * (wanted - residual.as_volumes()) / gives;
            (litres >= 0.0005).then(|| poured_out(litres, scale))
        }
        _ => Source::Young(poured(context, beer, what, at)?).amount(residual, wanted, volume, scale)?,
    };
    let Some(text) = text else {
        return Err(format!("none: the beer holds {} vol already", plain(residual.as_volumes(), 2)).into());
    };
    let notes = vec![format!(
        "{} vol in it; {} vol wanted in {}.",
        plain(residual.as_volumes(), 2),
        plain(wanted.as_volumes(), 2),
        scale.volume(volume)
    )];
    Ok(Answer { notes, ..Answer::written(place, batch.lot, text.clone(), format!("{text} of {what}")) })
}

fn still_works(volumes: f64) -> String {
    format!(
        "nothing shows that it has stopped, and {} vol more may come by themselves: wait for two readings two days apart \
         that agree",
        plain(volumes, 1)
    )
}

/// What carbonates a beer.
enum Source {
    Sugar(Sugar),
    /// Young beer.
    Young(Young),
}

impl Source {
    /// So much of it, as it is weighed or poured, brings beer from one carbonation to another; `None`: it holds that already.
    ///
    /// # Errors
    /// Why no amount does.
    fn amount(
        &self,
        residual: CarbonDioxide,
        wanted: CarbonDioxide,
        beer: Volume,
        scale: Scale,
    ) -> Result<Option<String>, Unanswered> {
        match self {
            Self::Sugar(sugar) if sugar_is_left(*sugar) => {
                Err(format!("{} does not ferment", sugar.name()).into())
            }
            Self::Sugar(sugar) => {
                let mass = carbonation::sugar_for(residual, wanted, beer, *sugar);
                let grams = mass.map(|mass| floored(mass.as_grams())).filter(|grams| *grams > 0.0);
                Ok(grams.map(|grams| weighed(grams, scale)))
            }
            Self::Young(young) => {
                let litres = young.litres_for(beer, residual, wanted).ok_or_else(|| {
                    let gives = plain(young.gas, 1);
                    format!("it is too far gone: what still ferments in it gives {gives} vol and no more")
                })?;
                Ok((litres >= 0.0005).then(|| poured_out(litres, scale)))
            }
        }
    }

    /// What is said of it; young beer is called by its brew.
    fn name(&self) -> Option<&'static str> {
        match self {
            Self::Sugar(sugar) => Some(sugar.name()),
            Self::Young(_) => None,
        }
    }
}

/// Beer of another brew that a line pours in.
///
/// # Errors
/// It is none, or nobody knows how far it has come.
fn poured(context: &Context<'_>, beer: &Beer<'_>, what: &str, at: Moment) -> Result<Young, Unanswered> {
    beer.others.young(context, what, at).ok_or_else(|| match context.beer(what) {
        Some(_) => format!("how far {what} has come is not known: add its `gravity`").into(),
        None => format!("what {what} ferments to is not known: name a sugar, as `sucrose`").into(),
    })
}

/// Of less than this a tenth of a gram counts.
const LITTLE_GRAMS: f64 = 10.0;

/// No more than so many grams, as they are weighed.
fn floored(grams: f64) -> f64 {
    if grams < LITTLE_GRAMS { (grams * 10.0).floor() / 10.0 } else { grams.floor() }
}

/// So much of what is weighed, to a gram or less.
fn weighed(grams: f64, scale: Scale) -> String {
    let unit = advice::kitchen_unit(grams, scale.is_us());
    let (amount, decimals) = match unit {
        Unit::Gram if grams < LITTLE_GRAMS => (grams, 1),
        Unit::Gram => (grams, 0),
        Unit::Ounce => (unit.from_base(grams), 2),
        _ => (unit.from_base(grams), 3),
    };
    let step = 10f64.powi(decimals);
    let amount = (amount * step).round() / step;
    format!("{} {}", plain(amount, usize::try_from(decimals).unwrap_or(0)), unit.symbol())
}

/// So much of what is poured, to a hundredth of it or less.
fn poured_out(litres: f64, scale: Scale) -> String {
    let unit = advice::volume_unit(litres, scale.is_us());
    let decimals = match unit {
        Unit::Millilitre => 0,
        Unit::UsFluidOunce => 1,
        Unit::UsGallon => 3,
        _ => 2,
    };
    format!("{} {}", plain(unit.from_base(litres), decimals), unit.symbol())
}

fn sugar_is_left(sugar: Sugar) -> bool {
    sugar.carbonates(Mass::grams(100.0), Volume::litres(1.0)).as_volumes() <= 0.0
}

/// `add ? water for 1.044`: as much as brings the wort there.
fn to_gravity(
    context: &Context<'_>,
    batch: &Batch,
    add: &Add,
    wanted: Option<Gravity>,
    Asking { place, line, at }: Asking,
) -> Result<Answer, Unanswered> {
    let Some(wanted) = wanted else {
        let why = "for which gravity? add `for 1.044`";
        return Err(Unanswered::lacking(why, Fact::Behind(line, "for")));
    };
    let start = match (&batch.parted, context.home(batch.lot)) {
        (Some(parted), _) => Some(**parted),
        (None, Some(home)) => Wholes::default().start(context, batch.lot, home).ok(),
        (None, None) => None,
    };
    let start =
        start.ok_or_else(|| answer::no_wort(context, batch.lot, "to add to: add `wort 21 L at 1.048`"))?;
    let answered = |wort: &Wort, add: &Add| {
        let wanted = add.wanted.filter(|wanted| wanted.measure.dimension() == Dimension::Gravity)?;
        amount_for(wort, add, wort::as_gravity(&wanted.measure))
    };
    let wort = wort::before(context, batch, start, (at, line), answered);
    let scale = Scale::house(context.settings);
    if (wort.gravity.as_specific() - wanted.as_specific()).abs() < NEAR_ENOUGH {
        return Err(format!("none: it is at {} already", scale.gravity(wort.gravity)).into());
    }
    match Addition::read(&add.what.text) {
        Addition::Wort if wort::added_gravity(add).is_none() => {
            let why = "how strong is what is added? add `at 1.100`";
            return Err(Unanswered::lacking(why, Fact::Behind(line, "at")));
        }
        Addition::Other => {
            let what = &add.what.text;
            return Err(format!(
                "what {what} brings is not known: name water, a sugar, or wort with its gravity, as `wort at {}`",
                scale.gravity(Gravity::specific(1.048))
            )
            .into());
        }
        _ => {}
    }
    let answer = amount_for(&wort, add, wanted).map(|amount| match amount.dimension() {
        Dimension::Volume => poured_out(amount.base(), scale),
        _ => weighed(amount.base(), scale),
    });
    match answer {
        Some(text) => {
            let notes = vec![format!(
                "{} at {} to {}",
                scale.volume(wort.volume),
                scale.gravity(wort.gravity),
                scale.gravity(wanted)
            )];
            Ok(Answer { notes, ..Answer::written(place, batch.lot, text.clone(), text) })
        }
        None => {
            let (from, to) = (scale.gravity(wort.gravity), scale.gravity(wanted));
            let what = match (Addition::read(&add.what.text), wort::added_gravity(add)) {
                (Addition::Wort, Some(at)) => format!("wort at {}", scale.gravity(at)),
                _ => add.what.text.to_string(),
            };
            Err(format!("{what} cannot bring {from} to {to}").into())
        }
    }
}

/// How much of something brings a wort to a gravity, if it can. Volumes and extract add.
fn amount_for(wort: &Wort, add: &Add, wanted: Gravity) -> Option<Measure> {
    let litres = wort.volume.as_litres();
    let per_litre = |p| gravity::extract(p).as_grams_per_litre();
    let (have, want) = (per_litre(wort.strength), per_litre(gravity::plato(wanted)));
    // So much of what holds so much extract in a litre.
    let liquid = |holds: f64| {
        let more = litres * (want - have) / (holds - want);
        (more >= 0.0005 && more.is_finite()).then(|| Measure::new(more, Unit::Litre))
    };
    match Addition::read(&add.what.text) {
        Addition::Water => liquid(0.0),
        Addition::Wort => liquid(per_litre(gravity::plato(wort::added_gravity(add)?))),
        Addition::Sugar(sugar) if want > have => {
            // Each gram of extract takes its own room.
            let extract = litres * (want - have) / (1.0 - gravity::room(Mass::grams(want)).as_litres());
            Some(Measure::new(extract / sugar.extract_share().max(0.01), Unit::Gram))
        }
        _ => None,
    }
}

/// `add ? hops at 5 % for 10 IBU`: boiled for as long as the last `boil` before it says.
fn hops(
    context: &Context<'_>,
    batch: &Batch,
    add: &Add,
    wanted: &Quantity,
    Asking { place, line, at }: Asking,
) -> Result<Answer, Unanswered> {
    let lacking = |why: &str, fact| Err(Unanswered::lacking(why, fact));
    let Some(alpha) = add.at.filter(|q| q.measure.dimension() == Dimension::Share) else {
        return lacking("how much alpha acid have the hops? add `at 5 %`", Fact::Behind(line, "at"));
    };
    let boils = context.events(batch.lot).take_while(|(when, ..)| *when <= at);
    let boil = boils.filter_map(|(_, _, statement)| match &statement.kind {
        Kind::Boil(time) => time.as_deref(),
        _ => None,
    });
    let Some(time) = boil.last().map(|q| Span::hours(q.measure.base())) else {
        return lacking(
            "how long are they boiled? write `boil 10 min` before it",
            Fact::Before(line, "boil"),
        );
    };
    let Some(wort) = batch.wort else {
        return Err(answer::no_wort(context, batch.lot, "to boil them in: add `wort 1.5 L at 1.037`"));
    };
    let (bitterness, share) = (Bitterness::ibu(wanted.measure.base()), Share::fraction(alpha.measure.base()));
    let Some(mass) = bitterness::hops_for(bitterness, share, wort.volume, wort.gravity, time) else {
        return Err("no mass of them does: they hold no alpha acid, or are not boiled".into());
    };
    let scale = Scale::house(context.settings);
    let unit = advice::kitchen_unit(mass.as_grams(), scale.is_us());
    let text =
        format!("{} {}", barm_quantity::significant(unit.from_base(mass.as_grams()), 2), unit.symbol());
    let mut notes = vec![format!(
        "{} IBU in {} at {}, boiled {} min, at {} % alpha acid; give or take a third",
        plain(bitterness.as_ibu(), 1),
        scale.volume(wort.volume),
        scale.gravity(wort.gravity),
        plain(time.as_minutes(), 0),
        plain(share.as_percent(), 1)
    )];
    if batch.kind == LotKind::Starter {
        notes.push(
            "about 20 IBU is plenty against bacteria in a starter, and none is needed (common practice)"
                .to_owned(),
        );
    }
    let said = format!("{text} of {}", add.what.text);
    Ok(Answer { notes, ..Answer::written(place, batch.lot, text, said) })
}
