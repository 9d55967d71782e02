use barm_quantity::plain;
use barm_reckoning::{Fault, Figure, Season, with_unit};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "overdrawn";

rule! {
    /// More taken from a lot than was left of it.
    Overdrawn, "overdrawn", Error, "overdrawn.md", check,
    Anything "no more was taken from it than it held, nor in its lines from another"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        let Fault::Overdrawn { lot, place, taken, left, unit, last_draw } = fault else { continue };
        let Some(lot) = season.lot(*lot) else { continue };
        let amount = |value: f64| {
            let number = plain(value, if value < 10.0 { 2 } else { 0 });
            with_unit(&number, unit)
        };
        let there = if *left > 0.0 { format!("{} left", amount(*left)) } else { "nothing left".to_owned() };
        let message = format!("{} taken from `{}` with {there}", amount(*taken), lot.name);
        let mut finding = Finding::new(NAME, Level::Error, *place, message)
            .about(lot.name.to_string())
            .pointing(lot.place, "declared here");
        if let Some(draw) = last_draw.filter(|draw| draw != place) {
            finding = finding.pointing(draw, "taken from before");
        }
        let from = |what: &str| format!("{what} of {}", lot.name);
        report.found(
            finding
                .noting("the cells are reckoned as if it had been there; mend the amount here, above, or where it is declared")
                .showing(Figure::plain("taken", *taken, 0.0, unit, from("what is taken out")))
                .showing(Figure::plain("left", *left, 0.0, unit, from("what was left"))),
        );
    }
}
