use barm_reckoning::{Fault, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "lineage-loop";

rule! {
    /// Lots that each descend from the other, or a lot pitched into itself.
    LineageLoop, "lineage-loop", Error, "lineage_loop.md", check,
    Anything "it does not descend from itself"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        let Fault::Loop { lots, places } = fault else { continue };
        let Some((first, others)) = places.split_first() else { continue };
        let names: Vec<String> =
            lots.iter().filter_map(|lot| season.lot(*lot)).map(|lot| format!("`{}`", lot.name)).collect();
        let message = if others.is_empty() {
            format!("{} is pitched into itself", names.join(", "))
        } else {
            format!("{} each need the other first", names.join(" and "))
        };
        let finding = Finding::new(NAME, Level::Error, *first, message)
            .noting("give one of the events another day or time, or another lot");
        report.found(others.iter().fold(finding, |finding, place| finding.pointing(*place, "needs the one above")));
    }
}
