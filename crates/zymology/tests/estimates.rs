//! Estimates against a hundred thousand draws: every rule of combination, and the whole way from a pack to the beer after the next.
//!
//! The truth is reckoned here in plain numbers, from the same normal draws that the factors stand for and without the crate's own
//! functions; what the crate says must lie within a tenth of it at the 5th, 50th and 95th percentile.

#![expect(
    clippy::indexing_slicing,
    clippy::print_stdout,
    reason = "a test of fixed sizes that shows what it found"
)]

use barm_quantity::{Cells, Estimate, FactorName, Flow, NINETY, Plato, Share, Span, Temperature, Volume};
use barm_zymology::oxygen::{self, Wort};
use barm_zymology::starter::{self, Method};
use barm_zymology::supply::{self, Origin, Thickness};
use barm_zymology::{cake, gravity, storage};
use statrs::distribution::{ContinuousCDF, Normal};

const DRAWS: usize = 100_000;
/// Independent normals in one draw.
const FACTORS: usize = 10;

type Draw = [f64; FACTORS];

fn draws() -> Vec<Draw> {
    let mut random = fastrand::Rng::with_seed(20_260_728);
    let normal = Normal::standard();
    let mut one = || normal.inverse_cdf(random.f64().clamp(1e-12, 1.0 - 1e-12));
    (0..DRAWS).map(|_| std::array::from_fn(|_| one())).collect()
}

fn sampled(draws: &[Draw], truth: impl Fn(&Draw) -> f64) -> Vec<f64> {
    let mut values: Vec<f64> = draws.iter().map(truth).collect();
    values.sort_by(f64::total_cmp);
    values
}

/// Fails unless the estimate lies within a tenth of the draws at the 5th, 50th and 95th percentile; says the worst.
fn agree(what: &str, draws: &[Draw], estimate: &Estimate, truth: impl Fn(&Draw) -> f64) {
    let values = sampled(draws, truth);
    let mut worst = 0.0_f64;
    for (percent, found) in [(5, estimate.low()), (50, estimate.median()), (95, estimate.high())] {
        let expected = values[DRAWS * percent / 100];
        let off = found / expected - 1.0;
        assert!(off.abs() < 0.1, "{what}: {found} for {expected} at the {percent}th percentile");
        worst = if off.abs() > worst.abs() { off } else { worst };
    }
    println!("{what}: worst {:+.1} %", 100.0 * worst);
}

fn factor(i: usize) -> FactorName {
    FactorName::new("factor", i.to_string())
}

/// A figure with a factor of its own, and the same for a draw.
fn uncertain(median: f64, spread: f64, i: usize) -> Estimate {
    Estimate::exact(median).with_factor(factor(i), spread)
}

/// What the draw makes of a band.
fn band((low, best, high): (f64, f64, f64), z: f64) -> f64 {
    best * ((high / low).ln() / (2.0 * NINETY) * z).exp()
}

#[test]
fn products_powers_and_ratios_are_exact() {
    let draws = draws();
    let (a, b) = (uncertain(2.0, 0.3, 0), uncertain(5.0, 0.6, 1));
    agree("product", &draws, &(a.clone() * b.clone()), |z| 10.0 * (0.3 * z[0] + 0.6 * z[1]).exp());
    agree("ratio", &draws, &(a.clone() / b), |z| 0.4 * (0.3 * z[0] - 0.6 * z[1]).exp());
    agree("power", &draws, &a.powered(0.5665), |z| (2.0 * (0.3 * z[0]).exp()).powf(0.5665));
    agree("a product with itself", &draws, &(a.clone() * a), |z| 4.0 * (0.6 * z[0]).exp());
}

#[test]
fn decay_at_an_uncertain_rate() {
    let estimate = Estimate::exact(100.0).decayed(0.020, 0.009, 28.0, factor(0));
    agree("decay", &draws(), &estimate, |z| 100.0 * (-28.0 * (0.020 + 0.009 * z[0])).exp());
}

#[test]
fn sums_of_independent_shared_and_opposed_figures() {
    let draws = draws();
    for (ratio, s, t) in [(1.0, 0.3, 0.3), (3.0, 0.3, 0.9), (0.3, 0.5, 0.5), (1.0, 0.9, 0.9), (1.0, 0.3, 0.9)]
    {
        for share in [0.0, 0.5, 1.0] {
            let own = (1.0_f64 - share * share).sqrt();
            let other = uncertain(ratio, share * t, 0).with_factor(factor(1), own * t);
            let estimate = uncertain(1.0, s, 0) + other;
            agree(&format!("1 ± {s} and {ratio} ± {t}, {share} shared"), &draws, &estimate, |z| {
                (s * z[0]).exp() + ratio * (t * (share * z[0] + own * z[1])).exp()
            });
        }
    }
    let opposed = uncertain(1.0, 0.5, 0) + uncertain(1.0, 0.5, 1).with_factor(factor(0), -0.3);
    agree("opposed", &draws, &opposed, |z| (0.5 * z[0]).exp() + (0.5 * z[1] - 0.3 * z[0]).exp());
    let four: Estimate = (0..4).map(|i| uncertain(1.0 + i as f64, 0.4, i)).sum();
    agree("four terms", &draws, &four, |z| (0..4).map(|i| (1.0 + i as f64) * (0.4 * z[i]).exp()).sum());
}

#[test]
fn caps_and_floors_alone_and_carried_on() {
    let draws = draws();
    for (median, spread) in [(0.9, 0.3), (0.6, 0.5), (0.99, 0.1), (1.2, 0.2)] {
        let capped = uncertain(median, spread, 0).capped(1.0);
        let truth = move |z: &Draw| (median * (spread * z[0]).exp()).min(1.0);
        agree(&format!("{median} ± {spread} to 1"), &draws, &capped, truth);
        let times = capped.clone() * uncertain(100.0, 0.3, 1);
        agree("  times", &draws, &times, |z| truth(z) * 100.0 * (0.3 * z[1]).exp());
        let plus = capped.clone() + uncertain(1.0, 0.3, 1);
        agree("  plus", &draws, &plus, |z| truth(z) + (0.3 * z[1]).exp());
        let squared = capped.clone() * uncertain(1.0, 0.2, 0);
        agree("  times what it hangs on", &draws, &squared, |z| truth(z) * (0.2 * z[0]).exp());
        let both = capped * uncertain(0.95, 0.05, 2).capped(1.0);
        agree("  times a live share", &draws, &both, |z| truth(z) * (0.95 * (0.05 * z[2]).exp()).min(1.0));
    }
    let floored = uncertain(1.2, 0.3, 0).clamped(1.0, 1.5) * uncertain(1.0, 0.2, 1);
    agree("floor and cap", &draws, &floored, |z| {
        (1.2 * (0.3 * z[0]).exp()).clamp(1.0, 1.5) * (0.2 * z[1]).exp()
    });
}

#[test]
fn the_chance_of_falling_short_of_an_uncertain_target() {
    let draws = draws();
    let have = uncertain(0.9, 0.3, 0).capped(1.0) * uncertain(100.0, 0.25, 1);
    for median in [60.0, 85.0, 120.0] {
        let target = uncertain(median, 0.2, 2).with_factor(factor(1), 0.1);
        let short = draws.iter().filter(|z| {
            let have = (0.9 * (0.3 * z[0]).exp()).min(1.0) * 100.0 * (0.25 * z[1]).exp();
            have < median * (0.2 * z[2] + 0.1 * z[1]).exp()
        });
        let (found, expected) = (have.chance_below(&target), short.count() as f64 / DRAWS as f64);
        assert!((found - expected).abs() < 0.03, "{found} for {expected} below {median}");
    }
}

/// mg/L after a dose of gas, from the draws: `gas` of the rate.
fn dosed(before: f64, full: f64, rate: (f64, f64, f64), z: f64, minutes: f64) -> f64 {
    full - (full - before) * (-band(rate, z) * minutes).exp()
}

#[test]
fn doses_of_air_and_oxygen_one_after_another() {
    let draws = draws();
    let wort = Wort {
        temperature: Temperature::celsius(20.0),
        strength: Plato::degrees(12.0),
        volume: Volume::litres(20.0),
        elevation_metres: 0.0,
    };
    let flow = Some(Flow::litres_per_minute(1.0));
    let extract = gravity::extract(wort.strength).as_grams_per_litre();
    // Salting out 7.0e-4 (4.7–8.5e-4) L/g; water at 20 °C 9.092 mg/L under air, 43.4 under oxygen.
    let full = |water: f64, z: f64| {
        let k = 7.0e-4 + (8.5e-4 - 4.7e-4) / (2.0 * NINETY) * z;
        water * 10.0_f64.powf(-k * extract)
    };
    let (air, pure) = ((0.02, 0.07, 0.4), (0.3, 0.38, 0.42));
    for minutes in [2.0, 10.0, 30.0] {
        let time = Some(Span::minutes(minutes));
        let aired = oxygen::after(&Estimate::exact(0.0), oxygen::Method::Air, time, flow, &wort, "a");
        agree(&format!("air for {minutes} min"), &draws, &aired, |z| {
            dosed(0.0, full(9.092, z[0]), air, z[1], minutes)
        });
        let then = oxygen::after(&aired, oxygen::Method::Oxygen, Some(Span::minutes(0.5)), flow, &wort, "b");
        agree("  then oxygen for 30 s", &draws, &then, |z| {
            let aired = dosed(0.0, full(9.092, z[0]), air, z[1], minutes);
            dosed(aired, full(43.37, z[0]), pure, z[2], 0.5)
        });
    }
    let once = oxygen::after(&Estimate::exact(0.0), oxygen::Method::Shake, None, None, &wort, "a");
    agree("shaken", &draws, &once, |z| band((2.0, 3.0, 7.0), z[1]).min(7.43));
}

/// Cells in a still starter of `millilitres`, with the draw of its growth.
fn stood(cells: f64, millilitres: f64, z: f64) -> f64 {
    let crowding = cells / 1e6 / millilitres;
    let best = (1.516 * (100.0 / crowding.max(5.0)).powf(0.4335)).max(1.0);
    // The band narrows as growth goes to nothing.
    let part = (best.ln() / 1.516_f64.ln()).min(1.0);
    cells * best * band((0.7, 1.0, 1.6), z * part)
}

#[test]
fn starters_of_each_kind_and_a_chain_of_two() {
    let draws = draws();
    let wort = Plato::degrees(10.0);
    let warm = Temperature::celsius(20.0);
    let per_litre = gravity::extract(wort).as_grams_per_litre();
    let pitched = uncertain(60e9, 0.3, 0);
    let cells = |z: &Draw| 60e9 * (0.3 * z[0]).exp();
    let stirred =
        |cells: f64, litres: f64, z: f64| cells + band((0.9e9, 1.7e9, 3.2e9), z) * per_litre * litres;
    let one = |method, volume, of: &Estimate, lot| {
        starter::grown(of, Volume::litres(volume), wort, method, warm, None, lot)
    };
    let still = one(Method::Still, 1.0, &pitched, "a");
    agree("still", &draws, &still, |z| stood(cells(z), 1000.0, z[1]));
    agree("stirred", &draws, &one(Method::Stirred, 1.0, &pitched, "a"), |z| stirred(cells(z), 1.0, z[1]));
    agree("shaken", &draws, &one(Method::Shaken, 1.0, &pitched, "a"), |z| {
        (stood(cells(z), 1000.0, z[1]) * stirred(cells(z), 1.0, z[1])).sqrt()
    });
    let chain = one(Method::Stirred, 4.0, &still, "b");
    agree("still, then stirred", &draws, &chain, |z| stirred(stood(cells(z), 1000.0, z[1]), 4.0, z[2]));
    let crowded = one(Method::Still, 0.3, &pitched, "a");
    agree("crowded", &draws, &crowded, |z| stood(cells(z), 300.0, z[1]));
}

#[test]
fn the_whole_cake() {
    for (pitched, strength) in [(180e9, 12.0), (400e9, 20.0), (1500e9, 25.0)] {
        let litres = Volume::litres(20.0);
        let estimate = cake::left(&uncertain(pitched, 0.4, 0), Plato::degrees(strength), litres, "a");
        agree(&format!("cake of {strength} °P"), &draws(), &estimate, |z| {
            let new = band((1.5e6, 3.0e6, 4.5e6), z[1]) * strength * 20_000.0;
            (pitched * (0.4 * z[0]).exp() + new).min(2000e9)
        });
    }
}

/// A pack of 100 B kept two months at 4 °C, raised in a still litre and then two stirred ones, pitched into 20 L of 12 °P; a fifth of the
/// cake harvested, kept three weeks, and pitched into 20 L of 15 °P.
#[test]
fn from_a_pack_to_the_beer_after_the_next() {
    let draws = draws();
    let (cool, warm) = (Temperature::celsius(4.0), Temperature::celsius(20.0));
    let (first_wort, starter_wort) = (Plato::degrees(12.0), Plato::degrees(10.0));
    let loss = storage::pack_loss(storage::PACK_MONTHLY);
    let kept = storage::exposure(storage::Store::Pack, cool, Span::days(60.0));
    let pack = supply::pack(Cells::billions(100.0), "pack") * storage::left(loss, kept, "pack");
    let first =
        starter::grown(&pack, Volume::litres(1.0), starter_wort, Method::Still, warm, None, "first starter");
    let second = starter::grown(
        &first,
        Volume::litres(2.0),
        starter_wort,
        Method::Stirred,
        warm,
        None,
        "second starter",
    );
    let brewed = cake::left(&second, first_wort, Volume::litres(20.0), "brew");
    let harvested =
        brewed.clone().scaled(0.2) * supply::harvest_viability(Some(Share::percent(5.0)), "harvest");
    let kept = storage::exposure(storage::Store::Slurry, cool, Span::days(21.0));
    let repitched = harvested.clone() * storage::left(storage::SLURRY, kept, "harvest");

    let per_litre = gravity::extract(starter_wort).as_grams_per_litre();
    let month = |share: f64| -(1.0_f64 - share).ln() / 30.44;
    let rate = |z: f64| month(0.20) + (month(0.25) - month(0.15)) / (2.0 * NINETY) * z;
    let pack_truth =
        |z: &Draw| 100e9 * band((0.90, 0.97, 1.0), z[0]).min(1.0) * (-60.0 * rate(z[1])).exp().min(1.0);
    let first_truth = |z: &Draw| stood(pack_truth(z), 1000.0, z[2]);
    let second_truth = |z: &Draw| first_truth(z) + band((0.9e9, 1.7e9, 3.2e9), z[3]) * per_litre * 2.0;
    let cake_truth =
        |z: &Draw| (second_truth(z) + band((1.5e6, 3.0e6, 4.5e6), z[4]) * 12.0 * 20_000.0).min(2000e9);
    let harvest_truth = |z: &Draw| 0.2 * cake_truth(z) * band((0.85, 0.95, 0.98), z[5]).min(1.0);
    let repitch_truth = |z: &Draw| harvest_truth(z) * (-21.0 * (0.020 + 0.009 * z[6])).exp().min(1.0);

    agree("pack", &draws, &pack, pack_truth);
    agree("first starter", &draws, &first, first_truth);
    agree("second starter", &draws, &second, second_truth);
    agree("cake", &draws, &brewed, cake_truth);
    agree("harvest", &draws, &harvested, harvest_truth);
    agree("repitched", &draws, &repitched, repitch_truth);

    // 0.75 M/mL/°P in 20 L of 15 °P.
    let target = 225e9;
    let short = draws.iter().filter(|z| repitch_truth(z) < target).count() as f64 / DRAWS as f64;
    let found = repitched.chance_below(&Estimate::exact(target));
    assert!((found - short).abs() < 0.03, "{found} for {short}");
    // What is said to narrow it most does: knowing it leaves the narrowest range in the draws.
    let width = |known: usize| {
        let values =
            sampled(&draws, |z| repitch_truth(&std::array::from_fn(|i| if i == known { 0.0 } else { z[i] })));
        values[DRAWS * 95 / 100] / values[DRAWS * 5 / 100]
    };
    let narrowest = (0..FACTORS).min_by(|a, b| width(*a).total_cmp(&width(*b)));
    assert_eq!(narrowest, Some(4));
    assert_eq!(repitched.widest().map(|f| f.name.to_string()).as_deref(), Some("growth of brew"));
}

fn correlation(draws: &[Draw], a: impl Fn(&Draw) -> f64, b: impl Fn(&Draw) -> f64) -> f64 {
    let n = draws.len() as f64;
    let mean = |of: &dyn Fn(&Draw) -> f64| draws.iter().map(of).sum::<f64>() / n;
    let (mean_a, mean_b) = (mean(&a), mean(&b));
    let product = |x: &dyn Fn(&Draw) -> f64, y: &dyn Fn(&Draw) -> f64, mx: f64, my: f64| {
        draws.iter().map(|z| (x(z) - mx) * (y(z) - my)).sum::<f64>() / n
    };
    product(&a, &b, mean_a, mean_b)
        / (product(&a, &a, mean_a, mean_a) * product(&b, &b, mean_b, mean_b)).sqrt()
}

/// A jar divided: what is drawn at once shares all, what is drawn later shares density and viability but ages on by the same rate.
#[test]
fn two_draws_from_one_jar_hang_together() {
    let draws = draws();
    let jar = supply::slurry(Some(Thickness::Medium), Origin::Bottom, "jar")
        * supply::harvest_viability(None, "jar");
    let live =
        |millilitres: f64, days: f64| jar.scaled(millilitres) * storage::left(storage::SLURRY, days, "jar");
    let truth = |millilitres: f64, days: f64| {
        move |z: &Draw| {
            millilitres
                * band((0.8e9, 1.2e9, 2.0e9), z[0])
                * band((0.7, 0.85, 0.95), z[1]).min(1.0)
                * band((0.85, 0.95, 0.98), z[2]).min(1.0)
                * (-days * (0.020 + 0.009 * z[3])).exp().min(1.0)
        }
    };
    let (now, also) = (live(100.0, 7.0), live(50.0, 7.0));
    let ratio = now.clone() / also.clone();
    assert!((ratio.low() - 2.0).abs() < 1e-9 && (ratio.high() - 2.0).abs() < 1e-9);
    agree("both of one day", &draws, &(now.clone() + also), |z| truth(100.0, 7.0)(z) + truth(50.0, 7.0)(z));
    let later = live(50.0, 35.0);
    agree("one now, one later", &draws, &(now.clone() + later.clone()), |z| {
        truth(100.0, 7.0)(z) + truth(50.0, 35.0)(z)
    });
    agree("their ratio", &draws, &(now.clone() / later.clone()), |z| {
        truth(100.0, 7.0)(z) / truth(50.0, 35.0)(z)
    });
    let said = |a: &Estimate, b: &Estimate| {
        let apart = (a.clone() / b.clone()).spread();
        (a.spread().powi(2) + b.spread().powi(2) - apart.powi(2)) / (2.0 * a.spread() * b.spread())
    };
    let logarithm = |millilitres, days| move |z: &Draw| truth(millilitres, days)(z).ln();
    let expected = correlation(&draws, logarithm(100.0, 7.0), logarithm(50.0, 35.0));
    assert!((said(&now, &later) - expected).abs() < 0.05, "{} for {expected}", said(&now, &later));
    // Another jar of the same culture shares nothing.
    let other = supply::slurry(Some(Thickness::Medium), Origin::Bottom, "other jar").scaled(50.0);
    assert!(said(&now, &other).abs() < 1e-9);
}
