//! Sugar of which the line says more or less than anybody primes with.

use barm_quantity::{Dimension, Measure, Unit, Volume};
use barm_syntax::ast::{AmountKind, Package, PackageKind};

use super::PackageFigures;
use crate::additions::{self, Addition};
use crate::context::Context;
use crate::fault::Fault;
use crate::timeline::Shelved;

/// Sugar that makes so little gas in each litre, g, nobody weighs (judgement).
const TOO_LITTLE_GRAMS: f64 = 1.0;
/// And with more of it, g in each litre, nobody fills glass (judgement: it makes some 3 vol).
const MOST_GRAMS: f64 = 8.5;
/// Beer that lacks more than so much of what it is to have, vol, is given more sugar than that (judgement).
const LACKS: f64 = 1.0;
/// No bottle is larger, L.
const LARGEST_BOTTLE: f64 = 5.0;
/// For each of so many bottles and more it was meant.
const MANY_BOTTLES: f64 = 4.0;

/// How much beer there is, and how much gas it lacks of what it is to have, vol, where the line says that.
#[derive(Clone, Copy)]
struct Lacks {
    beer: Volume,
    volumes: Option<f64>,
}

/// So little sugar that it was meant for each of the bottles, or for each litre where that would be too much; and how many
/// bottles those are. Where the line says `for` what carbonation it is, it lacks too much for that.
fn meant_for_each(package: &Package, written: Measure, lacks: Lacks) -> Option<(Measure, f64)> {
    let beer = lacks.beer;
    let Some(AmountKind::Times(bottles, each)) = package.amount.as_ref().map(|amount| amount.kind) else {
        return None;
    };
    let (grams, litres) = (written.base(), each.base());
    let is_little = grams > 0.0 && grams < TOO_LITTLE_GRAMS * beer.as_litres();
    let is_all = package.with.len() == 1 && lacks.volumes.is_none_or(|lacks| lacks > LACKS);
    let are_bottles =
        package.kind == PackageKind::Bottle && bottles >= MANY_BOTTLES && litres <= LARGEST_BOTTLE;
    let likely = if grams <= MOST_GRAMS * litres {
        written.times(bottles)
    } else {
        Measure::new(grams, Unit::GramPerLitre)
    };
    (is_little && is_all && are_bottles && likely.base() <= MOST_GRAMS * beer.as_litres())
        .then_some((likely, bottles))
}

/// More sugar than the beer has room for was meant in another unit, and next to none for each bottle.
pub(super) fn tell(
    context: &Context<'_>,
    shelved: &Shelved<'_>,
    package: &Package,
    figures: &PackageFigures,
    faults: &mut Vec<Fault>,
) {
    let Some(beer) = figures.volume else { return };
    let volumes = figures.asked.map(|asked| (asked - figures.residual).as_volumes());
    let lacks = Lacks { beer, volumes };
    let sugars =
        package.with.iter().filter(|with| matches!(Addition::read(&with.what.text), Addition::Sugar(_)));
    for with in sugars {
        let AmountKind::Measured(written) = with.amount.kind else { continue };
        let place = shelved.place(with.amount.span);
        let (likely, why) = if let Some(likely) = additions::meant_sugar(with.amount.kind, beer) {
            (likely, format!("the beer is {}", context.scale(place).volume(beer)))
        } else if written.dimension() == Dimension::Mass
            && let Some((likely, bottles)) = meant_for_each(package, written, lacks)
        {
            (likely, format!("it is for {bottles:.0} bottles together"))
        } else {
            continue;
        };
        faults.push(Fault::UnlikelyUnit { place, written, likely, why, impossible: false });
    }
}
