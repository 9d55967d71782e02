//! Follows every lot of yeast through time and reckons the figures of every brew.
//!
//! [`Season::reckon`] is a pure function of files and settings: it collects the names, puts every event of the workspace
//! into one order of time, and folds over that order once. What keeps a part from being reckoned is a [`Fault`]; all
//! outside it is reckoned all the same. Levels and wording are the rules'.

mod acidity;
mod additions;
pub mod advice;
mod answer;
mod bank;
mod batch;
mod blends;
mod context;
mod counts;
mod course;
mod degrees;
mod fault;
mod fermentation;
mod figure;
mod fold;
mod half;
mod hazards;
mod heat;
mod history;
mod kettle;
mod listing;
mod logger;
mod lot;
mod moment;
mod names;
mod near;
pub mod oxygen;
mod packaging;
mod parting;
mod pitch;
mod place;
mod record;
mod scale;
mod settings;
mod strain;
mod suspicion;
mod temperature;
mod timeline;
mod unwritten;
mod vessels;
mod volumes;
mod washes;
mod wort;

use std::sync::Arc;

use barm_quantity::Estimate;
use barm_syntax::ast::{Block, Log};
use rayon::prelude::*;

pub use acidity::Acidity;
pub use additions::{Addition, is_fruit};
pub use answer::Answer;
pub use bank::{Advice, Bank, Banked, Fit};
pub use batch::{
    AskedDose, Batch, Dose, Excursion, Excursions, Form, GravityReading, Missing, Original, OriginalFrom,
    OxygenFigures, PitchFigures, Pitching, TemperatureFigures, Wort,
};
pub use blends::{Blend, Flavour, Part};
pub use counts::Counting;
pub use course::{Course, Drawn, RangeCourse, StockCourse, Taste, Verdict};
pub use fault::Fault;
pub use fermentation::{
    ABOVE_WORT, EndFrom, ExpectedEnd, Falls, FermentationFigures, Forced, Given, Idle, SLOW_BELOW, Shown,
    shows_work_within, still_since,
};
pub use figure::{Figure, LotFigures, unit_of, with_unit};
pub use hazards::{Danger, Hazard, Risk, danger, risks};
pub use heat::{Air, Cooled, HeatFigures, Peak, SCALDS, Scald, SetPoint, Shock};
pub use history::{Donor, Frozen, Harvested, History, Unknown, Warm};
pub use listing::Stock;
pub use logger::{BadRows, Logged, LoggerFile, Loggers, RowFault};
pub use moment::Moment;
pub use names::{BlockId, Lot, LotId, LotKind, Named, Names, folded};
pub use near::nearest;
pub use packaging::{COOL, PRIMING_HOURS, PackageFigures, RISK, Rated, ToFerment, WARM};
pub use parting::TakenOut;
pub use place::{FileId, Place};
pub use record::{Record, Unpitched};
pub use scale::Scale;
pub use settings::{Cautions, GravityScale, KnownRules, Models, Settings, SettingsError, Units};
pub use strain::{Facts, Makes, Rate, Reuse, Strain, StrainId, Traits};
pub use suspicion::{Suspicion, tells_of_infection};
pub use temperature::{NEAR_HOURS, are_near};
pub use unwritten::Fact;
pub use washes::Washed;

/// Work on fewer brews than this is done sooner than another thread is awake.
pub const WORTH_SHARING: usize = 24;
/// So many brews are reckoned on all cores. Of more the memory counts, and what a brew's events held is free for its figures
/// only on the thread that forgets them.
const SHARED: std::ops::RangeInclusive<usize> = WORTH_SHARING..=1024;

/// A file of the workspace.
#[derive(Debug, Clone)]
pub struct Source {
    /// Its path as shown to people: relative to the workspace, `/` between folders.
    pub path: Arc<str>,
    /// Its text.
    pub text: Arc<str>,
    /// The text as read.
    pub log: Log,
}

/// A workspace, reckoned.
#[derive(Debug)]
pub struct Season {
    /// Its files, sorted by path.
    pub sources: Vec<Source>,
    /// Its settings.
    pub settings: Settings,
    /// What was read of the loggers' files that its logs name.
    pub loggers: Loggers,
    /// Logs that could not be read as they are, or not at all, and why: told by whoever opened them.
    pub unread: Vec<(Place, String)>,
    /// Its names and its lots.
    pub names: Names,
    /// Its strains.
    pub strains: Vec<Strain>,
    /// Its starters and brews, in order of file and line.
    pub batches: Vec<Batch>,
    /// Its counts under the microscope, in order of lot and time.
    pub counts: Vec<Counting>,
    /// Every pH that was read in a lot, by hand or by a logger, in order of lot and time.
    pub acidity: Vec<Acidity>,
    /// Its washes with acid, in order of lot and time.
    pub washes: Vec<Washed>,
    /// What keeps parts of it from being reckoned, in order of place.
    pub faults: Vec<Fault>,
    /// Answers to its questions, in order of place.
    pub answers: Vec<Answer>,
    /// What in it can hurt, at the first event that does it, in order of place.
    pub hazards: Vec<Hazard>,
    /// Its last dated event: the day that is meant where none is given.
    pub last_day: Option<Moment>,
    /// Each lot's state after everything.
    states: Vec<lot::State>,
    /// Position in `batches` by lot.
    batch_of: Vec<Option<usize>>,
}

impl Season {
    /// Reckons a workspace without the files of loggers.
    #[must_use]
    pub fn reckon(sources: Vec<Source>, settings: Settings) -> Self {
        Self::reckon_with(sources, Loggers::default(), settings)
    }

    /// Reckons a workspace. Sources are sorted by path first, so that their order does not matter.
    #[must_use]
    pub fn reckon_with(sources: Vec<Source>, loggers: Loggers, settings: Settings) -> Self {
        Self::reckon_part(sources, loggers, settings, hazards::find)
    }

    /// Reckons some logs of a workspace, by somebody who knows what of them can hurt and where: they are given sorted by path.
    #[must_use]
    pub fn reckon_part(
        mut sources: Vec<Source>,
        loggers: Loggers,
        settings: Settings,
        hazards: impl FnOnce(&[Source], &Names) -> Vec<Hazard>,
    ) -> Self {
        sources.sort_by(|a, b| a.path.cmp(&b.path));
        let mut faults = Vec::new();
        let names = Names::collect(&sources, &mut faults);
        let (found, mut answers, last_day) = {
            let (mut context, order) =
                context::Context::new(&sources, &loggers, &settings, &names, &mut faults);
            let begins = std::mem::take(&mut context.begins);
            let mut fold = fold::Fold::run(&context, order, faults);
            let mut answers = std::mem::take(&mut fold.answers);
            answers.extend(begins);
            let infected = suspicion::infected(&context, &mut fold.faults);
            let suspect = suspicion::follow(&context, &fold.descents, &infected, &mut fold.faults);
            let last_day = context.entries.iter().filter_map(|e| e.last()).map(|e| e.at).max();
            let mut found = fold.finish();
            found.acidity.append(&mut context.acidity);
            let all = found.batches.len();
            let mut amiss = Vec::new();
            let mut hanging = Vec::new();
            let is_shared = SHARED.contains(&all);
            for batches in found.batches.chunks_mut(if is_shared { all } else { 1 }) {
                let reckon = |batch: &mut Batch| {
                    let (mut answers, mut faults) = (Vec::new(), Vec::new());
                    let strain = found.states.get(batch.lot.0 as usize).and_then(|s| {
                        let (id, _) =
                            s.shares.iter().max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))?;
                        found.strains.get(*id)
                    });
                    pitch::reckon(&settings, batch);
                    blends::reckon(&context, &found.strains, batch);
                    if !context.parts.contains_key(&batch.lot) {
                        oxygen::reckon(&context, batch, None, (&mut answers, &mut faults));
                    }
                    record::reckon(&context, batch, infected.lots.get(&batch.lot).map(|why| why.infected));
                    temperature::reckon(&context, batch, strain);
                    let suspicion = suspect.get(&batch.lot).copied();
                    fermentation::reckon(&context, &found.strains, batch, suspicion);
                    heat::reckon(&context, batch);
                    if !context.blended.contains(&batch.lot) {
                        packaging::reckon(&context, batch, &packaging::Others::default(), &mut faults);
                        packaging::answer(
                            &context,
                            batch,
                            &packaging::Others::default(),
                            &faults,
                            &mut answers,
                        );
                    }
                    (answers, faults)
                };
                let told: Vec<(Vec<Answer>, Vec<Fault>)> = if is_shared {
                    batches.par_iter_mut().map(reckon).collect()
                } else {
                    batches.iter_mut().map(reckon).collect()
                };
                for (told, faults) in told {
                    answers.extend(told);
                    amiss.extend(faults);
                }
                for batch in batches.iter() {
                    hanging.extend(answer::hanging(&context, batch.lot));
                    context.forget(batch.lot);
                }
            }
            packaging::of_blended(&context, &mut found.batches, &found.batch_of, &mut amiss, &mut answers);
            found.faults.append(&mut amiss);
            let told = (&mut answers, &mut found.faults);
            oxygen::of_parts(&context, &mut found.batches, &found.batch_of, told);
            answer::wait_for_additions(&mut hanging, &mut answers);
            (found, answers, last_day)
        };
        let fold::Found {
            states,
            batches,
            batch_of,
            strains,
            mut counts,
            mut washes,
            mut acidity,
            mut faults,
        } = found;
        washes.sort_by_key(|w| (w.lot, w.at, w.place));
        acidity.sort_by_key(|a| (a.lot, a.at, a.place));
        counts.sort_by_key(|c| (c.lot, c.at, c.place));
        answers.sort_by_key(|a| a.place);
        answers.dedup_by_key(|a| a.place);
        faults.sort_by_key(Fault::place);
        faults.dedup();
        let hazards = hazards(&sources, &names);
        Self {
            sources,
            settings,
            loggers,
            unread: Vec::new(),
            names,
            strains: strains.all,
            batches,
            counts,
            acidity,
            washes,
            faults,
            answers,
            hazards,
            last_day,
            states,
            batch_of,
        }
    }

    /// A lot.
    #[must_use]
    pub fn lot(&self, lot: LotId) -> Option<&Lot> {
        self.names.lots.get(lot.0 as usize)
    }

    /// The starter or brew of a lot.
    #[must_use]
    pub fn batch(&self, lot: LotId) -> Option<&Batch> {
        self.batches.get((*self.batch_of.get(lot.0 as usize)?)?)
    }

    /// The counts of a lot, in order of time.
    #[must_use]
    pub fn counts_of(&self, lot: LotId) -> &[Counting] {
        let from = self.counts.partition_point(|c| c.lot < lot);
        let to = self.counts.partition_point(|c| c.lot <= lot);
        self.counts.get(from..to).unwrap_or(&[])
    }

    /// Every pH read in a lot, in order of time.
    #[must_use]
    pub fn acidity_of(&self, lot: LotId) -> &[Acidity] {
        let from = self.acidity.partition_point(|a| a.lot < lot);
        let to = self.acidity.partition_point(|a| a.lot <= lot);
        self.acidity.get(from..to).unwrap_or(&[])
    }

    /// A block and the offset of its first byte.
    #[must_use]
    pub fn block(&self, id: BlockId) -> Option<(&Block, u32)> {
        let placed = self.source(id.file)?.log.blocks.get(id.index as usize)?;
        Some((&placed.block, placed.start))
    }

    /// A file.
    #[must_use]
    pub fn source(&self, file: FileId) -> Option<&Source> {
        self.sources.get(file.0 as usize)
    }

    /// The text at a place.
    #[must_use]
    pub fn text(&self, place: Place) -> &str {
        self.source(place.file).map_or("", |s| place.span.text(&s.text))
    }

    /// Whether a line is written in US measure: a finding speaks the units of its line.
    #[must_use]
    pub fn speaks_us(&self, place: Place) -> bool {
        Scale::of(self, Some(place)).is_us()
    }

    /// The title of a lot's block, without its quotes.
    #[must_use]
    pub fn title(&self, lot: LotId) -> Option<String> {
        let (block, start) = self.block(*self.lot(lot)?.blocks.first()?)?;
        let file = self.lot(lot)?.blocks.first()?.file;
        let text = self.text(Place { file, span: block.title?.shifted(start) });
        Some(text.trim_matches('"').to_owned())
    }

    /// The live share of a culture or harvest at a moment, after all that was logged of it.
    #[must_use]
    pub fn live_share(&self, lot: LotId, at: Moment) -> Option<Estimate> {
        listing::live_at(self, lot, at)
    }

    /// What there is of a lot after all that was logged of it, and which part of it lives on a day.
    #[must_use]
    pub fn stock_of(&self, lot: LotId, on: jiff::civil::Date) -> Option<Stock> {
        listing::stock(self, lot, Moment::new(on, 24 * 60 - 1))
    }

    /// Whether a count or a `viability` from then on says how much of a lot lives.
    #[must_use]
    pub fn is_measured_since(&self, lot: LotId, at: Moment) -> bool {
        let live = self.states.get(lot.0 as usize).and_then(|state| state.live.as_ref());
        live.is_some_and(|live| live.measured && live.since.is_some_and(|since| since >= at))
    }

    /// The figures of every lot, or of those named, in order of file and line.
    #[must_use]
    pub fn figures(&self, lots: &[String]) -> Vec<LotFigures> {
        let wanted: Vec<String> = lots.iter().map(|l| folded(l)).collect();
        (0..self.names.lots.len())
            .filter(|&i| {
                wanted.is_empty() || self.names.lots.get(i).is_some_and(|l| wanted.contains(&folded(&l.name)))
            })
            .filter_map(|i| listing::of(self, LotId(u32::try_from(i).ok()?)))
            .collect()
    }
}
