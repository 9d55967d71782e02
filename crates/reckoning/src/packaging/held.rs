//! The gas that beer holds: as read, or under a pressure.

use barm_quantity::{CarbonDioxide, Pressure, Temperature};
use barm_zymology::carbonation;
use barm_zymology::fermentation::UNREAD;

use crate::Moment;
use crate::batch::Batch;
use crate::fermentation::is_cold;

/// Beer that nobody shakes keeps its gas for so long after the pressure is let off, h (judgement).
const KEEPS_HOURS: f64 = 48.0;

/// And so long after a regulator or a valve was turned down, which lets next to none of it off, h (judgement).
const TURNED_DOWN_HOURS: f64 = 14.0 * 24.0;

/// Of more lines than anybody writes of it in that time the rest is not looked at.
const MOST_LINES: usize = 8;

/// So long after a `crash` beer is as cold as that says, h (judgement, as after a `set`).
const CHILLS_HOURS: f64 = 24.0;

/// In words, what a valve on beer that worked left in it.
pub(super) const VALVE: &str = "by its valve";

/// What says how much gas there is.
#[derive(Debug, Clone, Copy)]
enum Says {
    Read(CarbonDioxide),
    /// A gauge, at that moment.
    Gauge(Pressure),
    /// A regulator that holds the pressure: beer that is chilled under it takes up more.
    Set(Pressure),
    /// A valve on beer that works: it lets gas out and gives none, so that nothing is taken up in the cold.
    Valve(Pressure),
}

/// What the lines of a beer say of the gas in it.
#[derive(Debug, Default)]
pub(super) struct Held {
    says: Vec<(Moment, Says)>,
    /// What it, or its keg, is `kept` at, °C.
    kept: Vec<(Moment, f64)>,
}

impl Held {
    /// It was measured, whatever was said before.
    pub(super) fn is_read(&mut self, at: Moment, gas: CarbonDioxide) {
        self.says.clear();
        self.says.push((at, Says::Read(gas)));
    }

    pub(super) fn is_under(&mut self, at: Moment, pressure: Pressure) {
        self.says.push((at, Says::Gauge(pressure)));
    }

    /// `works`: the beer makes the gas itself.
    pub(super) fn is_set(&mut self, at: Moment, pressure: Pressure, works: bool) {
        self.says.push((at, if works { Says::Valve(pressure) } else { Says::Set(pressure) }));
    }

    pub(super) fn is_kept(&mut self, at: Moment, celsius: f64) {
        self.kept.push((at, celsius));
    }

    /// Since when it is kept too cold to work.
    pub(super) fn cold_from(&self) -> Option<Moment> {
        self.kept.iter().fold(None, |cold, (at, celsius)| cold.or(Some(*at)).filter(|_| is_cold(*celsius)))
    }

    /// Whether something is said of it from a moment on.
    pub(super) fn has_since(&self, at: Moment) -> bool {
        self.says.last().is_some_and(|(when, _)| *when >= at)
    }

    /// How much it holds at a moment, and what says so: the most that it held of late.
    pub(super) fn at(&self, batch: &Batch, at: Moment) -> Option<(CarbonDioxide, &'static str)> {
        let turned_down =
            |says: &Says| matches!(says, Says::Set(left) | Says::Valve(left) if left.as_bar() > 0.0);
        let is_turned_down = self.says.last().is_some_and(|(_, says)| turned_down(says));
        let keeps_from = at.plus_hours(if is_turned_down { -TURNED_DOWN_HOURS } else { -KEEPS_HOURS });
        let mut until = at;
        let mut most: Option<(CarbonDioxide, &'static str)> = None;
        for (from, says) in self.says.iter().rev().take(MOST_LINES) {
            if until < keeps_from {
                break;
            }
            let found = match *says {
                Says::Read(gas) => (gas, "as read"),
                Says::Gauge(pressure) => {
                    (under(pressure, self.celsius(batch, *from)), "by the pressure read")
                }
                Says::Set(pressure) => {
                    (under(pressure, self.coldest(batch, *from, until)), "by the pressure that was set")
                }
                Says::Valve(pressure) => (under(pressure, self.warm(batch, until)), VALVE),
            };
            if most.is_none_or(|(most, _)| found.0 > most) {
                most = Some(found);
            }
            until = *from;
        }
        most
    }

    /// How warm it was, °C: as last read, set or kept, unless it was chilled since.
    pub(super) fn celsius(&self, batch: &Batch, at: Moment) -> f64 {
        self.warmth(batch, at).last().map_or(UNREAD.as_celsius(), |(_, celsius)| *celsius)
    }

    /// How warm it was when it last worked, °C.
    fn warm(&self, batch: &Batch, at: Moment) -> f64 {
        let warmth = self.warmth(batch, at);
        let works = warmth.iter().rfind(|(_, celsius)| !is_cold(*celsius));
        works.or(warmth.last()).map_or(UNREAD.as_celsius(), |(_, celsius)| *celsius)
    }

    /// The coldest that it was between two moments, °C.
    fn coldest(&self, batch: &Batch, from: Moment, until: Moment) -> f64 {
        let warmth = self.warmth(batch, until);
        let since = warmth.partition_point(|(at, _)| *at <= from).saturating_sub(1);
        let since = warmth.get(since..).unwrap_or_default().iter().map(|(_, celsius)| *celsius);
        since.reduce(f64::min).unwrap_or(UNREAD.as_celsius())
    }

    /// Its temperatures up to a moment, what a `crash` brought it to where nobody read that, and what its keg is kept at.
    fn warmth(&self, batch: &Batch, at: Moment) -> Vec<(Moment, f64)> {
        let mut warmth = batch.taken_temperatures(at);
        let crashed = batch.worked().and_then(|found| found.crashed.as_deref());
        if let Some((crashed, Some(celsius), _)) = crashed {
            let chilled = crashed.plus_hours(CHILLS_HOURS);
            if chilled <= at && warmth.last().is_none_or(|(last, _)| last <= crashed) {
                warmth.push((chilled, *celsius));
            }
        }
        // What was read as it was put away, it was before that.
        warmth.extend(self.kept.iter().filter(|(from, _)| *from <= at));
        warmth.sort_by_key(|(at, _)| *at);
        warmth
    }
}

/// What beer holds in balance with a pressure.
pub(super) fn under(pressure: Pressure, celsius: f64) -> CarbonDioxide {
    carbonation::at_pressure(pressure, Temperature::celsius(celsius))
}
