//! Packaging: the carbon dioxide that comes to be in the beer.

mod beer;
mod figures;
mod held;
mod later;
mod priming;
mod questions;
mod slips;
mod still;
mod young;

use barm_quantity::{CarbonDioxide, Dimension, Measure, Pressure, Span};
use barm_syntax::ast::{Add, AmountKind, Kind, Krausen, Package};
use barm_zymology::fermentation::{ATTENUATES, STANDS, UNREAD};

use crate::additions;
use crate::batch::Batch;
use crate::context::Context;
use crate::fault::Fault;
use crate::fermentation::{FermentationFigures, Shown};
use crate::names::LotKind;
use crate::timeline;
use crate::{Figure, Moment, Place, Scale, volumes};

use beer::{Beer, warmest};
pub use figures::{PackageFigures, Rated};
use priming::Primed;
pub(crate) use questions::answer;
pub use still::ToFerment;
use still::{extract_between, to_ferment, went_on};
pub(crate) use young::{Others, of_blended};

/// Sugar or wort added so shortly before packaging is meant to carbonate, h: on the day or the day before, whatever the time.
pub const PRIMING_HOURS: f64 = 36.0;
/// What may take a beer on that is infected, or comes down from what was.
pub const RISK: &str = "an infection or the risk of one";
/// What a closed bottle is told of at, °C: in a room, and as warm as it may become, where it must still hold.
pub const COOL: f64 = 20.0;
/// See [`COOL`].
pub const WARM: f64 = 30.0;
/// Sugar that was added, and of which nobody saw that it had gone, may ferment for so long (judgement).
const UNSEEN: Span = Span::days(7.0);
/// Of more packages than anybody fills of one beer the rest is not reckoned.
const MOST_PACKAGES: usize = 100;

/// Reckons what a batch was packaged in.
pub(crate) fn reckon(context: &Context<'_>, batch: &mut Batch, others: &Others, faults: &mut Vec<Fault>) {
    if batch.kind != LotKind::Brew {
        return;
    }
    young::pour_out(context, batch, others);
    volumes::check(context, batch, faults);
    let mut out: Vec<PackageFigures> = Vec::new();
    let mut beer = Beer::of(context, batch, others);
    let is_package = |kind: &Kind| matches!(kind, Kind::Package(_));
    let mut to_fill = context.events(batch.lot).filter(|(.., line)| is_package(&line.kind)).count();
    for (at, shelved, statement) in context.events_of_beer(batch.lot) {
        let place = shelved.place(statement.span);
        beer.parted_by(at);
        to_fill -= usize::from(is_package(&statement.kind));
        match &statement.kind {
            Kind::Package(package) if out.len() < MOST_PACKAGES => {
                let figures = packaged(context, batch, package, place, at, &beer);
                slips::tell(context, shelved, package, &figures, faults);
                out.push(figures);
            }
            // What is filled later is still in the fermenter.
            kind => later::goes_on(context, batch, (&beer, to_fill == 0), (at, place), kind, &mut out),
        }
        beer.goes_on((at, place), &statement.kind);
        if let Some(filled) = out.last().filter(|filled| filled.place == place) {
            beer.is_packaged(filled);
        }
    }
    if !out.is_empty() {
        let last = last_written(context, batch);
        for package in &mut out {
            package.is_followed = last.is_some_and(|last| last.day_number() > package.at.day_number());
        }
    }
    out.shrink_to_fit();
    batch.packages = out;
}

/// Of what a line asks how much it is to package the beer with.
fn asked_of(package: &Package) -> impl Iterator<Item = &str> {
    let asked = package.with.iter().filter(|priming| priming.amount.kind == AmountKind::Asked);
    asked.map(|priming| &*priming.what.text)
}

fn packaged(
    context: &Context<'_>,
    batch: &Batch,
    package: &Package,
    place: Place,
    at: Moment,
    beer: &Beer<'_>,
) -> PackageFigures {
    let fermentation = batch.worked_by(at, place);
    let fermentation = fermentation.as_deref();
    let volume = beer.taken(package, at);
    let warmest = warmest(context, batch, package, at);
    let (residual, residual_from) = beer.residual(package, at, warmest.unwrap_or(UNREAD.as_celsius()));
    let kegged = beer.out_of_keg(package, at).map(|kegged| kegged.at);
    let mut gas = Primed { batch, beer, at, line: place, residual, volume, kegged }.with(package);
    let asked = package.for_co2.as_deref().map(|q| asked_for(&q.measure));
    // A question is answered by what the carbonation asked for needs beside all that is known.
    for what in asked_of(package) {
        match asked {
            Some(asked) => gas.bring_to(what, asked, residual),
            None => gas.unknown.push(what.to_owned()),
        }
    }
    let primed_from = kegged.unwrap_or(at).plus_hours(-PRIMING_HOURS);
    let until = beer.works_until(package, at);
    let to_ferment = fermentation.and_then(|found| to_ferment(batch, found, (at, until), primed_from));
    let went_on = fermentation.and_then(|found| went_on(context, batch, found, (at, place)));
    let to_ferment = match (to_ferment, went_on) {
        (Some(more), Some(went)) if more.gas > went.gas => {
            Some(ToFerment { stale: false, went_on: went.went_on, ..more })
        }
        (more, went) => went.or(more),
    };
    PackageFigures {
        place,
        at,
        kind: package.kind,
        volume,
        residual,
        residual_from,
        read: None,
        warmest: (warmest.unwrap_or(UNREAD.as_celsius()), warmest.is_some()),
        added: CarbonDioxide::volumes(gas.added),
        added_error: CarbonDioxide::volumes(gas.error),
        primed_again: None,
        kept: Vec::new(),
        additions: gas.additions,
        taken_up: gas.taken_up,
        unknown_before: fermentation.is_some_and(|f| f.goes_on.is_some() && !f.extract_is_known(primed_from)),
        unknown_since: beer.unknown_since(before(batch, at), at),
        unknown: gas.unknown,
        thinner_air: beer::thinner_air(context),
        is_asked: gas.is_asked || asked_of(package).next().is_some(),
        to_ferment,
        foams: foams(batch, (at, place)),
        falls: fermentation.and_then(|f| f.falls(batch, at, primed_from)),
        shown: fermentation.map_or(Shown::Not, |f| f.shown_stable(batch, at, primed_from)),
        goes_on: fermentation.and_then(|f| f.goes_on.or(f.suspect.map(|_| RISK))),
        is_followed: false,
        asked,
        holder: package.holder,
        rated: package.rated.as_deref().map(|q| match q.measure.dimension() {
            Dimension::Pressure => Rated::Pressure(Pressure::bar(q.measure.base())),
            _ => Rated::Gas(asked_for(&q.measure)),
        }),
    }
}

/// When the last of a beer is written, and be it how it tastes.
fn last_written(context: &Context<'_>, batch: &Batch) -> Option<Moment> {
    let moments = context.blocks(batch.lot).flat_map(|shelved| timeline::moments(shelved.block, None));
    moments.flatten().max()
}

/// The last sign of work before a line, where it is fresh and no gravity was read with it or since.
fn foams(batch: &Batch, line: (Moment, Place)) -> Option<(Moment, Place)> {
    let seen = batch.record.krausens.iter().rev().find(|(at, _, place)| (*at, *place) < line);
    let (at, krausen, place) = *seen?;
    let is_read = before(batch, line.0).is_some_and(|read| read.at >= at);
    let works = matches!(krausen, Krausen::Rising | Krausen::High) && line.0.since(at) <= STANDS;
    (works && !is_read).then_some((at, place))
}

/// The last gravity read by a moment.
fn before(batch: &Batch, at: Moment) -> Option<&crate::batch::GravityReading> {
    let after = batch.gravities.partition_point(|r| r.at <= at);
    batch.gravities.get(after.checked_sub(1)?)
}

/// Whether something brings extract that nobody knows: fruit, or the beer of another brew.
fn has_unknown_extract(context: &Context<'_>, what: &str) -> bool {
    context.beer(what).is_some() || additions::is_fruit(what)
}

/// Whether something may give gas: what is known to give none does not, and yeast is none.
fn may_carbonate(context: &Context<'_>, what: &str) -> bool {
    has_unknown_extract(context, what) || !additions::gives_no_gas(what) && context.yeast(what).is_none()
}

/// How far added wort goes: of what is not known the most, for here too much gas is the danger.
fn attenuates_most(found: Option<&FermentationFigures>) -> f64 {
    let [_, _, usual_most] = ATTENUATES;
    let known = found.and_then(|found| found.attenuates);
    known.map_or(usual_most.as_fraction(), |(_, most)| most)
}

/// The figures of it that outputs list.
pub(crate) fn figures(batch: &Batch, scale: Scale, out: &mut Vec<Figure>) {
    for package in batch.packages.iter().filter(|p| p.is_closed()) {
        out.push(package.carbonation_figure());
        out.extend(package.pressure_figures(scale));
    }
}

/// The carbonation that a line adds something for: `add ? sucrose for 2.3 vol`, or `for 5 g/L`.
pub(crate) fn wanted_by(add: &Add) -> Option<CarbonDioxide> {
    let is_gas = |of: Dimension| matches!(of, Dimension::Carbonation | Dimension::MassPerVolume);
    add.wanted.filter(|wanted| is_gas(wanted.measure.dimension())).map(|wanted| asked_for(&wanted.measure))
}

/// A carbonation as written.
fn asked_for(measure: &Measure) -> CarbonDioxide {
    match measure.dimension() {
        Dimension::MassPerVolume => CarbonDioxide::grams_per_litre(measure.base()),
        _ => CarbonDioxide::volumes(measure.base()),
    }
}
