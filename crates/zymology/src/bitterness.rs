//! Bitterness of a small boil, such as a starter's.
//!
//! An estimate, ±30 %: published analyses miss it by half and more, beer holds no more than about 50–60 IBU
//! from the kettle, and late hops, zero here, are not zero in fact.

use barm_quantity::{Bitterness, Estimate, FactorName, Gravity, Mass, Share, Span, Volume};

/// Part of the hops' alpha acid that ends in the beer, 0–1.
///
/// `boil`: mean gravity of the boil, held to 1.000–1.150; `time`: of boiling, below zero counts as none.
///
/// **Source:** Tinseth 1997: 1.65·0.000125^(SG − 1)·(1 − e^(−0.04·min))/4.15. **Evidence:** published (web
/// page).
///
/// # Example
///
/// ```
/// use barm_quantity::{Gravity, Span};
/// let part = barm_zymology::bitterness::utilisation(Gravity::specific(1.050), Span::minutes(30.0));
/// assert!((part - 0.177).abs() < 0.0006);
/// ```
#[must_use]
pub fn utilisation(boil: Gravity, time: Span) -> f64 {
    let gravity = boil.as_specific().clamp(1.0, 1.15) - 1.0;
    1.65 * 0.000_125_f64.powf(gravity) * -(-0.04 * time.as_minutes().max(0.0)).exp_m1() / 4.15
}

/// Bitterness in IBU that one addition of hops gives. One factor, "hop utilisation", ±30 %.
///
/// `alpha`: alpha acid of the hops, by mass; `volume`: of the finished wort. None for no volume; values below
/// zero count as none.
///
/// **Source:** as [`utilisation`]. **Evidence:** published; the range is a judgement.
///
/// # Example
///
/// ```
/// use barm_quantity::{Gravity, Mass, Share, Span, Volume};
/// let (alpha, hops, starter) = (Share::percent(5.0), Mass::grams(4.26), Volume::litres(2.0));
/// let (boil, time) = (Gravity::specific(1.037), Span::minutes(10.0));
/// let ibu = barm_zymology::bitterness::boiled(alpha, hops, starter, boil, time);
/// assert!((ibu.median() - 10.0).abs() < 0.05 && ibu.low() < 8.0 && ibu.high() > 12.0);
/// ```
#[must_use]
pub fn boiled(alpha: Share, hops: Mass, volume: Volume, boil: Gravity, time: Span) -> Estimate {
    let litres = volume.as_litres();
    if litres <= 0.0 {
        return Estimate::exact(0.0);
    }
    let milligrams = alpha.as_fraction().max(0.0) * hops.as_grams().max(0.0) * 1000.0;
    Estimate::band(0.7, 1.0, 1.3, FactorName::new("hop utilisation", ""))
        .scaled(milligrams / litres * utilisation(boil, time))
}

/// Hops that give a wanted bitterness; `None` where no mass does (no alpha acid, no boiling).
///
/// **Source, range and evidence:** those of [`boiled`].
///
/// # Example
///
/// ```
/// use barm_quantity::{Bitterness, Gravity, Share, Span, Volume};
/// let (wanted, alpha, starter) = (Bitterness::ibu(10.0), Share::percent(5.0), Volume::litres(2.0));
/// let (boil, time) = (Gravity::specific(1.037), Span::minutes(10.0));
/// let hops = barm_zymology::bitterness::hops_for(wanted, alpha, starter, boil, time).expect("it boils");
/// assert!((hops.as_grams() - 4.26).abs() < 0.01);
/// ```
#[must_use]
pub fn hops_for(wanted: Bitterness, alpha: Share, volume: Volume, boil: Gravity, time: Span) -> Option<Mass> {
    let per_gram = 1000.0 * alpha.as_fraction() * utilisation(boil, time);
    let milligrams = wanted.as_ibu().max(0.0) * volume.as_litres().max(0.0);
    Some(Mass::grams(milligrams / per_gram)).filter(|mass| per_gram > 0.0 && mass.is_finite())
}
