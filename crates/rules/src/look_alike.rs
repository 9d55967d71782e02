use barm_reckoning::{Fault, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "look-alike";

rule! {
    /// Two names that look the same and are not.
    LookAlike, "look-alike", Note, "look_alike.md", check,
    Anything "no other name looks like its own"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        if let Fault::LookAlike { name, other, place, first } = fault {
            let mut finding =
                Finding::new(NAME, Level::Note, *place, format!("`{name}` looks like another name and is a different one"))
                    .pointing(*first, "the other one");
            if let Some((here, there)) = name.chars().zip(other.chars()).find(|(here, there)| here != there) {
                finding = finding.noting(format!(
                    "its `{here}` is U+{:04X}, where the other has `{there}` (U+{:04X})",
                    u32::from(here),
                    u32::from(there)
                ));
            }
            report.found(finding);
        }
    }
}
