use barm_reckoning::{Fault, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "lineage-loop";
/// Of more lots in one loop the rest is only counted.
const MOST: usize = 6;

rule! {
    /// Lots that each descend from the other or are parts of each other, or a lot pitched into itself.
    LineageLoop, "lineage-loop", Error, "lineage_loop.md", check,
    Anything "it does not descend from itself"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        let Fault::Loop { lots, places, of_wort } = fault else { continue };
        let Some((first, others)) = places.split_first() else { continue };
        let mut names: Vec<String> =
            lots.iter().take(MOST).filter_map(|lot| season.lot(*lot)).map(|lot| format!("`{}`", lot.name)).collect();
        names.extend(lots.len().checked_sub(MOST).filter(|more| *more > 0).map(|more| format!("{more} more")));
        let message = match (of_wort, others.is_empty()) {
            (true, _) => format!("{} are parts of each other's wort", names.join(" and ")),
            (false, true) => format!("{} is pitched into itself", names.join(", ")),
            (false, false) => format!("{} each need the other first", names.join(" and ")),
        };
        let (label, note) = match of_wort {
            true => ("and this is a part too", "say of one of them what was brewed, as `wort 21 L at 1.048`, or name another brew"),
            false => ("needs the one above", "give one of the events another day or time, or another lot"),
        };
        let finding = Finding::new(NAME, Level::Error, *first, message).noting(note);
        report.found(others.iter().take(MOST).fold(finding, |finding, place| finding.pointing(*place, label)));
    }
}
