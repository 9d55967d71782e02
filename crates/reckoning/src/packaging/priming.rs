//! What is added at packaging, or so shortly before it that it still ferments.

use barm_quantity::{CarbonDioxide, Dimension, Gravity, Mass, Measure, Volume, plain};
use barm_syntax::ast::{Add, AmountKind, Organism, Package};
use barm_zymology::carbonation::{self, Sugar};
use barm_zymology::fermentation::{STUCK, tells_for};
use barm_zymology::gravity;

use super::beer::Beer;
use super::young::Poured;
use super::{PRIMING_HOURS, attenuates_most, before, may_carbonate, wanted_by};
use crate::additions::{self, Addition};
use crate::batch::Batch;
use crate::fermentation::{fermented_part, stands_since};
use crate::names::{LotId, LotKind};
use crate::{Moment, Place, Scale, wort};

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
    /// What the beer holds by itself.
    residual: CarbonDioxide,
    /// What other yeast may make of what the beer's own left, in words; half of it is counted.
    pub taken_up: Option<String>,
    /// How much beer of other brews went in.
    poured: Volume,
}

/// Beer at a line that it is primed at, or packaged.
#[derive(Clone, Copy)]
pub(super) struct Primed<'p> {
    pub batch: &'p Batch,
    pub beer: &'p Beer<'p>,
    pub at: Moment,
    pub line: Place,
    /// The gas that it holds.
    pub residual: CarbonDioxide,
    pub volume: Option<Volume>,
    /// When the keg was filled that it is drawn from: what was added before that is in its gas.
    pub kegged: Option<Moment>,
}

impl Primed<'_> {
    /// What was added before the line.
    pub(super) fn before(self) -> Priming {
        let mut gas = self.added();
        gas.take_up(self);
        gas
    }

    /// The same, and what a line packages the beer with, but for its questions.
    pub(super) fn with(self, package: &Package) -> Priming {
        let context = self.beer.context;
        let mut gas = self.added();
        for priming in package.with.iter().filter(|priming| priming.amount.kind != AmountKind::Asked) {
            let gravity = priming.at.map(|q| wort::as_gravity(&q.measure));
            let what = &*priming.what.text;
            let may_carbonate = may_carbonate(context, what);
            let poured = self.beer.others.poured(context, what, self.line);
            gas.add((priming.amount.kind, poured), what, gravity, self.volume, may_carbonate);
        }
        gas.take_up(self);
        gas
    }

    /// What one line adds to it.
    pub(super) fn by(self, add: &Add) -> Priming {
        let mut gas = self.nothing();
        let gravity = wort::added_gravity(add);
        gas.add((add.amount.kind, Poured::default()), &add.what.text, gravity, self.volume, false);
        gas
    }

    fn nothing(self) -> Priming {
        let Self { batch, beer, at, line, residual, .. } = self;
        Priming {
            attenuates: attenuates_most(batch.worked_by(at, line).as_deref()),
            scale: beer.context.scale(batch.wort.map_or(batch.place, |wort| wort.place)),
            added: 0.0,
            error: 0.0,
            additions: Vec::new(),
            unknown: Vec::new(),
            is_asked: false,
            residual,
            taken_up: None,
            poured: Volume::default(),
        }
    }

    fn added(self) -> Priming {
        let Self { batch, beer, at, residual, volume, kegged, .. } = self;
        let context = beer.context;
        let mut gas = self.nothing();
        let primed_from = kegged.unwrap_or(at.plus_hours(-PRIMING_HOURS));
        // What sugar and wort bring before that is still to ferment; of young beer no line says, until a gravity is read.
        let told_from = self.told_from();
        let young_from = before(batch, at).map_or(told_from, |read| read.at.max(told_from)).min(primed_from);
        let longer_before = beer.adds.partition_point(|(when, ..)| *when <= young_from);
        for (when, line, add, among) in beer.adds.iter().skip(longer_before) {
            let what = &*add.what.text;
            let poured = beer.others.poured(context, what, *line);
            if (poured.young.is_none() || kegged.is_some()) && *when <= primed_from {
                continue;
            }
            if let Some(wanted) = wanted_by(add).filter(|_| add.amount.kind == AmountKind::Asked) {
                gas.bring_to(what, wanted, residual);
                gas.is_asked = true;
                continue;
            }
            let may_carbonate = may_carbonate(context, what) && !additions::are_hops(add);
            let gravity = wort::added_gravity(add);
            // What was given to a filled keg went into all that is in it.
            let in_kegs = beer.in_kegs_volume().filter(|_| kegged.is_some_and(|filled| *when >= filled));
            gas.add((add.amount.kind, poured), what, gravity, in_kegs.or(*among).or(volume), may_carbonate);
        }
        gas
    }

    /// What was read or poured in before that tells little any more.
    fn told_from(self) -> Moment {
        let tells = tells_for(self.batch.traits.organism == Some(Organism::Lager)).as_hours();
        self.at.plus_hours(-tells)
    }

    /// What yeast that came in with other beer, or at bottling, and goes further than its own may take up of what that left: in
    /// litres of beer as it was before, and the lot that it came with.
    fn left_for_others(self) -> Option<(CarbonDioxide, LotId)> {
        let Self { batch, at, line, .. } = self;
        let primed_from = at.plus_hours(-PRIMING_HOURS);
        let (from, joined, reaches) = batch.joined_that_goes_furthest(primed_from, (at, line))?;
        // How far its own goes is told by what was there before.
        let found = batch.worked_by(at.min(joined.plus_hours(-Moment::LEAST_HOURS)), line)?;
        let (_, own) =
            found.attenuates.filter(|_| found.goes_on.is_none() && found.goes_on_to().is_none())?;
        // What was bought for the bottles differs from what made the beer by what such figures are out by.
        let is_bottled = !matches!(self.beer.context.kind(from), Some(LotKind::Brew | LotKind::Starter));
        if is_bottled && reaches - own < STUCK.as_fraction() {
            return None;
        }
        let given = found.given_at(primed_from)?;
        let by = |moment: Moment| batch.gravities.partition_point(|read| read.at <= moment);
        let since = batch.gravities.get(by(joined)..by(at)).unwrap_or_default();
        let last = since.last().map_or(joined, |read| read.at);
        if last < self.told_from() || stands_since(since).is_some() {
            return None;
        }
        let gone = since.last().and_then(|read| found.attenuation(read)).unwrap_or(0.0);
        let from_share = given.attenuation(own).max(gone);
        let to = given.attenuation(reaches).max(from_share);
        let extract = given.fermented(to) - given.fermented(from_share);
        Some((carbonation::from_extract(extract, given.volume), from))
    }
}

impl Priming {
    /// So much of something as brings beer that holds `residual` to a carbonation, beside all that is counted by then.
    pub(super) fn bring_to(&mut self, what: &str, wanted: CarbonDioxide, residual: CarbonDioxide) {
        let lacks = ((wanted - residual).as_volumes() - self.added).max(0.0);
        let error = match Addition::read(what) {
            Addition::Sugar(sugar) => sugar.error(),
            _ => carbonation::EXTRACT_ERROR,
        };
        self.added += lacks;
        self.error += lacks * error.as_fraction();
        self.additions.push(format!("{what} as asked"));
    }

    /// Nobody knows whether yeast that comes into beer that is done takes up what its own left there: half of that is counted,
    /// give or take as much.
    fn take_up(&mut self, primed: Primed<'_>) {
        let Some((gas, from)) = primed.left_for_others() else { return };
        let there = primed.volume.map_or(1.0, |beer| beer / (beer + self.poured));
        let half = gas.as_volumes() * there / 2.0;
        if half >= 0.005 {
            self.added += half;
            self.error += half;
            let (half, from) = (plain(half, 2), primed.beer.context.name(from));
            self.taken_up = Some(format!(
                "{half} ± {half} vol of what its own yeast left, if that of {from} takes it up"
            ));
        }
    }

    /// `may_carbonate`: it may give gas even where it is no known sugar.
    pub(super) fn add(
        &mut self,
        (amount, poured): (AmountKind, Poured),
        what: &str,
        gravity: Option<Gravity>,
        beer: Option<Volume>,
        may_carbonate: bool,
    ) {
        let young = poured.young;
        // What a lot is called says nothing of it; a gravity that is written does.
        let addition = match young {
            Some(_) if gravity.is_none() => Addition::Other,
            _ => Addition::known(what, amount, gravity),
        };
        let Some(beer) = beer.filter(|b| b.as_litres() > 0.0) else {
            if matches!(addition, Addition::Sugar(_) | Addition::Wort | Addition::Juice) || may_carbonate {
                self.unknown.push(format!("{what} (in how much beer?)"));
            }
            return;
        };
        let measure = poured.measured(addition, amount, beer);
        let (gas, error) = match (addition, measure, gravity) {
            (Addition::Sugar(sugar), Some(m), _) if m.dimension() == Dimension::Mass => {
                (sugar.carbonates(Mass::grams(m.base()), beer), additions::gas_error(sugar, amount))
            }
            (Addition::Wort | Addition::Juice, Some(m), Some(gravity))
                if m.dimension() == Dimension::Volume =>
            {
                let strength = gravity::plato(gravity);
                let more = Volume::litres(m.base());
                let extract = gravity::extract(strength) * more;
                let ferments = match addition {
                    Addition::Juice => 1.0,
                    _ => fermented_part(strength, self.attenuates),
                };
                // What holds no gas itself thins that of the beer.
                let thinned = self.residual * (more / (beer + more));
                (
                    carbonation::from_extract(extract * ferments, beer + more) - thinned,
                    carbonation::EXTRACT_ERROR,
                )
            }
            (Addition::Other, Some(m), _) if m.dimension() == Dimension::Volume && young.is_some() => {
                self.poured = self.poured + Volume::litres(m.base());
                let share = m.base() / (m.base() + beer.as_litres());
                let gas = young.map_or(0.0, |young| young.gas * share);
                self.error += young.map_or(0.0, |young| young.error * share);
                (CarbonDioxide::volumes(gas), carbonation::EXTRACT_ERROR)
            }
            (Addition::Water, ..) => return,
            (Addition::Sugar(sugar), ..) if sugar.carbon_dioxide_share() <= 0.0 => return,
            (Addition::Other, ..) if !may_carbonate => return,
            (Addition::Other, Some(m), _) if is_a_trifle(&m, beer) => return,
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

/// Whether there is so little of something that were it all sugar it would change no more than is known of the gas.
fn is_a_trifle(measure: &Measure, beer: Volume) -> bool {
    let grams = match measure.dimension() {
        Dimension::Mass => measure.base(),
        // No syrup holds more than a gram in a millilitre to speak of.
        Dimension::Volume => measure.base() * 1000.0,
        _ => return false,
    };
    Sugar::Sucrose.carbonates(Mass::grams(grams), beer) < carbonation::RESIDUAL_ERROR
}
