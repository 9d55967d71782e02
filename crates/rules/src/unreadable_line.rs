use barm_reckoning::Season;
use barm_syntax::ProblemKind;

use crate::registry::rule;
use crate::{Level, Report, reading};

rule! {
    /// A line, or part of one, that no form fits.
    UnreadableLine, "unreadable-line", Error, "unreadable_line.md", |season: &Season, report: &mut Report| {
        reading::tell("unreadable-line", Level::Error, ProblemKind::UnreadableLine, season, report);
    }
}
