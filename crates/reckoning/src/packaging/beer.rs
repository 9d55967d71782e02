//! The beer that there is, as its lines go by: how much is left of it, and what gas is in it.

use barm_quantity::{CarbonDioxide, Dimension, Measure, Pressure, Span, Volume};
use barm_syntax::ast::{Add, AmountKind, Kind, Measured, Package, PackageKind};
use barm_zymology::carbonation;
use barm_zymology::oxygen::air_pressure;

use super::held::{self, Held};
use super::{Others, PRIMING_HOURS, PackageFigures, UNSEEN, asked_for, before, extract_between};
use crate::additions::{self, Addition};
use crate::batch::{Batch, GravityReading};
use crate::context::Context;
use crate::fermentation::is_cold;
use crate::parting::TakenOut;
use crate::volumes::LEES;
use crate::{Moment, Place, degrees, volumes};

/// Of a wort so much more or less is no beer that anybody could fill (judgement).
const BY_EYE: f64 = 0.05;

/// Beer in kegs and casks, which may be bottled out of them on a later day.
#[derive(Debug, Clone, Copy)]
pub(super) struct Kegged {
    /// When the last of them was filled.
    pub at: Moment,
    litres: f64,
    /// What is in that which holds the most, or comes to be in it.
    gas: CarbonDioxide,
}

/// Beer with no more gas than this is as fermentation left it, vol (judgement).
const FLAT: f64 = 1.3;

/// Beer that still makes more than so much gas, vol, needs none from a cylinder (judgement).
const MAKES: f64 = 1.0;

/// And beer whose yeast went in so shortly before, h, where nobody read its gravity (judgement).
const YOUNG_HOURS: f64 = 72.0;

/// What goes in so soon after the yeast, h, is of the wort (judgement).
const BREW_DAY_HOURS: f64 = 24.0;

/// So long after a keg the rest of its beer is still filled (judgement).
const REST: Span = Span::days(2.5);

/// The beer that there is, as its lines go by.
pub(super) struct Beer<'a> {
    pub context: &'a Context<'a>,
    pub others: &'a Others,
    batch: &'a Batch,
    pitched: Option<Moment>,
    /// Its yeast has gone by.
    works: bool,
    /// How much of it is left.
    pub left: Option<Volume>,
    /// What a logger is still to read of its pressure, in bar.
    pressures: &'a [(Moment, f64)],
    held: Held,
    /// The same of what is in kegs and casks.
    in_kegs: Held,
    kegged: Option<Kegged>,
    /// Nobody wrote off what stays behind with the yeast: some of what is left is that.
    has_lees: bool,
    /// What was added, on which line, and to how much of it.
    pub adds: Vec<(Moment, Place, &'a Add, Option<Volume>)>,
    /// The parts that are still to be taken of it, the last first.
    parts: Vec<TakenOut>,
    /// How much those were that are taken.
    taken_out: Vec<Volume>,
}

impl<'a> Beer<'a> {
    pub(super) fn of(context: &'a Context<'a>, batch: &'a Batch, others: &'a Others) -> Self {
        let whole = batch.wort.map(|wort| wort.volume);
        let mut beer = Self {
            context,
            others,
            batch,
            pitched: batch.pitched_at(),
            works: false,
            left: whole,
            pressures: &batch.pressures,
            held: Held::default(),
            in_kegs: Held::default(),
            kegged: None,
            has_lees: true,
            adds: Vec::new(),
            parts: batch.taken_out.iter().rev().filter(|part| !part.before_yeast).copied().collect(),
            taken_out: Vec::new(),
        };
        // A part goes on with what was added to its whole, and with the gas in it.
        if let Some(taken) = &batch.taken {
            let mut block = None;
            for (at, shelved, statement) in context.before(batch.lot) {
                if block.replace(shelved.id) != Some(shelved.id) {
                    beer.left = taken.volume_in(shelved.id);
                }
                beer.goes_on((at, shelved.place(statement.span)), &statement.kind);
            }
            beer.left = whole;
        }
        beer
    }

    /// A line is next: parts of it are taken before, and a logger has read its pressure.
    pub(super) fn parted_by(&mut self, at: Moment) {
        let (read, later) = self.pressures.split_at(self.pressures.partition_point(|(when, _)| *when <= at));
        self.pressures = later;
        for (when, bar) in read {
            if self.pitched.is_some_and(|pitched| *when > pitched) {
                let pressure = at_sea(self.context, *bar);
                self.each_held(|held| held.is_under(*when, pressure));
            }
        }
        while let Some(part) = self.parts.pop_if(|part| part.at <= at) {
            let volume = self.left.map_or(part.volume, |left| part.of(left));
            self.left = self.left.map(|left| (left - volume).max(Volume::default()));
            self.taken_out.push(volume);
        }
    }

    /// How much each part was that is taken of it, when all its lines have gone by.
    pub(super) fn all_taken_out(mut self) -> Vec<Volume> {
        self.parted_by(Moment::LAST);
        self.taken_out
    }

    /// The next line of the brew. What was done to the wort before the yeast went in is in its volume already.
    pub(super) fn goes_on(&mut self, (at, line): (Moment, Place), kind: &'a Kind) {
        let works = self.works || self.pitched.is_some_and(|pitched| at > pitched);
        match kind {
            // What is written below it without a time of its own went in after it.
            Kind::Pitch(pitch) => {
                self.works |= self.pitched.is_some_and(|pitched| at >= pitched);
                let more = volumes::pitched(pitch).unwrap_or_default();
                self.left = self.left.map(|left| Volume::litres(left.as_litres() + more));
            }
            Kind::Add(add) => {
                self.adds.push((at, line, add, self.left));
                let what = Addition::of(add);
                let liquid = matches!(what, Addition::Water | Addition::Wort | Addition::Juice)
                    || self.context.beer(&add.what.text).is_some();
                if let (true, Some(left)) = (works && liquid, self.left) {
                    let poured = self.others.poured(self.context, &add.what.text, line);
                    let more = poured.measured(what, add.amount.kind, left).and_then(litres);
                    self.left = Some(Volume::litres(left.as_litres() + more.unwrap_or(0.0)));
                }
            }
            Kind::Reading(reading) if works && reading.what == Measured::Volume => {
                self.left = Some(Volume::litres(reading.measure().base()));
                self.has_lees &= self.kegged.is_none();
            }
            Kind::Reading(reading) if reading.what == Measured::CarbonDioxide => {
                self.each_held(|held| held.is_read(at, asked_for(&reading.measure())));
            }
            Kind::Reading(reading) if works && reading.what == Measured::Pressure => {
                let pressure = at_sea(self.context, reading.measure().base());
                self.each_held(|held| held.is_under(at, pressure));
            }
            Kind::Set(set) if works && set.to.measure.dimension() == Dimension::Pressure => {
                let pressure = at_sea(self.context, set.to.measure.base());
                let works = self.makes_gas(at);
                self.each_held(|held| held.is_set(at, pressure, works));
            }
            Kind::Dump(dump) if works && volumes::is_of(self.context, &dump.lot, self.batch.lot) => {
                let gone = dump.amount.as_ref().and_then(|amount| self.amount(amount.kind));
                self.left = self.left.map(|left| (left - gone.unwrap_or_default()).max(Volume::default()));
            }
            // What stays behind is yeast and trub.
            Kind::Rack(rack) => {
                if let Some(amount) = &rack.amount {
                    self.left = self.amount(amount.kind);
                    self.has_lees = false;
                }
            }
            Kind::Package(package) => {
                let taken = self.taken(package, at).map_or(0.0, Volume::as_litres);
                self.left = self.left.map(|left| Volume::litres((left.as_litres() - taken).max(0.0)));
                // A keg stays on its gas.
                if let (Some(pressure), true) = (&package.at_pressure, package.kind != PackageKind::Bottle) {
                    self.in_kegs.is_set(at, at_sea(self.context, pressure.measure.base()), false);
                }
            }
            Kind::Kept(kept) if works && volumes::is_of(self.context, &kept.lot, self.batch.lot) => {
                let celsius = kept.temperature.measure;
                let celsius = celsius.base() - celsius.error_base();
                self.each_held(|held| held.is_kept(at, celsius));
            }
            _ => {}
        }
    }

    /// Whether it has so much to ferment that a pressure is set by a valve, and no gas is put on: as last read, or soon after its
    /// yeast went in.
    fn makes_gas(&self, at: Moment) -> bool {
        let found = self.batch.worked().filter(|found| found.cold.is_none_or(|cold| at < cold));
        let Some((found, pitched)) = found.zip(self.pitched) else { return false };
        let Some(read) = before(self.batch, at) else { return at.hours_since(pitched) <= YOUNG_HOURS };
        let left = found.still_to_ferment(read, at).map(|(left, ..)| left);
        let gas = left.map(|left| carbonation::from_extract(left, Volume::litres(1.0)));
        gas.is_some_and(|gas| gas.as_volumes() > MAKES)
    }

    /// How much beer a line gives something to: what is left, or where that is only what stays with the yeast and nobody fills it,
    /// what is in kegs.
    pub(super) fn given_to(&self, (at, line): (Moment, Place)) -> Option<Volume> {
        let lees = self.batch.wort.map(|wort| wort.volume * LEES);
        let is_lees = self.left.zip(lees).is_some_and(|(left, lees)| left <= lees);
        let is_filled = || {
            let later = self.context.events(self.batch.lot).skip_while(|(when, shelved, statement)| {
                (*when, shelved.place(statement.span)) <= (at, line)
            });
            later
                .take_while(|(when, ..)| when.since(at) <= REST)
                .any(|(.., next)| matches!(next.kind, Kind::Package(_)))
        };
        self.in_kegs_volume().filter(|_| is_lees && !is_filled()).or(self.left)
    }

    /// How much is in kegs and casks.
    pub(super) fn in_kegs_volume(&self) -> Option<Volume> {
        self.kegged.map(|kegged| Volume::litres(kegged.litres))
    }

    /// What is said of the beer is said of what goes into kegs as well; and once they are filled, of nothing else.
    fn each_held(&mut self, mut said: impl FnMut(&mut Held)) {
        if self.kegged.is_none() {
            said(&mut self.held);
        }
        said(&mut self.in_kegs);
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

    /// It was packaged so: of kegs and casks what they hold is kept in mind.
    pub(super) fn is_packaged(&mut self, figures: &PackageFigures) {
        if figures.kind == PackageKind::Bottle {
            return;
        }
        let litres = figures.volume.map_or(0.0, Volume::as_litres);
        let (before, gas) =
            self.kegged.map_or((0.0, CarbonDioxide::default()), |kegged| (kegged.litres, kegged.gas));
        let gas = if figures.holds() > gas { figures.holds() } else { gas };
        self.kegged = Some(Kegged { at: figures.at, litres: before + litres, gas });
    }

    /// The kegs or casks that a line fills bottles from: of an earlier day, and there is not so much else, or only lees.
    pub(super) fn out_of_keg(&self, package: &Package, at: Moment) -> Option<Kegged> {
        let kegged = self.kegged.filter(|kegged| kegged.at.day_number() < at.day_number())?;
        let (left, whole) = (self.left?.as_litres(), self.batch.wort?.volume.as_litres());
        let written = package.amount.as_ref().and_then(|amount| self.amount(amount.kind));
        let is_more = written.is_some_and(|taken| taken.as_litres() > left + whole * BY_EYE);
        // What is filled within days of the keg is the rest of the beer, which nobody left on its yeast for long.
        let is_soon = at.since(kegged.at) <= REST;
        let lees = if self.has_lees && !is_soon { LEES } else { BY_EYE };
        (is_more || left <= whole * lees).then_some(kegged)
    }

    /// When what a line packages was put where it is too cold to work: out of kegs that are kept so; else that line's moment.
    pub(super) fn works_until(&self, package: &Package, at: Moment) -> Moment {
        let cold = self.out_of_keg(package, at).and_then(|_| self.in_kegs.cold_from());
        cold.map_or(at, |cold| cold.min(at))
    }

    /// The last addition since a gravity was read of which nobody knows how much still ferments: fruit, beer of which nobody knows
    /// how far it had come, and yeast of which nobody knows how far it goes; and where none was ever read, whatever fed it of
    /// late and not to carbonate it.
    pub(super) fn unknown_since(&self, read: Option<&GravityReading>, by: Moment) -> Option<(Moment, Place)> {
        let read = read.map(|read| (read.at, read.place));
        let since = self.adds.iter().rev().take_while(|(at, line, ..)| Some((*at, *line)) > read);
        // What went in with the yeast is of the wort.
        let works_from = self.pitched.map_or(by, |pitched| pitched.plus_hours(BREW_DAY_HOURS));
        let fed_from = by.plus_hours(-UNSEEN.as_hours()).max(works_from);
        let fed = fed_from..by.plus_hours(-PRIMING_HOURS);
        let works = |at: Moment| self.pitched.is_some_and(|pitched| at > pitched);
        let mut unknown = since.filter(|(at, line, add, among)| {
            let what = &*add.what.text;
            let poured = self.others.poured(self.context, what, *line);
            additions::is_unknown(add)
                || works(*at) && among.is_some_and(|beer| self.context.may_ferment(add, beer))
                || self.context.beer(what).is_some() && poured.young.is_none()
                || additions::may_go_on(what) && self.context.yeast(what).is_none()
                || read.is_none() && fed.contains(at) && additions::feeds(add)
        });
        unknown.next().map(|(at, line, ..)| (*at, *line))
    }

    /// How much beer a line packages; all that is left where it does not say, or all that is in the keg where that is next to
    /// nothing.
    pub(super) fn taken(&self, package: &Package, at: Moment) -> Option<Volume> {
        let amount = package.amount.as_ref().map_or(AmountKind::All, |amount| amount.kind);
        let is_dregs = |taken: Volume| {
            let whole = self.batch.wort.map_or(0.0, |wort| wort.volume.as_litres());
            amount == AmountKind::All && taken.as_litres() <= whole * BY_EYE
        };
        let written = self.amount(amount).filter(|taken| taken.as_litres() > 0.0 && !is_dregs(*taken));
        let kegged = || self.out_of_keg(package, at).map(|kegged| Volume::litres(kegged.litres));
        written.or_else(kegged).or(self.left)
    }

    /// The gas in it by what was read of it, or by its pressure, and what says so.
    pub(super) fn gas(&self, at: Moment) -> Option<(CarbonDioxide, &'static str)> {
        self.held.at(self.batch, at)
    }

    /// What fermented in kegs that were filled at one moment and are drawn from at another, as far as gravities tell.
    fn worked_in_keg(&self, filled: Moment, drawn: Moment) -> CarbonDioxide {
        let litre = Volume::litres(1.0);
        let read = |at| before(self.batch, at).map(|read| read.gravity.as_specific());
        let fallen = read(filled).zip(read(drawn)).map_or(0.0, |(then, now)| then - now);
        carbonation::from_extract(extract_between(fallen.max(0.0)), litre)
    }

    /// Whether nobody wrote of the gas in the kegs that a line fills bottles from, nor what would make any.
    pub(super) fn has_untold_keg(&self, package: &Package, at: Moment) -> bool {
        self.out_of_keg(package, at).is_some_and(|kegged| {
            !self.in_kegs.has_since(kegged.at)
                && kegged.gas.as_volumes() + self.worked_in_keg(kegged.at, at).as_volumes() < FLAT
        })
    }

    /// What is in it before anything is added: as said of it, else what fermentation leaves in beer that was so warm.
    pub(super) fn residual(
        &self,
        package: &Package,
        at: Moment,
        warmest: f64,
    ) -> (CarbonDioxide, &'static str) {
        let filled = package.at_pressure.as_ref().map(|pressure| {
            let celsius = stated(package).unwrap_or_else(|| self.held.celsius(self.batch, at));
            (
                held::under(at_sea(self.context, pressure.measure.base()), celsius),
                "by the pressure that it is filled at",
            )
        });
        let kegged = || {
            let kegged = self.out_of_keg(package, at)?;
            let worked = self.worked_in_keg(kegged.at, at);
            let in_keg = (
                CarbonDioxide::volumes(kegged.gas.as_volumes() + worked.as_volumes()),
                "in the keg or cask that it is drawn from",
            );
            let held = self.in_kegs.at(self.batch, at).filter(|_| self.in_kegs.has_since(kegged.at));
            // On the gas that it was filled with it takes up more as it is chilled; what is put on or read later says what there is.
            let is_told = self.in_kegs.has_since(kegged.at.plus_hours(Moment::LEAST_HOURS));
            Some(held.filter(|(gas, _)| is_told || *gas > kegged.gas).unwrap_or(in_keg))
        };
        filled
            .or_else(kegged)
            .or_else(|| self.gas(at))
            .unwrap_or_else(|| (left_by(self.context, warmest) * self.thinned(at), "left from fermentation"))
    }

    /// The part that is left of the gas of beer that was given water since it was done: that holds none.
    fn thinned(&self, at: Moment) -> f64 {
        let given = self.adds.iter().filter(|(when, ..)| *when > at.plus_hours(-PRIMING_HOURS));
        let water = given.filter(|(_, _, add, _)| Addition::of(add) == Addition::Water);
        let thinned = water.filter_map(|(_, _, add, among)| {
            let among = (*among)?;
            let more = Addition::Water.measured(add.amount.kind, among).and_then(litres)?;
            Some(among.as_litres() / (among.as_litres() + more))
        });
        thinned.product()
    }
}

/// What fermentation leaves in beer that was so warm since.
pub(super) fn left_by(context: &Context<'_>, warmest: f64) -> CarbonDioxide {
    held::under(at_sea(context, 0.0), warmest)
}

/// What a gauge that reads so many bar would read at the sea: it counts from the air, which is thinner in the mountains.
fn at_sea(context: &Context<'_>, bar: f64) -> Pressure {
    Pressure::bar(bar) - thinner_air(context)
}

/// By how much less the air presses at the brewhouse than at the sea.
pub(super) fn thinner_air(context: &Context<'_>) -> Pressure {
    air_pressure(0.0) - air_pressure(context.settings.elevation_metres)
}

fn litres(measure: Measure) -> Option<f64> {
    (measure.dimension() == Dimension::Volume).then(|| measure.base())
}

/// The warmest that the beer has been since it worked, °C: as read, the line that packages it among the readings; of beer of which
/// nothing is known but that it is cold, that.
pub(super) fn warmest(context: &Context<'_>, batch: &Batch, package: &Package, at: Moment) -> Option<f64> {
    let stated = stated(package);
    warmest_told(context, batch, at, stated).or(stated)
}

/// The temperature that a line packages its beer at, °C, as it is likely meant.
pub(super) fn stated(package: &Package) -> Option<f64> {
    let at = package.at_temperature.as_ref()?;
    Some(degrees::as_meant(at.measure, degrees::Of::Beer).base())
}

/// Readings so much colder than the one before them, K, are of a beer that was chilled, and not of one that worked.
const CHILLED: f64 = 5.0;

/// The warmest that the beer has been since it worked, °C, as read.
pub(super) fn warmest_read(context: &Context<'_>, batch: &Batch, at: Moment) -> Option<f64> {
    warmest_told(context, batch, at, None)
}

/// The same, as read or set in the last half of its time, or `stated` at its end, else at all, else as it was to be held or was
/// pitched. What is read of beer that was chilled counts as what stood before: gas that was gone does not come back. How hot the
/// wort was before its yeast says nothing, for it holds no gas.
fn warmest_told(context: &Context<'_>, batch: &Batch, at: Moment, stated: Option<f64>) -> Option<f64> {
    // A boil, as that of a kettle sour, drives out what there was: it is what works afterwards that leaves gas.
    let boils =
        context.course(batch.lot).filter(|(when, _, line)| *when <= at && matches!(line.kind, Kind::Boil(_)));
    let boiled = boils.map(|(when, ..)| when).last();
    let half = batch.pitched_at().map(|p| p.plus_hours(at.hours_since(p) / 2.0));
    let mut read = batch.taken_temperatures(at);
    let by_boil = boiled.map_or(0, |boiled| read.partition_point(|(when, _)| *when <= boiled));
    let by_pitch = batch.pitched_at().map_or(0, |pitched| read.partition_point(|(when, _)| *when < pitched));
    read.drain(..by_boil.max(by_pitch));
    read.extend(stated.map(|celsius| (at, celsius)));
    let (early, late) = read.split_at(half.map_or(0, |half| read.partition_point(|(when, _)| *when < half)));
    let stood = warm(early).next_back();
    let is_chilled = |celsius: f64| stood.is_some_and(|stood| stood - celsius >= CHILLED);
    let held = || batch.hold.map(|((low, high), _)| f64::midpoint(low, high));
    warm(late)
        .reduce(f64::max)
        .filter(|celsius| !is_chilled(*celsius))
        // A peak is over, and what fermented since left its gas.
        .or(stood)
        .or_else(held)
        .or_else(|| batch.wort_at(batch.pitched_at()?))
}

/// The readings of beer that no cold kept from working, °C.
fn warm(read: &[(Moment, f64)]) -> impl DoubleEndedIterator<Item = f64> {
    read.iter().map(|(_, celsius)| *celsius).filter(|celsius| !is_cold(*celsius))
}
