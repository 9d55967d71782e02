//! Drawing on a lot: what goes in, and what stays.

use std::sync::Arc;

use barm_quantity::{Dimension, Estimate, FactorName, Measure, Temperature};
use barm_syntax::Span;
use barm_syntax::ast::{Add, Amount, AmountKind, Container, DryPitch, Kind, Pitch};
use barm_zymology::supply;

use super::harvest::slurry_litres;
use super::{Descent, Drawn, Fold, Line, thousandth};
use crate::batch::{Batch, Form, Pitching};
use crate::fault::Fault;
use crate::history::{Donor, History, Unknown};
use crate::lot::{Supply, normalised};
use crate::names::{LotId, LotKind};
use crate::{Fact, Moment, advice};

/// For so long the yeast of a beer that works swims: later much of it may lie at the bottom (judgement).
const SWIMS_HOURS: f64 = 4.0 * 24.0;
/// So many times what is left nobody takes by a slip of the memory: it is one of the unit (judgement).
const FAR_TOO_MUCH: f64 = 20.0;

impl Fold<'_, '_> {
    pub(super) fn pitch(&mut self, from: LotId, into: LotId, pitch: &Pitch, line: Line, at: Moment) {
        if from == into {
            let places = vec![line.at(pitch.lot.span)];
            self.faults.push(Fault::Loop { lots: vec![from], places, of_wort: false });
            return;
        }
        let sprinkled = pitch.dry == Some(DryPitch::Sprinkled);
        self.goes_in(from, into, sprinkled, pitch.amount.as_ref(), (line, pitch.lot.span), at);
    }

    /// `add 300 mL LOT`: said of yeast it is one more pitch.
    pub(super) fn add_yeast(&mut self, from: LotId, into: LotId, add: &Add, line: Line, at: Moment) {
        if from != into {
            self.goes_in(from, into, false, Some(&add.amount), (line, add.what.span), at);
        }
    }

    fn goes_in(
        &mut self,
        from: LotId,
        into: LotId,
        sprinkled: bool,
        amount: Option<&Amount>,
        (line, name): (Line, Span),
        at: Moment,
    ) {
        let there = self.is_there(from, at, line.at(name));
        self.descents.push(Descent { from, to: into, at, place: line.place, packaged: false });
        if !there {
            return;
        }
        self.answer_starter_size(from, at);
        let Some(Amount { kind: AmountKind::Asked, span }) = amount else {
            self.pour(from, into, sprinkled, amount, line, at);
            return;
        };
        match self.answer_pitch(from, into, sprinkled, (line.place, line.at(*span)), at) {
            Some(part) if part <= 0.0 => {}
            Some(part) => {
                let kind = AmountKind::Share(part);
                self.pour(from, into, sprinkled, Some(&Amount { span: *span, kind }), line, at);
            }
            // Which yeast it is, is known all the same.
            None => {
                if let Some(batch) = self.batch_mut(into).filter(|batch| batch.kind == LotKind::Brew) {
                    batch.asks_for_yeast = true;
                    self.pour(from, into, sprinkled, amount, line, at);
                }
            }
        }
    }

    /// Yeast goes in: takes it from the lot and notes what it is.
    fn pour(
        &mut self,
        from: LotId,
        into: LotId,
        sprinkled: bool,
        amount: Option<&Amount>,
        line: Line,
        at: Moment,
    ) {
        let Some(pitching) = self.take(from, amount, line, at, sprinkled) else { return };
        let gains = pitching.traits.clone();
        let (lab, line_began, donor) = (pitching.lab, pitching.history.line, pitching.history.donor);
        let rounds = if pitching.mixture { pitching.rounds } else { Some(0) };
        let is_first = self.batch(into).is_some_and(|batch| batch.pitches.is_empty());
        if let Some(state) = self.state_mut(into) {
            // What was boiled before is not what lives now.
            if is_first {
                state.live = None;
            }
            let earlier = |a: Option<Moment>, b: Option<Moment>| match (a, b) {
                (Some(a), Some(b)) => Some(a.min(b)),
                (a, b) => a.or(b),
            };
            state.mix.pour(&mut state.shares, &pitching);
            state.rounds = state.rounds.zip(rounds).map(|(a, b)| a.max(b));
            state.lab = earlier(state.lab, lab);
            state.line = earlier(state.line, line_began);
            state.donor = state.donor.or(donor);
            state.made.get_or_insert((at, line.place));
            state.counted_cells = None;
        }
        if let Some(batch) = self.batch_mut(into) {
            batch.traits = batch.traits.or(&gains);
            // Most have one: room for more would be most of what a season takes.
            if batch.pitches.is_empty() {
                batch.pitches.reserve_exact(1);
            }
            batch.pitches.push(pitching);
        }
    }

    /// Takes an amount out of a lot at a moment and tells all that is known of it.
    pub(super) fn take(
        &mut self,
        lot: LotId,
        amount: Option<&Amount>,
        line: Line,
        at: Moment,
        sprinkled: bool,
    ) -> Option<Pitching> {
        let context = self.context;
        let name = context.name(lot);
        let works = self.swims(lot, at);
        let drawn_before = self.state(lot)?.last_draw;
        let drawn = self.draw(lot, amount, at, line);
        let state = self.state(lot)?;
        let supply = state.supply.clone();
        let live_share = self.live_share(lot, at);
        let mut out = Pitching {
            place: line.place,
            at,
            lot,
            name: Arc::clone(&name),
            form: Form::Unknown,
            taken: 0.0,
            unit: supply.unit(),
            part: 0.0,
            left_after: 0.0,
            total: None,
            live_share: live_share.clone(),
            live: None,
            live_per_unit: None,
            age_days: match (&state.live, state.made.filter(|_| state.unknown.is_some())) {
                (None, Some((made, _))) => Some(at.hours_since(made).max(0.0) / 24.0),
                (live, _) => live.as_ref().and_then(|live| live.age_days(at)),
            },
            since: state.made.map(|(_, place)| place),
            measured: state.live.as_ref().is_some_and(|l| l.measured),
            generation: self.generation(lot),
            lab: state.lab,
            dry_grams: None,
            first_use_dry: false,
            traits: self.traits(lot),
            mixture: state.shares.len() > 1,
            shares: state.shares.clone(),
            rounds: state.rounds,
            sprinkled: None,
            hours_either_way: line.hours_either_way,
            history: History {
                warm: supply
                    .is_slurry()
                    .then(|| state.live.as_ref().and_then(|live| live.warm(at)))
                    .flatten()
                    .map(Box::new),
                frozen: self.frozen(lot, at),
                donor: state.donor,
                line: state.line.or((self.generation(lot) == Some(0)).then_some(at)),
            },
            from: String::new(),
            unknown: None,
            of_whole: false,
            emptied_by: None,
            // Of what is measured once more it does not matter.
            jarred: state.jarred.filter(|_| !is_measured(amount)),
        };
        let kept = state.live.as_ref().and_then(|l| l.kept_between(at));
        let mut per_unit_total: Option<Estimate> = None;
        match &supply {
            Supply::Packs { each } => {
                out.form = Form::Pack;
                per_unit_total = Some(each.clone());
                out.from = {
                    let fresh = supply::PACK_LIVE.as_fraction();
                    format!("{:.0} B on the label × {fresh}", each.median() / 1e9 / fresh)
                };
            }
            Supply::Dry { per_gram, .. } => {
                out.form = Form::Dry;
                out.first_use_dry = true;
                out.from = format!("{:.1} B/g dry", per_gram.median() / 1e9);
                per_unit_total = Some(per_gram.clone());
                if sprinkled {
                    let survives = supply::dry(None, true, &name) / supply::dry(None, false, &name);
                    per_unit_total = Some(per_gram.clone() * survives.clone());
                    out.sprinkled = Some(Box::new(survives));
                    out.from.push_str(", sprinkled");
                }
            }
            Supply::Slurry { density, weighed } => {
                out.form = Form::Slurry;
                let per_ml = density.clone();
                per_unit_total =
                    Some(if *weighed { per_ml.scaled(1.0 / supply::SLURRY_GRAMS_PER_ML) } else { per_ml });
                let how = if state.counted { "counted" } else { "by its thickness" };
                out.from = format!("{:.2} B/mL {how}", density.median() / 1e9);
            }
            Supply::Part { cells, .. } => {
                out.form = Form::Slurry;
                per_unit_total = Some(cells.clone());
                out.from = format!("its part of a cake, {} in all", advice::billions(cells.median()));
            }
            Supply::Vials { litres, density } => {
                out.form = Form::Bank;
                per_unit_total = density.as_ref().map(|d| d.scaled(litres * 1000.0));
                if let Some(density) = density {
                    out.from = format!(
                        "{:.2} B/mL counted in {:.0} mL each",
                        density.median() / 1e9,
                        litres * 1000.0
                    );
                }
            }
            Supply::Slant => out.form = Form::Bank,
            Supply::Wort => {
                let starter = context.kind(lot) == Some(LotKind::Starter);
                out.form = if starter { Form::Starter } else { Form::Cake };
                let cells = if starter { self.grown(lot, at) } else { self.caked(lot, at) };
                if starter && cells.is_none() && self.asks_for_wort(lot) {
                    out.from = "how large it is is asked".to_owned();
                }
                if let Some((total, mut how)) = cells {
                    if let Some(jar) = out.jarred {
                        how.push_str(&format!(", less what went into {}", context.name(jar)));
                    }
                    let part = drawn.as_ref().map_or(1.0, |d| d.amount);
                    let slurry = drawn.as_ref().and_then(|d| d.slurry.clone());
                    // A share is one of what is left, as far as that is known.
                    let known_to = drawn.as_ref().filter(|_| !is_measured(amount)).map(|d| &d.known_to);
                    let known_to = known_to.cloned().unwrap_or(Estimate::exact(1.0));
                    out.total = slurry.or_else(|| {
                        (part > 0.0 || !is_measured(amount)).then(|| total.scaled(part) * known_to)
                    });
                    out.from = match works && is_measured(amount) {
                        true => format!("beer that still works, with its part of what becomes {how}"),
                        false => how,
                    };
                }
                if starter {
                    out.age_days = self.starter_age(lot, at);
                } else {
                    out.age_days = self.cake_age(lot, at);
                    out.history.donor = Some(Donor { lot, alcohol: self.strength(lot, at) });
                    out.measured = false;
                }
            }
            Supply::Unknown => {}
        }
        if let Supply::Part { density, .. } = &supply
            && drawn.as_ref().is_some_and(|drawn| drawn.slurry.is_some())
        {
            out.from = format!("{:.2} B/mL", density.median() / 1e9);
        }
        let is_dead = live_share.as_ref().is_some_and(|share| share.median() <= 0.0);
        if let Some(alive) = live_share.as_ref().map(|share| format!("{:.0} % alive", share.median() * 100.0))
        {
            let ages = !matches!(supply, Supply::Wort | Supply::Unknown);
            let fallen = self.state(lot)?.live.as_ref().and_then(|live| live.falling_days(at));
            match (fallen.filter(|days| ages && *days > 0.5), kept) {
                (Some(days), Some((low, high))) => {
                    let scale = context.scale(line.place);
                    let shown = |kept: Temperature| scale.point(kept.as_celsius());
                    let kept =
                        if low < high { format!("{} to {}", shown(low), shown(high)) } else { shown(low) };
                    let days = advice::days(days);
                    out.from.push_str(&format!(", {days} at {kept} {}: {alive}", scale.unit()));
                }
                _ if out.measured || is_dead => out.from.push_str(&format!(", {alive}")),
                _ => {}
            }
        }
        if let Some(drawn) = &drawn {
            // Of a cake that is drawn on by volume nobody knows that nothing is left.
            let is_empty = drawn.amount <= 0.0 && !(out.form == Form::Cake && is_measured(amount));
            out.emptied_by = drawn_before.filter(|_| is_empty);
            out.taken = supply.shown(drawn.amount);
            out.part = drawn.part;
            out.left_after = supply.shown(drawn.left);
            if let Some(per_unit) = per_unit_total {
                let units = supply.shown(drawn.amount);
                let total = drawn.slurry.clone().unwrap_or_else(|| per_unit.scaled(units));
                out.total = Some(total * normalised(&drawn.known_to));
                out.live_per_unit = live_share.as_ref().map(|share| per_unit * share.clone());
            }
            if out.form == Form::Dry {
                out.dry_grams = Some(drawn.amount);
            }
        }
        // Less than a cell is none.
        out.total = out.total.map(|total| if total.high() < 1.0 { Estimate::exact(0.0) } else { total });
        out.live = match (&out.total, &live_share) {
            (Some(total), Some(share)) => Some(total.clone() * share.clone()),
            _ => None,
        };
        if matches!(supply, Supply::Wort)
            && let (Some(live), Some(drawn)) = (&out.live, &drawn)
            && drawn.amount > 0.0
        {
            out.live_per_unit = Some(live.scaled(1.0 / drawn.amount));
        }
        if out.live.is_none() {
            let undrawn = amount.filter(|_| drawn.is_none()).map(|amount| amount.kind);
            out.unknown = Some(Box::new(self.unknown(lot, &out, line, undrawn)));
        }
        Some(out)
    }

    /// Why it is not known how much lives in what was taken. `undrawn`: the amount is asked, or none of what the lot is in.
    fn unknown(&self, lot: LotId, taken: &Pitching, line: Line, undrawn: Option<AmountKind>) -> Unknown {
        let count = Fact::Count(line.place, lot);
        let told = |why, lacks| Unknown { of: None, why, lacks, was_frozen: false };
        let state = self.state(lot);
        if undrawn == Some(AmountKind::Asked) {
            return told("how much of it is asked", Fact::Supply(lot));
        }
        if taken.history.frozen.is_some() {
            return Unknown { was_frozen: true, ..told("it was frozen", count) };
        }
        if let Some(unknown) = state.filter(|state| state.live.is_none()).and_then(|s| s.unknown.as_deref()) {
            return Unknown { lacks: count, ..unknown.clone() };
        }
        let supply = state.map_or(&Supply::Unknown, |state| &state.supply);
        let in_what = match supply {
            Supply::Packs { .. } => Some("it is in packs, and the amount taken of it is not"),
            Supply::Dry { .. } => Some("it is in grams, and the amount taken of it is not"),
            Supply::Slurry { .. } | Supply::Part { .. } => {
                Some("it is a slurry, and the amount taken of it is none of that")
            }
            Supply::Vials { .. } => Some("it is in vials, and the amount taken of it is not"),
            Supply::Wort => Some("it is a wort, and the amount taken of it is none of that"),
            Supply::Slant | Supply::Unknown => None,
        };
        if let Some(why) = in_what.filter(|_| undrawn.is_some()) {
            return told(why, Fact::Supply(lot));
        }
        let begun = self.batch(lot).map_or(&[][..], |batch| &batch.pitches);
        let begun = begun.iter().find_map(|pitch| Some((pitch.unknown.as_deref()?, &pitch.name)));
        match (taken.form, begun) {
            (Form::Bank, _) if taken.unit == "vials" => told("no `count`", count),
            (Form::Bank, _) => told("nobody counts a loop", Fact::Supply(lot)),
            (Form::Starter, _) if self.asks_for_wort(lot) && self.pitched_cells(lot).is_some() => {
                told("how large it is is asked", Fact::Supply(lot))
            }
            (Form::Starter, Some((unknown, name))) => unknown.from(name, count),
            (Form::Starter, None) => told("nothing known was pitched into it", Fact::Supply(lot)),
            (Form::Cake, _) if self.caked(lot, taken.at).is_some() => {
                told("by its wort all of that cake is taken before", Fact::Supply(lot))
            }
            (Form::Cake, _) => told("no `wort` of that brew", Fact::Supply(lot)),
            _ => told("no `pack`, `sachet` or `slurry`", Fact::Supply(lot)),
        }
    }

    /// Whether the yeast of a brew is in all of its beer, and not yet at the bottom.
    pub(super) fn swims(&self, lot: LotId, at: Moment) -> bool {
        let pitched = self.batch(lot).filter(|batch| batch.kind == LotKind::Brew).and_then(Batch::pitched_at);
        let is_young = pitched.is_some_and(|pitched| at.hours_since(pitched) < SWIMS_HOURS);
        is_young
            && !self.has_worked(lot, at)
            && !self.context.events(lot).take_while(|(when, ..)| *when <= at).any(|(_, _, statement)| {
                matches!(statement.kind, Kind::Package(_) | Kind::Rack(_) | Kind::Crash(_))
            })
    }

    /// Takes an amount out of a lot's stock, in its own unit.
    pub(super) fn draw(
        &mut self,
        lot: LotId,
        amount: Option<&Amount>,
        at: Moment,
        line: Line,
    ) -> Option<Drawn> {
        let name = self.context.name(lot);
        let live_share = self.live_share(lot, at);
        let is_brew = self.context.kind(lot) == Some(LotKind::Brew);
        let cake = if is_brew && is_measured(amount) { self.caked(lot, at) } else { None };
        let cake = cake.map(|(cells, _)| cells);
        let in_cells = matches!(amount.map(|a| a.kind), Some(AmountKind::Measured(m)) if m.dimension() == Dimension::Cells);
        let grown = if in_cells && !is_brew { self.grown(lot, at).map(|(cells, _)| cells) } else { None };
        let works = self.swims(lot, at);
        let wort = self.batch(lot).and_then(|batch| batch.wort).map(|wort| wort.volume.as_litres());
        let state = self.states.get_mut(lot.0 as usize)?;
        let left = state.left;
        let mut known_to = state.known_to();
        let most = left * known_to.high();
        let mut heap: Option<Heap> = None;
        let mut slurry = None;
        // All that live in a cake or a starter, where some of them are asked for by their number.
        let mut cells = None;
        let mut written: Option<Measure> = None;
        let kind = amount.map_or(AmountKind::All, |a| a.kind);
        let taken = match kind {
            AmountKind::All => left,
            AmountKind::Asked => return None,
            AmountKind::Share(share) => share * left,
            AmountKind::Counted(number, container) => match (&state.supply, container) {
                (Supply::Packs { .. }, Container::Pack) | (Supply::Vials { .. }, Container::Vial) => number,
                (Supply::Dry { sachet, .. }, Container::Sachet | Container::Pack) => number * sachet,
                (Supply::Slant, _) => number,
                _ => return None,
            },
            AmountKind::Times(..) | AmountKind::Measured(_) => {
                let (measure, number) = match kind {
                    AmountKind::Times(number, measure) => (measure, number),
                    AmountKind::Measured(measure) => (measure, 1.0),
                    _ => return None,
                };
                written = Some(measure);
                // What is written of the draw is what is known of it; the stock's own uncertainty stays with the stock.
                known_to = normalised(&measure.estimate(FactorName::new("amount taken", Arc::clone(&name))));
                let base = measure.base() * number;
                use Dimension as D;
                match (&state.supply, measure.dimension()) {
                    (Supply::Slurry { weighed: false, .. }, D::Volume) | (Supply::Dry { .. }, D::Mass) => {
                        base
                    }
                    (Supply::Slurry { weighed: true, .. }, D::Mass) => base,
                    (Supply::Slurry { weighed: false, .. }, D::Mass) => {
                        base / supply::SLURRY_GRAMS_PER_ML / 1000.0
                    }
                    (Supply::Slurry { weighed: true, .. }, D::Volume) => {
                        base * 1000.0 * supply::SLURRY_GRAMS_PER_ML
                    }
                    (Supply::Slurry { density, weighed }, D::Cells) => {
                        let live_per_ml =
                            density.median() * live_share.as_ref().map_or(1.0, Estimate::median);
                        let ml = if live_per_ml > 0.0 { base / live_per_ml } else { return None };
                        if *weighed { ml * supply::SLURRY_GRAMS_PER_ML } else { ml / 1000.0 }
                    }
                    (Supply::Packs { each }, D::Cells) => {
                        let live_each = each.median() * live_share.as_ref().map_or(1.0, Estimate::median);
                        if live_each > 0.0 { base / live_each } else { return None }
                    }
                    (Supply::Vials { litres, .. }, D::Volume) if *litres > 0.0 => base / litres,
                    (Supply::Part { cells, .. }, D::Cells) => {
                        let live = cells.median() * live_share.as_ref().map_or(1.0, Estimate::median);
                        if live > 0.0 { base / live } else { return None }
                    }
                    (Supply::Part { cells, density }, D::Volume | D::Mass) => {
                        let found = Heap::of(cells, density)?;
                        let litres = slurry_litres(&measure) * number;
                        slurry = Some(density.scaled(litres * 1000.0));
                        heap = Some(found);
                        litres / found.litres
                    }
                    (Supply::Wort, D::Volume) if works && cake.is_some() => {
                        let litres = wort.filter(|litres| *litres > 0.0)?;
                        heap = Some(Heap { litres, slack: 0.02 });
                        base / litres
                    }
                    (Supply::Wort, D::Volume | D::Mass) if is_brew => {
                        let density = supply::slurry(None, supply::Origin::Bottom, &name);
                        heap = cake.as_ref().and_then(|cake| Heap::of(cake, &density));
                        let litres = slurry_litres(&measure) * number;
                        slurry = Some(density.scaled(litres * 1000.0)).filter(|_| heap.is_some());
                        heap.map_or(0.0, |heap| litres / heap.litres)
                    }
                    (Supply::Wort, D::Cells) => {
                        let all = cake.as_ref().or(grown.as_ref())?;
                        let live = all.median() * live_share.as_ref().map_or(1.0, Estimate::median);
                        cells = Some(live).filter(|live| *live > 0.0);
                        base / cells?
                    }
                    (Supply::Wort, D::Volume) => base / state.litres.filter(|l| *l > 0.0)?,
                    _ => return None,
                }
            }
        };
        let about = amount.is_some_and(|_| written.is_some_and(|w| w.about)) || known_to.spread() > 0.0;
        let of_cells = cells.and(cake.as_ref().or(grown.as_ref())).map(|all| all.high() / all.median() - 1.0);
        let slack = heap.map(|heap| heap.slack).or(of_cells);
        let slack = slack.unwrap_or(left * if about { 0.25 } else { 0.02 });
        let mut taken = taken;
        // Of a heap nobody gets more than all.
        slurry = slurry.filter(|_| taken <= most);
        if taken > left + slack && !matches!(state.supply, Supply::Unknown) {
            // A starter is drawn on by its volume: say litres where they are known, not parts.
            let litres = state.litres.filter(|_| matches!(state.supply, Supply::Wort));
            let litres = heap.map(|heap| heap.litres).or(litres);
            let sachet = match (&state.supply, amount.map(|amount| amount.kind)) {
                (Supply::Dry { sachet, .. }, Some(AmountKind::Counted(_, Container::Sachet))) => {
                    Some(*sachet)
                }
                _ => None,
            };
            let shown = |x: f64| match (cells, litres) {
                (Some(cells), _) => x * cells / 1e9,
                (None, Some(litres)) => x * litres,
                (None, None) => state.supply.shown(x) / sachet.unwrap_or(1.0),
            };
            let unit = match (litres, state.supply.unit()) {
                _ if cells.is_some() => "B",
                (Some(_), _) => "L",
                _ if sachet.is_some() => "sachets",
                (None, "") => "parts",
                (None, unit) => unit,
            };
            let asked = taken;
            let fault = match written.and_then(|w| thousandth(&w)) {
                Some(likely) if taken / 1000.0 <= left + slack && left < taken / FAR_TOO_MUCH => {
                    // Reckoned as it is likely meant, so that one slip is told once.
                    taken /= 1000.0;
                    Fault::UnlikelyUnit {
                        place: amount.map_or(line.place, |a| line.at(a.span)),
                        written: written.unwrap_or(likely),
                        likely,
                        why: format!(
                            "{} holds {} {}",
                            name,
                            barm_quantity::significant(shown(left), 2),
                            unit
                        ),
                        impossible: false,
                    }
                }
                _ => Fault::Overdrawn {
                    lot,
                    place: line.place,
                    taken: shown(asked),
                    left: shown(left),
                    unit,
                    last_draw: state.last_draw,
                },
            };
            self.faults.push(fault);
        }
        if heap.is_some() {
            taken = taken.min(left);
        }
        state.last_draw = Some(line.place);
        state.left = (left - taken).max(0.0);
        if let Some(trace) = &mut self.trace {
            let shown = |amount: f64| state.supply.listed(amount).0;
            trace.draws.push((lot, at, line.place, shown(taken), shown(state.left)));
        }
        let part = if left > 0.0 && left.is_finite() { (taken / left).min(1.0) } else { 0.0 };
        Some(Drawn { amount: taken, part, left: state.left, known_to, slurry })
    }
}

/// Yeast that is drawn by volume though nobody wrote how much of it there is: a cake, a part of one, a beer that still works.
#[derive(Clone, Copy)]
struct Heap {
    /// All of it.
    litres: f64,
    /// So many times more than that it may be beside.
    slack: f64,
}

impl Heap {
    /// A heap of so many cells, so many in a mL: as large as it is if the one is high and the other low.
    fn of(cells: &Estimate, density: &Estimate) -> Option<Self> {
        let litres = cells.median() / density.median() / 1000.0;
        let most = cells.high() / density.low() / 1000.0;
        (litres > 0.0 && most.is_finite()).then(|| Self { litres, slack: most / litres - 1.0 })
    }
}

/// Whether an amount is a volume, a mass or the like, and no share.
fn is_measured(amount: Option<&Amount>) -> bool {
    amount.is_some_and(|amount| matches!(amount.kind, AmountKind::Measured(_) | AmountKind::Times(..)))
}
