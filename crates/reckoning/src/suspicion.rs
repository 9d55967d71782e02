//! What descends from, or shared a vessel with, what was infected.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use barm_syntax::ast::Kind;

use crate::context::Context;
use crate::fault::Fault;
use crate::fold::Descent;
use crate::names::{LotId, LotKind, folded};
use crate::{Moment, Place};

/// Two brews in a vessel without trouble free it again.
const FREED_BY_BREWS: usize = 2;

/// Why a lot is suspect.
#[derive(Clone)]
pub(crate) struct Why {
    pub infected: Place,
    source: LotId,
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
                    out.entry(lot).or_insert(Why { infected, source: lot });
                }
            }
        }
    }
    out
}

/// Follows every `infected` down the descents and through the vessels, and tells which lots are infected or suspect.
pub(crate) fn follow(
    context: &Context<'_>,
    descents: &[Descent],
    mut suspect: BTreeMap<LotId, Why>,
    faults: &mut Vec<Fault>,
) -> BTreeSet<LotId> {
    if suspect.is_empty() {
        return BTreeSet::new();
    }
    let stays = stays(context);
    let mut told: BTreeSet<LotId> = suspect.keys().copied().collect();
    let mut queue: Vec<LotId> = told.iter().copied().collect();
    while let Some(lot) = queue.pop() {
        let Some(why) = suspect.get(&lot).cloned() else { continue };
        for descent in descents.iter().filter(|d| d.from == lot) {
            if told.insert(descent.to) {
                suspect.insert(descent.to, why.clone());
                queue.push(descent.to);
                faults.push(Fault::Suspect {
                    lot: descent.to,
                    place: descent.place,
                    infected: why.infected,
                    source: why.source,
                    vessel: None,
                });
            }
        }
        for visits in stays.values() {
            let Some(here) = visits.iter().position(|v| v.lot == Some(lot)) else { continue };
            let after = visits.get(here + 1..).unwrap_or(&[]);
            // A later brew with trouble of its own would not free the vessel; one told suspect here is not yet trouble.
            let shared = after.iter().take_while(|v| v.lot.is_some()).take(FREED_BY_BREWS);
            for visit in shared {
                let Some(next) = visit.lot else { continue };
                if told.insert(next) {
                    faults.push(Fault::Suspect {
                        lot: next,
                        place: visit.place,
                        infected: why.infected,
                        source: why.source,
                        vessel: Some(Arc::clone(&visit.vessel)),
                    });
                }
            }
        }
    }
    told
}

/// A lot in a vessel from a moment on, or (`lot: None`) the vessel cleaned.
struct Stay {
    at: Moment,
    lot: Option<LotId>,
    place: Place,
    vessel: Arc<str>,
}

/// Who was in which vessel, in order of time.
fn stays(context: &Context<'_>) -> BTreeMap<String, Vec<Stay>> {
    let mut out: BTreeMap<String, Vec<Stay>> = BTreeMap::new();
    let mut enter = |name: &str, at: Moment, lot: Option<LotId>, place: Place| {
        out.entry(folded(name)).or_default().push(Stay { at, lot, place, vessel: Arc::from(name) });
    };
    for (index, lot) in context.names.lots.iter().enumerate() {
        if !matches!(lot.kind, LotKind::Brew | LotKind::Starter) {
            continue;
        }
        let id = LotId(u32::try_from(index).unwrap_or(u32::MAX));
        let first = context.events(id).map(|(at, _, _)| at).next();
        let home = context.home(id);
        let mut vessel: Option<String> = None;
        if let (Some(home), Some(first)) = (home, first) {
            for statement in &home.block.statements {
                if let Kind::In(name) = &statement.kind {
                    enter(&name.text, first, Some(id), home.place(statement.span));
                    vessel = Some(name.text.to_string());
                }
            }
        }
        for (at, shelved, statement) in context.events(id) {
            let place = shelved.place(statement.span);
            match &statement.kind {
                Kind::Rack(rack) => {
                    if let Some(to) = &rack.to {
                        enter(&to.text, at, Some(id), place);
                        vessel = Some(to.text.to_string());
                    }
                }
                Kind::Clean(Some(name)) => enter(&name.text, at, None, place),
                Kind::Clean(None) => {
                    if let Some(vessel) = &vessel {
                        enter(vessel, at, None, place);
                    }
                }
                _ => {}
            }
        }
    }
    // A vessel's own timeline may clean it too.
    for shelved in context.shelf.iter().filter(|s| s.block.kind == barm_syntax::ast::BlockKind::Vessel) {
        let Some(name) = &shelved.block.name else { continue };
        for (index, at) in crate::timeline::moments(shelved.block, None).into_iter().enumerate() {
            let (Some(at), Some(statement)) = (at, shelved.block.statements.get(index)) else { continue };
            if let Kind::Clean(of) = &statement.kind {
                let cleaned = of.as_ref().map_or(&*name.text, |n| &*n.text);
                enter(cleaned, at, None, shelved.place(statement.span));
            }
        }
    }
    for visits in out.values_mut() {
        visits.sort_by_key(|v| (v.at, v.place));
    }
    out
}
