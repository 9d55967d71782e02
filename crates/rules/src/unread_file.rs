use barm_reckoning::{Fault, Place, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "unread-file";

rule! {
    /// A file that could not be read. Of a log it is told where files are read, outside of this crate, which does no
    /// input.
    UnreadFile, "unread-file", Error, "unread_file.md", check
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        if let Fault::Unread { place, why } = fault {
            let finding = Finding::new(NAME, Level::Error, *place, format!("this file was not read: {why}"));
            report.found(finding.noting("the brew is reckoned without its readings"));
        }
    }
}

/// A log that was not read as it is, and why: said by whoever opens files.
#[must_use]
pub fn unread(place: Place, why: impl Into<String>) -> Finding {
    Finding::new(NAME, Level::Error, place, why)
        .noting("the other logs were read; what this one declares is missing to them")
}
