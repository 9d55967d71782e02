//! Questions about yeast, answered where the fold stands.

use std::cmp::Ordering;

use barm_quantity::{Cells, Estimate, Mass, NINETY, Volume};
use barm_syntax::ast::{AmountKind, Asked, DryPitch, Kind, Organism};
use barm_zymology::{fermentation, starter, storage, supply};

use super::{Fold, Line};
use crate::advice::{Measured, Packs};
use crate::answer::{self, Answer, Unanswered};
use crate::batch::{Batch, Pitching, Wort};
use crate::context::MOST_FED;
use crate::fermentation::no_work_since;
use crate::lot::{State, Supply};
use crate::names::{LotId, LotKind};
use crate::pitch::{self, Wanted};
use crate::strain::Facts;
use crate::{Fact, Figure, Moment, Place, Scale, advice, vessels, wort};

/// The part of a fresh starter that lives.
const FRESH: f64 = starter::FRESH.as_fraction();
/// A flask that is fuller than this has little room for foam (judgement).
const FILLED: f64 = 0.8;
/// A chain of starters longer than this is not followed.
const LONGEST_CHAIN: u8 = 8;
/// Of one pitch no more lines than anybody writes are looked at.
const MOST_LINES: usize = 64;

/// How much of a supply meets a part of what is wanted: even chances, and less than a 5 % chance of falling short.
///
/// # Errors
/// Why that is not known.
pub(crate) fn units_for(
    supply: &Supply,
    live_per_unit: Option<&Estimate>,
    wanted: &Wanted,
    part: f64,
) -> Result<(f64, f64), String> {
    if let Some(grams) = wanted.grams.filter(|_| wanted.grams_stated || matches!(supply, Supply::Dry { .. }))
    {
        let units = match supply {
            Supply::Dry { .. } | Supply::Slurry { weighed: true, .. } => grams * part,
            Supply::Slurry { weighed: false, .. } => grams * part / supply::SLURRY_GRAMS_PER_ML / 1000.0,
            Supply::Part { cells, density } if cells.median() > 0.0 => {
                grams * part / supply::SLURRY_GRAMS_PER_ML * density.median() / cells.median()
            }
            _ => return Err(format!("its rate is by mass, {}", wanted.rate)),
        };
        return Ok((units, units));
    }
    if matches!(supply, Supply::Slant) {
        return Err("a slant is grown in starters first".to_owned());
    }
    let live = live_per_unit.filter(|live| live.median() > 0.0);
    let live = live.ok_or(match supply {
        Supply::Vials { .. } => "nobody counted it: add a `count` before it is pitched",
        Supply::Wort => "it is not known how large it is, or what was pitched into it",
        _ => "nothing says how much it holds: add its `pack`, `sachet`, `slurry` or `count`",
    })?;
    let units = wanted.cells * part / live.median();
    Ok((units, units * (NINETY * live.spread()).exp()))
}

/// Nobody knows how much of it is wanted.
fn is_wild(yeast: &Facts) -> bool {
    matches!(yeast.organism, Some(Organism::Wild | Organism::Bacteria))
}

/// Whether what was pitched is no part of what goes in at a moment: it went in long before, hot wort has killed it, or it should
/// have shown that it works and did not.
fn is_past(batch: &Batch, pitch: &Pitching, at: Moment, no_work_since: Option<Moment>) -> bool {
    no_work_since.is_some_and(|since| pitch.at < since)
        || at.hours_since(pitch.at) >= pitch::COUNTS_FOR_HOURS
        || (pitch.at < at && batch.is_killed_by_heat(pitch))
}

/// What is pitched beside what is asked for.
struct Besides {
    /// Before this somebody pitched what should have worked, and does not.
    no_work_since: Option<Moment>,
    /// Below the question, so much.
    given: Vec<Pitching>,
    /// Above it, as much as is asked, and the part of what is wanted that each could give where its line stands.
    asked_before: Vec<(Place, f64)>,
    /// Below it, as much as is asked: the part of what is wanted that each could give.
    asked_after: Vec<f64>,
}

/// The part that each of some gives so that together they give so much: an equal one, or all that it has where that is less.
/// `None`: together they have less.
fn level(wanted: f64, could_give: &[f64]) -> Option<f64> {
    let mut could_give = could_give.to_vec();
    could_give.sort_by(f64::total_cmp);
    let (mut wanted, mut givers) = (wanted, could_give.len());
    for most in could_give {
        let equal = wanted / givers as f64;
        if equal <= most {
            return Some(equal);
        }
        (wanted, givers) = (wanted - most, givers - 1);
    }
    None
}

impl Fold<'_, '_> {
    /// `pitch LOT ?`: the share of what is left that meets the target.
    pub(super) fn answer_pitch(
        &mut self,
        from: LotId,
        into: LotId,
        sprinkled: bool,
        (line, place): (Place, Place),
        at: Moment,
    ) -> Option<f64> {
        let besides = self.besides(into, (at, line));
        let answered = self.how_much(from, into, sprinkled, (line, place), at, &besides);
        let (answer, part) = answered.unwrap_or_else(|why| (Answer::open(place, into, why), None));
        self.answers.push(answer);
        part
    }

    /// How much of a lot, and the part of what is left that it is; or why that is not known.
    fn how_much(
        &self,
        from: LotId,
        into: LotId,
        sprinkled: bool,
        (line, place): (Place, Place),
        at: Moment,
        besides: &Besides,
    ) -> Result<(Answer, Option<f64>), Unanswered> {
        let settings = self.context.settings;
        let us = settings.speaks_us();
        let name = self.context.name(from);
        let (Some(state), Some(batch)) = (self.state(from), self.batch(into)) else {
            return Err("only a starter or a brew can be pitched into".into());
        };
        let not_known = format!("how much of {name} is not known");
        if self.frozen(from, at).is_some() {
            let why = format!("{not_known}: it was frozen, count how much of it lives");
            return Err(Unanswered::lacking(why, Fact::Count(line, from)));
        }
        if self.context.has_lost_count(from) {
            let why = format!("{not_known}: a line that counts it could not be read");
            return Err(Unanswered::lacking(why, Fact::Count(line, from)));
        }
        if let Some(unknown) = state.unknown.as_ref().filter(|_| state.live.is_none()) {
            return Err(Unanswered::lacking(format!("{not_known}: {unknown}"), Fact::Count(line, from)));
        }
        if self.live_share(from, at).is_some_and(|share| share.median() <= 0.0) {
            return Err(format!("nothing of {name} lives").into());
        }
        // Of what a starter of unknown cells is, nothing is known either.
        if self.context.kind(from) == Some(LotKind::Starter) && self.live_per_unit(from, at).is_none() {
            let why = match self.pitched_cells(from) {
                Some(_) => self.no_wort(from, "of that starter"),
                None => self.not_begun(from),
            };
            return Err(why.keeps(&not_known));
        }
        if state.left <= 0.0 && state.last_draw.is_some() {
            return Err(format!("nothing is left of {name}: all of it was taken before").into());
        }
        if let Some(jar) = state.jarred.map(|jar| self.context.name(jar)) {
            let why = format!("how much is left of {name} is not known, for {jar} may hold all of its cake");
            return Err(format!("{why}: pitch out of {jar}").into());
        }
        let traits = self.traits(from);
        let weighs = self.weighs(from, at);
        let wanted = match (batch.kind, batch.pitched_for()) {
            (_, None) => return Err(self.no_wort(into, "to pitch into: add `wort 21 L at 1.048`")),
            (LotKind::Starter, Some(wort)) => self.begun_with(into, batch, wort, &traits, 0),
            // Beside what is pitched already it is not of that kind.
            (_, Some(wort)) if is_wild(&traits) && !batch.pitches.is_empty() => {
                let target = batch.target.as_deref().map(|(rate, _)| *rate);
                let wanted = pitch::wanted_by(settings, target, &traits, wort.volume, wort.strength);
                wanted.map_err(|why| Unanswered::lacking(why, Fact::Target(into)))
            }
            (_, Some(wort)) => self.wanted(batch, from, wort),
        };
        let wanted = wanted.map_err(|why| why.keeps("how much it wants is not known"))?.of_dry(weighs);
        let part = |pitch: &Pitching| match batch.kind {
            LotKind::Starter => Some(pitch.live.as_ref()?.median() / wanted.cells.max(1.0)),
            _ => pitch::part(settings, batch, pitch),
        };
        let was_asked =
            |pitch: &&Pitching| besides.asked_before.iter().any(|(asked, _)| *asked == pitch.place);
        let is_past = |pitch: &&Pitching| is_past(batch, pitch, at, besides.no_work_since);
        let past = batch.pitches.iter().rev().find(is_past).filter(|_| batch.kind == LotKind::Brew);
        let counted = batch.pitches.iter().filter(|pitch| past.is_none() || !is_past(pitch));
        let (answered, stated): (Vec<_>, Vec<_>) = counted.partition(was_asked);
        let pitched: f64 = stated.into_iter().chain(&besides.given).filter_map(part).sum();
        let answered: f64 = answered.into_iter().filter_map(part).sum();
        let when = if besides.given.is_empty() { "already" } else { "besides" };
        let rest = (1.0 - pitched).max(0.0);
        if rest <= 0.0 {
            let text = format!("none of {name}: what is pitched {when} is enough");
            return Ok((Answer::open(place, into, text), Some(0.0)));
        }
        // What several are asked for each gives an equal part of, and of what those before fell short.
        let others = (besides.asked_before.len() + besides.asked_after.len()) as f64;
        let mut live = self.live_per_unit(from, at);
        if matches!(state.supply, Supply::Wort) {
            live = live.map(|live| live * state.known_to());
        }
        if sprinkled {
            let survives = supply::dry(None, true, &name) / supply::dry(None, false, &name);
            live = live.map(|live| live * survives);
        }
        let equal = rest / (1.0 + others);
        let all = units_for(&state.supply, live.as_ref(), &wanted, 1.0).map(|(units, _)| state.left / units);
        let all = all.ok().filter(|_| others > 0.0).unwrap_or(f64::INFINITY);
        let was_answered =
            |place: &Place| batch.pitches.iter().any(|pitch| pitch.place == *place && pitch.live.is_some());
        let unanswered = besides.asked_before.iter().filter(|(place, _)| !was_answered(place));
        let others_give = besides.asked_after.iter().chain(unanswered.map(|(_, could_give)| could_give));
        let could_give: Vec<f64> = others_give.copied().chain([all]).collect();
        let together = answered + could_give.iter().sum::<f64>();
        let rest = match level(rest - answered, &could_give) {
            Some(level) => equal.max(level).min(all),
            // All of each is as good, or each is grown to its part.
            None if together >= rest * advice::ENOUGH => all,
            None => (rest - answered) * all / (together - answered),
        };
        let (units, sure) = units_for(&state.supply, live.as_ref(), &wanted, rest).map_err(|why| {
            let lacks = match (&live, &state.supply) {
                (Some(_), _) => Vec::new(),
                (None, Supply::Vials { .. }) => vec![Fact::Count(line, from)],
                (None, _) => vec![Fact::Supply(from)],
            };
            Unanswered { why, lacks }.keeps(&not_known)
        })?;
        let is_dry = matches!(state.supply, Supply::Dry { .. });
        let by_mass = wanted.grams.filter(|_| wanted.grams_stated || wanted.cells <= 0.0 || is_dry);
        let rate = wanted.rate_by(is_dry && by_mass.is_some()).to_owned();
        let given = format!("{rate}, taken as given");
        let (all_of, target) = match by_mass {
            Some(grams) => (
                Scale::house(settings).yeast(Mass::grams(grams)),
                Figure::plain("dry-yeast-wanted", grams, 0.0, "g", given),
            ),
            None => (
                advice::billions(wanted.cells),
                Figure::plain("target-cells", wanted.cells / 1e9, 0.0, "B", given),
            ),
        };
        let mut notes = vec![format!("{all_of} wanted: {rate}")];
        if let Some(past) = past {
            let has_worked = crate::fermentation::third_gone(batch).is_some_and(|gone| gone <= at);
            notes.push(if has_worked {
                "no rate is agreed on for a beer that has stopped: this is what is usual for its wort"
                    .to_owned()
            } else {
                format!("what went in at {} is not counted: this is a pitch of its own", past.at)
            });
        }
        if let Some(share) = self.lives_past_its_label(from, at).filter(|_| is_dry && weighs >= 1.0) {
            let lives = barm_quantity::share(share);
            notes.push(format!("it is older than its label, and about {lives} of it lives by its age"));
            if share < storage::TIRED.as_fraction() {
                let more = self.measured_out(from, state, units / share, Packs::Up, at).text;
                notes.push(format!("make sure: {more} would make up for that"));
            }
        }
        if pitched > 0.0 {
            notes
                .push(format!("{} is pitched {when}", advice::part_of(&barm_quantity::share(pitched), "it")));
        }
        if others > 0.0 {
            let part = advice::part_of(&barm_quantity::share(rest), "it");
            let others =
                if (rest / equal - 1.0).abs() < 0.01 { "an equal part each" } else { "the rest of it" };
            notes.push(format!("{part} is for {name}: what is asked of the others is {others}"));
        }
        if sure > units * 1.01 && units <= state.left * 1.001 {
            notes.push(if sure <= state.left * 1.001 {
                answer::sure(&self.measured_out(from, state, sure, Packs::Up, at).text)
            } else {
                "all of it may fall short all the same".to_owned()
            });
        }
        let is_all = units > state.left * 1.001;
        let is_enough = units * advice::ENOUGH <= state.left;
        let is_brew = batch.kind == LotKind::Brew;
        if is_enough || (is_brew && others <= 0.0 && units * advice::NEARLY <= state.left) {
            let packs = match is_enough {
                _ if others > 0.0 => Packs::Nearest,
                true => Packs::Enough,
                false => Packs::Up,
            };
            let measured = if is_all && state.supply.unit() != "packs" {
                Measured { text: "all".to_owned(), units: state.left }
            } else {
                self.measured_out(from, state, units.min(state.left), packs, at)
            };
            if others <= 0.0 && measured.units < units * 0.98 {
                let part = advice::part_of(&barm_quantity::share(measured.units / units), "what is wanted");
                let as_good = match (is_enough, by_mass) {
                    (true, _) => "which is as good: published rates differ by half either way",
                    (false, None) => {
                        "and near enough: published rates differ by half either way; a starter closes the gap"
                    }
                    (false, Some(_)) => "and near enough: published rates differ by half either way",
                };
                notes.push(format!("that is {part}, {as_good}"));
            }
            let said = format!("{} of {name}", measured.text);
            // What is measured out is more than what is wanted, and may no longer have room.
            let roomy = live.as_ref().map_or(0.0, |live| self.roomy(live.median() * measured.units));
            if let (LotKind::Starter, Some(wort)) = (batch.kind, &batch.wort)
                && roomy > wort.volume.as_litres() * 1.001
            {
                let (small, roomy) = (wort.volume.as_litres(), advice::volume(roomy, us));
                let small = advice::volume(small, us);
                return Err(
                    format!("{small} is too small a starter for {said}: it would take {roomy}").into()
                );
            }
            let answer = Answer { notes, ..Answer::written(place, into, measured.text, said) };
            let part = if state.left.is_finite() { measured.units / state.left } else { 0.0 };
            return Ok((answer, Some(part.clamp(0.0, 1.0))));
        }
        // Dry yeast is not grown first: another sachet is cheaper (common practice).
        let text = match live.filter(|_| by_mass.is_none() && wanted.cells > 0.0 && is_brew) {
            Some(live) => {
                let all = live.scaled(state.left);
                let since = self.comes_to_be(from).map(|(since, _)| since);
                let wort = batch.pitched_for().map_or(Volume::default(), |wort| wort.volume);
                advice::too_little(settings, &name, &all, (wanted.cells * rest, wort), at, since)
            }
            None => {
                let wanted = advice::amount(&state.supply, units, units, Packs::Up, settings).text;
                let left = advice::amount(&state.supply, state.left, state.left, Packs::Up, settings).text;
                format!("all of {name} is too little: {wanted} wanted, {left} left")
            }
        };
        Ok((Answer { notes, figures: vec![target], ..Answer::open(place, into, text) }, None))
    }

    /// So much of a lot as one would measure it out: of a beer that works by its volume.
    fn measured_out(&self, lot: LotId, state: &State, units: f64, packs: Packs, at: Moment) -> Measured {
        let settings = self.context.settings;
        let beer = self.batch(lot).and_then(|batch| batch.wort).filter(|_| self.swims(lot, at));
        if let Some(whole) = beer.map(|wort| wort.volume.as_litres()).filter(|litres| *litres > 0.0) {
            let poured = advice::beer(units * whole, settings.speaks_us());
            return Measured { units: poured.units / whole, ..poured };
        }
        advice::amount(&state.supply, units, state.left, packs, settings)
    }

    /// What is pitched into a lot beside what a line asks for, so near in time that it is one pitch.
    fn besides(&mut self, into: LotId, (at, line): (Moment, Place)) -> Besides {
        let context = self.context;
        let [first, last] = [-1.0, 1.0].map(|way| at.plus_hours(way * pitch::COUNTS_FOR_HOURS));
        let no_work_since = self.batch(into).and_then(|batch| no_work_since(context, batch, (at, line)));
        let first = no_work_since.map_or(first, |since| first.max(since));
        let near = context.events_from(into, first).take(MOST_LINES).take_while(|(when, ..)| *when <= last);
        let mut out =
            Besides { no_work_since, given: Vec::new(), asked_before: Vec::new(), asked_after: Vec::new() };
        let mut later = Vec::new();
        for (when, shelved, statement) in near {
            let Kind::Pitch(pitch) = &statement.kind else { continue };
            let line_there = Line::of(shelved, statement);
            let Some(from) = context.names.lot(&pitch.lot.text).filter(|from| *from != into) else {
                continue;
            };
            let is_asked = pitch.amount.as_ref().is_some_and(|amount| amount.kind == AmountKind::Asked);
            match (when, line_there.place).cmp(&(at, line)) {
                Ordering::Less if is_asked && self.has_rate(into, from) => {
                    let could_give = self.could_give(into, from, when).unwrap_or(f64::INFINITY);
                    out.asked_before.push((line_there.place, could_give));
                }
                Ordering::Greater if is_asked => out.asked_after.extend(self.could_give(into, from, when)),
                Ordering::Greater if !is_asked => later.push((from, pitch, line_there, when)),
                _ => {}
            }
        }
        // What is taken below the line is only looked at.
        let (faults, trace) = (self.faults.len(), self.trace.take());
        let mut before = Vec::new();
        for (from, pitch, line, at) in later {
            before.extend(self.state(from).cloned().map(|state| (from, state)));
            let sprinkled = pitch.dry == Some(DryPitch::Sprinkled);
            out.given.extend(self.take(from, pitch.amount.as_ref(), line, at, sprinkled));
        }
        for (lot, state) in before.into_iter().rev() {
            if let Some(taken) = self.state_mut(lot) {
                *taken = state;
            }
        }
        self.faults.truncate(faults);
        self.trace = trace;
        out
    }

    /// Whether anybody can say how much of a lot is wanted: of wild yeast and bacteria nobody can.
    fn has_rate(&self, into: LotId, from: LotId) -> bool {
        self.wanted_into(into, from).is_some()
    }

    fn wanted_into(&self, into: LotId, from: LotId) -> Option<Wanted> {
        let batch = self.batch(into)?;
        self.wanted_of(batch, from, &self.traits(from), batch.wort.as_ref()?).ok()
    }

    /// The part of what a wort wants that all of a lot is; what is not known is taken to be enough.
    fn could_give(&self, into: LotId, from: LotId, at: Moment) -> Option<f64> {
        let wanted = self.wanted_into(into, from)?.of_dry(self.weighs(from, at));
        let state = self.state(from)?;
        let all = units_for(&state.supply, self.live_per_unit(from, at).as_ref(), &wanted, 1.0);
        Some(all.map_or(f64::INFINITY, |(units, _)| state.left / units))
    }

    /// The part of a lot's weight that counts, where it is dry yeast.
    fn weighs(&self, lot: LotId, at: Moment) -> f64 {
        let Some(state) = self.state(lot) else { return 1.0 };
        let is_dry = matches!(state.supply, Supply::Dry { .. });
        let measured = state.live.as_ref().is_some_and(|live| live.measured);
        self.live_share(lot, at).filter(|_| is_dry).map_or(1.0, |share| pitch::weighs(&share, measured))
    }

    /// How much of a lot lives by its age, where its `best-before` is past.
    fn lives_past_its_label(&self, lot: LotId, at: Moment) -> Option<f64> {
        let label = self.state(lot)?.live.as_ref()?.best_before?;
        (label < at.date()).then(|| Some(self.live_share(lot, at)?.median()))?
    }

    /// Live cells in one of a lot's own unit at a moment; for a starter and a cake, in all of it.
    pub(super) fn live_per_unit(&self, lot: LotId, at: Moment) -> Option<Estimate> {
        let total = match &self.state(lot)?.supply {
            Supply::Wort if self.context.kind(lot) == Some(LotKind::Starter) => self.grown(lot, at)?.0,
            Supply::Wort => self.caked(lot, at)?.0,
            supply => supply.cells_per_unit()?,
        };
        Some(total * self.live_share(lot, at)?)
    }

    /// What a starter must be begun with, so that it gives what it is for.
    fn begun_with(
        &self,
        starter: LotId,
        batch: &Batch,
        wort: &Wort,
        traits: &Facts,
        depth: u8,
    ) -> Result<Wanted, Unanswered> {
        let reached = self.raised_to(starter, traits, None, depth)?;
        let grown = |cells: f64| {
            let pitched = Estimate::exact(cells);
            starter::grown(&pitched, wort.volume, wort.strength, batch.method, fermentation::UNREAD, None, "")
                .median()
        };
        // More yeast never gives less.
        let (mut least, mut enough) = ((starter::THINNEST * wort.volume).as_each(), reached);
        if grown(least) >= reached {
            enough = least;
        }
        while enough - least > 1e-6 * enough {
            let middle = f64::midpoint(least, enough);
            if grown(middle) >= reached { enough = middle } else { least = middle }
        }
        let roomy = self.roomy(enough);
        if roomy > wort.volume.as_litres() * 1.001 {
            let us = self.context.settings.speaks_us();
            return Err(format!(
                "{} is too small a starter to raise {}: it would take more than {}",
                advice::volume(wort.volume.as_litres(), us),
                advice::billions(reached * FRESH),
                advice::volume(roomy, us)
            )
            .into());
        }
        let rate = format!("to be {} when it is pitched", advice::billions(reached * FRESH));
        Ok(Wanted { cells: enough, grams: None, grams_stated: false, rate, dose: None })
    }

    /// How much of a lot a wort wants.
    fn wanted(&self, batch: &Batch, from: LotId, wort: &Wort) -> Result<Wanted, Unanswered> {
        self.wanted_of(batch, from, &self.traits(from), wort)
    }

    fn wanted_of(
        &self,
        batch: &Batch,
        from: LotId,
        traits: &Facts,
        wort: &Wort,
    ) -> Result<Wanted, Unanswered> {
        pitch::wanted(self.context.settings, batch, traits, wort).map_err(|why| {
            let organism = batch.traits.organism.or(traits.organism);
            let fact = if organism.is_none() { Fact::Kind(from) } else { Fact::Target(batch.lot) };
            Unanswered::lacking(why, fact)
        })
    }

    /// There is no wort to reckon with, or its line asks itself.
    fn no_wort(&self, lot: LotId, what_for: &str) -> Unanswered {
        answer::no_wort(self.context, lot, what_for)
    }

    /// Nobody knows how many cells a starter was begun with.
    fn not_begun(&self, starter: LotId) -> Unanswered {
        let begun = self.batch(starter).and_then(|batch| batch.pitches.first());
        let Some((pitched, unknown)) = begun.and_then(|pitch| Some((pitch, pitch.unknown.as_deref()?)))
        else {
            return Unanswered::lacking("what is pitched into it is not known", Fact::Supply(starter));
        };
        let next = match self.batch(starter).and_then(|batch| batch.wort) {
            _ if pitched.unit != Supply::Slant.unit() => "",
            None => ": write how large it is, and `count` it before it goes on",
            Some(_) => ": `count` it before it goes on",
        };
        Unanswered::lacking(
            format!("what is pitched into it is not known ({}: {unknown}){next}", pitched.name),
            unknown.lacks,
        )
    }

    /// The least litres of a starter that so many cells do not crowd.
    fn roomy(&self, cells: f64) -> f64 {
        advice::roomy(self.context.settings, cells).as_litres()
    }

    /// All cells that a starter must hold when it is pitched. `begun`: what is pitched into it, where that is known.
    fn raised_to(
        &self,
        starter: LotId,
        traits: &Facts,
        begun: Option<f64>,
        depth: u8,
    ) -> Result<f64, Unanswered> {
        let fed = self.context.feeds(starter);
        // Further up a chain it is sized for the first that it feeds.
        let fed = fed.get(..fed.len().min(if depth == 0 { MOST_FED } else { 1 })).unwrap_or(fed);
        if fed.is_empty() || depth >= LONGEST_CHAIN {
            return Err("no brew pitches this starter".into());
        }
        let mut left = Some(1.0);
        let (mut all, mut largest) = (0.0, 0.0_f64);
        for one in fed {
            let cells = self.raised_for(starter, one.into, traits, begun, depth)?;
            all += cells;
            // Where it is divided by parts, the part that must reach furthest says how large it is.
            let part = match one.amount {
                AmountKind::Share(share) => left.map(|left| left * share),
                AmountKind::All => left,
                _ => None,
            };
            left = left.zip(part).map(|(left, part)| left - part);
            if let Some(part) = part.filter(|part| *part > 0.0) {
                largest = largest.max(cells / part);
            }
        }
        Ok(if left.is_some() { largest } else { all })
    }

    /// All cells that a starter must hold of which one brew, or one starter, is pitched.
    fn raised_for(
        &self,
        starter: LotId,
        into: LotId,
        traits: &Facts,
        begun: Option<f64>,
        depth: u8,
    ) -> Result<f64, Unanswered> {
        let batch = self.batch(into).ok_or("what it is for is not known")?;
        let cells = match (batch.kind, batch.pitched_for()) {
            (LotKind::Starter, Some(wort)) => self.begun_with(into, batch, wort, traits, depth + 1)?.cells,
            // Both are asked: each is to grow it as many times as the other.
            (LotKind::Starter, None) => {
                let reached = self.raised_to(into, traits, None, depth + 1)?;
                let begun = begun.ok_or_else(|| self.no_wort(into, "of the starter that it is for"))?;
                (begun * reached).sqrt() * FRESH
            }
            (_, Some(wort)) => {
                let wanted = self.wanted_of(batch, starter, traits, wort);
                let wanted = wanted.map_err(|why| why.keeps("how much the brew wants is not known"))?;
                if wanted.cells <= 0.0 {
                    return Err(format!("how many cells the brew wants is not known: {}", wanted.rate).into());
                }
                wanted.cells
            }
            (_, None) => return Err(self.no_wort(into, &format!("in {}, which it is for", batch.name))),
        };
        Ok(cells / FRESH)
    }

    /// `wort ? at G` in a starter: as large as what is pitched from it wants.
    pub(super) fn answer_starter_size(&mut self, starter: LotId, at: Moment) {
        let context = self.context;
        let asks = self.batch(starter).is_some_and(|b| b.kind == LotKind::Starter && b.wort.is_none());
        let Some(home) = context.home(starter).filter(|_| asks) else { return };
        let Some((place, gravity)) = home.block.statements.iter().find_map(|s| match &s.kind {
            Kind::Wort(w) => match (w.volume, w.gravity) {
                (Asked::Asked(span), Asked::Known(gravity)) => Some((home.place(span), gravity)),
                _ => None,
            },
            _ => None,
        }) else {
            return;
        };
        let gravity = wort::as_gravity(&gravity.measure);
        let sized = self.how_large(starter, place, gravity, at);
        let (answer, litres) = sized.unwrap_or_else(|why| (Answer::open(place, starter, why), None));
        self.answers.push(answer);
        let Some(litres) = litres else { return };
        if let Some(state) = self.state_mut(starter) {
            state.litres = Some(litres);
        }
        if let Some(batch) = self.batch_mut(starter) {
            batch.wort = Some(Wort {
                volume: Volume::litres(litres),
                volume_error: Volume::litres(0.0),
                gravity,
                gravity_error: context.settings.hydrometer_error,
                strength: barm_zymology::gravity::plato(gravity),
                place,
                measured: false,
            });
            batch.missing.retain(|m| m.figure != "wort");
        }
    }

    /// The vessel that a starter is begun in, and how many litres that holds.
    fn begun_in(&self, starter: LotId) -> Option<(&str, f64)> {
        let vessel = vessels::begun_in(self.context, starter)?;
        Some((vessel, self.context.vessels.named(vessel).litres?))
    }

    /// How large a starter, in litres; or why that is not known.
    fn how_large(
        &self,
        starter: LotId,
        place: Place,
        gravity: barm_quantity::Gravity,
        at: Moment,
    ) -> Result<(Answer, Option<f64>), Unanswered> {
        let us = self.context.settings.speaks_us();
        let batch = self.batch(starter).ok_or("it is no starter")?;
        let strength = barm_zymology::gravity::plato(gravity);
        let pitched = self.pitched_cells(starter).ok_or_else(|| self.not_begun(starter))?;
        let reached = self.raised_to(starter, &self.traits(starter), Some(pitched.median()), 0)?;
        let (begun, wanted) = (advice::billions(pitched.median()), advice::billions(reached * FRESH));
        if pitched.median() >= reached {
            let text = format!("no starter is needed: {begun} are pitched and {wanted} wanted");
            return Ok((Answer::open(place, starter, text), None));
        }
        let target = Cells::each(reached);
        let Some(grown) = starter::volume_for(target, &pitched, strength, batch.method) else {
            let text = match advice::steps(self.context.settings, &pitched, target, strength, batch.method) {
                Some(worts) => format!(
                    "one step from {begun} cannot reach {wanted}: {} steps: {}",
                    worts.len(),
                    advice::chain(&worts, at, us)
                ),
                None => format!("no starter from {begun} can reach {wanted}: begin with more"),
            };
            return Ok((Answer::open(place, starter, text), None));
        };
        let mut notes = vec![format!("{wanted} wanted, from {begun} pitched into the starter")];
        let fed = self.context.feeds(starter);
        if fed.len() > 1 {
            let fed: Vec<_> = fed.iter().take(MOST_FED).map(|fed| self.context.name(fed.into)).collect();
            notes.push(format!("it feeds {}", fed.join(" and ")));
        }
        let roomy = self.roomy(pitched.median());
        if roomy > grown.as_litres() {
            notes.push("a smaller one would be crowded, and little grows in it".to_owned());
        }
        let as_measured = |litres: f64| advice::starter_wort(litres.max(roomy), us);
        let measured = as_measured(grown.as_litres());
        if let Some((vessel, holds)) = self.begun_in(starter)
            && measured.units > holds * FILLED
        {
            let (wanted, full) = (&measured.text, measured.units > holds);
            let holds = advice::volume(holds, us);
            if full {
                let text = format!(
                    "{wanted} is wanted, and {vessel} holds {holds}: take a larger one, or grow it in two steps"
                );
                return Ok((Answer { notes, ..Answer::open(place, starter, text) }, None));
            }
            notes.push(format!("{vessel} holds {holds}: little room for its foam"));
        }
        let sure = starter::sure_volume_for(target, &pitched, strength, batch.method);
        match sure.map(|sure| as_measured(sure.as_litres())) {
            Some(sure) => notes.push(answer::sure(&sure.text)),
            None => notes.push("no starter of one step is sure to reach it".to_owned()),
        }
        let written = Answer::written(place, starter, measured.text.clone(), measured.text);
        let answer = Answer { notes, ..written };
        Ok((answer, Some(measured.units)))
    }
}
