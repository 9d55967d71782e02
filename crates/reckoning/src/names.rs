//! One name space for everything that a workspace names.

use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, OnceLock};

use barm_syntax::Span;
use barm_syntax::ast::{BlockKind, Kind, Name};
use unicode_normalization::UnicodeNormalization;
use unicode_security::confusable_detection::skeleton;

use crate::fault::Fault;
use crate::{FileId, Place, Source, near, vessels};

/// Letter case and Unicode form do not tell names apart.
#[must_use]
pub fn folded(name: &str) -> String {
    if name.is_ascii() {
        name.to_ascii_lowercase()
    } else {
        name.nfc().collect::<String>().to_lowercase().nfc().collect()
    }
}

/// A block of the workspace.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct BlockId {
    /// The file.
    pub file: FileId,
    /// The block's position in it.
    pub index: u32,
}

/// A lot, by its position in [`crate::Season::lots`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LotId(pub u32);

/// What tells one of a row from the next: its number, or its letter, as in `tank-b`.
fn marks(name: &str) -> impl Iterator<Item = char> {
    let parts = name.split(['-', '_']);
    parts.flat_map(|part| {
        let is_letter = part.chars().nth(1).is_none();
        part.chars().filter(move |letter| is_letter || letter.is_numeric())
    })
}

/// What a name stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Named {
    /// A strain block.
    Strain,
    /// A lot of yeast or beer.
    Lot(LotId),
    /// A vessel block.
    Vessel,
}

/// What kind of lot it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LotKind {
    /// Yeast from outside.
    Culture,
    /// A starter.
    Starter,
    /// A brew (pitched: its cake).
    Brew,
    /// Yeast harvested from another lot.
    Harvest,
}

impl LotKind {
    /// As outputs write it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Culture => "culture",
            Self::Starter => "starter",
            Self::Brew => "brew",
            Self::Harvest => "harvest",
        }
    }
}

/// A lot as declared.
#[derive(Debug, Clone)]
pub struct Lot {
    /// Its name as declared.
    pub name: Arc<str>,
    /// What it is.
    pub kind: LotKind,
    /// Where its name is declared.
    pub place: Place,
    /// Its blocks: its own, and for a harvest the culture blocks that carry on its timeline.
    pub blocks: Vec<BlockId>,
    /// For a harvest: the lot that it was taken from.
    pub taken_from: Option<LotId>,
    /// The line that declares it could not be read: nothing is known of it but its name.
    pub unread: bool,
}

/// The names of a workspace.
#[derive(Debug, Default)]
pub struct Names {
    by_name: HashMap<String, (Named, Place)>,
    /// The lots, in order of file and line.
    pub lots: Vec<Lot>,
    /// Their names, folded, in order of the alphabet; sorted when somebody asks.
    lots_in_order: OnceLock<Vec<String>>,
}

impl Names {
    /// Collects every declaration; a doubled name is a fault and the first one holds.
    pub(crate) fn collect(sources: &[Source], faults: &mut Vec<Fault>) -> Self {
        let mut names = Self::default();
        // Harvests first: a culture block of a harvest's name carries on its timeline and declares nothing new.
        for (file, source) in sources.iter().enumerate() {
            let file = FileId(u32::try_from(file).unwrap_or(u32::MAX));
            for placed in &source.log.blocks {
                for statement in &placed.block.statements {
                    if let Kind::Harvest(harvest) = &statement.kind {
                        names.declare_lot(LotKind::Harvest, &harvest.name, file, placed.start, faults);
                    }
                }
            }
        }
        for (file, source) in sources.iter().enumerate() {
            let file = FileId(u32::try_from(file).unwrap_or(u32::MAX));
            for (index, placed) in source.log.blocks.iter().enumerate() {
                let block = &placed.block;
                let Some(name) = &block.name else { continue };
                let id = BlockId { file, index: u32::try_from(index).unwrap_or(u32::MAX) };
                let kind = match block.kind {
                    BlockKind::Culture => LotKind::Culture,
                    BlockKind::Starter => LotKind::Starter,
                    BlockKind::Brew => LotKind::Brew,
                    BlockKind::Strain => {
                        names.declare(name, Named::Strain, file, placed.start, faults);
                        continue;
                    }
                    BlockKind::Vessel => {
                        names.declare(name, Named::Vessel, file, placed.start, faults);
                        continue;
                    }
                    BlockKind::Unknown | BlockKind::Loose => continue,
                };
                if kind == LotKind::Culture
                    && let Some((Named::Lot(lot), _)) = names.by_name.get(&folded(&name.text))
                    && let Some(lot) = names.lots.get_mut(lot.0 as usize)
                    && lot.kind == LotKind::Harvest
                {
                    lot.blocks.push(id);
                    continue;
                }
                if let Some(lot) = names.declare_lot(kind, name, file, placed.start, faults)
                    && let Some(lot) = names.lots.get_mut(lot.0 as usize)
                {
                    lot.blocks.push(id);
                }
            }
        }
        names.declare_lost(sources);
        names.sort();
        names.link_harvests(sources);
        names.find_look_alikes(faults);
        for of in [Named::Strain, Named::Vessel] {
            names.find_misspelt(of, sources, faults);
        }
        names
    }

    /// Lots whose declaration could not be read: who uses one by its name makes no mistake.
    fn declare_lost(&mut self, sources: &[Source]) {
        for (file, source) in (0..).map(FileId).zip(sources) {
            for placed in &source.log.blocks {
                for name in
                    placed.block.lost_lots().filter(|name| self.get(&name.text).is_none()).collect::<Vec<_>>()
                {
                    let kind = if placed.block.kind == BlockKind::Unknown {
                        LotKind::Culture
                    } else {
                        LotKind::Harvest
                    };
                    if let Some(lot) = self.declare_lot(kind, name, file, placed.start, &mut Vec::new())
                        && let Some(lot) = self.lots.get_mut(lot.0 as usize)
                    {
                        lot.unread = true;
                    }
                }
            }
        }
    }

    fn declare_lot(
        &mut self,
        kind: LotKind,
        name: &Name,
        file: FileId,
        start: u32,
        faults: &mut Vec<Fault>,
    ) -> Option<LotId> {
        let id = LotId(u32::try_from(self.lots.len()).unwrap_or(u32::MAX));
        if !self.declare(name, Named::Lot(id), file, start, faults) {
            return None;
        }
        let place = Place { file, span: name.span.shifted(start) };
        self.lots.push(Lot {
            name: Arc::from(&*name.text),
            kind,
            place,
            blocks: Vec::new(),
            taken_from: None,
            unread: false,
        });
        Some(id)
    }

    fn declare(
        &mut self,
        name: &Name,
        named: Named,
        file: FileId,
        start: u32,
        faults: &mut Vec<Fault>,
    ) -> bool {
        let place = Place { file, span: name.span.shifted(start) };
        let key = folded(&name.text);
        if let Some(&(known, first)) = self.by_name.get(&key) {
            let strains = matches!((known, named), (Named::Strain, Named::Strain));
            faults.push(Fault::DuplicateName { name: name.text.to_string(), place, first, strains });
            return false;
        }
        self.by_name.insert(key, (named, place));
        true
    }

    /// Puts the lots in order of file and line.
    fn sort(&mut self) {
        let mut order: Vec<usize> = (0..self.lots.len()).collect();
        order.sort_by_key(|&i| self.lots.get(i).map(|l| l.place));
        let mut new_id = vec![LotId(0); self.lots.len()];
        for (new, &old) in order.iter().enumerate() {
            if let Some(slot) = new_id.get_mut(old) {
                *slot = LotId(u32::try_from(new).unwrap_or(u32::MAX));
            }
        }
        self.lots = order.iter().filter_map(|&i| self.lots.get(i).cloned()).collect();
        for (named, _) in self.by_name.values_mut() {
            if let Named::Lot(id) = named
                && let Some(&new) = new_id.get(id.0 as usize)
            {
                *id = new;
            }
        }
    }

    fn link_harvests(&mut self, sources: &[Source]) {
        for (file, source) in sources.iter().enumerate() {
            let file = FileId(u32::try_from(file).unwrap_or(u32::MAX));
            for placed in &source.log.blocks {
                let Some(parent) = placed.block.name.as_ref().and_then(|n| self.lot(&n.text)) else {
                    continue;
                };
                for statement in &placed.block.statements {
                    if let Kind::Harvest(harvest) = &statement.kind
                        && let Some(id) = self.lot(&harvest.name.text)
                        && let Some(lot) = self.lots.get_mut(id.0 as usize)
                        && lot.place == (Place { file, span: harvest.name.span.shifted(placed.start) })
                    {
                        lot.taken_from = Some(parent);
                    }
                }
            }
        }
    }

    /// Names that look the same and are not: Cyrillic letters among Latin ones.
    fn find_look_alikes(&self, faults: &mut Vec<Fault>) {
        if self.by_name.keys().all(|name| name.is_ascii()) {
            return;
        }
        let mut by_look: HashMap<String, (&str, Place)> = HashMap::new();
        let mut all: Vec<(&String, &(Named, Place))> = self.by_name.iter().collect();
        all.sort_by_key(|(_, (_, place))| *place);
        for (name, (_, place)) in all {
            let look: String = skeleton(name).collect();
            match by_look.get(&look) {
                // Of two in ASCII anybody can tell which is which.
                Some(&(other, _)) if other.is_ascii() && name.is_ascii() => {}
                Some(&(other, first)) => faults.push(Fault::LookAlike {
                    name: name.clone(),
                    other: other.to_owned(),
                    place: *place,
                    first,
                }),
                None => {
                    by_look.insert(look, (name, *place));
                }
            }
        }
    }

    /// Strains and vessels that nobody tells of, named once, where the same file tells of one by nearly that name, or calls a
    /// vessel so more than once. Neither needs a block of its own, and one whose name has another number is another.
    fn find_misspelt(&self, of: Named, sources: &[Source], faults: &mut Vec<Fault>) {
        let kind = if of == Named::Strain { BlockKind::Strain } else { BlockKind::Vessel };
        for (file, source) in (0..).map(FileId).zip(sources) {
            let blocks = &source.log.blocks;
            let mut told: BTreeMap<String, &Name> = blocks
                .iter()
                .filter(|placed| placed.block.kind == kind)
                .filter_map(|placed| placed.block.name.as_ref())
                .map(|name| (folded(&name.text), name))
                .collect();
            let named = blocks.iter().flat_map(|placed| {
                let strains = placed.block.strains.iter().filter(|_| of == Named::Strain);
                let lines = placed.block.statements.iter().filter(|_| of == Named::Vessel);
                let vessels = lines.filter_map(|line| vessels::of_line(&line.kind));
                strains.chain(vessels).map(|name| (name, name.span.shifted(placed.start)))
            });
            let mut untold: BTreeMap<String, Vec<(&Name, Span)>> = BTreeMap::new();
            for (name, span) in named.filter(|(name, _)| self.get(&name.text).is_none()) {
                untold.entry(folded(&name.text)).or_default().push((name, span));
            }
            // Of vessels without a block one is called so often, or so first, and the other is a slip.
            let often = untold.iter().filter(|(_, named)| of == Named::Vessel && named.len() > 1);
            told.extend(often.filter_map(|(name, named)| Some((name.clone(), named.first()?.0))));
            let mut sorted: Vec<String> = told.keys().cloned().collect();
            let mut once: Vec<(String, &Name, Span)> = Vec::new();
            for (wanted, named) in untold {
                if let [(name, span)] = named[..] {
                    once.push((wanted, name, span));
                }
            }
            once.sort_by_key(|(.., span)| *span);
            for (wanted, name, span) in once {
                let near = near::of_many(&wanted, &sorted);
                let near = near.filter(|near| marks(near).eq(marks(&wanted)));
                // Of what has no block one letter may be wrong: `tub-red` and `tub-new` are two.
                let near =
                    near.filter(|near| self.get(near).is_some() || near::is_a_letter_off(near, &wanted));
                if let Some(near) = near.and_then(|near| told.get(near)) {
                    let (name, near) = (name.text.to_string(), near.text.to_string());
                    faults.push(Fault::Misspelt { of, name, place: Place { file, span }, near });
                } else if of == Named::Vessel {
                    let place = sorted.partition_point(|other| *other < wanted);
                    sorted.insert(place, wanted.clone());
                    told.insert(wanted, name);
                }
            }
        }
    }

    /// What a name stands for.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<Named> {
        self.by_name.get(&folded(name)).map(|(named, _)| *named)
    }

    /// Where a name is declared.
    #[must_use]
    pub fn declared_at(&self, name: &str) -> Option<Place> {
        self.by_name.get(&folded(name)).map(|(_, place)| *place)
    }

    /// The lot of a name.
    #[must_use]
    pub fn lot(&self, name: &str) -> Option<LotId> {
        match self.get(name) {
            Some(Named::Lot(id)) => Some(id),
            _ => None,
        }
    }

    /// The nearest name that is a lot, but for the one in whose block it stands: nothing is pitched into itself.
    pub(crate) fn nearest_lot(&self, name: &str, own: Option<&Name>) -> Option<String> {
        let sorted = self.lots_in_order.get_or_init(|| {
            let lots = self.by_name.iter().filter(|(_, (named, _))| matches!(named, Named::Lot(_)));
            let mut names: Vec<String> = lots.map(|(name, _)| name.clone()).collect();
            names.sort_unstable();
            names
        });
        let nearest = near::of_many(&folded(name), sorted)?;
        let lot = self.lot(nearest).filter(|_| own.is_none_or(|own| folded(&own.text) != nearest))?;
        self.lots.get(lot.0 as usize).map(|lot| lot.name.to_string())
    }
}
