//! Questions in the kettle: `add ? water for 1.044`, `add ? hops at 5 % for 10 IBU`.

use barm_quantity::{Bitterness, Dimension, Gravity, Mass, Measure, Share, Span, Unit, plain};
use barm_syntax::ast::{Add, Kind, Quantity};
use barm_zymology::{bitterness, gravity};

use crate::additions::Addition;
use crate::answer::{self, Answer, Asking, Unanswered};
use crate::batch::{Batch, Wort};
use crate::context::Context;
use crate::names::LotKind;
use crate::wort::{self, Wholes};
use crate::{Fact, Scale, advice};

/// No gravity is asked for more nearly than it is written.
const NEAR_ENOUGH: f64 = 0.0005;

/// `add ? water for 1.044`: as much as brings the wort there.
pub(crate) fn to_gravity(
    context: &Context<'_>,
    batch: &Batch,
    add: &Add,
    wanted: Option<Gravity>,
    Asking { place, line, at }: Asking,
) -> Result<Answer, Unanswered> {
    let Some(wanted) = wanted else {
        let why = "for which gravity? add `for 1.044`";
        return Err(Unanswered::lacking(why, Fact::Behind(line, "for")));
    };
    let start = match (&batch.parted, context.home(batch.lot)) {
        (Some(parted), _) => Some(**parted),
        (None, Some(home)) => Wholes::default().start(context, batch.lot, home).ok(),
        (None, None) => None,
    };
    let start =
        start.ok_or_else(|| answer::no_wort(context, batch.lot, "to add to: add `wort 21 L at 1.048`"))?;
    let answered = |wort: &Wort, add: &Add| {
        let wanted = add.wanted.filter(|wanted| wanted.measure.dimension() == Dimension::Gravity)?;
        amount_for(wort, add, wort::as_gravity(&wanted.measure))
    };
    let wort = wort::before(context, batch, start, (at, line), answered);
    let scale = Scale::house(context.settings);
    if (wort.gravity.as_specific() - wanted.as_specific()).abs() < NEAR_ENOUGH {
        return Err(format!("none: it is at {} already", scale.gravity(wort.gravity)).into());
    }
    match Addition::read(&add.what.text) {
        Addition::Wort if wort::added_gravity(add).is_none() => {
            let why = "how strong is what is added? add `at 1.100`";
            return Err(Unanswered::lacking(why, Fact::Behind(line, "at")));
        }
        Addition::Other => {
            let what = &add.what.text;
            return Err(format!(
                "what {what} brings is not known: name water, a sugar, or wort with its gravity, as `wort at {}`",
                scale.gravity(Gravity::specific(1.048))
            )
            .into());
        }
        _ => {}
    }
    let answer = amount_for(&wort, add, wanted).map(|amount| match amount.dimension() {
        Dimension::Volume => advice::poured(amount.base(), scale),
        _ => advice::weighed(amount.base(), scale),
    });
    match answer {
        Some(text) => {
            let notes = vec![format!(
                "{} at {} to {}",
                scale.volume(wort.volume),
                scale.gravity(wort.gravity),
                scale.gravity(wanted)
            )];
            Ok(Answer { notes, ..Answer::written(place, batch.lot, text.clone(), text) })
        }
        None => {
            let (from, to) = (scale.gravity(wort.gravity), scale.gravity(wanted));
            let what = match (Addition::read(&add.what.text), wort::added_gravity(add)) {
                (Addition::Wort, Some(at)) => format!("wort at {}", scale.gravity(at)),
                _ => add.what.text.to_string(),
            };
            Err(format!("{what} cannot bring {from} to {to}").into())
        }
    }
}

/// How much of something brings a wort to a gravity, if it can. Volumes and extract add.
fn amount_for(wort: &Wort, add: &Add, wanted: Gravity) -> Option<Measure> {
    let litres = wort.volume.as_litres();
    let per_litre = |p| gravity::extract(p).as_grams_per_litre();
    let (have, want) = (per_litre(wort.strength), per_litre(gravity::plato(wanted)));
    // So much of what holds so much extract in a litre.
    let liquid = |holds: f64| {
        let more = litres * (want - have) / (holds - want);
        (more >= 0.0005 && more.is_finite()).then(|| Measure::new(more, Unit::Litre))
    };
    match Addition::read(&add.what.text) {
        Addition::Water => liquid(0.0),
        Addition::Wort => liquid(per_litre(gravity::plato(wort::added_gravity(add)?))),
        Addition::Sugar(sugar) if want > have => {
            // Each gram of extract takes its own room.
            let extract = litres * (want - have) / (1.0 - gravity::room(Mass::grams(want)).as_litres());
            Some(Measure::new(extract / sugar.extract_share().max(0.01), Unit::Gram))
        }
        _ => None,
    }
}

/// `add ? hops at 5 % for 10 IBU`: boiled for as long as the last `boil` before it says.
pub(crate) fn hops(
    context: &Context<'_>,
    batch: &Batch,
    add: &Add,
    wanted: &Quantity,
    Asking { place, line, at }: Asking,
) -> Result<Answer, Unanswered> {
    let lacking = |why: &str, fact| Err(Unanswered::lacking(why, fact));
    let Some(alpha) = add.at.filter(|q| q.measure.dimension() == Dimension::Share) else {
        return lacking("how much alpha acid have the hops? add `at 5 %`", Fact::Behind(line, "at"));
    };
    let boils = context.events(batch.lot).take_while(|(when, ..)| *when <= at);
    let boil = boils.filter_map(|(_, _, statement)| match &statement.kind {
        Kind::Boil(time) => time.as_deref(),
        _ => None,
    });
    let Some(time) = boil.last().map(|q| Span::hours(q.measure.base())) else {
        return lacking(
            "how long are they boiled? write `boil 10 min` before it",
            Fact::Before(line, "boil"),
        );
    };
    let Some(wort) = batch.wort else {
        return Err(answer::no_wort(context, batch.lot, "to boil them in: add `wort 1.5 L at 1.037`"));
    };
    let (bitterness, share) = (Bitterness::ibu(wanted.measure.base()), Share::fraction(alpha.measure.base()));
    let Some(mass) = bitterness::hops_for(bitterness, share, wort.volume, wort.gravity, time) else {
        return Err("no mass of them does: they hold no alpha acid, or are not boiled".into());
    };
    let scale = Scale::house(context.settings);
    let unit = advice::kitchen_unit(mass.as_grams(), scale.is_us());
    let text =
        format!("{} {}", barm_quantity::significant(unit.from_base(mass.as_grams()), 2), unit.symbol());
    let mut notes = vec![format!(
        "{} IBU in {} at {}, boiled {} min, at {} % alpha acid; give or take a third",
        plain(bitterness.as_ibu(), 1),
        scale.volume(wort.volume),
        scale.gravity(wort.gravity),
        plain(time.as_minutes(), 0),
        plain(share.as_percent(), 1)
    )];
    if batch.kind == LotKind::Starter {
        notes.push(
            "about 20 IBU is plenty against bacteria in a starter, and none is needed (common practice)"
                .to_owned(),
        );
    }
    let said = format!("{text} of {}", add.what.text);
    Ok(Answer { notes, ..Answer::written(place, batch.lot, text, said) })
}
