//! How a batch fermented: what it was given, how far it went, where it is expected to end, and whether it has ended.

use std::borrow::Cow;

use barm_quantity::{Gravity, GravityDifference, Mass, Plato, Share, Volume};
use barm_syntax::ast::{Add, Kind, Measured, Organism};
use barm_zymology::fermentation::{ATTENUATES, ATTENUATES_FURTHER, COLD, REST, WARM_AGAIN};
use barm_zymology::{alcohol, gravity};

use crate::additions::{self, Addition};
use crate::batch::{Batch, GravityReading, Guest, Pitching, Wort};
use crate::context::Context;
use crate::degrees;
use crate::names::{BlockId, LotKind};
use crate::parting::TakenOut;
use crate::strain::{Strains, Traits};
use crate::suspicion::Suspicion;
use crate::{Figure, Moment, Place, wort};

mod started;
mod stopped;

use started::Signs;
pub use started::{Idle, SLOW_BELOW, shows_work_within};
pub(crate) use started::{foam, no_work_since};
pub(crate) use stopped::stands_since;
pub use stopped::{Falls, Shown, still_since};

/// How far above its wort a gravity has to lie to be wrong, in specific gravity: what is planned is often missed by less,
/// and top and bottom of a wort that was never stirred differ by less (judgement).
pub const ABOVE_WORT: f64 = 0.010;

/// An enzyme that goes in so long before the yeast, h, is one of the fermenter and none of the mash (judgement); a `boil` behind
/// it destroys it.
const ENZYME_HOURS: f64 = 24.0;

/// A sample with plenty of yeast goes no less far than this, in apparent attenuation: yeast that leaves maltose takes a sixth
/// (judgement).
const LEAST_FORCED: f64 = 0.1;

/// What makes a beer go on that was given an enzyme.
pub(crate) const ENZYME: &str = "an enzyme that frees what yeast leaves";
/// And that fell below where its yeast ends.
pub(crate) const FALLS: &str = "what took it below the end of its yeast";

/// All that a batch was given to ferment by a moment, as if it had been one wort.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Given {
    /// From when on.
    pub from: Moment,
    /// The line that gave the last of it; `None`: it is what was pitched.
    pub line: Option<Place>,
    /// How much.
    pub volume: Volume,
    /// Its gravity, had nothing fermented.
    pub gravity: Gravity,
    /// Its strength, had nothing fermented.
    pub strength: Plato,
    /// Extract of it that is sugar and ferments wholly.
    pub sugar: Mass,
    /// Extract of it that brewing yeast leaves: lactose, maltodextrin, the rest of a syrup.
    pub left: Mass,
}

impl Given {
    fn extract(&self) -> Mass {
        gravity::extract(self.strength) * self.volume
    }

    /// Whether it holds more that may ferment than it did; a gram is the rounding.
    fn feeds_more_than(&self, before: &Self) -> bool {
        let ferments = |given: &Self| (given.extract() - given.left).as_grams();
        ferments(self) > ferments(before) + 1.0
    }

    /// Apparent attenuation of all of it where its malt attenuates to `malt`, with the sugar that it had at `since`
    /// counted as malt: `malt` was measured on that.
    fn attenuation_since(&self, malt: f64, since: Option<&Self>) -> f64 {
        let total = self.extract().as_grams().max(1e-9);
        let (sugar, left) = since.map_or((Mass::default(), Mass::default()), |s| (s.sugar, s.left));
        let part = |mass: Mass| Share::fraction(mass.as_grams() / total);
        alcohol::attenuation_with(Share::fraction(malt), part(self.sugar - sugar), part(self.left - left))
            .as_fraction()
    }

    /// Apparent attenuation of all of it where its malt attenuates to `malt`: sugar ferments wholly.
    #[must_use]
    pub fn attenuation(&self, malt: f64) -> f64 {
        self.attenuation_since(malt, None)
    }

    /// The part of its extract, but for sugar added since, that was added since: wort and malt.
    fn malt_since(&self, since: &Self) -> f64 {
        let sugar = (self.sugar - since.sugar) + (self.left - since.left);
        let malt = (self.extract() - sugar).as_grams().max(1e-9);
        (1.0 - since.extract().as_grams() / malt).max(0.0)
    }

    /// Real extract that fermented at an apparent attenuation.
    pub(crate) fn fermented(&self, apparent: f64) -> Mass {
        self.extract() * fermented_part(self.strength, apparent)
    }

    /// The same after an addition; `None` where what it brings is not known.
    fn with(&self, add: &Add, (at, line): (Moment, Place)) -> Option<Self> {
        let what = Addition::of(add);
        let amount = what.measured(add.amount.kind, self.volume)?;
        let mut mixed = Wort {
            volume: self.volume,
            volume_error: Volume::default(),
            gravity: self.gravity,
            gravity_error: 0.0,
            strength: self.strength,
            place: Place { file: crate::FileId(0), span: add.amount.span },
            measured: false,
        };
        wort::blended(&mut mixed, &amount, what, wort::added_gravity(add));
        let known = mixed.volume != self.volume || mixed.strength != self.strength;
        let (sugar, left) = additions::sugar_of(add, self.volume);
        known.then_some(Self {
            from: at,
            line: Some(line),
            volume: mixed.volume,
            gravity: mixed.gravity,
            strength: mixed.strength,
            sugar: self.sugar + sugar,
            left: self.left + left,
        })
    }
}

/// The part of a wort's extract that is really gone at an apparent attenuation.
pub(crate) fn fermented_part(strength: Plato, apparent: f64) -> f64 {
    let gone = alcohol::extract_fermented(strength, Share::fraction(apparent));
    gone.as_degrees() / strength.as_degrees().max(1e-9)
}

/// What says where a fermentation ends; in words "`test forced`", "its yeast's 77 % at the most".
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum EndFrom {
    /// A forced test.
    Forced,
    /// The most that its yeast attenuates, as a fraction, and whether it was given sugar besides.
    Yeast(f64, bool),
    /// What yeast usually attenuates, where nobody says what this one does.
    Usual(f64),
    /// The least that yeast takes of it, with something in it of which nobody knows how much ferments.
    Least(f64),
    /// What an infection, wild or diastatic yeast takes away, from the least to the most.
    Further(f64, f64),
    /// A reading after it was packaged.
    Read,
}

impl std::fmt::Display for EndFrom {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Forced => f.write_str("`test forced`"),
            Self::Read => f.write_str("as read since"),
            Self::Yeast(most, sugared) => {
                let sugar = if *sugared { ", sugar wholly" } else { "" };
                write!(f, "its yeast's {:.0} % at the most{sugar}", most * 100.0)
            }
            Self::Usual(most) => {
                write!(f, "the usual {:.0} %: `attenuates` of its yeast would say", most * 100.0)
            }
            Self::Least(least) => {
                write!(f, "{:.0} % at the least, whatever else is in it", least * 100.0)
            }
            Self::Further(least, most) => {
                let [least, most] = [least, most].map(|part| part * 100.0);
                write!(f, "the {least:.0} to {most:.0} % that what also eats dextrins reaches")
            }
        }
    }
}

/// Where a fermentation is expected to end.
#[derive(Debug, Clone, PartialEq)]
pub struct ExpectedEnd {
    /// The gravity there: the lowest that it is likely to reach.
    pub gravity: Gravity,
    /// The lowest and the highest that it may end at, in specific gravity.
    pub range: (f64, f64),
    /// Its apparent attenuation there, as a fraction.
    pub attenuation: f64,
    /// What says so.
    pub from: EndFrom,
    /// Where a forced test stands.
    pub place: Option<Place>,
}

impl ExpectedEnd {
    /// Where a reading says that it went.
    pub(crate) fn read(reading: &GravityReading, attenuation: f64) -> Self {
        let (gravity, error) = (reading.gravity.as_specific(), reading.error);
        Self {
            gravity: reading.gravity,
            range: (gravity - error, gravity + error),
            attenuation,
            from: EndFrom::Read,
            place: Some(reading.place),
        }
    }

    /// As outputs show it.
    #[must_use]
    pub fn figure(&self) -> Figure {
        let figure =
            Figure::plain("expected-end", self.gravity.as_specific(), 0.0, "SG", self.from.to_string());
        let (low, high) = self.range;
        Figure { low, high, ..figure }
    }
}

/// A `test forced`: how far a sample went with plenty of yeast in the warmth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forced {
    /// When.
    pub at: Moment,
    /// How far.
    pub gravity: Gravity,
    /// Give or take, in specific gravity.
    pub error: f64,
    /// The statement.
    pub place: Place,
}

/// How a batch fermented.
#[derive(Debug, Clone, PartialEq)]
pub struct FermentationFigures {
    /// What it was given, in order of time; empty where its wort is not known.
    pub given: Vec<Given>,
    /// The first addition after which its extract is not known: fruit, or another lot.
    pub unknown_extract: Option<(Moment, Place)>,
    /// Every `test forced`, in order of time: what the beer of then can reach.
    pub forced: Vec<Forced>,
    /// Those of them that ended above the beer that they were taken of, or where the wort began: they tell of no end, and are not
    /// used.
    pub not_forced: Box<[Forced]>,
    /// When something went in after which it may end elsewhere, whatever a sample said: yeast that goes further, and extract
    /// that nobody knows; in order of time.
    turns: Vec<(Moment, Place)>,
    /// When an enzyme went in that frees dextrins, in order of time.
    enzymes: Vec<(Moment, Place)>,
    /// Every line that brought more yeast after the first, in order of time.
    fresh: Vec<(Moment, Place)>,
    /// How far its yeast took it before more was pitched, and until which line; in order of time.
    before: Vec<(Moment, Place, Reach)>,
    /// Apparent attenuation of malt wort by its yeast, least and most; of a blend by shares where they are known.
    pub attenuates: Option<(f64, f64)>,
    /// Alcohol that its yeast stands, as a fraction by volume; of a mixture, the most.
    pub tolerates: Option<f64>,
    /// Of more than one strain, or of unknown ones.
    pub mixture: bool,
    /// Infected, descended from what was, or in a vessel after it.
    pub suspect: Option<Suspicion>,
    /// By which line it became so, where that came in with yeast or beer.
    suspect_since: Option<(Moment, Place)>,
    /// Wild yeast, bacteria, or a strain that eats what others leave: it may go on and on.
    pub goes_on: Option<&'static str>,
    /// Of some of that, which eats dextrins, nobody says how far it goes.
    is_unsaid: bool,
    /// Signs that it had not begun, before the first that it had, in order of time.
    pub idle: Vec<Idle>,
    /// The first sign that it worked.
    pub began: Option<(Moment, Place)>,
    /// When a third of the extract was gone, at the first reading that shows it.
    pub third_gone: Option<Moment>,
    /// A pressure put on, set or read: carbon dioxide is meant to stay.
    pub pressure: Option<Place>,
    /// Since when it was too cold to work as it was packaged, or is at the end.
    pub cold: Option<Moment>,
    /// The first `crash`: when, and to how many °C where it says.
    pub crashed: Option<Box<(Moment, Option<f64>, Place)>>,
    /// The first reading or set-point after pitching that is warm enough for diacetyl to be taken up.
    pub rested: Option<Moment>,
    /// The last `test vdk`: when, and whether it passed.
    pub vdk: Option<(Moment, bool)>,
}

/// How far the yeast in a beer takes it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Reach {
    attenuates: Option<(f64, f64)>,
    goes_on: Option<&'static str>,
    is_unsaid: bool,
}

impl FermentationFigures {
    /// The same of what there was at a line: nothing had come in that came later.
    pub(crate) fn as_of(&self, at: Moment, line: Place) -> Cow<'_, Self> {
        let later = |(when, place): (Moment, Place)| (when, place) > (at, line);
        let reach =
            self.before.iter().find(|(when, place, _)| later((*when, *place))).map(|(.., reach)| *reach);
        let turns = self.turns.partition_point(|turn| !later(*turn));
        let suspect_later = self.suspect_since.is_some_and(later);
        if reach.is_none() && turns == self.turns.len() && !suspect_later {
            return Cow::Borrowed(self);
        }
        let mut out = self.clone();
        if let Some(Reach { attenuates, goes_on, is_unsaid }) = reach {
            (out.attenuates, out.goes_on, out.is_unsaid) = (attenuates, goes_on, is_unsaid);
        }
        out.suspect = out.suspect.filter(|_| !suspect_later);
        if let Some(turn) = out.turns.get(turns).copied() {
            out.forced.retain(|forced| (forced.at, forced.place) < turn);
            out.turns.truncate(turns);
        }
        Cow::Owned(out)
    }

    /// The last `test forced` that tells of the beer of a moment: nothing went in between after which it may end elsewhere.
    #[must_use]
    pub fn forced_at(&self, at: Moment) -> Option<&Forced> {
        let turns = self.turns.partition_point(|(turn, _)| *turn <= at);
        let by = |forced: &Forced| self.turns.partition_point(|turn| *turn <= (forced.at, forced.place));
        self.forced.iter().rfind(|forced| by(forced) == turns)
    }

    /// Whether a sample may have ended there: below the wort, and not above what its beer was read at by then, with nothing
    /// given to it in between.
    fn is_possible(&self, batch: &Batch, forced: &Forced) -> bool {
        let Some(given) = self.given_by((forced.at, forced.place)) else { return true };
        let is_above = |read: &GravityReading| {
            read.at <= forced.at
                && self.given_by((read.at, read.place)) == Some(given)
                && forced.gravity.as_specific()
                    > read.gravity.as_specific() + read.error + forced.error + 1e-9
        };
        !self.extract_is_known(forced.at)
            || alcohol::apparent_attenuation(given.gravity, forced.gravity).as_fraction() >= LEAST_FORCED
                && !batch.gravities.iter().any(is_above)
    }

    /// Yeast came into it that goes on where others end.
    pub(crate) fn is_joined_by(&mut self, guests: &[&Guest]) {
        let Some(first) = guests.iter().map(|guest| (guest.at, guest.line)).min() else { return };
        let yeasts: Vec<&Traits> = guests.iter().map(|guest| &guest.traits).collect();
        self.goes_on = self.goes_on.or_else(|| yeasts.iter().find_map(|yeast| yeast.goes_on()));
        let reach = yeasts.iter().filter_map(|yeast| yeast.attenuates);
        let all = self.attenuates.into_iter().chain(reach);
        self.attenuates = all.reduce(|(least, most), (_, more)| (least, most.max(more)));
        self.is_unsaid |= yeasts.iter().any(|yeast| is_unsaid(yeast));
        // A sample that was taken before did not have it.
        self.forced.retain(|forced| (forced.at, forced.place) > first);
    }

    /// An enzyme went in by a line, and no forced sample and no two readings since, taken in the warmth, show that it has done
    /// its work.
    pub(crate) fn has_enzyme_at_work(&self, batch: &Batch, by: (Moment, Place)) -> bool {
        let Some(added) = self.enzymes.iter().copied().rfind(|added| *added <= by) else { return false };
        let warm_until = self.cold.map_or(by.0, |cold| cold.min(by.0));
        let place = |read: &GravityReading| (read.at, read.place);
        let from = batch.gravities.partition_point(|read| place(read) <= added);
        let to = batch.gravities.partition_point(|read| read.at <= warm_until);
        let since = batch.gravities.get(from..to).unwrap_or_default();
        let is_forced =
            self.forced.iter().any(|forced| (forced.at, forced.place) > added && forced.at <= by.0);
        !is_forced && stands_since(since).is_none()
    }

    /// Something is at work in it of which nobody says how far that goes: an enzyme, or what takes it below its yeast's end.
    pub(crate) fn goes_on_by(&mut self, what: &'static str) {
        self.goes_on = self.goes_on.or(Some(what));
        self.is_unsaid = true;
    }

    /// What may take it further than its yeast goes, or has.
    #[must_use]
    pub fn goes_further(&self) -> Option<&'static str> {
        self.goes_on.or_else(|| self.enzymes.first().map(|_| ENZYME))
    }

    /// How far it goes on where nobody says so of what does, or an infection does: no less far than its yeast; apparent
    /// attenuation of malt wort, least and most.
    pub(crate) fn goes_on_to(&self) -> Option<(f64, f64)> {
        let goes_on = self.suspect == Some(Suspicion::Infected) || self.is_unsaid;
        let [least, furthest] = ATTENUATES_FURTHER.map(Share::as_fraction);
        let most = self.attenuates.map_or(least, |(_, most)| most.max(least));
        goes_on.then(|| (most.min(furthest), furthest))
    }

    /// What it had been given by a moment.
    #[must_use]
    pub fn given_at(&self, at: Moment) -> Option<&Given> {
        let after = self.given.partition_point(|g| g.from <= at);
        self.given.get(after.saturating_sub(1))
    }

    /// The same by a line: what is written below it without a time of its own came after it.
    #[must_use]
    pub fn given_by(&self, (at, line): (Moment, Place)) -> Option<&Given> {
        let after = self.given.partition_point(|g| (g.from, g.line) <= (at, Some(line)));
        self.given.get(after.saturating_sub(1))
    }

    /// Apparent attenuation at a reading, of all that was given by then.
    #[must_use]
    pub fn attenuation(&self, reading: &GravityReading) -> Option<f64> {
        let given = self.given_by((reading.at, reading.place))?;
        Some(alcohol::apparent_attenuation(given.gravity, reading.gravity).as_fraction())
    }

    /// What an error in gravity makes of an attenuation, as a fraction.
    #[must_use]
    pub fn attenuation_error(&self, reading: &GravityReading, wort: Option<&Wort>) -> f64 {
        let of_wort = GravityDifference::specific(wort.map_or(0.0, |w| w.gravity_error));
        let original =
            self.given_by((reading.at, reading.place)).map_or(reading.gravity, |given| given.gravity);
        let of_reading = GravityDifference::specific(reading.error);
        alcohol::attenuation_error((original, of_wort), (reading.gravity, of_reading)).as_fraction()
    }

    /// What the beer had been given by a reading that lies far above it: such a reading is wrong.
    #[must_use]
    pub fn above_wort(&self, reading: &GravityReading, wort: &Wort) -> Option<Gravity> {
        let by = reading.at.plus_hours(reading.hours_either_way);
        let given = self.given_at(by).filter(|_| self.extract_is_known(by))?.gravity;
        let above = reading.gravity.as_specific() - given.as_specific();
        (above > ABOVE_WORT + wort.gravity_error + reading.error).then_some(given)
    }

    /// Whether its extract is known at a moment.
    #[must_use]
    pub fn extract_is_known(&self, at: Moment) -> bool {
        !self.given.is_empty() && self.unknown_extract.is_none_or(|(from, _)| from > at)
    }

    /// Where it is expected to end, with all that it had been given by a moment.
    #[must_use]
    pub fn expected(&self, at: Moment) -> Option<ExpectedEnd> {
        let given = self.given_at(at)?;
        if let Some(forced) = self.forced_at(at) {
            let then = self.given_by((forced.at, forced.place))?;
            let reached = alcohol::apparent_attenuation(then.gravity, forced.gravity).as_fraction();
            // Wort that was added since was not in the sample.
            let new = given.malt_since(then);
            let reach = |malt: f64| given.attenuation_since(reached + (malt - reached) * new, Some(then));
            let (least, most) = self.attenuates.unwrap_or((reached, reached));
            let (attenuation, from) = (reach(most), EndFrom::Forced);
            let [gravity, highest] = [attenuation, reach(least)].map(|share| end_of(given, share));
            let range = (gravity.as_specific() - forced.error, highest.as_specific() + forced.error);
            return Some(ExpectedEnd { gravity, range, attenuation, from, place: Some(forced.place) });
        }
        self.attenuates.filter(|_| self.extract_is_known(at)).map(|known| end_by_yeast(given, known))
    }

    /// The same for what nobody knows: of yeast the usual. Fruit and other beer count as the wort does; as they may leave more
    /// than that, they end where its yeast goes at the least, unless something goes on all the same.
    fn supposed(&self, at: Moment) -> Option<ExpectedEnd> {
        let given = self.given_at(at)?;
        let [least, usual, _] = ATTENUATES.map(Share::as_fraction);
        if !self.extract_is_known(at) && self.goes_on.is_none() && self.suspect.is_none() {
            let least = self.attenuates.map_or(least, |(least, _)| least);
            return Some(end_at(given, (least, least), EndFrom::Least(least)));
        }
        Some(match self.attenuates {
            Some(known) => end_by_yeast(given, known),
            None => end_at(given, (least, usual), EndFrom::Usual(usual)),
        })
    }

    /// The same where something goes on of which nobody says how far: the middle of what is likely, and where it was seen to
    /// fall, of what is left of that.
    fn further(&self, at: Moment, reached: f64) -> Option<ExpectedEnd> {
        let (given, (least, most)) = self.given_at(at).zip(self.goes_on_to())?;
        let least = if self.goes_on == Some(FALLS) { least.max(reached).min(most) } else { least };
        let from = EndFrom::Further(least, most);
        let attenuation = given.attenuation(f64::midpoint(least, most));
        let [lowest, highest] =
            [most, least].map(|malt| end_of(given, given.attenuation(malt)).as_specific());
        let gravity = end_of(given, attenuation);
        Some(ExpectedEnd { gravity, range: (lowest, highest), attenuation, from, place: None })
    }

    /// Extract that would still ferment from a reading to the expected end, in each litre, and give or take, with all that
    /// had been given by a moment; nothing where it is there already.
    #[must_use]
    pub fn still_to_ferment(
        &self,
        reading: &GravityReading,
        by: Moment,
    ) -> Option<(Mass, Mass, ExpectedEnd)> {
        let (then, now) = (self.given_by((reading.at, reading.place))?, self.given_at(by)?);
        let reached = self.attenuation(reading)?;
        let further = self.further(by, reached);
        let is_further = further.is_some();
        let end = further.or_else(|| self.expected(by)).or_else(|| self.supposed(by))?;
        let gone = then.fermented(reached).as_grams();
        let left = |attenuation| {
            let left = now.fermented(attenuation).as_grams() - gone;
            left.max(0.0) / now.volume.as_litres().max(0.001)
        };
        let most = self.goes_on_to().filter(|_| is_further).map(|(_, most)| left(now.attenuation(most)));
        let left = left(end.attenuation);
        Some((Mass::grams(left), Mass::grams(most.map_or(0.0, |most| most - left)), end))
    }
}

fn end_of(given: &Given, attenuation: f64) -> Gravity {
    alcohol::present_gravity(given.gravity, Share::fraction(attenuation))
}

/// Reckons how a batch fermented. `suspect`: it is infected, or may be, and by which line.
pub(crate) fn reckon(
    context: &Context<'_>,
    strains: &Strains,
    batch: &mut Batch,
    suspect: Option<(Suspicion, Option<(Moment, Place)>)>,
) {
    let Some(pitched) = batch.pitched_at().or_else(|| unpitched(context, batch)) else { return };
    let own = context.home(batch.lot).map(|home| Traits::of(home.block)).unwrap_or_default();
    let (reach, before) = reaches(strains, batch, &own);
    // One that does not say may stand more.
    let tolerates = own.tolerates.or_else(|| {
        let yeasts = batch.pitches.iter().flat_map(|pitch| yeasts(strains, pitch));
        let all: Option<Vec<f64>> = yeasts.map(|yeast| yeast.tolerates).collect();
        all?.into_iter().reduce(f64::max)
    });
    let mut out = FermentationFigures {
        given: Vec::new(),
        unknown_extract: batch.parted.as_deref().and_then(|parted| parted.unknown),
        forced: Vec::new(),
        not_forced: Box::default(),
        turns: Vec::new(),
        enzymes: Vec::new(),
        fresh: batch.pitches.iter().skip(1).map(|pitch| (pitch.at, pitch.place)).collect(),
        before,
        attenuates: reach.attenuates,
        tolerates,
        mixture: !batch.one_strain,
        suspect: suspect.map(|(suspect, _)| suspect),
        suspect_since: suspect.and_then(|(_, since)| since),
        goes_on: reach.goes_on,
        is_unsaid: reach.is_unsaid,
        idle: Vec::new(),
        began: None,
        third_gone: third_gone(batch),
        pressure: batch.logged_pressure,
        cold: None,
        crashed: None,
        rested: batch
            .temperatures
            .iter()
            .find(|(at, t, _)| *at > pitched && *t >= REST.as_celsius())
            .map(|(at, ..)| *at),
        vdk: None,
    };
    let may_ferment = |add: &Add| batch.wort.is_some_and(|wort| context.may_ferment(add, wort.volume));
    let mut giving = Giving::from_pitch(batch, pitched);
    let (mut chilled, mut packaged) = (Vec::new(), None);
    for (at, shelved, statement) in context.course(batch.lot) {
        let place = shelved.place(statement.span);
        if let Kind::Add(add) = &statement.kind
            && at > pitched
            && additions::is_live_yeast(&add.what.text)
        {
            out.fresh.push((at, place));
        }
        match &statement.kind {
            Kind::Add(add)
                if additions::is_unknown(add)
                    || context.beer(&add.what.text).is_some()
                    || at > pitched && may_ferment(add) =>
            {
                out.unknown_extract.get_or_insert((at, place));
                out.turns.push((at, place));
            }
            Kind::Add(add)
                if at >= pitched.plus_hours(-ENZYME_HOURS) && giving.is_freed_by(&add.what.text) =>
            {
                out.enzymes.push((at, place));
            }
            Kind::Boil(_) => out.enzymes.clear(),
            kind @ (Kind::Add(_) | Kind::Pitch(_)) => giving.goes_on(context, (at, place, shelved.id), kind),
            Kind::Test(test) if test.what.text.eq_ignore_ascii_case("forced") => {
                if let Some(value) = &test.value {
                    let error = wort::gravity_error(&value.measure, context.settings.hydrometer_error);
                    let gravity = wort::as_gravity(&value.measure);
                    out.forced.push(Forced { at, gravity, error, place });
                }
            }
            Kind::Set(set) if set.to.measure.dimension() == barm_quantity::Dimension::Pressure => {
                out.pressure.get_or_insert(place);
            }
            Kind::Set(set) => {
                let celsius = batch.set_as_meant(set.to.measure, degrees::Of::Beer, (at, place)).base();
                chilled.push((at, is_cold(celsius)));
                if at > pitched && celsius >= REST.as_celsius() {
                    out.rested = Some(out.rested.map_or(at, |rested| rested.min(at)));
                }
            }
            Kind::Crash(to) => {
                chilled.push((at, true));
                let to = to
                    .as_ref()
                    .map(|to| batch.set_as_meant(to.measure, degrees::Of::Crashed, (at, place)).base());
                out.crashed.get_or_insert_with(|| Box::new((at, to, place)));
            }
            Kind::Test(test) if is_vdk(&test.what.text) => {
                out.vdk = test.passed.map(|passed| (at, passed)).or(out.vdk);
            }
            Kind::Reading(reading) if reading.what == Measured::Pressure => {
                out.pressure.get_or_insert(place);
            }
            Kind::Package(package) => {
                packaged = packaged.or(Some(at).filter(|at| *at > pitched));
                if package.with.iter().any(|with| giving.is_freed_by(&with.what.text)) {
                    out.enzymes.push((at, place));
                }
                if package.at_pressure.is_some() {
                    out.pressure.get_or_insert(place);
                }
                giving.goes_on(context, (at, place, shelved.id), &statement.kind);
            }
            _ => {}
        }
    }
    out.given = giving.all();
    let forced = std::mem::take(&mut out.forced);
    let (forced, not_forced) = forced.into_iter().partition(|forced| out.is_possible(batch, forced));
    (out.forced, out.not_forced) = (forced, Vec::into_boxed_slice(not_forced));
    out.fresh.sort_unstable();
    out.turns.extend(&out.enzymes);
    turn(strains, batch, &own, &mut out);
    out.cold = cold_from(chilled, batch, pitched, packaged.unwrap_or(Moment::LAST));
    let foam = started::foam(context.course(batch.lot));
    let signs = Signs::of(foam, batch.gravities.iter(), batch.wort.as_ref(), pitched, |read, wort| {
        let is_slip = out.above_wort(read, wort).is_some();
        out.given_by((read.at, read.place)).filter(|_| !is_slip).map(|given| given.gravity)
    });
    (out.idle, out.began) = (signs.idle, signs.began);
    out.given.shrink_to_fit();
    out.fresh.shrink_to_fit();
    out.idle.shrink_to_fit();
    match batch.pitched_at() {
        Some(_) => batch.fermentation = Some(Box::new(out)),
        None => batch.unpitched = Some(Box::new(out)),
    }
}

/// Since when a beer was too cold to work as it was first packaged, or is at the end. `chilled`: when it was set or crashed, and
/// whether that is cold.
fn cold_from(chilled: Vec<(Moment, bool)>, batch: &Batch, pitched: Moment, end: Moment) -> Option<Moment> {
    let read = batch.temperatures.iter().filter(|(at, ..)| *at > pitched);
    // What is read on the way down is not warm again.
    let warm_again = |celsius: f64| celsius > WARM_AGAIN.as_celsius();
    let read = read.filter(|(_, celsius, _)| is_cold(*celsius) || warm_again(*celsius));
    // What was read as it was set to something else, it was before that.
    let mut told: Vec<(Moment, bool)> = read.map(|(at, celsius, _)| (*at, is_cold(*celsius))).collect();
    told.extend(chilled);
    told.retain(|(at, _)| *at > pitched && *at <= end);
    told.sort_by_key(|(at, _)| *at);
    told.iter().fold(None, |cold, (at, is_cold)| if *is_cold { cold.or(Some(*at)) } else { None })
}

/// Whether beer so warm is chilled.
pub(crate) fn is_cold(celsius: f64) -> bool {
    celsius <= COLD.as_celsius()
}

/// Since when a beer works whose yeast nobody wrote down: it is taken to have had some from the first.
fn unpitched(context: &Context<'_>, batch: &Batch) -> Option<Moment> {
    context.events(batch.lot).next().filter(|_| batch.kind == LotKind::Brew).map(|(at, ..)| at)
}

/// Of a beer that was parted or packaged no more than this part of it is what stays behind with the yeast, and nothing is
/// given to that (judgement).
const STAYS_BEHIND: f64 = 0.1;

/// What a batch is given from its first pitch on, as its lines go by.
struct Giving<'b> {
    pitched: Moment,
    is_pitched: bool,
    before: Vec<Given>,
    now: Option<Given>,
    /// The parts of it that are still to be taken, the last of which is the batch.
    parts: &'b [(BlockId, Volume)],
    /// What is still to be taken out of it for other brews.
    taken_out: &'b [TakenOut],
    /// What was taken out of it or packaged since it was last given something.
    gone: Volume,
    batch: &'b Batch,
}

impl<'b> Giving<'b> {
    fn from_pitch(batch: &'b Batch, pitched: Moment) -> Self {
        let parted = batch.parted.as_deref();
        let now = batch.wort.map(|wort| Given {
            from: pitched,
            line: None,
            volume: wort.volume,
            gravity: wort.gravity,
            strength: wort.strength,
            sugar: parted.map_or(Mass::default(), |parted| parted.sugar),
            left: parted.map_or(Mass::default(), |parted| parted.left),
        });
        let taken_out = batch.taken_out.as_slice();
        let mut out = Self {
            pitched,
            is_pitched: false,
            before: Vec::new(),
            now,
            parts: &[],
            taken_out,
            gone: Volume::default(),
            batch,
        };
        if let Some(taken) = batch.taken.as_deref() {
            if let Some(first) = taken.first {
                out.shrink_to(first);
            }
            out.parts = &taken.parts;
        }
        out
    }

    /// A part of it is taken and followed, so large; all that went in before was as much less of it.
    fn shrink_to(&mut self, part: Volume) {
        let share = self.now.map_or(1.0, |now| part / now.volume.max(Volume::millilitres(1.0)));
        for given in self.before.iter_mut().chain(&mut self.now) {
            given.volume = given.volume * share;
            given.sugar = given.sugar * share;
            given.left = given.left * share;
        }
    }

    /// Whether something frees for the yeast what it would leave: dextrins, or of lactase the lactose in it.
    fn is_freed_by(&self, what: &str) -> bool {
        let is_left = |now: Given| now.left.as_grams() > now.volume.as_litres();
        additions::frees_dextrins(what)
            || additions::any_word_of(what, &["lactase"]) && self.now.is_some_and(is_left)
    }

    /// A part of it is taken out or packaged.
    fn goes_without(&mut self, part: impl FnOnce(Volume) -> Option<Volume>) {
        let there = self.now.map_or(Volume::default(), |now| now.volume) - self.gone;
        let left = |part: &Volume| there - *part > there * STAYS_BEHIND;
        self.gone = self.gone + part(there).filter(left).unwrap_or_default();
    }

    /// The parts of its beer that were taken out of it by a moment.
    fn parted_by(&mut self, at: Moment) {
        while let Some((part, later)) = self.taken_out.split_first().filter(|(part, _)| part.at <= at) {
            self.taken_out = later;
            if !part.before_yeast {
                self.goes_without(|there| Some(part.of(there)));
            }
        }
    }

    fn goes_on(&mut self, context: &Context<'_>, (at, line, block): (Moment, Place, BlockId), kind: &Kind) {
        if let Some(part) = self.parts.iter().position(|(of, _)| *of == block) {
            let (taken, parts) = self.parts.split_at(part + 1);
            self.parts = parts;
            taken.iter().for_each(|(_, volume)| self.shrink_to(*volume));
        }
        if self.parts.is_empty() {
            self.parted_by(at);
        }
        match kind {
            kind if context.brings_yeast(kind) => self.is_pitched |= at >= self.pitched,
            // What went into a whole before the yeast is reckoned with its wort.
            Kind::Add(_) if !self.is_pitched && !self.parts.is_empty() => {}
            // What went in before the yeast is in the wort as it was reckoned; only its kind is still to be told.
            Kind::Add(add) if !self.is_pitched => {
                if let Some(given) = &mut self.now {
                    let whole = self.batch.volume_at(at).unwrap_or(given.volume);
                    let (sugar, left) = additions::sugar_of(add, whole);
                    let share = given.volume / whole;
                    given.sugar = given.sugar + sugar * share;
                    given.left = given.left + left * share;
                }
            }
            Kind::Add(add) => {
                let gone = std::mem::take(&mut self.gone);
                if let Some(now) = self.now.filter(|_| gone > Volume::default()) {
                    self.shrink_to(now.volume - gone);
                }
                if let Some(given) = &self.now
                    && let Some(more) = given.with(add, (at, line))
                {
                    self.before.extend(self.now.replace(more));
                }
            }
            Kind::Package(package) if self.is_pitched && self.parts.is_empty() => {
                self.goes_without(|there| wort::volume_of(package.amount.as_ref()?.kind, there));
            }
            _ => {}
        }
    }

    fn all(mut self) -> Vec<Given> {
        self.parts.iter().for_each(|(_, volume)| self.shrink_to(*volume));
        let mut all = self.before;
        all.extend(self.now);
        all
    }
}

/// Gravity of all that a batch was given by a moment, had nothing fermented; before it is known how it fermented.
pub(crate) fn original_by(context: &Context<'_>, batch: &Batch, by: Moment) -> Option<Gravity> {
    let mut giving = Giving::from_pitch(batch, batch.pitched_at()?);
    for (at, shelved, statement) in context.course(batch.lot).take_while(|(at, ..)| *at <= by) {
        let line = shelved.place(statement.span);
        giving.goes_on(context, (at, line, shelved.id), &statement.kind);
    }
    giving.now.map(|given| given.gravity)
}

fn is_vdk(test: &str) -> bool {
    ["vdk", "diacetyl"].iter().any(|name| test.eq_ignore_ascii_case(name))
}

/// What is known of every strain in a pitch, however small its share.
fn yeasts<'a>(strains: &'a Strains, pitch: &'a Pitching) -> impl Iterator<Item = &'a Traits> {
    let several = pitch.shares.iter().filter(|_| pitch.mixture);
    let several = several.filter_map(|(strain, _)| Some(&strains.get(*strain)?.traits));
    several.chain(Some(&pitch.traits).filter(|_| !pitch.mixture))
}

/// What is known of all the yeast in a beer together.
#[derive(Default, Clone, Copy)]
struct Together {
    least: Option<f64>,
    most: Option<f64>,
    goes_on: Option<&'static str>,
    is_unsaid: bool,
}

impl Together {
    fn take(&mut self, yeast: &Traits) {
        if let Some((least, most)) = yeast.attenuates {
            self.least = Some(self.least.map_or(least, |all| all.min(least)));
            self.most = Some(self.most.map_or(most, |all| all.max(most)));
        }
        self.goes_on = self.goes_on.or_else(|| yeast.goes_on());
        self.is_unsaid |= is_unsaid(yeast);
    }
}

/// How far the yeast of a batch takes it; and how far it did before more was pitched, and until which line.
fn reaches(strains: &Strains, batch: &Batch, own: &Traits) -> (Reach, Vec<(Moment, Place, Reach)>) {
    let mut all = batch.pitches.iter().flat_map(|pitch| yeasts(strains, pitch));
    // What nothing pitched does its brew says of itself, or the whole that it is a part of.
    let itself = if all.any(|yeast| yeast.goes_on().is_some()) { own } else { &batch.traits };
    let counted = batch.pitch.as_ref().map_or(batch.pitches.len(), |pitch| pitch.counted);
    let blend = batch.blend.as_deref();
    let is_of_blend = |pitch: &Pitching| {
        let of = |strain| blend.is_some_and(|blend| blend.parts.iter().any(|part| part.strain == strain));
        pitch.shares.iter().all(|(strain, _)| of(*strain))
    };
    let mut together = Together::default();
    let mut is_blend = true;
    let mut before: Vec<(Moment, Place, Reach)> = Vec::new();
    let reach = |together: &Together, blend: Option<(f64, f64)>| {
        // Of several yeasts whose shares nobody knows, those that say.
        let attenuates = own.attenuates.or(blend).or(together.least.zip(together.most));
        let is_unsaid = own.attenuates.is_none() && (together.is_unsaid || is_unsaid(own));
        Reach { attenuates, goes_on: together.goes_on.or_else(|| itself.goes_on()), is_unsaid }
    };
    let together_by = |number: usize, is_blend: bool| {
        let blend = blend.filter(|_| is_blend && number >= counted);
        blend.and_then(|blend| blend.attenuates.as_deref().copied())
    };
    let mut now = reach(&together, None);
    for (number, pitch) in batch.pitches.iter().enumerate() {
        let until = (number > 0).then_some(now);
        yeasts(strains, pitch).for_each(|yeast| together.take(yeast));
        is_blend &= number < counted || is_of_blend(pitch);
        now = reach(&together, together_by(number + 1, is_blend));
        if let Some(until) = until.filter(|until| *until != now) {
            before.push((pitch.at, pitch.place, until));
        }
    }
    (now, before)
}

/// Adds the pitches after which a beer may end elsewhere: of what goes further than all before, and than a sample showed.
fn turn(strains: &Strains, batch: &Batch, own: &Traits, out: &mut FermentationFigures) {
    let mut together = Together::default();
    together.take(own);
    for (number, pitch) in batch.pitches.iter().enumerate() {
        let before = together;
        yeasts(strains, pitch).for_each(|yeast| together.take(yeast));
        let by = out.forced.partition_point(|forced| (forced.at, forced.place) < (pitch.at, pitch.place));
        let goes_below = |most: f64| {
            let sample = by.checked_sub(1).and_then(|last| out.forced.get(last));
            let end = |given: &Given| end_of(given, given.attenuation(most));
            sample
                .is_none_or(|sample| out.given_by((sample.at, sample.place)).map(end) < Some(sample.gravity))
        };
        let further = together.most.filter(|_| own.attenuates.is_none() && together.most > before.most);
        if number > 0
            && (further.is_some_and(goes_below) || together.goes_on.is_some() && before.goes_on.is_none())
        {
            out.turns.push((pitch.at, pitch.place));
        }
    }
    out.turns.sort_unstable();
}

/// Whether it eats dextrins and nobody says how far it goes.
fn is_unsaid(yeast: &Traits) -> bool {
    (yeast.diastatic || yeast.organism == Some(Organism::Wild)) && yeast.attenuates.is_none()
}

/// When a third of the extract was gone, at the first reading that shows it.
pub(crate) fn third_gone(batch: &Batch) -> Option<Moment> {
    let wort = batch.wort?;
    let gone = |r: &&GravityReading| {
        alcohol::apparent_attenuation(wort.gravity, r.gravity).as_fraction() >= 1.0 / 3.0
    };
    batch.gravities.iter().find(gone).map(|r| r.at)
}

/// Where a wort ends by what its yeast is said to attenuate.
fn end_by_yeast(given: &Given, known: (f64, f64)) -> ExpectedEnd {
    end_at(given, known, EndFrom::Yeast(known.1, given.sugar.as_grams() > 0.0))
}

/// Where a wort ends that is attenuated so far, least and most.
fn end_at(given: &Given, (least, most): (f64, f64), from: EndFrom) -> ExpectedEnd {
    let attenuation = given.attenuation(most);
    let gravity = end_of(given, attenuation);
    let highest = end_of(given, given.attenuation(least)).as_specific();
    let range = (gravity.as_specific(), highest);
    ExpectedEnd { gravity, range, attenuation, from, place: None }
}

/// Apparent attenuation in the middle of what its yeast is said to reach, or yeast in general.
pub(crate) fn expected_attenuation(batch: &Batch) -> f64 {
    let [_, usual, _] = ATTENUATES;
    batch.traits.attenuates.map_or(usual.as_fraction(), |(low, high)| f64::midpoint(low, high))
}

/// How such a fermentation usually runs.
pub(crate) fn usual_course(batch: &Batch) -> barm_zymology::heat::Course {
    use barm_zymology::heat::Course;
    if batch.traits.organism == Some(Organism::Lager) { Course::LAGER } else { Course::ALE }
}

/// The figures of it that outputs list.
pub(crate) fn figures(batch: &Batch, out: &mut Vec<Figure>) {
    let (Some(found), Some(last)) = (&batch.fermentation, batch.last_event) else { return };
    let Some(end) = found.expected(last) else { return };
    let place = end.place.unwrap_or(batch.place);
    out.push(end.figure().at(place));
}
