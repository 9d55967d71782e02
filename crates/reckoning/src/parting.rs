//! A wort that is parted after its yeast went in: a part takes along all that the whole had by then.
//!
//! `wort V of BREW` says nothing of when. One wort in two fermenters with two yeasts is parted before either is pitched; what
//! brings no yeast of its own until days later had it from the whole.

use std::collections::BTreeMap;

use barm_quantity::Volume;
use barm_syntax::ast::{Kind, Measured, Statement};
use barm_zymology::fermentation::SAME;

use crate::context::Context;
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
    let soon = yeast.plus_hours(pitch::COUNTS_FOR_HOURS);
    match own {
        Some(own) if own <= soon => None,
        // Nobody lets wort stand for days without yeast.
        Some(_) if first > soon && !is_as_low(context, lot, taken) => None,
        _ => Some(taken),
    }
}

/// Whether the wort that a part was taken of before its yeast was measured between the two: then it is what was left.
pub(crate) fn is_measured_since(context: &Context<'_>, part: &Part) -> bool {
    let since = context.events(part.whole).skip_while(|(at, ..)| *at < part.line.at);
    let mut until = since.take_while(|(.., statement)| !context.brings_yeast(&statement.kind));
    until.any(|(.., line)| matches!(&line.kind, Kind::Reading(reading) if reading.what == Measured::Volume))
}

/// Whether the whole had fallen by the time, and nothing that is read of the part is above what it was: it is beer.
fn is_as_low(context: &Context<'_>, lot: LotId, taken: Parting) -> bool {
    let read = |(at, _, statement): (Moment, &Shelved<'_>, &Statement)| match &statement.kind {
        Kind::Reading(reading) if reading.what == Measured::Gravity => {
            Some((at, wort::as_gravity(&reading.measure()).as_specific()))
        }
        _ => None,
    };
    let of_whole = context.events(taken.whole).filter_map(read);
    let by_then = of_whole.filter(|(at, _)| *at > taken.yeast && *at <= taken.at).last();
    by_then.is_some_and(|(_, whole)| {
        let first = context.events(lot).find_map(read);
        first.is_none_or(|(_, part)| part <= whole + SAME.as_specific())
    })
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
    /// The parts that were taken out of a brew, in order of time, but for those before its wort was measured.
    pub(crate) fn taken_out(&self, whole: LotId) -> Vec<(Moment, Volume)> {
        let parts = self.taken_out.get(&whole).map_or(&[][..], Vec::as_slice);
        parts.iter().filter_map(|(at, lot)| Some((*at, self.part_of_wort(*lot)?))).collect()
    }

    /// How much a lot has of another's wort.
    fn part_of_wort(&self, lot: LotId) -> Option<Volume> {
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
