//! Alcohol, attenuation and real extract from gravities.
//!
//! A hydrometer reads beer too low, because alcohol is lighter than water: what it reads is the *apparent*
//! extract. The *real* extract is what would be left in the pan. All here rests on Balling's mass balance: 2.0665 g of
//! extract give 1 g of alcohol, 0.9565 g of carbon dioxide and 0.11 g of yeast.

use barm_quantity::{Gravity, GravityDifference, Plato, Share, Temperature};

use crate::{OutOfRange, density, gravity, solve};

/// Beer's density over ethanol's at 20 °C, for a specific gravity of one: 998.203/789.24.
const WATER_OVER_ETHANOL: f64 = 998.203 / 789.24;

/// Alcohol per degree Plato of real extract lost, both by mass, for an original extract in °P.
fn per_lost(original: f64) -> f64 {
    // Wort above 60 °P does not ferment; the bound only keeps the quotient positive.
    1.0 / (2.0665 - 0.010_665 * original.clamp(0.0, 60.0))
}

/// Per cent by mass, not below zero.
fn percent_by_mass(original: Gravity, present: Gravity) -> f64 {
    let original = gravity::plato(original);
    let real = real_extract(original, gravity::plato(present));
    (original.as_degrees() - real.as_degrees()).max(0.0) * per_lost(original.as_degrees())
}

/// Extract really left in beer: 0.1808 × original + 0.8192 × apparent, in °P.
///
/// 0.1–0.2 °P low on average over 532 brews (Cutaia, Reid & Speers 2009, J. Inst. Brew. 115, 318–327).
/// Original 5–25 °P, apparent attenuation above 40 %; beyond them the same line goes on.
///
/// **Source:** Balling 1843–65, after Nielsen et al. 2007. **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::Plato;
/// let real = barm_zymology::alcohol::real_extract(Plato::degrees(11.91), Plato::degrees(2.56));
/// assert!((real.as_degrees() - 4.25).abs() < 0.01);
/// ```
#[must_use]
pub fn real_extract(original: Plato, apparent: Plato) -> Plato {
    Plato::degrees(0.1808 * original.as_degrees() + 0.8192 * apparent.as_degrees())
}

/// Real extract where a laboratory has measured the alcohol by mass: better than [`real_extract`], within
/// 0.05 °P.
///
/// Alcohol 0–12 % by mass; beyond that the same curve goes on.
///
/// **Source:** a maltster's technical page, checked against the means of Cutaia, Reid & Speers 2009.
/// **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::{Plato, Share};
/// use barm_zymology::alcohol;
/// let real = alcohol::real_extract_measured(Plato::degrees(3.11), Share::percent(4.72));
/// assert!((real.as_degrees() - 5.25).abs() < 0.01);
/// ```
#[must_use]
pub fn real_extract_measured(apparent: Plato, alcohol_by_weight: Share) -> Plato {
    let a = alcohol_by_weight.as_percent();
    Plato::degrees((apparent.as_degrees() + a * (0.4654 - 0.003_615 * a)) / 0.9962)
}

/// Strength of the wort that beer of this alcohol and real extract came from.
///
/// Within 0.25 °P (Cutaia, Reid & Speers 2009). Holds for 5–25 °P; the same formula goes on beyond.
///
/// **Source:** Balling 1843–65, after Nielsen et al. 2007: 100·(2.0665·A + RE)/(100 + 1.0665·A).
/// **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::{Plato, Share};
/// use barm_zymology::alcohol;
/// let wort = alcohol::original_extract(Share::percent(3.95), Plato::degrees(4.25));
/// assert!((wort.as_degrees() - 11.91).abs() < 0.01);
/// ```
#[must_use]
pub fn original_extract(alcohol_by_weight: Share, real: Plato) -> Plato {
    let a = alcohol_by_weight.as_percent().clamp(0.0, 100.0);
    Plato::degrees(100.0 * (2.0665 * a + real.as_degrees()) / (100.0 + 1.0665 * a))
}

/// Alcohol by weight, ±0.15 percentage points.
///
/// Zero where nothing has fermented. Original 5–25 °P, apparent attenuation above 40 %; beyond them the
/// formula goes on.
///
/// **Source:** Balling 1843–65: (OE − RE)/(2.0665 − 0.010665·OE). **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::Gravity;
/// let weight = barm_zymology::alcohol::by_weight(Gravity::specific(1.048), Gravity::specific(1.010));
/// assert!((weight.as_percent() - 3.95).abs() < 0.005);
/// ```
#[must_use]
pub fn by_weight(original: Gravity, present: Gravity) -> Share {
    Share::percent(percent_by_mass(original, present).min(100.0))
}

/// Alcohol by volume at 20 °C, ±0.2 percentage points: worth one decimal.
///
/// It lies 2–2.5 % (of itself) above the factors of the British excise. Zero where nothing has fermented;
/// range as [`by_weight`].
///
/// **Source:** Balling 1843–65; density of ethanol OIML R 22. **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::Gravity;
/// let volume = barm_zymology::alcohol::by_volume(Gravity::specific(1.048), Gravity::specific(1.010));
/// assert!((volume.as_percent() - 5.05).abs() < 0.005);
/// ```
#[must_use]
pub fn by_volume(original: Gravity, present: Gravity) -> Share {
    let weight = by_weight(original, present);
    Share::fraction((weight.as_fraction() * present.as_specific().max(0.0) * WATER_OVER_ETHANOL).min(1.0))
}

/// What alcohol [`by_volume`] from good hydrometer readings may be out by, nine times in ten.
///
/// **Source:** Cutaia, Reid & Speers 2009 for the balance; ±0.001 SG in each reading is another 0.13 points. **Evidence:**
/// derived.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::alcohol::ERROR.as_percent(), 0.2);
/// ```
pub const ERROR: Share = Share::percent(0.2);

/// What alcohol [`by_volume`] may be out by, nine times in ten, where the gravities are known to this: never less than
/// [`ERROR`].
///
/// **Source:** the slopes of [`by_volume`], errors taken as independent. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Gravity, GravityDifference};
/// use barm_zymology::alcohol::{ERROR, by_volume_error};
/// let (wort, beer) = (Gravity::specific(1.048), Gravity::specific(1.010));
/// let (fine, coarse) = (GravityDifference::specific(0.001), GravityDifference::specific(0.003));
/// assert_eq!(by_volume_error((wort, fine), (beer, fine)), ERROR);
/// assert!((by_volume_error((wort, coarse), (beer, coarse)).as_percent() - 0.57).abs() < 0.02);
/// ```
#[must_use]
pub fn by_volume_error(
    (original, original_error): (Gravity, GravityDifference),
    (present, present_error): (Gravity, GravityDifference),
) -> Share {
    let here = by_volume(original, present);
    let stronger = (by_volume(original + original_error, present) - here).as_fraction();
    let drier = (by_volume(original, present - present_error) - here).as_fraction();
    Share::fraction(stronger.hypot(drier)).max(ERROR)
}

/// Alcohol by volume by Tabarie's principle, a cross-check on [`by_volume`] that does without its 0.1808
/// rule.
///
/// What the real extract and the alcohol, each alone in water, would add to the density is added up until it
/// meets the beer's. It gives 0.04–0.07 percentage points less than [`by_volume`]. Holds below 5 % sugar and
/// 18 % ethanol (Hackbarth 2011, J. Am. Soc. Brew. Chem. 69, 39–43).
///
/// **Source:** Tabarie's principle with OIML R 22 and Balling's balance. **Evidence:** derived.
///
/// # Errors
///
/// [`OutOfRange`] for an original outside 1–30 °P and a present gravity above the original or below 0.97.
///
/// # Example
///
/// ```
/// use barm_quantity::Gravity;
/// use barm_zymology::alcohol;
/// let beer = alcohol::by_volume_additive(Gravity::specific(1.048), Gravity::specific(1.010))?;
/// assert!((beer.as_percent() - 4.99).abs() < 0.01);
/// # Ok::<(), barm_zymology::OutOfRange>(())
/// ```
pub fn by_volume_additive(original: Gravity, present: Gravity) -> Result<Share, OutOfRange> {
    let oe = gravity::plato(original).as_degrees();
    OutOfRange::unless(1.0..=30.0, oe, "the original strength", "°P")?;
    OutOfRange::unless(0.97..=original.as_specific(), present.as_specific(), "the present gravity", "")?;
    let water = density::ethanol(Share::fraction(0.0), Temperature::celsius(20.0))?;
    let beer_gravity = |a: f64| {
        let real = oe - a / per_lost(oe);
        let spirit = density::ethanol_at(a / 100.0, 20.0) / water.as_kilograms_per_cubic_metre();
        gravity::gravity(Plato::degrees(real)).as_specific() + spirit - 1.0
    };
    // Gravity falls as alcohol rises, so the sign is turned for the solver.
    let a = solve(0.0, oe * per_lost(oe), -present.as_specific(), |a| -beer_gravity(a));
    Ok(Share::percent(a * present.as_specific() * WATER_OVER_ETHANOL))
}

/// Part of the extract that is gone, `left` by whatever measure.
fn attenuation(original: f64, left: f64) -> Share {
    if original > 0.0 { Share::fraction(((original - left) / original).max(0.0)) } else { Share::default() }
}

/// Apparent attenuation: the part of the wort's extract that a hydrometer no longer sees, in °P over °P.
///
/// Zero where nothing has fermented or the wort was water; above 100 % in very dry beer.
///
/// **Source:** definition. **Evidence:** published (any brewing text).
///
/// # Example
///
/// ```
/// use barm_quantity::Gravity;
/// use barm_zymology::alcohol;
/// let part = alcohol::apparent_attenuation(Gravity::specific(1.048), Gravity::specific(1.010));
/// assert!((part.as_percent() - 78.5).abs() < 0.1);
/// ```
#[must_use]
pub fn apparent_attenuation(original: Gravity, present: Gravity) -> Share {
    attenuation(gravity::plato(original).as_degrees(), gravity::plato(present).as_degrees())
}

/// What [`apparent_attenuation`] may be out by, nine times in ten, where the gravities are known to this.
///
/// A wort below 1.005 counts as that: of nearly nothing no part is known.
///
/// **Source:** the slopes of the definition, errors taken as independent. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Gravity, GravityDifference};
/// use barm_zymology::alcohol::attenuation_error;
/// let error = GravityDifference::specific(0.001);
/// let known = attenuation_error((Gravity::specific(1.048), error), (Gravity::specific(1.012), error));
/// assert!((known.as_percent() - 2.15).abs() < 0.01);
/// ```
#[must_use]
pub fn attenuation_error(
    (original, original_error): (Gravity, GravityDifference),
    (present, present_error): (Gravity, GravityDifference),
) -> Share {
    let points = (original.as_specific() - 1.0).max(0.005);
    let left = (present.as_specific() - 1.0) / points;
    Share::fraction(present_error.as_specific().hypot(left * original_error.as_specific()) / points)
}

/// Real attenuation: the part of the wort's extract that is really gone, about 0.81 of the apparent.
///
/// Zero where nothing has fermented or the wort was water.
///
/// **Source:** definition, with [`real_extract`]. **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::Gravity;
/// use barm_zymology::alcohol;
/// let part = alcohol::real_attenuation(Gravity::specific(1.048), Gravity::specific(1.010));
/// assert!((part.as_percent() - 64.3).abs() < 0.1);
/// ```
#[must_use]
pub fn real_attenuation(original: Gravity, present: Gravity) -> Share {
    let original = gravity::plato(original);
    let real = real_extract(original, gravity::plato(present));
    attenuation(original.as_degrees(), real.as_degrees())
}

/// Real degree of fermentation as the ASBC reckons it: 1–3 percentage points above [`real_attenuation`].
///
/// Zero where nothing has fermented or the wort was water.
///
/// **Source:** ASBC Methods of Analysis, factor 0.005161. **Evidence:** from memory (only its size is
/// confirmed).
///
/// # Example
///
/// ```
/// use barm_quantity::Gravity;
/// use barm_zymology::alcohol;
/// let part = alcohol::real_degree_of_fermentation(Gravity::specific(1.048), Gravity::specific(1.010));
/// assert!((part.as_percent() - 65.7).abs() < 0.1);
/// ```
#[must_use]
pub fn real_degree_of_fermentation(original: Gravity, present: Gravity) -> Share {
    let real = real_extract(gravity::plato(original), gravity::plato(present)).as_degrees();
    real_attenuation(original, present) / (1.0 - 0.005_161 * real.clamp(0.0, 100.0))
}

/// Extract of this wort that fermentation takes, in °P, at an apparent attenuation: 0.8192 of what the
/// hydrometer sees go.
///
/// `apparent` outside 0–110 % is taken at the nearer end.
///
/// **Source:** Balling, as [`real_extract`]. **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::{Plato, Share};
/// let gone = barm_zymology::alcohol::extract_fermented(Plato::degrees(12.0), Share::percent(80.0));
/// assert!((gone.as_degrees() - 7.86).abs() < 0.01);
/// ```
#[must_use]
pub fn extract_fermented(original: Plato, apparent: Share) -> Plato {
    Plato::degrees(0.8192 * original.as_degrees() * apparent.as_fraction().clamp(0.0, 1.1))
}

/// Gravity that a wort ends at when it attenuates, by the hydrometer, to this share.
///
/// The inverse of [`apparent_attenuation`]; a share outside 0–110 % is taken at the nearer end.
///
/// **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Gravity, Share};
/// let end = barm_zymology::alcohol::present_gravity(Gravity::specific(1.048), Share::percent(78.5));
/// assert!((end.as_specific() - 1.010).abs() < 0.0001);
/// ```
#[must_use]
pub fn present_gravity(original: Gravity, apparent: Share) -> Gravity {
    let left = 1.0 - apparent.as_fraction().clamp(0.0, 1.1);
    gravity::gravity(Plato::degrees(gravity::plato(original).as_degrees() * left))
}

/// Apparent attenuation of a wort that is not all malt: its malt attenuates to `malt`; `sugar`, a part of all
/// extract, ferments wholly; `left`, another part (lactose, maltodextrin), not at all.
///
/// Sugar alone comes to 122 %, for alcohol makes the hydrometer read low. Parts below zero count as none; where
/// they come to more than the whole there is no malt. `malt` outside 0–110 % is taken at the nearer end.
///
/// **Source:** Balling, as [`real_extract`]: what ferments adds up. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::Share;
/// let tenth_sugar = barm_zymology::alcohol::attenuation_with(
///     Share::percent(75.0), Share::percent(10.0), Share::percent(0.0),
/// );
/// assert!((tenth_sugar.as_percent() - 79.7).abs() < 0.1);
/// ```
#[must_use]
pub fn attenuation_with(malt: Share, sugar: Share, left: Share) -> Share {
    let sugar = sugar.as_fraction().max(0.0);
    let rest = (1.0 - sugar - left.as_fraction().max(0.0)).max(0.0);
    let one = Plato::degrees(1.0);
    let fermented = extract_fermented(one, malt).as_degrees() * rest + sugar;
    Share::fraction(fermented / extract_fermented(one, Share::percent(100.0)).as_degrees())
}
