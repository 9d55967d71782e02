//! What holds for every input: directions that nature has, joins without steps, inverses, and no NaN or infinity for finite input.

use barm_quantity::{
    Bitterness, CarbonDioxide, Cells, CellsPerMillilitre, Concentration, Estimate, FactorName, Flow, Gravity,
    GravityDifference, HeatLoss, Mass, PitchRate, Plato, Power, Pressure, Share, Span, Temperature, Volume,
};
use barm_zymology::count::Count;
use barm_zymology::oxygen::{self, Wort};
use barm_zymology::starter::{self, Method};
use barm_zymology::storage::{self, SLURRY, Store};
use barm_zymology::{
    alcohol, bitterness, blend, cake, carbonation, count, density, flavour, gravity, heat, pitching,
    refractometer, supply,
};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

const GAS: [oxygen::Method; 4] =
    [oxygen::Method::Shake, oxygen::Method::Splash, oxygen::Method::Air, oxygen::Method::Oxygen];
const STARTERS: [Method; 3] = [Method::Still, Method::Shaken, Method::Stirred];
const STORES: [Store; 3] = [Store::Pack, Store::Slurry, Store::Dry];

fn specific(sg: f64) -> Gravity {
    Gravity::specific(sg)
}

fn degrees(p: f64) -> Plato {
    Plato::degrees(p)
}

fn celsius(t: f64) -> Temperature {
    Temperature::celsius(t)
}

fn wort(strength: f64, t: f64, litres: f64, elevation_metres: f64) -> Wort {
    Wort {
        temperature: celsius(t),
        strength: degrees(strength),
        volume: Volume::litres(litres),
        elevation_metres,
    }
}

fn uncertain(median: f64, spread: f64, of: &str) -> Estimate {
    Estimate::exact(median).with_factor(FactorName::new("property", of), spread)
}

/// Any finite number, the odd ones often.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        prop::sample::select(vec![
            0.0,
            -0.0,
            1.0,
            -1.0,
            1e-300,
            1e300,
            -1e300,
            f64::MAX,
            f64::MIN,
            0.5,
            100.0
        ]),
        -1e4..1e4_f64,
        prop::num::f64::NORMAL,
    ]
}

fn sound(estimate: &Estimate) -> bool {
    [estimate.low(), estimate.median(), estimate.high(), estimate.spread()]
        .iter()
        .all(|x| x.is_finite() && *x >= 0.0)
        && estimate.low() <= estimate.median() * (1.0 + 1e-9)
        && estimate.median() <= estimate.high() * (1.0 + 1e-9)
}

proptest! {
    // The same cases at every run: a test that fails once in a while tells nobody anything.
    #![proptest_config(ProptestConfig {
        cases: 64,
        failure_persistence: None,
        rng_seed: RngSeed::Fixed(20_260_728),
        ..ProptestConfig::default()
    })]

    #[test]
    fn gravity_and_plato_round_trip(sg in 0.96..1.19_f64, p in -5.0..45.0_f64) {
        let back = gravity::gravity(gravity::plato(specific(sg))).as_specific();
        prop_assert!((back - sg).abs() < 3.3e-5, "{sg} {back}");
        let back = gravity::plato(gravity::gravity(degrees(p))).as_degrees();
        prop_assert!((back - p).abs() < 0.0051, "{p} {back}");
        let back = gravity::from_density(gravity::density(specific(sg))).as_specific();
        prop_assert!((back - sg).abs() < 1e-12);
    }

    #[test]
    fn more_gravity_is_more_of_everything(sg in 0.9..1.3_f64, more in 0.0005..0.05_f64) {
        let (a, b) = (specific(sg), specific(sg + more));
        prop_assert!(gravity::plato(a) <= gravity::plato(b));
        prop_assert!(gravity::extract(gravity::plato(a)) <= gravity::extract(gravity::plato(b)));
        prop_assert!(gravity::density(a) < gravity::density(b));
    }

    #[test]
    fn a_hydrometer_at_its_own_temperature_is_right(sg in 0.98..1.15_f64, own in 12.0..28.0_f64) {
        let found = gravity::corrected(specific(sg), celsius(own), celsius(own)).unwrap();
        prop_assert!((found.as_specific() - sg).abs() < 1e-9);
    }

    #[test]
    fn a_warmer_sample_is_stronger_than_it_reads(sg in 1.0..1.12_f64, t in 8.0..58.0_f64) {
        let at = |t| gravity::corrected(specific(sg), celsius(t), celsius(20.0)).unwrap().as_specific();
        prop_assert!(at(t) < at(t + 1.0));
    }

    #[test]
    fn drier_beer_is_stronger(og in 1.02..1.12_f64, part in 0.1..0.95_f64) {
        let (og, fg) = (specific(og), specific(1.0 + (og - 1.0) * (1.0 - part)));
        let drier = specific(fg.as_specific() - 0.001);
        prop_assert!(alcohol::by_volume(og, fg) < alcohol::by_volume(og, drier));
        prop_assert!(alcohol::real_attenuation(og, fg) < alcohol::apparent_attenuation(og, fg));
        prop_assert!(alcohol::by_weight(og, fg) < alcohol::by_volume(og, fg));
        let apart = alcohol::by_volume(og, fg) - alcohol::by_volume_additive(og, fg).unwrap();
        prop_assert!(apart.as_percent().abs() < 0.1, "{apart:?}");
        // Balling's balance gives back the wort.
        let real = alcohol::real_extract(gravity::plato(og), gravity::plato(fg));
        let wort = alcohol::original_extract(alcohol::by_weight(og, fg), real).as_degrees();
        prop_assert!((wort - gravity::plato(og).as_degrees()).abs() < 1e-6);
        let end = alcohol::present_gravity(og, alcohol::apparent_attenuation(og, fg)).as_specific();
        prop_assert!((end - fg.as_specific()).abs() < 3e-5);
    }

    #[test]
    fn warm_strong_and_high_wort_holds_less_oxygen(p in 0.0..24.0_f64, t in 1.0..38.0_f64, high in 0.0..3000.0_f64) {
        for method in [oxygen::Method::Air, oxygen::Method::Oxygen] {
            let held = |p, t, high| oxygen::saturation(method, &wort(p, t, 20.0, high)).median();
            let here = held(p, t, high);
            prop_assert!(held(p + 1.0, t, high) < here);
            prop_assert!(held(p, t + 1.0, high) < here);
            prop_assert!(held(p, t, high + 100.0) < here);
        }
    }

    #[test]
    fn a_longer_dose_brings_more_and_never_too_much(minutes in 0.1..60.0_f64, litres in 1.0..200.0_f64, p in 0.0..20.0_f64) {
        let wort = wort(p, 18.0, litres, 0.0);
        for method in GAS {
            let dosed = |minutes| {
                let time = Some(Span::minutes(minutes));
                oxygen::after(&Estimate::exact(0.0), method, time, Some(Flow::litres_per_minute(1.0)), &wort, "a")
            };
            let (short, long) = (dosed(minutes), dosed(1.5 * minutes));
            prop_assert!(short.median() <= long.median() * 1.005);
            let full = oxygen::saturation(method, &wort);
            prop_assert!(long.median() <= full.median() * 1.005 && long.high() <= full.high() * 1.01);
            // A second dose takes nothing away.
            let twice = oxygen::after(&short, method, Some(Span::minutes(1.0)), None, &wort, "b");
            prop_assert!(twice.median() >= 0.99 * short.median());
        }
    }

    #[test]
    fn the_time_for_a_dose_gives_that_dose(wanted in 1.0..6.5_f64, litres in 1.0..200.0_f64, flow in 0.1..5.0_f64) {
        let (wort, flow) = (wort(12.0, 18.0, litres, 0.0), Some(Flow::litres_per_minute(flow)));
        for method in GAS {
            let nothing = Estimate::exact(0.0);
            if let Some(time) = oxygen::time_for(Concentration::milligrams_per_litre(wanted), &nothing, method, flow, &wort) {
                let found = oxygen::after(&nothing, method, Some(time), flow, &wort, "a").median();
                prop_assert!((found / wanted - 1.0).abs() < 0.05, "{method:?} {wanted} {found}");
            }
        }
    }

    #[test]
    fn strength_and_extract_are_inverse(p in 0.01..39.9_f64, more in 0.001..1.0_f64) {
        let found = gravity::strength(gravity::extract(degrees(p))).as_degrees();
        prop_assert!((found - p).abs() < 1e-6, "{p} {found}");
        prop_assert!(gravity::room(Mass::grams(p)) < gravity::room(Mass::grams(p + more)));
    }

    #[test]
    fn worse_readings_make_worse_figures(og in 1.020..1.120_f64, part in 0.0..1.1_f64, error in 0.0..0.01_f64) {
        let known = |sg, error| (specific(sg), GravityDifference::specific(error));
        let fg = 1.0 + (og - 1.0) * (1.0 - part);
        for of in [alcohol::by_volume_error, alcohol::attenuation_error] {
            let at = |a, b| of(known(og, a), known(fg, b));
            prop_assert!(at(error, error) <= at(1.1 * error, error) && at(error, error) <= at(error, 1.1 * error));
        }
    }

    #[test]
    fn parts_of_a_whole_are_no_more_than_the_whole(a in any_number(), b in any_number(), rounds in 0..9_u32) {
        let (share, error) = (Share::fraction(a), Share::fraction(b));
        for part in [
            storage::acid_washed("jar"),
            storage::water_washed("jar"),
            starter::fresh("s"),
            supply::harvest_viability_as_measured(share, Some(error), "jar"),
            count::viability_as_read(share, error, "jar"),
        ] {
            prop_assert!(sound(&part) && part.high() <= 1.0 + 1e-12, "{part:?}");
        }
        prop_assert!(blend::drifted(a, rounds, "fen").is_none_or(|part| sound(&part)));
        prop_assert!(sound(&supply::slurry_as_counted(CellsPerMillilitre::billions(a), "jar")));
        prop_assert!(sound(&pitching::unknown(degrees(a), Volume::litres(b), "brew")));
    }

    #[test]
    fn more_wort_wants_more_yeast(p in 1.0..25.0_f64, litres in 1.0..100.0_f64) {
        let wants = |p, litres| pitching::target(pitching::ALE, degrees(p), Volume::litres(litres));
        prop_assert!(wants(p, litres) < wants(p, litres + 1.0));
        prop_assert!(wants(p, litres) < wants(p + 0.1, litres));
        prop_assert!(wants(p, litres) < pitching::target(pitching::LAGER, degrees(p), Volume::litres(litres)));
    }

    #[test]
    fn older_and_warmer_is_not_livelier(days in 0.0..200.0_f64, t in 0.0..30.0_f64, first in 0.0..1.0_f64) {
        for store in STORES {
            let aged = |t, days| storage::exposure(store, celsius(t), Span::days(days));
            prop_assert!(aged(t, days) <= aged(t, days + 1.0) && aged(t, days) <= aged(t + 1.0, days));
            // Spells add up.
            let apart = aged(t, first * days) + aged(t, (1.0 - first) * days);
            prop_assert!((apart - aged(t, days)).abs() < 1e-9 * (1.0 + apart));
            let left = |days| storage::left(SLURRY, aged(t, days), "jar");
            prop_assert!(left(days + 1.0).median() <= left(days).median());
            prop_assert!(left(days).high() <= 1.0 + 1e-12);
        }
    }

    #[test]
    fn a_larger_starter_grows_more(billions in 1.0..400.0_f64, litres in 0.1..10.0_f64, hours in 0.0..60.0_f64) {
        let pitched = uncertain(billions * 1e9, 0.3, "pack");
        for method in STARTERS {
            let grown = |litres, time| {
                starter::grown(&pitched, Volume::litres(litres), degrees(9.0), method, celsius(20.0), time, "s")
            };
            let end = grown(litres, None);
            prop_assert!(end.median() >= pitched.median() * (1.0 - 1e-9));
            prop_assert!(end.median() <= grown(1.1 * litres, None).median() * (1.0 + 1e-9));
            let (then, later) = (grown(litres, Some(Span::hours(hours))), grown(litres, Some(Span::hours(hours + 1.0))));
            prop_assert!(then.median() <= later.median() * (1.0 + 1e-9) && later.median() <= end.median() * (1.0 + 1e-9));
            let time = starter::time_to_finish(&pitched, Volume::litres(litres), degrees(9.0), method, celsius(20.0));
            let done = grown(litres, Some(time)).median();
            prop_assert!((done / end.median() - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn the_volume_for_a_starter_gives_that_starter(billions in 20.0..200.0_f64, times in 1.01..4.0_f64) {
        let pitched = Estimate::exact(billions * 1e9);
        let target = Cells::billions(billions * times);
        for method in STARTERS {
            if let Some(volume) = starter::volume_for(target, &pitched, degrees(9.0), method) {
                let end = starter::grown(&pitched, volume, degrees(9.0), method, celsius(20.0), None, "s").median();
                prop_assert!((end / target.as_each() - 1.0).abs() < 1e-6, "{method:?}");
            }
        }
    }

    #[test]
    fn a_cake_is_no_less_than_its_pitch(billions in 1.0..3000.0_f64, p in 0.0..25.0_f64) {
        let pitched = uncertain(billions * 1e9, 0.3, "pack");
        let left = |p| cake::left(&pitched, degrees(p), Volume::litres(20.0), "brew").median();
        prop_assert!(left(p) >= pitched.median() * 0.999_999);
        prop_assert!(left(p) <= left(p + 1.0) * 1.000_001);
    }

    #[test]
    fn carbonation_and_pressure_are_inverse(volumes in 0.2..6.0_f64, t in 0.0..40.0_f64) {
        let pressure = carbonation::pressure_at(CarbonDioxide::volumes(volumes), celsius(t));
        let back = carbonation::at_pressure(pressure, celsius(t)).as_volumes();
        prop_assert!((back - volumes).abs() < 1e-9);
        prop_assert!(carbonation::residual(celsius(t + 1.0)) < carbonation::residual(celsius(t)));
        for sugar in carbonation::Sugar::ALL {
            let beer = Volume::litres(20.0);
            if let Some(mass) = carbonation::sugar_for(CarbonDioxide::default(), CarbonDioxide::volumes(volumes), beer, sugar) {
                prop_assert!((sugar.carbonates(mass, beer).as_volumes() - volumes).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn beer_stays_between_its_room_and_its_heat(start in 5.0..25.0_f64, room in 5.0..25.0_f64, loss in 0.1..20.0_f64) {
        let batch = heat::Batch { volume: Volume::litres(20.0), strength: degrees(12.0), loss: HeatLoss::watts_per_kelvin(loss) };
        let hours: Vec<Span> = (0..20).map(|i| Span::hours(f64::from(i) * 12.0)).collect();
        let done = |t| heat::Course::ALE.done(t) * 0.65;
        let beer = batch.temperatures(celsius(start), &hours, done, |_| celsius(room));
        let most = start.max(room) + batch.rise_without_loss(Share::percent(65.0)).as_kelvin();
        for t in beer {
            prop_assert!(t.as_celsius() >= start.min(room) - 1e-9 && t.as_celsius() <= most + 1e-9);
        }
    }

    #[test]
    fn counting_more_tells_more(live in 5_u64..2000, dead in 0_u64..200) {
        let one = Count::total(live, dead, 5, 10.0);
        let ten = Count::total(10 * live, 10 * dead, 50, 10.0);
        prop_assert!((one.density("a").median() / ten.density("a").median() - 1.0).abs() < 1e-9);
        prop_assert!(ten.density("a").spread() < one.density("a").spread());
        prop_assert!(ten.still_to_count(0.1) <= one.still_to_count(0.1));
        let (low, high) = one.viability_range();
        let seen = live as f64 / (live + dead) as f64;
        prop_assert!(low.as_fraction() <= seen + 1e-12 && seen <= high.as_fraction() + 1e-12);
    }

    #[test]
    fn a_blend_lies_between_its_strains(a in 60.0..90.0_f64, b in 60.0..90.0_f64, share in 0.01..0.99_f64) {
        let found = blend::attenuation(&[(share, Share::percent(a)), (1.0 - share, Share::percent(b))]).unwrap();
        prop_assert!(found.low <= found.best && found.best <= found.high);
        prop_assert!(found.low.as_percent() >= a.min(b) - 1e-9 && found.high.as_percent() <= a.max(b) + 1e-9);
        let parts = blend::shares(&[uncertain(share, 0.3, "a"), uncertain(1.0 - share, 0.5, "b")]);
        prop_assert!(parts.iter().all(|part| sound(part) && part.high() <= 1.0 + 1e-9));
    }

    /// Whatever the numbers, as long as they are finite: an answer or a typed error, never NaN or infinity, never a panic.
    #[test]
    fn nothing_breaks(a in any_number(), b in any_number(), c in any_number(), d in any_number()) {
        let lot = "odd";
        let estimates = [Estimate::exact(a), uncertain(a, b, "x"), uncertain(c, d, "y"), uncertain(c, 0.3, "x").capped(d)];
        for one in &estimates {
            prop_assert!(sound(one), "{one:?}");
            for two in &estimates {
                let both = [one.clone() * two.clone(), one.clone() / two.clone(), one.clone() + two.clone(), one.clamped(0.0, 1.0) + two.clone()];
                for found in both {
                    prop_assert!(sound(&found), "{one:?} {two:?} {found:?}");
                }
                prop_assert!((0.0..=1.0).contains(&one.chance_below(two)));
            }
            prop_assert!(sound(&one.powered(c)) && sound(&one.decayed(b, c, d, FactorName::new("k", lot))));
            for method in GAS {
                let wort = wort(a, b, c, d);
                let dosed = oxygen::after(one, method, Some(Span::minutes(b)), Some(Flow::litres_per_minute(c)), &wort, lot);
                prop_assert!(sound(&dosed) && sound(&oxygen::saturation(method, &wort)), "{dosed:?}");
                prop_assert!(sound(&oxygen::after(one, method, None, None, &wort, lot)));
                let time = oxygen::time_for(Concentration::milligrams_per_litre(d), one, method, None, &wort);
                prop_assert!(time.is_none_or(Span::is_finite));
            }
            for method in STARTERS {
                let volume = Volume::litres(b);
                let time = Some(Span::hours(d));
                prop_assert!(sound(&starter::grown(one, volume, degrees(c), method, celsius(d), None, lot)));
                prop_assert!(sound(&starter::grown(one, volume, degrees(c), method, celsius(d), time, lot)));
                prop_assert!(starter::time_to_finish(one, volume, degrees(c), method, celsius(d)).is_finite());
                let wanted = starter::volume_for(Cells::billions(d), one, degrees(c), method);
                prop_assert!(wanted.is_none_or(Volume::is_finite));
            }
            prop_assert!(sound(&cake::left(one, degrees(b), Volume::litres(c), lot)));
        }
        prop_assert!(sound(&supply::pack(Cells::each(a), lot)) && sound(&supply::harvest_viability(Some(Share::fraction(a)), lot)));
        for store in STORES {
            let exposure = storage::exposure(store, celsius(a), Span::days(b));
            prop_assert!(exposure.is_finite() && exposure >= 0.0);
            prop_assert!(sound(&storage::left(storage::claimed(Share::fraction(c)), exposure, lot)));
            let loss = storage::pack_loss([Share::fraction(b), Share::fraction(c), Share::fraction(d)]);
            prop_assert!(sound(&storage::left(loss, d, lot)));
        }
        prop_assert!(sound(&Count::total(a as u64, b as u64, c as u32, d).live_density(lot)));
        prop_assert!(count::cells_for(a) > 0);
        prop_assert!(sound(&bitterness::boiled(Share::fraction(a), Mass::grams(b), Volume::litres(c), specific(d), Span::minutes(a))));
        let hops = bitterness::hops_for(Bitterness::ibu(a), Share::fraction(b), Volume::litres(c), specific(d), Span::minutes(a));
        prop_assert!(hops.is_none_or(Mass::is_finite));
        prop_assert!(sound(&flavour::Compound::Diacetyl.units(Concentration::milligrams_per_litre(a))));
        prop_assert!(blend::share_after(a, b, c, 7).is_finite());
        prop_assert!(sound(&heat::released(Mass::grams(a))));
    }

    #[test]
    fn plain_figures_stay_finite(a in -1e6..1e6_f64, b in -1e6..1e6_f64, c in -1e6..1e6_f64) {
        prop_assert!(gravity::plato(specific(a)).is_finite() && gravity::gravity(degrees(a)).is_finite());
        prop_assert!(gravity::extract(degrees(a)).is_finite());
        for share in [
            alcohol::by_volume(specific(a), specific(b)),
            alcohol::by_weight(specific(a), specific(b)),
            alcohol::apparent_attenuation(specific(a), specific(b)),
            alcohol::real_degree_of_fermentation(specific(a), specific(b)),
        ] {
            prop_assert!(share.is_finite() && share.as_fraction() >= 0.0, "{share:?}");
        }
        prop_assert!(alcohol::original_extract(Share::percent(a), degrees(b)).is_finite());
        prop_assert!(refractometer::wort(a, b).is_finite());
        prop_assert!(pitching::target(PitchRate::millions(a), degrees(b), Volume::litres(c)).is_finite());
        let pressure = carbonation::pressure_at(CarbonDioxide::volumes(a), celsius(b));
        prop_assert!(pressure.is_finite() && carbonation::at_pressure(Pressure::bar(a), celsius(b)).is_finite());
        let batch = heat::Batch { volume: Volume::litres(a), strength: degrees(b), loss: HeatLoss::watts_per_kelvin(c) };
        prop_assert!(batch.rise_without_loss(Share::fraction(a)).is_finite());
        prop_assert!(batch.power(Share::fraction(a), Span::hours(b)).is_finite());
        prop_assert!(batch.steady_rise(Power::watts(a)).is_none_or(|rise| rise.is_finite()));
        let beer = batch.temperatures(celsius(a), &[Span::hours(b), Span::hours(c)], |t| heat::Course::LAGER.done(t), |_| celsius(b));
        prop_assert!(beer.iter().all(|t| t.is_finite()));
    }
}

/// Where one rule hands over to the next there is no step.
#[test]
fn joins_are_continuous() {
    let near = |name: &str, at: f64, within: f64, figure: &dyn Fn(f64) -> f64| {
        let step = figure(at + 1e-9) - figure(at - 1e-9);
        assert!(step.abs() < within, "{name}: a step of {step} at {at}");
    };
    near("°P at the two fits", 1.083, 0.001, &|x| gravity::plato(specific(x)).as_degrees());
    for end in [0.95, 1.20] {
        near("°P beyond its range", end, 1e-5, &|x| gravity::plato(specific(x)).as_degrees());
    }
    for end in [16.0, 20.0] {
        near("strength factor", end, 1e-6, &|x| pitching::strength_factor(degrees(x)));
    }
    for end in [5.0, 5.75, 7.25, 9.0, 11.0] {
        near("donor", end, 1e-6, &|x| supply::harvest_viability(Some(Share::percent(x)), "").median());
    }
    let still = |x: f64| {
        let pitched = Estimate::exact(x * 1e9);
        starter::grown(&pitched, Volume::litres(1.0), degrees(9.0), Method::Still, celsius(20.0), None, "")
            .median()
            / 1e9
    };
    for crowding in [5.0, 100.0, 261.0] {
        near("still starter", crowding, 1e-5, &still);
    }
    let kept = |x: f64| {
        storage::left(SLURRY, storage::exposure(Store::Slurry, celsius(4.0), Span::days(x)), "").median()
    };
    near("storage at its beginning", 0.0, 1e-6, &kept);
    let shaken = |x: f64| {
        let time = Some(Span::seconds(x));
        oxygen::after(
            &Estimate::exact(0.0),
            oxygen::Method::Shake,
            time,
            None,
            &wort(12.0, 18.0, 20.0, 0.0),
            "",
        )
        .median()
    };
    near("shaking for a minute", 60.0, 1e-6, &shaken);
}

/// What lies out of range is refused with its name, value and range.
#[test]
fn out_of_range_is_a_typed_error() {
    let hot = gravity::corrected(specific(1.040), celsius(60.1), celsius(20.0)).unwrap_err();
    assert_eq!((hot.what, hot.unit, hot.value), ("the sample's temperature", "°C", 60.1));
    assert!(gravity::corrected(specific(1.040), celsius(60.0), celsius(20.0)).is_ok());
    assert!(gravity::corrected(specific(1.5), celsius(20.0), celsius(20.0)).is_err());
    assert!(gravity::corrected(specific(f64::NAN), celsius(20.0), celsius(20.0)).is_err());
    assert!(density::water(celsius(-0.1)).is_err() && density::water(celsius(100.1)).is_err());
    assert!(density::sucrose(degrees(41.0), celsius(20.0)).is_err());
    assert!(density::ethanol(Share::percent(101.0), celsius(20.0)).is_err());
    assert!(density::ethanol(Share::percent(5.0), celsius(41.0)).is_err());
    assert!(oxygen::saturation_water(celsius(41.0), 0.0).is_err());
    assert!(oxygen::saturation_water(celsius(20.0), 9000.0).is_err());
    let young = refractometer::beer(12.0, 9.0, 1.0).unwrap_err();
    assert_eq!(young.what, "the apparent attenuation");
    assert!(refractometer::brix(1.5).is_err());
    assert!(refractometer::temperature_correction(12.0, celsius(25.0)).is_err());
    assert!(alcohol::by_volume_additive(specific(1.048), specific(1.050)).is_err());
    assert!(alcohol::by_volume_additive(specific(1.048), specific(0.9)).is_err());
    for error in [hot, young] {
        assert!(error.to_string().starts_with(error.what), "{error}");
    }
}
