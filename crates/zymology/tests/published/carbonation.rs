use barm_quantity::{Bitterness, CarbonDioxide, Gravity, Mass, Pressure, Share, Span, Temperature, Volume};
use barm_zymology::bitterness;
use barm_zymology::carbonation::{self, Sugar};

use crate::check::{Check, Checks, ROUNDING};
use crate::reference;

pub(crate) fn checks() -> Vec<Check> {
    // °F, volumes, psi.
    const FORCED: [(f64, f64, f64); 5] =
        [(32.0, 2.0, 3.5), (32.0, 2.5, 8.2), (38.0, 2.5, 11.2), (40.0, 3.0, 17.7), (50.0, 2.5, 17.6)];
    let at_pressure = Checks::of("carbon dioxide under pressure", "vol")
        .from("a force-carbonation table of the trade")
        .rows(FORCED, |checks, (f, volumes, psi)| {
            let found = carbonation::at_pressure(Pressure::psi(psi), Temperature::fahrenheit(f));
            checks.check(format!("{psi} psi at {f} °F"), volumes, found.as_volumes(), 0.06)
        });
    // 1000 × mole fraction in water under 100 kPa.
    const CRC: [(f64, f64); 4] = [(0.0, 1.337), (10.0, 0.950), (20.0, 0.704), (30.0, 0.541)];
    let in_water = Checks::of("carbon dioxide at one atmosphere", "g/L")
        .from("CRC Handbook, solubility in water, × 0.952 for beer")
        .rows(CRC, |checks, (t, thousandths)| {
            let mole_fraction = 1e-3 * thousandths * 1.013_25;
            let expected = 0.952 * mole_fraction / (1.0 - mole_fraction) * 44.01 * 997.0 / 18.015;
            let found = carbonation::at_pressure(Pressure::default(), Temperature::celsius(t));
            checks.check(format!("{t} °C"), expected, found.as_grams_per_litre(), 0.04)
        });
    let residual = |t: f64| carbonation::residual(Temperature::celsius(t)).as_volumes();
    let left = Checks::of("carbon dioxide left after fermentation", "vol")
        .from("Draper's priming page, a guide's list")
        .rows([(0.0, 1.7), (10.0, 1.2), (20.0, 0.88)], |checks, (t, expected)| {
            checks.check(format!("{t} °C"), expected, residual(t), 0.12)
        })
        .from("common quadratic in °F: 3.0378 − 0.050062·F + 0.00026555·F² (common practice)")
        .rows([4.0, 10.0, 16.0, 20.0, 25.0], |checks, t| {
            let f = 1.8 * t + 32.0;
            let expected = 3.0378 - 0.050_062 * f + 0.000_265_55 * f * f;
            checks.check(format!("{t} °C"), expected, residual(t), 0.1)
        });
    // Volumes at 5, 20, 30, 40 °C.
    const BOTTLES: [(f64, [f64; 4]); 5] = [
        (2.5, [0.9, 2.0, 2.9, 3.9]),
        (3.0, [1.3, 2.6, 3.7, 4.9]),
        (3.5, [1.6, 3.2, 4.5, 5.9]),
        (4.0, [2.0, 3.8, 5.3, 6.8]),
        (5.0, [2.8, 5.0, 6.8, 8.8]),
    ];
    let cells = BOTTLES.into_iter().flat_map(|(volumes, row)| {
        [5.0, 20.0, 30.0, 40.0].into_iter().zip(row).map(move |(t, bar)| (volumes, t, bar))
    });
    let bottle = Checks::of("pressure in a bottle", "bar")
        .from("derived: the fit solved apart in Python, one decimal")
        .rows(cells, |checks, (volumes, t, bar)| {
            let found = carbonation::pressure_at(CarbonDioxide::volumes(volumes), Temperature::celsius(t));
            checks.check(format!("{volumes} vol at {t} °C"), bar, found.as_bar(), 0.06)
        })
        .from("root-finding, reference library scipy 1.17.1 (brentq)")
        .rows(reference::rows("carbonation pressure"), |checks, ([volumes, t, _], psi)| {
            let found = carbonation::pressure_at(CarbonDioxide::volumes(volumes), Temperature::celsius(t));
            checks.check(
                format!("{volumes} vol at {t} °C"),
                Pressure::psi(psi).as_bar(),
                found.as_bar(),
                ROUNDING,
            )
        });
    [at_pressure.done(), in_water.done(), left.done(), bottle.done(), priming(), bitter()].concat()
}

fn priming() -> Vec<Check> {
    const EXAMPLE: [(&str, Sugar, f64); 3] = [
        ("sucrose", Sugar::Sucrose, 77.8),
        ("glucose", Sugar::Glucose, 81.9),
        ("glucose monohydrate", Sugar::GlucoseMonohydrate, 90.1),
    ];
    // g/mol: sugar, and molecules of carbon dioxide (44.0095) that it gives.
    const MOLAR: [(&str, Sugar, f64, f64); 3] = [
        ("sucrose", Sugar::Sucrose, 342.297, 4.0),
        ("glucose", Sugar::Glucose, 180.156, 2.0),
        ("glucose monohydrate", Sugar::GlucoseMonohydrate, 198.171, 2.0),
    ];
    let example = Checks::of("priming sugar", "g")
        .from("a magazine's example: 20 L from 3.2 to 5.2 g/L, by stoichiometry")
        .rows(EXAMPLE, |checks, (name, sugar, grams)| {
            let (from, to) = (CarbonDioxide::grams_per_litre(3.2), CarbonDioxide::grams_per_litre(5.2));
            let found = carbonation::sugar_for(from, to, Volume::litres(20.0), sugar);
            checks.check(name, grams, found.map_or(f64::NAN, Mass::as_grams), 0.1)
        });
    let yields = Checks::of("carbon dioxide from sugar", "g/g").from("molar masses, IUPAC 2013").rows(
        MOLAR,
        |checks, (name, sugar, molar, molecules)| {
            checks.check(name, molecules * 44.0095 / molar, sugar.carbon_dioxide_share(), 0.0001)
        },
    );
    [example.done(), yields.done()].concat()
}

fn bitter() -> Vec<Check> {
    let part = |sg: f64, minutes: f64| bitterness::utilisation(Gravity::specific(sg), Span::minutes(minutes));
    let utilisation = Checks::of("hop utilisation", "")
        .from("Tinseth 1997, table as quoted by Palmer")
        .rows(
            [(1.050, 30.0, 0.177), (1.060, 30.0, 0.162), (1.080, 60.0, 0.176)],
            |checks, (sg, min, expected)| {
                checks.check(format!("{sg:.3}, {min} min"), expected, part(sg, min), 0.0006)
            },
        )
        .from("derived: the formula worked apart in Python")
        .rows(
            [
                (1.030, 60.0, 0.276),
                (1.040, 15.0, 0.125),
                (1.040, 60.0, 0.252),
                (1.050, 60.0, 0.231),
                (1.036, 10.0, 0.095),
            ],
            |checks, (sg, min, expected)| {
                checks.check(format!("{sg:.3}, {min} min"), expected, part(sg, min), 0.0006)
            },
        );
    let hops = bitterness::hops_for(
        Bitterness::ibu(10.0),
        Share::percent(5.0),
        Volume::litres(2.0),
        Gravity::specific(1.037),
        Span::minutes(10.0),
    );
    let needed = Checks::of("hops for a starter", "g")
        .from("derived: the formula worked apart in Python")
        .check("10 IBU in 2 L", 4.26, hops.map_or(f64::NAN, Mass::as_grams), 0.01);
    [utilisation.done(), needed.done()].concat()
}
