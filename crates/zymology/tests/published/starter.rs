use barm_quantity::{Estimate, Plato, Span, Temperature, Volume};
use barm_zymology::starter::{self, Method};

use crate::check::{Check, Checks, ROUNDING};
use crate::reference;

fn grown(billions: f64, litres: f64, strength: f64, method: Method) -> Estimate {
    let pitched = Estimate::exact(billions * 1e9);
    let (volume, warm) = (Volume::litres(litres), Temperature::celsius(20.0));
    starter::grown(&pitched, volume, Plato::degrees(strength), method, warm, None, "").scaled(1e-9)
}

pub(crate) fn checks() -> Vec<Check> {
    const BOOK: [(f64, f64); 4] = [(0.5, 112.0), (1.0, 152.0), (2.0, 205.0), (4.0, 276.0)];
    const UNREAD: [(f64, f64); 4] = [(0.8, 138.0), (1.5, 181.0), (8.0, 400.0), (20.0, 600.0)];
    let still = |litres| grown(100.0, litres, 9.0, Method::Still).median();
    let standing = Checks::of("still starter", "B")
        .from("Yeast (Brewers Publications 2010), Fig. 5.5: 100 B in so many litres")
        .rows(BOOK, |checks, (litres, expected)| {
            checks.check(format!("{litres} L"), expected, still(litres), 0.01 * expected)
        })
        .from("Yeast (Brewers Publications 2010), Fig. 5.5, rows from memory")
        .rows(UNREAD, |checks, (litres, expected)| {
            checks.check(format!("{litres} L"), expected, still(litres), 0.08 * expected)
        })
        .from("derived: too crowded to grow")
        .check("300 B in 1 L", 300.0, grown(300.0, 1.0, 9.0, Method::Still).median(), ROUNDING);
    let factor = Checks::of("yield factor of a still starter", "M/mL/°P")
        .from("Yeast (Brewers Publications 2010), after Nielsen 2005: 9 to 2 °P")
        .check("100 B in 1 L", 7.4, (still(1.0) - 100.0) / 7.0, 0.05);
    let [growth, power] = {
        let rows = reference::rows("still starter");
        [0, 1].map(|i| rows.get(i).map_or(f64::NAN, |(_, value)| *value))
    };
    let fit = Checks::of("growth of a still starter", "×")
        .from("least squares over four rows of Fig. 5.5, reference library scipy 1.17.1")
        .rows([200.0, 100.0, 40.0, 10.0], |checks, crowding: f64| {
            let expected = growth * (100.0 / crowding).powf(power);
            checks.check(format!("{crowding} M/mL"), expected, still(100.0 / crowding) / 100.0, 0.001)
        });
    let stirred = grown(100.0, 1.0, 10.0, Method::Stirred);
    let stirring = Checks::of("stirred starter", "B")
        .from("derived: 1.7 (0.9–3.2) B/g of 104 g")
        .check("100 B, 1 L, 10 °P", 276.8, stirred.median(), 0.5)
        .check("low", 194.0, stirred.low(), 12.0)
        .check("high", 433.0, stirred.high(), 12.0)
        .from("Johnson 2011, 19 counted propagations: 10–90 % in 131–401 M/mL, median 229")
        .check(
            "from next to nothing, 1 L, 10 °P",
            229.0,
            grown(1.0, 1.0, 10.0, Method::Stirred).median(),
            60.0,
        );
    let limits = Checks::of("crowding of a starter", "M/mL")
        .from("Yeast (Brewers Publications 2010), Fig. 5.5: the fit solved for a growth of 1, 1.27 and 1.72")
        .rows(
            [(1.0, starter::FULL), (1.27, starter::CROWDED), (1.72, starter::ROOMY)],
            |checks, (by, limit)| {
                let solved = 100.0 * (1.516_f64 / by).powf(1.0 / 0.4335);
                checks.check(format!("× {by}"), solved, limit.as_millions(), 2.0)
            },
        );
    [standing.done(), factor.done(), fit.done(), limits.done(), stirring.done(), time()].concat()
}

fn time() -> Vec<Check> {
    let finish = |method, t| {
        let pitched = Estimate::exact(100e9);
        let (volume, strength) = (Volume::litres(2.0), Plato::degrees(10.0));
        starter::time_to_finish(&pitched, volume, strength, method, Temperature::celsius(t)).as_hours()
    };
    let doubling = |t| starter::doubling_time(Temperature::celsius(t)).as_hours();
    let so_far = |hours| {
        let pitched = Estimate::exact(10e9);
        let (volume, warm) = (Volume::litres(2.0), Temperature::celsius(20.0));
        let time = Some(Span::hours(hours));
        starter::grown(&pitched, volume, Plato::degrees(10.0), Method::Stirred, warm, time, "").median() / 1e9
    };
    let times = Checks::of("time in a starter", "h")
        .from("a yeast maker's sheet: a doubling takes 3 h at 20 °C, 2 h at 25 °C")
        .check("20 °C", 3.0, doubling(20.0), ROUNDING)
        .check("25 °C", 2.0, doubling(25.0), 0.15)
        .from("derived: 4 h and a doubling time for each of log₂ 2.05")
        .check("100 B still in 2 L", 4.0 + 3.0 * 2.047_f64.log2(), finish(Method::Still, 20.0), 0.01);
    let growth = Checks::of("cells in a starter at a time", "B")
        .from("derived: a doubling for every 3 h after the fourth")
        .check("10 B, 4 h", 10.0, so_far(4.0), ROUNDING)
        .check("10 B, 10 h", 40.0, so_far(10.0), 0.01);
    [times.done(), growth.done()].concat()
}
