//! A logger's readings among those of the log.

use std::borrow::Cow;

use barm_quantity::{Gravity, Measure, Unit};
use barm_syntax::ast::{Kind, Measured, Readings, Statement};

use super::{BadRows, Logged, LoggerFile};
use crate::acidity::Acidity;
use crate::batch::{Batch, GravityReading};
use crate::context::Context;
use crate::degrees;
use crate::fault::Fault;
use crate::timeline::Shelved;
use crate::wort::StillWort;
use crate::{Moment, Place, volumes};

/// So near to a reading by hand, in hours, a logger's own does not count.
const BY_HAND: f64 = 0.5;
/// Its gravities are averages of half days: one by hand stands for as long.
const AVERAGED: f64 = 12.0;
/// From this on, in bar, somebody has closed the vessel (judgement).
const PUT_ON: f64 = 0.2;
/// A floating hydrometer, give or take, in specific gravity (judgement).
const FLOATING: f64 = 0.002;

/// Adds what a `readings` line names to the readings by hand, which win; its pH is returned.
pub(crate) fn merge(
    context: &Context<'_>,
    batch: &mut Batch,
    (shelved, readings): (&Shelved<'_>, &Readings),
    still_wort: StillWort,
    faults: &mut Vec<Fault>,
) -> Vec<Acidity> {
    let Some(source) = context.sources.get(shelved.id.file.0 as usize) else { return Vec::new() };
    let place = shelved.place(readings.file.span);
    let logged = match context.loggers.get(&LoggerFile::of(&source.path, readings)) {
        Some(Ok(logged)) => logged,
        Some(Err(why)) => {
            faults.push(Fault::Unread { place, why: why.clone() });
            return Vec::new();
        }
        None => return Vec::new(),
    };
    // What a logger reads when all of the beer is packaged is rinse water, or the next brew.
    let until = context.until.into_iter().chain(volumes::emptied(context, batch)).min();
    let is_of_beer = |problem: &&BadRows| until.zip(problem.by).is_none_or(|(until, by)| by <= until);
    for problem in logged.problems.iter().filter(is_of_beer) {
        faults.push(Fault::BadRows { place, file: readings.file.text.to_string(), rows: problem.clone() });
    }
    let of_beer = plausible(logged, until, still_wort, (place, &readings.file.text), faults);
    for (all, logged) in [(&mut batch.temperatures, &of_beer[..]), (&mut batch.air, &logged.air)] {
        let by_hand: Vec<Moment> = all.iter().map(|(at, ..)| *at).collect();
        all.extend(counted(until, logged, &by_hand, BY_HAND).map(|(at, value)| (at, value, place)));
        all.sort_by_key(|(at, _, place)| (*at, *place));
    }
    let by_hand: Vec<Moment> = context
        .events(batch.lot)
        .filter(|(.., statement)| reads(statement, Measured::Pressure))
        .map(|(at, ..)| at)
        .collect();
    batch
        .pressures
        .extend(counted(until, &logged.pressures, &by_hand, BY_HAND).skip_while(|(_, bar)| *bar < PUT_ON));
    batch.pressures.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    if !batch.pressures.is_empty() {
        batch.logged_pressure = Some(place);
    }
    let by_hand: Vec<Moment> = batch.gravities.iter().map(|reading| reading.at).collect();
    let error = context.settings.hydrometer_error.max(FLOATING);
    let gravities =
        counted(until, &logged.gravities, &by_hand, AVERAGED).filter(|(at, _)| !still_wort.at(*at));
    batch.gravities.extend(gravities.map(|(at, value)| GravityReading {
        at,
        gravity: Gravity::specific(value),
        error,
        refractometer: false,
        logged: true,
        hours_either_way: 0.0,
        place,
    }));
    batch.gravities.sort_by_key(|reading| (reading.at, reading.place));
    let by_hand: Vec<Moment> = context
        .events(batch.lot)
        .filter(|(.., statement)| reads(statement, Measured::Acidity))
        .map(|(at, ..)| at)
        .collect();
    counted(until, &logged.acidities, &by_hand, BY_HAND)
        .map(|(at, ph)| Acidity { lot: batch.lot, at, ph, error: 0.0, place })
        .collect()
}

fn reads(statement: &Statement, what: Measured) -> bool {
    matches!(&statement.kind, Kind::Reading(reading) if reading.what == what)
}

/// The temperatures that beer can have, as long as it is there. Of one that no beer has: what a loose probe read is left out, and
/// where all are so once the yeast is in, the file's scale is the other one.
fn plausible<'a>(
    logged: &'a Logged,
    until: Option<Moment>,
    still_wort: StillWort,
    (place, file): (Place, &str),
    faults: &mut Vec<Fault>,
) -> Cow<'a, [(Moment, f64)]> {
    let all = &logged.temperatures;
    let there = until.map_or(all.len(), |until| all.partition_point(|(at, _)| *at <= until));
    let temperatures = all.get(..there).unwrap_or_default();
    let unit = logged.scale.unwrap_or(Unit::Celsius);
    let written = |celsius: f64| Measure::new((unit.from_base(celsius) * 10.0).round() / 10.0, unit);
    let odd = |(at, celsius): &(Moment, f64)| {
        (!still_wort.at(*at))
            .then(|| degrees::of_beer(&written(*celsius)).map(|meant| (*at, *celsius, meant)))
            .flatten()
    };
    let Some((at, celsius, (likely, why))) = temperatures.iter().find_map(odd) else {
        return Cow::Borrowed(temperatures);
    };
    let all = temperatures.iter().filter(|(at, _)| !still_wort.at(*at)).all(|read| odd(read).is_some());
    let likely = all.then_some(likely);
    faults.push(Fault::NoBeer { place, file: file.to_owned(), at, written: written(celsius), likely, why });
    Cow::Owned(match likely {
        Some(likely) => {
            let meant = |celsius: f64| likely.unit.to_base(unit.from_base(celsius));
            temperatures.iter().map(|(at, celsius)| (*at, meant(*celsius))).collect()
        }
        None => temperatures.iter().copied().filter(|read| odd(read).is_none()).collect(),
    })
}

/// The readings that count: none later than what is looked at, none within so many hours of one by hand.
fn counted<'a>(
    until: Option<Moment>,
    logged: &'a [(Moment, f64)],
    by_hand: &'a [Moment],
    hours: f64,
) -> impl Iterator<Item = (Moment, f64)> + 'a {
    logged.iter().copied().filter(move |(at, _)| {
        let next = by_hand.partition_point(|hand| hand < at);
        let near = |index: Option<usize>| {
            let hand: Option<&Moment> = index.and_then(|index| by_hand.get(index));
            hand.is_some_and(|hand| hand.hours_since(*at).abs() <= hours)
        };
        until.is_none_or(|until| *at <= until) && !near(Some(next)) && !near(next.checked_sub(1))
    })
}
