//! What the lines of a batch show besides its figures: its krausen, how well it was kept, whether it was ever pitched.

use std::collections::BTreeMap;
use std::sync::Arc;

use barm_syntax::ast::{Kind, Krausen, Measured};

use crate::additions;
use crate::batch::Batch;
use crate::context::Context;
use crate::fermentation::is_cold;
use crate::{Moment, Place};

/// A reading so near to the pitch belongs to it, in hours.
const NEAR_THE_PITCH: f64 = 12.0;

/// What the lines of a batch show besides.
#[derive(Debug, Clone, Default)]
pub struct Record {
    /// How high the krausen stood, in order of time.
    pub krausens: Vec<(Moment, Krausen, Place)>,
    /// When it was last put into the cold.
    pub chilled: Option<Moment>,
    /// The pitching day was well kept: the hour of the pitch is written, and the wort's temperature not long before it.
    pub day_kept: bool,
    /// Oxygen was given or read.
    pub aerated: bool,
    /// The last time that it was aerated before a boil drove that out, where it was not aerated since.
    pub boiled_out: Option<Place>,
    /// A brew that nobody wrote any yeast of.
    pub unpitched: Option<Box<Unpitched>>,
    /// When something was added that holds yeast back: sorbate or sulphite.
    pub stabilised: Option<Moment>,
    /// Other yeast that was added beside what was pitched, by its name alone, and where that stands: `1 sachet wine yeast`.
    pub other_yeast: Option<Box<(Moment, Arc<str>, Place)>>,
    /// Bitterness, IBU, as `hops` states it.
    pub bitterness: Option<Box<(f64, Place)>>,
    /// Where it is called infected.
    pub infected: Option<Place>,
    /// A test failed that says something of the yeast's health or cleanness, or a verdict of `poor`: which, and where.
    pub unhealthy: Option<Box<(Arc<str>, Place)>>,
}

/// A brew with readings and no yeast.
#[derive(Debug, Clone, Copy)]
pub struct Unpitched {
    /// Its first reading.
    pub first: Moment,
    /// Its last reading.
    pub last: Moment,
    /// Where that stands.
    pub place: Place,
}

/// Notes what the lines of a batch show.
pub(crate) fn reckon(context: &Context<'_>, batch: &mut Batch, infected: Option<Place>) {
    let mut record = Record { infected, ..Record::default() };
    let mut first = None;
    let mut last = None;
    let mut aerated = None;
    let mut yeast_or_gone = batch.taken.is_some();
    let mut failed: BTreeMap<String, Place> = BTreeMap::new();
    for (at, shelved, statement) in context.events_of_beer(batch.lot) {
        let place = shelved.place(statement.span);
        match &statement.kind {
            Kind::Krausen(height) => {
                record.krausens.push((at, *height, place));
                first.get_or_insert(at);
                last = Some((at, place));
            }
            Kind::Reading(reading) if reading.what != Measured::Ambient => {
                record.aerated |= reading.what == Measured::Oxygen;
                first.get_or_insert(at);
                last = Some((at, place));
            }
            Kind::Kept(kept) if kept.lot.is_none() && is_cold(kept.temperature.measure.base()) => {
                record.chilled = Some(at);
            }
            Kind::Crash(_) => record.chilled = Some(at),
            Kind::Aerate(_) => {
                aerated = Some(place);
                record.aerated = true;
                record.boiled_out = None;
            }
            Kind::Boil(_) => record.boiled_out = aerated.take().or(record.boiled_out),
            Kind::Pitch(_) | Kind::Dump(_) => yeast_or_gone = true,
            Kind::Add(add) => {
                yeast_or_gone |= context.names.lot(&add.what.text).is_some();
                let what = &add.what.text;
                let is_in_beer = batch.is_pitched_by(at, place);
                if is_in_beer && additions::is_live_yeast(what) && context.names.lot(what).is_none() {
                    record.other_yeast.get_or_insert_with(|| Box::new((at, Arc::from(&**what), place)));
                }
                // Of the water before its yeast it takes the chlorine.
                if is_in_beer && additions::holds_yeast_back(what) {
                    record.stabilised.get_or_insert(at);
                }
            }
            Kind::Test(test) if !says_nothing_of_yeast(&test.what.text) => match test.passed {
                Some(false) => {
                    failed.entry(test.what.text.to_lowercase()).or_insert(place);
                }
                Some(true) => {
                    failed.remove(&test.what.text.to_lowercase());
                }
                None => {}
            },
            _ => {}
        }
    }
    record.krausens.shrink_to_fit();
    record.unhealthy = failed
        .into_iter()
        .next()
        .map(|(test, place)| Box::new((Arc::from(format!("a failed `{test}`")), place)));
    // A logger reads by itself.
    let mut logged: Vec<Place> = Vec::new();
    for shelved in context.blocks(batch.lot) {
        for statement in &shelved.block.statements {
            match &statement.kind {
                Kind::Readings(readings) => logged.push(shelved.place(readings.file.span)),
                Kind::Hops(q) => {
                    record.bitterness = Some(Box::new((q.measure.base(), shelved.place(statement.span))));
                }
                Kind::Taste(words) => {
                    let poor = words.iter().map(|span| shelved.place(*span)).find(|place| {
                        let source = context.sources.get(place.file.0 as usize);
                        source.is_some_and(|s| place.span.text(&s.text).trim().eq_ignore_ascii_case("poor"))
                    });
                    let said = poor.map(|place| Box::new((Arc::from("a verdict of `poor`"), place)));
                    record.unhealthy = record.unhealthy.or(said);
                }
                _ => {}
            }
        }
    }
    if let (Some(first), Some((last, place)), false) = (first, last, yeast_or_gone) {
        record.unpitched = Some(Box::new(Unpitched { first, last, place }));
    }
    record.day_kept = batch.pitches.first().is_some_and(|pitch| {
        let before = |(at, _, place): &(Moment, f64, Place)| {
            *at < pitch.at && pitch.at.hours_since(*at) <= NEAR_THE_PITCH && !logged.contains(place)
        };
        pitch.hours_either_way < NEAR_THE_PITCH && batch.temperatures.iter().any(before)
    });
    batch.record = record;
}

/// Tests of the beer that a sound yeast fails as easily: it is not done yet, or the wort can go further.
fn says_nothing_of_yeast(test: &str) -> bool {
    ["vdk", "diacetyl", "forced"].iter().any(|known| test.eq_ignore_ascii_case(known))
}
