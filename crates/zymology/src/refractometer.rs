//! Refractometer readings, in wort and in beer.

use barm_quantity::{Gravity, GravityDifference, Plato, Temperature};

use crate::{OutOfRange, gravity, polynomial};

/// What a refractometer reads in wort over its degrees Plato, where the brewer has not measured it.
///
/// Instruments and worts differ from about 1.00 to 1.06.
///
/// **Evidence:** common practice.
///
/// # Example
///
/// ```
/// use barm_zymology::refractometer::{WORT_FACTOR, wort};
/// assert!((wort(12.48, WORT_FACTOR).as_degrees() - 12.0).abs() < 1e-9);
/// ```
pub const WORT_FACTOR: f64 = 1.04;

/// What the strength of a [`wort`] by refractometer may be out by, nine times in ten.
///
/// **Source:** half a step of the scale, and what instruments' wort factors differ by. **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::refractometer::WORT_ERROR.as_degrees(), 0.3);
/// ```
pub const WORT_ERROR: Plato = Plato::degrees(0.3);

/// What the gravity of a [`beer`] by refractometer may be out by, nine times in ten.
///
/// **Source:** Terrill 2011, 68 independent beers. **Evidence:** published (web article with data).
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::refractometer::BEER_ERROR.as_points(), 2.0);
/// ```
pub const BEER_ERROR: GravityDifference = GravityDifference::specific(0.002);

/// The factors that are believed; one beyond is taken at the nearer end.
const FACTORS: (f64, f64) = (0.9, 1.2);

fn factor(wort_factor: f64) -> f64 {
    wort_factor.clamp(FACTORS.0, FACTORS.1)
}

/// Strength of unfermented wort from a reading in degrees Brix, which counts everything dissolved as sucrose.
///
/// `wort_factor`: see [`WORT_FACTOR`]; outside 0.9–1.2 the nearer end is taken. Never below zero.
///
/// **Evidence:** common practice.
///
/// # Example
///
/// ```
/// let wort = barm_zymology::refractometer::wort(12.48, 1.04);
/// assert!((wort.as_degrees() - 12.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn wort(brix: f64, wort_factor: f64) -> Plato {
    Plato::degrees((brix / factor(wort_factor)).max(0.0))
}

/// Gravity of fermented beer, ±0.002 SG, from the readings before and after fermentation in degrees Brix.
///
/// Both readings are divided by `wort_factor` here. Fitted to beers of original gravity 1.036–1.106 and
/// tested on 68 independent ones. Alcohol bends light too, so that no formula of two readings works in beer
/// that is still young: an apparent attenuation below 60 % is refused, as are readings outside 5–30 °Bx
/// before and 0–20 °Bx after.
///
/// **Source:** Terrill 2011, linear correlation. **Evidence:** published (web article with data).
///
/// # Errors
///
/// [`OutOfRange`] for a reading outside 5–30 °Bx before or 0–20 °Bx after, and for an apparent attenuation
/// outside 60–110 %.
///
/// # Example
///
/// ```
/// let beer = barm_zymology::refractometer::beer(16.2, 7.8, 1.04)?;
/// assert!((beer.as_specific() - 1.0129).abs() < 0.0001);
/// let young = barm_zymology::refractometer::beer(12.0, 9.0, 1.0);
/// assert!(young.is_err());
/// # Ok::<(), barm_zymology::OutOfRange>(())
/// ```
pub fn beer(initial_brix: f64, final_brix: f64, wort_factor: f64) -> Result<Gravity, OutOfRange> {
    OutOfRange::unless(5.0..=30.0, initial_brix, "the reading before fermentation", "°Bx")?;
    OutOfRange::unless(0.0..=20.0, final_brix, "the reading after fermentation", "°Bx")?;
    let before = wort(initial_brix, wort_factor);
    let after = wort(final_brix, wort_factor);
    let found =
        Gravity::specific(1.0 - 0.000_856_83 * before.as_degrees() + 0.003_494_1 * after.as_degrees());
    let attenuation = 1.0 - gravity::plato(found).as_degrees() / before.as_degrees();
    OutOfRange::unless(60.0..=110.0, 100.0 * attenuation, "the apparent attenuation", "%")?;
    Ok(found)
}

/// Degrees Brix at a refractive index (589 nm, 20 °C), 1.333–1.42, within 0.03 °Bx.
///
/// **Source:** a fit to the ICUMSA table, coefficients as rounded in a public program. **Evidence:**
/// published, from second hand.
///
/// # Errors
///
/// [`OutOfRange`] outside 1.333–1.42.
///
/// # Example
///
/// ```
/// let brix = barm_zymology::refractometer::brix(1.34782)?;
/// assert!((brix - 10.0).abs() < 0.03);
/// # Ok::<(), barm_zymology::OutOfRange>(())
/// ```
pub fn brix(refractive_index: f64) -> Result<f64, OutOfRange> {
    const FIT: [f64; 6] = [-99_127.453_6, 318_417.95, -413_145.80, 270_177.93, -88_885.21, 11_758.74];
    OutOfRange::unless(1.333..=1.42, refractive_index, "the refractive index", "")?;
    Ok(polynomial(&FIT, refractive_index))
}

/// Degrees Brix to add to the reading of an instrument without temperature compensation, 5–20 °C.
///
/// Straight lines between the columns of the table (10, 15 and 20 °Bx; beyond them the nearer one) and
/// between its rows.
///
/// **Source:** OIV MA-AS2-02, Table I. **Evidence:** published.
///
/// # Errors
///
/// [`OutOfRange`] outside 5–20 °C (the table goes on, but was not at hand) or 0–30 °Bx.
///
/// # Example
///
/// ```
/// use barm_quantity::Temperature;
/// let add = barm_zymology::refractometer::temperature_correction(12.0, Temperature::celsius(15.0))?;
/// assert!((add + 0.324).abs() < 0.001);
/// # Ok::<(), barm_zymology::OutOfRange>(())
/// ```
pub fn temperature_correction(brix: f64, temperature: Temperature) -> Result<f64, OutOfRange> {
    const ROWS: [(f64, [f64; 3]); 6] = [
        (5.0, [-0.82, -0.87, -0.92]),
        (10.0, [-0.59, -0.62, -0.65]),
        (12.0, [-0.49, -0.51, -0.53]),
        (15.0, [-0.32, -0.33, -0.34]),
        (17.0, [-0.20, -0.20, -0.21]),
        (20.0, [0.0, 0.0, 0.0]),
    ];
    let t = temperature.as_celsius();
    OutOfRange::unless(5.0..=20.0, t, "the sample's temperature", "°C")?;
    OutOfRange::unless(0.0..=30.0, brix, "the reading", "°Bx")?;
    let across = |[ten, fifteen, twenty]: [f64; 3]| {
        let at = ((brix - 10.0) / 5.0).clamp(0.0, 2.0);
        if at <= 1.0 { ten + at * (fifteen - ten) } else { fifteen + (at - 1.0) * (twenty - fifteen) }
    };
    let points = ROWS.map(|(row, columns)| (row, across(columns)));
    Ok(crate::between(&points, t))
}
