//! When half of what ferments of a beer is gone.

use barm_syntax::ast::{Kind, Krausen};
use barm_zymology::alcohol;

use crate::Moment;
use crate::batch::Batch;
use crate::context::Context;
use crate::fermentation::{expected_attenuation, usual_course};

/// When half of the expected extract is gone, counted from a pitch, and whether that was read or only expected.
///
/// It is read where a gravity had fallen before the one that shows more than half gone. Where that one is the first that
/// tells anything, as at the end of most beers, it went as such a beer usually goes (judgement), as far as its krausen and
/// its gravities agree.
pub(crate) fn gone(context: &Context<'_>, batch: &Batch, start: Moment) -> (Moment, bool) {
    let (half, is_read) = by_gravities(batch, start);
    let wort = batch.wort.map_or(0.0, |wort| wort.gravity.as_specific() - wort.gravity_error);
    let fell = |read: &&crate::GravityReading| read.gravity.as_specific() + read.error < wort;
    let first = batch.gravities.iter().find(fell).map(|read| read.at);
    if is_read && first.is_none_or(|first| first <= half) {
        return (half, true);
    }
    let usual = usual_course(batch).half.as_hours();
    let (mut earliest, mut latest) = (start, first.unwrap_or(Moment::LAST));
    for (at, _, statement) in context.course(batch.lot).filter(|(at, ..)| *at >= start) {
        match statement.kind {
            // It is yet to begin: half of the usual time is left at the least.
            Kind::Krausen(Krausen::None) => earliest = earliest.max(at.plus_hours(usual / 2.0)),
            Kind::Krausen(Krausen::Rising) => earliest = earliest.max(at),
            Kind::Krausen(Krausen::Fallen) => latest = latest.min(at),
            _ => {}
        }
    }
    (start.plus_hours(usual).max(earliest).min(latest), false)
}

/// When a beer was first read where its yeast takes it: its flavour is made by then.
pub(crate) fn done(batch: &Batch) -> Option<Moment> {
    let (least, _) = batch.traits.attenuates?;
    let wort = batch.wort?.gravity;
    let is_there = |gravity| alcohol::apparent_attenuation(wort, gravity).as_fraction() >= least;
    batch.gravities.iter().find(|read| is_there(read.gravity)).map(|read| read.at)
}

/// When half of the expected extract is gone: by the gravities read, else as such a beer usually goes (judgement).
fn by_gravities(batch: &Batch, start: Moment) -> (Moment, bool) {
    let usual = usual_course(batch).half.as_hours();
    if let Some(wort) = &batch.wort {
        let expected = expected_attenuation(batch);
        let mut before = (start, 0.0);
        for reading in &batch.gravities {
            let now = alcohol::apparent_attenuation(wort.gravity, reading.gravity).as_fraction();
            if now >= expected / 2.0 {
                let rise = now - before.1;
                let part = if rise > 0.0 { (expected / 2.0 - before.1) / rise } else { 1.0 };
                let span: f64 = reading.at.hours_since(before.0);
                return (before.0.plus_hours(span * part.clamp(0.0, 1.0)), true);
            }
            before = (reading.at, now);
        }
        if let Some(last) = batch.gravities.last() {
            // Not yet there at the last reading: nothing later is judged as late.
            return (last.at.max(start.plus_hours(usual)), true);
        }
    }
    (start.plus_hours(usual), false)
}
