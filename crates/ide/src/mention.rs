//! Names in a log: where they stand, and what they do there.

use barm_syntax::ast::{Block, BlockKind, Kind, Name, Statement};

/// What a name does where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// The header of a culture, starter or brew, or a harvest.
    DeclaresLot,
    /// The header of a strain.
    DeclaresStrain,
    /// The header of a vessel.
    DeclaresVessel,
    /// A lot is meant.
    UsesLot,
    /// A lot may be meant, or a thing by that name: `add 2 L slack-3`, `add 100 g sucrose`.
    MayUseLot,
    /// A strain is meant.
    UsesStrain,
    /// A vessel is meant; it needs no block of its own.
    UsesVessel,
}

impl Role {
    /// The least of them.
    pub(crate) const FIRST: Self = Self::DeclaresLot;

    /// Whether the name is given here.
    #[must_use]
    pub const fn declares(self) -> bool {
        matches!(self, Self::DeclaresLot | Self::DeclaresStrain | Self::DeclaresVessel)
    }
}

/// A name where it stands; its span counts in its block.
#[derive(Debug, Clone, Copy)]
pub struct Mention<'b> {
    /// The name.
    pub name: &'b Name,
    /// What it does.
    pub role: Role,
}

/// The names of a block: its header's, those of its lines in order, and those of lines that could not be read.
#[must_use]
pub fn mentions(block: &Block) -> Vec<Mention<'_>> {
    let mut out = Vec::new();
    let role = match block.kind {
        BlockKind::Strain => Some(Role::DeclaresStrain),
        BlockKind::Vessel => Some(Role::DeclaresVessel),
        BlockKind::Culture | BlockKind::Starter | BlockKind::Brew => Some(Role::DeclaresLot),
        BlockKind::Unknown | BlockKind::Loose => None,
    };
    if let (Some(name), Some(role)) = (&block.name, role) {
        out.push(Mention { name, role });
    }
    out.extend(block.strains.iter().map(|name| Mention { name, role: Role::UsesStrain }));
    for statement in &block.statements {
        of_statement(statement, &mut |name, role| out.push(Mention { name, role }));
    }
    // Where the line cannot be read the name is known all the same.
    out.extend(block.lost_lots().map(|name| Mention { name, role: Role::DeclaresLot }));
    out
}

/// The names of one statement.
pub(crate) fn of_statement<'b>(statement: &'b Statement, met: &mut impl FnMut(&'b Name, Role)) {
    let mut lot = |name: &'b Option<Name>| {
        if let Some(name) = name {
            met(name, Role::UsesLot);
        }
    };
    match &statement.kind {
        Kind::Kept(kept) => lot(&kept.lot),
        Kind::Count(count) => lot(&count.lot),
        Kind::Viability(of) => lot(&of.lot),
        Kind::Wash(wash) => lot(&wash.lot),
        Kind::Dump(of) | Kind::Decant(of) => lot(&of.lot),
        Kind::WortOf(wort) => met(&wort.brew, Role::UsesLot),
        Kind::Pitch(pitch) => met(&pitch.lot, Role::UsesLot),
        Kind::Reading(reading) => {
            if let Some(name) = reading.lot() {
                met(name, Role::UsesLot);
            }
        }
        Kind::Infected(Some(name)) => met(name, Role::UsesLot),
        Kind::In(name) | Kind::Clean(Some(name)) => met(name, Role::UsesVessel),
        Kind::Rack(rack) => {
            if let Some(name) = &rack.to {
                met(name, Role::UsesVessel);
            }
        }
        Kind::Add(add) => met(&add.what, Role::MayUseLot),
        Kind::Harvest(harvest) => {
            met(&harvest.name, Role::DeclaresLot);
            if let Some(name) = &harvest.vessel {
                met(name, Role::UsesVessel);
            }
        }
        Kind::Package(package) => package.with.iter().for_each(|with| met(&with.what, Role::MayUseLot)),
        _ => {}
    }
}
