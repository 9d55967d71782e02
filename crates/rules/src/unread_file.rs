use barm_reckoning::{Fault, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "unread-file";

rule! {
    /// A file that could not be read.
    UnreadFile, "unread-file", Error, "unread_file.md", check,
    Anything "its file was read, and so was every logger's file that it names"
}

fn check(season: &Season, report: &mut Report) {
    for (place, why) in &season.unread {
        let finding = Finding::new(NAME, Level::Error, *place, why.clone());
        report.found(finding.noting("the other logs were read; what this one declares is missing to them"));
    }
    for fault in &season.faults {
        if let Fault::Unread { place, why } = fault {
            let finding = Finding::new(NAME, Level::Error, *place, format!("this file was not read: {why}"));
            report.found(finding.noting("the brew is reckoned without its readings"));
        }
    }
}
