use barm_quantity::{Gravity, Temperature};
use barm_zymology::refractometer;

use crate::check::{Check, Checks, ROUNDING};

fn beer(before: f64, after: f64, factor: f64) -> f64 {
    refractometer::beer(before, after, factor).map_or(f64::NAN, Gravity::as_specific)
}

pub(crate) fn checks() -> Vec<Check> {
    const FORMULA: [(f64, f64, f64); 4] =
        [(12.0, 6.0, 1.01068), (15.0, 7.5, 1.01335), (20.0, 10.0, 1.01780), (10.0, 5.0, 1.00890)];
    let fermented = Checks::of("refractometer in beer", "SG")
        .from("Terrill 2011, linear correlation (derived from its coefficients in Python)")
        .rows(FORMULA, |checks, (before, after, expected)| {
            checks.check(format!("{before} and {after} °Bx"), expected, beer(before, after, 1.0), 0.000_01)
        })
        .from("a measured beer, original gravity 1.062 and 1.013 by hydrometer (web forum)")
        .check("16.2 and 7.8 °Bx, factor 1.04", 1.013, beer(16.2, 7.8, 1.04), 0.002)
        .from("Terrill 2011, cubic correlation, as a second opinion")
        .rows(
            [(12.0, 6.0, 1.01168), (15.0, 7.5, 1.01347), (20.0, 10.0, 1.01596)],
            |checks, (i, f, expected)| {
                checks.check(format!("{i} and {f} °Bx"), expected, beer(i, f, 1.0), 0.002)
            },
        );
    const ICUMSA: [(f64, f64); 5] =
        [(1.34026, 5.0), (1.34782, 10.0), (1.35568, 15.0), (1.36384, 20.0), (1.38115, 30.0)];
    let index = Checks::of("refractive index to °Bx", "°Bx").from("ICUMSA table (from memory)").rows(
        ICUMSA,
        |checks, (n, expected)| {
            checks.check(format!("{n}"), expected, refractometer::brix(n).unwrap_or(f64::NAN), 0.03)
        },
    );
    const OIV: [(f64, f64, f64); 6] = [
        (10.0, 5.0, -0.82),
        (15.0, 10.0, -0.62),
        (20.0, 12.0, -0.53),
        (10.0, 15.0, -0.32),
        (15.0, 17.0, -0.20),
        (20.0, 5.0, -0.92),
    ];
    let temperature = Checks::of("refractometer temperature", "°Bx").from("OIV MA-AS2-02, Table I").rows(
        OIV,
        |checks, (brix, t, expected)| {
            let got = refractometer::temperature_correction(brix, Temperature::celsius(t));
            checks.check(format!("{brix} °Bx at {t} °C"), expected, got.unwrap_or(f64::NAN), ROUNDING)
        },
    );
    [fermented.done(), index.done(), temperature.done()].concat()
}
