//! Several strains in one beer.
//!
//! Shares are by live cells, not by packs. How strains share a beer drifts with wort and process; after two
//! generations the shares of a repitched blend are unknown.

use barm_quantity::{Concentration, Estimate, FactorName, Share};

/// A figure with the band that a blend leaves open.
///
/// # Example
///
/// ```
/// let band = barm_zymology::blend::Band { low: 1, best: 2, high: 4 };
/// assert!(band.low <= band.best && band.best <= band.high);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band<T> {
    /// The least.
    pub low: T,
    /// The likeliest.
    pub best: T,
    /// The most.
    pub high: T,
}

/// Each strain's share of the live cells; all zero where none lives.
///
/// What two of them have in common — one jar's density — cancels.
///
/// **Evidence:** definition.
///
/// # Example
///
/// ```
/// use barm_quantity::Estimate;
/// let shares = barm_zymology::blend::shares(&[Estimate::exact(30e9), Estimate::exact(70e9)]);
/// assert!((shares[0].median() - 0.3).abs() < 1e-9);
/// ```
#[must_use]
pub fn shares(live: &[Estimate]) -> Vec<Estimate> {
    let all: Estimate = live.iter().cloned().sum();
    live.iter().map(|part| (part.clone() / all.clone()).capped(1.0)).collect()
}

/// Parts with their weights made to sum to one; `None` where no weight is above zero.
fn weighed<T: Copy>(parts: &[(f64, T)], value: impl Fn(T) -> f64) -> Option<Band<f64>> {
    let present = || parts.iter().filter(|(share, _)| *share > 0.0 && share.is_finite());
    let total: f64 = present().map(|(share, _)| share).sum();
    let mean = present().map(|(share, x)| share / total * value(*x)).sum();
    let values = || present().map(|(_, x)| value(*x));
    let low = values().reduce(f64::min)?;
    let high = values().reduce(f64::max)?;
    Some(Band { low, best: mean, high })
}

/// Apparent attenuation of a blend: nearer to its most attenuating strain than the mean is. `None` for no
/// strain at all.
///
/// `parts`: share of the live cells and expected attenuation of each; shares need not sum to one, those of
/// zero are left out. Low is the mean, high the most attenuating strain, best AA_max − 0.25·(AA_max −
/// AA_mean).
///
/// **Source:** a 5 % minority of one strain took a beer to its own attenuation (published abstract); the
/// quarter is a judgement. **Evidence:** derived.
///
/// # Example
///
/// ```
/// use barm_quantity::Share;
/// use barm_zymology::blend::attenuation;
/// let found = attenuation(&[(0.5, Share::percent(70.0)), (0.5, Share::percent(80.0))]).expect("two strains");
/// assert!((found.best.as_percent() - 78.75).abs() < 1e-9);
/// assert!((found.low.as_percent() - 75.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn attenuation(parts: &[(f64, Share)]) -> Option<Band<Share>> {
    let Band { best: mean, high, .. } = weighed(parts, Share::as_fraction)?;
    let best = high - 0.25 * (high - mean);
    Some(Band { low: Share::fraction(mean), best: Share::fraction(best), high: Share::fraction(high) })
}

/// Level of a flavour compound in a blend: the mean by share, between the least and the most of its strains.
/// `None` for no strain.
///
/// `parts`: share of the live cells and level of each.
///
/// **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// use barm_quantity::Concentration;
/// use barm_zymology::blend::level;
/// let (none, much) = (Concentration::milligrams_per_litre(0.0), Concentration::milligrams_per_litre(4.0));
/// let banana = level(&[(0.75, none), (0.25, much)]).expect("two strains");
/// assert!((banana.best.as_milligrams_per_litre() - 1.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn level(parts: &[(f64, Concentration)]) -> Option<Band<Concentration>> {
    let Band { low, best, high } = weighed(parts, Concentration::as_milligrams_per_litre)?;
    let level = Concentration::milligrams_per_litre;
    Some(Band { low: level(low), best: level(best), high: level(high) })
}

/// Share of a strain after some batches, 0–1, if it grows `advantage` times as much as the rest at each
/// doubling.
///
/// `doublings` per batch: log₂ of 5, 2.32, for an ale. The advantage is not known (1.0, 0.9–1.1); a share
/// outside 0–1 is taken at the nearer end, an advantage below 0.01 as that.
///
/// **Source:** odds × advantage^(doublings·batches). **Evidence:** derived.
///
/// # Example
///
/// ```
/// let after = barm_zymology::blend::share_after(0.5, 1.05, 5.0_f64.log2(), 5);
/// assert!((after - 0.638).abs() < 0.001);
/// ```
#[must_use]
pub fn share_after(share: f64, advantage: f64, doublings: f64, batches: u32) -> f64 {
    let share = share.clamp(0.0, 1.0);
    if share <= 0.0 || share >= 1.0 {
        return share;
    }
    // The logarithm of the odds stays finite however long the run.
    let advantage = advantage.clamp(0.01, 100.0).ln() * doublings.max(0.0) * f64::from(batches);
    1.0 / (1.0 + (((1.0 - share) / share).ln() - advantage).exp())
}

/// Share of a strain in a blend that was repitched so many times; `None` once nobody knows: from the second on.
///
/// The best is the share that it had. How much faster than the rest it grows is not known: 0.9 to 1.1 times as much at each of
/// the 2.32 doublings in which a brew grows to five times what was pitched. One factor of `strain`: "growth against the
/// others". A share outside 0–1 is taken at the nearer end.
///
/// **Source:** [`share_after`]. **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// use barm_zymology::blend::drifted;
/// let once = drifted(0.5, 1, "fen").expect("known after one brew");
/// assert!(once.low() < 0.45 && once.high() > 0.55);
/// assert!(drifted(0.5, 2, "fen").is_none());
/// ```
#[must_use]
pub fn drifted(share: f64, batches: u32, strain: &str) -> Option<Estimate> {
    const ADVANTAGE: (f64, f64) = (0.9, 1.1);
    const LOST_AFTER: u32 = 2;
    /// log₂ of 5.
    const DOUBLINGS: f64 = 2.32;
    let share = share.clamp(0.0, 1.0);
    let after = |advantage| share_after(share, advantage, DOUBLINGS, batches);
    let drift = FactorName::new("growth against the others", strain);
    (batches < LOST_AFTER).then(|| Estimate::band(after(ADVANTAGE.0), share, after(ADVANTAGE.1), drift))
}
