//! The family tree of yeast: what was grown from what, both ways.

use std::collections::BTreeSet;

use barm_reckoning::{Batch, LotId, LotKind, Place, Season};
use barm_syntax::Span;
use barm_syntax::ast::Kind;

use crate::Part;
use crate::navigate::{Spot, name_at};
use crate::world::World;

/// A lot in the tree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Relative {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: LotKind,
    /// Where its name is declared.
    pub spot: Spot,
}

/// The lot at an offset.
#[must_use]
pub fn relative_at(world: &World, path: &str, offset: u32) -> Option<Relative> {
    let (name, _) = name_at(world, path, offset)?;
    let part = world.part(path)?;
    relative(&part, part.season.names.lot(&name)?)
}

/// What a lot was grown from.
#[must_use]
pub fn parents(world: &World, path: &str, name: &str) -> Vec<Relative> {
    related(world, path, name, |(parent, child), lot| (child == lot).then_some(parent))
}

/// What was grown from a lot.
#[must_use]
pub fn children(world: &World, path: &str, name: &str) -> Vec<Relative> {
    related(world, path, name, |(parent, child), lot| (parent == lot).then_some(child))
}

fn related(
    world: &World,
    path: &str,
    name: &str,
    other: impl Fn((LotId, LotId), LotId) -> Option<LotId>,
) -> Vec<Relative> {
    let Some(part) = world.part(path) else { return Vec::new() };
    let Some(lot) = part.season.names.lot(name) else { return Vec::new() };
    let found: BTreeSet<LotId> =
        descents(&part.season).into_iter().filter_map(|pair| other(pair, lot)).collect();
    found.into_iter().filter(|found| *found != lot).filter_map(|found| relative(&part, found)).collect()
}

fn relative(part: &Part, lot: LotId) -> Option<Relative> {
    let lot = part.season.lot(lot)?;
    let Place { file, span } = lot.place;
    let spot = Spot { path: part.path(file)?.clone(), span: Span::new(span.start, span.end) };
    Some(Relative { name: lot.name.to_string(), kind: lot.kind, spot })
}

/// Who came from whom: what was pitched or added, what was harvested, and what was parted with its yeast.
fn descents(season: &Season) -> Vec<(LotId, LotId)> {
    let mut out = Vec::new();
    for (id, lot) in (0..).map(LotId).zip(&season.names.lots) {
        out.extend(lot.taken_from.map(|parent| (parent, id)));
        // A part of a wort that was taken with the yeast in it.
        out.extend(season.batch(id).and_then(Batch::taken_from).map(|whole| (whole, id)));
        for (block, _) in lot.blocks.iter().filter_map(|block| season.block(*block)) {
            for statement in &block.statements {
                let parent = match &statement.kind {
                    Kind::Pitch(pitch) => season.names.lot(&pitch.lot.text),
                    Kind::Add(add) => season.names.lot(&add.what.text),
                    _ => None,
                };
                out.extend(parent.map(|parent| (parent, id)));
            }
        }
    }
    out
}
