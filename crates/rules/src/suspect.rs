use barm_reckoning::{Fault, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "suspect";

rule! {
    /// Yeast or beer that descends from, or shared a vessel with, what was infected.
    Suspect, "suspect", Warning, "suspect.md", check,
    Anything "it neither descends from what was infected nor shared a vessel with it"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        let Fault::Suspect { lot, place, infected, source, vessel } = fault else { continue };
        let (Some(lot), Some(source)) = (season.lot(*lot), season.lot(*source)) else { continue };
        let message = match vessel {
            Some(vessel) => format!("`{}` went into {vessel} after `{}`, which was infected", lot.name, source.name),
            None => format!("`{}` descends from `{}`, which was infected", lot.name, source.name),
        };
        let finding = Finding::new(NAME, Level::Warning, *place, message)
            .about(lot.name.to_string())
            .pointing(*infected, "infected")
            .noting("it may well be sound: taste it, and plate or look at it before its yeast is used again");
        report.found(match vessel {
            Some(vessel) => finding.noting(format!("a `clean {vessel}` between the two ends the suspicion")),
            None => finding,
        });
    }
}
