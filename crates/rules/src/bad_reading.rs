use barm_reckoning::{BadRows, Fault, RowFault, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "bad-reading";

rule! {
    /// Rows of a logger's file that were left out.
    BadReading, "bad-reading", Warning, "bad_reading.md", check,
    Anything "no logger's file that it names has rows that cannot be read"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        if let Fault::NoBeer { place, file, at, written, likely, why } = fault {
            let (message, done) = match likely {
                Some(likely) => (
                    format!("the temperatures of {file} are of no beer in {}", written.unit.symbol()),
                    format!("{written}, where {why}, at {at}: taken for {likely}; mend the column's unit"),
                ),
                None => (
                    format!("temperatures of {file} are of no beer that works"),
                    format!("{written}, where {why}, at {at}; such are left out, the rest is reckoned"),
                ),
            };
            report.found(Finding::new(NAME, Level::Warning, *place, message).noting(done));
        }
        let Fault::BadRows { place, file, rows } = fault else { continue };
        if rows.what == RowFault::Nothing {
            report.found(Finding::new(NAME, Level::Note, *place, format!("{file} {}", said(rows))));
            continue;
        }
        let gap = rows.what == RowFault::Gap;
        let level = if gap { Level::Note } else { Level::Warning };
        let mut finding = Finding::new(NAME, level, *place, format!("{} of {file} {}", counted(rows), said(rows)));
        let first = if rows.count > 1 { "the first of them, line" } else { "line" };
        finding = finding.noting(format!("{first} {} of {file}: `{}`", rows.line, rows.text));
        if rows.what == RowFault::TooWide {
            finding = finding.noting(
                "a decimal comma wants `;` or a tab between the columns; a column that nobody needs is a `-` in `columns`",
            );
        }
        report.found(finding.noting(if gap {
            "nothing is assumed of the time between"
        } else {
            "what is wrong in a row is left out; the rest is reckoned"
        }));
    }
}

/// `1 row`, `12 rows`
fn counted(rows: &BadRows) -> String {
    format!("{} row{}", rows.count, if rows.count == 1 { "" } else { "s" })
}

fn said(rows: &BadRows) -> &'static str {
    let one = rows.count == 1;
    match rows.what {
        RowFault::TooLong if one => "is longer than 64 KiB",
        RowFault::TooLong => "are longer than 64 KiB",
        RowFault::TooShort if one => "has fewer columns than it should",
        RowFault::TooShort => "have fewer columns than they should",
        RowFault::TooWide if one => "has more columns than it should",
        RowFault::TooWide => "have more columns than they should",
        RowFault::Time if one => "has a time that cannot be read; it is written `2026-09-12 14:05`",
        RowFault::Time => "have a time that cannot be read; it is written `2026-09-12 14:05`",
        RowFault::Repeated if one => "repeats the time of the row before",
        RowFault::Repeated => "repeat the time of the row before",
        RowFault::RunsBack if one => "lies before the row before it",
        RowFault::RunsBack => "lie before the row before them",
        RowFault::NotANumber if one => "has a value that is no number",
        RowFault::NotANumber => "have a value that is no number",
        RowFault::Impossible if one => "has a value that nobody could have measured",
        RowFault::Impossible => "have a value that nobody could have measured",
        RowFault::Gap if one => "comes more than a day after the row before",
        RowFault::Gap => "come more than a day after the row before",
        RowFault::Nothing => "holds no readings",
    }
}
