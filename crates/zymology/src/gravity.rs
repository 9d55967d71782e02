//! Specific gravity and degrees Plato, and a hydrometer read at another temperature than its own.

use barm_quantity::{Density, Extract, Gravity, GravityDifference, Mass, Plato, Temperature, Volume};

use crate::density::{sucrose_at, water_at};
use crate::{OutOfRange, solve};

/// ASBC Methods of Analysis, published with the extract table; fitted to 1.000–1.083.
const ASBC: [f64; 4] = [-616.868, 1111.14, -630.272, 135.997];
/// A fit to the NBS sucrose table, to 1.17874 (40 °P).
const NBS: [f64; 4] = [-669.5622, 1262.7794, -775.6821, 182.4601];
/// Where the first fit ends; the two meet here within 0.001 °P.
const JOIN: f64 = 1.083;
/// The readings between which both fits rise; beyond them the scale goes on in a straight line.
const RISING: (f64, f64) = (0.95, 1.20);
/// Below this the scale reads nothing: the first fit gives −0.003 °P for pure water.
const NOTHING: f64 = 0.005;
/// Density of air and of water at 20 °C over that of water at 4 °C, and this in kg/m³.
const AIR: f64 = 0.0012;
const WATER_20: f64 = 0.998_234;
const WATER_4: f64 = 999.972;

/// Degrees Plato at a specific gravity, and their slope.
fn scale(s: f64) -> (f64, f64) {
    let at = s.clamp(RISING.0, RISING.1);
    let [a, b, c, d] = if at <= JOIN { ASBC } else { NBS };
    let slope = b + at * (2.0 * c + at * 3.0 * d);
    (a + at * (b + at * (c + at * d)) + slope * (s - at), slope)
}

/// Degrees Plato of an apparent specific gravity 20/20 °C.
///
/// Good to 0.002 °P from 1.000 to 1.129 (30 °P), about 0.01 °P to 1.179; a hydrometer's own ±0.001 SG is 0.25
/// °P. Below 0.95 and above 1.20 the scale goes on in a straight line, so that it keeps rising; a reading
/// within 0.005 °P of water gives zero.
///
/// **Source:** ASBC Methods of Analysis, cubic with the extract table, to 1.083; cubic fitted to the table of
/// NBS Circular C440 above. **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::Gravity;
/// let strength = barm_zymology::gravity::plato(Gravity::specific(1.048));
/// assert!((strength.as_degrees() - 11.91).abs() < 0.01);
/// ```
#[must_use]
pub fn plato(gravity: Gravity) -> Plato {
    let (p, _) = scale(gravity.as_specific());
    Plato::degrees(if p.abs() < NOTHING { 0.0 } else { p })
}

/// What an error of one degree Plato is in specific gravity, and the other way about.
///
/// For errors alone: good to an eighth from 1.000 to 1.083. Strengths themselves go through [`plato`].
///
/// **Source:** the slope of [`plato`]. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::Plato;
/// use barm_zymology::gravity::{DEGREE, gravity};
/// for degrees in [0.5, 12.0, 20.0] {
///     let slope = gravity(Plato::degrees(degrees + 0.5)) - gravity(Plato::degrees(degrees - 0.5));
///     assert!((slope / DEGREE - 1.0).abs() < 0.125, "{degrees}");
/// }
/// ```
pub const DEGREE: GravityDifference = GravityDifference::specific(0.004);

/// Apparent specific gravity 20/20 °C of a strength in degrees Plato: the inverse of [`plato`], to 1e-9.
///
/// **Source and range:** those of [`plato`]. **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::Plato;
/// let gravity = barm_zymology::gravity::gravity(Plato::degrees(12.0));
/// assert!((gravity.as_specific() - 1.04837).abs() < 0.00001);
/// ```
#[must_use]
pub fn gravity(strength: Plato) -> Gravity {
    let p = strength.as_degrees();
    if p.abs() < NOTHING {
        return Gravity::specific(1.0);
    }
    // A rational approximation good to 2e-5 begins, Newton's rule ends.
    let begin = p.clamp(-13.0, 45.0);
    let mut s = 1.0 + begin / (258.6 - 227.1 * begin / 258.2);
    for _ in 0..6 {
        let (at, slope) = scale(s);
        s -= (at - p) / slope;
    }
    Gravity::specific(s)
}

/// True density at 20 °C of a liquid of this apparent specific gravity.
///
/// Holds for any gravity.
///
/// **Source:** the definition of apparent gravity, weighed in air of 1.2 g/L. **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::Gravity;
/// let wort = barm_zymology::gravity::density(Gravity::specific(1.04837));
/// assert!((wort.as_grams_per_millilitre() - 1.0464).abs() < 0.0001);
/// ```
#[must_use]
pub fn density(gravity: Gravity) -> Density {
    let relative = gravity.as_specific() * (WATER_20 - AIR) + AIR;
    Density::kilograms_per_cubic_metre(relative * WATER_4)
}

/// Apparent specific gravity 20/20 °C of a liquid of this true density at 20 °C: the inverse of [`density`].
///
/// Holds for any density.
///
/// **Source:** as [`density`]. **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::Density;
/// let gravity = barm_zymology::gravity::from_density(Density::grams_per_millilitre(1.046433));
/// assert!((gravity.as_specific() - 1.04837).abs() < 0.00001);
/// ```
#[must_use]
pub fn from_density(density: Density) -> Gravity {
    let relative = density.as_kilograms_per_cubic_metre() / WATER_4;
    Gravity::specific((relative - AIR) / (WATER_20 - AIR))
}

/// Extract in a litre of wort at 20 °C, as sucrose of the same density.
///
/// Never below zero.
///
/// **Source:** the definition of degrees Plato (Normal-Eichungskommission 1900) times the density.
/// **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::Plato;
/// let extract = barm_zymology::gravity::extract(Plato::degrees(12.0));
/// assert!((extract.as_grams_per_litre() - 125.6).abs() < 0.1);
/// ```
#[must_use]
pub fn extract(strength: Plato) -> Extract {
    let share = (strength.as_degrees() / 100.0).max(0.0);
    Extract::grams_per_litre(share * density(gravity(strength)).as_kilograms_per_cubic_metre())
}

/// Strength of a wort that holds so much extract in a litre: the inverse of [`extract`].
///
/// Never below 0 nor above 40 °P, where the tables end.
///
/// **Source and evidence:** those of [`extract`].
///
/// # Example
///
/// ```
/// use barm_quantity::Extract;
/// let strength = barm_zymology::gravity::strength(Extract::grams_per_litre(125.6));
/// assert!((strength.as_degrees() - 12.0).abs() < 0.01);
/// ```
#[must_use]
pub fn strength(held: Extract) -> Plato {
    let grams = |degrees| extract(Plato::degrees(degrees)).as_grams_per_litre();
    Plato::degrees(solve(0.0, 40.0, held.as_grams_per_litre(), grams))
}

/// Room that dissolved sugar takes in wort: 0.62 mL for each gram.
///
/// Negative amounts take none.
///
/// **Source:** the density of sucrose in solution, about 1.6 g/mL. **Evidence:** from memory; the example holds it against
/// the sucrose tables, from which the same follows.
///
/// # Example
///
/// ```
/// use barm_quantity::{Mass, Plato};
/// use barm_zymology::gravity::{density, extract, gravity, room};
/// // A litre of 12 °P is the room of its sugar and that of its water (998.2 g/L).
/// let (wort, sugar) = (density(gravity(Plato::degrees(12.0))), extract(Plato::degrees(12.0)));
/// let water = (wort.as_kilograms_per_cubic_metre() - sugar.as_grams_per_litre()) / 998.2;
/// let taken = room(Mass::grams(sugar.as_grams_per_litre()));
/// assert!((1.0 - water - taken.as_litres()).abs() < 0.001);
/// ```
#[must_use]
pub fn room(sugar: Mass) -> Volume {
    Volume::millilitres(0.62 * sugar.as_grams().max(0.0))
}

/// The temperatures that hydrometers are made for, °C, lowest and highest: mostly 15.6 °C (60 °F) or 20 °C.
///
/// **Evidence:** common practice.
///
/// # Example
///
/// ```
/// use barm_quantity::{Gravity, Temperature};
/// use barm_zymology::gravity::{CALIBRATED, corrected};
/// let (lowest, _) = CALIBRATED;
/// let sample = Temperature::celsius(20.0);
/// assert!(corrected(Gravity::specific(1.040), sample, Temperature::celsius(lowest)).is_ok());
/// assert!(corrected(Gravity::specific(1.040), sample, Temperature::celsius(60.0)).is_err());
/// ```
pub const CALIBRATED: (f64, f64) = (10.0, 30.0);

/// What a hydrometer would have read at its own temperature.
///
/// `reading` is what it showed in a sample at the temperature `sample`; `calibrated` is the temperature that
/// it is made for. Wort expands as a sucrose solution and the hydrometer as glass, by 25·10⁻⁶ of its volume
/// per kelvin. The answer is on the hydrometer's own scale: at its own temperature it changes nothing. In
/// fermented beer the same is used; alcohol raises the expansion a little, which is not corrected for.
///
/// Within 0.014 °P of the AOAC table from 10 to 25 °C and 0.05 °P from 5 to 50 °C. Above 40 °C the error of
/// the thermometer rules: 0.0005 SG for each kelvin.
///
/// **Source:** ICUMSA density; ISO 1768:1975 for the glass. **Evidence:** published, put together here
/// (derived).
///
/// # Errors
///
/// [`OutOfRange`] for a sample outside 0–60 °C, a hydrometer made for another temperature than 10–30 °C, a
/// reading outside 0.97–1.17.
///
/// # Example
///
/// ```
/// use barm_quantity::{Gravity, Temperature};
/// use barm_zymology::gravity;
/// let (sample, made_for) = (Temperature::celsius(30.0), Temperature::celsius(20.0));
/// let true_gravity = gravity::corrected(Gravity::specific(1.040), sample, made_for)?;
/// assert!((true_gravity.as_specific() - 1.04275).abs() < 0.00001);
/// # Ok::<(), barm_zymology::OutOfRange>(())
/// ```
pub fn corrected(
    reading: Gravity,
    sample: Temperature,
    calibrated: Temperature,
) -> Result<Gravity, OutOfRange> {
    const GLASS: f64 = 25e-6;
    let (r, t, own) = (reading.as_specific(), sample.as_celsius(), calibrated.as_celsius());
    OutOfRange::unless(0.97..=1.17, r, "the reading", "")?;
    OutOfRange::unless(0.0..=60.0, t, "the sample's temperature", "°C")?;
    OutOfRange::unless(CALIBRATED.0..=CALIBRATED.1, own, "the hydrometer's temperature", "°C")?;
    let density = r * water_at(own) / (1.0 + GLASS * (t - own));
    let strength = solve(-0.2, 0.6, density, |b| sucrose_at(b, t));
    Ok(Gravity::specific(sucrose_at(strength, own) / water_at(own)))
}
