use barm_quantity::{Concentration, Estimate, Flow, Plato, Span, Temperature, Volume};
use barm_zymology::oxygen::{self, Method, Wort};

use crate::check::{Check, Checks};
use crate::reference;

fn water(t: f64, metres: f64) -> f64 {
    let found = oxygen::saturation_water(Temperature::celsius(t), metres);
    found.map_or(f64::NAN, Concentration::as_milligrams_per_litre)
}

fn pure(t: f64) -> f64 {
    let found = oxygen::saturation_water_pure(Temperature::celsius(t), 0.0);
    found.map_or(f64::NAN, Concentration::as_milligrams_per_litre)
}

fn wort(strength: f64, t: f64) -> Wort {
    Wort {
        temperature: Temperature::celsius(t),
        strength: Plato::degrees(strength),
        volume: Volume::litres(20.0),
        elevation_metres: 0.0,
    }
}

fn held(strength: f64, t: f64) -> f64 {
    oxygen::saturation(Method::Air, &wort(strength, t)).median()
}

pub(crate) fn checks() -> Vec<Check> {
    const EN_25814: [(f64, f64, f64); 7] = [
        (0.0, 14.6, 0.06),
        (5.0, 12.8, 0.06),
        (10.0, 11.3, 0.06),
        (15.0, 10.1, 0.06),
        (20.0, 9.09, 0.01),
        (25.0, 8.26, 0.01),
        (30.0, 7.56, 0.01),
    ];
    const METER: [(f64, f64, f64); 5] =
        [(300.0, 0.0, 14.1), (300.0, 20.0, 8.8), (900.0, 0.0, 13.1), (900.0, 20.0, 8.1), (1800.0, 0.0, 11.7)];
    let saturation = Checks::of("oxygen in water", "mg/L")
        .from("EN 25814, table in an instrument manual, one or two decimals")
        .rows(EN_25814, |checks, (t, expected, tolerance)| {
            checks.check(format!("{t} °C"), expected, water(t, 0.0), tolerance)
        })
        .from("a meter's manual, altitude, one decimal")
        .rows(METER, |checks, (metres, t, expected)| {
            checks.check(format!("{t} °C at {metres} m"), expected, water(t, metres), 0.06)
        })
        .from("Garcia & Gordon 1992, reference library gsw 3.6.23")
        .rows(reference::rows("oxygen saturation"), |checks, ([t, ..], expected)| {
            checks.check(format!("{t} °C"), expected, water(t, 0.0), 0.002)
        })
        .from("Standard Methods 4500-O at height, vapour from reference library iapws 1.5.5")
        .rows(reference::rows("oxygen at height"), |checks, ([t, metres, _], expected)| {
            checks.check(format!("{t} °C at {metres} m"), expected, water(t, metres), 0.0006)
        });
    let pressure = Checks::of("pressure of the air", "mmHg").from("a test kit's table, feet to mmHg").rows(
        [(1094.0, 730.0), (2864.0, 684.0), (4756.0, 638.0), (6065.0, 608.0)],
        |checks, (feet, expected)| {
            let got = oxygen::air_pressure(feet * 0.3048).as_kilopascals() / 101.325 * 760.0;
            checks.check(format!("{feet} ft"), expected, got, 1.1)
        },
    );
    let pure_oxygen = Checks::of("pure oxygen in water", "mg/L")
        .from("Doran, Bioprocess Engineering Principles, Table 9.1, 1 atm of oxygen")
        .rows(
            [(10.0, 54.9), (20.0, 45.0), (25.0, 41.4), (30.0, 38.4)],
            |checks, (t, expected): (f64, f64)| {
                // The table is for 1 atm of oxygen itself, without the vapour beside it.
                let vapour = (11.8571 - (3840.70 + 216_961.0 / (t + 273.15)) / (t + 273.15)).exp();
                checks.check(format!("{t} °C"), expected, pure(t) / (1.0 - vapour), 0.025 * expected)
            },
        )
        .from("derived: Henry's law worked apart in Python, 1 atm in all")
        .rows([(10.0, 53.9), (20.0, 43.4), (25.0, 39.5), (30.0, 36.1)], |checks, (t, expected)| {
            checks.check(format!("{t} °C"), expected, pure(t), 0.06)
        });
    [saturation.done(), pressure.done(), pure_oxygen.done(), in_wort(), transfer()].concat()
}

fn in_wort() -> Vec<Check> {
    const SCHOOL: [(f64, f64); 4] = [(5.0, 10.4), (10.0, 9.3), (15.0, 8.3), (20.0, 7.4)];
    const MODEL: [(f64, [f64; 4]); 6] = [
        (8.0, [9.88, 8.83, 7.96, 7.24]),
        (12.0, [9.22, 8.24, 7.43, 6.75]),
        (15.0, [8.74, 7.81, 7.04, 6.40]),
        (18.0, [8.27, 7.39, 6.66, 6.05]),
        (20.0, [7.97, 7.12, 6.42, 5.83]),
        (25.0, [7.24, 6.46, 5.83, 5.30]),
    ];
    let cells = MODEL.into_iter().flat_map(|(p, row)| {
        [10.0, 15.0, 20.0, 25.0].into_iter().zip(row).map(move |(t, expected)| (p, t, expected))
    });
    Checks::of("oxygen in wort", "mg/L")
        .from("a brewing school's table for 12 °P (from memory)")
        .rows(SCHOOL, |checks, (t, expected)| {
            checks.check(format!("12 °P at {t} °C"), expected, held(12.0, t), 0.15)
        })
        .from("Oxford Companion to Beer 2012, 15 °P")
        .rows([(10.0, 8.0), (20.0, 6.6)], |checks, (t, expected)| {
            checks.check(format!("15 °P at {t} °C"), expected, held(15.0, t), 0.8)
        })
        .from("derived: salting-out worked apart in Python")
        .rows(cells, |checks, (p, t, expected)| {
            checks.check(format!("{p} °P at {t} °C"), expected, held(p, t), 0.01)
        })
        .done()
}

fn transfer() -> Vec<Check> {
    let dose = |method, seconds: f64, wort: &Wort| {
        let flow = Some(Flow::litres_per_minute(1.0));
        oxygen::after(&Estimate::exact(0.0), method, Some(Span::seconds(seconds)), flow, wort, "").median()
    };
    // 1.077 is 18.6 °P.
    let strong = wort(18.6, 24.0);
    let water = Wort { volume: Volume::litres(3.8), ..wort(0.0, 10.0) };
    Checks::of("oxygen after a dose", "mg/L")
        .from("Yeast (Brewers Publications 2010), pure oxygen, 1 L/min into 20 L of 1.077 (60 s; the others from memory)")
        .rows([(30.0, 5.12), (60.0, 9.2), (120.0, 14.08)], |checks, (seconds, expected)| {
            checks.check(format!("{seconds} s"), expected, dose(Method::Oxygen, seconds, &strong), 1.5)
        })
        .from("Yeast (Brewers Publications 2010), shaken for 5 min (from memory)")
        .check("20 L of 1.077", 2.71, dose(Method::Shake, 300.0, &strong), 0.5)
        .from("a yeast maker's tests, reported by a trade magazine")
        .check("siphon spray", 4.0, dose(Method::Splash, 60.0, &strong), 1.5)
        .check("oxygen for a minute, 12 ppm", 12.0, dose(Method::Oxygen, 60.0, &wort(12.0, 20.0)), 1.5)
        .from("a home brewer's meter, air into 3.8 L of water (web)")
        .check("4.2 in the beginning, 5 min", 6.3, {
            let slow = Some(Flow::litres_per_minute(0.2));
            let before = Estimate::exact(4.2);
            oxygen::after(&before, Method::Air, Some(Span::minutes(5.0)), slow, &water, "").median()
        }, 1.0)
        .done()
}
