//! What lines behind the packaging do to what is in it, and tell of it.

use barm_quantity::{CarbonDioxide, Pressure, Span};
use barm_syntax::ast::{AmountKind, Kind, Measured, PackageKind};
use barm_zymology::carbonation;

use super::beer::Beer;
use super::held::Held;
use super::priming::Primed;
use super::{PackageFigures, asked_for};
use crate::batch::Batch;
use crate::context::Context;
use crate::fermentation::is_cold;
use crate::volumes::LEES;
use crate::{Moment, Place, volumes};

/// So long after it was filled, in the warmth, what is in a bottle has fermented: before that a reading tells only what there is
/// by then (common practice: two weeks).
const CONDITIONS: Span = Span::days(14.0);

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
            is_read(packages, at, (asked_for(&reading.measure()), place));
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
            let celsius = kept.temperature.measure;
            let (middle, error) = (celsius.base(), celsius.error_base());
            let range = (middle - error, middle + error);
            packages.iter_mut().for_each(|package| package.kept.push((at, range, place)));
        }
        _ => {}
    }
}

/// Its carbonation was read: that of the keg or cask which was filled last, where there is one. Of bottles nobody knows which one was
/// opened, so that it may be more in all of them, and less in those that were to hold the least.
fn is_read(packages: &mut [PackageFigures], at: Moment, read: (CarbonDioxide, Place)) {
    if let Some(keg) = packages.iter_mut().rfind(|package| package.kind != PackageKind::Bottle) {
        keg.is_read(at, read);
        return;
    }
    let comes = |package: &PackageFigures| package.carbonation().0.as_volumes();
    let least = packages.iter().map(comes).fold(f64::INFINITY, f64::min);
    let may_be = |package: &&mut PackageFigures| {
        read.0.as_volumes() > comes(package)
            || comes(package) <= least + carbonation::RESIDUAL_ERROR.as_volumes()
    };
    packages.iter_mut().filter(may_be).for_each(|bottle| bottle.is_read(at, read));
}

impl PackageFigures {
    /// Its carbonation was read: that it is less counts where nothing is to come, or all that was has had the time.
    fn is_read(&mut self, at: Moment, (gas, place): (CarbonDioxide, Place)) {
        let is_still = self.additions.is_empty() && self.counts_to_ferment().is_none();
        let chilled = self.kept.iter().find(|(_, (low, _), _)| is_cold(*low)).map_or(at, |(when, ..)| *when);
        // Of two bottles the one that held less takes nothing from the other.
        let is_less = self.kind == PackageKind::Bottle && self.read.is_some_and(|(earlier, _)| earlier > gas);
        let is_told = is_still || chilled.since(self.at) >= CONDITIONS || gas > self.carbonation().0;
        if is_told && !is_less {
            self.read = Some((gas, place));
        }
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
    kept.map_or_else(|| Held::default().celsius(batch, at), |(_, (low, high), _)| f64::midpoint(*low, *high))
}
