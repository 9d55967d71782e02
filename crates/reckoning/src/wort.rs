//! The wort that the yeast went into, and the gravities read after it.

use barm_quantity::{Dimension, Extract, Gravity, Mass, Measure, Plato, Temperature, Unit, Volume};
use barm_syntax::ast::{Add, Kind, Measured, Reading};
use barm_zymology::fermentation::SAME;
use barm_zymology::{gravity, refractometer};

use crate::additions::{self, Addition};
use crate::batch::{GravityReading, Wort};
use crate::context::Context;
use crate::names::LotId;
use crate::timeline::Shelved;
use crate::{Moment, Place};

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

/// A `gravity` or `brix` reading, corrected. `brix` after pitching needs the reading before it.
pub(crate) fn read_gravity(
    context: &Context<'_>,
    reading: &Reading,
    at: Moment,
    place: Place,
    original: Option<&Wort>,
) -> Option<GravityReading> {
    let settings = context.settings;
    let measure = &reading.measure();
    match reading.what {
        Measured::Gravity => {
            let read = as_gravity(measure);
            let gravity = match reading.at() {
                None => read,
                Some(sample) => {
                    let sample = Temperature::celsius(sample.measure.base());
                    gravity::corrected(read, sample, settings.hydrometer_calibrated).ok()?
                }
            };
            let error = gravity_error(measure, settings.hydrometer_error);
            Some(GravityReading { at, gravity, error, refractometer: false, hours_either_way: 0.0, place })
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
            Some(GravityReading { at, gravity, error, refractometer: true, hours_either_way: 0.0, place })
        }
        _ => None,
    }
}

/// The wort of a block at a moment (its first pitch, or the end of its facts), or why it is not known.
pub(crate) fn at_pitching(
    context: &Context<'_>,
    lot: LotId,
    shelved: &Shelved<'_>,
    pitched: Option<Moment>,
    depth: u8,
) -> Result<Wort, String> {
    let mut wort = stated(context, shelved, depth)?;
    for (at, shelved, statement) in context.events(lot) {
        if pitched.is_some_and(|pitched| at > pitched) {
            break;
        }
        let place = shelved.place(statement.span);
        match &statement.kind {
            // An earlier pitch was boiled away: the wort goes on to the one that counts.
            kind if context.brings_yeast(kind) && pitched.is_none_or(|pitched| at >= pitched) => break,
            Kind::Reading(reading) if reading.what == Measured::Volume => {
                wort.volume = Volume::litres(reading.measure().base());
                wort.volume_error = Volume::litres(reading.measure().error_base());
                wort.place = place;
            }
            Kind::Reading(reading) => {
                if let Some(read) = read_gravity(context, reading, at, place, None) {
                    wort.gravity = read.gravity;
                    wort.gravity_error = read.error;
                    wort.strength = gravity::plato(read.gravity);
                    wort.place = place;
                    wort.measured = true;
                }
            }
            Kind::Add(add) => {
                let gravity = added_gravity(add);
                if let Some(amount) = additions::measured(add.amount.kind, wort.volume) {
                    blended(&mut wort, &amount, Addition::read(&add.what.text), gravity);
                }
            }
            _ => {}
        }
    }
    Ok(wort)
}

/// The brew that a batch has its wort from.
pub(crate) fn parted_from(context: &Context<'_>, lot: LotId) -> Option<LotId> {
    context.home(lot)?.block.statements.iter().find_map(|statement| match &statement.kind {
        Kind::WortOf(of) => context.names.lot(&of.brew.text),
        _ => None,
    })
}

/// What the `wort` line says.
fn stated(context: &Context<'_>, shelved: &Shelved<'_>, depth: u8) -> Result<Wort, String> {
    let default_error = context.settings.hydrometer_error;
    for statement in &shelved.block.statements {
        let place = shelved.place(statement.span);
        match &statement.kind {
            Kind::Wort(wort) => {
                let (Some(volume), Some(strength)) = (wort.volume.known(), wort.gravity.known()) else {
                    return Err("the `wort` line asks".to_owned());
                };
                let gravity = as_gravity(&strength.measure);
                return Ok(Wort {
                    volume: Volume::litres(volume.measure.base()),
                    volume_error: Volume::litres(volume.measure.error_base()),
                    gravity,
                    gravity_error: gravity_error(&strength.measure, default_error),
                    strength: gravity::plato(gravity),
                    place,
                    measured: false,
                });
            }
            Kind::WortOf(of) => {
                let other = context.names.lot(&of.brew.text).ok_or("the brew of its wort is not known")?;
                if depth > 16 {
                    return Err("its wort comes from itself".to_owned());
                }
                let block = context.home(other).ok_or("the brew of its wort is not known")?;
                let parent = stated(context, block, depth + 1)?;
                return Ok(Wort {
                    volume: Volume::litres(of.volume.measure.base()),
                    volume_error: Volume::litres(of.volume.measure.error_base()),
                    place,
                    ..parent
                });
            }
            _ => {}
        }
    }
    Err("no `wort`".to_owned())
}

/// Mixes an addition into a wort: volumes and extract add.
pub(crate) fn blended(wort: &mut Wort, amount: &Measure, what: Addition, gravity: Option<Gravity>) {
    let litres = wort.volume.as_litres();
    let grams = |strength: Plato, litres: f64| gravity::extract(strength).as_grams_per_litre() * litres;
    let (added_litres, added_extract) = match (what, amount.dimension()) {
        (Addition::Water, Dimension::Volume) => (amount.base(), 0.0),
        (Addition::Wort, Dimension::Volume) => match gravity {
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
