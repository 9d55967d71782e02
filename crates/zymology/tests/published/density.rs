use barm_quantity::{Density, Plato, Share, Temperature};
use barm_zymology::{OutOfRange, density};

use crate::check::{Check, Checks};
use crate::reference;

fn kilograms(found: Result<Density, OutOfRange>) -> f64 {
    found.map_or(f64::NAN, Density::as_kilograms_per_cubic_metre)
}

fn water(t: f64) -> f64 {
    kilograms(density::water(Temperature::celsius(t)))
}

fn sucrose(p: f64, t: f64) -> f64 {
    kilograms(density::sucrose(Plato::degrees(p), Temperature::celsius(t)))
}

fn ethanol(percent: f64, t: f64) -> f64 {
    kilograms(density::ethanol(Share::percent(percent), Temperature::celsius(t)))
}

pub(crate) fn checks() -> Vec<Check> {
    let water_density = Checks::of("density of water", "kg/m³")
        .from("IAPWS-95, reference library iapws 1.5.5")
        .rows(reference::rows("water density"), |checks, ([t, ..], expected)| {
            checks.check(format!("{t} °C"), expected, water(t), 0.007)
        })
        .from("CRC Handbook, 53rd ed., p. F-4")
        .rows(
            [(8.0, 999.849), (10.0, 999.700), (12.0, 999.498), (15.0, 999.099)],
            |checks, (t, expected)| checks.check(format!("{t} °C"), expected, water(t), 0.006),
        );
    [water_density.done(), sucrose_density(), ethanol_density()].concat()
}

fn sucrose_density() -> Vec<Check> {
    // Grams in air of a US gallon of 3785.43 mL: °Bx, °C, grams.
    const GALLONS: [(f64, f64, f64); 11] = [
        (0.0, 10.0, 3780.0),
        (0.0, 20.0, 3775.0),
        (0.0, 30.0, 3765.0),
        (10.0, 10.0, 3933.0),
        (10.0, 15.0, 3930.0),
        (10.0, 20.0, 3926.0),
        (10.0, 25.0, 3921.0),
        (10.0, 30.0, 3915.0),
        (20.0, 10.0, 4098.0),
        (20.0, 20.0, 4088.0),
        (20.0, 30.0, 4075.0),
    ];
    Checks::of("density of sucrose solutions", "kg/m³")
        .from("NBS Circular 457, Table 2, weight of a US gallon in air, rounded to 1 g")
        .rows(GALLONS, |checks, (p, t, grams)| {
            let in_vacuum = grams / 3785.43 * (1.0 - 0.0012 / 8.4) + 0.0012;
            checks.check(format!("{p} °Bx at {t} °C"), 1000.0 * in_vacuum, sucrose(p, t), 0.25)
        })
        .from("NBS Circular C440, density at 20 °C over water at 4 °C (from memory)")
        .rows(
            [
                (5.0, 1.017_854, 0.03),
                (10.0, 1.038_143, 0.03),
                (20.0, 1.080_959, 0.06),
                (30.0, 1.126_984, 0.1),
            ],
            |checks, (p, d, tolerance)| {
                checks.check(format!("{p} °Bx"), 999.972 * d, sucrose(p, 20.0), tolerance)
            },
        )
        .done()
}

fn ethanol_density() -> Vec<Check> {
    // By mass, °C.
    const OFF_AXIS: [(f64, f64, f64); 6] = [
        (5.0, 0.0, 991.27),
        (5.0, 30.0, 986.68),
        (10.0, 10.0, 983.93),
        (10.0, 40.0, 974.78),
        (20.0, 30.0, 963.91),
        (50.0, 10.0, 921.59),
    ];
    // By volume at 20 °C.
    const DILUTIONS: [(f64, f64); 5] =
        [(10.0, 984.71), (20.0, 973.56), (40.0, 948.05), (60.0, 909.11), (100.0, 789.24)];
    Checks::of("density of ethanol and water", "kg/m³")
        .from("OIML R 22, Table I, away from 20 °C and from water (derived from its equation in Python)")
        .rows(OFF_AXIS, |checks, (p, t, expected)| {
            checks.check(format!("{p} % by mass at {t} °C"), expected, ethanol(p, t), 0.006)
        })
        .from("a public dilution table by volume, 20 °C")
        .rows(DILUTIONS, |checks, (volume, expected)| {
            // The mass fraction that is so much by volume.
            let (mut low, mut high) = (0.0, 100.0);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                let there = density::by_volume(Share::percent(middle)).map_or(f64::NAN, Share::as_percent);
                if there < volume { low = middle } else { high = middle }
            }
            checks.check(format!("{volume} % by volume"), expected, ethanol(0.5 * (low + high), 20.0), 0.02)
        })
        .from("OIML R 22, Table I: the pure liquids")
        .check("water at 0 °C", 999.84, ethanol(0.0, 0.0), 0.01)
        .check("water at 10 °C", 999.70, ethanol(0.0, 10.0), 0.01)
        .check("ethanol at 40 °C", 771.93, ethanol(100.0, 40.0), 0.01)
        .done()
}
