//! What a file has to offer to whoever writes in another.

use barm_reckoning::{LotKind, folded};
use barm_syntax::ast::{Block, BlockKind, Dated, DatedWhat, Kind, Log, Placed, Statement};
use jiff::civil::Date;

use crate::mention::{self, Role, mentions};

/// A lot that is declared.
#[derive(Debug)]
pub(crate) struct Declared {
    /// As it is written.
    pub(crate) name: Box<str>,
    /// As names are compared.
    pub(crate) folded: Box<str>,
    pub(crate) kind: LotKind,
    /// The first day of which something is said where it is declared.
    pub(crate) since: Option<Date>,
}

/// What a file has to offer.
#[derive(Debug)]
pub(crate) struct Offers {
    /// Its lots, in order of lines.
    pub(crate) lots: Box<[Declared]>,
    /// Its strains and vessels, declared or only named.
    pub(crate) others: Box<[(Role, Box<str>)]>,
    /// Its last day.
    pub(crate) last: Option<Date>,
}

impl Offers {
    pub(crate) fn of(log: &Log) -> Self {
        let (mut lots, mut others) = (Vec::new(), Vec::new());
        for placed in &log.blocks {
            lots.extend(lots_of(&placed.block));
            for mention in mentions(&placed.block) {
                if is_strain_or_vessel(mention.role) {
                    others.push((mention.role, mention.name.text.clone()));
                }
            }
        }
        others.sort();
        others.dedup();
        let last = log.blocks.iter().filter_map(|placed| last_day(placed, None)).max();
        Self { lots: lots.into(), others: others.into(), last }
    }
}

const fn is_strain_or_vessel(role: Role) -> bool {
    match role {
        Role::DeclaresStrain | Role::UsesStrain | Role::DeclaresVessel | Role::UsesVessel => true,
        Role::DeclaresLot | Role::UsesLot | Role::MayUseLot => false,
    }
}

/// The lots of a block: its own, its harvests, and those of lines that could not be read.
fn lots_of(block: &Block) -> Vec<Declared> {
    let own = match block.kind {
        BlockKind::Culture => Some(LotKind::Culture),
        BlockKind::Starter => Some(LotKind::Starter),
        BlockKind::Brew => Some(LotKind::Brew),
        BlockKind::Strain | BlockKind::Vessel | BlockKind::Unknown | BlockKind::Loose => None,
    };
    let declared =
        |name: &str, kind, since| Declared { name: name.into(), folded: folded(name).into(), kind, since };
    let day = |statement: &Statement| block.days.get(statement.day?.position())?.date;
    let mut out = Vec::new();
    if let (Some(name), Some(kind)) = (&block.name, own) {
        let made = block.statements.iter().filter_map(|statement| Some(came_to_be(&statement.kind)?.date));
        let since = block.days.iter().filter_map(|day| day.date).chain(made).min();
        out.push(declared(&name.text, kind, since));
    }
    for statement in &block.statements {
        mention::of_statement(statement, &mut |name, role| {
            if role == Role::DeclaresLot {
                out.push(declared(&name.text, LotKind::Harvest, day(statement)));
            }
        });
    }
    let lost = block.lost.iter().filter_map(|lost| Some((lost.name.as_ref()?, lost.word?)));
    out.extend(lost.filter_map(|(name, word)| {
        let kind = match word {
            "harvest" => LotKind::Harvest,
            "culture" => LotKind::Culture,
            "starter" => LotKind::Starter,
            "brew" => LotKind::Brew,
            _ => return None,
        };
        Some(declared(&name.text, kind, None))
    }));
    out
}

/// When a culture was made or harvested.
const fn came_to_be(kind: &Kind) -> Option<&Dated> {
    match kind {
        Kind::Dated(dated) if !matches!(dated.what, DatedWhat::BestBefore) => Some(dated),
        _ => None,
    }
}

/// The last day of a block, or the one on which it was made; but not the one whose date is being written, at an offset of the
/// file.
pub(crate) fn last_day(placed: &Placed, written: Option<u32>) -> Option<Date> {
    let is_written = |start: u32, end: u32| {
        written.is_some_and(|at| placed.start + start <= at && at <= placed.start + end)
    };
    let block = &*placed.block;
    let days = block.days.iter().filter(|day| !is_written(day.date_span.start, day.date_span.end));
    let made = block.statements.iter().filter_map(|statement| came_to_be(&statement.kind));
    let made = made.filter(|made| made.days_either_way == 0 && !is_written(made.span.start, made.span.end));
    days.filter_map(|day| day.date).chain(made.map(|made| made.date)).max()
}
