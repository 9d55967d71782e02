//! What a lot holds when nobody draws on it: for the list of what is left.

use barm_quantity::Estimate;
use barm_syntax::ast::Kind;
use barm_zymology::storage;
use jiff::civil::Date;

use super::Fold;
use crate::lot::Supply;
use crate::names::{LotId, LotKind};
use crate::strain::Traits;
use crate::{Moment, Place, volumes};

/// Less than this part of what there was is what sticks to the glass.
const DREGS: f64 = 0.005;

/// What a lot holds at a moment.
pub(crate) struct Holding {
    pub supply: Supply,
    /// In the supply's own unit.
    pub left: f64,
    /// How well that is known: around one.
    pub known_to: Estimate,
    /// Live cells in one of the supply's own unit; in all of a starter or a cake.
    pub live_per_unit: Option<Estimate>,
    pub live_share: Option<Estimate>,
    /// Days since it was made, harvested, counted alive, or (a cake) since its beer stopped working.
    pub age_days: Option<f64>,
    /// Days over which its live share has fallen.
    pub falling_days: Option<f64>,
    /// A count or a viability is newer than that.
    pub counted: bool,
    /// It was frozen, and is not of a bank.
    pub frozen: bool,
    /// The end of its `best-before`.
    pub best_before: Option<Date>,
    pub generation: Option<u32>,
    pub traits: Traits,
    /// The names of its strains, the largest share first.
    pub strains: Vec<String>,
    /// Where it is from.
    pub place: Place,
}

/// A cake that its beer has left, and that nobody put into a jar, is thought of for so many days more (judgement).
const BARE_DAYS: i32 = 2;

impl Fold<'_, '_> {
    /// What a lot holds; `None` where it is not there, or no longer.
    pub(crate) fn holding(&self, lot: LotId, at: Moment) -> Option<Holding> {
        let declared = self.context.names.lots.get(lot.0 as usize)?;
        let state = self.state(lot)?;
        if declared.unread {
            return None;
        }
        let there = match declared.kind {
            LotKind::Culture => {
                let made = state.made.filter(|_| state.live.as_ref().is_none_or(|live| !live.reckoned_back));
                made.is_none_or(|(made, _)| made.day_number() <= at.day_number())
            }
            LotKind::Harvest => state.made.is_some(),
            LotKind::Starter => self.is_kept_up(lot, at),
            LotKind::Brew => self.has_cake(lot, at),
        };
        let unknown_and_used = matches!(state.supply, Supply::Unknown) && state.last_draw.is_some();
        let empty = !matches!(state.supply, Supply::Unknown)
            && (state.left <= 0.0 || state.left < DREGS * state.declared);
        if !there || empty || unknown_and_used {
            return None;
        }
        let mut shares = state.shares.clone();
        shares.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let age_days = match declared.kind {
            LotKind::Brew => self.cake_age(lot, at),
            LotKind::Starter => self.starter_age(lot, at),
            LotKind::Culture | LotKind::Harvest => state.live.as_ref().and_then(|live| live.age_days(at)),
        };
        let falling_days = match declared.kind {
            LotKind::Brew | LotKind::Starter => age_days,
            LotKind::Culture | LotKind::Harvest => state.live.as_ref().and_then(|live| live.falling_days(at)),
        };
        Some(Holding {
            supply: state.supply.clone(),
            left: state.left,
            known_to: state.known_to(),
            live_per_unit: self.live_per_unit(lot, at),
            // A slant is grown from a few cells: which part of it lives matters to nobody.
            live_share: self.live_share(lot, at).filter(|_| !matches!(state.supply, Supply::Slant)),
            age_days,
            falling_days,
            counted: state.live.as_ref().is_some_and(|live| live.measured),
            frozen: self.frozen(lot, at).is_some(),
            best_before: state.live.as_ref().and_then(|live| live.best_before),
            generation: self.generation(lot),
            traits: self.traits(lot),
            strains: shares
                .iter()
                .filter_map(|(strain, _)| Some(self.strains.get(*strain)?.name.to_string()))
                .collect(),
            place: state.made.map_or(declared.place, |(_, place)| place),
        })
    }

    /// The part of a lot that lives at any other moment.
    pub(crate) fn live_share_at(&self, lot: LotId, at: Moment) -> Option<f64> {
        self.live_share(lot, at).map(|share| share.median())
    }

    /// What was pitched into a batch, or the lot that a harvest was taken from.
    pub(crate) fn parents(&self, lot: LotId) -> Vec<LotId> {
        let mut out: Vec<LotId> = Vec::new();
        match self.batch(lot) {
            Some(batch) => {
                for pitch in &batch.pitches {
                    if !out.contains(&pitch.lot) {
                        out.push(pitch.lot);
                    }
                }
            }
            None => out.extend(self.context.names.lots.get(lot.0 as usize).and_then(|l| l.taken_from)),
        }
        out
    }

    /// Yeast went in, and not so long ago that nobody thinks of it any more.
    fn is_kept_up(&self, lot: LotId, at: Moment) -> bool {
        let Some(batch) = self.batch(lot) else { return false };
        let told = batch.last_event.is_some_and(|last| at.hours_since(last) <= storage::FOLLOWED.as_hours());
        told && batch.pitched_at().is_some()
    }

    /// A brew has a cake from when it has worked to some days after its beer has left it, or until somebody cleans up.
    fn has_cake(&self, lot: LotId, at: Moment) -> bool {
        if !self.is_kept_up(lot, at) {
            return false;
        }
        let Some(batch) = self.batch(lot) else { return false };
        let mut left = volumes::emptied(self.context, batch);
        let mut harvested = None;
        for (when, _, statement) in self.context.events(lot).take_while(|(when, ..)| *when <= at) {
            match &statement.kind {
                Kind::Package(_) if batch.wort.is_none() => left = left.or(Some(when)),
                Kind::Rack(_) => left = left.or(Some(when)),
                Kind::Harvest(_) => harvested = Some(when.day_number()),
                Kind::Clean(_) if left.is_some_and(|left| left <= when) => return false,
                _ => {}
            }
        }
        // What stays behind when it is put into jars is not thought of any more.
        let last_day = |left: Moment| {
            let left = left.day_number();
            harvested.filter(|day| *day >= left).unwrap_or(left + BARE_DAYS)
        };
        self.has_worked(lot, at) && left.is_none_or(|left| at.day_number() <= last_day(left))
    }
}
