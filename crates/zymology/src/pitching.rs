//! How much yeast a wort wants.
//!
//! The literature spans 0.4 to 2.9 million live cells per millilitre and degree Plato; a figure from here is
//! good to a factor of 1.5 either way, and no smaller difference is worth a warning.

use barm_quantity::{
    Cells, CellsPerMillilitre, Concentration, Estimate, FactorName, Mass, PitchRate, Plato, Volume,
};

/// Ale: 0.75 (0.5–1.0) million live cells per millilitre and degree Plato.
///
/// **Source:** Fix 1997, *An Analysis of Brewing Techniques*, from second hand. **Evidence:** published.
///
/// # Example
///
/// ```
/// assert!(barm_zymology::pitching::ALE < barm_zymology::pitching::LAGER);
/// ```
pub const ALE: PitchRate = PitchRate::millions(0.75);
/// Lager: 1.5 (1.0–2.0) million live cells per millilitre and degree Plato.
///
/// **Source and evidence:** as [`ALE`].
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::pitching::LAGER / barm_zymology::pitching::ALE, 2.0);
/// ```
pub const LAGER: PitchRate = PitchRate::millions(1.5);
/// Cool-fermented ale and warm-fermented lager: 1.0 (0.75–1.5).
///
/// **Evidence:** derived, between the other two.
///
/// # Example
///
/// ```
/// assert_eq!(barm_zymology::pitching::HYBRID.as_millions(), 1.0);
/// ```
pub const HYBRID: PitchRate = PitchRate::millions(1.0);
/// Dry yeast for ale, by mass at its first use: 50 g/hL, the low end of 50–80.
///
/// **Source:** a dry-yeast maker's article, 2023. **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::Volume;
/// // 50 g/hL: 10 g for 20 L.
/// let per_litre = barm_zymology::pitching::DRY_ALE.as_grams_per_litre();
/// assert!((per_litre * Volume::litres(20.0).as_litres() - 10.0).abs() < 1e-12);
/// ```
pub const DRY_ALE: Concentration = Concentration::grams_per_litre(0.5);
/// Dry yeast for lager, by mass at its first use: 80 g/hL, the low end of 80–120.
///
/// **Source and evidence:** as [`DRY_ALE`].
///
/// # Example
///
/// ```
/// assert!(barm_zymology::pitching::DRY_LAGER > barm_zymology::pitching::DRY_ALE);
/// ```
pub const DRY_LAGER: Concentration = Concentration::grams_per_litre(0.8);

/// How much more yeast per degree Plato a strong wort wants: 1 to 16 °P, rising evenly to 1.26 at 20 °P, then
/// 1.26.
///
/// Every source that was seen ends at 23 °P.
///
/// **Source:** the ratio of the two optima of Suihko, Vilpola & Linko 1993 (J. Inst. Brew. 99, 341–346):
/// 2.9/2.3; the ramp only joins them. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::Plato;
/// assert!((barm_zymology::pitching::strength_factor(Plato::degrees(18.0)) - 1.13).abs() < 1e-12);
/// ```
#[must_use]
pub fn strength_factor(strength: Plato) -> f64 {
    1.0 + 0.26 * ((strength.as_degrees() - 16.0) / 4.0).clamp(0.0, 1.0)
}

/// Live cells that a wort wants at one of the built-in rates: rate × strength factor × °P × mL.
///
/// Holds for 6–23 °P; the same rule goes on beyond. A wort, rate or volume below zero wants none.
///
/// **Source:** the trade's rule, with [`strength_factor`]. **Evidence:** common practice.
///
/// # Example
///
/// ```
/// use barm_quantity::{Plato, Volume};
/// use barm_zymology::pitching;
/// let wanted = pitching::target(pitching::ALE, Plato::degrees(12.0), Volume::litres(20.0));
/// assert!((wanted.as_billions() - 180.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn target(rate: PitchRate, strength: Plato, volume: Volume) -> Cells {
    target_stated(rate, strength, volume) * strength_factor(strength)
}

/// Nobody states so low a rate of brewing yeast by the millilitre alone: it is one for each °P.
///
/// **Evidence:** derived (judgement): half of what a wort of 8 °P wants of an ale.
///
/// # Example
///
/// ```
/// use barm_quantity::{Plato, Volume};
/// use barm_zymology::pitching::{ALE, LEAST, target_stated};
/// let small_beer = target_stated(ALE, Plato::degrees(8.0), Volume::litres(1.0));
/// assert!((LEAST * Volume::litres(1.0)).as_each() <= 0.5 * small_beer.as_each());
/// ```
pub const LEAST: CellsPerMillilitre = CellsPerMillilitre::millions(3.0);

/// Live cells that a wort wants at a rate that the brewer or the strain states: rate × °P × mL, without
/// strength factor.
///
/// A wort, rate or volume below zero wants none.
///
/// **Evidence:** by definition of the rate.
///
/// # Example
///
/// ```
/// use barm_quantity::{PitchRate, Plato, Volume};
/// use barm_zymology::pitching;
/// let wanted = pitching::target_stated(PitchRate::millions(1.0), Plato::degrees(12.4), Volume::litres(20.0));
/// assert!((wanted.as_billions() - 248.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn target_stated(rate: PitchRate, strength: Plato, volume: Volume) -> Cells {
    let per_millilitre = rate.as_millions().max(0.0) * strength.as_degrees().max(0.0);
    Cells::millions(per_millilitre * volume.as_millilitres().max(0.0))
}

/// Dry yeast that a wort wants at its first use: `dose` (such as [`DRY_ALE`]) × strength factor × volume.
///
/// A dose or volume below zero wants none.
///
/// **Source:** a dry-yeast maker's article, 2023, for the dose; the strength factor is carried over from
/// cells. **Evidence:** published and derived.
///
/// # Example
///
/// ```
/// use barm_quantity::{Plato, Volume};
/// use barm_zymology::pitching;
/// let wanted = pitching::dry_mass(pitching::DRY_ALE, Plato::degrees(12.0), Volume::litres(20.0));
/// assert!((wanted.as_grams() - 10.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn dry_mass(dose: Concentration, strength: Plato, volume: Volume) -> Mass {
    let grams = dose.as_grams_per_litre().max(0.0) * volume.as_litres().max(0.0);
    Mass::grams(grams) * strength_factor(strength)
}

/// Live cells that somebody pitched of whom nothing is known: what an ale wants, a third to three times as much, in single
/// cells. One factor of `lot`: "yeast pitched".
///
/// A wort or volume below zero was given none.
///
/// **Evidence:** derived (judgement): from half a fresh pack to a cake, for 20 L.
///
/// # Example
///
/// ```
/// use barm_quantity::{Plato, Volume};
/// let pitched = barm_zymology::pitching::unknown(Plato::degrees(12.0), Volume::litres(20.0), "tidemill-ale");
/// assert!((pitched.median() / 1e9 - 180.0).abs() < 1e-9);
/// assert!((pitched.low() / 1e9 - 60.0).abs() < 0.1 && (pitched.high() / 1e9 - 540.0).abs() < 0.1);
/// ```
#[must_use]
pub fn unknown(strength: Plato, volume: Volume, lot: &str) -> Estimate {
    let usual = target_stated(ALE, strength, volume).as_each();
    Estimate::band(usual / 3.0, usual, usual * 3.0, FactorName::new("yeast pitched", lot))
}
