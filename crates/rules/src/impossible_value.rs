use barm_reckoning::{Fault, Season};
use barm_syntax::ProblemKind;

use crate::registry::rule;
use crate::{Finding, Fix, Level, Report, reading};

const NAME: &str = "impossible-value";

rule! {
    /// A value that nobody can have measured, or that cannot be of this brew.
    ImpossibleValue, "impossible-value", Error, "impossible_value.md", check,
    Anything "no value in its lines is one that nobody can have measured, or that cannot be of this lot"
}

fn check(season: &Season, report: &mut Report) {
    reading::tell(NAME, Level::Error, ProblemKind::ImpossibleValue, season, report);
    for fault in &season.faults {
        match fault {
            Fault::Impossible { place, why } => {
                report.found(Finding::new(NAME, Level::Error, *place, why.clone()));
            }
            Fault::UnlikelyUnit { place, written, likely, why, impossible: true } => {
                let message = format!("{written} cannot be: {why}");
                let fix = Fix::replacing(*place, likely.to_string());
                report.found(Finding::new(NAME, Level::Error, *place, message).mending(fix));
            }
            _ => {}
        }
    }
}
