//! Ten misprints and mix-ups that circulate, each shown to differ from what the crate says: a test for every one.

use barm_quantity::{CarbonDioxide, Density, Gravity, Mass, Plato, Share, Temperature, Volume};
use barm_zymology::{alcohol, carbonation, density, gravity, heat};

fn water(t: f64) -> f64 {
    density::water(Temperature::celsius(t)).map_or(f64::NAN, Density::as_kilograms_per_cubic_metre)
}

/// Kell's formula as printed in the open copy of Jones & Harris 1992 has 16.897850e-3 for 16.879850e-3.
#[test]
fn kells_denominator_is_misprinted() {
    let kell = |denominator: f64| {
        let t = 20.0_f64;
        let above = 999.83952
            + t * (16.945176
                + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12))));
        above / (1.0 + denominator * t)
    };
    assert!((water(20.0) - kell(16.879850e-3)).abs() < 0.01);
    assert!(water(20.0) - kell(16.897850e-3) > 0.2, "the misprint gives 997.94 for 998.20 kg/m³");
}

/// Copies of OIML R 22 with invented mixed coefficients pass at 20 °C and for water, where those terms vanish.
#[test]
fn ethanol_is_checked_where_the_mixed_terms_count() {
    let at = |percent, t| {
        density::ethanol(Share::percent(percent), Temperature::celsius(t))
            .unwrap()
            .as_kilograms_per_cubic_metre()
    };
    // Without the mixed terms the density would be that at 20 °C, moved as water's is.
    for (percent, t, expected) in [(10.0, 40.0, 974.78), (50.0, 10.0, 921.59), (20.0, 30.0, 963.91)] {
        let unmixed = at(percent, 20.0) + at(0.0, t) - at(0.0, 20.0);
        assert!((at(percent, t) - expected).abs() < 0.006);
        assert!((unmixed - expected).abs() > 0.5, "{percent} % at {t} °C");
    }
}

/// The ASBC cubic ends at 1.083: above, it reads low.
#[test]
fn the_asbc_cubic_is_not_used_above_its_end() {
    let asbc = |s: f64| -616.868 + s * (1111.14 + s * (-630.272 + s * 135.997));
    let ours = |s| gravity::plato(Gravity::specific(s)).as_degrees();
    assert!((ours(1.12913) - asbc(1.12913) - 0.025).abs() < 0.003, "0.025 °P at 30 °P");
    assert!((ours(1.10564) - asbc(1.10564) - 0.007).abs() < 0.003, "0.007 °P at 25 °P");
    // At water it reads −0.003, which is nothing here.
    assert!(asbc(1.0) < -0.002 && ours(1.0) == 0.0);
}

/// A volume of carbon dioxide is a litre at 0 °C, 1.977 g; pages that take a litre at room temperature say 1.83 g.
#[test]
fn a_volume_of_gas_is_cold() {
    assert!((CarbonDioxide::volumes(1.0).as_grams_per_litre() - 1.977).abs() < 1e-9);
    let litre = Volume::litres(1.0);
    let glucose = carbonation::sugar_for(
        CarbonDioxide::volumes(0.0),
        CarbonDioxide::volumes(1.0),
        litre,
        carbonation::Sugar::Glucose,
    );
    let grams = glucose.map(Mass::as_grams).unwrap();
    assert!((grams - 4.05).abs() < 0.01, "not the 3.7 g of a warm litre: {grams}");
}

/// 219 kJ per mole of glucose is a free energy and about twice the heat.
#[test]
fn heat_is_no_free_energy() {
    let kilojoules = heat::released(Mass::grams(180.156)).median();
    assert!((kilojoules - 106.0).abs() < 1.0);
    assert!(heat::released(Mass::grams(180.156)).high() < 0.6 * 219.0);
}

/// Real extract with 0.188 for 0.1808: the two coefficients must sum to one, so that unfermented wort keeps its extract.
#[test]
fn unfermented_wort_keeps_its_extract() {
    let strength = Plato::degrees(12.0);
    assert!((alcohol::real_extract(strength, strength).as_degrees() - 12.0).abs() < 1e-12);
    let same = Gravity::specific(1.048);
    assert_eq!(alcohol::by_volume(same, same).as_fraction(), 0.0);
}

/// A sucrose table headed "density in kg/m³" is relative density 20/20, and its row for 5 % is the 20/4 value.
#[test]
fn a_relative_density_is_no_density() {
    let table = [(1.0, 1003.89), (10.0, 1039.98), (20.0, 1082.87)];
    for (p, relative) in table {
        let gravity = gravity::gravity(Plato::degrees(p));
        let density = gravity::density(gravity).as_kilograms_per_cubic_metre();
        assert!((density / 0.998_206 - relative).abs() < 0.05, "{p}: {density}");
        assert!(relative - density > 1.7, "{p}: taken for a density it is wrong by 0.45 °P");
    }
    let five = gravity::density(gravity::gravity(Plato::degrees(5.0))).as_kilograms_per_cubic_metre();
    assert!((five - 1017.85).abs() < 0.05, "the misprinted row is a density");
}

/// 1 + P/(258.6 − 227.1·P/258.2) is good; the mangled form with a product in its place is not.
#[test]
fn the_inverse_is_not_mangled() {
    for p in [5.0, 12.0, 20.0, 25.0] {
        let exact = gravity::gravity(Plato::degrees(p)).as_specific();
        assert!((exact - (1.0 + p / (258.6 - 227.1 * p / 258.2))).abs() < 3e-5);
        assert!((exact - (1.0 + p / (258.6 - p / (258.2 * 227.1)))).abs() > 3e-4, "{p}");
    }
}

/// NBS Circular 457 prints 12.644 lb beside 5744 g for a gallon of 95 °Bx: the grams are right, so grams are checked here.
#[test]
fn grams_beside_pounds() {
    let pounds: f64 = 5744.0 / 453.592_37;
    assert!((pounds - 12.663).abs() < 0.001 && (pounds - 12.644) > 0.015);
    // Within the range of the model the table's grams hold: 20 °Bx at 20 °C, a US gallon in air.
    let solution = density::sucrose(Plato::degrees(20.0), Temperature::celsius(20.0)).unwrap();
    let in_air = (solution.as_grams_per_millilitre() - 0.0012) / (1.0 - 0.0012 / 8.4) * 3785.43;
    assert!((in_air - 4088.0).abs() < 0.6, "{in_air}");
}

/// Two copies of the ICUMSA polynomial differ, −3.9643 or −3.9646, in the coefficient of b⁴: no matter below 30 %.
#[test]
fn two_copies_of_a_coefficient_make_no_difference() {
    let b = 0.30_f64;
    assert!((3.9646 - 3.9643) * b.powi(4) < 1e-5);
    let found = density::sucrose(Plato::degrees(30.0), Temperature::celsius(20.0)).unwrap();
    let plato = gravity::density(gravity::gravity(Plato::degrees(30.0)));
    assert!((found - plato).as_kilograms_per_cubic_metre().abs() < 0.1);
}
