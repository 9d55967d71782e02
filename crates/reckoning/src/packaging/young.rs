//! Beer and wort of other brews that carbonate what they are poured into.

use std::collections::BTreeMap;

use barm_quantity::{CarbonDioxide, Gravity, Mass, Measure, Share, Unit, Volume};
use barm_syntax::ast::AmountKind;
use barm_zymology::fermentation::{ATTENUATES, UNTOUCHED};
use barm_zymology::{carbonation, gravity};

use super::beer::Beer;
use super::{answer, before, extract_between, reckon, to_ferment};
use crate::additions::Addition;
use crate::answer::Answer;
use crate::batch::Batch;
use crate::context::{self, Context};
use crate::fault::Fault;
use crate::fermentation::fermented_part;
use crate::names::LotId;
use crate::{Moment, Place};

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
    /// A brew as it was when a line poured some of it; `None` where nothing tells how far it had come.
    fn of(batch: &Batch, at: Moment, line: Place) -> Option<Self> {
        let worked = batch.worked_by(at, line);
        let gas_of = |extract: Mass| carbonation::from_extract(extract, Volume::litres(1.0)).as_volumes();
        if let Some(read) = before(batch, at) {
            let more = to_ferment(batch, worked.as_deref()?, (at, at), at)?;
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
        let (low, high) = worked.and_then(|found| found.attenuates).unwrap_or((low, high));
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

/// Shares of a beer that were poured into others become volumes, by how much of it was left.
pub(super) fn pour_out(context: &Context<'_>, batch: &mut Batch, others: &Others) {
    if !has_shares(batch) {
        return;
    }
    let mut beer = Beer::of(context, batch, others);
    for (at, shelved, statement) in context.events_of_beer(batch.lot) {
        beer.parted_by(at);
        beer.goes_on((at, shelved.place(statement.span)), &statement.kind);
    }
    let volumes = beer.all_taken_out();
    let of_beer = batch.taken_out.iter_mut().filter(|part| !part.before_yeast);
    of_beer.zip(volumes).for_each(|(part, volume)| part.volume = volume);
}

fn has_shares(batch: &Batch) -> bool {
    batch.taken_out.iter().any(|part| part.share.is_some())
}

/// Some of another brew that a line pours in.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Poured {
    /// What it was; `None` where nobody knows how far it had come.
    pub young: Option<Young>,
    /// How much it is, where the line says so as a share.
    share: Option<Volume>,
}

impl Poured {
    fn of(batch: &Batch, at: Moment, line: Place) -> Self {
        let then = batch.taken_out.partition_point(|part| part.at < at);
        let then = batch.taken_out.iter().skip(then).take_while(|part| part.at == at);
        let mut shares = then.filter(|part| part.share.is_some() && part.place == line);
        Self { young: Young::of(batch, at, line), share: shares.next().map(|part| part.volume) }
    }

    /// How much it is; of what is no share as it is written, to so much beer.
    pub(super) fn measured(self, what: Addition, amount: AmountKind, beer: Volume) -> Option<Measure> {
        match amount {
            AmountKind::Share(_) | AmountKind::All => {
                self.share.map(|share| Measure::new(share.as_litres(), Unit::Litre))
            }
            amount => what.measured(amount, beer),
        }
    }
}

/// What other brews were when some of them was poured in, by the line that says so.
#[derive(Debug, Default)]
pub(crate) struct Others(BTreeMap<(LotId, Place), Poured>);

impl Others {
    fn of<'b>(context: &Context<'_>, into: LotId, batch: impl Fn(LotId) -> Option<&'b Batch>) -> Self {
        let mut out = BTreeMap::new();
        for (at, shelved, statement) in context.events(into) {
            let line = shelved.place(statement.span);
            for (what, _) in context::poured_in(&statement.kind) {
                let from = context.working(&what.text).filter(|from| *from != into);
                if let Some((from, batch)) = from.and_then(|from| Some((from, batch(from)?))) {
                    out.insert((from, line), Poured::of(batch, at, line));
                }
            }
        }
        Self(out)
    }

    pub(super) fn poured(&self, context: &Context<'_>, what: &str, line: Place) -> Poured {
        let lot = context.working(what);
        lot.and_then(|lot| self.0.get(&(lot, line))).copied().unwrap_or_default()
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
    // A share of what had a share of another is known when that is.
    for lot in &context.blended {
        let Some(index) = index_of(*lot).filter(|index| batches.get(*index).is_some_and(has_shares)) else {
            continue;
        };
        let others = Others::of(context, *lot, |lot| batches.get(index_of(lot)?));
        if let Some(batch) = batches.get_mut(index) {
            pour_out(context, batch, &others);
        }
    }
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
