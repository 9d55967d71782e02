use barm_reckoning::{Fault, Season};

use crate::registry::rule;
use crate::{Finding, Fix, Level, Report};

const NAME: &str = "unlikely-unit";

rule! {
    /// An amount that reads, and is a thousand times what it can be; a temperature that makes sense in the other scale alone.
    UnlikelyUnit, "unlikely-unit", Warning, "unlikely_unit.md", check,
    Anything "no amount in its lines is a thousand times what it can be, and no temperature is of the other scale"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        if let Fault::UnlikelyUnit { place, written, likely, why, impossible: false } = fault {
            report.found(
                Finding::new(NAME, Level::Warning, *place, format!("{written}, where {why}: was {likely} meant?"))
                    .mending(Fix::replacing(*place, likely.to_string())),
            );
        }
    }
}
