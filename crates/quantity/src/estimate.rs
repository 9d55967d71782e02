//! A figure that knows how uncertain it is, and why.

mod combine;
#[cfg(test)]
mod tests;

use std::cmp::Ordering;
use std::fmt;
use std::sync::Arc;

/// Half the width, in standard deviations, of the range that holds nine cases in ten.
///
/// ```
/// use barm_quantity::{NINETY, normal_share};
/// assert!((normal_share(NINETY) - normal_share(-NINETY) - 0.9).abs() < 1e-12);
/// ```
pub const NINETY: f64 = 1.644_853_626_951_472_2;

/// Names one thing that is not known exactly: what it is, and of which lot or instrument.
///
/// Two estimates that carry the same name share that uncertainty: two draws from one jar are too high together.
///
/// ```
/// use barm_quantity::FactorName;
/// assert_eq!(FactorName::new("cell density", "tide-b").to_string(), "cell density of tide-b");
/// ```
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FactorName {
    what: &'static str,
    of: Arc<str>,
}

impl FactorName {
    /// `what` is not known, `of` this lot (may be empty): `("cell density", "tide-b")`.
    ///
    /// ```
    /// use barm_quantity::FactorName;
    /// assert_eq!(FactorName::new("heat of fermentation", "").to_string(), "heat of fermentation");
    /// ```
    #[must_use]
    pub fn new(what: &'static str, of: impl Into<Arc<str>>) -> Self {
        let of = of.into();
        // Without an owner all share one empty name.
        Self { what, of: if of.is_empty() { Arc::default() } else { of } }
    }
    /// What is not known: "cell density".
    ///
    /// ```
    /// use barm_quantity::FactorName;
    /// assert_eq!(FactorName::new("cell density", "tide-b").what(), "cell density");
    /// ```
    #[must_use]
    pub const fn what(&self) -> &'static str {
        self.what
    }
    /// Whose it is: "tide-b"; empty where it is nobody's in particular.
    ///
    /// ```
    /// use barm_quantity::FactorName;
    /// assert_eq!(FactorName::new("cell density", "tide-b").of(), "tide-b");
    /// ```
    #[must_use]
    pub fn of(&self) -> &str {
        &self.of
    }
}

impl fmt::Display for FactorName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.of.is_empty() { f.write_str(self.what) } else { write!(f, "{} of {}", self.what, self.of) }
    }
}

/// One independent source of uncertainty in an [`Estimate`].
///
/// ```
/// use barm_quantity::{Estimate, FactorName};
/// let grown = Estimate::exact(100.0).with_factor(FactorName::new("growth", "s1"), 0.3);
/// assert_eq!(grown.factors().first().map(|factor| factor.spread), Some(0.3));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Factor {
    /// What is not known.
    pub name: FactorName,
    /// Standard deviation of the logarithm that it causes; the sign says which way it pulls.
    pub spread: f64,
}

/// A positive figure X with ln X = ln median + S·z + B·|z|, where S·z = Σ spreadᵢ·zᵢ, one standard normal zᵢ for each
/// named factor.
///
/// The bend B lets the range reach further to one side than to the other, as it does under a cap and in a sum. Without
/// bends, products and powers are exact; a cap and any other monotone function ([`Estimate::mapped`]) are exact at the
/// 5th, 50th and 95th percentile; sums match the first three moments of the logarithm, what their terms share counted.
/// The tests of `barm-zymology` hold every rule against a Monte Carlo run: within a tenth at those percentiles, but for a
/// product of two wide figures that caps cut in their middle, which may reach a sixth too little at its end.
///
/// ```
/// use barm_quantity::{Estimate, FactorName};
/// let density = Estimate::band(0.8, 1.2, 2.0, FactorName::new("cell density", "jar-1")); // B/mL
/// let cells = density.scaled(100.0);
/// assert_eq!(cells.median(), 120.0);
/// assert!(cells.low() > 70.0 && cells.high() < 200.0);
/// // Two draws from one jar share the density, so their ratio is exact.
/// let ratio = density.scaled(50.0) / density.scaled(100.0);
/// assert_eq!((ratio.low(), ratio.median(), ratio.high()), (0.5, 0.5, 0.5));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    median: f64,
    /// Sorted by name, no name twice, no spread of zero. What is only scaled shares them, and most estimates of a season
    /// are scaled ones; without any, all share one.
    factors: Arc<[Factor]>,
    /// What the upper side is longer and the lower side shorter by, in the logarithm, for one standard deviation.
    bend: f64,
}

impl Estimate {
    /// A figure without uncertainty. A value that is negative or not finite counts as zero.
    ///
    /// ```
    /// use barm_quantity::Estimate;
    /// let known = Estimate::exact(21.0);
    /// assert_eq!((known.low(), known.median(), known.high()), (21.0, 21.0, 21.0));
    /// assert_eq!(Estimate::exact(f64::NAN).median(), 0.0);
    /// ```
    #[must_use]
    pub fn exact(value: f64) -> Self {
        let median = if value.is_finite() && value > 0.0 { value } else { 0.0 };
        Self { median, factors: Arc::default(), bend: 0.0 }
    }

    /// A figure from an honest working band: the median is `best`, and nine cases in ten lie in a range as wide (in
    /// the logarithm) as `low` to `high`: spread = ln(high/low)/3.29.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let even = Estimate::band(50.0, 100.0, 200.0, FactorName::new("growth", "s1"));
    /// assert!((even.low() - 50.0).abs() < 1e-9 && (even.high() - 200.0).abs() < 1e-9);
    /// // A best nearer to one end moves the range, and keeps its width.
    /// let uneven = Estimate::band(50.0, 120.0, 200.0, FactorName::new("growth", "s1"));
    /// assert!((uneven.low() - 60.0).abs() < 1e-9 && (uneven.high() - 240.0).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn band(low: f64, best: f64, high: f64, name: FactorName) -> Self {
        let spread = if low > 0.0 && high > low { (high / low).ln() / (2.0 * NINETY) } else { 0.0 };
        Self::exact(best).with_factor(name, spread)
    }

    /// The same figure, uncertain by one more factor; `spread` is a standard deviation of the logarithm.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let jar = Estimate::exact(100.0).with_factor(FactorName::new("density", "jar-1"), 0.3);
    /// assert!((jar.high() / jar.low() - (2.0_f64 * 1.6449 * 0.3).exp()).abs() < 0.001);
    /// ```
    #[must_use]
    pub fn with_factor(self, name: FactorName, spread: f64) -> Self {
        self * Self { median: 1.0, factors: combine::kept(vec![Factor { name, spread }]).into(), bend: 0.0 }
    }

    /// The figure after first-order loss: × exp(−`rate`·`exposure`), the rate itself normal with `rate_sd` and known by
    /// `name`, so that the part left is log-normal and two times of one lot hang together.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// // 2 % a day, give or take 0.9: two weeks leave three quarters.
    /// let left = Estimate::exact(1.0).decayed(0.020, 0.009, 14.0, FactorName::new("storage", "jar-1"));
    /// assert!((left.median() - 0.756).abs() < 0.001 && left.low() < 0.62 && left.high() > 0.92);
    /// ```
    #[must_use]
    pub fn decayed(&self, rate: f64, rate_sd: f64, exposure: f64, name: FactorName) -> Self {
        let exposure = if exposure.is_finite() { exposure.max(0.0) } else { 0.0 };
        self.scaled((-rate * exposure).exp()).with_factor(name, -rate_sd * exposure)
    }

    /// The value with even chances either side.
    ///
    /// ```
    /// use barm_quantity::Estimate;
    /// assert_eq!(Estimate::exact(98.0).median(), 98.0);
    /// ```
    #[must_use]
    pub const fn median(&self) -> f64 {
        self.median
    }

    /// Standard deviation of the logarithm.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let two = Estimate::exact(1.0)
    ///     .with_factor(FactorName::new("density", "jar-1"), 0.3)
    ///     .with_factor(FactorName::new("storage", "jar-1"), 0.4);
    /// assert!((two.spread() - 0.5).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn spread(&self) -> f64 {
        self.factors.iter().map(|f| f.spread * f.spread).sum::<f64>().sqrt()
    }

    /// The value below which the share `probability` of cases lies.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let jar = Estimate::exact(100.0).with_factor(FactorName::new("density", "jar-1"), 0.3);
    /// assert!((jar.quantile(0.5) - 100.0).abs() < 1e-6 && (jar.quantile(0.05) - jar.low()).abs() < 1e-6);
    /// ```
    #[must_use]
    pub fn quantile(&self, probability: f64) -> f64 {
        self.at(normal_quantile(probability))
    }

    /// The low end of the range that holds nine cases in ten.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let jar = Estimate::band(50.0, 100.0, 200.0, FactorName::new("density", "jar-1"));
    /// assert!((jar.low() - 50.0).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn low(&self) -> f64 {
        self.at(-NINETY)
    }

    /// The high end of the range that holds nine cases in ten.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let jar = Estimate::band(50.0, 100.0, 200.0, FactorName::new("density", "jar-1"));
    /// assert!((jar.high() - 200.0).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn high(&self) -> f64 {
        self.at(NINETY)
    }

    /// The value at so many standard deviations from the median.
    fn at(&self, z: f64) -> f64 {
        let value = self.median * (self.spread() * z + self.bend * z.abs()).clamp(-700.0, 700.0).exp();
        value.min(f64::MAX)
    }

    /// What is not known about it, by name.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let jar = Estimate::exact(1.0).with_factor(FactorName::new("density", "jar-1"), 0.3);
    /// assert_eq!(jar.factors().len(), 1);
    /// // Divided by itself nothing is left to be wrong about.
    /// assert!((jar.clone() / jar).factors().is_empty());
    /// ```
    #[must_use]
    pub fn factors(&self) -> &[Factor] {
        &self.factors
    }

    /// The factor that, if it were known, would narrow the figure most.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let two = Estimate::exact(1.0)
    ///     .with_factor(FactorName::new("density", "jar-1"), 0.3)
    ///     .with_factor(FactorName::new("storage", "jar-1"), 0.4);
    /// assert_eq!(two.widest().map(|factor| factor.name.what()), Some("storage"));
    /// ```
    #[must_use]
    pub fn widest(&self) -> Option<&Factor> {
        self.factors.iter().max_by(|a, b| {
            a.spread.abs().partial_cmp(&b.spread.abs()).unwrap_or(Ordering::Equal).then(b.name.cmp(&a.name))
        })
    }

    /// Times a known number (not negative).
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let per_litre = Estimate::band(50.0, 100.0, 200.0, FactorName::new("density", "jar-1"));
    /// assert!((per_litre.scaled(3.0).high() - 600.0).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn scaled(&self, by: f64) -> Self {
        Self { median: Self::exact(self.median * by).median, ..self.clone() }
    }

    /// To a known power.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let side = Estimate::band(1.0, 2.0, 4.0, FactorName::new("side", ""));
    /// assert!((side.powered(2.0).high() - 16.0).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn powered(&self, exponent: f64) -> Self {
        Self {
            median: Self::exact(self.median.powf(exponent)).median,
            factors: self.scaled_factors(exponent).into(),
            bend: self.bend * exponent,
        }
    }

    /// Never above `cap`: the ends of the range are cut. The cap holds inside the range that holds nine cases in ten; a
    /// [`quantile`](Self::quantile) further out may lie beyond it.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let live = Estimate::band(0.7, 0.9, 1.0, FactorName::new("viability", "jar-1")).capped(1.0);
    /// assert!(live.median() == 0.9 && live.high() <= 1.0);
    /// ```
    #[must_use]
    pub fn capped(&self, cap: f64) -> Self {
        self.clamped(0.0, cap)
    }

    /// Never below `floor`, never above `cap`. All three of low, median and high are cut; the factors keep their
    /// proportions.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let part = Estimate::band(0.2, 0.5, 1.2, FactorName::new("part", "")).clamped(0.3, 1.0);
    /// assert!(part.low() >= 0.3 - 1e-9 && part.high() <= 1.0 + 1e-9);
    /// ```
    #[must_use]
    pub fn clamped(&self, floor: f64, cap: f64) -> Self {
        let (low, high) = (self.low(), self.high());
        if low >= floor && high <= cap {
            return self.clone();
        }
        self.mapped(|x| x.min(cap).max(floor))
    }

    /// The chance that the figure falls short of a target that may be uncertain too; what both share cancels.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let have = Estimate::exact(100.0).with_factor(FactorName::new("density", "jar"), 0.3);
    /// assert!((have.chance_below(&Estimate::exact(100.0)) - 0.5).abs() < 1e-9);
    /// assert_eq!(Estimate::exact(3.0).chance_below(&Estimate::exact(4.0)), 1.0);
    /// ```
    #[must_use]
    pub fn chance_below(&self, target: &Self) -> f64 {
        if target.median <= 0.0 {
            return 0.0;
        }
        if self.median <= 0.0 {
            return 1.0;
        }
        let ratio = self.clone() / target.clone();
        // The side of the median on which the target lies.
        let away = -ratio.median.ln();
        let side = if away < 0.0 { ratio.spread() - ratio.bend } else { ratio.spread() + ratio.bend };
        if side > 1e-12 {
            normal_share(away / side)
        } else if away == 0.0 && ratio.spread() > 0.0 {
            0.5
        } else {
            f64::from(u8::from(away > 0.0))
        }
    }
}

/// The share of a standard normal that lies below `z`, 0–1.
///
/// ```
/// use barm_quantity::{NINETY, normal_share};
/// assert!((normal_share(NINETY) - 0.95).abs() < 1e-12);
/// ```
#[must_use]
pub fn normal_share(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

/// The `z` below which the share `p` of a standard normal lies, by bisection; clamped to ±8.
fn normal_quantile(p: f64) -> f64 {
    let (mut low, mut high) = (-8.0, 8.0);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if normal_share(middle) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}
