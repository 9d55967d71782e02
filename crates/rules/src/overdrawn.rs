use barm_quantity::{Mass, Volume, plain};
use barm_reckoning::{Fault, Figure, LotId, Place, Scale, Season, with_unit};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "overdrawn";

/// So many of the brews that something went into are shown.
const MOST_PARTS: usize = 3;

rule! {
    /// More taken from a lot than was left of it.
    Overdrawn, "overdrawn", Error, "overdrawn.md", check,
    Anything "no more was taken from it than it held, nor in its lines from another"
}

fn check(season: &Season, report: &mut Report) {
    for fault in &season.faults {
        if let Fault::TooMuchBeer { lot, place, taken, left, wort } = fault {
            report.found(of_beer(season, *lot, *place, (*taken, *left), *wort));
        }
        let Fault::Overdrawn { lot, place, taken, left, unit, last_draw } = fault else { continue };
        let Some(lot) = season.lot(*lot) else { continue };
        let scale = Scale::of(season, Some(*place));
        let other = |value: f64| with_unit(&plain(value, if value < 10.0 { 2 } else { 0 }), unit);
        let [out, rest] = match *unit {
            "mL" => scale.volumes([*taken, *left].map(Volume::millilitres)),
            "L" => scale.volumes([*taken, *left].map(Volume::litres)),
            "g" => [*taken, *left].map(|grams| scale.yeast(Mass::grams(grams))),
            _ => [other(*taken), other(*left)],
        };
        let there = if *left > 0.0 { format!("{rest} left") } else { "nothing left".to_owned() };
        let message = format!("{out} taken from `{}` with {there}", lot.name);
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

/// No yeast is reckoned from how much beer there is: a warning.
fn of_beer(season: &Season, lot: LotId, place: Place, (taken, left): (f64, f64), wort: Place) -> Finding {
    let [out, rest] = Scale::of(season, Some(place)).volumes([taken, left].map(Volume::litres));
    let name = season.lot(lot).map_or("", |lot| &*lot.name);
    let there = if left > 0.0 { format!("{rest} left") } else { "nothing left".to_owned() };
    let finding = Finding::new(NAME, Level::Warning, place, format!("{out} of `{name}` with {there}"))
        .about(name)
        .pointing(wort, "so much wort");
    let parts = season.batch(lot).map_or(&[][..], |batch| &batch.taken_out);
    let parts = parts.iter().filter(|part| part.place != place).take(MOST_PARTS);
    parts
        .fold(finding, |finding, part| finding.pointing(part.place, "taken out of it here"))
        .noting(
            "write what else went in (`add 3 L water`) or what was measured (`volume 23 L`), else mend the amount: sugar for a \
             carbonation is reckoned for as much beer as is written",
        )
        .showing(Figure::plain("taken", taken, 0.0, "L", format!("what is taken out of {name}")))
        .showing(Figure::plain("left", left, 0.0, "L", format!("what was left of {name}")))
}
