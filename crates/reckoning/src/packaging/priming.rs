//! What is added at packaging, or so shortly before it that it still ferments.

use barm_quantity::{CarbonDioxide, Dimension, Gravity, Mass, Volume, plain};
use barm_syntax::ast::{AmountKind, Organism, Package};
use barm_zymology::carbonation::{self, Sugar};
use barm_zymology::fermentation::tells_for;
use barm_zymology::gravity;

use super::beer::Beer;
use super::young::Young;
use super::{PRIMING_HOURS, attenuates_most, before, has_unknown_extract, wanted_by};
use crate::additions::{self, Addition};
use crate::batch::Batch;
use crate::fermentation::fermented_part;
use crate::{Moment, Scale, wort};

/// What is added at packaging, or so shortly before it that it still ferments.
pub(super) struct Priming {
    attenuates: f64,
    scale: Scale,
    pub added: f64,
    pub error: f64,
    pub additions: Vec<String>,
    pub unknown: Vec<String>,
    /// A line before asks how much of something.
    pub is_asked: bool,
}

impl Priming {
    /// What was added before a moment to beer that holds so much gas.
    pub(super) fn before(
        batch: &Batch,
        (beer, at): (&Beer<'_>, Moment),
        residual: CarbonDioxide,
        volume: Option<Volume>,
    ) -> Self {
        let context = beer.context;
        let mut gas = Self {
            attenuates: attenuates_most(batch),
            scale: context.scale(batch.wort.map_or(batch.place, |wort| wort.place)),
            added: 0.0,
            error: 0.0,
            additions: Vec::new(),
            unknown: Vec::new(),
            is_asked: false,
        };
        let primed_from = at.plus_hours(-PRIMING_HOURS);
        // What sugar and wort bring before that is still to ferment; of young beer no line says, until a gravity is read.
        let tells = tells_for(batch.traits.organism == Some(Organism::Lager)).as_hours();
        let told_from = at.plus_hours(-tells);
        let young_from = before(batch, at).map_or(told_from, |read| read.at.max(told_from)).min(primed_from);
        let longer_before = beer.adds.partition_point(|(when, ..)| *when <= young_from);
        for (when, add, whole) in beer.adds.iter().skip(longer_before) {
            let what = &*add.what.text;
            let young = beer.others.young(context, what, *when);
            if young.is_none() && *when <= primed_from {
                continue;
            }
            if let Some(wanted) = wanted_by(add).filter(|_| add.amount.kind == AmountKind::Asked) {
                gas.bring_to(what, wanted, residual);
                gas.is_asked = true;
                continue;
            }
            let may_carbonate = has_unknown_extract(context, what);
            let gravity = wort::added_gravity(add);
            gas.add(add.amount.kind, what, gravity, whole.or(volume), may_carbonate, young);
        }
        gas
    }

    /// The same, and what a line packages the beer with, but for its questions.
    pub(super) fn of(
        batch: &Batch,
        package: &Package,
        (beer, at): (&Beer<'_>, Moment),
        residual: CarbonDioxide,
        volume: Option<Volume>,
    ) -> Self {
        let context = beer.context;
        let mut gas = Self::before(batch, (beer, at), residual, volume);
        for priming in package.with.iter().filter(|priming| priming.amount.kind != AmountKind::Asked) {
            let gravity = priming.at.map(|q| wort::as_gravity(&q.measure));
            let what = &*priming.what.text;
            // What goes into a bottle goes there for its gas, unless it is known to give none.
            let is_for_gas = !additions::gives_no_gas(what) && context.yeast(what).is_none();
            let may_carbonate = is_for_gas || has_unknown_extract(context, what);
            let young = beer.others.young(context, what, at);
            gas.add(priming.amount.kind, what, gravity, volume, may_carbonate, young);
        }
        gas
    }

    /// So much of something as brings beer that holds `residual` to a carbonation, beside all that is counted by then.
    pub(super) fn bring_to(&mut self, what: &str, wanted: CarbonDioxide, residual: CarbonDioxide) {
        let lacks = ((wanted - residual).as_volumes() - self.added).max(0.0);
        let error = Sugar::read(what).map_or(carbonation::EXTRACT_ERROR, Sugar::error);
        self.added += lacks;
        self.error += lacks * error.as_fraction();
        self.additions.push(format!("{what} as asked"));
    }

    /// `may_carbonate`: it may give gas even where it is no known sugar.
    pub(super) fn add(
        &mut self,
        amount: AmountKind,
        what: &str,
        gravity: Option<Gravity>,
        beer: Option<Volume>,
        may_carbonate: bool,
        young: Option<Young>,
    ) {
        let addition = Addition::read(what);
        let Some(beer) = beer.filter(|b| b.as_litres() > 0.0) else {
            if matches!(addition, Addition::Sugar(_) | Addition::Wort) || may_carbonate {
                self.unknown.push(format!("{what} (in how much beer?)"));
            }
            return;
        };
        let share = young.and_then(|young| young.share(amount));
        let measure = share.or_else(|| additions::measured(amount, beer));
        let (gas, error) = match (addition, measure, gravity) {
            (Addition::Sugar(sugar), Some(m), _) if m.dimension() == Dimension::Mass => {
                (sugar.carbonates(Mass::grams(m.base()), beer), sugar.error())
            }
            (Addition::Wort, Some(m), Some(gravity)) if m.dimension() == Dimension::Volume => {
                let strength = gravity::plato(gravity);
                let extract = gravity::extract(strength) * Volume::litres(m.base());
                let gas =
                    carbonation::from_extract(extract * fermented_part(strength, self.attenuates), beer);
                (gas, carbonation::EXTRACT_ERROR)
            }
            (Addition::Other, Some(m), _) if m.dimension() == Dimension::Volume && young.is_some() => {
                let share = m.base() / (m.base() + beer.as_litres());
                let gas = young.map_or(0.0, |young| young.gas * share);
                self.error += young.map_or(0.0, |young| young.error * share);
                (CarbonDioxide::volumes(gas), carbonation::EXTRACT_ERROR)
            }
            (Addition::Water, ..) => return,
            (Addition::Other, ..) if !may_carbonate => return,
            _ => {
                self.unknown.push(what.to_owned());
                return;
            }
        };
        self.added += gas.as_volumes();
        self.error += gas.as_volumes() * error.as_fraction();
        let stood = young.map_or_else(String::new, |young| {
            format!(", which stood at {}", self.scale.gravity(young.gravity))
        });
        self.additions.push(format!("{} vol from {what}{stood}", plain(gas.as_volumes(), 2)));
    }
}
