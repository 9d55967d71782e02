//! A starter or a brew, with its figures.

use std::borrow::Cow;
use std::ops::Deref;
use std::sync::Arc;

use barm_quantity::{Estimate, Gravity, GravityDifference, Measure, Plato, Volume};
use barm_syntax::ast::Organism;
use barm_zymology::{gravity, oxygen, starter};

use crate::blends::Blend;
use crate::degrees;
use crate::fermentation::{self, FermentationFigures};
use crate::heat::HeatFigures;
use crate::history::{Harvested, History, Unknown};
use crate::names::{BlockId, LotId, LotKind};
use crate::packaging::PackageFigures;
use crate::parting::{Taken, TakenOut};
use crate::pitch::COUNTS_FOR_HOURS;
use crate::record::Record;
use crate::strain::{Rate, StrainId, Traits};
use crate::wort::{Earlier, Later, Worked};
use crate::{Fact, Moment, Place};

/// A starter or a brew, reckoned.
#[derive(Debug, Clone)]
pub struct Batch {
    /// Its lot.
    pub lot: LotId,
    /// Its name.
    pub name: Arc<str>,
    /// Starter or brew.
    pub kind: LotKind,
    /// Its block.
    pub block: BlockId,
    /// Its name in the header.
    pub place: Place,
    /// Facts of the organism: its own, and where it has none those of the yeast pitched.
    pub traits: Traits,
    /// `hold`, °C, and where it stands.
    pub hold: Option<((f64, f64), Place)>,
    /// `target`, and where it stands.
    pub target: Option<Box<(Rate, Place)>>,
    /// How a starter is moved.
    pub method: starter::Method,
    /// The wort at pitching: without what was parted from it before.
    pub wort: Option<Wort>,
    /// What that came to be by more wort or water within a day.
    pub(crate) filled: Option<Box<Wort>>,
    /// What that was before each change of it, in order of time.
    pub(crate) earlier: Vec<Earlier>,
    /// What it came to be by what was poured in after its yeast, in order of time.
    pub(crate) later: Vec<Later>,
    /// What was taken out of it for other brews, in order of time.
    pub taken_out: Vec<TakenOut>,
    /// Of a part of another wort: what that was when it was parted.
    pub(crate) parted: Option<Box<Worked>>,
    /// Of a part that was taken after the yeast went in: what it took along.
    pub(crate) taken: Option<Box<Taken>>,
    /// Yeast pitched, in order of time.
    pub pitches: Vec<Pitching>,
    /// Yeast that came in by another way than a pitch, and may go further than what was pitched, in order of time.
    pub(crate) guests: Vec<Guest>,
    /// What all pitches that count come to.
    pub pitch: Option<Box<PitchFigures>>,
    /// Oxygen at pitching.
    pub oxygen: Option<Box<OxygenFigures>>,
    /// How it stood to its range of temperature.
    pub temperature: Option<Box<TemperatureFigures>>,
    /// How it fermented, and where it is expected to end.
    pub fermentation: Option<Box<FermentationFigures>>,
    /// The same of a beer that was packaged and of which no line says what yeast it had.
    pub(crate) unpitched: Option<Box<FermentationFigures>>,
    /// The heat of it, where few temperatures of the beer were read.
    pub heat: HeatFigures,
    /// What it was packaged in, in order of time.
    pub packages: Vec<PackageFigures>,
    /// Gravities after the first pitch, or where nobody pitched after it was surely wort, corrected, in order of time.
    pub gravities: Vec<GravityReading>,
    /// Temperatures of the beer, °C, in order of time.
    pub temperatures: Vec<(Moment, f64, Place)>,
    /// Temperatures of the air around it, °C, in order of time.
    pub air: Vec<(Moment, f64, Place)>,
    /// The `readings` line whose file shows that it was put under pressure.
    pub logged_pressure: Option<Place>,
    /// What a logger read of it, in bar, in order of time, once somebody had closed the vessel.
    pub pressures: Vec<(Moment, f64)>,
    /// Every `aerate`, in order of time.
    pub doses: Vec<Dose>,
    /// Every `harvest` out of a brew, in order of time.
    pub harvests: Vec<Harvested>,
    /// All its yeast is known to be of one strain.
    pub one_strain: bool,
    /// Its strains, their shares, and what is to be expected of them; `None` where nothing is known, or one strain that
    /// nothing is expected of.
    pub blend: Option<Box<Blend>>,
    /// What its lines show besides.
    pub record: Record,
    /// Its last event.
    pub last_event: Option<Moment>,
    /// Whether something is asked of it: a `?` or a `target`.
    pub asks: bool,
    /// Yeast is asked for, and no answer says how much: what is pitched is not all that is meant to be.
    pub asks_for_yeast: bool,
    /// What could not be reckoned, and which fact is missing.
    pub missing: Vec<Missing>,
}

/// Gravity that a beer would have, had nothing fermented.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Original {
    /// The gravity.
    pub gravity: Gravity,
    /// Give or take.
    pub error: GravityDifference,
    /// What it is the gravity of.
    pub from: OriginalFrom,
}

/// What an original gravity is reckoned from; in words "that at pitching".
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OriginalFrom {
    /// The wort, where no yeast is on record.
    Wort,
    /// The wort at pitching.
    Pitching,
    /// All that it was given, after pitching too.
    Given,
    /// The same, but for fruit or beer of which nobody knows the extract.
    Known,
}

impl std::fmt::Display for OriginalFrom {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Wort => "that of the wort",
            Self::Pitching => "the gravity at pitching",
            Self::Given => "that of all that it was given",
            Self::Known => "that of what it was given, but for fruit or beer of unknown extract",
        })
    }
}

/// A figure that could not be reckoned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// Which: "oxygen".
    pub figure: &'static str,
    /// For want of: "no `aerate`".
    pub fact: String,
    /// The same as a fact that could be written.
    pub lacks: Fact,
    /// Whether a rule at the heart could otherwise speak.
    pub matters: bool,
}

/// Wort as it was when the yeast went in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wort {
    /// How much.
    pub volume: Volume,
    /// Give or take.
    pub volume_error: Volume,
    /// Its gravity.
    pub gravity: Gravity,
    /// Give or take, in specific gravity.
    pub gravity_error: f64,
    /// Its strength.
    pub strength: Plato,
    /// Where it is stated, or measured last.
    pub place: Place,
    /// Measured in this brew, and not only stated.
    pub measured: bool,
}

impl Wort {
    /// What its strength may be out by, °P.
    #[must_use]
    pub fn strength_error(&self) -> f64 {
        self.gravity_error / gravity::DEGREE.as_specific()
    }

    /// What a pitching rate counts by: its millilitres times its strength.
    pub(crate) fn plato_millilitres(&self) -> f64 {
        self.strength.as_degrees().max(0.1) * self.volume.as_millilitres()
    }
}

/// What was pitched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Form {
    /// Liquid packs.
    Pack,
    /// Dry yeast.
    Dry,
    /// Slurry from a jar.
    Slurry,
    /// The cake of an earlier brew.
    Cake,
    /// A starter.
    Starter,
    /// A vial or a slant.
    Bank,
    /// Nothing says.
    Unknown,
}

/// One `pitch`.
#[derive(Debug, Clone)]
pub struct Pitching {
    /// The statement.
    pub place: Place,
    /// When.
    pub at: Moment,
    /// What.
    pub lot: LotId,
    /// Its name.
    pub name: Arc<str>,
    /// In which form.
    pub form: Form,
    /// How much, in `unit`.
    pub taken: f64,
    /// `packs`, `mL`, `g`, …; empty: a part of a whole.
    pub unit: &'static str,
    /// The part of what was left that was taken.
    pub part: f64,
    /// What stayed behind, in `unit`.
    pub left_after: f64,
    /// All cells, dead ones too.
    pub total: Option<Estimate>,
    /// The part of them that lives.
    pub live_share: Option<Estimate>,
    /// Live cells.
    pub live: Option<Estimate>,
    /// Live cells in one `unit`, for advice.
    pub live_per_unit: Option<Estimate>,
    /// Days since it was made, harvested, or (a cake) since its beer stopped working.
    pub age_days: Option<f64>,
    /// Where that date stands.
    pub since: Option<Place>,
    /// A count or viability later than that date.
    pub measured: bool,
    /// Generations since the lab.
    pub generation: Option<u32>,
    /// When it left the lab.
    pub lab: Option<Moment>,
    /// Grams of dry yeast.
    pub dry_grams: Option<f64>,
    /// Dry yeast at its first use.
    pub first_use_dry: bool,
    /// What is known of its organism.
    pub traits: Traits,
    /// A blend of strains, or of unknown ones.
    pub mixture: bool,
    /// Its strains and their shares.
    pub shares: Vec<(StrainId, f64)>,
    /// Of a blend: brews since the shares of its strains were known; `None`: they never were.
    pub rounds: Option<u32>,
    /// Dry yeast that was sprinkled on: the part of it that lives through that.
    pub sprinkled: Option<Box<Estimate>>,
    /// How far off `at` may be: 12 h where only the day is written.
    pub hours_either_way: f64,
    /// What it went through before.
    pub history: History,
    /// How it was reckoned.
    pub from: String,
    /// Why nobody knows how much of it lives, where that is so.
    pub unknown: Option<Box<Unknown>>,
    /// It went into a wort of which this one is a part, taken later.
    pub of_whole: bool,
    /// Nothing was left of it: what took the last.
    pub emptied_by: Option<Place>,
    /// What is left of a cake: the jar that was filled out of it before, and may hold all of it.
    pub jarred: Option<LotId>,
}

/// Yeast that came in with the beer of another brew, or at bottling, and of which it is known how far it goes, or that it goes
/// on where others end.
#[derive(Debug, Clone)]
pub(crate) struct Guest {
    pub at: Moment,
    /// The lot that it came with; `None`: its line alone tells of it.
    pub from: Option<LotId>,
    /// The line that it came by.
    pub line: Place,
    /// It is in the packages of that line and in no others.
    pub packaged: bool,
    pub traits: Traits,
}

impl Guest {
    /// Whether it is in the beer that a line packages, or that there is at it.
    fn is_in(&self, at: Moment, line: Place) -> bool {
        if self.packaged { self.line == line } else { (self.at, self.line) <= (at, line) }
    }
}

impl Pitching {
    /// What of it is in a part of its wort.
    pub(crate) fn part(&self, share: Option<f64>) -> Self {
        let scaled = |cells: &Option<Estimate>| Some(cells.as_ref()?.scaled(share?));
        Self {
            taken: self.taken * share.unwrap_or(0.0),
            total: scaled(&self.total),
            live: scaled(&self.live),
            dry_grams: self.dry_grams.zip(share).map(|(grams, share)| grams * share),
            of_whole: true,
            ..self.clone()
        }
    }

    /// Since when there was the pack or jar that it comes out of.
    #[must_use]
    pub fn there_since(&self) -> Option<Moment> {
        let days = self.age_days.filter(|_| matches!(self.form, Form::Pack | Form::Slurry))?;
        Some(self.at.plus_hours(-24.0 * days))
    }

    /// Wild yeast or bacteria: no rate and no want of oxygen is known of them.
    #[must_use]
    pub fn is_wild(&self) -> bool {
        matches!(self.traits.organism, Some(Organism::Wild | Organism::Bacteria))
    }
}

/// What the pitches of a batch come to.
#[derive(Debug, Clone)]
pub struct PitchFigures {
    /// Where: the first pitch that counts.
    pub place: Place,
    /// Live cells of all pitches that count.
    pub live: Estimate,
    /// Live cells wanted, where one rate holds for all of it; by mass otherwise.
    pub target: Option<f64>,
    /// The rate and where it comes from: "0.75 M/mL/°P (ale)".
    pub rate: String,
    /// The part of the target that was pitched; a blend adds up each lot's part of its own target.
    pub ratio: Estimate,
    /// Judged by mass: grams pitched and grams wanted.
    pub mass: Option<(f64, f64)>,
    /// Live cells per mL and °P.
    pub rate_pitched: Estimate,
    /// All of it is one whole cake, or a part of one.
    pub whole_cake: bool,
    /// How many of `pitches` count: those within 48 h of the first, before a third of the extract is gone.
    pub counted: usize,
}

/// Oxygen in the wort when the yeast went in.
#[derive(Debug, Clone)]
pub struct OxygenFigures {
    /// The last dose or measurement; of a part that had none of its own, its `wort`.
    pub place: Place,
    /// Of such a part, the last dose or measurement of its whole.
    pub in_whole: Option<Place>,
    /// When that was.
    pub at: Moment,
    /// Dissolved oxygen, mg/L.
    pub dissolved: Estimate,
    /// Measured, not reckoned.
    pub measured: bool,
    /// The last method used, and the most that it can reach, mg/L.
    pub method: Option<(oxygen::Method, Estimate)>,
    /// What it was reckoned with.
    pub wort: oxygen::Wort,
    /// Whether the temperature of the wort was read near the dose; 20 °C is taken otherwise.
    pub temperature_known: bool,
    /// Wanted: the low end, mg/L, and why: "a strain's `needs`".
    pub wanted: (f64, String),
    /// How it was reckoned.
    pub from: String,
}

/// One `aerate`.
#[derive(Debug, Clone)]
pub struct Dose {
    /// The statement.
    pub place: Place,
    /// When.
    pub at: Moment,
    /// Hours after the first pitch, negative before it; `None` while no yeast is in.
    pub hours: Option<f64>,
    /// How far off `at` may be: 12 h where only the day is written.
    pub hours_either_way: f64,
    /// How.
    pub method: oxygen::Method,
    /// Dissolved oxygen after it, mg/L.
    pub after: Estimate,
    /// The most that the method can reach here, mg/L.
    pub ceiling: Estimate,
    /// What it was reckoned with.
    pub wort: oxygen::Wort,
    /// The `?` that asks how long.
    pub asked: Option<AskedDose>,
}

/// A `?` in place of the time of an `aerate`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AskedDose {
    /// The `?`.
    pub place: Place,
    /// What it aims at, mg/L.
    pub aim: f64,
    /// No time is long enough.
    pub out_of_reach: bool,
}

/// A gravity as read after pitching.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GravityReading {
    /// When.
    pub at: Moment,
    /// Corrected.
    pub gravity: Gravity,
    /// Give or take, in specific gravity.
    pub error: f64,
    /// By refractometer.
    pub refractometer: bool,
    /// By a logger.
    pub logged: bool,
    /// How far off `at` may be: 12 h where only the day is written.
    pub hours_either_way: f64,
    /// The statement.
    pub place: Place,
}

/// Degree-hours beyond one end of the range.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Excursion {
    /// K·h in the first 72 h after pitching.
    pub early: f64,
    /// Hours of them.
    pub early_hours: f64,
    /// K·h after that, until half the expected extract is gone.
    pub late: f64,
    /// Hours of them.
    pub late_hours: f64,
    /// The furthest beyond the range, K.
    pub furthest: f64,
    /// The reading that stands furthest beyond it.
    pub worst: Option<(Place, Moment, f64)>,
    /// The range in force there, °C.
    pub range: (f64, f64),
}

/// An excursion as read, and with every reading moved towards the range and away from it by the thermometer's error.
/// Most batches stay inside their range, and of those nothing is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Excursions(Option<Box<[Excursion; 3]>>);

impl From<[Excursion; 3]> for Excursions {
    fn from(found: [Excursion; 3]) -> Self {
        Self(found.iter().any(|one| *one != Excursion::default()).then(|| Box::new(found)))
    }
}

impl Deref for Excursions {
    type Target = [Excursion; 3];
    fn deref(&self) -> &[Excursion; 3] {
        const INSIDE: Excursion = Excursion {
            early: 0.0,
            early_hours: 0.0,
            late: 0.0,
            late_hours: 0.0,
            furthest: 0.0,
            worst: None,
            range: (0.0, 0.0),
        };
        self.0.as_deref().unwrap_or(&[INSIDE; 3])
    }
}

/// How a batch stood to its range of temperature.
#[derive(Debug, Clone)]
pub struct TemperatureFigures {
    /// Too warm, as read, and with every reading lower and higher by the thermometer's error.
    pub warm: Excursions,
    /// Too cold, as read, and with every reading higher and lower by the thermometer's error.
    pub cold: Excursions,
    /// The range at pitching, °C.
    pub range: (f64, f64),
    /// Where it comes from: "`hold`", "the strain tidemill-ale".
    pub range_from: String,
    /// Where that stands.
    pub range_place: Option<Place>,
    /// The first yeast with a range.
    pub from: Moment,
    /// When half of the expected extract is gone, and whether that was read or only expected.
    pub half_gone: (Moment, bool),
    /// Lowest and highest reading judged, °C.
    pub extremes: Option<(f64, f64)>,
}

impl Batch {
    /// How it fermented, whether anybody wrote down its yeast or not.
    pub(crate) fn worked(&self) -> Option<&FermentationFigures> {
        self.fermentation.as_deref().or(self.unpitched.as_deref())
    }

    /// What goes on where its own yeast ends, and came in by another way than a pitch before a line.
    #[must_use]
    pub fn guest_that_goes_on(&self, at: Moment, line: Place) -> Option<&'static str> {
        self.guests_that_go_on(at, line).find_map(|guest| guest.traits.goes_on())
    }

    fn guests_that_go_on(&self, at: Moment, line: Place) -> impl Iterator<Item = &Guest> {
        let goes_on = move |guest: &&Guest| guest.is_in(at, line) && guest.traits.goes_on().is_some();
        self.guests.iter().filter(goes_on)
    }

    /// The same of the beer that a line packages, or that there is at it: with all that came in by then, and nothing that came
    /// later.
    pub(crate) fn worked_by(&self, at: Moment, line: Place) -> Option<Cow<'_, FermentationFigures>> {
        let guests: Vec<&Guest> = self.guests_that_go_on(at, line).collect();
        let mut found = self.worked()?.as_of(at, line);
        if !guests.is_empty() {
            found.to_mut().is_joined_by(&guests);
        }
        if found.has_enzyme_at_work(self, (at, line)) {
            found.to_mut().goes_on_by(fermentation::ENZYME);
        }
        if found.goes_on.is_none() && found.goes_below_its_end(self, at) {
            found.to_mut().goes_on_by(fermentation::FALLS);
        }
        Some(found)
    }

    /// Of ordinary yeast that came in by another way than a pitch, or was pitched since a moment, that which attenuates the most:
    /// its lot, by when, and how far.
    pub(crate) fn joined_that_goes_furthest(
        &self,
        since: Moment,
        (at, line): (Moment, Place),
    ) -> Option<(LotId, Moment, f64)> {
        let guests = self.guests.iter().filter(|guest| guest.is_in(at, line));
        let guests = guests.filter_map(|guest| Some((guest.from?, guest.at, &guest.traits)));
        let fresh = |pitch: &&Pitching| pitch.at > since && (pitch.at, pitch.place) <= (at, line);
        let pitched = self.pitches.iter().skip(1).filter(fresh);
        let pitched = pitched.map(|pitch| (pitch.lot, pitch.at, &pitch.traits));
        let ordinary = guests.chain(pitched).filter(|(.., traits)| traits.goes_on().is_none());
        let known = ordinary.filter_map(|(lot, at, traits)| Some((lot, at, traits.attenuates?.1)));
        known.reduce(|best, next| if next.2 > best.2 { next } else { best })
    }

    /// How much of its wort there was at a moment: with the parts that were still to be taken out of it, or were then.
    pub(crate) fn volume_at(&self, at: Moment) -> Option<Volume> {
        let wort = self.wort?.volume;
        let taken = self.taken_out.partition_point(|part| part.at < at);
        let there = match (taken.checked_sub(1), self.taken_out.first()) {
            (Some(last), _) => self.taken_out.get(last).map_or(wort, |part| part.left),
            (None, Some(first)) if self.pitched_at().is_some() => first.left + first.volume,
            _ => wort,
        };
        Some(if there > Volume::default() { there } else { wort })
    }

    /// How much of its wort was parted from it before its yeast went in.
    #[must_use]
    pub fn parted_before_yeast(&self) -> Option<Volume> {
        let parts = self.taken_out.iter().filter(|part| part.before_yeast).map(|part| part.volume);
        parts.reduce(|sum, part| sum + part)
    }

    /// The wort that its yeast is pitched for: with what was filled up soon after it.
    #[must_use]
    pub fn pitched_for(&self) -> Option<&Wort> {
        self.filled.as_deref().or(self.wort.as_ref())
    }

    /// The first pitch.
    #[must_use]
    pub fn pitched_at(&self) -> Option<Moment> {
        self.pitches.iter().map(|p| p.at).min()
    }

    /// Live cells per mL and °P of all that was pitched as one, whether anybody knows how many are wanted.
    #[must_use]
    pub fn rate_pitched(&self) -> Option<Estimate> {
        if let Some(pitch) = &self.pitch {
            return Some(pitch.rate_pitched.clone()).filter(|rate| rate.median() > 0.0);
        }
        let (wort, first) = (self.pitched_for()?, self.pitched_at()?);
        let counted = self.pitches.iter().filter(|pitch| pitch.at.hours_since(first) <= COUNTS_FOR_HOURS);
        let live: Option<Vec<Estimate>> = counted.map(|pitch| pitch.live.clone()).collect();
        Some(live?.into_iter().sum::<Estimate>().scaled(1.0 / wort.plato_millilitres()))
    }

    /// The brew that it took its yeast along from, as a part of its wort.
    #[must_use]
    pub fn taken_from(&self) -> Option<LotId> {
        self.taken.as_ref().map(|taken| taken.whole)
    }

    /// Whether yeast was in it by a line.
    pub(crate) fn is_pitched_by(&self, at: Moment, line: Place) -> bool {
        let mut by_then = self.pitches.iter().take_while(|pitch| pitch.at <= at);
        by_then.any(|pitch| (pitch.at, pitch.place) < (at, line))
    }

    /// What a line sets it to, or crashes it to, as that is likely meant: before its yeast it is no beer.
    pub(crate) fn set_as_meant(&self, to: Measure, of: degrees::Of, (at, line): (Moment, Place)) -> Measure {
        if self.is_pitched_by(at, line) { degrees::as_meant(to, of) } else { to }
    }

    /// The last gravity read.
    #[must_use]
    pub fn last_gravity(&self) -> Option<&GravityReading> {
        self.gravities.last()
    }

    /// Gravity that it would have at a reading, had nothing fermented.
    #[must_use]
    pub fn original(&self, reading: &GravityReading) -> Option<Original> {
        let (at, line) = (reading.at, reading.place);
        let wort = self.wort?;
        let found = self.fermentation.as_ref();
        let given =
            found.and_then(|found| found.given_by((at, line))).map_or(wort.gravity, |given| given.gravity);
        let from = match found {
            _ if self.pitches.is_empty() => OriginalFrom::Wort,
            Some(found) if !found.extract_is_known(at) => OriginalFrom::Known,
            _ if given != wort.gravity => OriginalFrom::Given,
            _ => OriginalFrom::Pitching,
        };
        Some(Original { gravity: given, error: GravityDifference::specific(wort.gravity_error), from })
    }

    /// Live cells per millilitre when the yeast went in.
    #[must_use]
    pub fn crowding(&self) -> Option<Estimate> {
        let wort = self.wort.as_ref().filter(|w| w.volume.as_millilitres() > 0.0)?;
        let live: Option<Vec<Estimate>> = self.pitches.iter().map(|p| p.live.clone()).collect();
        let live = live.filter(|all| !all.is_empty())?;
        Some(live.into_iter().sum::<Estimate>().scaled(1.0 / wort.volume.as_millilitres()))
    }

    /// Whether all yeast that it was begun with is dry and at its first use. Wild yeast and bacteria beside it change
    /// nothing in that.
    #[must_use]
    pub fn is_first_use_dry(&self) -> bool {
        let begun = self.pitch.as_ref().map_or(self.pitches.len(), |pitch| pitch.counted);
        let begun = || self.pitches.iter().take(begun);
        begun().any(|p| p.first_use_dry) && begun().all(|p| p.first_use_dry || p.is_wild())
    }
}
