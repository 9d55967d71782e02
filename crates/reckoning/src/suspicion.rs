//! What descends from, or shared a vessel with, what was infected.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use barm_syntax::ast::{BlockKind, Kind, Statement};

use crate::context::Context;
use crate::fault::Fault;
use crate::fold::Descent;
use crate::names::{LotId, LotKind, folded};
use crate::{Moment, Place};

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
}

/// A vessel that two lots had in common.
#[derive(Clone)]
struct Shared {
    vessel: Arc<str>,
    /// Who was in it before, and which infected lot that comes from; `None`: the vessel itself is called infected.
    before: Option<(LotId, LotId)>,
}

impl Why {
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

/// The lots that an `infected` line names.
pub(crate) fn infected(context: &Context<'_>, faults: &mut Vec<Fault>) -> BTreeMap<LotId, Why> {
    let mut out: BTreeMap<LotId, Why> = BTreeMap::new();
    for (index, shelved) in context.shelf.iter().enumerate() {
        let owner = context.owner.get(index).copied().flatten();
        for statement in &shelved.block.statements {
            if let Kind::Infected(name) = &statement.kind {
                let lot = match name {
                    Some(name) => context.known_lot(name, shelved, faults),
                    None => owner,
                };
                if let Some(lot) = lot {
                    let infected = shelved.place(statement.span);
                    out.entry(lot).or_insert(Why { infected, root: lot, vessel: None });
                }
            }
        }
    }
    out
}

/// Follows every `infected` down the descents and through the vessels, and tells which lots are infected or suspect.
///
/// What only shared a vessel may well be sound. A brew of which that is said shows it before its yeast is used, so it ends
/// there; yeast out of such a jar is pitched before anything shows, so its descent is followed. Its other vessels are not.
pub(crate) fn follow(
    context: &Context<'_>,
    descents: &[Descent],
    mut suspect: BTreeMap<LotId, Why>,
    faults: &mut Vec<Fault>,
) -> BTreeSet<LotId> {
    let is_infected = |s: &Statement| matches!(s.kind, Kind::Infected(None));
    let mut vessels = context.shelf.iter().filter(|s| s.block.kind == BlockKind::Vessel);
    if suspect.is_empty() && !vessels.any(|vessel| vessel.block.statements.iter().any(is_infected)) {
        return BTreeSet::new();
    }
    let mut told: BTreeSet<LotId> = suspect.keys().copied().collect();
    descend(descents, &mut suspect, &mut told, faults);
    let mut yeast: BTreeMap<LotId, Why> = BTreeMap::new();
    let mut taint = |after: &[Stay], infected: Place, before: Option<(LotId, LotId)>| {
        // A later lot with trouble of its own would not free the vessel; one told suspect here is not yet trouble.
        for (lot, stay) in after.iter().map_while(Stay::lot).take(FREED_BY) {
            if told.insert(lot) {
                let vessel = Some(Shared { vessel: Arc::clone(&stay.vessel), before });
                let why = Why { infected, root: lot, vessel };
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
                What::Clean => {}
            }
        }
    }
    descend(descents, &mut yeast, &mut told, faults);
    told
}

/// Follows lots down their descents, and tells of each that was not told before.
fn descend(
    descents: &[Descent],
    lots: &mut BTreeMap<LotId, Why>,
    told: &mut BTreeSet<LotId>,
    faults: &mut Vec<Fault>,
) {
    let mut queue: Vec<(LotId, Why)> = lots.iter().map(|(lot, why)| (*lot, why.clone())).collect();
    while let Some((lot, why)) = queue.pop() {
        for descent in descents.iter().filter(|d| d.from == lot) {
            if told.insert(descent.to) {
                faults.push(why.of(descent.to, descent.place));
                lots.insert(descent.to, why.clone());
                queue.push((descent.to, why.clone()));
            }
        }
    }
}

/// What is said of a vessel from a moment on.
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
    /// It is clean.
    Clean,
    /// It is called infected itself.
    Infected,
}

impl Stay {
    const fn lot(&self) -> Option<(LotId, &Self)> {
        match self.what {
            What::Holds(lot) => Some((lot, self)),
            What::Clean | What::Infected => None,
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
            && let Some((first, ..)) = context.events(id).next()
        {
            for statement in &home.block.statements {
                if let Kind::In(name) = &statement.kind {
                    enter(&name.text, first, What::Holds(id), home.place(statement.span));
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
                        enter(cleaned, at, What::Clean, place);
                    }
                }
                _ => {}
            }
        }
    }
    // A vessel's own timeline tells of it too. A `boil` elsewhere is one of wort, and says nothing of what it went into.
    for shelved in context.shelf.iter().filter(|s| s.block.kind == BlockKind::Vessel) {
        let Some(name) = &shelved.block.name else { continue };
        for (index, at) in crate::timeline::moments(shelved.block, None).into_iter().enumerate() {
            let (Some(at), Some(statement)) = (at, shelved.block.statements.get(index)) else { continue };
            let place = shelved.place(statement.span);
            match &statement.kind {
                Kind::Clean(of) => {
                    enter(of.as_ref().map_or(&*name.text, |n| &*n.text), at, What::Clean, place);
                }
                Kind::Boil(_) => enter(&name.text, at, What::Clean, place),
                Kind::Infected(None) => enter(&name.text, at, What::Infected, place),
                _ => {}
            }
        }
    }
    for stays in out.values_mut() {
        stays.sort_by_key(|v| (v.at, v.place));
    }
    out
}
