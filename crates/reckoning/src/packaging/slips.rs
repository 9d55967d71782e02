//! Sugar of which the line says more or less than anybody primes with.

use barm_quantity::{Dimension, Volume};
use barm_syntax::ast::{AmountKind, Package, PackageKind};

use crate::additions::{self, Addition};
use crate::context::Context;
use crate::fault::Fault;
use crate::timeline::Shelved;

/// Sugar that makes so little gas in each litre, g, nobody weighs (judgement).
const TOO_LITTLE_GRAMS: f64 = 1.0;
/// For each of so many bottles and more it was meant.
const MANY_BOTTLES: f64 = 4.0;

/// So little sugar that it was meant for each of the bottles.
fn meant_for_each(package: &Package, grams: f64, beer: Volume) -> Option<f64> {
    let Some(AmountKind::Times(bottles, _)) = package.amount.as_ref().map(|amount| amount.kind) else {
        return None;
    };
    let is_little = grams > 0.0 && grams < TOO_LITTLE_GRAMS * beer.as_litres();
    let is_all = package.with.len() == 1 && package.for_co2.is_none();
    (is_little && is_all && bottles >= MANY_BOTTLES && package.kind == PackageKind::Bottle).then_some(bottles)
}

/// More sugar than the beer has room for was meant in another unit, and next to none for each bottle.
pub(super) fn tell(
    context: &Context<'_>,
    shelved: &Shelved<'_>,
    package: &Package,
    beer: Option<Volume>,
    faults: &mut Vec<Fault>,
) {
    let Some(beer) = beer else { return };
    let sugars =
        package.with.iter().filter(|with| matches!(Addition::read(&with.what.text), Addition::Sugar(_)));
    for with in sugars {
        let AmountKind::Measured(written) = with.amount.kind else { continue };
        let place = shelved.place(with.amount.span);
        let (likely, why) = if let Some(likely) = additions::meant_sugar(with.amount.kind, beer) {
            (likely, format!("the beer is {}", context.scale(place).volume(beer)))
        } else if written.dimension() == Dimension::Mass
            && let Some(bottles) = meant_for_each(package, written.base(), beer)
        {
            (written.times(bottles), format!("it is for {bottles:.0} bottles together"))
        } else {
            continue;
        };
        faults.push(Fault::UnlikelyUnit { place, written, likely, why, impossible: false });
    }
}
