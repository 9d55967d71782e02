//! The whole cake under a beer.

use barm_quantity::{Estimate, FactorName, Plato, Share, Span, Volume};

/// How long yeast under its own beer stays as live as at harvest, from the last reading that still fell; after that it
/// ages as slurry does, at the beer's temperature.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::cake::KEEPS.as_days(), 14.0);
/// ```
pub const KEEPS: Span = Span::days(14.0);

/// A brew of which no reading says so has made its cake after so long.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// use barm_zymology::{cake, heat};
/// assert!(heat::Course::LAGER.done(cake::MADE).as_percent() > 95.0);
/// ```
pub const MADE: Span = Span::days(7.0);

/// The part of the new cells that has grown so long after the pitch: none for 8 hours, all of them after 32, in a straight line
/// between.
///
/// **Evidence:** derived (judgement): yeast buds once its lag is over, and has grown long before the beer is done. A cold lager
/// is slower.
///
/// # Example
///
/// ```
/// use barm_quantity::Span;
/// use barm_zymology::cake::grown;
/// let after = |hours| grown(Span::hours(hours)).as_fraction();
/// assert_eq!((after(0.5), after(20.0), after(96.0)), (0.0, 0.5, 1.0));
/// ```
#[must_use]
pub fn grown(since: Span) -> Share {
    const BUDS: f64 = 8.0;
    const GROWN: f64 = 32.0;
    Share::fraction(((since.as_hours() - BUDS) / (GROWN - BUDS)).clamp(0.0, 1.0))
}

/// Cells in the whole cake at the end of a fermentation, living and dead, in single cells.
///
/// What was pitched and 3.0 (1.5–4.5) million new cells per millilitre and degree Plato, at most 100
/// million/mL. One factor of its own, "growth" of `lot`. A strength or volume below zero counts as none: what
/// was pitched is the cake.
///
/// **Source:** 25–60 million/mL at the end (*Yeast*, Brewers Publications 2010); enough for two or more
/// further pitches (Boulton & Quain 7.2.1); 100 million/mL is the most ever seen. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Estimate, Plato, Volume};
/// let pitched = Estimate::exact(180e9);
/// let cake = barm_zymology::cake::left(&pitched, Plato::degrees(12.0), Volume::litres(20.0), "tidemill-ale");
/// assert!((cake.median() / 1e9 - 900.0).abs() < 20.0);
/// ```
#[must_use]
pub fn left(pitched: &Estimate, strength: Plato, volume: Volume, lot: &str) -> Estimate {
    const MOST: f64 = 100e6;
    let millilitres = volume.as_millilitres().max(0.0);
    let (low, best, high) = (1.5e6, 3.0e6, 4.5e6);
    let new = Estimate::band(low, best, high, FactorName::new("growth", lot))
        .scaled(strength.as_degrees().max(0.0) * millilitres);
    let grown: Estimate = [pitched.clone(), new].into_iter().sum();
    // A cake never holds less than what went in, however little wort there was.
    grown.capped((MOST * millilitres).max(pitched.median()))
}

/// The part of a cake that is left once a jar was filled out of it. `jar`: its cells as a part of all that there were.
///
/// What is left is the difference of two guesses, and has the range of both; a hundredth sticks to any vessel. A jar that may
/// have held all of the cake leaves no more than that at the low end.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// use barm_quantity::{Estimate, FactorName};
/// use barm_zymology::cake;
/// let jar = Estimate::band(0.5, 1.0, 2.0, FactorName::new("cell density", "jar-1"));
/// let behind = cake::behind(&jar);
/// assert_eq!(behind.median(), cake::STICKS.as_fraction());
/// assert!((behind.high() - 0.5).abs() < 0.001);
/// ```
#[must_use]
pub fn behind(jar: &Estimate) -> Estimate {
    jar.mapped(|jar| (1.0 - jar).max(STICKS.as_fraction()))
}

/// The part of a cake that a jar always leaves.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::cake::STICKS.as_percent(), 1.0);
/// ```
pub const STICKS: Share = Share::fraction(0.01);

/// The part of its usual cake that a beer lays down when its yeast was cropped from the top while it worked. `crop`: its cells as a
/// part of all that there were.
///
/// The beer goes on growing: what is cropped comes on top of the cake, and both together are one cake and one crop, which is all
/// that there were at the most. How far it makes up for it is known to a factor of 1.5 either way, "cake after a crop" of `lot`.
///
/// **Evidence:** derived (judgement): beers that are cropped from the top lay down a cake all the same.
///
/// # Example
///
/// ```
/// use barm_quantity::Estimate;
/// let left = barm_zymology::cake::after_crop(&Estimate::exact(1.0), "tidemill-ale");
/// assert!((left.low() - 0.33).abs() < 0.01 && left.median() == 0.5 && left.high() < 0.76);
/// ```
#[must_use]
pub fn after_crop(crop: &Estimate, lot: &str) -> Estimate {
    let left = Estimate::band(1.0 / 1.5, 1.0, 1.5, FactorName::new("cake after a crop", lot));
    (crop.mapped(|crop| 1.0 / (1.0 + crop.min(1.0))) * left).capped(1.0)
}
