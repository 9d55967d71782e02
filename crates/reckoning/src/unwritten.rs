//! Facts that are not written, where they would stand, and whether they stand in a line that could not be read.

use std::collections::BTreeSet;

use barm_syntax::ast::{Block, DayIndex, Kind, Measured};
use barm_syntax::{Problem, ProblemKind};

use crate::fault::Fault;
use crate::names::{BlockId, LotId, LotKind};
use crate::{FileId, Place, Season};

/// A wort that is part of a part is followed so far, and yeast through so many lots.
const FURTHEST: usize = 16;

/// The first words that tell when yeast was made, or what makes its age of no matter.
const AGES: &[&str] = &["made", "best-before", "harvested", "count", "viability"];
/// Those that tell how much yeast there is.
const SUPPLIES: &[&str] = &["pack", "sachet", "slurry", "vial", "slant"];
/// Those that tell how far a beer has come, how warm it was, how much there is, what gas it holds and what went into it.
const OF_BEER: &[&str] = &[
    "add", "boil", "bottle", "brix", "cask", "co2", "crash", "gravity", "infected", "keg", "krausen",
    "pitch", "pressure", "rack", "set", "temp", "volume", "wort",
];

/// A fact for want of which something was not reckoned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fact {
    /// How much wort a starter or a brew is of, and how strong it is.
    Wort(LotId),
    /// How much yeast a lot holds.
    Supply(LotId),
    /// When it was made or harvested.
    Age(LotId),
    /// Whether its yeast is of ale or of lager.
    Kind(LotId),
    /// The rate that a brew is to be pitched at.
    Target(LotId),
    /// What this word of an item tells; it would stand at the item's end.
    Behind(Place, &'static str),
    /// What this event tells; it would stand before an item.
    Before(Place, &'static str),
    /// How many cells a lot holds: it would be counted before an item.
    Count(Place, LotId),
    /// How far a beer has come, how warm it was and what went into it.
    Beer(LotId),
}

fn is_supply(kind: &Kind) -> bool {
    matches!(kind, Kind::Pack(_) | Kind::Sachet(_) | Kind::Slurry(_) | Kind::Vial(_) | Kind::Slant)
}

/// Whether a line of a block that tells of its beer could not be read, or the day of one. Where nobody knows the first word,
/// a number behind it may be what was read.
pub(crate) fn is_unread_of_beer(block: &Block, text: &str) -> bool {
    let lost = block.lost.iter().any(|lost| match lost.word {
        Some(word) => OF_BEER.contains(&word),
        None => lost.span.text(text).contains(|c: char| c.is_ascii_digit()),
    });
    let has_no_day =
        |day: DayIndex| block.days.get(day.position()).is_some_and(|day| day.date.is_none() && !day.asked);
    let of_beer = |kind: &Kind| match kind {
        Kind::Reading(reading) => {
            !matches!(reading.what, Measured::Ambient | Measured::Acidity | Measured::Oxygen)
        }
        Kind::Add(_) | Kind::Crash(_) | Kind::Package(_) | Kind::Pitch(_) | Kind::Rack(_) | Kind::Set(_) => {
            true
        }
        _ => false,
    };
    let undated =
        || block.statements.iter().any(|line| line.day.is_some_and(has_no_day) && of_beer(&line.kind));
    lost || block.in_conflict || undated()
}

impl Season {
    /// The lines that would tell a fact: the blocks, and by which first word. None where it stands behind an item, or
    /// where no line of a block can tell it.
    #[must_use]
    pub fn lines_for(&self, fact: Fact) -> Vec<(BlockId, &'static str)> {
        self.lines(fact, &mut BTreeSet::new())
    }

    fn lines(&self, fact: Fact, seen: &mut BTreeSet<LotId>) -> Vec<(BlockId, &'static str)> {
        let in_block_of = |lot: LotId, words: &[&'static str]| {
            let block = self.lot(lot).and_then(|lot| lot.blocks.first().copied());
            block.map_or_else(Vec::new, |block| words.iter().map(|word| (block, *word)).collect())
        };
        match fact {
            Fact::Wort(lot) => {
                let whole = self.whole_wort(lot);
                let written =
                    self.statements(whole).any(|kind| matches!(kind, Kind::Wort(_) | Kind::WortOf(_)));
                if written { Vec::new() } else { in_block_of(whole, &["wort"]) }
            }
            Fact::Supply(lot) => match self.batch(lot) {
                _ if seen.len() >= FURTHEST || !seen.insert(lot) => Vec::new(),
                Some(batch) if batch.wort.is_none() => self.lines(Fact::Wort(lot), seen),
                Some(batch) => {
                    let pitched = batch.pitches.iter().filter(|pitch| pitch.live.is_none());
                    pitched.flat_map(|pitch| self.lines(Fact::Supply(pitch.lot), seen)).collect()
                }
                // What is in a vial is counted, what is on a slant is grown, and of the others it is written.
                None if self.statements(lot).any(is_supply) => Vec::new(),
                None if self.is_culture(lot) => in_block_of(lot, &["pack", "sachet", "slurry"]),
                None => Vec::new(),
            },
            Fact::Age(lot) if self.is_culture(lot) => {
                let packed = self.statements(lot).any(|kind| matches!(kind, Kind::Pack(_) | Kind::Sachet(_)));
                in_block_of(lot, if packed { &["made"] } else { &["harvested"] })
            }
            Fact::Kind(lot) => {
                let strain = self.main_strain(lot).and_then(|strain| self.block_at(strain.place?));
                match strain {
                    Some(block) => vec![(block, "kind")],
                    None if self.is_culture(lot) => in_block_of(lot, &["kind"]),
                    None => Vec::new(),
                }
            }
            Fact::Target(lot) => in_block_of(lot, &["target"]),
            Fact::Age(_) | Fact::Behind(..) | Fact::Before(..) | Fact::Count(..) | Fact::Beer(_) => {
                Vec::new()
            }
        }
    }

    /// Whether a fact may stand in a line that could not be read: it is not missing then.
    #[must_use]
    pub fn is_unread(&self, fact: Fact) -> bool {
        self.unread(fact, &mut BTreeSet::new())
    }

    fn unread(&self, fact: Fact, seen: &mut BTreeSet<LotId>) -> bool {
        match fact {
            Fact::Wort(lot) => {
                let whole = self.whole_wort(lot);
                // A part of what is not there is told as an unknown name.
                let astray =
                    |kind: &Kind| matches!(kind, Kind::WortOf(of) if self.names.lot(&of.brew.text).is_none());
                self.statements(whole).any(astray) || self.may_have_lost(whole, &["wort"])
            }
            Fact::Supply(lot) => match self.batch(lot) {
                _ if seen.len() >= FURTHEST || !seen.insert(lot) => false,
                Some(batch) => {
                    self.may_have_lost(lot, &["wort", "pitch", "add"])
                        || self.unread(Fact::Wort(lot), seen)
                        || batch.pitches.iter().any(|pitch| self.unread(Fact::Supply(pitch.lot), seen))
                }
                None => self.may_have_lost(lot, SUPPLIES),
            },
            Fact::Age(lot) => self.may_have_lost(lot, AGES),
            Fact::Kind(lot) => {
                let strain = self.main_strain(lot).and_then(|strain| self.block_at(strain.place?));
                strain.is_some_and(|block| {
                    self.block_has_lost(block, &["kind", "rate"]) || self.is_any_guess(block)
                }) || self.may_have_lost(lot, &["kind", "rate"])
            }
            Fact::Target(lot) => self.may_have_lost(lot, &["target"]),
            Fact::Count(_, lot) => self.may_have_lost(lot, &["count", "viability"]),
            Fact::Beer(lot) => self.lot(lot).is_some_and(|lot| {
                lot.blocks.iter().any(|id| {
                    let text = self.source(id.file).map_or("", |source| &*source.text);
                    self.block(*id).is_some_and(|(block, start)| {
                        is_unread_of_beer(block, text.get(start as usize..).unwrap_or(""))
                    })
                })
            }),
            Fact::Behind(..) | Fact::Before(..) => false,
        }
    }

    /// The blocks of which a line could not be read, or names what there is not.
    #[must_use]
    pub fn unread_blocks(&self) -> BTreeSet<BlockId> {
        let mut out = BTreeSet::new();
        for (file, source) in self.sources.iter().enumerate() {
            let file = FileId(u32::try_from(file).unwrap_or(u32::MAX));
            for (index, placed) in source.log.blocks.iter().enumerate() {
                if placed.block.in_conflict || !placed.block.lost.is_empty() {
                    out.insert(BlockId { file, index: u32::try_from(index).unwrap_or(u32::MAX) });
                }
            }
            let unread = |problem: &&Problem| problem.kind == ProblemKind::UnreadableLine;
            let unread = source.log.problems.iter().filter(unread);
            out.extend(unread.filter_map(|problem| self.block_at(Place { file, span: problem.span })));
        }
        let names_nothing = self.faults.iter().filter_map(|fault| match fault {
            Fault::UnknownName { place, .. } => self.block_at(*place),
            _ => None,
        });
        out.extend(names_nothing);
        out
    }

    /// Whether some of these blocks tell of a lot, of the yeast in it or of what that comes from: if they are
    /// [unread](Self::unread_blocks), what is reckoned may be otherwise.
    #[must_use]
    pub fn hangs_on(&self, lot: LotId, blocks: &BTreeSet<BlockId>) -> bool {
        if blocks.is_empty() {
            return false;
        }
        let mut seen = BTreeSet::from([lot]);
        let mut lots = vec![lot];
        let mut next = 0;
        while let Some(lot) = lots.get(next).copied().filter(|_| lots.len() < FURTHEST) {
            let pitched = self.batch(lot).into_iter().flat_map(|batch| &batch.pitches).map(|pitch| pitch.lot);
            let from = self.lot(lot).and_then(|lot| lot.taken_from);
            lots.extend(pitched.chain(from).filter(|more| seen.insert(*more)));
            next += 1;
        }
        let own = lots.iter().filter_map(|lot| self.lot(*lot)).flat_map(|lot| lot.blocks.iter().copied());
        let states = lots.iter().filter_map(|lot| self.states.get(lot.0 as usize));
        let strains = states
            .flat_map(|state| &state.shares)
            .filter_map(|(strain, _)| self.block_at(self.strains.get(strain.0 as usize)?.place?));
        own.chain(strains).any(|block| blocks.contains(&block))
    }

    /// Whether a line of a lot that could not be read may begin with one of some words: it does or nearly does, or
    /// nobody can tell what it was meant to be.
    #[must_use]
    pub fn may_have_lost(&self, lot: LotId, words: &[&str]) -> bool {
        self.has_lost(lot, words)
            || self
                .lot(lot)
                .is_some_and(|lot| lot.unread || lot.blocks.iter().any(|block| self.is_any_guess(*block)))
    }

    /// Whether a line of a lot that begins with one of some words, or nearly does, could not be read.
    #[must_use]
    pub fn has_lost(&self, lot: LotId, words: &[&str]) -> bool {
        self.lot(lot).is_some_and(|lot| lot.blocks.iter().any(|block| self.block_has_lost(*block, words)))
    }

    fn block_has_lost(&self, block: BlockId, words: &[&str]) -> bool {
        let is_one = |word: Option<&str>| word.is_some_and(|word| words.contains(&word));
        self.block(block).is_some_and(|(block, _)| block.lost.iter().any(|lost| is_one(lost.word)))
    }

    /// Whether a block has lines of which nobody can tell what they were meant to be.
    fn is_any_guess(&self, block: BlockId) -> bool {
        self.block(block)
            .is_some_and(|(block, _)| block.in_conflict || block.lost.iter().any(|lost| lost.word.is_none()))
    }

    /// The brew whose wort a lot has a part of, and where it has none, itself.
    #[must_use]
    pub fn whole_wort(&self, lot: LotId) -> LotId {
        let mut whole = lot;
        for _ in 0..FURTHEST {
            let parted = self.statements(whole).find_map(|kind| match kind {
                Kind::WortOf(of) => self.names.lot(&of.brew.text),
                _ => None,
            });
            let Some(of) = parted else { break };
            whole = of;
        }
        whole
    }

    /// What the first block of a lot says.
    fn statements(&self, lot: LotId) -> impl Iterator<Item = &Kind> {
        let block = self.lot(lot).and_then(|lot| self.block(*lot.blocks.first()?));
        block.into_iter().flat_map(|(block, _)| &block.statements).map(|statement| &statement.kind)
    }

    fn is_culture(&self, lot: LotId) -> bool {
        self.lot(lot).is_some_and(|lot| lot.kind == LotKind::Culture)
    }

    /// The strain that most of a lot is of.
    fn main_strain(&self, lot: LotId) -> Option<&crate::Strain> {
        let shares = &self.states.get(lot.0 as usize)?.shares;
        let (strain, _) = shares.iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))?;
        self.strains.get(strain.0 as usize)
    }

    /// The block that a place lies in.
    #[must_use]
    pub fn block_at(&self, place: Place) -> Option<BlockId> {
        let blocks = &self.source(place.file)?.log.blocks;
        let index = blocks.partition_point(|placed| placed.start <= place.span.start).checked_sub(1)?;
        Some(BlockId { file: place.file, index: u32::try_from(index).ok()? })
    }
}
