//! Questions about carbonation: `bottle 19 L, ? sucrose for 2.3 vol`, `add ? wort at 1.048 for 2.3 vol`.

use barm_quantity::{CarbonDioxide, Gravity, Mass, Volume, plain};
use barm_syntax::ast::{self, Add, AmountKind, Kind, Package};
use barm_zymology::carbonation::{self, Sugar};
use barm_zymology::fermentation::UNREAD;
use barm_zymology::gravity;

use super::beer::{Beer, left_by, stated, warmest, warmest_read};
use super::held::VALVE;
use super::priming::Primed;
use super::young::Young;
use super::{
    Others, PRIMING_HOURS, PackageFigures, ToFerment, UNSEEN, asked_for, asked_of, attenuates_most, before,
    to_ferment, wanted_by,
};
use crate::additions::{self, Addition};
use crate::answer::{Answer, Asking, Unanswered};
use crate::batch::Batch;
use crate::context::Context;
use crate::fault::Fault;
use crate::fermentation::{EndFrom, Falls, FermentationFigures, Shown, fermented_part};
use crate::{Fact, Moment, Place, Scale, advice, kettle, wort};

/// Sugar is weighed for beer of which no more than so much may still come by itself, vol (a judgement).
const MAY_STILL_COME: f64 = 0.8;

/// Nor for beer that stands still, of which more than so much would come if it wakes up, vol (a judgement: with what is weighed
/// that bursts glass).
const MAY_WAKE: f64 = 2.0;

/// Nor for beer of which nobody read a gravity, so soon after its yeast went in, d (a judgement).
const SOON_DAYS: f64 = 7.0;

/// So little that may still come by itself is not told of (a judgement).
const TELLS: f64 = 0.2;

/// For so little gas nobody weighs anything, vol (a judgement: half of what the gas left is known to).
const HARDLY_ANY: f64 = 0.05;

/// Answers the questions of a batch's `bottle`, `keg`, `cask` and `add` lines.
pub(crate) fn answer(
    context: &Context<'_>,
    batch: &Batch,
    others: &Others,
    faults: &[Fault],
    answers: &mut Vec<Answer>,
) {
    let mut beer = Beer::of(context, batch, others);
    for (at, shelved, statement) in context.events_of_beer(batch.lot) {
        let line = shelved.place(statement.span);
        beer.parted_by(at);
        let mut put = |place, answer: Result<Answer, Unanswered>| {
            answers.push(answer.unwrap_or_else(|why| Answer::open(place, batch.lot, why)));
        };
        match &statement.kind {
            Kind::Package(package) => {
                for priming in package.with.iter().filter(|p| p.amount.kind == AmountKind::Asked) {
                    let place = shelved.place(priming.amount.span);
                    let asking = Asking { place, line, at };
                    // Sugar for more beer than there is would be too much for what there is.
                    let too_much =
                        |fault: &Fault| matches!(fault, Fault::TooMuchBeer { place, .. } if *place == line);
                    if faults.iter().any(too_much) {
                        put(place, Err("how much beer? There is not so much of it".into()));
                        continue;
                    }
                    put(place, carbonated(context, batch, package, priming, asking, &beer));
                }
            }
            // How much yeast is answered where the yeast is.
            Kind::Add(add)
                if add.amount.kind == AmountKind::Asked && context.yeast(&add.what.text).is_none() =>
            {
                let place = shelved.place(add.amount.span);
                let asking = Asking { place, line, at };
                put(
                    place,
                    match (add.wanted, wanted_by(add)) {
                        (Some(wanted), _) if additions::bitters(add) => {
                            kettle::hops(context, batch, add, &wanted, asking)
                        }
                        (_, Some(gas)) => for_gas(context, batch, add, gas, asking, &beer),
                        (wanted, None) => {
                            let wanted = wanted.map(|q| wort::as_gravity(&q.measure));
                            kettle::to_gravity(context, batch, add, wanted, asking)
                        }
                    },
                );
            }
            _ => {}
        }
        beer.goes_on((at, line), &statement.kind);
        if let Kind::Package(_) = &statement.kind
            && let Some(filled) = batch.packages.iter().find(|filled| filled.place == line)
        {
            beer.is_packaged(filled);
        }
    }
}

/// `bottle 19 L, ? sucrose for 2.3 vol`
fn carbonated(
    context: &Context<'_>,
    batch: &Batch,
    package: &Package,
    priming: &ast::Priming,
    Asking { place, line, at }: Asking,
    beer: &Beer<'_>,
) -> Result<Answer, Unanswered> {
    let what = &*priming.what.text;
    let fermentation = batch.worked_by(at, line);
    let lacking = |why: &str, fact| Err(Unanswered::lacking(why, fact));
    let source = match called(context, what, priming.at.is_some()) {
        Addition::Sugar(sugar) => Source::Sugar(sugar),
        Addition::Wort => match priming.at.as_ref() {
            Some(at) => Source::wort(fermentation.as_deref(), wort::as_gravity(&at.measure)),
            None => {
                return lacking("how strong is the wort? add `at 1.048` behind it", Fact::Behind(line, "at"));
            }
        },
        _ => Source::Young(poured(batch, beer, what, line)?),
    };
    let Some(wanted) = &package.for_co2 else {
        return lacking("how much carbonation? add `for 2.3 vol`", Fact::Behind(line, "for"));
    };
    all_is_read(context, batch, what)?;
    let wanted = asked_for(&wanted.measure);
    let Some(volume) = beer.taken(package, at) else {
        return lacking("how much beer? write `bottle 19 L, …`", Fact::Wort(batch.lot));
    };
    let scale = Scale::house(context.settings);
    let warmest = warmest(context, batch, package, at);
    let kegged = beer.out_of_keg(package, at).map(|kegged| kegged.at);
    if warmest.is_none() && kegged.is_none() && beer.gas(at).is_none() {
        return lacking("how warm was the beer since it worked? add `at 18 °C`", Fact::Behind(line, "at"));
    }
    let warmest = warmest.unwrap_or(UNREAD.as_celsius());
    let (residual, left) = beer.residual(package, at, warmest);
    let primed = Primed { batch, beer, at, line, residual, volume: Some(volume), kegged };
    let gas = primed.with(package);
    if let Some(unknown) = gas.unknown.first() {
        return Err(format!(
            "nobody knows how much gas {unknown} gives: a sugar by its name, or a `gravity`, tells"
        )
        .into());
    }
    let beside = gas.added;
    knows_what_is_in(batch, beer, at)?;
    let works = batch.packages.iter().find(|figures| figures.place == line);
    if let Some(figures) = works {
        if figures.is_closed() && figures.to_ferment.is_none() {
            is_told(batch, figures.goes_on, at)?;
        }
        if figures.foams.is_some() {
            return Err("it still works: wait for two gravities two days apart that agree".into());
        }
        has_stopped(figures.falls)?;
        if let Some((more, points)) = figures.to_ferment.as_ref().zip(stuck(figures.shown))
            && more.gas.as_volumes() > MAY_WAKE
        {
            return Err(format!(
                "it stands still {points:.0} points below what its yeast reaches, and {} vol more would come if it wakes up: a \
                 `test forced` tells whether it is done",
                plain(more.gas.as_volumes(), 1)
            )
            .into());
        }
        let unread = figures.to_ferment.as_ref().filter(|_| figures.shown == Shown::Not);
        figures
            .counts_to_ferment()
            .or(unread)
            .map_or(Ok(()), |more| lets_weigh(more, figures.goes_on, scale))?;
    }
    // What goes on where others end does so in the bottle.
    let goes_on = works.filter(|figures| figures.goes_on.is_some());
    let to_come =
        goes_on.and_then(|figures| figures.counts_to_ferment()).map_or(0.0, |more| more.gas.as_volumes());
    let residual = CarbonDioxide::volumes(residual.as_volumes() + beside + to_come);
    // What several are asked for each gives an equal part of.
    let parts = asked_of(package).count();
    let lacks = (wanted - residual).as_volumes().max(0.0) / parts.max(1) as f64;
    let target = CarbonDioxide::volumes(residual.as_volumes() + lacks);
    match source.amount(residual, target, volume, scale)? {
        Some(text) => {
            let is_of_valve = left == VALVE;
            let mut left = match left {
                "left from fermentation" => {
                    let cooler = stated(package).filter(|stated| *stated < warmest);
                    let cooler = cooler
                        .map(|celsius| format!(", before the {} of this line", scale.temperature(celsius)));
                    format!(
                        "left in beer that was {} at its warmest (± 0.1){}",
                        scale.temperature(warmest),
                        cooler.unwrap_or_default()
                    )
                }
                _ => left.to_owned(),
            };
            if beside > 0.0 {
                left.push_str(", and from what else goes in");
            }
            if to_come > 0.0 {
                left.push_str(", and still to ferment");
            }
            let mut notes = vec![format!(
                "{} vol {left}; {} vol wanted in {}.",
                plain(residual.as_volumes(), 2),
                plain(wanted.as_volumes(), 2),
                scale.volume(volume)
            )];
            notes.extend(gas.taken_up.map(|taken_up| format!("Counted among it: {taken_up}.")));
            if is_of_valve && fermentation.as_deref().is_some_and(|found| found.cold.is_some()) {
                notes.push(
                    "Had gas been put on as it was chilled, it would hold more: a `pressure` read now tells."
                        .to_owned(),
                );
            }
            if beer.has_untold_keg(package, at) {
                notes.push(
                    "No gas is on record for the keg, and it is taken as flat: write its `pressure` or `co2` if it is not."
                        .to_owned(),
                );
            }
            if parts > 1 {
                notes.push("What is asked of the others is an equal part of the gas each.".to_owned());
            }
            notes.extend(works.and_then(|package| may_go_on(package, scale)));
            let said = format!("{text} of {}", source.name().unwrap_or(what));
            Ok(Answer { notes, ..Answer::written(place, batch.lot, text, said) })
        }
        None => Err(holds_enough(residual, beside)),
    }
}

/// `add ? wort at 1.048 for 2.3 vol`, or sugar: what all the beer there is wants for a carbonation.
fn for_gas(
    context: &Context<'_>,
    batch: &Batch,
    add: &Add,
    wanted: CarbonDioxide,
    Asking { place, line, at }: Asking,
    beer: &Beer<'_>,
) -> Result<Answer, Unanswered> {
    all_is_read(context, batch, &add.what.text)?;
    let lacking = |why: &str, fact| Err(Unanswered::lacking(why, fact));
    let Some(volume) = beer.given_to((at, line)).filter(|there| there.as_litres() > 0.0) else {
        return lacking("how much beer? write `volume 19 L` before it", Fact::Wort(batch.lot));
    };
    let by_warmth = || Some(left_by(context, warmest_read(context, batch, at)?));
    let Some(residual) = beer.gas(at).map(|(gas, _)| gas).or_else(by_warmth) else {
        let why = "how warm was the beer since it worked? add `temp 18 °C`";
        return lacking(why, Fact::Before(line, "temp"));
    };
    let scale = Scale::house(context.settings);
    let primed_from = at.plus_hours(-PRIMING_HOURS);
    let fermentation = batch.worked_by(at, line);
    let works = fermentation.as_deref().and_then(|found| {
        let works = found.goes_on.is_some() || found.shown_stable(batch, at, primed_from) == Shown::Not;
        to_ferment(batch, found, (at, at), primed_from).filter(|_| works)
    });
    knows_what_is_in(batch, beer, at)?;
    has_stopped(fermentation.as_deref().and_then(|found| found.falls(batch, at, primed_from)))?;
    if works.is_none() {
        is_told(batch, fermentation.as_deref().and_then(|found| found.goes_on), at)?;
    }
    if let Some(more) = works {
        lets_weigh(&more, fermentation.as_deref().and_then(|found| found.goes_on), scale)?;
    }
    let beside =
        Primed { batch, beer, at, line, residual, volume: Some(volume), kegged: None }.before().added;
    let residual = CarbonDioxide::volumes(residual.as_volumes() + beside);
    let what = &add.what.text;
    let text = match called(context, what, wort::added_gravity(add).is_some()) {
        Addition::Sugar(sugar) => Source::Sugar(sugar).amount(residual, wanted, volume, scale)?,
        Addition::Wort => {
            let Some(gravity) = wort::added_gravity(add) else {
                return lacking("how strong is the wort? add `at 1.048`", Fact::Behind(line, "at"));
            };
            Source::wort(fermentation.as_deref(), gravity).amount(residual, wanted, volume, scale)?
        }
        _ => Source::Young(poured(batch, beer, what, line)?).amount(residual, wanted, volume, scale)?,
    };
    let Some(text) = text else {
        return Err(holds_enough(residual, beside));
    };
    let notes = vec![format!(
        "{} vol in it{}; {} vol wanted in {}.",
        plain(residual.as_volumes(), 2),
        if beside > 0.0 { ", or to come from what was added" } else { "" },
        plain(wanted.as_volumes(), 2),
        scale.volume(volume)
    )];
    Ok(Answer { notes, ..Answer::written(place, batch.lot, text.clone(), format!("{text} of {what}")) })
}

/// What is asked for: a lot of that name, unless its gravity is written.
fn called(context: &Context<'_>, what: &str, has_gravity: bool) -> Addition {
    let is_lot = !has_gravity && context.working(what).is_some();
    if is_lot { Addition::Other } else { Addition::read(what) }
}

/// Whether all that tells of a beer could be read, and of what is poured into it: a gravity that could not may show that it
/// still works.
///
/// # Errors
/// Whose lines to mend.
fn all_is_read(context: &Context<'_>, batch: &Batch, what: &str) -> Result<(), Unanswered> {
    let mut lots = std::iter::once(batch.lot).chain(context.working(what));
    lots.find(|lot| context.has_lost_of_beer(*lot)).map_or(Ok(()), |lot| {
        let why = format!("a line of {} could not be read", context.name(lot));
        Err(Unanswered::lacking(why, Fact::Beer(lot)))
    })
}

/// Whether nothing went in of late of which nobody knows how much still ferments.
///
/// # Errors
/// What to wait for.
fn knows_what_is_in(batch: &Batch, beer: &Beer<'_>, at: Moment) -> Result<(), String> {
    let since = beer.unknown_since(before(batch, at), at).map(|(when, _)| at.since(when));
    let Some(since) = since.filter(|since| *since <= UNSEEN) else { return Ok(()) };
    let when = match since.as_hours() / 24.0 {
        days if days < 0.5 => "just before".to_owned(),
        days => format!("{} before", advice::days(days)),
    };
    Err(format!(
        "what went in {when} may not have finished, and no gravity was read since: wait for two readings two days apart that agree"
    ))
}

/// Whether anybody read how far a beer has come that goes on where others end, or that had no week for it. `None` of it is known to
/// be still to ferment.
///
/// # Errors
/// What to read or to write.
fn is_told(batch: &Batch, goes_on: Option<&str>, at: Moment) -> Result<(), Unanswered> {
    let is_read = before(batch, at).is_some();
    let soon =
        batch.pitched_at().map(|pitched| at.hours_since(pitched) / 24.0).filter(|days| *days < SOON_DAYS);
    match (goes_on, soon) {
        (Some(what), _) if is_read => {
            let why = format!("{what} may take it on, and it is not known how strong its wort was");
            Err(Unanswered::lacking(why, Fact::Wort(batch.lot)))
        }
        (Some(what), _) => Err(format!("{what} may take it on, and nobody read how far it has come").into()),
        (None, Some(days)) if !is_read => Err(format!(
            "no gravity was read in the {} since its yeast went in: wait for two readings two days apart that agree",
            advice::days(days)
        )
        .into()),
        _ => Ok(()),
    }
}

/// Whether it was not last read falling.
///
/// # Errors
/// What to wait for.
fn has_stopped(falls: Option<Falls>) -> Result<(), String> {
    falls.map_or(Ok(()), |falls| {
        Err(format!(
            "it fell by {} in {} and has not stopped: wait for two readings two days apart that agree",
            plain(falls.by, 3),
            advice::days(falls.hours / 24.0)
        ))
    })
}

/// How many points of attenuation below its yeast a beer stands still.
fn stuck(shown: Shown) -> Option<f64> {
    match shown {
        Shown::Still { stuck, .. } => stuck,
        _ => None,
    }
}

/// What is said of a beer that may not have finished, or stands above where a forced sample of it went.
fn may_go_on(package: &PackageFigures, scale: Scale) -> Option<String> {
    if package.to_ferment.is_none() && package.shown == Shown::Not && package.is_closed() {
        let shows = "Nothing shows that it has stopped, as two gravities two days apart that agree would: what still ferments adds to this.";
        return Some(shows.to_owned());
    }
    let more = package.to_ferment.as_ref().filter(|more| more.gas.as_volumes() > TELLS)?;
    match package.shown {
        Shown::Not | Shown::Still { stuck: Some(_), .. } => {
            Some("It may not have finished: what still ferments adds to this.".to_owned())
        }
        _ if more.end.from == EndFrom::Forced => Some(format!(
            "It may go on to {}, as its forced sample did: {} vol more.",
            scale.gravity(more.end.gravity),
            plain(more.gas.as_volumes(), 1)
        )),
        _ => None,
    }
}

/// Whether so little may still come by itself that sugar is weighed.
///
/// # Errors
/// What to wait for.
fn lets_weigh(more: &ToFerment, goes_on: Option<&str>, scale: Scale) -> Result<(), String> {
    let volumes = more.gas.as_volumes();
    if volumes <= MAY_STILL_COME {
        return Ok(());
    }
    let volumes = plain(volumes, 1);
    Err(match goes_on {
        Some(what) => format!(
            "{what} may take it on, and {volumes} vol more may come by themselves: wait until it is near {}",
            scale.gravity(more.end.gravity)
        ),
        None if more.stale => {
            let (gravity, days) = (scale.gravity(Gravity::specific(more.gravity)), more.hours_before / 24.0);
            format!(
                "it stood at {gravity} {} before, and {volumes} vol more may come by themselves: read its gravity again",
                advice::days(days)
            )
        }
        None => format!(
            "nothing shows that it has stopped, and {volumes} vol more may come by themselves: wait for two readings two days \
             apart that agree"
        ),
    })
}

/// What carbonates a beer.
enum Source {
    Sugar(Sugar),
    /// Wort so strong, of which a litre in a litre gives so much.
    Wort {
        gravity: Gravity,
        gives: CarbonDioxide,
    },
    /// Young beer.
    Young(Young),
}

impl Source {
    fn wort(fermentation: Option<&FermentationFigures>, gravity: Gravity) -> Self {
        let strength = gravity::plato(gravity);
        let litre = Volume::litres(1.0);
        let ferments = fermented_part(strength, attenuates_most(fermentation));
        let gives = carbonation::from_extract(gravity::extract(strength) * litre * ferments, litre);
        Self::Wort { gravity, gives }
    }

    /// So much of it, as it is weighed or poured, brings beer from one carbonation to another; `None`: it holds that already.
    ///
    /// # Errors
    /// Why no amount does.
    fn amount(
        &self,
        residual: CarbonDioxide,
        wanted: CarbonDioxide,
        beer: Volume,
        scale: Scale,
    ) -> Result<Option<String>, Unanswered> {
        if (wanted - residual).as_volumes() < HARDLY_ANY {
            return Ok(None);
        }
        match self {
            Self::Wort { gravity, gives } => {
                let (gives, wanted) = (gives.as_volumes(), wanted.as_volumes());
                if gives <= wanted {
                    return Err(format!("wort at {} is too weak for it", scale.gravity(*gravity)).into());
                }
                // What holds no gas itself thins that of the beer.
                let litres = beer.as_litres() * (wanted - residual.as_volumes()) / (gives - wanted);
                Ok((litres >= 0.0005).then(|| advice::poured(litres, scale)))
            }
            Self::Sugar(sugar) if sugar_is_left(*sugar) => {
                Err(format!("{} does not ferment", sugar.name()).into())
            }
            Self::Sugar(sugar) => {
                let mass = carbonation::sugar_for(residual, wanted, beer, *sugar);
                let grams = mass.map(|mass| floored(mass.as_grams())).filter(|grams| *grams > 0.0);
                Ok(grams.map(|grams| advice::weighed(grams, scale)))
            }
            Self::Young(young) => {
                let litres = young.litres_for(beer, residual, wanted).ok_or_else(|| {
                    let gives = plain(young.gas, 1);
                    format!("it is too far gone: what still ferments in it gives {gives} vol and no more")
                })?;
                Ok((litres >= 0.0005).then(|| advice::poured(litres, scale)))
            }
        }
    }

    /// What is said of it; young beer is called by its brew.
    fn name(&self) -> Option<&'static str> {
        match self {
            Self::Sugar(sugar) => Some(sugar.name()),
            Self::Wort { .. } => Some("wort"),
            Self::Young(_) => None,
        }
    }
}

/// Beer of another brew that a line pours in.
///
/// # Errors
/// It is none, or nobody knows how far it has come.
fn poured(batch: &Batch, beer: &Beer<'_>, what: &str, line: Place) -> Result<Young, Unanswered> {
    beer.others.poured(beer.context, what, line).young.ok_or_else(|| match beer.context.working(what) {
        Some(own) if own == batch.lot => {
            format!("{what} is this beer itself: name a sugar, or another brew").into()
        }
        Some(_) => format!("how far {what} has come is not known: add its `gravity`").into(),
        None => match beer.context.names.nearest_lot(what, None) {
            Some(near) => format!("no lot is called {what}; did you mean `{near}`?").into(),
            None => format!("what {what} ferments to is not known: name a sugar, as `sucrose`").into(),
        },
    })
}

fn holds_enough(residual: CarbonDioxide, beside: f64) -> Unanswered {
    let volumes = plain(residual.as_volumes(), 2);
    if beside > 0.0 {
        return format!("none: {volumes} vol are in the beer, or to come of what goes in").into();
    }
    format!("none: the beer holds {volumes} vol already").into()
}

/// No more than so many grams, as they are weighed.
fn floored(grams: f64) -> f64 {
    if grams < advice::LITTLE_GRAMS { (grams * 10.0).floor() / 10.0 } else { grams.floor() }
}

fn sugar_is_left(sugar: Sugar) -> bool {
    sugar.carbonates(Mass::grams(100.0), Volume::litres(1.0)).as_volumes() <= 0.0
}
