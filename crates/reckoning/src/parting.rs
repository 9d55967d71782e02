//! A wort that is parted after its yeast went in: a part takes along all that the whole had by then.
//!
//! `wort V of BREW` says nothing of when. One wort in two fermenters with two yeasts is parted before either is pitched; what
//! brings no yeast of its own until days later had it from the whole.

use std::collections::{BTreeMap, BTreeSet};

use barm_quantity::{Gravity, Volume};
use barm_syntax::ast::{Kind, Measured, Statement};
use barm_zymology::fermentation::SAME;

use crate::context::Context;
use crate::fault::Fault;
use crate::names::{BlockId, LotId};
use crate::timeline::{self, Entry, Shelved};
use crate::{Moment, Place, Season, pitch, wort};

/// So many brews one wort may come down through; beyond, it is taken to come from itself.
pub(crate) const DEEPEST: u8 = 16;

/// Of more parts of one wort than anybody takes the rest is not looked into: each takes along all that the whole had.
const MOST_PARTS: u16 = 64;

/// A `wort V of BREW`, whenever that was parted.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Part {
    pub whole: LotId,
    /// The line, at the moment of the part's first.
    pub line: Entry,
    /// When it is taken to have been parted: no later than that.
    pub at: Moment,
    /// How far off that moment may be.
    pub hours_either_way: f64,
}

/// A part that was taken after the yeast went into the whole.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Parting {
    pub whole: LotId,
    /// When it was taken.
    pub at: Moment,
    /// When its yeast went into the whole.
    pub yeast: Moment,
}

/// What was taken out of a wort, or out of its beer, for another brew.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TakenOut {
    /// When.
    pub at: Moment,
    /// How much.
    pub volume: Volume,
    /// The line that says so, in the other brew.
    pub place: Place,
    /// The share of what was left that it is, where its line says so.
    pub share: Option<f64>,
    /// It was gone before the yeast went in: what is reckoned of the wort is what was left.
    pub before_yeast: bool,
    /// It was poured into another brew, and is no wort of its own.
    pub poured: bool,
    /// What was left after it; of a wort that nobody pitched all of it.
    pub left: Volume,
}

impl TakenOut {
    /// How much it is where there was so much.
    pub(crate) fn of(&self, there: Volume) -> Volume {
        self.share.map_or(self.volume, |share| there * share)
    }
}

/// What a part had when it was taken out of a whole that was pitched.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Taken {
    /// Out of which lot.
    pub whole: LotId,
    /// When.
    pub at: Moment,
    /// The first whole's wort at pitching; `None` where that is not known.
    pub first: Option<Volume>,
    /// Of each wort down to this one its block, and how much was taken.
    pub parts: Vec<(BlockId, Volume)>,
}

impl Taken {
    /// How much beer there was of the wort that a block is of.
    pub(crate) fn volume_in(&self, block: BlockId) -> Option<Volume> {
        self.parts.iter().find(|(of, _)| *of == block).map(|(_, volume)| *volume).or(self.first)
    }
}

/// Finds the parts that took yeast along. `parts`: all that have their wort of another brew.
pub(crate) fn find(context: &Context<'_>, parts: &BTreeMap<LotId, Part>) -> BTreeMap<LotId, Parting> {
    let comes_from_itself =
        |lot: LotId| (0..DEEPEST).try_fold(lot, |lot, _| parts.get(&lot).map(|part| part.whole)).is_some();
    let parts: BTreeMap<LotId, Part> =
        parts.iter().filter(|(lot, _)| !comes_from_itself(**lot)).map(|(lot, part)| (*lot, *part)).collect();
    let mut look = Look { parts, found: BTreeMap::new(), of_first: BTreeMap::new() };
    let lots: Vec<LotId> = look.parts.keys().copied().collect();
    for lot in lots {
        look.at(context, lot);
    }
    look.found.into_iter().filter_map(|(lot, parting)| Some((lot, parting?))).collect()
}

/// The brews whose wort comes from itself by way of others, and those that hang on them; each ring is told once.
pub(crate) fn rings(context: &Context<'_>, faults: &mut Vec<Fault>) -> BTreeSet<LotId> {
    let mut wholes: BTreeMap<LotId, (LotId, Place)> = BTreeMap::new();
    for (lot, home) in context.homes() {
        for statement in &home.block.statements {
            if let Kind::WortOf(of) = &statement.kind
                && let Some(whole) = context.names.lot(&of.brew.text).filter(|whole| *whole != lot)
            {
                wholes.entry(lot).or_insert((whole, home.place(statement.span)));
            }
        }
    }
    let mut rings = BTreeSet::new();
    let mut seen = BTreeSet::new();
    for first in wholes.keys() {
        let mut path = Vec::new();
        let mut next = Some(*first);
        while let Some(lot) = next.filter(|lot| seen.insert(*lot)) {
            path.push(lot);
            next = wholes.get(&lot).map(|(whole, _)| *whole);
        }
        let Some(end) = next else { continue };
        if let Some(begins) = path.iter().position(|lot| *lot == end) {
            let ring = path.get(begins..).unwrap_or_default().iter();
            let mut ring: Vec<(Place, LotId)> =
                ring.filter_map(|lot| Some((wholes.get(lot)?.1, *lot))).collect();
            ring.sort_unstable();
            let (places, lots) = ring.into_iter().unzip();
            faults.push(Fault::Loop { lots, places, of_wort: true });
            rings.extend(path);
        } else if rings.contains(&end) {
            rings.extend(path);
        }
    }
    rings
}

/// What is known of parts that were looked into, each after its whole.
struct Look {
    parts: BTreeMap<LotId, Part>,
    found: BTreeMap<LotId, Option<Parting>>,
    /// How many were looked into that come down from a first wort.
    of_first: BTreeMap<LotId, u16>,
}

impl Look {
    fn at(&mut self, context: &Context<'_>, lot: LotId) -> Option<Parting> {
        if let Some(known) = self.found.get(&lot) {
            return *known;
        }
        let part = *self.parts.get(&lot)?;
        let before = self.at(context, part.whole);
        let looked = self.of_first.entry(first_of(&self.parts, lot)).or_default();
        let parting = (*looked < MOST_PARTS).then(|| parting(context, lot, part, before)).flatten();
        *looked = looked.saturating_add(1);
        self.found.insert(lot, parting);
        parting
    }
}

/// The wort that another comes down from.
fn first_of(parts: &BTreeMap<LotId, Part>, lot: LotId) -> LotId {
    let wholes = std::iter::successors(Some(lot), |lot| parts.get(lot).map(|part| part.whole));
    wholes.take(usize::from(DEEPEST) + 1).last().unwrap_or(lot)
}

/// Whether the yeast of the whole, which may have had it of another, is in a part.
fn parting(context: &Context<'_>, lot: LotId, part: Part, before: Option<Parting>) -> Option<Parting> {
    let first = part.line.at;
    let brings = |(.., statement): &(Moment, &Shelved<'_>, &Statement)| context.brings_yeast(&statement.kind);
    let own = context.events(lot).find(brings).map(|(at, ..)| at);
    // Without a word of its yeast it has that of the whole, if that may have been in.
    let slack = if own.is_none() { part.hours_either_way } else { 0.0 };
    let mut yeast = before.filter(|before| before.at <= first).map(|before| before.yeast);
    for (at, shelved, statement) in context.events(part.whole) {
        let early = if own.is_none() { timeline::hours_either_way(shelved, statement) } else { 0.0 };
        if at.plus_hours(-early) > first.plus_hours(slack) {
            continue;
        }
        match &statement.kind {
            kind if context.brings_yeast(kind) => yeast = yeast.or(Some(at)),
            Kind::Boil(_) => yeast = None,
            _ => {}
        }
    }
    let yeast = yeast?;
    let taken = Parting { whole: part.whole, at: first.max(yeast), yeast };
    let is_low = || {
        let gravities =
            |lot| context.events(lot).filter_map(|(at, _, line)| Some((at, gravity(&line.kind)?)));
        is_as_low(yeast, taken.at, gravities(part.whole), gravities(lot))
    };
    own.is_none_or(|own| takes_along(yeast, first, own, is_low)).then_some(taken)
}

/// Whether a part with yeast of its own, which has lines from `first` on, took the yeast of its whole along as well.
pub(crate) fn takes_along(yeast: Moment, first: Moment, own: Moment, is_low: impl FnOnce() -> bool) -> bool {
    let soon = yeast.plus_hours(pitch::COUNTS_FOR_HOURS);
    // Nobody lets wort stand for days without yeast.
    own > soon && (first <= soon || is_low())
}

/// Whether the whole had fallen by the time, and nothing that is read of the part is above what it was: it is beer.
pub(crate) fn is_as_low(
    yeast: Moment,
    taken: Moment,
    whole: impl Iterator<Item = (Moment, Gravity)>,
    mut part: impl Iterator<Item = (Moment, Gravity)>,
) -> bool {
    let by_then = whole.filter(|(at, _)| *at > yeast && *at <= taken).last();
    by_then.is_some_and(|(_, whole)| part.next().is_none_or(|(_, part)| part <= whole + SAME))
}

/// The gravity that a line reads.
pub(crate) fn gravity(line: &Kind) -> Option<Gravity> {
    match line {
        Kind::Reading(reading) if reading.what == Measured::Gravity => {
            Some(wort::as_gravity(&reading.measure()))
        }
        _ => None,
    }
}

/// A whole, as its parts that did not take its yeast along find it. It is looked at once, however many they are.
#[derive(Debug, Default)]
pub(crate) struct Whole {
    pub pitched: Option<Moment>,
    /// When it was first aerated before that.
    aerated: Option<Moment>,
    /// The lines that read its volume and those that bring its yeast: when, and which of its lines.
    volumes: Vec<(Moment, usize)>,
    yeast: Vec<(Moment, usize)>,
}

impl Whole {
    pub(crate) fn of(context: &Context<'_>, whole: LotId) -> Self {
        let pitched = context.home(whole).and_then(|home| wort::pitched(context, whole, home.id));
        let mut out = Self { pitched, ..Self::default() };
        for (number, (at, _, line)) in context.events(whole).enumerate() {
            match &line.kind {
                kind if context.brings_yeast(kind) => out.yeast.push((at, number)),
                Kind::Reading(reading) if reading.what == Measured::Volume => out.volumes.push((at, number)),
                Kind::Aerate(_) if pitched.is_some_and(|pitched| at <= pitched) => {
                    out.aerated.get_or_insert(at);
                }
                _ => {}
            }
        }
        out
    }

    /// Whether the wort was measured between a part's first line and its yeast: then it is what was left.
    pub(crate) fn is_measured_since(&self, first: Moment) -> bool {
        let next =
            |lines: &[(Moment, usize)]| lines.get(lines.partition_point(|(at, _)| *at < first)).copied();
        next(&self.volumes).is_some_and(|volume| next(&self.yeast).is_none_or(|yeast| volume < yeast))
    }

    /// When a part was taken that did not take its yeast along. What is aerated by itself was parted before the whole was
    /// aerated; so was, as far as anybody knows, what has no line before the whole was pitched.
    pub(crate) fn parted(&self, context: &Context<'_>, lot: LotId, first: Moment) -> Moment {
        let Some(pitched) = self.pitched else { return first };
        let mut wort = context.events(lot).take_while(|(.., line)| !context.brings_yeast(&line.kind));
        let own = wort.any(|(.., line)| matches!(line.kind, Kind::Aerate(_)));
        let aerated = self
            .aerated
            .filter(|_| own || first > pitched)
            .map(|aerated| aerated.plus_hours(-Moment::LEAST_HOURS));
        aerated.into_iter().fold(first.min(pitched), Moment::min)
    }
}

impl Season {
    /// The whole whose line a place is, of a part that took its yeast along from it: what is to be said of that line is said
    /// of the whole.
    #[must_use]
    pub fn whole_told_at(&self, lot: LotId, place: Place) -> Option<LotId> {
        let block = self.block_at(place)?;
        let mut whole = self.batch(lot)?.taken_from()?;
        while !self.lot(whole)?.blocks.contains(&block) {
            whole = self.batch(whole)?.taken_from()?;
        }
        Some(whole)
    }
}

impl<'a> Context<'a> {
    /// What was taken out of a brew, in order of time, but for parts that were taken before its wort was measured.
    pub(crate) fn taken_out(&self, whole: LotId) -> Vec<TakenOut> {
        self.taken_out.get(&whole).cloned().unwrap_or_default()
    }

    /// How much a lot has of another's wort.
    pub(crate) fn part_of_wort(&self, lot: LotId) -> Option<Volume> {
        self.home(lot)?.block.statements.iter().find_map(|statement| match &statement.kind {
            Kind::WortOf(of) => Some(Volume::litres(of.volume.measure.base())),
            _ => None,
        })
    }

    /// The events of a lot, after those of the wholes that it took its yeast along from.
    pub(crate) fn course(&self, lot: LotId) -> impl Iterator<Item = (Moment, &Shelved<'a>, &'a Statement)> {
        self.before(lot).chain(self.events(lot))
    }

    /// The events of the wholes that a lot took its yeast along from, up to when it did.
    pub(crate) fn before(&self, lot: LotId) -> impl Iterator<Item = (Moment, &Shelved<'a>, &'a Statement)> {
        let mut wholes = Vec::new();
        let mut part = lot;
        while let Some(parting) = self.partings.get(&part) {
            wholes.push((parting.whole, parting.at));
            part = parting.whole;
        }
        let until =
            |(whole, until): (LotId, Moment)| self.events(whole).take_while(move |(at, ..)| *at <= until);
        wholes.into_iter().rev().flat_map(until)
    }
}
