//! Questions about yeast, answered where the fold stands.

use barm_quantity::{Cells, Estimate, Volume};
use barm_syntax::ast::{Asked, Kind};
use barm_zymology::starter;

use super::Fold;
use crate::answer::Answer;
use crate::batch::Wort;
use crate::lot::Supply;
use crate::names::{LotId, LotKind};
use crate::pitch::Wanted;
use crate::{Moment, Place, wort};

/// How much of a supply gives what is wanted beyond `have` live cells: even chances, and less than a 5 % chance of
/// falling short.
pub(crate) fn units_for(supply: &Supply, live_per_unit: &Estimate, wanted: &Wanted, have: f64) -> (f64, f64) {
    match (supply, wanted.grams) {
        (Supply::Dry { .. }, Some(grams)) => (grams, grams),
        _ => {
            let units = (wanted.cells - have).max(0.0) / live_per_unit.median();
            (units, units * (barm_quantity::NINETY * live_per_unit.spread()).exp())
        }
    }
}

impl Fold<'_, '_> {
    /// `pitch LOT ?`: the share of what is left that meets the target.
    pub(super) fn answer_pitch(&mut self, from: LotId, into: LotId, place: Place, at: Moment) -> Option<f64> {
        let state = self.state(from)?;
        let (supply, left) = (state.supply.clone(), state.left);
        let traits = self.traits(from);
        let live_per_unit = self.live_per_unit(from, at);
        let us = self.context.settings.speaks_us();
        let batch = self.batch(into)?;
        let wort = batch.wort;
        let unknown = |text: String| Answer {
            place,
            lot: into,
            text,
            edit: None,
            notes: Vec::new(),
            figures: Vec::new(),
        };
        let wanted = wort.as_ref().map(|w| crate::pitch::wanted(self.context.settings, batch, &traits, w));
        let answer = match (wort, wanted, live_per_unit) {
            (None, _, _) => unknown("no `wort` to pitch into: add `wort 21 L at 1.048`".to_owned()),
            (_, None, _) => unknown("how much it wants is not known".to_owned()),
            (_, Some(Err(why)), _) => unknown(format!("how much it wants is not known: {why}")),
            (_, _, None) => unknown(format!(
                "how much {} holds is not known: add its `pack`, `sachet` or `slurry`",
                self.context.name(from)
            )),
            (Some(_), Some(Ok(wanted)), Some(live)) => {
                let have: f64 =
                    batch.pitches.iter().filter_map(|p| p.live.as_ref()).map(Estimate::median).sum();
                let (units, sure) = units_for(&supply, &live, &wanted, have);
                let written = crate::advice::amount(&supply, units, left, us);
                let enough = units <= left * 1.001;
                let mut notes =
                    vec![format!("{} wanted: {}", crate::advice::billions(wanted.cells), wanted.rate)];
                if sure > units * 1.01 {
                    notes.push(format!(
                        "{} would be sure (less than a 5 % chance of falling short)",
                        crate::advice::amount(&supply, sure, left, us)
                    ));
                }
                if enough {
                    let edit = barm_syntax::Edit { span: place.span, text: written.clone() };
                    let text = format!("{written} of {}", self.context.name(from));
                    self.answers.push(Answer {
                        place,
                        lot: into,
                        text,
                        edit: Some(edit),
                        notes,
                        figures: Vec::new(),
                    });
                    return Some((units / left).clamp(0.0, 1.0));
                }
                let all = live.scaled(left);
                let text =
                    crate::advice::too_little(&self.context.name(from), &all, wanted.cells - have, at, us);
                Answer { place, lot: into, text, edit: None, notes, figures: Vec::new() }
            }
        };
        self.answers.push(answer);
        None
    }

    /// Live cells in one of a lot's own unit at a moment; for a starter and a cake, in all of it.
    pub(super) fn live_per_unit(&self, lot: LotId, at: Moment) -> Option<Estimate> {
        let total = match &self.state(lot)?.supply {
            Supply::Wort if self.context.kind(lot) == Some(LotKind::Starter) => self.grown(lot, at)?.0,
            Supply::Wort => self.caked(lot)?.0,
            supply => supply.cells_per_unit()?,
        };
        Some(total * self.live_share(lot, at)?)
    }

    /// `wort ? at G` in a starter: as large as what is pitched from it wants.
    pub(super) fn answer_starter_size(&mut self, starter: LotId, into: LotId) {
        let context = self.context;
        let Some(batch) = self.batch(starter) else { return };
        if batch.kind != LotKind::Starter || batch.wort.is_some() {
            return;
        }
        let Some(home) = context.home(starter) else { return };
        let Some((ask, gravity)) = home.block.statements.iter().find_map(|s| match &s.kind {
            Kind::Wort(w) => match (w.volume, w.gravity) {
                (Asked::Asked(span), Asked::Known(gravity)) => Some((home.place(span), gravity)),
                _ => None,
            },
            _ => None,
        }) else {
            return;
        };
        let gravity = wort::as_gravity(&gravity.measure);
        let strength = barm_zymology::gravity::plato(gravity);
        let traits = self.traits(starter);
        let wanted = self
            .batch(into)
            .and_then(|b| b.wort.as_ref().map(|w| crate::pitch::wanted(context.settings, b, &traits, w)));
        let pitched = self.pitched_cells(starter);
        let unanswered = |text: String| Answer {
            place: ask,
            lot: starter,
            text,
            edit: None,
            notes: Vec::new(),
            figures: Vec::new(),
        };
        let answer = match (wanted, pitched) {
            (None, _) => unanswered("the wort that it is for is not known".to_owned()),
            (Some(Err(why)), _) => unanswered(format!("how much the brew wants is not known: {why}")),
            (_, None) => unanswered("what is pitched into it is not known".to_owned()),
            (Some(Ok(wanted)), Some(pitched)) => {
                // 95–98 % of a fresh starter lives.
                let target = Cells::each(wanted.cells / 0.965);
                match starter::volume_for(target, &pitched, strength, batch.method) {
                    Some(volume) => {
                        let litres = crate::advice::round_up(volume.as_litres().max(0.1));
                        let volume = Volume::litres(litres);
                        let text = format!("{} L", barm_quantity::plain(litres, 2));
                        let notes = vec![format!(
                            "{} wanted ({}), from {} pitched into the starter",
                            crate::advice::billions(wanted.cells),
                            wanted.rate,
                            crate::advice::billions(pitched.median())
                        )];
                        let placed = Wort {
                            volume,
                            volume_error: Volume::litres(0.0),
                            gravity,
                            gravity_error: context.settings.hydrometer_error,
                            strength,
                            place: ask,
                            measured: false,
                        };
                        if let Some(state) = self.state_mut(starter) {
                            state.litres = Some(litres);
                        }
                        if let Some(batch) = self.batch_mut(starter) {
                            batch.wort = Some(placed);
                            batch.missing.retain(|m| m.figure != "wort");
                        }
                        let edit = barm_syntax::Edit { span: ask.span, text: text.clone() };
                        Answer {
                            place: ask,
                            lot: starter,
                            text,
                            edit: Some(edit),
                            notes,
                            figures: Vec::new(),
                        }
                    }
                    None => unanswered(format!(
                        "one step from {} cannot reach {}: grow it in two steps, or begin with more",
                        crate::advice::billions(pitched.median()),
                        crate::advice::billions(wanted.cells)
                    )),
                }
            }
        };
        self.answers.push(answer);
    }
}
