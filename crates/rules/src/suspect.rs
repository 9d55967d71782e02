use barm_reckoning::{Fault, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "suspect";

rule! {
    /// Yeast or beer that descends from, or shared a vessel with, what was infected.
    Suspect, "suspect", Warning, "suspect.md", check,
    Anything "it neither descends from what was infected nor shared a vessel with it, or a clean plate or a boil ended that"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        let Fault::Suspect { lot, place, infected, root, vessel, before } = fault else { continue };
        let name = |lot| season.lot(lot).map_or("", |lot| &*lot.name);
        let (lot, root) = (name(*lot), name(*root));
        let tail = match before {
            None => ", which was infected".to_owned(),
            Some((before, source)) if before == source => format!(" after `{}`, which was infected", name(*before)),
            Some((before, source)) => {
                format!(" after `{}`, which descends from the infected `{}`", name(*before), name(*source))
            }
        };
        let message = match vessel {
            Some(vessel) if lot == root => format!("`{lot}` went into {vessel}{tail}"),
            Some(vessel) => format!("`{lot}` descends from `{root}`, which went into {vessel}{tail}"),
            None => format!("`{lot}` descends from `{root}`, which was infected"),
        };
        let how_likely = match vessel {
            Some(_) => "it may well be sound: taste it, and plate it before its yeast is used again",
            None => "it is hardly sound: throw such yeast away, or plate it before it is used",
        };
        let ends = "`test plate pass` in its own lines ends the suspicion";
        let finding = Finding::new(NAME, Level::Warning, *place, message)
            .about(lot.to_owned())
            .pointing(*infected, "infected")
            .noting(format!("{how_likely}; {ends}"));
        report.found(match vessel {
            Some(vessel) if lot == root => finding.noting(format!("a `clean {vessel}` between the two ends the suspicion")),
            _ => finding,
        });
    }
}
