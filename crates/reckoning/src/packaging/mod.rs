//! Packaging: the carbon dioxide that comes to be in the beer.

mod beer;
mod held;
mod later;
mod priming;
mod questions;
mod slips;
mod young;

use barm_quantity::{
    CarbonDioxide, Dimension, Gravity, Mass, Measure, Pressure, Share, Span, Temperature, Volume, plain,
};
use barm_syntax::ast::{Add, AmountKind, Kind, Krausen, Organism, Package, PackageKind};
use barm_zymology::carbonation;
use barm_zymology::fermentation::{ATTENUATES, SAME, STANDS, UNREAD, tells_for};
use barm_zymology::{alcohol, gravity};

use crate::additions;
use crate::batch::Batch;
use crate::context::Context;
use crate::fault::Fault;
use crate::fermentation::{ExpectedEnd, FermentationFigures, Shown};
use crate::names::LotKind;
use crate::timeline;
use crate::{Figure, Moment, Place, Scale, degrees, volumes};

use beer::{Beer, warmest};
use priming::{Primed, Priming};
pub(crate) use questions::answer;
pub(crate) use young::{Others, of_blended};

/// Sugar or wort added so shortly before packaging is meant to carbonate, h: on the day or the day before, whatever the time.
const PRIMING_HOURS: f64 = 36.0;
/// What a closed bottle is told of at, °C: in a room, and as warm as it may become, where it must still hold.
pub const COOL: f64 = 20.0;
/// See [`COOL`].
pub const WARM: f64 = 30.0;
/// Sugar that was added, and of which nobody saw that it had gone, may ferment for so long (judgement).
const UNSEEN: Span = Span::days(7.0);
/// Of more packages than anybody fills of one beer the rest is not reckoned.
const MOST_PACKAGES: usize = 100;

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
    /// Where more of it was added when all was bottled, last.
    pub primed_again: Option<Place>,
    /// What it is kept at since, °C, and where that stands.
    pub kept: Vec<(Moment, f64, Place)>,
    /// In words, each.
    pub additions: Vec<String>,
    /// What yeast that came in besides may make of what the beer's own left, in words: half of it is counted.
    pub taken_up: Option<String>,
    /// Fruit or beer of unknown extract was added before to what goes on all the same.
    pub unknown_before: bool,
    /// The last addition since a gravity was read of which nobody knows how much ferments.
    pub unknown_since: Option<(Moment, Place)>,
    /// What of what is added could not be reckoned: "cherries".
    pub unknown: Vec<String>,
    /// A sugar is still to be weighed: its line, or one shortly before it, holds a `?`.
    pub is_asked: bool,
    /// By so much less the air presses on the glass than at the sea.
    pub thinner_air: Pressure,
    /// What is still to ferment; `None` where no gravity was read or no end is known.
    pub to_ferment: Option<ToFerment>,
    /// Foam that was seen on it shortly before, where no gravity was ever read.
    pub foams: Option<(Moment, Place)>,
    /// Whether the log shows that the beer had stopped.
    pub shown: Shown,
    /// What makes it go on all the same: "a diastatic strain".
    pub goes_on: Option<&'static str>,
    /// The log of the beer goes on another day: it is no plan.
    pub is_followed: bool,
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
    /// all the same or went on.
    #[must_use]
    pub fn counts_to_ferment(&self) -> Option<&ToFerment> {
        let works = |more: &&ToFerment| self.shown == Shown::Not && !more.stale;
        self.to_ferment
            .as_ref()
            .filter(|more| more.went_on.is_some() || works(more) || self.goes_on.is_some())
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

    /// What is in it by itself and by what was added, or as read or asked for: without what its beer may still ferment, which
    /// that does wherever it is.
    fn holds(&self) -> CarbonDioxide {
        match self.comes() {
            (gas, _, Said::Read(_) | Said::Asked) => gas,
            (.., Said::Reckoned) => {
                CarbonDioxide::volumes(self.residual.as_volumes() + self.added.as_volumes())
            }
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

    /// The same if all that may still ferment does, whether it counts or not.
    #[must_use]
    pub fn carbonation_with(&self, more: &ToFerment) -> CarbonDioxide {
        let (gas, _) = self.carbonation();
        if self.counts_to_ferment().is_some() { gas } else { gas + more.gas }
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
        from.extend(self.additions.iter().chain(&self.taken_up).cloned());
        if let Some(more) = self.counts_to_ferment() {
            from.push(format!("{} vol still to ferment", plain(more.gas.as_volumes(), 2)));
        }
        from.join(", ")
    }

    /// More was added when it was bottled already; what was read before tells no more of it.
    fn is_primed_again(&mut self, more: Priming, place: Place) {
        self.added = CarbonDioxide::volumes(self.added.as_volumes() + more.added);
        self.added_error = CarbonDioxide::volumes(self.added_error.as_volumes() + more.error);
        self.additions.extend(more.additions);
        self.primed_again = Some(place);
        self.read = None;
    }

    /// The warmest that it is kept, °C, where that is warmer than a bottle must bear anyhow, and where that stands.
    #[must_use]
    pub fn kept_hot(&self) -> Option<(f64, Place)> {
        let hot = self.kept.iter().filter(|(_, celsius, _)| *celsius > WARM);
        hot.map(|(_, celsius, place)| (*celsius, *place))
            .reduce(|hottest, next| if next.0 > hottest.0 { next } else { hottest })
    }

    /// The coldest that it is kept, °C, where beer is ice, and where that stands.
    #[must_use]
    pub fn kept_frozen(&self) -> Option<(f64, Place)> {
        let ice = self.kept.iter().filter(|(_, celsius, _)| *celsius < degrees::ICE.as_celsius());
        ice.map(|(_, celsius, place)| (*celsius, *place))
            .reduce(|coldest, next| if next.0 < coldest.0 { next } else { coldest })
    }

    /// How warm it must hold, °C.
    #[must_use]
    pub fn must_hold_at(&self) -> f64 {
        self.kept_hot().map_or(WARM, |(celsius, _)| celsius)
    }

    /// The gas that presses as much where it must hold as so much does at [`WARM`].
    #[must_use]
    pub fn held_as_warm_as_kept(&self, gas: CarbonDioxide) -> CarbonDioxide {
        self.kept_hot().map_or(gas, |(celsius, _)| self.gas_under(self.closed_pressure(gas, WARM), celsius))
    }

    /// Gauge pressure over beer with so much gas in a closed bottle, in balance at a temperature in °C.
    #[must_use]
    pub fn closed_pressure(&self, gas: CarbonDioxide, celsius: f64) -> Pressure {
        let at_sea = carbonation::pressure_at(gas, Temperature::celsius(celsius));
        // Beer with less gas than air presses on it draws none in through its closure.
        Pressure::bar((at_sea.as_bar() + self.thinner_air.as_bar()).max(0.0))
    }

    /// The gas in beer that is in balance with a gauge pressure at a temperature in °C.
    #[must_use]
    pub fn gas_under(&self, pressure: Pressure, celsius: f64) -> CarbonDioxide {
        held::under(pressure - self.thinner_air, celsius)
    }

    /// The pressure in the closed bottle at [`COOL`] and at [`WARM`], as outputs show it.
    #[must_use]
    pub fn pressure_figures(&self, scale: Scale) -> [Figure; 2] {
        let (gas, error) = self.carbonation();
        [("pressure-20", COOL), ("pressure-30", WARM)].map(|(name, celsius)| {
            let at = |gas| self.closed_pressure(gas, celsius).as_bar();
            let from = format!("gauge, in balance with its beer at {}", scale.temperature(celsius));
            let figure = Figure::plain(name, at(gas), 0.0, "bar", from).at(self.place);
            Figure { low: at(gas - error), high: at(gas + error), ..figure }
        })
    }
}

/// Reckons what a batch was packaged in.
pub(crate) fn reckon(context: &Context<'_>, batch: &mut Batch, others: &Others, faults: &mut Vec<Fault>) {
    if batch.kind != LotKind::Brew {
        return;
    }
    young::pour_out(context, batch, others);
    volumes::check(context, batch, faults);
    let mut out: Vec<PackageFigures> = Vec::new();
    let mut beer = Beer::of(context, batch, others);
    let is_package = |kind: &Kind| matches!(kind, Kind::Package(_));
    let mut to_fill = context.events(batch.lot).filter(|(.., line)| is_package(&line.kind)).count();
    for (at, shelved, statement) in context.events(batch.lot) {
        let place = shelved.place(statement.span);
        beer.parted_by(at);
        to_fill -= usize::from(is_package(&statement.kind));
        match &statement.kind {
            Kind::Package(package) if out.len() < MOST_PACKAGES => {
                let taken = beer.taken(package, at);
                slips::tell(context, shelved, package, taken, faults);
                out.push(packaged(context, batch, package, place, at, &beer));
            }
            // What is filled later is still in the fermenter.
            kind => later::goes_on(context, batch, (&beer, to_fill == 0), (at, place), kind, &mut out),
        }
        beer.goes_on((at, place), &statement.kind);
        if let Some(filled) = out.last().filter(|filled| filled.place == place) {
            beer.is_packaged(filled);
        }
    }
    if !out.is_empty() {
        let last = last_written(context, batch);
        for package in &mut out {
            package.is_followed = last.is_some_and(|last| last.day_number() > package.at.day_number());
        }
    }
    out.shrink_to_fit();
    batch.packages = out;
}

/// Of what a line asks how much it is to package the beer with.
fn asked_of(package: &Package) -> impl Iterator<Item = &str> {
    let asked = package.with.iter().filter(|priming| priming.amount.kind == AmountKind::Asked);
    asked.map(|priming| &*priming.what.text)
}

fn packaged(
    context: &Context<'_>,
    batch: &Batch,
    package: &Package,
    place: Place,
    at: Moment,
    beer: &Beer<'_>,
) -> PackageFigures {
    let fermentation = batch.worked_by(at, place);
    let fermentation = fermentation.as_deref();
    let volume = beer.taken(package, at);
    let warmest = warmest(context, batch, package, at);
    let (residual, residual_from) = beer.residual(package, at, warmest.unwrap_or(UNREAD.as_celsius()));
    let kegged = beer.out_of_keg(package, at).map(|kegged| kegged.at);
    let mut gas = Primed { batch, beer, at, line: place, residual, volume, kegged }.with(package);
    let asked = package.for_co2.as_deref().map(|q| asked_for(&q.measure));
    // A question is answered by what the carbonation asked for needs beside all that is known.
    for what in asked_of(package) {
        match asked {
            Some(asked) => gas.bring_to(what, asked, residual),
            None => gas.unknown.push(what.to_owned()),
        }
    }
    let primed_from = kegged.unwrap_or(at).plus_hours(-PRIMING_HOURS);
    let to_ferment = fermentation.and_then(|found| to_ferment(batch, found, at, primed_from));
    let went_on = fermentation.and_then(|found| went_on(context, batch, found, (at, place)));
    let to_ferment = match (to_ferment, went_on) {
        (Some(more), Some(went)) if more.gas > went.gas => {
            Some(ToFerment { stale: false, went_on: went.went_on, ..more })
        }
        (more, went) => went.or(more),
    };
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
        primed_again: None,
        kept: Vec::new(),
        additions: gas.additions,
        taken_up: gas.taken_up,
        unknown_before: fermentation.is_some_and(|f| f.goes_on.is_some() && !f.extract_is_known(primed_from)),
        unknown_since: beer.unknown_since(before(batch, at)),
        unknown: gas.unknown,
        thinner_air: beer::thinner_air(context),
        is_asked: gas.is_asked || asked_of(package).next().is_some(),
        to_ferment,
        foams: foams(batch, (at, place)),
        shown: fermentation.map_or(Shown::Not, |f| f.shown_stable(batch, at, primed_from)),
        goes_on: fermentation
            .and_then(|f| f.goes_on.or(f.suspect.map(|_| "an infection or the risk of one"))),
        is_followed: false,
        asked,
        rated: package.rated.as_deref().map(|q| match q.measure.dimension() {
            Dimension::Pressure => Rated::Pressure(Pressure::bar(q.measure.base())),
            _ => Rated::Gas(asked_for(&q.measure)),
        }),
    }
}

/// When the last of a beer is written, and be it how it tastes.
fn last_written(context: &Context<'_>, batch: &Batch) -> Option<Moment> {
    let moments = context.blocks(batch.lot).flat_map(|shelved| timeline::moments(shelved.block, None));
    moments.flatten().max()
}

/// The last sign of work before a line, where it is fresh and no gravity was read with it or since.
fn foams(batch: &Batch, line: (Moment, Place)) -> Option<(Moment, Place)> {
    let seen = batch.record.krausens.iter().rev().find(|(at, _, place)| (*at, *place) < line);
    let (at, krausen, place) = *seen?;
    let is_read = before(batch, line.0).is_some_and(|read| read.at >= at);
    let works = matches!(krausen, Krausen::Rising | Krausen::High) && line.0.since(at) <= STANDS;
    (works && !is_read).then_some((at, place))
}

/// What is still to ferment at a moment of all that was given by another: what was given as priming is counted as such.
fn to_ferment(
    batch: &Batch,
    fermentation: &FermentationFigures,
    at: Moment,
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
    // What was given since has had no longer.
    let last = given[1].filter(|_| fed).map_or(reading.at, |given| given.from);
    Some(ToFerment {
        gas: carbonation::from_extract(extract, litre),
        error: carbonation::from_extract(error, litre),
        gravity: reading.gravity.as_specific(),
        place: reading.place,
        hours_before: at.hours_since(reading.at),
        fed,
        // In the cold nothing happens to it.
        stale: fermentation.cold.map_or(at, |cold| cold.min(at)).since(last)
            > if fed { UNSEEN } else { tells_for(lager) },
        end,
        went_on: None,
    })
}

/// What fermented after a beer was packaged, where a bottle that was opened later, or what was left of the beer, was read lower.
fn went_on(
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

/// Whether something may give gas: what is known to give none does not, and yeast is none.
fn may_carbonate(context: &Context<'_>, what: &str) -> bool {
    has_unknown_extract(context, what) || !additions::gives_no_gas(what) && context.yeast(what).is_none()
}

/// How far added wort goes: of what is not known the most, for here too much gas is the danger.
fn attenuates_most(found: Option<&FermentationFigures>) -> f64 {
    let [_, _, usual_most] = ATTENUATES;
    let known = found.and_then(|found| found.attenuates);
    known.map_or(usual_most.as_fraction(), |(_, most)| most)
}

/// The figures of it that outputs list.
pub(crate) fn figures(batch: &Batch, scale: Scale, out: &mut Vec<Figure>) {
    for package in batch.packages.iter().filter(|p| p.is_closed()) {
        out.push(package.carbonation_figure());
        out.extend(package.pressure_figures(scale));
    }
}

/// The carbonation that a line adds something for: `add ? sucrose for 2.3 vol`, or `for 5 g/L`.
pub(crate) fn wanted_by(add: &Add) -> Option<CarbonDioxide> {
    let is_gas = |of: Dimension| matches!(of, Dimension::Carbonation | Dimension::MassPerVolume);
    add.wanted.filter(|wanted| is_gas(wanted.measure.dimension())).map(|wanted| asked_for(&wanted.measure))
}

/// A carbonation as written.
fn asked_for(measure: &Measure) -> CarbonDioxide {
    match measure.dimension() {
        Dimension::MassPerVolume => CarbonDioxide::grams_per_litre(measure.base()),
        _ => CarbonDioxide::volumes(measure.base()),
    }
}
