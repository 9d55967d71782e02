use barm_reckoning::{Fault, Moment, Place, Season, advice};
use barm_syntax::ast::PackageKind;
use barm_syntax::{Edit, Span};

use crate::registry::rule;
use crate::{Finding, Fix, Level, Report};

const NAME: &str = "time-runs-back";
/// An hour before the one and after the other is taken for a night that went past midnight.
const MORNING: u16 = 6 * 60;
const EVENING: u16 = 18 * 60;
/// So far apart it is the year that is mistyped, d.
const NEARLY_A_YEAR: f64 = 300.0;

rule! {
    /// A day or time that lies before the one above it.
    TimeRunsBack, "time-runs-back", Note, "time_runs_back.md", check,
    Anything "its days and times follow one another"
}

fn check(season: &Season, report: &mut Report) {
    let mut before_yeast = None;
    for fault in &season.faults {
        let Fault::TimeRunsBack { place, at, above, above_at } = fault else { continue };
        let days = at.date() != above_at.date();
        let message = if days {
            format!("{} stands below {}", at.date(), above_at.date())
        } else {
            format!("{} stands below {}", clock(*at), clock(*above_at))
        };
        let finding = Finding::new(NAME, Level::Note, *place, message).pointing(*above, "the later one");
        let is_far = above_at.hours_since(*at) >= NEARLY_A_YEAR * 24.0;
        let finding = match next_year(season, *place, *at).filter(|_| is_far) {
            Some(fix) => finding.mending(fix),
            None => finding,
        };
        let early = before_yeast.get_or_insert_with(|| before_its_yeast(season));
        if let Some(early) = Early::on(early, *place, *at).filter(|_| days) {
            report.found(early.told(finding));
            continue;
        }
        if is_far {
            report.found(finding.noting("is the year mistyped? what is reckoned from it is wrong until it is mended"));
            continue;
        }
        let past_midnight = !days && is_past_midnight(above_at.minutes(), at.minutes());
        report.found(if past_midnight {
            let next = at.plus_hours(24.0).date();
            let finding = finding.noting(format!("after midnight it is the next day: `on {next}`"));
            match new_day(season, *place, &format!("on {next} ")) {
                Some(fix) => finding.mending(fix),
                None => finding,
            }
        } else {
            finding.noting("nothing is lost: events are reckoned in order of time, wherever they stand")
        });
    }
}

/// Whether minutes of a day that stand below others are probably those of the next day.
#[must_use]
pub const fn is_past_midnight(above: u16, minutes: u16) -> bool {
    minutes < MORNING && above >= EVENING
}

/// What was packaged or harvested out of a brew on a day before its yeast.
struct Early {
    place: Place,
    at: Moment,
    /// "bottled", "harvested".
    done: &'static str,
    pitched: (Moment, Place),
}

/// All of it, in order of place.
fn before_its_yeast(season: &Season) -> Vec<Early> {
    let mut out = Vec::new();
    for batch in &season.batches {
        let Some(pitched) = batch.pitches.first().map(|pitch| (pitch.at, pitch.place)) else { continue };
        let packaged = batch.packages.iter().map(|package| {
            let done = match package.kind {
                PackageKind::Bottle => "bottled",
                PackageKind::Keg => "kegged",
                PackageKind::Cask => "filled into casks",
            };
            (package.place, package.at, done)
        });
        let harvested = batch.harvests.iter().map(|harvest| (harvest.place, harvest.at, "harvested"));
        let early = packaged.chain(harvested).filter(|(_, at, _)| at.date() < pitched.0.date());
        out.extend(early.map(|(place, at, done)| Early { place, at, done, pitched }));
    }
    out.sort_by_key(|early| early.place);
    out
}

impl Early {
    /// The first of a day that is opened at a place.
    fn on(all: &[Self], day: Place, at: Moment) -> Option<&Self> {
        let next = all.get(all.partition_point(|early| early.place < day))?;
        (next.place.file == day.file && next.at.date() == at.date()).then_some(next)
    }

    fn told(&self, finding: Finding) -> Finding {
        let (at, place) = self.pitched;
        let days = (at.hours_since(self.at) / 24.0).round();
        let wrong = if days >= NEARLY_A_YEAR { "a year" } else { "a date" };
        let message = format!("{}: {} {} before its yeast was pitched", finding.message, self.done, advice::days(days));
        let finding = Finding { message, ..finding };
        finding.pointing(place, "pitched here").noting(format!(
            "is {wrong} mistyped? what is reckoned from it is wrong until it is mended"
        ))
    }
}

fn clock(at: Moment) -> String {
    format!("{:02}:{:02}", at.minutes() / 60, at.minutes() % 60)
}

/// Writes the year after.
fn next_year(season: &Season, place: Place, at: Moment) -> Option<Fix> {
    let (year, rest) = at.date().to_string().split_once('-').map(|(year, rest)| (year.to_owned(), rest.to_owned()))?;
    let written = season.text(place).find(&format!("{year}-{rest}"))?;
    let begin = place.span.start as usize + written;
    let next = format!("{:04}", year.parse::<u32>().ok()? + 1);
    let title = format!("write `{next}-{rest}`");
    let edit = Edit { span: Span::of(begin..begin + year.len()), text: next };
    Some(Fix { title, file: place.file, edits: vec![edit], safe: false })
}

/// Opens another day at the beginning of a line that begins with its time.
fn new_day(season: &Season, place: Place, day: &str) -> Option<Fix> {
    let before = season.source(place.file)?.text.get(..place.span.start as usize)?;
    let line = before.rsplit('\n').next()?;
    let begins = line.trim_start();
    if !begins.starts_with(|c: char| c.is_ascii_digit() || c == '~') {
        return None;
    }
    let at = Span::of(before.len() - begins.len()..before.len() - begins.len());
    let edit = Edit { span: at, text: day.to_owned() };
    Some(Fix { title: format!("write `{}`", day.trim_end()), file: place.file, edits: vec![edit], safe: false })
}
