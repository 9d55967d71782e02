//! When everything happened: one order of time for the whole workspace.

use barm_syntax::Span;
use barm_syntax::ast::{Block, Clock, DayIndex, Kind, Statement};

use crate::fault::Fault;
use crate::names::{BlockId, LotId, Names};
use crate::{FileId, Moment, Place, Source};

/// A block of the workspace, with what is needed to point into it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shelved<'a> {
    pub id: BlockId,
    pub start: u32,
    pub block: &'a Block,
}

impl<'a> Shelved<'a> {
    pub(crate) fn place(&self, span: Span) -> Place {
        Place { file: self.id.file, span: span.shifted(self.start) }
    }

    pub(crate) fn statement(&self, index: u32) -> Option<&'a Statement> {
        self.block.statements.get(index as usize)
    }
}

/// All blocks of a workspace in order of file and place.
pub(crate) fn shelve(sources: &[Source]) -> Vec<Shelved<'_>> {
    let mut out = Vec::new();
    for (file, source) in sources.iter().enumerate() {
        let file = FileId(u32::try_from(file).unwrap_or(u32::MAX));
        for (index, placed) in source.log.blocks.iter().enumerate() {
            let id = BlockId { file, index: u32::try_from(index).unwrap_or(u32::MAX) };
            out.push(Shelved { id, start: placed.start, block: &placed.block });
        }
    }
    out
}

/// One event at its moment. Kept to twelve bytes: a large log has millions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Entry {
    pub at: Moment,
    /// Position in the shelf.
    pub shelf: u32,
    /// Position in the block.
    pub statement: u32,
}

/// How far off a statement's moment may be: two hours where the time is about, half a day where only the day is known.
pub(crate) fn hours_either_way(shelved: &Shelved<'_>, statement: &Statement) -> f64 {
    let day = statement.day.and_then(|day| shelved.block.days.get(day.position()));
    match (statement.time.or(day.and_then(|d| d.time)), day.is_some_and(|d| d.about)) {
        (_, true) => 36.0,
        (Some(time), false) if time.about => 2.0,
        (Some(_), false) => 0.0,
        (None, false) => 12.0,
    }
}

/// Whether of a statement nothing but the day is written, whatever stands above it.
pub(crate) fn is_of_the_day(shelved: &Shelved<'_>, statement: &Statement) -> bool {
    let day = statement.day.and_then(|day| shelved.block.days.get(day.position()));
    statement.time.is_none() && day.is_none_or(|day| day.time.is_none())
}

/// The moments of a block's statements: `None` for facts and for what stands below `on ?` without an answer.
///
/// A statement without a time happens after the line above it; the first of a day without one happens at noon, or with
/// the first timed line of that day where that is earlier.
pub(crate) fn moments(block: &Block, asked: Option<Moment>) -> Vec<Option<Moment>> {
    let mut out = Vec::with_capacity(block.statements.len());
    let mut last: Option<(DayIndex, Moment)> = None;
    // Each day is looked up once: a date takes longer to reckon with than all else here.
    let mut today: Option<(DayIndex, Option<Moment>)> = None;
    // When it begins is asked once; what comes after that has a day of its own.
    let begins = asked.and_then(|_| block.days.iter().position(|day| day.asked));
    for (index, statement) in block.statements.iter().enumerate() {
        let Some(day_index) = statement.day else {
            out.push(None);
            continue;
        };
        let Some(day) = block.days.get(day_index.position()) else {
            out.push(None);
            continue;
        };
        let asked = asked.filter(|_| begins == Some(day_index.position()));
        let (_, midnight) = match today.filter(|(of, _)| *of == day_index) {
            Some(known) => known,
            None => {
                let date = day.date.or(asked.map(Moment::date));
                *today.insert((day_index, date.map(|date| Moment::new(date, 0))))
            }
        };
        let Some(midnight) = midnight else {
            out.push(None);
            continue;
        };
        let previous = last.filter(|(d, _)| *d == day_index).map(|(_, at)| at);
        let first_time = if previous.is_none() { day.time } else { None };
        let at = if let Some(time) = statement.time.or(first_time) {
            midnight.plus_minutes(time.minutes)
        } else if let Some(previous) = previous {
            previous
        } else if let Some(asked) = asked {
            midnight.plus_minutes(asked.minutes())
        } else {
            let next = block
                .statements
                .get(index..)
                .unwrap_or(&[])
                .iter()
                .take_while(|s| s.day == Some(day_index))
                .take(64)
                .find_map(|s| s.time);
            midnight.plus_minutes(next.map_or(NOON, |t| t.minutes.min(NOON)))
        };
        last = Some((day_index, at));
        out.push(Some(at));
    }
    out
}

const NOON: u16 = 12 * 60;
/// How far out a `~` time may be.
const ABOUT: i32 = 120;

/// Days and times of a block that lie before the one above.
pub(crate) fn time_runs_back(shelved: &Shelved<'_>, faults: &mut Vec<Fault>) {
    let block = shelved.block;
    let mut above = None;
    for day in &block.days {
        let Some(date) = day.date else { continue };
        let at = Moment::new(date, 0);
        if let Some((above_at, above_span)) = above
            && at < above_at
        {
            faults.push(Fault::TimeRunsBack {
                place: shelved.place(day.span),
                at,
                above: shelved.place(above_span),
                above_at,
            });
        }
        above = Some((at, day.span));
    }
    let mut above: Option<(DayIndex, Clock, Span)> = None;
    for statement in &block.statements {
        let (Some(day_index), Some(time)) = (statement.day, statement.time) else { continue };
        if let Some((above_day, above_time, above_span)) = above
            && above_day == day_index
        {
            let slack = i32::from(time.about) * ABOUT + i32::from(above_time.about) * ABOUT;
            if i32::from(time.minutes) + slack < i32::from(above_time.minutes)
                && let Some(date) = block.days.get(day_index.position()).and_then(|d| d.date)
            {
                faults.push(Fault::TimeRunsBack {
                    place: shelved.place(statement.span),
                    at: Moment::new(date, time.minutes),
                    above: shelved.place(above_span),
                    above_at: Moment::new(date, above_time.minutes),
                });
            }
        }
        above = Some((day_index, time, statement.span));
    }
}

/// Whether an event moves or changes yeast, or may add some, and so belongs to the one order of all lots. Readings and the
/// like belong to their own lot alone.
pub(crate) const fn moves_yeast(kind: &Kind) -> bool {
    matches!(
        kind,
        Kind::Pitch(_)
            | Kind::Harvest(_)
            | Kind::Kept(_)
            | Kind::Crash(_)
            | Kind::Set(_)
            | Kind::Count(_)
            | Kind::Viability(_)
            | Kind::Wash(_)
            | Kind::Decant(_)
            | Kind::Dump(_)
            | Kind::Boil(_)
            | Kind::Add(_)
            | Kind::Package(_)
    )
}

/// Puts the yeast-moving events in order: by time; on one day, what makes a lot before what uses it; then path and line.
///
/// Only a day on which something is used before it is made is sorted again, so the usual case costs one pass.
pub(crate) fn order(
    mut entries: Vec<Entry>,
    shelf: &[Shelved<'_>],
    names: &Names,
    faults: &mut Vec<Fault>,
) -> Vec<Entry> {
    entries.sort_unstable();
    let mut start = 0;
    while let Some(first) = entries.get(start) {
        let day = first.at.day_number();
        let length = entries
            .get(start..)
            .map_or(0, |rest| rest.iter().take_while(|e| e.at.day_number() == day).count());
        let end = start + length;
        if let Some(today) = entries.get_mut(start..end) {
            order_day(today, shelf, names, faults);
            look_first(today, shelf, names);
        }
        start = end;
    }
    entries
}

/// The lot that an event of a block uses, and the one that it makes.
fn uses_and_makes(entry: &Entry, shelf: &[Shelved<'_>], names: &Names) -> (Option<LotId>, Option<LotId>) {
    let Some(shelved) = shelf.get(entry.shelf as usize) else { return (None, None) };
    let own = shelved.block.name.as_ref().and_then(|n| names.lot(&n.text));
    match shelved.statement(entry.statement).map(|s| &s.kind) {
        Some(Kind::Pitch(pitch)) => (names.lot(&pitch.lot.text), own),
        Some(Kind::Harvest(harvest)) => (None, names.lot(&harvest.name.text)),
        Some(Kind::Add(add)) => (names.lot(&add.what.text), None),
        // Only that of a part which takes yeast along is among the events.
        Some(Kind::WortOf(of)) => (names.lot(&of.brew.text), own),
        _ => (None, None),
    }
}

/// The name of the harvest on whose line a statement stands, with nothing between them but what was done with that.
pub(crate) fn harvested_on_line<'s>(shelved: &Shelved<'s>, index: u32) -> Option<&'s str> {
    let mut line = shelved.statement(index)?;
    for before in (0..index).rev() {
        let before = shelved.statement(before)?;
        // One line: nothing but a comma and blanks lie between.
        let near = line.span.start.saturating_sub(before.span.end) <= 8;
        if !near || line.time != before.time || line.day != before.day {
            return None;
        }
        match &before.kind {
            Kind::Harvest(harvest) => return Some(&harvest.name.text),
            kind if is_of_a_jar(kind) => line = before,
            _ => return None,
        }
    }
    None
}

/// Whether a statement of a block is of yeast that is harvested on its line.
pub(crate) fn is_of_harvest(shelved: &Shelved<'_>, statement: &Statement) -> bool {
    let index = || shelved.block.statements.partition_point(|other| other.span.start < statement.span.start);
    is_of_a_jar(&statement.kind)
        && u32::try_from(index()).is_ok_and(|index| harvested_on_line(shelved, index).is_some())
}

/// Whether a statement is one of what is done with yeast in a jar, and names none.
fn is_of_a_jar(kind: &Kind) -> bool {
    match kind {
        Kind::Kept(kept) => kept.lot.is_none(),
        Kind::Count(counted) => counted.lot.is_none(),
        Kind::Viability(viability) => viability.lot.is_none(),
        Kind::Wash(wash) => wash.lot.is_none(),
        Kind::Decant(decant) => decant.lot.is_none(),
        _ => false,
    }
}

/// What is done with yeast for a pitch of it.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Tended {
    /// Somebody looks how much of it lives.
    Looks,
    /// It is washed, or its beer is poured off, at any time of the day.
    Readies,
    /// The same at a time that is written.
    Changes,
}

/// The lot that an event tends, and how.
fn tends(entry: &Entry, shelf: &[Shelved<'_>], names: &Names) -> Option<(LotId, Tended)> {
    let shelved = shelf.get(entry.shelf as usize)?;
    let statement = shelved.statement(entry.statement)?;
    let readies = if is_of_the_day(shelved, statement) { Tended::Readies } else { Tended::Changes };
    let (name, how) = match &statement.kind {
        Kind::Count(count) => (&count.lot, Tended::Looks),
        Kind::Viability(of) => (&of.lot, Tended::Looks),
        Kind::Wash(wash) => (&wash.lot, readies),
        Kind::Decant(of) => (&of.lot, readies),
        _ => return None,
    };
    let own = || shelved.block.name.as_ref().map(|name| &*name.text);
    let named = name.as_ref().map(|name| &*name.text);
    let lot = names.lot(named.or_else(|| harvested_on_line(shelved, entry.statement)).or_else(own)?)?;
    Some((lot, how))
}

/// What a day has said of a lot so far.
#[derive(Default)]
struct Said {
    /// The first line that pitches it.
    pitched: Option<usize>,
    /// It was looked at before that.
    looked_at: bool,
}

/// On the day of a pitch yeast is tended for that pitch: a look at it tells of what was pitched, though it is written with a
/// later time or with none, and what readies it came before where no time says otherwise.
fn look_first(today: &mut [Entry], shelf: &[Shelved<'_>], names: &Names) {
    if !today.iter().any(|entry| tends(entry, shelf, names).is_some()) {
        return;
    }
    let mut said: std::collections::BTreeMap<LotId, Said> = std::collections::BTreeMap::new();
    let mut places = Vec::with_capacity(today.len());
    for (index, entry) in today.iter().enumerate() {
        let mut before = None;
        if let Some((lot, how)) = tends(entry, shelf, names) {
            let said = said.entry(lot).or_default();
            match (how, said.pitched) {
                (Tended::Looks, None) => said.looked_at = true,
                (Tended::Looks, Some(pitched)) => before = Some(pitched).filter(|_| !said.looked_at),
                (Tended::Readies, pitched) => before = pitched,
                // What is seen of it later says nothing of what was pitched before.
                (Tended::Changes, _) => *said = Said::default(),
            }
        } else {
            let (uses, makes) = uses_and_makes(entry, shelf, names);
            if let Some(lot) = uses {
                said.entry(lot).or_default().pitched.get_or_insert(index);
            }
            // What is made anew was neither pitched nor looked at.
            if let Some(lot) = makes {
                said.remove(&lot);
            }
        }
        places.push((before.unwrap_or(index), before.is_none(), index));
    }
    places.sort_unstable();
    let sorted = places.iter().filter_map(|&(place, _, index)| {
        let at = today.get(place)?.at;
        today.get(index).map(|entry| Entry { at: entry.at.min(at), ..*entry })
    });
    let sorted: Vec<Entry> = sorted.collect();
    for (slot, entry) in today.iter_mut().zip(sorted) {
        *slot = entry;
    }
}

fn order_day(today: &mut [Entry], shelf: &[Shelved<'_>], names: &Names, faults: &mut Vec<Fault>) {
    let links: Vec<(Option<LotId>, Option<LotId>)> =
        today.iter().map(|e| uses_and_makes(e, shelf, names)).collect();
    let mut makers: std::collections::BTreeMap<LotId, usize> = std::collections::BTreeMap::new();
    for (index, (_, makes)) in links.iter().enumerate() {
        if let Some(lot) = makes {
            makers.entry(*lot).or_insert(index);
        }
    }
    let maker_of = |index: usize| {
        let (uses, _) = links.get(index)?;
        // A lot pitched into itself is found where it is pitched.
        makers.get(&(*uses)?).copied().filter(|maker| *maker != index)
    };
    let late = |index: usize| maker_of(index).is_some_and(|maker| maker >= index);
    if !(0..today.len()).any(late) {
        return;
    }
    // Kahn's algorithm, the earliest first. Edges: the line above in the same block, and the maker of what is used.
    let above: Vec<Option<usize>> = (0..today.len())
        .map(|i| {
            let me = today.get(i)?;
            (0..i).rev().find(|&j| today.get(j).is_some_and(|e| e.shelf == me.shelf))
        })
        .collect();
    let mut done = vec![false; today.len()];
    let mut sequence = Vec::with_capacity(today.len());
    while sequence.len() < today.len() {
        let is_done = |i: Option<usize>| i.is_none_or(|i| done.get(i).copied().unwrap_or(true));
        let ready = (0..today.len())
            .find(|&i| !is_done(Some(i)) && is_done(above.get(i).copied().flatten()) && is_done(maker_of(i)));
        let next = ready.or_else(|| {
            // Nothing can go first: every event left needs another. Name them, then go on with the earliest.
            let stuck: Vec<usize> =
                (0..today.len()).filter(|&i| !is_done(Some(i)) && !is_done(maker_of(i))).collect();
            let places: Vec<Place> = stuck
                .iter()
                .filter_map(|&i| {
                    let entry = today.get(i)?;
                    let shelved = shelf.get(entry.shelf as usize)?;
                    Some(shelved.place(shelved.statement(entry.statement)?.span))
                })
                .collect();
            let mut lots: Vec<LotId> = stuck.iter().filter_map(|&i| links.get(i)?.0).collect();
            lots.dedup();
            if !places.is_empty() {
                faults.push(Fault::Loop { lots, places, of_wort: false });
            }
            (0..today.len()).find(|&i| !is_done(Some(i)))
        });
        let Some(next) = next else { break };
        if let Some(slot) = done.get_mut(next) {
            *slot = true;
        }
        sequence.push(next);
    }
    let sorted: Vec<Entry> = sequence.iter().filter_map(|&i| today.get(i).copied()).collect();
    for (slot, entry) in today.iter_mut().zip(sorted) {
        *slot = entry;
    }
}
