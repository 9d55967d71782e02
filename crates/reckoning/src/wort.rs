//! The wort that the yeast went into, and the gravities read after it.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use barm_quantity::{Dimension, Extract, Gravity, Mass, Measure, Plato, Temperature, Unit, Volume};
use barm_syntax::ast::{Add, AmountKind, Kind, Krausen, Measured, Reading};
use barm_zymology::fermentation::{SAME, UNTOUCHED};
use barm_zymology::{alcohol, gravity, refractometer};

use crate::additions::{self, Addition};
use crate::batch::{Batch, GravityReading, Wort};
use crate::context::Context;
use crate::fault::Fault;
use crate::fermentation::ABOVE_WORT;
use crate::names::{BlockId, LotId, LotKind};
use crate::parting::{DEEPEST, TakenOut};
use crate::timeline::{self, Shelved};
use crate::{Moment, Place, Settings, degrees, volumes};

/// Less than this part of a wort is what sticks to the kettle (judgement).
const DREGS: f64 = 0.005;

/// A gravity as written, as specific gravity.
pub(crate) fn as_gravity(measure: &Measure) -> Gravity {
    let middle = f64::midpoint(measure.low, measure.high);
    match measure.unit {
        Unit::DegreePlato | Unit::Brix => gravity::gravity(Plato::degrees(middle)),
        _ => Gravity::specific(middle),
    }
}

/// The gravity of what is added, where it is stated.
pub(crate) fn added_gravity(add: &Add) -> Option<Gravity> {
    add.at.filter(|q| q.measure.dimension() == Dimension::Gravity).map(|q| as_gravity(&q.measure))
}

/// What a gravity may be out by, in specific gravity: what was written, else the instrument's error.
pub(crate) fn gravity_error(measure: &Measure, instrument: f64) -> f64 {
    let written = f64::from(measure.plus_minus).max((measure.high - measure.low) / 2.0);
    let per_unit = if matches!(measure.unit, Unit::DegreePlato | Unit::Brix) {
        gravity::DEGREE.as_specific()
    } else {
        1.0
    };
    let error = if written > 0.0 { written * per_unit } else { instrument };
    if measure.about { error.max(SAME.as_specific()) } else { error }
}

/// A `gravity` or `brix` reading, corrected. `brix` after pitching needs the reading before it. `likely`: what is meant, where
/// that is not what is written.
pub(crate) fn read_gravity(
    context: &Context<'_>,
    reading: &Reading,
    likely: Option<Measure>,
    at: Moment,
    place: Place,
    original: Option<&Wort>,
) -> Option<GravityReading> {
    let settings = context.settings;
    let meant = likely.or_else(|| meant_gravity(settings, reading, original));
    let what = if meant.is_some() { Measured::Gravity } else { reading.what };
    let measure = &meant.unwrap_or_else(|| reading.measure());
    match what {
        Measured::Gravity => {
            let read = as_gravity(measure);
            let gravity = match reading.at() {
                None => read,
                Some(sample) => {
                    let sample = degrees::as_meant(sample.measure, degrees::Of::Wort);
                    let sample = Temperature::celsius(sample.base());
                    gravity::corrected(read, sample, settings.hydrometer_calibrated).ok()?
                }
            };
            let error = gravity_error(measure, settings.hydrometer_error);
            Some(GravityReading {
                at,
                gravity,
                error,
                refractometer: false,
                logged: false,
                hours_either_way: 0.0,
                place,
            })
        }
        Measured::Brix => {
            let brix = f64::midpoint(measure.low, measure.high);
            let of_wort = refractometer::WORT_ERROR.as_degrees() * gravity::DEGREE.as_specific();
            let (gravity, error) = match original {
                None => (gravity::gravity(refractometer::wort(brix, settings.wort_factor)), of_wort),
                Some(wort) => {
                    let before = wort.strength.as_degrees() * settings.wort_factor;
                    (
                        refractometer::beer(before, brix, settings.wort_factor).ok()?,
                        refractometer::BEER_ERROR.as_specific(),
                    )
                }
            };
            Some(GravityReading {
                at,
                gravity,
                error,
                refractometer: true,
                logged: false,
                hours_either_way: 0.0,
                place,
            })
        }
        _ => None,
    }
}

/// Where a specific gravity of wort or beer lies.
const GRAVITIES: RangeInclusive<f64> = 0.98..=1.2;

/// Whether a refractometer shows less than any beer of a wort. That a beer is too young for it, or its wort too thin, is no slip.
fn is_below_any(settings: &Settings, brix: f64, wort: &Wort) -> bool {
    let factor = settings.wort_factor;
    let refused = refractometer::beer(wort.strength.as_degrees() * factor, brix, factor).err();
    // The share that is refused is the attenuation.
    brix < 0.0 || refused.is_some_and(|refused| refused.unit == "%" && refused.value > *refused.range.end())
}

/// The gravity that is written behind `brix`: no wort is so thin, and no beer of this one shows so little.
fn meant_gravity(settings: &Settings, reading: &Reading, original: Option<&Wort>) -> Option<Measure> {
    let written = reading.measure();
    let is_brix = reading.what == Measured::Brix && written.unit == Unit::Brix;
    let is_gravity = is_brix && GRAVITIES.contains(&written.low) && GRAVITIES.contains(&written.high);
    let is_slip = |wort| is_below_any(settings, f64::midpoint(written.low, written.high), wort);
    (is_gravity && original.is_none_or(is_slip)).then_some(Measure { unit: Unit::SpecificGravity, ..written })
}

/// What a `brix` tells that cannot be: it is a gravity, or none at all.
pub(crate) fn odd_brix(
    settings: &Settings,
    reading: &Reading,
    (place, value): (Place, Place),
    original: Option<&Wort>,
) -> Option<Fault> {
    let written = reading.measure();
    if let Some(likely) = meant_gravity(settings, reading, original) {
        let why =
            if original.is_none() { "no wort is so thin" } else { "no beer of its wort shows so little" };
        return Some(Fault::GravityAsBrix { place, value, written, likely, why });
    }
    let brix = f64::midpoint(written.low, written.high);
    let is_odd =
        reading.what == Measured::Brix && original.is_some_and(|wort| is_below_any(settings, brix, wort));
    is_odd.then(|| Fault::Impossible {
        place: value,
        why: format!("no beer of its wort shows so little as {written}"),
    })
}

/// Few brews begin as thin as this (judgement); what is written so is asked about where a zero too many stands in it.
const THIN_WORT: f64 = 1.010;

/// How many digits stand behind the point of the number at a place.
fn decimals(context: &Context<'_>, place: Place) -> usize {
    let source = context.sources.get(place.file.0 as usize);
    let written = source.map_or("", |source| place.span.text(&source.text));
    let behind = written.split(['.', ',']).nth(1).unwrap_or_default();
    behind.bytes().take_while(u8::is_ascii_digit).count()
}

/// A specific gravity of which the excess over that of water is so many times as large.
fn with_excess(written: &Measure, times: f64) -> Option<Measure> {
    let gravity = 1.0 + (written.low - 1.0) * times;
    let gravity = (gravity * 1e4).round() / 1e4;
    let is_plain = written.unit == Unit::SpecificGravity && !written.is_range();
    is_plain.then_some(Measure { low: gravity, high: gravity, ..*written })
}

/// What the gravity of a brew's `wort` line is likely meant to be: `1.0048` has a zero too many for 1.048.
pub(crate) fn has_a_zero_too_many(
    context: &Context<'_>,
    lot: LotId,
    written: &Measure,
    place: Place,
) -> Option<Measure> {
    let is_thin = context.kind(lot) == Some(LotKind::Brew) && (1.0..THIN_WORT).contains(&written.low);
    let likely = with_excess(written, 10.0).filter(|likely| is_thin && likely.low >= THIN_WORT)?;
    (decimals(context, place) > 3).then_some(likely)
}

/// What a gravity of beer is likely meant to be that lies far above its wort, though nothing went in that raises it: `1.12` lacks
/// a zero of 1.012. Where all its digits are there it is another slip, and nobody knows what is meant.
pub(crate) fn lacks_a_zero(
    context: &Context<'_>,
    lot: LotId,
    reading: &Reading,
    (at, value): (Moment, Place),
    (wort, pitched): (&Wort, Option<Moment>),
) -> Option<Measure> {
    let written = reading.measure();
    let (limit, wort) = (wort.gravity_error + ABOVE_WORT, wort.gravity.as_specific());
    let is_above = reading.what == Measured::Gravity && written.low > wort + limit;
    let likely = with_excess(&written, 0.1).filter(|likely| is_above && likely.low <= wort)?;
    let is_fed = context.events(lot).any(|(when, _, statement)| match &statement.kind {
        Kind::Add(add) if when <= at && pitched.is_none_or(|pitched| when >= pitched) => {
            additions::feeds(add) || additions::is_unknown(add) || context.beer(&add.what.text).is_some()
        }
        _ => false,
    });
    (!is_fed && decimals(context, value) <= 2).then_some(likely)
}

/// Further, in apparent attenuation, no beer goes of which nothing else is said (judgement).
const FURTHEST_SHOWN: f64 = 0.95;

/// A gravity in degrees Brix of beer that is a good way on, as it is and as a refractometer would have shown it: few have a
/// hydrometer with that scale.
pub(crate) fn brix_of_beer(settings: &Settings, reading: &Reading, wort: &Wort) -> Option<[Gravity; 2]> {
    let written = reading.measure();
    let is_bare = reading.what == Measured::Gravity && written.unit == Unit::Brix && reading.at().is_none();
    let shown = f64::midpoint(written.low, written.high);
    let factor = settings.wort_factor;
    let corrected = refractometer::beer(wort.strength.as_degrees() * factor, shown, factor).ok()?;
    // What no yeast reaches a refractometer did not show.
    let gone = alcohol::apparent_attenuation(wort.gravity, corrected).as_fraction();
    (is_bare && gone <= FURTHEST_SHOWN).then_some([as_gravity(&written), corrected])
}

/// A wort on its way to the yeast: as stated, then read and added to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Worked {
    pub wort: Wort,
    /// Extract added to it that is sugar and ferments wholly.
    pub sugar: Mass,
    /// Extract added to it that brewing yeast leaves.
    pub left: Mass,
    /// The first addition after which its extract is not known: fruit, or another brew's beer.
    pub unknown: Option<(Moment, Place)>,
    /// Its strength is still that of its `wort` line.
    pub as_stated: bool,
    /// It was boiled, and neither its volume nor its gravity was read since.
    boiled: bool,
}

/// What a line was to a wort.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Change {
    Read,
    Added,
}

impl Worked {
    const fn stated(wort: Wort) -> Self {
        let none = Mass::kilograms(0.0);
        Self { wort, sugar: none, left: none, unknown: None, as_stated: true, boiled: false }
    }

    /// A part of it, as the line at a place says.
    fn part(self, volume: Volume, volume_error: Volume, place: Place) -> Self {
        let share = volume / self.wort.volume.max(Volume::millilitres(1.0));
        Self {
            wort: Wort { volume, volume_error, place, measured: false, ..self.wort },
            sugar: self.sugar * share,
            left: self.left * share,
            ..self
        }
    }

    /// A part is taken out of it. One that would leave nothing for its yeast was not taken before that.
    fn goes_without(&mut self, part: Volume) -> bool {
        let left = (self.wort.volume - part) / self.wort.volume;
        let is_left = left > DREGS;
        if is_left {
            self.wort.volume = self.wort.volume * left;
            self.sugar = self.sugar * left;
            self.left = self.left * left;
        }
        is_left
    }

    /// What is thrown away or left behind before the yeast goes in is not pitched.
    fn is_left_behind(&mut self, kind: &Kind) -> Option<()> {
        let there = self.wort.volume;
        let gone = match kind {
            Kind::Dump(dumped) if dumped.lot.is_none() => volume_of(dumped.amount.as_ref()?.kind, there)?,
            Kind::Rack(racked) => there - volume_of(racked.amount.as_ref()?.kind, there)?,
            _ => return None,
        };
        (gone > Volume::default()).then(|| self.goes_without(gone))?;
        Some(())
    }

    /// Goes on over a line; gravities count where they are `still_wort`.
    fn goes_on(
        &mut self,
        context: &Context<'_>,
        (at, place): (Moment, Place),
        kind: &Kind,
        still_wort: bool,
    ) -> Option<Change> {
        let wort = &mut self.wort;
        let before = wort.gravity;
        if matches!(kind, Kind::Boil(_)) {
            self.boiled = true;
        }
        let change = match kind {
            Kind::Reading(reading) if reading.what == Measured::Volume => {
                let read = Volume::litres(reading.measure().base());
                if std::mem::take(&mut self.boiled) {
                    boiled_down(wort, read);
                }
                wort.volume = read;
                wort.volume_error = Volume::litres(reading.measure().error_base());
                wort.place = place;
                Change::Read
            }
            Kind::Reading(reading) if still_wort => {
                let read = read_gravity(context, reading, None, at, place, None)?;
                wort.gravity = read.gravity;
                wort.gravity_error = read.error;
                wort.strength = gravity::plato(read.gravity);
                wort.place = place;
                wort.measured = true;
                self.boiled = false;
                self.as_stated = false;
                Change::Read
            }
            Kind::Add(add) => {
                if additions::is_unknown(add) || context.beer(&add.what.text).is_some() {
                    self.unknown.get_or_insert((at, place));
                }
                let (sugar, left) = additions::sugar_of(add, wort.volume);
                self.sugar = self.sugar + sugar;
                self.left = self.left + left;
                let what = Addition::of(add);
                if let Some(amount) = what.measured(add.amount.kind, wort.volume) {
                    blended(wort, &amount, what, added_gravity(add));
                }
                Change::Added
            }
            _ => return None,
        };
        self.as_stated &= wort.gravity == before;
        Some(change)
    }
}

/// No boil leaves less than this part of a wort (judgement): such a volume is a slip.
const BOILED_DOWN: f64 = 1.0 / 3.0;

/// Water boils off, and extract stays: what is less is as much stronger.
fn boiled_down(wort: &mut Wort, to: Volume) {
    let left = to / wort.volume;
    if (BOILED_DOWN..1.0).contains(&left) {
        let extract = gravity::extract(wort.strength).as_grams_per_litre() / left;
        wort.strength = gravity::strength(Extract::grams_per_litre(extract));
        wort.gravity = gravity::gravity(wort.strength);
    }
}

/// The volume that an amount of a wort is; `None` where it is stated otherwise.
pub(crate) fn volume_of(amount: AmountKind, wort: Volume) -> Option<Volume> {
    match amount {
        AmountKind::Share(share) => return Some(wort * share),
        AmountKind::All => return Some(wort),
        _ => {}
    }
    let measure = additions::measured(amount, wort)?;
    (measure.dimension() == Dimension::Volume).then(|| Volume::litres(measure.base()))
}

/// A wort up to a line that changed it, or to when a part was taken of it: with what was read of it by then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Earlier {
    until: (Moment, Option<Place>),
    pub volume: Volume,
    pub strength: Plato,
}

impl Earlier {
    /// What a wort was at a line, if it was changed since; `all` in order of time.
    pub(crate) fn at(all: &[Self], line: (Moment, Place)) -> Option<&Self> {
        let later = all.partition_point(|earlier| earlier.until.0 < line.0);
        all.get(later..)?.iter().find(|earlier| earlier.was(line))
    }

    /// Whether it was that at a line; what has the time of a parting happened to the whole.
    fn was(&self, (at, line): (Moment, Place)) -> bool {
        match self.until {
            (until, None) => at <= until,
            (until, Some(place)) => (at, line) < (until, place),
        }
    }
}

/// A wort when its yeast went in, what it was before, and what was taken out of it.
pub(crate) struct Pitched {
    pub wort: Wort,
    /// What it came to be by more wort or water on the day of the pitch.
    pub filled: Option<Wort>,
    pub earlier: Vec<Earlier>,
    pub later: Vec<Later>,
    pub taken_out: Vec<TakenOut>,
}

/// The wort of a lot at a moment (its first pitch, or the end of its lines), from what it was at the start.
pub(crate) fn at_pitching(
    context: &Context<'_>,
    lot: LotId,
    start: Worked,
    pitched: Option<Moment>,
) -> Pitched {
    let mut worked = start;
    let (taken_out, mut earlier) = follow(context, lot, &mut worked, pitched, |_, _, _| ());
    earlier.shrink_to_fit();
    let later = pitched.map_or_else(Vec::new, |pitched| later(context, lot, worked.wort, pitched));
    let soon =
        |later: &&Later| pitched.is_some_and(|pitched| later.since.0.hours_since(pitched) <= FILLED_HOURS);
    let filled = later.iter().take_while(soon).last().map(|later| later.wort);
    Pitched { wort: worked.wort, filled, earlier, later, taken_out }
}

/// Large fermenters are filled in several goes: wort and water that follow the yeast so soon are pitched for as well
/// (common practice).
const FILLED_HOURS: f64 = 24.0;

/// A wort from a line on that poured more into it after its yeast: what it would be, had nothing fermented.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Later {
    since: (Moment, Place),
    pub wort: Wort,
}

impl Later {
    /// What a wort had come to be at a line; `None`: nothing was poured in by then. `all` in order of time.
    pub(crate) fn at(all: &[Self], line: (Moment, Place)) -> Option<&Self> {
        all.get(..all.partition_point(|later| later.since <= line))?.last()
    }
}

/// A wort after each line that poured wort or water into it once its yeast was in.
fn later(context: &Context<'_>, lot: LotId, at_pitching: Wort, pitched: Moment) -> Vec<Later> {
    let mut wort = at_pitching;
    let mut out = Vec::new();
    let since = context
        .events(lot)
        .skip_while(|(at, _, statement)| *at < pitched || !context.brings_yeast(&statement.kind));
    for (at, shelved, statement) in since {
        let Kind::Add(add) = &statement.kind else { continue };
        let before = wort;
        if let Some(amount) = poured(add, wort.volume) {
            blended(&mut wort, &amount, Addition::of(add), added_gravity(add));
        }
        if wort != before {
            out.push(Later { since: (at, shelved.place(statement.span)), wort });
        }
    }
    out
}

/// How much wort, water or juice a line pours in.
pub(crate) fn poured(add: &Add, to: Volume) -> Option<Measure> {
    let what = Addition::of(add);
    let is_poured = matches!(what, Addition::Wort | Addition::Water | Addition::Juice);
    what.measured(add.amount.kind, to).filter(|amount| is_poured && amount.dimension() == Dimension::Volume)
}

/// The wort of a batch as one of its lines finds it; `answered` says how much an open `add ?` before that line comes to.
pub(crate) fn before(
    context: &Context<'_>,
    batch: &Batch,
    start: Worked,
    (at, line): (Moment, Place),
    answered: impl Fn(&Wort, &Add) -> Option<Measure>,
) -> Wort {
    let lot = batch.lot;
    let mut worked = start;
    let still_wort = StillWort::of(context, lot, Some(at));
    let is_pitched = !batch.pitches.is_empty();
    let mut parts = batch.taken_out.iter().filter(|_| is_pitched).peekable();
    for (when, shelved, statement) in context.events(lot) {
        if when > at {
            break;
        }
        while let Some(part) = parts.next_if(|part| part.at <= when) {
            worked.goes_without(part.volume);
        }
        let place = shelved.place(statement.span);
        if place == line {
            break;
        }
        match &statement.kind {
            Kind::Add(add) if add.amount.kind == AmountKind::Asked => {
                if let Some(amount) = answered(&worked.wort, add) {
                    blended(&mut worked.wort, &amount, Addition::read(&add.what.text), added_gravity(add));
                }
            }
            kind => {
                worked.goes_on(context, (when, place), kind, still_wort.at(when));
                if is_pitched {
                    worked.is_left_behind(kind);
                }
            }
        }
    }
    worked.wort
}

/// Goes over the lines of a lot until its yeast, and calls for each that changes its wort. Gives back what was taken out of it,
/// before its yeast or after, and what it was before each change.
fn follow(
    context: &Context<'_>,
    lot: LotId,
    worked: &mut Worked,
    pitched: Option<Moment>,
    mut changed: impl FnMut(Moment, Change, &Worked),
) -> (Vec<TakenOut>, Vec<Earlier>) {
    let still_wort = StillWort::of(context, lot, pitched);
    let mut parts = context.taken_out(lot);
    let mut before_yeast = parts.iter_mut().filter(|part| part.before_yeast).peekable();
    let mut earlier = Vec::new();
    let mut parted = context.parted_at(lot).iter().peekable();
    let until = |until, wort: &Wort| Earlier { until, volume: wort.volume, strength: wort.strength };
    for (at, shelved, statement) in context.events(lot) {
        if pitched.is_some_and(|pitched| at > pitched) {
            break;
        }
        // An earlier pitch was boiled away: the wort goes on to the one that counts.
        let here = pitched.is_none_or(|pitched| at >= pitched);
        if here && context.brings_yeast(&statement.kind) {
            break;
        }
        while let Some(parted) = parted.next_if(|parted| **parted <= at) {
            earlier.push(until((*parted, None), &worked.wort));
        }
        while let Some(part) = before_yeast.next_if(|part| part.at <= at) {
            part.volume = part.of(worked.wort.volume);
            part.before_yeast = worked.goes_without(part.volume);
        }
        let place = shelved.place(statement.span);
        let before = worked.wort;
        let change = worked.goes_on(context, (at, place), &statement.kind, still_wort.at(at));
        if let Some(change) = change {
            changed(at, change, worked);
        }
        let is_left_behind = pitched.is_some() && worked.is_left_behind(&statement.kind).is_some();
        if change == Some(Change::Added) || is_left_behind {
            earlier.push(until((at, Some(place)), &before));
        }
    }
    for part in before_yeast {
        part.volume = part.of(worked.wort.volume);
        part.before_yeast = worked.goes_without(part.volume);
    }
    let gone = parts.iter().filter(|part| part.before_yeast).map(|part| part.volume);
    let mut left = gone.fold(worked.wort.volume, |whole, part| whole + part);
    for part in &mut parts {
        // Until its beer is followed.
        if !part.before_yeast {
            part.volume = part.of(left);
        }
        left = if pitched.is_some() { left - part.volume } else { left };
        part.left = left;
    }
    (parts, earlier)
}

/// When the yeast that counts goes into a block's wort, or into the whole that it is a part of: the first that is not boiled
/// away.
pub(crate) fn pitched(context: &Context<'_>, lot: LotId, block: BlockId) -> Option<Moment> {
    let mut pitched = context.partings.get(&lot).map(|parting| parting.yeast);
    for (at, home, statement) in context.events(lot) {
        match &statement.kind {
            kind if pitched.is_none() && home.id == block && context.brings_yeast(kind) => pitched = Some(at),
            // Boiled after souring: what matters is the yeast that goes in afterwards.
            Kind::Boil(_) if home.id == block => pitched = None,
            _ => {}
        }
    }
    pitched
}

/// Whether a gravity is still that of the wort.
#[derive(Debug, Clone, Copy)]
pub(crate) enum StillWort {
    /// Until its yeast is in.
    Until(Moment),
    /// Nobody pitched it: for a day after its first line, or until it was parted, and before the first sign of work. What
    /// is read later may have fermented by itself.
    Unpitched { rests: Moment, works: Option<Moment> },
}

impl StillWort {
    pub(crate) fn of(context: &Context<'_>, lot: LotId, pitched: Option<Moment>) -> Self {
        if let Some(pitched) = pitched {
            return Self::Until(pitched);
        }
        let first = context.events(lot).next().map_or(Moment::LAST, |(at, ..)| at);
        let rests = first.plus_hours(UNTOUCHED.as_hours());
        let rests = context.parted.get(&lot).map_or(rests, |parted| rests.max(*parted));
        let works = |kind: &Kind| matches!(kind, Kind::Krausen(height) if *height != Krausen::None);
        let works = context.events(lot).find(|(.., statement)| works(&statement.kind)).map(|(at, ..)| at);
        Self::Unpitched { rests, works }
    }

    pub(crate) fn at(self, at: Moment) -> bool {
        match self {
            Self::Until(pitched) => at <= pitched,
            Self::Unpitched { rests, works } => at <= rests && works.is_none_or(|works| at < works),
        }
    }
}

/// The brew that a batch has its wort from.
pub(crate) fn parted_from(context: &Context<'_>, lot: LotId) -> Option<LotId> {
    context.home(lot)?.block.statements.iter().find_map(|statement| match &statement.kind {
        Kind::WortOf(of) => context.names.lot(&of.brew.text),
        _ => None,
    })
}

/// A change of a wort that was parted.
#[derive(Clone, Copy)]
struct Step {
    at: Moment,
    change: Change,
    worked: Worked,
}

/// A wort that was parted, from its `wort` line on.
struct Whole {
    start: Worked,
    steps: Vec<Step>,
    is_pitched: bool,
    /// How much of it is taken already.
    taken: Volume,
}

/// The worts that were parted, each followed once however many parts it has.
#[derive(Default)]
pub(crate) struct Wholes(BTreeMap<LotId, Whole>);

impl Wholes {
    /// The wort of a block at the start: what its `wort` line says, or what the whole was when it was parted. Or why that is
    /// not known.
    pub(crate) fn start(
        &mut self,
        context: &Context<'_>,
        lot: LotId,
        shelved: &Shelved<'_>,
    ) -> Result<Worked, String> {
        self.start_at(context, lot, shelved, 0)
    }

    /// Takes a part of another brew's wort: that brew, the most that there was of its wort, and how much was left of that.
    pub(crate) fn take(
        &mut self,
        context: &Context<'_>,
        part: LotId,
        volume: Volume,
    ) -> Option<(LotId, Wort, Volume)> {
        let lot = parted_from(context, part)?;
        let whole = self.0.get_mut(&lot)?;
        // What is read of it later may be of what is left.
        let all = std::iter::once(&whole.start).chain(whole.steps.iter().map(|step| &step.worked));
        let most = all.map(|worked| worked.wort.volume).fold(Volume::default(), Volume::max);
        let wort = Wort { volume: most, ..whole.start.wort };
        let left = (most - whole.taken).max(Volume::default());
        whole.taken = whole.taken + volume;
        Some((lot, wort, left))
    }

    fn start_at(
        &mut self,
        context: &Context<'_>,
        lot: LotId,
        shelved: &Shelved<'_>,
        depth: u8,
    ) -> Result<Worked, String> {
        for statement in &shelved.block.statements {
            let place = shelved.place(statement.span);
            match &statement.kind {
                Kind::Wort(wort) => {
                    let (Some(volume), Some(strength)) = (wort.volume.known(), wort.gravity.known()) else {
                        return Err("the `wort` line asks".to_owned());
                    };
                    // Reckoned as it is likely meant, so that one slip is told once.
                    let meant =
                        has_a_zero_too_many(context, lot, &strength.measure, shelved.place(strength.span));
                    let strength = meant.unwrap_or(strength.measure);
                    let gravity = as_gravity(&strength);
                    let likely = volumes::meant_wort(context, lot, &volume.measure, place);
                    let volume = likely.map_or(volume.measure, |(likely, _)| likely);
                    return Ok(Worked::stated(Wort {
                        volume: Volume::litres(volume.base()),
                        volume_error: Volume::litres(volume.error_base()),
                        gravity,
                        gravity_error: gravity_error(&strength, context.settings.hydrometer_error),
                        strength: gravity::plato(gravity),
                        place,
                        measured: false,
                    }));
                }
                Kind::WortOf(of) => {
                    let whole =
                        context.names.lot(&of.brew.text).ok_or("the brew of its wort is not known")?;
                    if depth > DEEPEST {
                        return Err("its wort comes from itself".to_owned());
                    }
                    let whole = self.whole(context, whole, depth + 1)?;
                    let measure = &of.volume.measure;
                    let volume = Volume::litres(measure.base());
                    let volume_error = Volume::litres(measure.error_base());
                    return Ok(whole.when_parted(context, lot).part(volume, volume_error, place));
                }
                _ => {}
            }
        }
        Err("no `wort`".to_owned())
    }

    fn whole(&mut self, context: &Context<'_>, lot: LotId, depth: u8) -> Result<&Whole, String> {
        if !self.0.contains_key(&lot) {
            let home = *context.home(lot).ok_or("the brew of its wort is not known")?;
            let start = self.start_at(context, lot, &home, depth)?;
            let pitched = pitched(context, lot, home.id);
            let (steps, is_pitched) = (Vec::new(), pitched.is_some());
            let mut whole = Whole { start, steps, is_pitched, taken: Volume::default() };
            let mut worked = start;
            follow(context, lot, &mut worked, pitched, |at, change, worked| {
                whole.steps.push(Step { at, change, worked: *worked });
            });
            self.0.insert(lot, whole);
        }
        self.0.get(&lot).ok_or_else(|| "the brew of its wort is not known".to_owned())
    }
}

impl Whole {
    /// What it was when a part was taken: no later than the part's first line.
    ///
    /// What is read at that very time is told of both. What is added then is added to what is left of a whole that is
    /// itself pitched, and to all of one that is only parted.
    fn when_parted(&self, context: &Context<'_>, part: LotId) -> Worked {
        let lines = || context.events(part);
        let by = lines().map(|(at, shelved, line)| at.plus_hours(timeline::hours_either_way(shelved, line)));
        let (Some((first, ..)), Some(latest)) = (lines().next(), by.min()) else {
            return self.steps.last().map_or(self.start, |step| step.worked);
        };
        let counts = |step: &&Step| match step.change {
            Change::Added if self.is_pitched => step.at < first,
            Change::Added | Change::Read => step.at <= latest,
        };
        let before = self.steps.partition_point(|step| step.at < first);
        let since = self.steps.iter().skip(before).take_while(counts).count();
        let last = (before + since).checked_sub(1).and_then(|last| self.steps.get(last));
        last.map_or(self.start, |step| step.worked)
    }
}

/// Mixes an addition into a wort: volumes and extract add.
pub(crate) fn blended(wort: &mut Wort, amount: &Measure, what: Addition, gravity: Option<Gravity>) {
    let litres = wort.volume.as_litres();
    let grams = |strength: Plato, litres: f64| gravity::extract(strength).as_grams_per_litre() * litres;
    let (added_litres, added_extract) = match (what, amount.dimension()) {
        (Addition::Water, Dimension::Volume) => (amount.base(), 0.0),
        (Addition::Wort | Addition::Juice, Dimension::Volume) => match gravity {
            Some(gravity) => (amount.base(), grams(gravity::plato(gravity), amount.base())),
            None => return,
        },
        (Addition::Sugar(sugar), Dimension::Mass) => {
            let extract = amount.base() * sugar.extract_share();
            (gravity::room(Mass::grams(extract)).as_litres(), extract)
        }
        _ => return,
    };
    let total_litres = litres + added_litres;
    let total_extract = grams(wort.strength, litres) + added_extract;
    if total_litres > 0.0 {
        wort.volume = Volume::litres(total_litres);
        wort.strength = gravity::strength(Extract::grams_per_litre(total_extract / total_litres));
        wort.gravity = gravity::gravity(wort.strength);
    }
}
