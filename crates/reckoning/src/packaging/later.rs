//! What lines behind the packaging do to what is in it, and tell of it.

use barm_quantity::Pressure;
use barm_syntax::ast::{AmountKind, Kind, Measured, PackageKind};

use super::beer::Beer;
use super::priming::Primed;
use super::{PackageFigures, asked_for, held};
use crate::batch::Batch;
use crate::context::Context;
use crate::{Moment, Place, volumes};

/// So much of a wort may stay in the fermenter with the yeast when all its beer is bottled (judgement).
const LEES: f64 = 0.15;

/// The next line of a brew of which some is packaged. `is_last`: nothing more of it is.
pub(super) fn goes_on(
    context: &Context<'_>,
    batch: &Batch,
    (beer, is_last): (&Beer<'_>, bool),
    (at, place): (Moment, Place),
    kind: &Kind,
    packages: &mut [PackageFigures],
) {
    match kind {
        Kind::Reading(reading) if reading.what == Measured::CarbonDioxide => {
            if let Some(package) = packages.last_mut() {
                package.read = Some((asked_for(&reading.measure()), place));
            }
        }
        // A gauge on a bottle tells what is in it by then, and more may come.
        Kind::Reading(reading)
            if reading.what == Measured::Pressure
                && is_last
                && is_all_bottled(batch, beer, place, packages) =>
        {
            if let Some(package) = packages.last_mut() {
                let gas =
                    package.gas_under(Pressure::bar(reading.measure().base()), celsius(batch, package, at));
                if gas > package.carbonation().0 {
                    package.read = Some((gas, place));
                }
            }
        }
        Kind::Add(add)
            if add.amount.kind != AmountKind::Asked
                && is_last
                && is_all_bottled(batch, beer, place, packages) =>
        {
            let volume = packages.iter().filter_map(|package| package.volume).reduce(|sum, more| sum + more);
            for package in packages {
                let residual = package.residual;
                let primed = Primed { batch, beer, at, line: place, residual, volume, kegged: None };
                let more = primed.by(add);
                if more.added > 0.0 {
                    package.is_primed_again(more, place);
                }
            }
        }
        Kind::Kept(kept) if volumes::is_of(context, &kept.lot, batch.lot) => {
            let celsius = kept.temperature.measure.base();
            packages.iter_mut().for_each(|package| package.kept.push((at, celsius, place)));
        }
        _ => {}
    }
}

/// Whether all of a beer is in bottles: what is written then is said of those.
fn is_all_bottled(batch: &Batch, beer: &Beer<'_>, line: Place, packages: &[PackageFigures]) -> bool {
    let Some((wort, left)) = batch.wort.zip(beer.left) else { return false };
    !packages.is_empty()
        && packages.iter().all(|package| package.kind == PackageKind::Bottle && package.place != line)
        && left.as_litres() <= wort.volume.as_litres() * LEES
}

/// How warm bottles are, °C: as last read, or as they are kept since.
fn celsius(batch: &Batch, package: &PackageFigures, at: Moment) -> f64 {
    let read = batch.taken_temperatures(at).last().map(|(when, _)| *when);
    let kept = package.kept.last().filter(|(when, ..)| Some(*when) > read);
    kept.map_or_else(|| held::celsius(batch, at), |(_, celsius, _)| *celsius)
}
