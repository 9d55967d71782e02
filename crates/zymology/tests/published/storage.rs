use barm_quantity::{Span, Temperature};
use barm_zymology::storage::{self, DRY, Loss, PACK_MONTHLY, SLURRY, Store};

use crate::check::{Check, Checks};
use crate::reference;

fn left(store: Store, loss: Loss, t: f64, days: f64) -> f64 {
    let exposure = storage::exposure(store, Temperature::celsius(t), Span::days(days));
    storage::left(loss, exposure, "").median()
}

pub(crate) fn checks() -> Vec<Check> {
    let slurry = Checks::of("live slurry left", "")
        .from("McCaig & Bendiak 1985, MBAA Tech. Quarterly 22: 7, 14, up to 68 % lost in 6 days")
        .check("1 °C", 0.93, left(Store::Slurry, SLURRY, 1.0, 6.0), 0.02)
        .check("5 °C", 0.86, left(Store::Slurry, SLURRY, 5.0, 6.0), 0.02)
        .check("25 °C", 0.32, left(Store::Slurry, SLURRY, 25.0, 6.0), 0.03)
        .from("common practice: about half alive at four weeks")
        .check("4 °C, 28 d", 0.5, left(Store::Slurry, SLURRY, 4.0, 28.0), 0.1)
        .from("an amateur laboratory's seven jars, 2012: 0.2 points a day, the kind end of the band")
        .check("4 °C, 28 d, high end", 0.944, storage::left(SLURRY, 28.0, "").high(), 0.1)
        .from("derived: first-order loss worked apart in Python")
        .check("4 °C, 14 d", 0.756, left(Store::Slurry, SLURRY, 4.0, 14.0), 0.001)
        .check("4 °C, 28 d", 0.571, left(Store::Slurry, SLURRY, 4.0, 28.0), 0.001);
    let [energy, rate] = {
        let rows = reference::rows("slurry loss");
        [0, 1].map(|i| rows.get(i).map_or(f64::NAN, |(_, value)| *value))
    };
    let fit = Checks::of("rate of loss of slurry", "%/d")
        .from("least squares over McCaig & Bendiak 1985, reference library scipy 1.17.1")
        .check("4 °C", 100.0 * rate, 100.0 * SLURRY.per_day, 0.1)
        .rows([0.0, 10.0, 25.0], |checks, t: f64| {
            let faster = (energy * 1000.0 / 8.314_462_618 * (1.0 / 277.15 - 1.0 / (t + 273.15))).exp();
            let got = storage::exposure(Store::Slurry, Temperature::celsius(t), Span::days(1.0));
            checks.check(format!("{t} °C over 4 °C"), 2.0 * faster, 2.0 * got, 0.03)
        });
    let pack = storage::pack_loss(PACK_MONTHLY);
    let packs = Checks::of("live pack left", "")
        .from("common practice: 20 % a month")
        .check("a month", 0.80, left(Store::Pack, pack, 4.0, 30.44), 0.001)
        .check("30 d", 0.803, left(Store::Pack, pack, 4.0, 30.0), 0.001)
        .from("common practice: 15 and 25 % a month are its ends")
        .check("a month, high", 0.85, storage::left(pack, 30.44, "").high(), 0.005)
        .check("a month, low", 0.75, storage::left(pack, 30.44, "").low(), 0.005);
    let dry = Checks::of("live dry yeast left", "")
        .from("Cone, quoted: 20 % a year at 20 °C, 5 % at 4 °C")
        .check("20 °C, a year", 0.80, left(Store::Dry, DRY, 20.0, 365.25), 0.002)
        .check("4 °C, a year", 0.95, left(Store::Dry, DRY, 4.0, 365.25), 0.002);
    [slurry.done(), fit.done(), packs.done(), dry.done()].concat()
}
