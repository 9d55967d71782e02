//! Densities of water, sucrose solutions and mixtures of ethanol and water.

use barm_quantity::{Density, Plato, Share, Temperature};

use crate::{OutOfRange, polynomial};

/// Ethanol at 20 °C, 789.24 kg/m³.
///
/// **Source:** OIML R 22 (1973). **Evidence:** published.
///
/// # Example
///
/// ```
/// assert!((barm_zymology::density::ETHANOL.as_grams_per_millilitre() - 0.78924).abs() < 1e-9);
/// ```
pub const ETHANOL: Density = Density::kilograms_per_cubic_metre(789.24);

/// Density of air-free water under one atmosphere, 0–100 °C, within 0.006 kg/m³.
///
/// **Source:** Bettin & Spieweck 1990 (the form of Kell 1975 on the temperature scale of 1990). **Evidence:**
/// published.
///
/// # Errors
///
/// [`OutOfRange`] outside 0–100 °C.
///
/// # Example
///
/// ```
/// use barm_quantity::Temperature;
/// let water = barm_zymology::density::water(Temperature::celsius(20.0))?;
/// assert!((water.as_kilograms_per_cubic_metre() - 998.2).abs() < 0.05);
/// # Ok::<(), barm_zymology::OutOfRange>(())
/// ```
pub fn water(temperature: Temperature) -> Result<Density, OutOfRange> {
    let t = temperature.as_celsius();
    OutOfRange::unless(0.0..=100.0, t, "the water's temperature", "°C")?;
    Ok(Density::kilograms_per_cubic_metre(water_at(t)))
}

/// kg/m³ at `t` °C.
pub(crate) fn water_at(t: f64) -> f64 {
    const NUMERATOR: [f64; 6] =
        [999.839_52, 16.952_577, -7.990_512_7e-3, -46.241_757e-6, 105.846_01e-9, -281.030_06e-12];
    polynomial(&NUMERATOR, t) / (1.0 + 16.887_236e-3 * t)
}

/// Density of a sucrose solution, which stands for wort: 0–40 °P, 0–60 °C.
///
/// Within 0.02 kg/m³ of Plato's table at 20 °C up to 10 °P, 0.08 kg/m³ (0.02 °P) at 30 °P.
///
/// **Source:** ICUMSA SPS-4, form published by the PTB, coefficients as two public programs carry them (one
/// after Llano 2005); the standard itself was not at hand. **Evidence:** published, from second hand.
///
/// # Errors
///
/// [`OutOfRange`] outside 0–40 °P or 0–60 °C.
///
/// # Example
///
/// ```
/// use barm_quantity::{Plato, Temperature};
/// use barm_zymology::density;
/// let wort = density::sucrose(Plato::degrees(12.0), Temperature::celsius(20.0))?;
/// assert!((wort.as_grams_per_millilitre() - 1.0464).abs() < 0.0001);
/// # Ok::<(), barm_zymology::OutOfRange>(())
/// ```
pub fn sucrose(strength: Plato, temperature: Temperature) -> Result<Density, OutOfRange> {
    let (p, t) = (strength.as_degrees(), temperature.as_celsius());
    OutOfRange::unless(0.0..=40.0, p, "the strength", "°P")?;
    OutOfRange::unless(0.0..=60.0, t, "the wort's temperature", "°C")?;
    Ok(Density::kilograms_per_cubic_metre(sucrose_at(p / 100.0, t)))
}

/// kg/m³ at the mass fraction `b` and `t` °C; a fraction a little below zero, as in dry beer, is
/// extrapolated.
pub(crate) fn sucrose_at(b: f64, t: f64) -> f64 {
    const C0: [f64; 6] = [385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890];
    const C1: [f64; 5] = [-46.2720, -7.1720, 1.1597, 5.1126, 17.5254];
    const C2: [f64; 4] = [59.7712, 7.2491, 12.3630, -35.4791];
    const C3: [f64; 3] = [-47.2207, -21.6977, 27.6301];
    const C4: [f64; 2] = [18.3184, 12.3081];
    let u = (t - 20.0) / 100.0;
    let rows: [&[f64]; 5] = [&C0, &C1, &C2, &C3, &C4];
    water_at(t) + polynomial(&rows.map(|row| b * polynomial(row, b)), u)
}

/// Density of ethanol and water, `ethanol` by mass, −20 to 40 °C, within 0.01 kg/m³ of the table.
///
/// The reference that the other models of alcohol are held against.
///
/// **Source:** OIML R 22 (1973), after Wagenbreth & Blanke; coefficients in a public transcription of its
/// page 13. **Evidence:** published.
///
/// # Errors
///
/// [`OutOfRange`] outside 0–100 % or −20…40 °C.
///
/// # Example
///
/// ```
/// use barm_quantity::{Share, Temperature};
/// use barm_zymology::density;
/// let spirit = density::ethanol(Share::percent(10.0), Temperature::celsius(10.0))?;
/// assert!((spirit.as_kilograms_per_cubic_metre() - 983.93).abs() < 0.01);
/// # Ok::<(), barm_zymology::OutOfRange>(())
/// ```
pub fn ethanol(ethanol: Share, temperature: Temperature) -> Result<Density, OutOfRange> {
    let (p, t) = (ethanol.as_fraction(), temperature.as_celsius());
    OutOfRange::unless(0.0..=100.0, 100.0 * p, "the alcohol by mass", "%")?;
    OutOfRange::unless(-20.0..=40.0, t, "the spirit's temperature", "°C")?;
    Ok(Density::kilograms_per_cubic_metre(ethanol_at(p, t)))
}

/// kg/m³ at the mass fraction `p` and `t` °C.
pub(crate) fn ethanol_at(p: f64, t: f64) -> f64 {
    const A: [f64; 12] = [
        998.201_23,
        -192.976_949_5,
        389.123_895_8,
        -1_668.103_923,
        13_522.154_41,
        -88_292.783_88,
        306_287.404_2,
        -613_838.123_4,
        747_017.299_8,
        -547_846.135_4,
        223_446.033_4,
        -39_032.854_26,
    ];
    const B: [f64; 7] = [
        0.0,
        -0.206_185_13,
        -5.268_254_2e-3,
        3.613_001_3e-5,
        -3.895_770_2e-7,
        7.169_354e-9,
        -9.973_923_1e-11,
    ];
    const C1: [f64; 11] = [
        0.169_344_346_153_008_7,
        -10.469_147_434_551_69,
        71.963_534_695_465_23,
        -704.747_805_427_279_2,
        3_924.090_430_035_045,
        -12_101.646_590_687_47,
        22_486.465_504_007_88,
        -26_055.629_821_881_64,
        18_523.739_220_694_67,
        -7_420.201_433_430_137,
        1_285.617_841_998_974,
    ];
    const C2: [f64; 10] = [
        -0.011_930_130_050_570_1,
        0.251_739_963_380_346_1,
        -2.170_575_700_536_993,
        13.530_349_888_430_29,
        -50.299_887_585_470_14,
        109.635_566_657_757,
        -142.275_394_642_115_5,
        108.043_594_285_623,
        -44.141_532_368_173_92,
        7.442_971_530_188_783,
    ];
    const C3: [f64; 9] = [
        -6.802_995_733_503_803e-4,
        1.876_837_790_289_664e-2,
        -0.200_256_181_373_415_6,
        1.022_992_966_719_22,
        -2.895_696_483_903_638,
        4.810_060_584_300_675,
        -4.672_147_440_794_683,
        2.458_043_105_903_461,
        -0.541_122_762_143_681_2,
    ];
    const C4: [f64; 4] = [
        4.075_376_675_622_027e-6,
        -8.763_058_573_471_11e-6,
        6.515_031_360_099_368e-6,
        -1.515_784_836_987_21e-6,
    ];
    const C5: [f64; 2] = [-2.788_074_354_782_409e-8, 1.345_612_883_493_354e-8];
    let d = t - 20.0;
    let rows: [&[f64]; 5] = [&C1, &C2, &C3, &C4, &C5];
    let mixed = polynomial(&rows.map(|row| p * polynomial(row, p)), d);
    polynomial(&A, p) + polynomial(&B, d) + d * mixed
}

/// Alcohol by volume at 20 °C of a mixture of ethanol and water whose alcohol by mass is `by_mass`.
///
/// **Source:** OIML R 22 (1973). **Evidence:** published.
///
/// # Errors
///
/// [`OutOfRange`] outside 0–100 %.
///
/// # Example
///
/// ```
/// use barm_quantity::Share;
/// let by_volume = barm_zymology::density::by_volume(Share::percent(5.0))?;
/// assert!((by_volume.as_percent() - 6.27).abs() < 0.01);
/// # Ok::<(), barm_zymology::OutOfRange>(())
/// ```
pub fn by_volume(by_mass: Share) -> Result<Share, OutOfRange> {
    let density = ethanol(by_mass, Temperature::celsius(20.0))?;
    Ok(Share::fraction(by_mass.as_fraction() * (density / ETHANOL)))
}
