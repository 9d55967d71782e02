use barm_reckoning::{Fault, Moment, Place, Season};
use barm_syntax::{Edit, Span};

use crate::registry::rule;
use crate::{Finding, Fix, Level, Report};

const NAME: &str = "time-runs-back";
/// An hour before the one and after the other is taken for a night that went past midnight.
const MORNING: u16 = 6 * 60;
const EVENING: u16 = 18 * 60;

rule! {
    /// A day or time that lies before the one above it.
    TimeRunsBack, "time-runs-back", Note, "time_runs_back.md", check,
    Anything "its days and times follow one another"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        let Fault::TimeRunsBack { place, at, above, above_at } = fault else { continue };
        let days = at.date() != above_at.date();
        let message = if days {
            format!("{} stands below {}", at.date(), above_at.date())
        } else {
            format!("{} stands below {}", clock(*at), clock(*above_at))
        };
        let finding = Finding::new(NAME, Level::Note, *place, message).pointing(*above, "the later one");
        let past_midnight = !days && at.minutes() < MORNING && above_at.minutes() >= EVENING;
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

fn clock(at: Moment) -> String {
    format!("{:02}:{:02}", at.minutes() / 60, at.minutes() % 60)
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
