//! Whether the log shows that a beer has stopped.

use barm_quantity::Span;
use barm_syntax::ast::Organism;
use barm_zymology::fermentation::{ATTENUATES, RESTS, SAME, STANDS, STILL, STUCK, WORKED_OUT, tells_for};

use super::{EndFrom, ExpectedEnd, FermentationFigures};
use crate::batch::{Batch, GravityReading};
use crate::{Moment, Place};

/// Yeast that goes into beer shows nothing for so long: what is read by then is where it begins, h (judgement).
const LAGS_HOURS: f64 = 12.0;
/// What was where its yeast takes it is done so long after, if nobody chilled it (judgement).
const SETTLES: Span = Span::days(7.0);

/// A reading without a time may lie this much earlier or later.
const UNTIMED_HOURS: f64 = 12.0;

/// Whether the log shows that a beer has stopped.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shown {
    /// Two readings far enough apart agree.
    Still {
        /// The earlier.
        first: Place,
        /// The later.
        last: Place,
        /// How many points of attenuation it stands still below the low end of its yeast, where that is five or more:
        /// stuck, and not finished.
        stuck: Option<f64>,
    },
    /// One reading inside the attenuation of its yeast, long enough after pitching, or long enough before it was asked.
    Settled {
        /// The reading.
        reading: Place,
        /// Days after pitching.
        days: f64,
    },
    /// It does not.
    Not,
}

/// A beer that was last read falling: wherever it ends, it was not there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Falls {
    /// By so much, in specific gravity.
    pub by: f64,
    /// In so many hours.
    pub hours: f64,
    /// The reading that it fell from.
    pub from: Place,
    /// The last.
    pub to: Place,
}

impl Falls {
    /// By so much in a day, in specific gravity.
    #[must_use]
    pub fn a_day(&self) -> f64 {
        self.by * 24.0 / self.hours.max(A_DAY_HOURS)
    }
}

/// Readings further apart, d, tell nothing of how fast a beer falls (judgement).
const NEAR_DAYS: f64 = 5.0;
/// What falls by less in a day than a hydrometer is read to may be done, in specific gravity (judgement).
const FALLS_A_DAY: f64 = STILL.as_specific();

/// So far beyond the most that yeast is said to attenuate is no error of reading, as a fraction (judgement).
const BEYOND: f64 = 0.04;
/// So far beyond that one reading alone tells that something takes it there, as a fraction (judgement).
const FAR_BEYOND: f64 = 0.1;

impl FermentationFigures {
    /// Whether what goes on where others end, and is known to go so far, was for a month where it may end.
    pub(crate) fn rests(&self, batch: &Batch, by: Moment, fed_by: Moment) -> bool {
        let is_known = self.goes_on.is_some() && self.goes_on_to().is_none();
        if !is_known || self.suspect.is_some() || self.cold.is_some() {
            return false;
        }
        let Shown::Still { first, last, stuck: None } = self.shown_stable(batch, by, fed_by) else {
            return false;
        };
        let read = |place| batch.gravities.iter().find(|read| read.place == place);
        read(first).zip(read(last)).is_some_and(|(first, last)| {
            let most = self.attenuates.map(|(_, most)| most);
            let left = most.and_then(|most| self.below(last, most));
            last.at.since(first.at) >= RESTS && left.is_some_and(|left| left <= STUCK.as_fraction())
        })
    }

    /// Whether the readings up to a moment show that nothing ferments any more but what was given after `fed_by`, which
    /// is meant to.
    #[must_use]
    pub fn shown_stable(&self, batch: &Batch, by: Moment, fed_by: Moment) -> Shown {
        let turned = self.turns.iter().copied().rfind(|(at, _)| *at <= fed_by);
        let since = self.until_proven(self.read_since_fed(batch, by, fed_by), by);
        let Some(last) = since.last() else { return Shown::Not };
        let forced = self.expected(fed_by).filter(|end| end.from == EndFrom::Forced);
        let above = |end: &ExpectedEnd| last.gravity.as_specific() - end.gravity.as_specific();
        if forced.as_ref().is_some_and(|end| above(end) > SAME.as_specific() + 1e-9) {
            return Shown::Not;
        }
        let begun = batch.pitched_at().max(turned.map(|(at, _)| at));
        let days_to = |at: Moment| begun.map_or(0.0, |begun| at.hours_since(begun) / 24.0);
        let is_there =
            self.attenuates.is_some_and(|(low, _)| self.below(last, low).is_some_and(|below| below <= 0.0));
        let stands = |readings: &[GravityReading]| {
            stands_since(readings).map(|first| first.place).or_else(|| {
                // Two by hand are of one instrument, whatever a logger says between them.
                let by_hand: Vec<GravityReading> =
                    readings.iter().filter(|read| !read.logged).copied().collect();
                stands_since(&by_hand).map(|first| first.place)
            })
        };
        if let Some(first) = stands(since) {
            let stuck = self.stuck(last).filter(|_| forced.is_none());
            // Fresh yeast may wake what stood.
            let since_fresh = self.fresh_by(fed_by).and_then(|(fresh, _)| {
                let works_from = fresh.plus_hours(LAGS_HOURS);
                since.get(since.partition_point(|read| read.at < works_from)..)
            });
            if stuck.is_some() && since_fresh.is_some_and(|since| stands(since).is_none()) {
                return Shown::Not;
            }
            // In the cold everything stands still: there it tells of a beer that had time to end, and is where such beers do.
            let cold = self.cold.filter(|cold| *cold <= by && forced.is_none());
            let stood = |cold: Moment| {
                let warm = since.get(..since.partition_point(|read| read.at <= cold)).unwrap_or_default();
                stands_since(warm).is_some()
            };
            let had_ended = |cold: Moment| days_to(cold) >= WORKED_OUT.as_days() && stuck.is_none();
            if cold.is_none_or(|cold| stood(cold) || had_ended(cold) || is_there) {
                return Shown::Still { first, last: last.place, stuck };
            }
        }
        // A reading of the tenth day is one, whatever its hour.
        let slack = last.hours_either_way.min(UNTIMED_HOURS) / 24.0;
        let days = days_to(last.at);
        let worked_until = self.cold.map_or(by, |cold| cold.min(by));
        let waited = worked_until.since(last.at) >= SETTLES && days_to(worked_until) >= WORKED_OUT.as_days();
        if is_there && (days + slack >= WORKED_OUT.as_days() || waited) {
            return Shown::Settled { reading: last.place, days };
        }
        Shown::Not
    }

    /// The readings without those of a beer that stood still before it was chilled and is only read higher since: it does not
    /// rise by itself.
    fn until_proven<'b>(&self, readings: &'b [GravityReading], by: Moment) -> &'b [GravityReading] {
        let Some(cold) = self.cold.filter(|cold| *cold <= by) else { return readings };
        let (warm, chilled) = readings.split_at(readings.partition_point(|read| read.at <= cold));
        let is_higher = |read: &GravityReading| {
            warm.last().is_some_and(|last| read.gravity.as_specific() > last.gravity.as_specific() - 1e-9)
        };
        if stands_since(warm).is_some() && chilled.iter().all(is_higher) { warm } else { readings }
    }

    /// The last line by a moment that brought more yeast.
    pub(crate) fn fresh_by(&self, by: Moment) -> Option<(Moment, Place)> {
        self.fresh.iter().copied().rfind(|(at, _)| *at <= by)
    }

    /// Whether it was last read falling, so shortly before a moment that it may not have ended by then. `fed_by`: see
    /// [`Self::shown_stable`].
    pub(crate) fn falls(&self, batch: &Batch, by: Moment, fed_by: Moment) -> Option<Falls> {
        let readings = self.read_since_fed(batch, by, fed_by);
        let (last, earlier) = readings.split_last()?;
        let is_one = |read: &&GravityReading| {
            (read.refractometer, read.logged) == (last.refractometer, last.logged)
                && last.at.hours_since(read.at) >= A_DAY_HOURS
        };
        let from = earlier.iter().rfind(is_one)?;
        // Water thins it, and nothing has fermented.
        let volume = |read: &GravityReading| self.given_by((read.at, read.place)).map(|given| given.volume);
        let (hours, fallen) =
            (last.at.hours_since(from.at), from.gravity.as_specific() - last.gravity.as_specific());
        let falls = Falls { by: fallen, hours, from: from.place, to: last.place };
        // A logger floats higher and lower from day to day.
        let least = if last.logged { SAME } else { STILL };
        let lager = batch.traits.organism == Some(Organism::Lager);
        let is_seen = fallen > least.as_specific() + 1e-9 && falls.a_day() >= FALLS_A_DAY - 1e-9;
        // Two readings weeks apart tell of no speed.
        let is_fresh = hours <= NEAR_DAYS * 24.0
            && by.since(last.at) <= tells_for(lager)
            && self.cold.is_none_or(|cold| cold > last.at);
        let is_forced = self.forced_at(by).is_some_and(|end| {
            last.gravity.as_specific() - end.gravity.as_specific() <= STILL.as_specific() + 1e-9
        });
        let may_fall = is_seen && is_fresh && !is_forced && volume(from) == volume(last);
        (may_fall && !matches!(self.shown_stable(batch, by, fed_by), Shown::Still { .. })).then_some(falls)
    }

    /// The readings up to a moment since the last line that fed it.
    fn read_since_fed<'b>(&self, batch: &'b Batch, by: Moment, fed_by: Moment) -> &'b [GravityReading] {
        let upto = batch.gravities.partition_point(|read| read.at <= by);
        let readings = batch.gravities.get(..upto).unwrap_or_default();
        let turned = self.turns.iter().copied().rfind(|(at, _)| *at <= fed_by);
        let fed = self.fed_last(batch, turned, fed_by);
        let is_before = |read: &GravityReading| fed.is_some_and(|fed| (read.at, Some(read.place)) < fed);
        readings.get(readings.partition_point(is_before)..).unwrap_or_default()
    }

    /// Whether it was last read below where its yeast ends, and falling or far below: something takes it further.
    pub(crate) fn goes_below_its_end(&self, batch: &Batch, by: Moment) -> bool {
        let upto = batch.gravities.partition_point(|read| read.at <= by);
        let readings = batch.gravities.get(..upto).unwrap_or_default();
        let (Some((last, earlier)), Some((_, most))) = (readings.split_last(), self.attenuates) else {
            return false;
        };
        let is_below = |beyond: f64| self.below(last, most + beyond).is_some_and(|below| below <= 0.0);
        let is_forced = self.forced_at(by).is_some_and(|forced| {
            forced.gravity.as_specific() <= last.gravity.as_specific() + SAME.as_specific() + 1e-9
        });
        if is_forced || !is_below(BEYOND) {
            return false;
        }
        let falls = earlier.split_last().is_some_and(|(before, earlier)| {
            // Two instruments differ by what they are, and a logger by where it floats.
            let is_one = |read: &GravityReading| (read.refractometer, read.logged);
            let fallen = before.gravity.as_specific() - last.gravity.as_specific();
            is_one(before) == is_one(last)
                && (fallen > SAME.as_specific() - 1e-9 || falls_on(earlier, before, last))
        });
        // What took it so far works slowly: two days without a fall are no proof.
        let rests = stands_since(readings).is_some_and(|first| last.at.since(first.at) >= RESTS);
        // An enzyme that has done its work took it there.
        falls || is_below(FAR_BEYOND) && !rests && self.enzymes.is_empty()
    }

    /// The last line by a moment that gave it something to ferment, or yeast that goes further: what was read before that shows
    /// nothing. `turned`: when that yeast came.
    fn fed_last(
        &self,
        batch: &Batch,
        turned: Option<(Moment, Place)>,
        by: Moment,
    ) -> Option<(Moment, Option<Place>)> {
        // Water, and what yeast leaves, feed nothing.
        let pairs = self.given.iter().zip(self.given.iter().skip(1));
        let grown = pairs.filter(|(before, now)| now.feeds_more_than(before));
        let mut given = grown.filter_map(|(_, given)| Some((given.from, Some(given.line?))));
        let is_yeast = |place| batch.pitches.iter().any(|pitch| pitch.place == place);
        let turn =
            turned.map(
                |(at, place)| {
                    if is_yeast(place) { (at.plus_hours(LAGS_HOURS), None) } else { (at, Some(place)) }
                },
            );
        given.rfind(|(at, _)| *at <= by).max(turn)
    }

    /// How far a reading lies below where malt wort that is attenuated so far would be, in attenuation; `None` where nobody knows
    /// all that it was given.
    fn below(&self, reading: &GravityReading, attenuates: f64) -> Option<f64> {
        self.below_known(reading, attenuates).filter(|_| self.extract_is_known(reading.at))
    }

    /// The same by what is known.
    fn below_known(&self, reading: &GravityReading, attenuates: f64) -> Option<f64> {
        let reached = self.attenuation(reading)?;
        Some(self.given_by((reading.at, reading.place))?.attenuation(attenuates) - reached)
    }

    /// How many points of attenuation what stands still at a reading has to go, where that is much.
    fn stuck(&self, last: &GravityReading) -> Option<f64> {
        let much = STUCK.as_fraction();
        let below = match self.attenuates {
            Some((low, _)) if self.extract_is_known(last.at) => {
                self.below(last, low).filter(|below| *below >= much)
            }
            // Fruit ferments too, and leaves little.
            Some((low, _)) => self.below_known(last, low).filter(|below| *below >= 2.0 * much),
            // Of yeast that nobody knows only what is far off.
            None if self.goes_on.is_some() => None,
            None => self.below(last, ATTENUATES[0].as_fraction()).filter(|below| *below >= 2.0 * much),
        };
        below.map(|below| below * 100.0)
    }
}

/// A fall is as steady as the one before it from this part of its speed on; what ends slows down (judgement).
const STEADY: f64 = 0.5;
/// A fall by less than this is none that a hydrometer shows, in specific gravity.
const NO_FALL: f64 = 0.0005;
/// Readings so much nearer to each other tell nothing of how fast a beer falls, h (judgement).
const A_DAY_HOURS: f64 = 20.0;

/// The earliest of readings since when it stands still, if it does: two of them agree, and it does not fall on.
pub(crate) fn stands_since(readings: &[GravityReading]) -> Option<&GravityReading> {
    let last = readings.last()?;
    let agree = agreeing(readings, SAME.as_specific());
    let before = readings.len() - agree.len();
    let stands = |(index, first): (usize, &GravityReading)| {
        let earlier = readings.get(..before + index).unwrap_or_default();
        lies_before(first, last, STANDS.as_hours()) && !falls_on(earlier, first, last)
    };
    agree.iter().enumerate().any(stands).then(|| agree.first()).flatten()
}

/// The earliest reading since when all agree with the last one, where it lies at least so long before it.
#[must_use]
pub fn still_since(readings: &[GravityReading], within: f64, hours: f64) -> Option<&GravityReading> {
    let first = agreeing(readings, within).first()?;
    lies_before(first, readings.last()?, hours).then_some(first)
}

/// The last readings that agree with the last one.
fn agreeing(readings: &[GravityReading], within: f64) -> &[GravityReading] {
    let Some(last) = readings.last() else { return &[] };
    // What still falls, however slowly, does not stand still.
    let fallen = within.min(STILL.as_specific());
    let differs = |read: &GravityReading| {
        let above = read.gravity.as_specific() - last.gravity.as_specific();
        !(-within - 1e-9..=fallen + 1e-9).contains(&above)
    };
    let first = readings.iter().rposition(differs).map_or(0, |other| other + 1);
    readings.get(first..).unwrap_or_default()
}

/// Whether a reading lies so long before another.
fn lies_before(first: &GravityReading, last: &GravityReading, hours: f64) -> bool {
    let slack = first.hours_either_way.max(last.hours_either_way).min(UNTIMED_HOURS);
    last.at.hours_since(first.at) >= hours - slack
}

/// Whether a beer falls from one reading to the last about as fast as it fell to that one: a point every other day is a beer
/// that works, whichever two of its readings agree.
fn falls_on(earlier: &[GravityReading], first: &GravityReading, last: &GravityReading) -> bool {
    let fall =
        |from: &GravityReading, to: &GravityReading| from.gravity.as_specific() - to.gravity.as_specific();
    let a_day = |from: &GravityReading, to: &GravityReading| {
        fall(from, to) * 24.0 / to.at.hours_since(from.at).max(A_DAY_HOURS)
    };
    let before = earlier.iter().rfind(|read| first.at.hours_since(read.at) >= A_DAY_HOURS);
    fall(first, last) > NO_FALL
        && before.is_some_and(|before| {
            fall(before, first) > NO_FALL && a_day(first, last) >= STEADY * a_day(before, first)
        })
}
