//! What of a workspace stands on the page, gathered once for HTML, JSON and CSV.

use std::collections::{BTreeMap, BTreeSet};

use barm_reckoning::{
    Bank, Batch, Course, Figure, FileId, LotFigures, LotId, LotKind, Moment, Place, Season, StockCourse,
    Taste,
};
use barm_report::{CAUTION, Files};
use barm_rules::{Finding, Level};
use jiff::civil::Date;

use crate::Part;
use crate::family::{self, Member};

/// One workspace.
pub(crate) struct Glance<'a> {
    pub season: &'a Season,
    pub files: Files<'a>,
    pub brews: Vec<Brew<'a>>,
    /// Yeast in jars, packs and vials, the oldest first.
    pub stocks: Vec<&'a StockCourse>,
    pub family: Vec<Member>,
    /// Findings that count, cautions not among them.
    pub findings: Vec<&'a Finding>,
    pub months: Months,
    pub bank: Option<Bank>,
    pub course: &'a Course,
}

/// One brew.
pub(crate) struct Brew<'a> {
    pub batch: &'a Batch,
    pub figures: LotFigures,
    /// About it, or in its lines.
    pub findings: Vec<&'a Finding>,
    pub cautions: Vec<&'a Finding>,
    pub taste: Taste,
    pub pitched: Option<Moment>,
}

impl Brew<'_> {
    /// The last figure of a name: where several pitches have one each, all together stands last.
    pub(crate) fn figure(&self, name: &str) -> Option<&Figure> {
        self.figures.figures.iter().rfind(|figure| figure.name == name)
    }

    /// The names of the lots pitched, each once, in order.
    pub(crate) fn yeasts(&self) -> Vec<&str> {
        let mut out: Vec<&str> = Vec::new();
        for pitch in &self.batch.pitches {
            if !out.contains(&&*pitch.name) {
                out.push(&pitch.name);
            }
        }
        out
    }

    /// How many findings of a level it has.
    pub(crate) fn count(&self, level: Level) -> usize {
        self.findings.iter().filter(|finding| finding.level == level).count()
    }
}

/// Findings by rule and time.
#[derive(Default)]
pub(crate) struct Months {
    /// `2026-03`, or `2026` where the season is long; none left out between the first and the last.
    pub columns: Vec<String>,
    /// Each rule with its findings in each column, and those without a date.
    pub rows: Vec<(&'static str, Vec<usize>, usize)>,
}

/// More months than this are shown by the year.
const MOST_MONTHS: usize = 24;

/// A workspace's lots over time, which the glance borrows.
pub(crate) fn courses(parts: &[Part<'_>]) -> Vec<Course> {
    parts.iter().map(|part| part.checked.season.course(part.on)).collect()
}

impl<'a> Glance<'a> {
    pub(crate) fn of(part: &Part<'a>, course: &'a Course) -> Self {
        let season = part.checked.season;
        let files: BTreeSet<FileId> = part.checked.asked.iter().copied().collect();
        let asks = |place: Place| files.contains(&place.file);
        let all = &part.checked.report.findings;
        let owners = Owners::of(season);
        let mut by_lot: BTreeMap<LotId, Vec<&Finding>> = BTreeMap::new();
        for finding in all {
            if let Some(lot) = owners.of_finding(season, finding) {
                by_lot.entry(lot).or_default().push(finding);
            }
        }
        let findings: Vec<&Finding> = all.iter().filter(|finding| counts(finding)).collect();
        let brews = season.batches.iter().filter(|batch| batch.kind == LotKind::Brew && asks(batch.place));
        let mut figures: BTreeMap<usize, LotFigures> = BTreeMap::new();
        for (index, lot) in season.figures(&[]).into_iter().enumerate() {
            figures.insert(index, lot);
        }
        let mut brews: Vec<Brew<'a>> = brews
            .filter_map(|batch| {
                let own = by_lot.get(&batch.lot).map_or(&[][..], Vec::as_slice);
                Some(Brew {
                    batch,
                    figures: figures.remove(&(batch.lot.0 as usize))?,
                    findings: own.iter().copied().filter(|finding| counts(finding)).collect(),
                    cautions: own.iter().copied().filter(|finding| finding.rule == CAUTION).collect(),
                    taste: season.taste(batch.lot),
                    pitched: batch.pitched_at(),
                })
            })
            .collect();
        // As the season went; what was never pitched comes last.
        brews.sort_by_key(|brew| (brew.pitched.is_none(), brew.pitched, brew.batch.lot));
        let asked = |lot: LotId| season.lot(lot).is_some_and(|lot| asks(lot.place));
        let mut stocks: Vec<&StockCourse> = course.stocks.iter().filter(|stock| asked(stock.lot)).collect();
        stocks.sort_by_key(|stock| (stock.stretches.iter().flatten().map(|(at, _)| *at).next(), stock.lot));
        let bank = season.bank(part.on, None).map(|mut bank| {
            bank.lots.retain(|lot| asks(lot.place));
            bank
        });
        Self {
            season,
            files: Files::new(&season.sources, part.checked.base),
            stocks,
            family: family::members(season, course, &by_lot, asked),
            months: months(season, &owners, &findings),
            brews,
            findings,
            bank,
            course,
        }
    }

    /// First and last pitch.
    pub(crate) fn span(&self) -> Option<(Date, Date)> {
        let pitched = || self.brews.iter().filter_map(|brew| brew.pitched);
        Some((pitched().min()?.date(), pitched().max()?.date()))
    }

    pub(crate) fn name(&self, lot: LotId) -> &'a str {
        self.season.lot(lot).map_or("", |lot| &lot.name)
    }
}

/// Whether a finding is one that `check` counts.
fn counts(finding: &Finding) -> bool {
    finding.rule != CAUTION && finding.level >= Level::Note
}

/// Which lot a place belongs to.
struct Owners(BTreeMap<(u32, u32), (u32, LotId)>);

impl Owners {
    fn of(season: &Season) -> Self {
        let mut out = BTreeMap::new();
        for (id, lot) in (0..).map(LotId).zip(&season.names.lots) {
            for block in &lot.blocks {
                if let Some((found, start)) = season.block(*block) {
                    out.insert((block.file.0, start), (start.saturating_add(found.len), id));
                }
            }
        }
        Self(out)
    }

    fn at(&self, place: Place) -> Option<LotId> {
        let upto = (place.file.0, place.span.start);
        let (&(file, _), &(end, lot)) = self.0.range(..=upto).next_back()?;
        (file == place.file.0 && place.span.start < end).then_some(lot)
    }

    /// The lot that a finding is about, else that whose lines it stands in.
    fn of_finding(&self, season: &Season, finding: &Finding) -> Option<LotId> {
        let named = finding.lot.as_ref().and_then(|name| season.names.lot(name));
        named.or_else(|| self.at(finding.place))
    }
}

/// The day that a finding's line belongs to; of a fact, when its brew was pitched.
fn day_of(season: &Season, owners: &Owners, place: Place) -> Option<Date> {
    let lot = owners.at(place)?;
    let block = season.lot(lot)?.blocks.iter().find_map(|id| {
        let (block, start) = season.block(*id)?;
        let inside = start <= place.span.start && place.span.start < start.saturating_add(block.len);
        (inside && id.file == place.file).then_some((block, start))
    });
    let (block, start) = block?;
    let at = place.span.start.saturating_sub(start);
    let day = block.days.iter().rev().find(|day| day.span.start <= at).and_then(|day| day.date);
    day.or_else(|| Some(season.batch(lot)?.pitched_at()?.date()))
}

fn months(season: &Season, owners: &Owners, findings: &[&Finding]) -> Months {
    let dated: Vec<(&'static str, Option<Date>)> =
        findings.iter().map(|finding| (finding.rule, day_of(season, owners, finding.place))).collect();
    let days = || dated.iter().filter_map(|(_, day)| *day);
    // Counted through, so that a month without findings is seen too.
    let number = |day: Date| 12 * i32::from(day.year()) + i32::from(day.month()) - 1;
    let months = days().map(number).min().zip(days().map(number).max());
    let months: Vec<i32> = months.map_or_else(Vec::new, |(first, last)| (first..=last).collect());
    let by_year = months.len() > MOST_MONTHS;
    let name = |month: i32| {
        let year = month.div_euclid(12);
        if by_year { format!("{year:04}") } else { format!("{year:04}-{:02}", month.rem_euclid(12) + 1) }
    };
    let mut columns: Vec<String> = months.into_iter().map(name).collect();
    columns.dedup();
    let mut rows: BTreeMap<&'static str, (Vec<usize>, usize)> = BTreeMap::new();
    for (rule, day) in dated {
        let (counts, undated) = rows.entry(rule).or_insert_with(|| (vec![0; columns.len()], 0));
        let column = day.and_then(|day| columns.binary_search(&name(number(day))).ok());
        match column.and_then(|column| counts.get_mut(column)) {
            Some(count) => *count += 1,
            None => *undated += 1,
        }
    }
    let rows = rows.into_iter().map(|(rule, (counts, undated))| (rule, counts, undated)).collect();
    Months { columns, rows }
}
