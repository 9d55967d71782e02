//! Beer and wort of other brews that carbonate what they are poured into.

use std::collections::BTreeMap;

use barm_quantity::{CarbonDioxide, Gravity, Mass, Measure, Share, Unit, Volume};
use barm_syntax::ast::AmountKind;
use barm_zymology::fermentation::{ATTENUATES, UNTOUCHED};
use barm_zymology::{carbonation, gravity};

use super::beer::Beer;
use super::{answer, before, extract_between, reckon, to_ferment};
use crate::Moment;
use crate::answer::Answer;
use crate::batch::Batch;
use crate::context::{self, Context};
use crate::fault::Fault;
use crate::fermentation::fermented_part;
use crate::names::LotId;

/// Of more shares than anybody pours into one beer the rest is not reckoned.
const MOST_SHARES: usize = 100;

/// Beer or wort of another brew that carbonates what it is poured into.
#[derive(Debug, Clone, Copy)]
pub(super) struct Young {
    /// What is still to ferment in it gives so much carbon dioxide, vol, and give or take.
    pub gas: f64,
    pub error: f64,
    /// Where it stood.
    pub gravity: Gravity,
    /// How much of it there was.
    left: Option<Volume>,
}

impl Young {
    /// A brew as it was at a moment; `None` where nothing tells how far it had come.
    fn of(batch: &Batch, at: Moment) -> Option<Self> {
        let gas_of = |extract: Mass| carbonation::from_extract(extract, Volume::litres(1.0)).as_volumes();
        if let Some(read) = before(batch, at) {
            let more = to_ferment(batch, batch.worked()?, at, at)?;
            let (low, high) = more.end.range;
            // The end that is reckoned with is the lowest that is likely.
            let most = more.gas.as_volumes();
            let least = if more.stale { 0.0 } else { (most - gas_of(extract_between(high - low))).max(0.0) };
            let error = ((most - least) / 2.0).hypot(more.error.as_volumes());
            return Some(Self { gas: f64::midpoint(least, most), error, gravity: read.gravity, left: None });
        }
        let wort = batch.wort?;
        if batch.pitched_at().is_some_and(|pitched| at.since(pitched) > UNTOUCHED) {
            return None;
        }
        let [low, _, high] = ATTENUATES.map(Share::as_fraction);
        let (low, high) = batch.worked().and_then(|found| found.attenuates).unwrap_or((low, high));
        let [least, most] = [low, high].map(|share| {
            let extract = gravity::extract(wort.strength) * Volume::litres(1.0);
            gas_of(extract * fermented_part(wort.strength, share))
        });
        Some(Self {
            gas: f64::midpoint(least, most),
            error: (most - least) / 2.0,
            gravity: wort.gravity,
            left: None,
        })
    }

    /// How much a share of it is.
    pub(super) fn share(self, amount: AmountKind) -> Option<Measure> {
        let share = match amount {
            AmountKind::Share(share) => share,
            AmountKind::All => 1.0,
            _ => return None,
        };
        self.left.map(|left| Measure::new(left.as_litres() * share, Unit::Litre))
    }

    /// So many litres of it bring as many of beer from one carbonation to another.
    pub(super) fn litres_for(
        self,
        beer: Volume,
        residual: CarbonDioxide,
        wanted: CarbonDioxide,
    ) -> Option<f64> {
        let lacks = wanted.as_volumes() - residual.as_volumes();
        (self.gas > lacks).then(|| beer.as_litres() * lacks.max(0.0) / (self.gas - lacks))
    }
}

/// How much there was of a brew when some of it was poured into another.
fn left(context: &Context<'_>, batch: &Batch, at: Moment) -> Option<Volume> {
    let none = Others::default();
    let mut beer = Beer::of(context, batch, &none);
    for (when, _, statement) in context.events(batch.lot).take_while(|(when, ..)| *when < at) {
        beer.parted_by(when);
        beer.goes_on(when, &statement.kind);
    }
    beer.parted_by(at);
    beer.left
}

/// What other brews were when some of them was poured in.
#[derive(Debug, Default)]
pub(crate) struct Others(BTreeMap<(LotId, Moment), Young>);

impl Others {
    fn of<'b>(context: &Context<'_>, into: LotId, batch: impl Fn(LotId) -> Option<&'b Batch>) -> Self {
        let mut out: BTreeMap<(LotId, Moment), Young> = BTreeMap::new();
        let mut shares = 0;
        for (at, _, statement) in context.events(into) {
            for (what, amount) in context::poured_in(&statement.kind) {
                let Some(from) = context.working(&what.text).filter(|from| *from != into) else { continue };
                let Some((batch, mut young)) = batch(from).and_then(|b| Some((b, Young::of(b, at)?))) else {
                    continue;
                };
                let is_share = matches!(amount.kind, AmountKind::Share(_) | AmountKind::All);
                if is_share && shares < MOST_SHARES {
                    shares += 1;
                    young.left = left(context, batch, at);
                }
                // Two lines of one moment may tell of it in two ways.
                let before = out.insert((from, at), young).and_then(|before| before.left);
                out.entry((from, at)).and_modify(|young| young.left = young.left.or(before));
            }
        }
        Self(out)
    }

    pub(super) fn young(&self, context: &Context<'_>, what: &str, at: Moment) -> Option<Young> {
        self.0.get(&(context.working(what)?, at)).copied()
    }
}

/// Reckons and answers for the brews that another's beer was poured into, when all others are reckoned.
pub(crate) fn of_blended(
    context: &Context<'_>,
    batches: &mut [Batch],
    batch_of: &[Option<usize>],
    faults: &mut Vec<Fault>,
    answers: &mut Vec<Answer>,
) {
    let index_of = |lot: LotId| *batch_of.get(lot.0 as usize)?;
    for lot in &context.blended {
        let others = Others::of(context, *lot, |lot| batches.get(index_of(lot)?));
        if let Some(batch) = index_of(*lot).and_then(|index| batches.get_mut(index)) {
            let mut told = Vec::new();
            reckon(context, batch, &others, &mut told);
            answer(context, batch, &others, &told, answers);
            faults.append(&mut told);
        }
    }
}
