use barm_reckoning::{Fault, Season};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "used-before-made";

rule! {
    /// A lot used on a day before it was there.
    UsedBeforeMade, "used-before-made", Error, "used_before_made.md", check,
    Anything "it was there whenever it was used, and so was whatever its lines use"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        let Fault::NotYetThere { lot, place, used, made, made_at } = fault else { continue };
        let Some(lot) = season.lot(*lot) else { continue };
        let message =
            format!("`{}` is used on {} and comes to be on {}", lot.name, used.date(), made_at.date());
        report.found(
            Finding::new(NAME, Level::Error, *place, message)
                .about(lot.name.to_string())
                .labelled("used here")
                .pointing(*made, "comes to be here")
                .noting("one of the two dates is wrong, or another lot is meant; until then it is not reckoned"),
        );
    }
}
