//! What is added at packaging, or on the day before.

use barm_quantity::{CarbonDioxide, Dimension, Gravity, Mass, Volume, plain};
use barm_syntax::ast::{AmountKind, Package};
use barm_zymology::{carbonation, gravity};

use super::beer::Beer;
use super::young::Young;
use super::{attenuates_most, has_unknown_extract};
use crate::additions::{self, Addition};
use crate::batch::Batch;
use crate::fermentation::fermented_part;
use crate::{Moment, Scale, wort};

/// What is added at packaging, or on the day before.
pub(super) struct Priming {
    attenuates: f64,
    scale: Scale,
    pub added: f64,
    pub error: f64,
    pub additions: Vec<String>,
    pub unknown: Vec<String>,
}

impl Priming {
    /// What a line packages the beer with, but for its questions.
    pub(super) fn of(
        batch: &Batch,
        package: &Package,
        (beer, at): (&Beer<'_>, Moment),
        volume: Option<Volume>,
    ) -> Self {
        let context = beer.context;
        let attenuates = attenuates_most(batch);
        let scale = context.scale(batch.wort.map_or(batch.place, |wort| wort.place));
        let mut gas =
            Self { attenuates, scale, added: 0.0, error: 0.0, additions: Vec::new(), unknown: Vec::new() };
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
        let measure = additions::measured(amount, beer);
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
