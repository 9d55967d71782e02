use barm_quantity::{Concentration, Share};
use barm_zymology::blend;
use barm_zymology::flavour::Compound;

use crate::check::{Check, Checks, ROUNDING};

pub(crate) fn checks() -> Vec<Check> {
    let units =
        |compound: Compound, level| compound.units(Concentration::milligrams_per_litre(level)).median();
    let flavour = Checks::of("flavour units", "FU")
        .from("Kucharczyk, Zyla & Tuszynski 2020, Processes 8, 769: levels of the best liked lager")
        .check("isoamyl acetate 2.09 mg/L", 1.49, units(Compound::IsoamylAcetate, 2.09), 0.01)
        .check("ethyl acetate 22.0 mg/L", 0.73, units(Compound::EthylAcetate, 22.0), 0.01)
        .from("J. Food Quality 2018, 8780725, Table 4: 0.33 units of ethyl hexanoate at 0.23 mg/L")
        .check("ethyl hexanoate 0.076 mg/L", 0.33, units(Compound::EthylHexanoate, 0.076), 0.04)
        .from("BrewingScience 66, 85–92, 2013: liked wheat beers hold 5.5–6.0 mg/L isoamyl acetate, about 4 units")
        .check("isoamyl acetate 5.75 mg/L", 4.0, units(Compound::IsoamylAcetate, 5.75), 0.2);
    const FOOD_QUALITY: [(Compound, f64); 9] = [
        (Compound::IsoamylAcetate, 1.6),
        (Compound::EthylAcetate, 33.0),
        (Compound::EthylHexanoate, 0.23),
        (Compound::EthylOctanoate, 0.9),
        (Compound::EthylButanoate, 0.4),
        (Compound::IsoamylAlcohol, 70.0),
        (Compound::Phenylethanol, 125.0),
        (Compound::Diacetyl, 0.15),
        (Compound::Pentanedione, 0.9),
    ];
    let thresholds = Checks::of("flavour threshold over the table's", "×")
        .from("J. Food Quality 2018, 8780725, Table 4; tables agree within a factor of two")
        .rows(FOOD_QUALITY, |checks, (compound, threshold)| {
            checks.check(
                compound.name(),
                1.0,
                compound.threshold().as_milligrams_per_litre() / threshold,
                0.5,
            )
        });
    let parts = [(0.5, Share::percent(70.0)), (0.5, Share::percent(80.0))];
    let found = blend::attenuation(&parts);
    let best = found.map_or(f64::NAN, |band| band.best.as_percent());
    let minority = blend::attenuation(&[(0.95, Share::percent(70.0)), (0.05, Share::percent(80.0))]);
    let attenuation = Checks::of("attenuation of a blend", "%")
        .from("derived: 70 and 80 %, half and half")
        .check("best", 78.75, best, ROUNDING)
        .check("low", 75.0, found.map_or(f64::NAN, |band| band.low.as_percent()), ROUNDING)
        .from(
            "abstract on an ale strain with Torulaspora: a 5 % minority took the beer to its own attenuation",
        )
        .check("5 % of 80", 80.0, minority.map_or(f64::NAN, |band| band.best.as_percent()), 3.0);
    let share = |batches| blend::share_after(0.5, 1.05, 5.0_f64.log2(), batches);
    let drift = Checks::of("share of a strain after batches", "")
        .from("derived: odds × 1.05 at each of 2.32 doublings")
        .rows([(1, 0.528), (5, 0.638), (10, 0.756)], |checks, (batches, expected)| {
            checks.check(format!("{batches}"), expected, share(batches), 0.001)
        });
    [flavour.done(), thresholds.done(), attenuation.done(), drift.done()].concat()
}
