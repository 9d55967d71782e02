//! Whether the log shows that a beer has started.

use barm_quantity::Gravity;
use barm_syntax::ast::{Kind, Krausen, Organism, Statement};

use super::ABOVE_WORT;
use crate::batch::{Batch, GravityReading, Wort};
use crate::context::Context;
use crate::heat::{self, SetPoint};
use crate::names::LotKind;
use crate::timeline::{self, Shelved};
use crate::{Moment, Place, Settings};

/// Hours after pitching without a sign of work; twice as long in the cold (judgement: half of that is usual).
const SHOWS_WORK_HOURS: f64 = 24.0;
/// Below this, °C, everything takes twice as long.
pub const SLOW_BELOW: f64 = 13.0;
/// A fermenter is set no longer before its yeast goes in, h (judgement).
const SET_BEFORE_HOURS: f64 = 48.0;
/// A logger that tells within so many hours of the pitch is compared with what it read then (judgement: half a usual lag).
const OWN_FIRST_HOURS: f64 = 6.0;
/// Of more lines than anybody writes between a pitch and the one that is to save it the rest is not looked at.
const MOST_LINES: usize = 64;

/// A sign that nothing works yet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Idle {
    /// When.
    pub at: Moment,
    /// Hours after the first pitch, at the least.
    pub hours: f64,
    /// The statement.
    pub place: Place,
    /// `krausen none`; else a gravity as it was.
    pub krausen: bool,
}

/// Foam that somebody saw or missed: when, where, how far off that may be, and how much of it.
type Foam = (Moment, Place, f64, Krausen);

/// What some lines say of foam.
pub(crate) fn foam<'a, 'b: 'a>(
    lines: impl Iterator<Item = (Moment, &'a Shelved<'b>, &'b Statement)>,
) -> impl Iterator<Item = Foam> {
    lines.filter_map(|(at, shelved, statement)| match &statement.kind {
        Kind::Krausen(krausen) => {
            let hours_either_way = timeline::hours_either_way(shelved, statement);
            Some((at, shelved.place(statement.span), hours_either_way, *krausen))
        }
        _ => None,
    })
}

/// The first sign of work, and of none before it.
#[derive(Default)]
pub(super) struct Signs {
    /// Signs of none, in order of time.
    pub idle: Vec<Idle>,
    /// The first of work.
    pub began: Option<(Moment, Place)>,
}

impl Signs {
    /// `had`: the gravity that the beer would have at a reading, had nothing fermented; `None` where that is not known, or where
    /// the reading is a slip of the pen.
    pub(super) fn of<'b>(
        foam: impl Iterator<Item = Foam>,
        gravities: impl Iterator<Item = &'b GravityReading>,
        wort: Option<&Wort>,
        pitched: Moment,
        had: impl Fn(&GravityReading, &Wort) -> Option<Gravity>,
    ) -> Self {
        let foam = foam.map(|(at, place, hours, krausen)| (at, place, hours, Err(krausen)));
        let gravities = gravities.map(|read| (read.at, read.place, read.hours_either_way, Ok(read)));
        let mut signs: Vec<_> = foam.chain(gravities).filter(|(at, ..)| *at >= pitched).collect();
        signs.sort_by_key(|(at, place, ..)| (*at, *place));
        let mut out = Self::default();
        // What each logger showed more than there was when the yeast had hardly gone in: it hangs askew, or foam holds it.
        let mut askew: Vec<(Place, f64)> = Vec::new();
        for (at, place, hours_either_way, sign) in signs {
            let works = match sign {
                Err(krausen) => krausen != Krausen::None,
                Ok(read) => {
                    let Some((had, wort)) = wort.and_then(|wort| Some((had(read, wort)?, wort))) else {
                        continue;
                    };
                    let mut fall = had.as_specific() - read.gravity.as_specific();
                    let error = wort.gravity_error + read.error + 1e-9;
                    if read.logged {
                        let own = askew.iter().find(|(of, _)| *of == place).map(|(_, more)| *more);
                        if own.is_none() && at.hours_since(pitched) <= OWN_FIRST_HOURS {
                            askew.push((place, (-fall).max(0.0)));
                        }
                        fall += own.unwrap_or_default();
                        // One that reads more than there was tells nothing.
                        if -fall > error {
                            continue;
                        }
                    }
                    fall > error
                }
            };
            if works {
                // Of one moment the sign that it works counts, whichever is written first.
                out.idle.retain(|idle| idle.at < at);
                out.began = Some((at, place));
                return out;
            }
            let hours = at.hours_since(pitched) - hours_either_way;
            out.idle.push(Idle { at, hours, place, krausen: sign.is_err() });
        }
        out
    }
}

/// Within how many hours of its pitch a beer should show that it works, by how warm it is when somebody looks, °C.
#[must_use]
pub fn shows_work_within(settings: &Settings, celsius: Option<f64>) -> f64 {
    let limit = settings.limit("slow-start", SHOWS_WORK_HOURS);
    if celsius.is_some_and(|celsius| celsius < SLOW_BELOW) { 2.0 * limit } else { limit }
}

/// Before when yeast went into a brew that should have shown by a line that it works, where somebody looked and nothing had.
pub(crate) fn no_work_since(context: &Context<'_>, batch: &Batch, by: (Moment, Place)) -> Option<Moment> {
    let is_wild = matches!(batch.traits.organism, Some(Organism::Wild | Organism::Bacteria));
    let pitched = batch.pitched_at().filter(|_| batch.kind == LotKind::Brew && !is_wild)?;
    let lines_since = |at| context.events_from(batch.lot, at).take(MOST_LINES);
    let from = batch.gravities.partition_point(|read| read.at < pitched);
    let gravities = batch.gravities.iter().skip(from).take(MOST_LINES);
    let signs =
        Signs::of(foam(lines_since(pitched)), gravities, batch.wort.as_ref(), pitched, |read, wort| {
            let above = read.gravity.as_specific() - wort.gravity.as_specific();
            (above <= ABOVE_WORT + wort.gravity_error + read.error).then_some(wort.gravity)
        });
    let last = signs.idle.iter().rfind(|idle| (idle.at, idle.place) < by)?;
    let has_begun = signs.began.is_some_and(|began| began <= by);
    let set: Vec<SetPoint> =
        heat::set_points(batch, lines_since(pitched.plus_hours(-SET_BEFORE_HOURS))).collect();
    let late = last.hours - shows_work_within(context.settings, batch.celsius_with(&set, last.at));
    (late > 0.0 && !has_begun).then(|| pitched.plus_hours(late))
}
