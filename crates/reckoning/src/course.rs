//! How the stock and the ranges of a season ran over time: for whoever draws them. The figures themselves stand in
//! [`Season::figures`]; here is what lies between them.

use std::collections::{BTreeMap, BTreeSet};

use barm_quantity::Estimate;
use barm_syntax::ast::Kind;
use jiff::civil::Date;

use crate::context::Context;
use crate::fold::{Fold, Trace};
use crate::lot::LiveShare;
use crate::names::{LotId, LotKind};
use crate::{Fault, Moment, Place, Season, suspicion, temperature};

/// Points of one stretch of a curve.
const POINTS: u32 = 24;
/// What is left of a lot below this part of what was drawn from it sticks to the glass.
const DREGS: f64 = 0.005;

/// How a season ran.
#[derive(Debug, Default)]
pub struct Course {
    /// The yeast kept in jars, packs and vials that there was by that day, in order of file and line.
    pub stocks: Vec<StockCourse>,
    /// The range of temperature of each starter and brew.
    pub ranges: BTreeMap<LotId, RangeCourse>,
    /// Which lot went into or came out of which: (from, to), each pair once.
    pub descents: BTreeSet<(LotId, LotId)>,
    /// Lots called infected.
    pub infected: BTreeSet<LotId>,
    /// Lots that descend from those, or shared a vessel with them.
    pub suspect: BTreeSet<LotId>,
}

/// The live share of one lot over time.
#[derive(Debug)]
pub struct StockCourse {
    /// The lot.
    pub lot: LotId,
    /// Stretches between measurements, each in order of time; at a measurement one ends and the next begins.
    pub stretches: Vec<Vec<(Moment, Estimate)>>,
    /// Every draw on it.
    pub draws: Vec<Drawn>,
    /// When nothing was left of it.
    pub emptied: Option<Moment>,
}

/// One draw on a stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// When.
    pub at: Moment,
    /// The statement.
    pub place: Place,
    /// How much, in `unit`.
    pub taken: f64,
    /// What stayed, in `unit`.
    pub left: f64,
    /// `packs`, `mL`, `g`, …; empty where nothing says.
    pub unit: &'static str,
    /// What it went into; `None` where it was thrown away.
    pub into: Option<LotId>,
    /// The live share then.
    pub live_share: Estimate,
}

/// A range of temperature over time.
#[derive(Debug, Clone, PartialEq)]
pub struct RangeCourse {
    /// Lowest and highest, °C, at the corners; between them straight lines, and a step where two stand at one moment.
    pub corners: Vec<(Moment, (f64, f64))>,
    /// From when to when excursions were judged.
    pub judged: (Moment, Moment),
}

/// How a beer turned out, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Verdict {
    /// `good`
    Good,
    /// `fair`
    Fair,
    /// `poor`
    Poor,
}

impl Verdict {
    /// All of them, best first.
    pub const ALL: [Self; 3] = [Self::Good, Self::Fair, Self::Poor];

    /// As a log writes it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Fair => "fair",
            Self::Poor => "poor",
        }
    }
}

/// What was written of a beer's taste.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Taste {
    /// The words, in order, without the verdict.
    pub words: Vec<String>,
    /// The last verdict.
    pub verdict: Option<Verdict>,
}

impl Season {
    /// How it ran up to the end of a day, or of its last dated event.
    #[must_use]
    pub fn course(&self, on: Option<Date>) -> Course {
        let Some(on) = on.or(self.last_day.map(Moment::date)) else { return Course::default() };
        let end = Moment::new(on, 24 * 60 - 1);
        let mut faults = Vec::new();
        let (context, order) =
            Context::new(&self.sources, &self.loggers, &self.settings, &self.names, &mut faults);
        let (fold, trace) = Fold::traced(&context, order);
        let suspect = self.faults.iter().filter_map(|fault| match fault {
            Fault::Suspect { lot, .. } => Some(*lot),
            _ => None,
        });
        let kept = (0..).map(LotId).zip(&self.names.lots);
        let kept = kept.filter(|(_, lot)| matches!(lot.kind, LotKind::Culture | LotKind::Harvest));
        Course {
            stocks: kept.filter_map(|(lot, _)| self.stock(&fold, &trace, lot, end)).collect(),
            ranges: self
                .batches
                .iter()
                .filter_map(|batch| Some((batch.lot, temperature::range_over_time(&context, batch)?)))
                .collect(),
            descents: fold.descents.iter().map(|descent| (descent.from, descent.to)).collect(),
            infected: suspicion::infected(&context, &mut Vec::new()).lots.into_keys().collect(),
            suspect: suspect.collect(),
        }
    }

    fn stock(&self, fold: &Fold<'_, '_>, trace: &Trace, lot: LotId, end: Moment) -> Option<StockCourse> {
        let name = &self.lot(lot)?.name;
        let state = fold.states.get(lot.0 as usize)?;
        let last = state.live.as_deref()?;
        let earlier = trace.until.iter().filter(|(of, ..)| *of == lot).map(|(_, until, live)| (live, *until));
        let pieces: Vec<(&LiveShare, Moment)> = earlier.chain([(last, Moment::LAST)]).collect();

        let mut draws = Vec::new();
        let mut emptied = None;
        for &(_, at, place, taken, left) in trace.draws.iter().filter(|(of, at, ..)| *of == lot && *at <= end)
        {
            let live = pieces.iter().find(|(_, until)| at <= *until).map_or(last, |(live, _)| live);
            let into = fold.descents.iter().find(|d| d.from == lot && d.place == place).map(|d| d.to);
            let (_, unit) = state.supply.listed(0.0);
            draws.push(Drawn { at, place, taken, left, unit, into, live_share: live.at(at, name) });
            if left <= DREGS * (left + taken) {
                emptied = Some(at);
            }
        }

        let mut from = pieces.first()?.0.since?;
        let end = emptied.unwrap_or(end);
        let mut stretches = Vec::new();
        for (live, until) in pieces {
            let last = until >= end;
            let until = until.min(end);
            // A measurement at the moment of its harvest leaves nothing before it to be drawn.
            if until > from || (last && until == from) {
                let step = until.hours_since(from) / f64::from(POINTS);
                let points = (0..=POINTS).map(|i| from.plus_hours(step * f64::from(i)));
                stretches.push(points.map(|at| (at, live.at(at, name))).collect());
                from = until;
            }
            if last {
                break;
            }
        }
        (!stretches.is_empty()).then_some(StockCourse { lot, stretches, draws, emptied })
    }

    /// Generations of a lot since the lab; of a starter or brew those of the yeast pitched. `None` where not on record.
    #[must_use]
    pub fn generation(&self, lot: LotId) -> Option<u32> {
        match self.batch(lot) {
            Some(batch) => batch.pitches.iter().filter_map(|pitch| pitch.generation).max(),
            None => self.states.get(lot.0 as usize)?.generation,
        }
    }

    /// What its log says of the taste of a brew.
    #[must_use]
    pub fn taste(&self, lot: LotId) -> Taste {
        let mut out = Taste::default();
        let Some(declared) = self.lot(lot) else { return out };
        for id in &declared.blocks {
            let Some((block, start)) = self.block(*id) else { continue };
            let tasted = block.statements.iter().filter_map(|statement| match &statement.kind {
                Kind::Taste(spans) => Some(spans),
                _ => None,
            });
            for span in tasted.flat_map(|spans| spans.iter()) {
                let word = self.text(Place { file: id.file, span: span.shifted(start) }).trim();
                match Verdict::ALL.into_iter().find(|verdict| word.eq_ignore_ascii_case(verdict.word())) {
                    Some(verdict) => out.verdict = Some(verdict),
                    None => out.words.push(word.to_owned()),
                }
            }
        }
        out
    }
}
