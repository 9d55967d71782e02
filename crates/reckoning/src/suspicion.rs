//! What descends from, or shared a vessel with, what was infected.

use std::cell::LazyCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use barm_syntax::ast::{BlockKind, Kind, Measured, Test};

use crate::context::Context;
use crate::degrees::DEADLY;
use crate::fault::Fault;
use crate::fold::Descent;
use crate::names::{LotId, LotKind, folded};
use crate::{Moment, Place, timeline, vessels};

/// Two lots in a vessel without trouble free it again.
const FREED_BY: usize = 2;

/// Why a lot is suspect.
#[derive(Clone)]
pub(crate) struct Why {
    /// Where something is called infected.
    pub infected: Place,
    /// The lot from which it comes down: the infected one, or one that went into a vessel after it.
    root: LotId,
    /// The vessel that the root has it from.
    vessel: Option<Shared>,
    /// The line that it came in by; `None`: nothing of the lot is older.
    since: Option<(Moment, Place)>,
    /// When it was boiled afterwards: what lives in it since is sound.
    until: Option<Moment>,
}

/// How far what is called infected has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Suspicion {
    /// It is called infected itself, or its yeast comes down from what is.
    Infected,
    /// It, or what it comes down from, was in a vessel after that: it may well be sound.
    Shared,
}

/// A vessel that two lots had in common.
#[derive(Clone)]
struct Shared {
    vessel: Arc<str>,
    /// Who was in it before, and which infected lot that comes from; `None`: the vessel itself is called infected.
    before: Option<(LotId, LotId)>,
}

impl Why {
    /// Why what is called infected is suspect: the root of all that comes of it.
    const fn called(lot: LotId, infected: Place, until: Option<Moment>) -> Self {
        Self { infected, root: lot, vessel: None, since: None, until }
    }

    fn of(&self, lot: LotId, place: Place) -> Fault {
        let shared = self.vessel.as_ref();
        Fault::Suspect {
            lot,
            place,
            infected: self.infected,
            root: self.root,
            vessel: shared.map(|shared| Arc::clone(&shared.vessel)),
            before: shared.and_then(|shared| shared.before),
        }
    }
}

/// The plate that yeast or beer is streaked on: what grows there is not what was pitched.
const PLATE: &str = "plate";

/// What a plate said, where a `test` is one.
fn plated(test: &Test) -> Option<bool> {
    test.passed.filter(|_| test.what.text.eq_ignore_ascii_case(PLATE))
}

/// Whether a line tells of an infection: then lots share more than their descent.
#[must_use]
pub fn tells_of_infection(kind: &Kind) -> bool {
    match kind {
        Kind::Infected(_) => true,
        Kind::Test(test) => plated(test) == Some(false),
        _ => false,
    }
}

/// What is called infected.
#[derive(Clone, Default)]
pub(crate) struct Infections {
    /// The lots that an `infected` line names, or that lay in a vessel that one names, or of which a plate failed and none
    /// passed since.
    pub lots: BTreeMap<LotId, Why>,
    /// Whether a vessel is.
    vessels: bool,
    /// When each lot was last plated, and whether nothing strange grew; empty where nothing is infected.
    plates: BTreeMap<LotId, (Moment, bool)>,
}

impl Infections {
    /// The lots in which it lives still: none that was boiled since.
    pub(crate) fn living(&self) -> impl Iterator<Item = LotId> + '_ {
        self.lots.iter().filter(|(_, why)| why.until.is_none()).map(|(lot, _)| *lot)
    }
}

/// Where each lot is called infected first, and when last.
#[derive(Default)]
struct Called(BTreeMap<LotId, (Place, Moment)>);

impl Called {
    fn call(&mut self, lot: LotId, place: Place, at: Moment) {
        self.0.entry(lot).and_modify(|(_, last)| *last = at.max(*last)).or_insert((place, at));
    }
}

/// All that the workspace calls infected.
pub(crate) fn infected(context: &Context<'_>, faults: &mut Vec<Fault>) -> Infections {
    let mut out = Infections::default();
    let mut failed = Vec::new();
    let mut called = Called::default();
    for (index, shelved) in context.shelf.iter().enumerate() {
        let owner = context.owner.get(index).copied().flatten();
        let moments = LazyCell::new(|| timeline::moments(shelved.block, None));
        for (index, statement) in shelved.block.statements.iter().enumerate() {
            let lot = match &statement.kind {
                Kind::Infected(None) if shelved.block.kind == BlockKind::Vessel => {
                    out.vessels = true;
                    None
                }
                Kind::Infected(Some(name)) if context.names_a_vessel(name) => {
                    out.vessels = true;
                    None
                }
                Kind::Infected(Some(name)) => context.known_lot(name, shelved, faults),
                Kind::Infected(None) => owner,
                Kind::Test(test) => {
                    if let Some(lot) = owner.filter(|_| plated(test) == Some(false)) {
                        failed.push((
                            lot,
                            shelved.place(statement.span),
                            moments.get(index).copied().flatten(),
                        ));
                    }
                    None
                }
                _ => continue,
            };
            if let Some(lot) = lot {
                let at = moments.get(index).copied().flatten().unwrap_or(Moment::LAST);
                called.call(lot, shelved.place(statement.span), at);
            }
        }
    }
    if !called.0.is_empty() || out.vessels || !failed.is_empty() {
        out.plates = last_plates(context);
        for (lot, place, at) in failed {
            if out.plates.get(&lot).is_some_and(|(_, passed)| !passed) {
                called.call(lot, place, at.unwrap_or(Moment::LAST));
            }
        }
        if out.vessels {
            lies_in_infected(context)
                .into_iter()
                .for_each(|(lot, stay)| called.call(lot, stay.place, stay.at));
        }
        // Who plated it since takes back what was said of it.
        called.0.retain(|lot, (_, last)| !has_passed(&out.plates, *lot, *last));
    }
    let boiled = |lot: LotId, since: Moment| {
        let is_boil = |kind: &Kind| matches!(kind, Kind::Boil(_));
        context.events(lot).find(|(at, _, line)| *at > since && is_boil(&line.kind)).map(|(at, ..)| at)
    };
    let why = |(lot, (place, last))| (lot, Why::called(lot, place, boiled(lot, last)));
    out.lots = called.0.into_iter().map(why).collect();
    out
}

/// What lay in a vessel when that was called infected, and by which line: the last that went in, unless the vessel was cleaned
/// since. Beer lies there until it is racked elsewhere, or until the day after the last of it was packaged: who cleans up then
/// and calls the vessel infected says so of what was in it.
fn lies_in_infected(context: &Context<'_>) -> Vec<(LotId, Stay)> {
    let mut out = Vec::new();
    for (vessel, stays) in stays(context) {
        let mut last = None;
        for stay in stays {
            match stay.what {
                What::Holds(lot) => last = Some(lot),
                What::Clean { .. } => last = None,
                What::Infected => {
                    out.extend(
                        last.filter(|lot| !has_left(context, *lot, &vessel, stay.at)).map(|lot| (lot, stay)),
                    );
                }
            }
        }
    }
    out
}

/// Whether a beer has left a vessel, folded, by a moment.
fn has_left(context: &Context<'_>, lot: LotId, vessel: &str, at: Moment) -> bool {
    let is_elsewhere = vessels::is_in(context, lot, at).is_some_and(|now| folded(now) != vessel);
    let packaged = context.events(lot).filter(|(.., statement)| matches!(statement.kind, Kind::Package(_)));
    let cleaned_up = packaged.last().and_then(|(packaged, ..)| packaged.date().tomorrow().ok());
    is_elsewhere || cleaned_up.is_some_and(|day| day < at.date())
}

/// When each lot was last plated, and whether nothing strange grew.
fn last_plates(context: &Context<'_>) -> BTreeMap<LotId, (Moment, bool)> {
    let mut out = BTreeMap::new();
    for lot in (0..).map(LotId).take(context.names.lots.len()) {
        for (at, _, statement) in context.events(lot) {
            if let Kind::Test(test) = &statement.kind
                && let Some(passed) = plated(test)
            {
                out.insert(lot, (at, passed));
            }
        }
    }
    out
}

/// Whether a lot passed a plate since: what it took up before does not live in it.
fn has_passed(plates: &BTreeMap<LotId, (Moment, bool)>, lot: LotId, since: Moment) -> bool {
    plates.get(&lot).is_some_and(|(at, passed)| *passed && *at >= since)
}

/// Follows every `infected` down the descents and through the vessels, and tells which lots are infected or suspect, and since
/// which line.
///
/// What only shared a vessel may well be sound. A brew of which that is said shows it before its yeast is used, so it ends
/// there; yeast out of such a jar is pitched before anything shows, so its descent is followed. Its other vessels are not.
pub(crate) fn follow(
    context: &Context<'_>,
    descents: &[Descent],
    infected: &Infections,
    faults: &mut Vec<Fault>,
) -> BTreeMap<LotId, (Suspicion, Option<(Moment, Place)>)> {
    if infected.lots.is_empty() && !infected.vessels {
        return BTreeMap::new();
    }
    let is_cleared = |lot: LotId, since: Moment| has_passed(&infected.plates, lot, since);
    let mut suspect = infected.lots.clone();
    let mut told: BTreeSet<LotId> = infected.living().collect();
    descend(&is_cleared, descents, &mut suspect, &mut told, faults);
    let mut yeast: BTreeMap<LotId, Why> = BTreeMap::new();
    let mut taint = |after: &[Stay], infected: Place, before: Option<(LotId, LotId)>| {
        // A later lot with trouble of its own would not free the vessel; one told suspect here is not yet trouble.
        let mut met: BTreeSet<LotId> = BTreeSet::new();
        // A lot that is racked into the vessel it stands in is one lot.
        let counts =
            |(lot, _): &(LotId, &Stay)| met.contains(lot) || (met.len() < FREED_BY && met.insert(*lot));
        for (lot, stay) in after.iter().map_while(Stay::lot).take_while(counts) {
            if !is_cleared(lot, stay.at) && told.insert(lot) {
                let vessel = Some(Shared { vessel: Arc::clone(&stay.vessel), before });
                let why = Why { vessel, ..Why::called(lot, infected, None) };
                faults.push(why.of(lot, stay.place));
                if context.kind(lot) != Some(LotKind::Brew) {
                    yeast.insert(lot, why);
                }
            }
        }
    };
    for stays in stays(context).values() {
        for (here, stay) in stays.iter().enumerate() {
            let after = stays.get(here + 1..).unwrap_or(&[]);
            match stay.what {
                What::Infected => taint(after, stay.place, None),
                What::Holds(lot) => {
                    if let Some(why) = suspect.get(&lot) {
                        taint(after, why.infected, Some((lot, why.root)));
                    }
                }
                What::Clean { .. } => {}
            }
        }
    }
    descend(&is_cleared, descents, &mut yeast, &mut told, faults);
    let graded = |lot| match suspect.get(&lot) {
        Some(why) => (lot, (Suspicion::Infected, why.since)),
        None => (lot, (Suspicion::Shared, yeast.get(&lot).and_then(|why: &Why| why.since))),
    };
    told.into_iter().map(graded).collect()
}

/// Follows lots down their descents, and tells of each that was not told before.
fn descend(
    is_cleared: &impl Fn(LotId, Moment) -> bool,
    descents: &[Descent],
    lots: &mut BTreeMap<LotId, Why>,
    told: &mut BTreeSet<LotId>,
    faults: &mut Vec<Fault>,
) {
    // In order of time: what a lot gave before it was in it is clean of it.
    let begins = |why: &Why| why.since.map(|(at, _)| at);
    let mut queue: BTreeMap<(Option<Moment>, LotId), Why> =
        lots.iter().map(|(lot, why)| ((begins(why), *lot), why.clone())).collect();
    while let Some(((since, lot), why)) = queue.pop_first() {
        let after = |descent: &&Descent| {
            descent.from == lot
                && since.is_none_or(|since| descent.at >= since)
                && why.until.is_none_or(|boiled| descent.at < boiled)
        };
        for descent in descents.iter().filter(after) {
            if !is_cleared(descent.to, descent.at) && told.insert(descent.to) {
                faults.push(why.of(descent.to, descent.place));
                let why = Why { since: Some((descent.at, descent.place)), until: None, ..why.clone() };
                lots.insert(descent.to, why.clone());
                if !descent.packaged {
                    queue.insert((begins(&why), descent.to), why);
                }
            }
        }
    }
}

/// What is said of a vessel from a moment on.
#[derive(Clone)]
struct Stay {
    at: Moment,
    what: What,
    place: Place,
    vessel: Arc<str>,
}

#[derive(Clone, Copy)]
enum What {
    /// A lot is in it.
    Holds(LotId),
    /// It is clean; of when that was maybe nothing but the day is known.
    Clean { of_the_day: bool },
    /// It is called infected itself.
    Infected,
}

impl Stay {
    const fn lot(&self) -> Option<(LotId, &Self)> {
        match self.what {
            What::Holds(lot) => Some((lot, self)),
            What::Clean { .. } | What::Infected => None,
        }
    }
}

/// Who was in which vessel, in order of time.
fn stays(context: &Context<'_>) -> BTreeMap<String, Vec<Stay>> {
    let mut out: BTreeMap<String, Vec<Stay>> = BTreeMap::new();
    let mut enter = |name: &str, at: Moment, what: What, place: Place| {
        out.entry(folded(name)).or_default().push(Stay { at, what, place, vessel: Arc::from(name) });
    };
    let lots = || (0..).map(LotId).zip(&context.names.lots);
    // Which jar a harvest lies in is written where it was taken.
    let mut jars: BTreeMap<LotId, &str> = BTreeMap::new();
    for (id, _) in lots() {
        for (at, shelved, statement) in context.events(id) {
            if let Kind::Harvest(harvest) = &statement.kind
                && let Some(jar) = &harvest.vessel
                && let Some(lot) = context.names.lot(&harvest.name.text)
            {
                enter(&jar.text, at, What::Holds(lot), shelved.place(statement.span));
                jars.entry(lot).or_insert(&*jar.text);
            }
        }
    }
    for (id, lot) in lots() {
        let mut vessel = jars.get(&id).copied();
        if matches!(lot.kind, LotKind::Brew | LotKind::Starter)
            && let Some(home) = context.home(id)
            && let Some(filled) = Filled::of(context, id)
        {
            for statement in &home.block.statements {
                if let Kind::In(name) = &statement.kind {
                    enter(&name.text, filled.when(&name.text), What::Holds(id), home.place(statement.span));
                    vessel = Some(&*name.text);
                }
            }
        }
        for (at, shelved, statement) in context.events(id) {
            let place = shelved.place(statement.span);
            match &statement.kind {
                Kind::Rack(rack) => {
                    if let Some(to) = &rack.to {
                        enter(&to.text, at, What::Holds(id), place);
                        vessel = Some(&*to.text);
                    }
                }
                Kind::Clean(name) => {
                    if let Some(cleaned) = name.as_ref().map(|name| &*name.text).or(vessel) {
                        let of_the_day = timeline::is_of_the_day(shelved, statement);
                        enter(cleaned, at, What::Clean { of_the_day }, place);
                    }
                }
                Kind::Infected(Some(name)) if context.names_a_vessel(name) => {
                    enter(&name.text, at, What::Infected, place);
                }
                _ => {}
            }
        }
    }
    // A vessel's own timeline tells of it too. A `boil` elsewhere is one of wort, and says nothing of what it went into.
    for shelved in context.shelf.iter().filter(|s| s.block.kind == BlockKind::Vessel) {
        let Some(name) = &shelved.block.name else { continue };
        for (index, at) in timeline::moments(shelved.block, None).into_iter().enumerate() {
            let (Some(at), Some(statement)) = (at, shelved.block.statements.get(index)) else { continue };
            let place = shelved.place(statement.span);
            let clean = What::Clean { of_the_day: timeline::is_of_the_day(shelved, statement) };
            match &statement.kind {
                Kind::Clean(of) => {
                    enter(of.as_ref().map_or(&*name.text, |n| &*n.text), at, clean, place);
                }
                Kind::Boil(_) => enter(&name.text, at, clean, place),
                Kind::Infected(None) => enter(&name.text, at, What::Infected, place),
                Kind::Infected(Some(of)) if context.names_a_vessel(of) => {
                    enter(&of.text, at, What::Infected, place);
                }
                _ => {}
            }
        }
    }
    for stays in out.values_mut() {
        // What is cleaned at the very moment at which something goes in was cleaned for it.
        let in_order = |stay: &Stay| (stay.at, !matches!(stay.what, What::Clean { .. }), stay.place);
        stays.sort_by_key(in_order);
        clean_first(stays);
        stays.sort_by_key(in_order);
    }
    out
}

/// On the day that something goes in a vessel is cleaned for it, where no time says otherwise.
fn clean_first(stays: &mut [Stay]) {
    let mut filled: Option<Moment> = None;
    for index in 0..stays.len() {
        let goes_in_later = |at: Moment| {
            stays.get(index + 1).is_some_and(|next| next.lot().is_some() && next.at.date() == at.date())
        };
        let Some(stay) = stays.get(index) else { break };
        match stay.what {
            What::Holds(_) => filled = Some(stay.at),
            What::Clean { of_the_day: true } if !goes_in_later(stay.at) => {
                let filled = filled.filter(|filled| filled.date() == stay.at.date());
                if let (Some(filled), Some(stay)) = (filled, stays.get_mut(index)) {
                    stay.at = filled;
                }
            }
            What::Clean { .. } | What::Infected => filled = None,
        }
    }
}

/// When a lot went into the vessel that its facts name: at its first line, of wort that was hot then once it was read cool or
/// is pitched, or once that was cleaned. Whoever cleans it before the yeast is in writes so among the lines of the brew; where no yeast is told, on its
/// first day.
struct Filled {
    first: Moment,
    /// When a vessel was last cleaned by its name, folded, before the yeast; `None`: its own.
    cleaned: BTreeMap<Option<String>, Moment>,
}

impl Filled {
    fn of(context: &Context<'_>, lot: LotId) -> Option<Self> {
        let (mut first, ..) = context.events(lot).next()?;
        let mut cleaned = BTreeMap::new();
        let mut yeast_told = false;
        let mut is_hot = false;
        for (at, _, statement) in context.events(lot) {
            if is_hot {
                first = at;
            }
            match &statement.kind {
                Kind::Reading(reading) if reading.what == Measured::Temperature => {
                    is_hot = reading.measure().base() > DEADLY.as_celsius();
                }
                Kind::Clean(name) => {
                    cleaned.insert(name.as_ref().map(|name| folded(&name.text)), at);
                }
                kind if context.brings_yeast(kind) => {
                    yeast_told = true;
                    break;
                }
                _ => {}
            }
        }
        cleaned.retain(|_, at| yeast_told || at.date() == first.date());
        Some(Self { first, cleaned })
    }

    fn when(&self, vessel: &str) -> Moment {
        let cleaned =
            [None, Some(folded(vessel))].into_iter().filter_map(|of| self.cleaned.get(&of).copied());
        cleaned.fold(self.first, Moment::max)
    }
}
