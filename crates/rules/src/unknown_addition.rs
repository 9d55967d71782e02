use barm_reckoning::{Fault, Season};

use crate::registry::rule;
use crate::{Finding, Fix, Level, Report};

const NAME: &str = "unknown-addition";

rule! {
    /// An addition that is nearly a known sugar, and so is counted as none.
    UnknownAddition, "unknown-addition", Warning, "unknown_addition.md", check,
    Anything "nothing added in its lines is nearly the name of a sugar"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        if let Fault::UnknownAddition { what, place, nearest } = fault {
            let message = format!("`{what}` is counted as no sugar; did you mean `{nearest}`?");
            report.found(
                Finding::new(NAME, Level::Warning, *place, message).mending(Fix::replacing(*place, *nearest)),
            );
        }
    }
}
