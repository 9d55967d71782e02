//! Counts and viabilities, which replace estimates.

use barm_quantity::Estimate;
use barm_syntax::ast::{Amount, AmountKind, Count, Counted, Organism, Wash};
use barm_zymology::storage::{self, Store};
use barm_zymology::supply;

use super::declare::PACKED;
use super::{Fold, Line};
use crate::blends::Mix;
use crate::counts::Counting;
use crate::fault::Fault;
use crate::lot::{LiveShare, Supply};
use crate::names::{LotId, LotKind};
use crate::strain::Traits;
use crate::timeline::Shelved;
use crate::washes::Washed;
use crate::{Moment, Place, advice, volumes};

impl Fold<'_, '_> {
    /// Liquid poured off settled yeast: the yeast stays, in less, as far as it settles.
    pub(super) fn decant(&mut self, lot: LotId, amount: Option<&Amount>, line: Line) {
        let measure = match amount.map(|a| a.kind) {
            Some(AmountKind::Measured(measure)) => Some(measure),
            _ => None,
        };
        let poured = measure.map(|measure| measure.base());
        let settled = self.context.settings.models.slurry(
            Some(supply::Thickness::Thick),
            supply::Origin::Bottom,
            &self.context.name(lot),
        );
        let densest = supply::slurry(Some(supply::Thickness::Thick), supply::Origin::Top, "");
        let Some(state) = self.state_mut(lot) else { return };
        let (there, unit) = match state.supply {
            Supply::Slurry { weighed: false, .. } => (Some(state.left), "mL"),
            Supply::Wort => (state.litres, "L"),
            _ => (None, ""),
        };
        if let (Some(there), Some(measure)) = (there, measure)
            && measure.base() > there * (1.0 + volumes::slack(volumes::by_eye(&measure)))
        {
            let shown = |litres: f64| if unit == "mL" { litres * 1000.0 } else { litres };
            let (taken, left, last_draw) = (shown(measure.base()), shown(there), state.last_draw);
            self.faults.push(Fault::Overdrawn { lot, place: line.place, taken, left, unit, last_draw });
            return;
        }
        match &mut state.supply {
            // How much was poured off nobody wrote: what has settled is thick, and all of its cells are in it.
            Supply::Slurry { density, .. } if amount.is_none() => {
                let thickens = settled.median() / density.median();
                if thickens > 1.0 {
                    *density = settled;
                    state.left /= thickens;
                    state.counted = false;
                }
            }
            Supply::Slurry { density, weighed: false } => {
                if let Some(poured) = poured.filter(|p| *p < state.left) {
                    let rest = state.left - poured;
                    // Yeast settles no denser than the cleanest: what is poured off beyond that takes some of it along.
                    let most = (densest.high() / density.median()).max(1.0);
                    *density = density.scaled((state.left / rest).min(most));
                    state.left = rest;
                }
            }
            // How much liquid is left of a starter is known only where what was poured off is.
            Supply::Wort => {
                let rest = state.litres.zip(poured).map(|(litres, poured)| litres - poured);
                state.litres = rest.filter(|rest| *rest > 0.0);
            }
            _ => {}
        }
    }

    /// Acid kills some of the yeast with the bacteria; water loses some of it with the trub.
    pub(super) fn wash(&mut self, lot: LotId, wash: &Wash, at: Moment, place: Place) {
        let name = self.context.name(lot);
        let donor = self.state(lot).and_then(|state| state.donor);
        self.washes.extend(wash.ph.as_ref().map(|ph| Washed {
            lot,
            at,
            place,
            ph: ph.measure,
            time: wash.duration.as_ref().map(|time| time.measure),
            temperature: wash.at.as_ref().map(|at| at.measure),
            donor,
        }));
        let Some(state) = self.state_mut(lot) else { return };
        if wash.ph.is_some() {
            if let Some(live) = &mut state.live {
                live.start = (live.start.clone() * storage::acid_washed(&name)).capped(1.0);
            }
        } else if let Supply::Slurry { density: cells, .. } | Supply::Part { cells, .. } = &mut state.supply {
            *cells = cells.clone() * storage::water_washed(&name);
        }
    }

    /// After a boil nothing in a wort lives: what was pitched before is gone, and with it what it was.
    pub(super) fn boil(&mut self, lot: LotId, at: Moment) {
        // Where no yeast is told yet it is the wort that is boiled, and whatever settles later lives.
        let killed = self.batch(lot).is_some_and(|batch| !batch.pitches.is_empty());
        let Some(home) = self.context.home(lot) else { return };
        let own = Traits::of(home.block);
        let dead = self.slurry_from(Estimate::exact(0.0), at);
        if let Some(batch) = self.batch_mut(lot) {
            batch.pitches.clear();
            batch.guests.clear();
            batch.traits = own;
        } else if let Some(live) = self.state_mut(lot).and_then(|s| s.live.as_mut()) {
            live.start = Estimate::exact(0.0);
        }
        if let Some(state) = self.state_mut(lot) {
            state.shares.clear();
            state.mix = Mix::default();
            state.rounds = Some(0);
            if killed {
                state.live = Some(Box::new(dead));
            }
            (state.lab, state.line, state.donor) = (None, None, None);
        }
        self.descents.retain(|descent| descent.to != lot);
    }

    /// A count of slurry as it is likely meant, where that is not what is written.
    pub(super) fn meant_count(
        &mut self,
        lot: LotId,
        counted: &Count,
        shelved: &Shelved<'_>,
    ) -> Option<Count> {
        let Counted::Density(written) = &counted.what else { return None };
        let organism = self.traits(lot).organism;
        let usual = match &self.state(lot)?.supply {
            Supply::Slurry { density, .. } => density.clone(),
            Supply::Part { density, .. } => Estimate::clone(density),
            _ => return None,
        };
        let meant = self.meant_density(written, &usual, organism, shelved)?;
        Some(Count { what: Counted::Density(meant), ..counted.clone() })
    }

    pub(super) fn count(&mut self, lot: LotId, counted: &Count, at: Moment, place: Place) {
        let name = self.context.name(lot);
        let counting = Counting::of(lot, &name, counted, at, place, self.state(lot).map(|s| &s.supply));
        let (density, viability) = (counting.density.clone(), counting.viability.clone());
        let bacteria = self.traits(lot).organism == Some(Organism::Bacteria);
        if counting.seen.is_some() && !bacteria && density.low() > PACKED {
            let cells = advice::billions(density.median());
            let why = format!("this count comes to {cells}/mL: not even packed yeast holds so many cells");
            self.faults.push(Fault::Impossible { place, why });
            return;
        }
        self.counts.push(counting);
        let is_starter = self.context.kind(lot) == Some(LotKind::Starter);
        if let Some(state) = self.state_mut(lot) {
            match &mut state.supply {
                Supply::Slurry { density: known, .. } => {
                    *known = density;
                    state.counted = true;
                }
                // How large it is nobody wrote: of all its cells a count says nothing.
                Supply::Part { density: known, .. } => **known = density,
                Supply::Vials { density: known, .. } => *known = Some(density),
                // In a beer it is the yeast afloat, which says nothing of the cake.
                Supply::Wort if is_starter => {
                    let cells = state.litres.map(|litres| Box::new(density.scaled(litres * 1000.0)));
                    state.counted_cells = cells.or(state.counted_cells.take());
                }
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
        let loss = self.context.settings.models.slurry_loss;
        self.passes(lot, at);
        if let Some(state) = self.state_mut(lot) {
            // Who counts a jar has thawed it; of vials one is thawed, and the others stay.
            let is_thawed = !matches!(state.supply, Supply::Vials { .. });
            match &mut state.live {
                Some(live) => live.measured(share, at, is_thawed.then_some(temperature)),
                None => {
                    state.live = Some(Box::new(LiveShare {
                        start: share,
                        since: Some(at),
                        days_either_way: 0.0,
                        begun: None,
                        reckoned_back: false,
                        best_before: None,
                        loss,
                        store: Store::Slurry,
                        first: temperature,
                        kept: Vec::new(),
                        measured: true,
                    }));
                }
            }
        }
    }
}
