//! Questions at packaging and in the kettle: sugar for a carbonation, water for a gravity.

use barm_quantity::{CarbonDioxide, Dimension, Mass, Temperature, Volume, plain};
use barm_syntax::ast::{AmountKind, Kind, Package};
use barm_zymology::carbonation::{self, Sugar};
use barm_zymology::gravity;

use crate::additions::Addition;
use crate::answer::Answer;
use crate::batch::Batch;
use crate::context::Context;
use crate::{Moment, Place, wort};

/// Answers the questions of a batch's `bottle`, `keg`, `cask` and `add` lines.
pub(crate) fn answer(context: &Context<'_>, batch: &Batch, answers: &mut Vec<Answer>) {
    for (at, shelved, statement) in context.events(batch.lot) {
        match &statement.kind {
            Kind::Package(package) => {
                for priming in package.with.iter().filter(|p| p.amount.kind == AmountKind::Asked) {
                    let place = shelved.place(priming.amount.span);
                    answers.push(sugar(batch, package, &priming.what.text, place, at));
                }
            }
            Kind::Add(add) if add.amount.kind == AmountKind::Asked => {
                let place = shelved.place(add.amount.span);
                let wanted = add.for_gravity.map(|q| wort::as_gravity(&q.measure));
                answers.push(water(context, batch, &add.what.text, wanted, place, at));
            }
            _ => {}
        }
    }
}

fn unanswered(batch: &Batch, place: Place, text: String) -> Answer {
    Answer { place, lot: batch.lot, text, edit: None, notes: Vec::new(), figures: Vec::new() }
}

fn sugar(batch: &Batch, package: &Package, what: &str, place: Place, at: Moment) -> Answer {
    let Addition::Sugar(sugar) = Addition::read(what) else {
        return unanswered(
            batch,
            place,
            format!("what {what} ferments to is not known: name a sugar, as `sucrose`"),
        );
    };
    let Some(wanted) = package.for_co2 else {
        return unanswered(batch, place, "how much carbonation? add `for 2.3 vol`".to_owned());
    };
    let wanted = match wanted.measure.dimension() {
        Dimension::MassPerVolume => CarbonDioxide::grams_per_litre(wanted.measure.base()),
        _ => CarbonDioxide::volumes(wanted.measure.base()),
    };
    let beer = match package.amount.as_ref().map(|a| a.kind) {
        Some(AmountKind::Measured(m)) if m.dimension() == Dimension::Volume => Volume::litres(m.base()),
        Some(AmountKind::Times(n, m)) if m.dimension() == Dimension::Volume => Volume::litres(m.base() * n),
        _ => match &batch.wort {
            Some(wort) => wort.volume,
            None => return unanswered(batch, place, "how much beer? write `bottle 19 L, …`".to_owned()),
        },
    };
    // What is still in it follows the warmest it has been since it worked: stated, else read in the last half.
    let pitched = batch.pitched_at();
    let half = pitched.map(|p| p.plus_hours(at.hours_since(p) / 2.0));
    let stated = package.at_temperature.map(|q| q.measure.base());
    let read = batch
        .temperatures
        .iter()
        .filter(|(when, _, _)| *when <= at && half.is_none_or(|h| *when >= h))
        .map(|(_, t, _)| *t)
        .reduce(f64::max)
        .or_else(|| {
            batch.temperatures.iter().filter(|(when, ..)| *when <= at).map(|(_, t, _)| *t).reduce(f64::max)
        });
    let Some(warmest) = stated.or(read) else {
        return unanswered(batch, place, "how warm was the beer since it worked? add `at 18 °C`".to_owned());
    };
    let residual = carbonation::residual(Temperature::celsius(warmest));
    match carbonation::sugar_for(residual, wanted, beer, sugar) {
        Some(mass) => {
            let grams = (mass.as_grams()).floor().max(0.0);
            let text = format!("{grams:.0} g");
            let edit = barm_syntax::Edit { span: place.span, text: text.clone() };
            let mut notes = vec![format!(
                "{} vol left in beer that was {} °C at its warmest (± 0.1); {} vol wanted in {} L.",
                plain(residual.as_volumes(), 2),
                plain(warmest, 1),
                plain(wanted.as_volumes(), 2),
                plain(beer.as_litres(), 1)
            )];
            if let (Some(last), Some((low, _)), Some(w)) =
                (batch.last_gravity(), batch.traits.attenuates, &batch.wort)
            {
                let reached =
                    barm_zymology::alcohol::apparent_attenuation(w.gravity, last.gravity).as_fraction();
                if reached < low - 0.02 {
                    notes.push("It may not have finished: what still ferments adds to this.".to_owned());
                }
            }
            Answer {
                place,
                lot: batch.lot,
                text: format!("{text} of {}", sugar.name()),
                edit: Some(edit),
                notes,
                figures: Vec::new(),
            }
        }
        None => unanswered(
            batch,
            place,
            if sugar_is_left(sugar) {
                format!("{} does not ferment", sugar.name())
            } else {
                format!("none: the beer holds {} vol already", plain(residual.as_volumes(), 2))
            },
        ),
    }
}

fn sugar_is_left(sugar: Sugar) -> bool {
    sugar.carbonates(Mass::grams(100.0), Volume::litres(1.0)).as_volumes() <= 0.0
}

fn water(
    context: &Context<'_>,
    batch: &Batch,
    what: &str,
    wanted: Option<barm_quantity::Gravity>,
    place: Place,
    at: Moment,
) -> Answer {
    let Some(home) = context.home(batch.lot) else { return unanswered(batch, place, "no wort".to_owned()) };
    let Some(wanted) = wanted else {
        return unanswered(batch, place, "for which gravity? add `for 1.044`".to_owned());
    };
    let Ok(wort) = wort::at_pitching(context, batch.lot, home, Some(at), 0) else {
        return unanswered(batch, place, "no `wort` to add to: add `wort 21 L at 1.048`".to_owned());
    };
    let litres = wort.volume.as_litres();
    let per_litre = |p| gravity::extract(p).as_grams_per_litre();
    let (have, want) = (per_litre(wort.strength), per_litre(gravity::plato(wanted)));
    let answer = match Addition::read(what) {
        Addition::Water if want < have && want > 0.0 => {
            Some(format!("{} L", plain(litres * (have / want - 1.0), 2)))
        }
        Addition::Sugar(sugar) if want > have => {
            // Each gram of extract takes its own room: 0.62 mL.
            let extract = litres * (want - have) / (1.0 - want * 0.000_62);
            Some(format!("{} g", plain(extract / sugar.extract_share().max(0.01), 0)))
        }
        _ => None,
    };
    match answer {
        Some(text) => {
            let edit = barm_syntax::Edit { span: place.span, text: text.clone() };
            let notes = vec![format!(
                "{} L at {:.3} to {:.3}",
                plain(litres, 2),
                wort.gravity.as_specific(),
                wanted.as_specific()
            )];
            Answer { place, lot: batch.lot, text, edit: Some(edit), notes, figures: Vec::new() }
        }
        None => unanswered(
            batch,
            place,
            format!("{what} cannot bring {:.3} to {:.3}", wort.gravity.as_specific(), wanted.as_specific()),
        ),
    }
}
