use barm_quantity::{PitchRate, Plato, Volume};
use barm_zymology::pitching;

use crate::check::{Check, Checks, ROUNDING};

pub(crate) fn checks() -> Vec<Check> {
    let stated = |rate, strength, litres| {
        let (rate, strength) = (PitchRate::millions(rate), Plato::degrees(strength));
        pitching::target_stated(rate, strength, Volume::litres(litres)).as_billions()
    };
    let ale = |strength, litres| {
        pitching::target(pitching::ALE, Plato::degrees(strength), Volume::litres(litres)).as_billions()
    };
    let cells = Checks::of("cells wanted", "B")
        .from("a home brewing magazine: 6 M/mL in 5 US gallons")
        .check("6 M/mL in 18.927 L", 113.5, stated(0.5, 12.0, 18.927), 0.12)
        .from("an amateur yeast blog: 1 M/mL/°P")
        .check("12.4 °P, 20 L", 248.0, stated(1.0, 12.4, 20.0), ROUNDING)
        .from("a brewers' guild: 12.5 M/mL at 12.5 °P")
        .check("a litre", 12.5, stated(1.0, 12.5, 1.0), ROUNDING)
        .from("derived: rate × strength factor × °P × mL")
        .check("ale, 12 °P, 20 L", 180.0, ale(12.0, 20.0), ROUNDING)
        .check("ale, 18 °P, 20 L", 305.1, ale(18.0, 20.0), 0.1);
    let factor = |p| pitching::strength_factor(Plato::degrees(p));
    let strong = Checks::of("strength factor", "")
        .from(
            "Suihko, Vilpola & Linko 1993, J. Inst. Brew. 99: 2.9 over 2.3 M/mL/°P above 20 and below 16 °P",
        )
        .check("20 °P", 2.9 / 2.3, factor(20.0), 0.002)
        .check("16 °P", 1.0, factor(16.0), ROUNDING)
        .from("derived: the ramp between")
        .check("18 °P", 1.13, factor(18.0), ROUNDING)
        .check("22 °P", 1.26, factor(22.0), ROUNDING);
    [cells.done(), strong.done()].concat()
}
