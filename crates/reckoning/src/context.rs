//! What the parts of the reckoning share: the files, the names, and every event at its moment.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::{Arc, OnceLock};

use barm_quantity::{Dimension, Volume};
use barm_syntax::ast::{Add, Amount, AmountKind, BlockKind, DatedWhat, DayIndex, Kind, Name};

use crate::acidity::Acidity;
use crate::additions;
use crate::answer::{Answer, Open};
use crate::fault::Fault;
use crate::names::{LotId, LotKind, Names, folded};
use crate::parting::{self, Part, Parting, TakenOut, Whole};
use crate::timeline::{self, Entry, Shelved};
use crate::unwritten::is_unread_of_beer;
use crate::vessels::{self, Vessels};
use crate::{Loggers, Moment, Place, Scale, Settings, Source};

/// Hours before a brew at which a starter begins when the log asks: about two days (common practice).
const BEGIN_BEFORE: f64 = 48.0;

/// The files, the names, and every event at its moment.
pub(crate) struct Context<'a> {
    pub settings: &'a Settings,
    pub names: &'a Names,
    pub sources: &'a [Source],
    pub loggers: &'a Loggers,
    pub shelf: Vec<Shelved<'a>>,
    /// Every lot's events, in order of time; `kept` facts and the like are not among them.
    pub entries: Vec<Vec<Entry>>,
    /// The lot of each block on the shelf.
    pub owner: Vec<Option<LotId>>,
    /// Where on the shelf each lot's first block stands.
    home: Vec<Option<usize>>,
    /// What each starter is pitched into, when and how much of it.
    feeds: BTreeMap<LotId, Vec<Fed>>,
    pub vessels: Vessels,
    /// When the last part was taken of each wort that was parted: at the part's first line.
    pub parted: BTreeMap<LotId, Moment>,
    /// All that have their wort of another brew.
    pub parts: BTreeMap<LotId, Part>,
    /// Those whose wort comes from itself.
    pub rings: BTreeSet<LotId>,
    /// The parts that took yeast along.
    pub partings: BTreeMap<LotId, Parting>,
    /// What was taken out of worts and beers as parts, in order of time, and what was poured into other brews. Of a wort that
    /// nobody pitched none was taken before its yeast.
    pub taken_out: BTreeMap<LotId, Vec<TakenOut>>,
    /// When each part was taken of worts before their yeast, in order of time.
    parted_at: BTreeMap<LotId, Vec<Moment>>,
    /// The brews that another's beer was poured into.
    pub blended: BTreeSet<LotId>,
    /// Additions of which it is asked how much, by brew.
    open: BTreeMap<LotId, Vec<Open<'a>>>,
    /// Every `ph` line.
    pub acidity: Vec<Acidity>,
    /// Answers to `on ?`.
    pub begins: Vec<Answer>,
    /// Nothing that happened later is looked at.
    pub until: Option<Moment>,
    /// Every vessel that is named, folded; gathered when somebody asks.
    vessel_names: OnceLock<BTreeSet<String>>,
    /// The lots of every strain, folded, in order of file and line; gathered when somebody asks.
    of_strain: OnceLock<HashMap<String, Vec<LotId>>>,
}

/// Of more brews than these that one starter feeds the rest is not looked at.
pub(crate) const MOST_FED: usize = 8;

/// One `pitch` of a starter.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fed {
    pub at: Moment,
    pub into: LotId,
    pub amount: AmountKind,
}

/// Out of which brew something was poured into another, when and how much, or which share of it, and where that is written.
type Poured = (LotId, Moment, Option<((Volume, Option<f64>), Place)>);

/// What a line pours into a brew, by name.
pub(crate) fn poured_in(kind: &Kind) -> impl Iterator<Item = (&Name, &Amount)> {
    let added = match kind {
        Kind::Add(add) => Some((&add.what, &add.amount)),
        _ => None,
    };
    let with = match kind {
        Kind::Package(package) => &package.with[..],
        _ => &[],
    };
    added.into_iter().chain(with.iter().map(|with| (&with.what, &with.amount)))
}

/// How much is poured, or which share of what there is.
fn poured_out(amount: &Amount) -> Option<(Volume, Option<f64>)> {
    match amount.kind {
        AmountKind::Share(share) => Some((Volume::default(), Some(share))),
        AmountKind::All => Some((Volume::default(), Some(1.0))),
        kind => {
            let measure = additions::measured(kind, Volume::default())?;
            let is_volume = measure.dimension() == Dimension::Volume;
            is_volume.then(|| (Volume::litres(measure.base()), None))
        }
    }
}

/// The lot that an item names and does not make.
fn used_lot(kind: &Kind) -> Option<&Name> {
    match kind {
        Kind::Pitch(pitch) => Some(&pitch.lot),
        Kind::Kept(kept) => kept.lot.as_ref(),
        Kind::Count(count) => count.lot.as_ref(),
        Kind::Viability(of) => of.lot.as_ref(),
        Kind::Wash(wash) => wash.lot.as_ref(),
        Kind::Dump(of) | Kind::Decant(of) => of.lot.as_ref(),
        Kind::Reading(reading) => reading.lot(),
        Kind::Infected(lot) => lot.as_deref(),
        _ => None,
    }
}

impl<'a> Context<'a> {
    pub(crate) fn new(
        sources: &'a [Source],
        loggers: &'a Loggers,
        settings: &'a Settings,
        names: &'a Names,
        faults: &mut Vec<Fault>,
    ) -> (Self, Vec<Entry>) {
        let shelf = timeline::shelve(sources);
        let vessels = Vessels::collect(&shelf);
        let owner: Vec<Option<LotId>> = shelf
            .iter()
            .map(|s| match s.block.kind {
                BlockKind::Culture | BlockKind::Starter | BlockKind::Brew => {
                    s.block.name.as_ref().and_then(|n| names.lot(&n.text)).filter(|lot| {
                        names.lots.get(lot.0 as usize).is_some_and(|l| l.blocks.contains(&s.id))
                    })
                }
                _ => None,
            })
            .collect();
        let mut home = vec![None; names.lots.len()];
        for (index, lot) in owner.iter().enumerate() {
            if let Some(slot) = lot.and_then(|l| home.get_mut(l.0 as usize)) {
                slot.get_or_insert(index);
            }
        }
        let entries = vec![Vec::new(); names.lots.len()];
        let mut out = Self {
            settings,
            names,
            sources,
            loggers,
            shelf,
            entries,
            owner,
            home,
            feeds: BTreeMap::new(),
            vessels,
            parted: BTreeMap::new(),
            parts: BTreeMap::new(),
            rings: BTreeSet::new(),
            partings: BTreeMap::new(),
            taken_out: BTreeMap::new(),
            parted_at: BTreeMap::new(),
            blended: BTreeSet::new(),
            open: BTreeMap::new(),
            acidity: Vec::new(),
            begins: Vec::new(),
            until: None,
            vessel_names: OnceLock::new(),
            of_strain: OnceLock::new(),
        };
        let mut movers = Vec::new();
        let mut parts = BTreeMap::new();
        let mut poured = Vec::new();
        for index in 0..out.shelf.len() {
            out.enter(index, faults, (&mut movers, &mut parts, &mut poured));
        }
        out.feeds.values_mut().for_each(|fed| fed.sort_by_key(|fed| (fed.at, fed.into)));
        for entries in &mut out.entries {
            entries.sort_unstable();
            entries.shrink_to_fit();
        }
        out.rings = parting::rings(&out, faults);
        out.partings = parting::find(&out, &parts);
        let mut wholes: BTreeMap<LotId, Whole> = BTreeMap::new();
        for (lot, part) in &mut parts {
            if let Some(taken) = out.partings.get(lot) {
                part.at = taken.at;
                movers.push(Entry { at: taken.at, ..part.line });
                let volume = out.part_of_wort(*lot).map(|volume| (volume, None));
                poured.push((part.whole, part.at, volume.zip(out.place_of(part.line))));
                continue;
            }
            let whole = wholes.entry(part.whole).or_insert_with(|| Whole::of(&out, part.whole));
            part.at = whole.parted(&out, *lot, part.at);
            out.parted_at.entry(part.whole).or_default().push(part.at);
            if !whole.is_measured_since(part.line.at)
                && let Some((volume, place)) = out.part_of_wort(*lot).zip(out.place_of(part.line))
            {
                let taken = TakenOut {
                    at: part.at,
                    volume,
                    place,
                    share: None,
                    before_yeast: whole.pitched.is_some(),
                    poured: false,
                    left: volume,
                };
                out.taken_out.entry(part.whole).or_default().push(taken);
            }
        }
        for (whole, at, taken) in poured {
            let pitched = wholes.entry(whole).or_insert_with(|| Whole::of(&out, whole)).pitched;
            let before_yeast = pitched.is_some_and(|pitched| at < pitched);
            let taken = taken.map(|((volume, share), place)| TakenOut {
                at,
                volume,
                place,
                share,
                before_yeast,
                poured: true,
                left: volume,
            });
            out.taken_out.entry(whole).or_default().extend(taken);
        }
        out.parts = parts;
        out.parted_at.values_mut().for_each(|parted| parted.sort());
        out.taken_out.values_mut().for_each(|taken| taken.sort_by_key(|taken| taken.at));
        let order = timeline::order(movers, &out.shelf, names, faults);
        (out, order)
    }

    /// The additions to a brew of which it is asked how much.
    pub(crate) fn open(&self, lot: LotId) -> &[Open<'a>] {
        self.open.get(&lot).map_or(&[], Vec::as_slice)
    }

    pub(crate) fn nothing_is_open(&self) -> bool {
        self.open.is_empty()
    }

    /// When each part was taken of a wort before its yeast, in order of time.
    pub(crate) fn parted_at(&self, whole: LotId) -> &[Moment] {
        self.parted_at.get(&whole).map_or(&[], Vec::as_slice)
    }

    /// Forgets all that happened later than a moment.
    pub(crate) fn cut_off(&mut self, at: Moment) {
        self.until = Some(at);
        for entries in &mut self.entries {
            entries.truncate(entries.partition_point(|entry| entry.at <= at));
        }
    }

    /// Forgets the events of a lot of which nothing more will be asked: its figures are larger, and now they fit there.
    pub(crate) fn forget(&mut self, lot: LotId) {
        // Its parts may ask yet, and what waits for another.
        if self.parted.contains_key(&lot) || self.parts.contains_key(&lot) || self.blended.contains(&lot) {
            return;
        }
        if let Some(entries) = self.entries.get_mut(lot.0 as usize) {
            *entries = Vec::new();
        }
    }

    /// Enters the events of one block.
    fn enter(
        &mut self,
        index: usize,
        faults: &mut Vec<Fault>,
        (movers, parts, poured): (&mut Vec<Entry>, &mut BTreeMap<LotId, Part>, &mut Vec<Poured>),
    ) {
        let Some(&shelved) = self.shelf.get(index) else { return };
        if shelved.block.statements.is_empty() {
            return;
        }
        timeline::time_runs_back(&shelved, faults);
        let begin = self.begin_of(index, 0);
        if let (Some(begin), Some(lot)) = (&begin, self.owner.get(index).copied().flatten()) {
            let mut asked = shelved.block.days.iter().filter(|d| d.asked);
            if let Some(day) = asked.next() {
                let answer = begin.answer(shelved.place(day.date_span), lot);
                self.begins.push(Answer {
                    notes: vec![
                        "About two days let a starter ferment out and settle (common practice).".to_owned(),
                    ],
                    ..answer
                });
            }
            for day in asked {
                let why = "only the day that it begins is reckoned: write the day of what is done later";
                self.begins.push(Answer::open(shelved.place(day.date_span), lot, why));
            }
        }
        let asked = begin.and_then(|begin| begin.at);
        let shelf = u32::try_from(index).unwrap_or(u32::MAX);
        let owner = self.owner.get(index).copied().flatten();
        let moments = timeline::moments(shelved.block, asked);
        let dated =
            moments.iter().zip(&shelved.block.statements).filter_map(|(at, line)| Some(((*at)?, line)));
        if let Some((first, line)) = dated.min_by_key(|(at, _)| *at) {
            let hours_either_way = timeline::hours_either_way(&shelved, line);
            for (statement, number) in shelved.block.statements.iter().zip(0..) {
                if let Kind::WortOf(of) = &statement.kind
                    && let Some(whole) = self.names.lot(&of.brew.text)
                {
                    self.parted.entry(whole).and_modify(|last| *last = first.max(*last)).or_insert(first);
                    let line = Entry { at: first, shelf, statement: number };
                    if let Some(lot) = owner {
                        parts.entry(lot).or_insert(Part { whole, line, at: first, hours_either_way });
                    }
                }
            }
        }
        for (statement, at) in moments.into_iter().enumerate() {
            let Some(kind) = shelved.block.statements.get(statement).map(|s| &s.kind) else { continue };
            let Some(at) = at else {
                // Whenever it is, there must be what it is of.
                if let Some(name) = used_lot(kind)
                    && !(matches!(kind, Kind::Infected(_)) && self.names_a_vessel(name))
                {
                    self.known_lot(name, &shelved, faults);
                }
                continue;
            };
            if matches!(kind, Kind::Note | Kind::Taste(_)) {
                continue;
            }
            let entry = Entry { at, shelf, statement: u32::try_from(statement).unwrap_or(u32::MAX) };
            if timeline::moves_yeast(kind) {
                movers.push(entry);
            }
            if let (Kind::Pitch(pitch), Some(into)) = (kind, owner)
                && let Some(from) = self.names.lot(&pitch.lot.text)
                && self.kind(from) == Some(LotKind::Starter)
            {
                let amount = pitch.amount.as_ref().map_or(AmountKind::All, |amount| amount.kind);
                self.feeds.entry(from).or_default().push(Fed { at, into, amount });
            }
            if let Some(into) = owner {
                if let Some(open) = Open::of(self, at, kind) {
                    self.open.entry(into).or_default().push(open);
                }
                for (what, amount) in poured_in(kind) {
                    let Some(from) = self.working(&what.text).filter(|from| *from != into) else { continue };
                    self.blended.insert(into);
                    let span = shelved.block.statements.get(statement).map_or(what.span, |line| line.span);
                    let place = shelved.place(span);
                    poured.push((from, at, poured_out(amount).map(|amount| (amount, place))));
                }
            }
            let of = match kind {
                Kind::Reading(reading) => reading.lot(),
                _ => None,
            };
            let lot = match of {
                Some(name) => self.known_lot(name, &shelved, faults),
                None => owner,
            };
            if let Some(lot) = lot
                && let Some(entries) = self.entries.get_mut(lot.0 as usize)
            {
                entries.push(entry);
                if let Some(statement) = shelved.block.statements.get(statement) {
                    let place = shelved.place(statement.span);
                    self.acidity.extend(Acidity::of(lot, statement, at, place));
                }
            }
        }
    }

    /// The answer to `on ?` in a starter: two days before the first event that pitches it, or when its own yeast is there.
    fn begin_of(&self, index: usize, depth: u8) -> Option<Begin> {
        let shelved = self.shelf.get(index)?;
        if depth > 8 || !shelved.block.days.iter().any(|d| d.asked) {
            return None;
        }
        let lot = self.owner.get(index).copied().flatten()?;
        let mut first: Option<Moment> = None;
        for (other, user) in self.shelf.iter().enumerate().filter(|(other, _)| *other != index) {
            let pitches = user.block.statements.iter().enumerate().filter(|(_, s)| match &s.kind {
                Kind::Pitch(pitch) => self.names.lot(&pitch.lot.text) == Some(lot),
                _ => false,
            });
            let mut pitches = pitches.peekable();
            if pitches.peek().is_none() {
                continue;
            }
            let asked = self.begin_of(other, depth + 1).and_then(|begin| begin.at);
            let moments = timeline::moments(user.block, asked);
            for (statement, _) in pitches {
                if let Some(Some(at)) = moments.get(statement) {
                    first = Some(first.map_or(*at, |f| f.min(*at)));
                }
            }
        }
        let pitched = first?;
        let usual = pitched.plus_hours(-BEGIN_BEFORE);
        // An hour that is written stands.
        let hour = shelved.block.days.iter().find(|day| day.asked).and_then(|day| day.time);
        let usual = hour.map_or(usual, |hour| Moment::new(usual.date(), hour.minutes));
        let on_that_day = |day: DayIndex| shelved.block.days.get(day.position()).is_some_and(|day| day.asked);
        let yeast = shelved.block.statements.iter().filter(|s| s.day.is_some_and(on_that_day));
        let yeast = yeast.filter_map(|statement| match &statement.kind {
            Kind::Pitch(pitch) => self.comes_to_be(self.names.lot(&pitch.lot.text)?),
            _ => None,
        });
        let late = yeast.max_by_key(|(made, _)| *made);
        let late = late.filter(|(made, _)| made.day_number() > usual.day_number());
        let at = match &late {
            None => Some(usual),
            Some((made, _)) => {
                let then = Moment::new(made.date(), usual.minutes());
                let then = match hour {
                    Some(_) if then < *made => then.plus_hours(24.0),
                    _ => then.max(*made),
                };
                Some(then).filter(|then| then.day_number() < pitched.day_number())
            }
        };
        Some(Begin { at, has_hour: hour.is_some(), pitched, late })
    }

    /// When a jar is harvested or a pack is made, where that is written, and its name.
    fn comes_to_be(&self, lot: LotId) -> Option<(Moment, Arc<str>)> {
        let declared = self.names.lots.get(lot.0 as usize)?;
        let made = match declared.kind {
            LotKind::Culture => {
                let mut lines = self.blocks(lot).flat_map(|shelved| &shelved.block.statements);
                lines.find_map(|statement| match &statement.kind {
                    Kind::Dated(dated) if dated.what != DatedWhat::BestBefore => {
                        let noon = Moment::new(dated.date, 12 * 60);
                        Some(noon.plus_hours(-24.0 * f64::from(dated.days_either_way)))
                    }
                    _ => None,
                })
            }
            LotKind::Harvest => {
                let named = declared.place;
                let behind = self.shelf.partition_point(|shelved| {
                    (shelved.id.file, shelved.start) <= (named.file, named.span.start)
                });
                let shelved = self.shelf.get(behind.checked_sub(1)?)?;
                let harvest = shelved.block.statements.iter().position(
                    |s| matches!(&s.kind, Kind::Harvest(h) if self.names.lot(&h.name.text) == Some(lot)),
                )?;
                timeline::moments(shelved.block, None).get(harvest).copied().flatten()
            }
            LotKind::Starter | LotKind::Brew => None,
        };
        Some((made?, Arc::clone(&declared.name)))
    }

    /// The lot of a name; a fault where there is none.
    pub(crate) fn known_lot(
        &self,
        name: &Name,
        shelved: &Shelved<'_>,
        faults: &mut Vec<Fault>,
    ) -> Option<LotId> {
        let lot = self.names.lot(&name.text);
        if lot.is_none() {
            faults.push(self.unknown(name, shelved));
        }
        lot
    }

    /// Whether a name that is no lot's is that of a vessel. A vessel needs no block of its own.
    pub(crate) fn names_a_vessel(&self, name: &Name) -> bool {
        self.names.lot(&name.text).is_none()
            && self.vessel_names.get_or_init(|| vessels::named(&self.shelf)).contains(&folded(&name.text))
    }

    fn lots_of_strains(&self) -> HashMap<String, Vec<LotId>> {
        let mut out: HashMap<String, Vec<LotId>> = HashMap::new();
        for (shelved, owner) in self.shelf.iter().zip(&self.owner) {
            let Some(owner) = *owner else { continue };
            for strain in &shelved.block.strains {
                let lots = out.entry(folded(&strain.text)).or_default();
                if lots.last() != Some(&owner) {
                    lots.push(owner);
                }
            }
        }
        out
    }

    fn unknown(&self, name: &Name, shelved: &Shelved<'_>) -> Fault {
        let wanted = folded(&name.text);
        let of_strain = self.of_strain.get_or_init(|| self.lots_of_strains()).get(&wanted);
        let lots = of_strain.into_iter().flatten().take(6);
        let lots: Vec<String> = lots.map(|lot| self.name(*lot).to_string()).collect();
        let declared = matches!(self.names.get(&name.text), Some(crate::names::Named::Strain));
        Fault::UnknownName {
            name: name.text.to_string(),
            place: shelved.place(name.span),
            nearest: self.names.nearest_lot(&name.text, shelved.block.name.as_ref()),
            strain: (declared || !lots.is_empty()).then_some(lots),
        }
    }

    /// The statement of an entry and its block.
    pub(crate) fn look(&self, entry: Entry) -> Option<(&Shelved<'a>, &'a barm_syntax::ast::Statement)> {
        let shelved = self.shelf.get(entry.shelf as usize)?;
        Some((shelved, shelved.statement(entry.statement)?))
    }

    fn place_of(&self, entry: Entry) -> Option<Place> {
        self.look(entry).map(|(shelved, statement)| shelved.place(statement.span))
    }

    /// A lot's events with their statements, in order of time.
    pub(crate) fn events(
        &self,
        lot: LotId,
    ) -> impl Iterator<Item = (Moment, &Shelved<'a>, &'a barm_syntax::ast::Statement)> {
        self.seen(self.entries.get(lot.0 as usize).map_or(&[][..], Vec::as_slice))
    }

    /// The same without what is said of yeast that a line harvests.
    pub(crate) fn events_of_beer(
        &self,
        lot: LotId,
    ) -> impl Iterator<Item = (Moment, &Shelved<'a>, &'a barm_syntax::ast::Statement)> {
        self.events(lot).filter(|(_, shelved, statement)| !timeline::is_of_harvest(shelved, statement))
    }

    /// Its events from a moment on.
    pub(crate) fn events_from(
        &self,
        lot: LotId,
        at: Moment,
    ) -> impl Iterator<Item = (Moment, &Shelved<'a>, &'a barm_syntax::ast::Statement)> {
        let entries = self.entries.get(lot.0 as usize).map_or(&[][..], Vec::as_slice);
        self.seen(entries.get(entries.partition_point(|entry| entry.at < at)..).unwrap_or_default())
    }

    fn seen(
        &self,
        entries: &[Entry],
    ) -> impl Iterator<Item = (Moment, &Shelved<'a>, &'a barm_syntax::ast::Statement)> {
        entries.iter().filter_map(|&entry| {
            let (shelved, statement) = self.look(entry)?;
            Some((entry.at, shelved, statement))
        })
    }

    /// The blocks of a lot, in order of file and place.
    pub(crate) fn blocks(&self, lot: LotId) -> impl Iterator<Item = &Shelved<'a>> {
        let blocks = self.names.lots.get(lot.0 as usize).map_or(&[][..], |l| l.blocks.as_slice());
        blocks.iter().filter_map(|id| {
            self.shelf.get(self.shelf.partition_point(|s| s.id < *id)).filter(|s| s.id == *id)
        })
    }

    /// Every lot that has one, with its first block.
    pub(crate) fn homes(&self) -> impl Iterator<Item = (LotId, &Shelved<'a>)> {
        let lots = (0..).map(LotId).zip(&self.home);
        lots.filter_map(|(lot, index)| Some((lot, self.shelf.get((*index)?)?)))
    }

    /// The first block of a lot.
    pub(crate) fn home(&self, lot: LotId) -> Option<&Shelved<'a>> {
        self.shelf.get((*self.home.get(lot.0 as usize)?)?)
    }

    /// The lot of yeast that goes in where a line says `add 300 mL WHAT`.
    pub(crate) fn yeast(&self, what: &str) -> Option<LotId> {
        self.names.lot(what).filter(|lot| self.kind(*lot) != Some(LotKind::Brew))
    }

    /// The brew whose beer goes in where a line says `add 2 L WHAT`.
    pub(crate) fn beer(&self, what: &str) -> Option<LotId> {
        self.names.lot(what).filter(|lot| self.kind(*lot) == Some(LotKind::Brew))
    }

    /// The brew or starter whose beer carbonates what a line pours it into, as far as it still ferments.
    pub(crate) fn working(&self, what: &str) -> Option<LotId> {
        let works = |lot: &LotId| matches!(self.kind(*lot), Some(LotKind::Brew | LotKind::Starter));
        self.names.lot(what).filter(works)
    }

    /// Whether so much beer is given something that may ferment, that is no lot, and of which nobody can say how much.
    pub(crate) fn may_ferment(&self, add: &Add, beer: Volume) -> bool {
        self.names.lot(&add.what.text).is_none() && additions::may_ferment(add, beer)
    }

    /// Whether an event brings yeast into the wort of its block.
    pub(crate) fn brings_yeast(&self, kind: &Kind) -> bool {
        match kind {
            Kind::Pitch(_) => true,
            Kind::Add(add) => self.yeast(&add.what.text).is_some(),
            _ => false,
        }
    }

    /// What a starter is pitched into, in order of time.
    pub(crate) fn feeds(&self, starter: LotId) -> &[Fed] {
        self.feeds.get(&starter).map_or(&[], Vec::as_slice)
    }

    /// Whether a block has a `wort` line: where its wort is not known, that asks.
    pub(crate) fn has_wort_line(&self, lot: LotId) -> bool {
        let is_wort = |kind: &Kind| matches!(kind, Kind::Wort(_));
        self.home(lot).is_some_and(|home| home.block.statements.iter().any(|line| is_wort(&line.kind)))
    }

    /// Whether a line that tells how much of a lot lives could not be read.
    pub(crate) fn has_lost_count(&self, lot: LotId) -> bool {
        let tells = |word: Option<&str>| word.is_some_and(|word| ["count", "viability"].contains(&word));
        self.blocks(lot).any(|shelved| shelved.block.lost.iter().any(|lost| tells(lost.word)))
    }

    /// Whether a block has a `wort` line that could not be read.
    pub(crate) fn has_lost_wort(&self, lot: LotId) -> bool {
        self.home(lot).is_some_and(|home| home.block.lost.iter().any(|lost| lost.word == Some("wort")))
    }

    /// Whether a line that tells of a beer could not be read: what is reckoned of it may be out of all sense.
    pub(crate) fn has_lost_of_beer(&self, lot: LotId) -> bool {
        self.blocks(lot).any(|shelved| {
            let source = self.sources.get(shelved.id.file.0 as usize);
            let text = source.and_then(|source| source.text.get(shelved.start as usize..));
            is_unread_of_beer(shelved.block, text.unwrap_or(""))
        })
    }

    /// The measures of a line.
    pub(crate) fn scale(&self, place: Place) -> Scale {
        Scale::at(self.sources, self.settings, Some(place))
    }

    /// The name of a lot.
    pub(crate) fn name(&self, lot: LotId) -> std::sync::Arc<str> {
        self.names.lots.get(lot.0 as usize).map_or_else(|| "".into(), |l| std::sync::Arc::clone(&l.name))
    }

    /// The kind of a lot.
    pub(crate) fn kind(&self, lot: LotId) -> Option<LotKind> {
        self.names.lots.get(lot.0 as usize).map(|l| l.kind)
    }
}

/// When a starter begins whose day is asked.
struct Begin {
    /// `None`: its yeast is there too late.
    at: Option<Moment>,
    /// The brewer named the hour.
    has_hour: bool,
    pitched: Moment,
    /// Its own yeast, where that comes to be later than it should begin.
    late: Option<(Moment, Arc<str>)>,
}

impl Begin {
    fn answer(&self, place: Place, lot: LotId) -> Answer {
        let written = |at: Moment| format!("{} {:02}:{:02}", at.date(), at.minutes() / 60, at.minutes() % 60);
        let put = |at: Moment| if self.has_hour { at.date().to_string() } else { written(at) };
        match (self.at, &self.late) {
            (Some(at), None) => {
                let said = format!("begin on {}, two days before it is pitched", written(at));
                Answer::written(place, lot, put(at), said)
            }
            (Some(at), Some((_, yeast))) => {
                let hours = self.pitched.hours_since(at);
                let said = format!(
                    "begin on {}, when `{yeast}` is there: {hours:.0} h before it is pitched, and no two days",
                    written(at)
                );
                Answer::written(place, lot, put(at), said)
            }
            (None, late) => {
                let why = late.as_ref().map_or_else(String::new, |(made, yeast)| {
                    format!("`{yeast}` comes to be on {}, ", made.date())
                });
                let why =
                    format!("no day is early enough: {why}and it is pitched on {}", self.pitched.date());
                Answer::open(place, lot, why)
            }
        }
    }
}
