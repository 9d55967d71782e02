//! What the `vessel` blocks say, and which vessel a brew is in.

use std::collections::{BTreeSet, HashMap};

use barm_syntax::ast::{BlockKind, Kind, Name, Shape};

use crate::Moment;
use crate::context::Context;
use crate::names::{LotId, folded};
use crate::timeline::Shelved;

/// What a `vessel` block says.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Vessel {
    pub litres: Option<f64>,
    /// W/K, and give or take.
    pub loses: Option<(f64, f64)>,
    pub shape: Option<Shape>,
}

/// The vessels that have a block of their own.
#[derive(Debug, Default)]
pub(crate) struct Vessels(HashMap<String, Vessel>);

impl Vessels {
    pub(crate) fn collect(shelf: &[Shelved<'_>]) -> Self {
        let mut out = HashMap::new();
        for shelved in shelf.iter().filter(|s| s.block.kind == BlockKind::Vessel) {
            let Some(name) = &shelved.block.name else { continue };
            let vessel: &mut Vessel = out.entry(folded(&name.text)).or_default();
            for statement in &shelved.block.statements {
                match &statement.kind {
                    Kind::Holds(q) => vessel.litres = Some(q.measure.base()),
                    Kind::LosesHeat(q) => vessel.loses = Some((q.measure.base(), q.measure.error_base())),
                    Kind::Shape(shape) => vessel.shape = Some(*shape),
                    _ => {}
                }
            }
        }
        Self(out)
    }

    /// What is known of a vessel.
    pub(crate) fn named(&self, name: &str) -> Vessel {
        self.0.get(&folded(name)).copied().unwrap_or_default()
    }
}

/// Every vessel that a line or a header names, folded.
pub(crate) fn named(shelf: &[Shelved<'_>]) -> BTreeSet<String> {
    let mut out = BTreeSet::new();
    for block in shelf.iter().map(|shelved| shelved.block) {
        let header = block.name.as_ref().filter(|_| block.kind == BlockKind::Vessel);
        let lines = block.statements.iter().filter_map(|statement| of_line(&statement.kind));
        out.extend(header.into_iter().chain(lines).map(|name| folded(&name.text)));
    }
    out
}

/// The vessel that a line names.
pub(crate) fn of_line(kind: &Kind) -> Option<&Name> {
    match kind {
        Kind::In(name) | Kind::Clean(Some(name)) => Some(name),
        Kind::Rack(rack) => rack.to.as_ref(),
        Kind::Harvest(harvest) => harvest.vessel.as_ref(),
        _ => None,
    }
}

/// The vessel that a brew began in, as its facts say.
pub(crate) fn begun_in<'c>(context: &'c Context<'_>, lot: LotId) -> Option<&'c str> {
    context.home(lot)?.block.statements.iter().find_map(|statement| match &statement.kind {
        Kind::In(name) => Some(&*name.text),
        _ => None,
    })
}

/// The vessel that a brew is in at a moment: the one that it was racked to last.
pub(crate) fn is_in<'c>(context: &'c Context<'_>, lot: LotId, at: Moment) -> Option<&'c str> {
    let until = context.events(lot).take_while(|(when, ..)| *when <= at);
    let racked = until.filter_map(|(_, _, statement)| match &statement.kind {
        Kind::Rack(rack) => rack.to.as_ref().map(|to| &*to.text),
        _ => None,
    });
    racked.last().or_else(|| begun_in(context, lot))
}
