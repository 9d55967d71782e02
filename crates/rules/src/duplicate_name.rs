use barm_reckoning::{Fault, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "duplicate-name";

rule! {
    /// A name that was given before.
    DuplicateName, "duplicate-name", Error, "duplicate_name.md", check,
    Anything "no name in its lines is declared twice"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        if let Fault::DuplicateName { name, place, first, strains } = fault {
            let finding =
                Finding::new(NAME, Level::Error, *place, format!("`{name}` is a name already: the first one holds"))
                    .pointing(*first, "named here first")
                    .noting("what stands here is not reckoned until it has a name of its own");
            report.found(if *strains {
                finding.noting(format!("of which strain a culture is stands behind its name: `culture tide-a of {name}`"))
            } else {
                finding
            });
        }
    }
}
