use barm_quantity::{Density, Extract, Gravity, Mass, Plato, Temperature};
use barm_zymology::{OutOfRange, gravity};

use crate::check::{Check, Checks, ROUNDING};

/// °P, density at 20 °C over that of water at 4 °C, apparent gravity 20/20 °C in air.
const PLATO: [(f64, f64, f64); 14] = [
    (1.0, 1.002_120, 1.00390),
    (2.0, 1.006_015, 1.00780),
    (4.0, 1.013_881, 1.01569),
    (5.0, 1.017_854, 1.01968),
    (8.0, 1.029_942, 1.03180),
    (10.0, 1.038_143, 1.04003),
    (12.0, 1.046_462, 1.04837),
    (14.0, 1.054_900, 1.05683),
    (16.0, 1.063_460, 1.06542),
    (18.0, 1.072_147, 1.07413),
    (20.0, 1.080_959, 1.08297),
    (22.0, 1.089_900, 1.09194),
    (25.0, 1.103_557, 1.10564),
    (30.0, 1.126_984, 1.12913),
];

fn plato(sg: f64) -> f64 {
    gravity::plato(Gravity::specific(sg)).as_degrees()
}

/// A reading in °P of a hydrometer made for `own` °C, in a sample of `t` °C: what is to be added, in °P.
fn correction(reading: f64, t: f64, own: f64) -> Result<f64, OutOfRange> {
    let read = gravity::gravity(Plato::degrees(reading));
    let found = gravity::corrected(read, Temperature::celsius(t), Temperature::celsius(own))?;
    Ok(gravity::plato(found).as_degrees() - reading)
}

pub(crate) fn checks() -> Vec<Check> {
    let to_plato = Checks::of("gravity to °P", "°P")
        .from("NBS Circular C440, density of sucrose (from memory; agrees with Asadi 2007, Table A.1)")
        .rows(PLATO, |checks, (p, d, _)| {
            let density = Density::kilograms_per_cubic_metre(d * 999.972);
            let got = gravity::plato(gravity::from_density(density)).as_degrees();
            checks.check(format!("{p} °P"), p, got, 0.01)
        })
        .from("NBS Circular C440, weight of a US gallon in air, rounded to 0.001 lb")
        .rows([(1.0, 8.354), (2.0, 8.387), (4.0, 8.452), (5.0, 8.486)], |checks, (p, pounds)| {
            checks.check(format!("{pounds} lb"), p, plato(pounds / 8.322), 0.025)
        })
        .from("definition: water reads nothing")
        .check("1.000", 0.0, plato(1.0), ROUNDING)
        .from("derived: the two fits meet at 1.083")
        .check("step at 1.083", 0.0, plato(1.083 + 1e-9) - plato(1.083), 0.001);
    let to_gravity = Checks::of("°P to gravity", "SG")
        .from("NBS Circular C440, density of sucrose (from memory; agrees with Asadi 2007, Table A.1)")
        .rows(PLATO, |checks, (p, _, sg)| {
            checks.check(format!("{p} °P"), sg, gravity::gravity(Plato::degrees(p)).as_specific(), 0.000_03)
        })
        .from("USDA AMS Sucrose Conversion Table")
        .rows([(8.4, 1.03344), (8.8, 1.03508)], |checks, (p, sg)| {
            checks.check(format!("{p} °Bx"), sg, gravity::gravity(Plato::degrees(p)).as_specific(), 0.000_05)
        });
    let extract = Checks::of("extract in a litre", "g/L").from("NBS Circular C440, °P × density").rows(
        [(12.0, 125.6), (15.0, 158.9), (20.0, 216.2)],
        |checks, (p, expected)| {
            let got = gravity::extract(Plato::degrees(p)).as_grams_per_litre();
            checks.check(format!("{p} °P"), expected, got, 0.06)
        },
    );
    let strength = Checks::of("strength of extract in a litre", "°P")
        .from("NBS Circular C440, °P × density")
        .rows([(12.0, 125.6), (15.0, 158.9), (20.0, 216.2)], |checks, (expected, grams)| {
            let got = gravity::strength(Extract::grams_per_litre(grams)).as_degrees();
            checks.check(format!("{grams} g/L"), expected, got, 0.006)
        });
    let room = Checks::of("room of dissolved sugar", "mL/g")
        .from("NBS Circular C440, density of sucrose: what the solution takes more than its water")
        .rows(PLATO.into_iter().filter(|(p, ..)| *p >= 5.0), |checks, (p, d, _)| {
            let (litre, sugar) = (d * 999.972, d * 999.972 * p / 100.0);
            let expected = 1000.0 * (1.0 - (litre - sugar) / 998.203) / sugar;
            let got = gravity::room(Mass::grams(1.0)).as_millilitres();
            checks.check(format!("{p} °P"), expected, got, 0.01)
        });
    [to_plato.done(), to_gravity.done(), extract.done(), strength.done(), room.done(), hydrometer()].concat()
}

fn hydrometer() -> Vec<Check> {
    const AOAC: [(f64, [f64; 3]); 6] = [
        (10.0, [-0.32, -0.43, -0.52]),
        (15.0, [-0.20, -0.24, -0.28]),
        (18.0, [-0.09, -0.10, -0.12]),
        (25.0, [0.27, 0.30, 0.32]),
        (30.0, [0.61, 0.63, 0.68]),
        (40.0, [1.42, 1.47, 1.54]),
    ];
    let cells = AOAC.into_iter().flat_map(|(t, row)| {
        [0.0, 10.0, 20.0].into_iter().zip(row).map(move |(reading, add)| (t, reading, add))
    });
    let table = Checks::of("hydrometer temperature", "°P")
        .from("AOAC/NBS C440, corrections for sugar hydrometers at 20 °C (from memory)")
        .rows(cells, |checks, (t, reading, add)| {
            let tolerance = if (10.0..=25.0).contains(&t) { 0.02 } else { 0.055 };
            let got = correction(reading, t, 20.0).unwrap_or(f64::NAN);
            checks.check(format!("{reading} °Bx at {t} °C"), add, got, tolerance)
        });
    let model = Checks::of("hydrometer temperature, as gravity", "SG")
        .from("derived: the same equations solved apart in Python")
        .rows(
            [
                (1.040, 10.0, 20.0, 1.03825),
                (1.040, 15.0, 20.0, 1.03899),
                (1.040, 25.0, 20.0, 1.04126),
                (1.040, 30.0, 20.0, 1.04275),
                (1.060, 30.0, 20.0, 1.06294),
                (1.080, 40.0, 20.0, 1.08702),
                (1.010, 15.0, 20.0, 1.00917),
            ],
            |checks, (reading, t, own, expected)| {
                let (t_, own) = (Temperature::celsius(t), Temperature::celsius(own));
                let found = gravity::corrected(Gravity::specific(reading), t_, own);
                let got = found.map_or(f64::NAN, Gravity::as_specific);
                checks.check(format!("{reading} at {t} °C"), expected, got, 0.000_01)
            },
        )
        .from("trade correlation in °F, cubic (published on the web)")
        .rows([5.0, 10.0, 15.0, 25.0, 35.0, 45.0, 60.0], |checks, t| {
            let q =
                |f: f64| 1.001_303_46 + f * (-1.347_221_24e-4 + f * (2.040_525_96e-6 - f * 2.328_209_48e-9));
            let expected = 1.040 * q(1.8 * t + 32.0) / q(68.0);
            let (sample, own) = (Temperature::celsius(t), Temperature::celsius(20.0));
            let found = gravity::corrected(Gravity::specific(1.040), sample, own);
            checks.check(
                format!("1.040 at {t} °C"),
                expected,
                found.map_or(f64::NAN, Gravity::as_specific),
                0.0004,
            )
        });
    [table.done(), model.done()].concat()
}
