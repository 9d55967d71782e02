use barm_quantity::{HeatLoss, Mass, Plato, Share, Span, Temperature, Volume};
use barm_zymology::heat::{self, Batch, Course, Material};

use crate::check::{Check, Checks};
use crate::reference;

fn batch(litres: f64, loss: f64) -> Batch {
    let (volume, strength) = (Volume::litres(litres), Plato::degrees(12.0));
    Batch { volume, strength, loss: HeatLoss::watts_per_kelvin(loss) }
}

pub(crate) fn checks() -> Vec<Check> {
    let released = heat::released(Mass::kilograms(1.0)).median();
    let heat_of_fermentation = Checks::of("heat of fermentation", "kJ/kg")
        .from("252 BTU/lb, a brewers' engineering discussion")
        .check("a kilogram of extract", 252.0 * 2.326, released, 5.0)
        .from("enthalpies of formation (from memory): 101 kJ/mol glucose, counted as maltose")
        .check("a kilogram of extract", 2.0 * 101.0 / 0.342_30, released, 10.0);
    let specific = Checks::of("specific heat of wort", "J/(kg·K)")
        .from("sugar technologists: 4186.8 − 29.7·DS + 0.046·DS·100 + 0.075·DS·t (from memory)")
        .rows([0.0, 8.0, 12.0, 16.0, 20.0], |checks, p| {
            let expected = 4186.8 + p * (-29.7 + 4.6 + 0.075 * 20.0);
            let found = heat::specific_heat(Plato::degrees(p), Temperature::celsius(20.0));
            checks.check(format!("{p} °P"), expected, found.as_joules_per_kilogram_kelvin(), 15.0)
        });
    let loss = |material, litres| heat::loss(material, Volume::litres(litres), "").median();
    let vessels = Checks::of("heat loss of a vessel", "W/K")
        .from("a university's bucket, 0.20 per hour for 4 US gallons, after Denny's Froth!")
        .check("a 20 L bucket", 3.5, loss(Material::Plastic, 20.0), 0.6)
        .from("derived: natural convection (Churchill & Chu) and radiation worked apart in Python")
        .check("1 L flask", 0.45, loss(Material::Glass, 1.0), 0.05)
        .check("2 L flask", 0.725, loss(Material::Glass, 2.0), 0.125)
        .check("5 L jug", 1.3, loss(Material::Glass, 5.0), 0.2)
        .check("20 L carboy", 3.45, loss(Material::Glass, 20.0), 0.55)
        .check("25 L bucket", 3.75, loss(Material::Plastic, 25.0), 0.55)
        .check("25 L bright steel", 3.5, loss(Material::BrightSteel, 25.0), 1.2);
    [heat_of_fermentation.done(), specific.done(), vessels.done(), beer()].concat()
}

fn beer() -> Vec<Check> {
    let kelvin = |of: Option<barm_quantity::TemperatureDifference>| of.map_or(f64::NAN, |d| d.as_kelvin());
    let quarter = batch(20.0, 3.0).power(Share::percent(65.0 / 4.0), Span::hours(12.0));
    let rise = Checks::of("warming by fermentation", "K")
        .from("derived: 20 L of 12 °P to 65 %, worked apart")
        .check(
            "without loss",
            11.4,
            batch(20.0, 3.0).rise_without_loss(Share::percent(65.0)).as_kelvin(),
            0.15,
        )
        .check("a quarter of it in 12 h, 3 W/K", 1.8, kelvin(batch(20.0, 3.0).steady_rise(quarter)), 0.1);
    let constant = Checks::of("time constant of a fermenter", "h")
        .from("a university's bucket, 0.20 per hour for 4 US gallons, after Denny's Froth!")
        .check(
            "15.1 L at 3.5 W/K",
            5.0,
            batch(15.1, 3.5).time_constant().map_or(f64::NAN, Span::as_hours),
            0.2,
        );
    let rows = reference::rows("beer temperature");
    let hours: Vec<Span> = rows.iter().map(|([t, ..], _)| Span::hours(*t)).collect();
    let swing =
        |t: Span| Temperature::celsius(18.0 + 3.0 * (std::f64::consts::TAU * t.as_hours() / 24.0).sin());
    let found = batch(20.0, 3.5).temperatures(
        Temperature::celsius(16.0),
        &hours,
        |t| Course::ALE.done(t) * 0.65,
        swing,
    );
    let course = Checks::of("temperature of the beer", "°C")
        .from("stiff integration, reference library scipy 1.17.1 (solve_ivp)")
        .rows(rows.into_iter().zip(found), |checks, (([t, ..], expected), got)| {
            checks.check(format!("after {t} h"), expected, got.as_celsius(), 0.005)
        });
    [rise.done(), constant.done(), course.done()].concat()
}
