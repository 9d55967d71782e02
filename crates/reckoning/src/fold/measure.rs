//! Counts and viabilities, which replace estimates.

use std::sync::Arc;

use barm_quantity::{Estimate, FactorName};
use barm_syntax::ast::{Amount, AmountKind, Count, Counted};
use barm_zymology::count;
use barm_zymology::storage::{self, Store};

use super::Fold;
use crate::Moment;
use crate::lot::{LiveShare, Supply};
use crate::names::LotId;

impl Fold<'_, '_> {
    pub(super) fn decant(&mut self, lot: LotId, amount: &Amount) {
        let AmountKind::Measured(measure) = amount.kind else { return };
        let Some(state) = self.state_mut(lot) else { return };
        // The yeast stays: less liquid, the same cells.
        if let Supply::Slurry { density, weighed: false } = &mut state.supply
            && measure.base() < state.left
        {
            let rest = state.left - measure.base();
            *density = density.scaled(state.left / rest);
            state.left = rest;
        }
    }

    pub(super) fn count(&mut self, lot: LotId, counted: &Count, at: Moment) {
        let name = self.context.name(lot);
        let (density, viability) = match &counted.what {
            Counted::Density(q) => (q.measure.estimate(FactorName::new("count", Arc::clone(&name))), None),
            Counted::Squares { live, singly, squares, dead, dilution, .. } => {
                let dead = u64::from(*dead);
                let count = if *singly {
                    count::Count::singly(live.iter().map(|c| u64::from(*c)).collect(), dead, *dilution)
                } else {
                    count::Count::total(live.iter().map(|c| u64::from(*c)).sum(), dead, *squares, *dilution)
                };
                (count.density(&name), Some(count.viability(&name)))
            }
        };
        if let Some(state) = self.state_mut(lot) {
            match &mut state.supply {
                Supply::Slurry { density: known, .. } => *known = density,
                Supply::Vials { density: known, .. } => *known = Some(density),
                _ => {}
            }
        }
        match viability {
            Some(share) => self.measured(lot, share, at),
            None => {
                // A density says nothing of the living: their share goes on as it was, and counts as looked at.
                if let Some(live) = self.state_mut(lot).and_then(|s| s.live.as_mut()) {
                    live.measured = true;
                }
            }
        }
    }

    pub(super) fn measured(&mut self, lot: LotId, share: Estimate, at: Moment) {
        let temperature = self.context.settings.refrigerator();
        if let Some(state) = self.state_mut(lot) {
            match &mut state.live {
                Some(live) => live.measured(share, at, temperature),
                None => {
                    state.live = Some(LiveShare {
                        start: share,
                        since: Some(at),
                        days_either_way: 0.0,
                        loss: storage::SLURRY,
                        store: Store::Slurry,
                        first: temperature,
                        kept: Vec::new(),
                        measured: true,
                    });
                }
            }
        }
    }
}
