//! Beer and wort of other brews that carbonate what they are poured into.

use std::collections::BTreeMap;

use barm_quantity::{CarbonDioxide, Gravity, Mass, Share, Volume};
use barm_zymology::fermentation::{ATTENUATES, UNTOUCHED};
use barm_zymology::{carbonation, gravity};

use super::{answer, before, extract_between, reckon, to_ferment};
use crate::Moment;
use crate::answer::Answer;
use crate::batch::Batch;
use crate::context::{self, Context};
use crate::fault::Fault;
use crate::fermentation::fermented_part;
use crate::names::LotId;

/// Beer or wort of another brew that carbonates what it is poured into.
#[derive(Debug, Clone, Copy)]
pub(super) struct Young {
    /// What is still to ferment in it gives so much carbon dioxide, vol, and give or take.
    pub gas: f64,
    pub error: f64,
    /// Where it stood.
    pub gravity: Gravity,
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
            return Some(Self { gas: f64::midpoint(least, most), error, gravity: read.gravity });
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
        Some(Self { gas: f64::midpoint(least, most), error: (most - least) / 2.0, gravity: wort.gravity })
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

/// What other brews were when some of them was poured in.
#[derive(Debug, Default)]
pub(crate) struct Others(BTreeMap<(LotId, Moment), Young>);

impl Others {
    fn of<'b>(context: &Context<'_>, into: LotId, batch: impl Fn(LotId) -> Option<&'b Batch>) -> Self {
        let mut out = BTreeMap::new();
        for (at, _, statement) in context.events(into) {
            let poured = context::poured_in(&statement.kind).filter_map(|(what, _)| context.beer(&what.text));
            for from in poured.filter(|from| *from != into) {
                out.extend(batch(from).and_then(|batch| Some(((from, at), Young::of(batch, at)?))));
            }
        }
        Self(out)
    }

    pub(super) fn young(&self, context: &Context<'_>, what: &str, at: Moment) -> Option<Young> {
        self.0.get(&(context.beer(what)?, at)).copied()
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
