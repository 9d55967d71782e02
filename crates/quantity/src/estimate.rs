//! A figure that knows how uncertain it is, and why.

use std::cmp::Ordering;
use std::fmt;
use std::iter::Sum;
use std::ops::{Div, Mul};
use std::sync::Arc;

/// Half the width, in standard deviations, of the range that holds nine cases in ten.
pub const NINETY: f64 = 1.644_853_626_951_472_2;

/// Names one thing that is not known exactly: what it is, and of which lot or instrument.
///
/// Two estimates that carry the same name share that uncertainty: two draws from one jar are too high together.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FactorName {
    what: &'static str,
    of: Arc<str>,
}

impl FactorName {
    /// `what` is not known, `of` this lot (may be empty): `("cell density", "tide-b")`.
    #[must_use]
    pub fn new(what: &'static str, of: impl Into<Arc<str>>) -> Self {
        Self { what, of: of.into() }
    }
    /// What is not known: "cell density".
    #[must_use]
    pub const fn what(&self) -> &'static str {
        self.what
    }
    /// Whose it is: "tide-b"; empty where it is nobody's in particular.
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
#[derive(Debug, Clone, PartialEq)]
pub struct Factor {
    /// What is not known.
    pub name: FactorName,
    /// Standard deviation of the logarithm that it causes; the sign says which way it pulls.
    pub spread: f64,
}

/// A positive figure X with ln X = ln median + Σ spreadᵢ·zᵢ, one standard normal zᵢ for each named factor.
///
/// Products and powers are exact in this form; sums and caps are linearised in the logarithm. The tests of
/// `barm-zymology` hold every rule against a Monte Carlo run.
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
    /// Sorted by name, no name twice, no spread of zero.
    factors: Vec<Factor>,
}

impl Estimate {
    /// A figure without uncertainty. A value that is negative or not finite counts as zero.
    #[must_use]
    pub const fn exact(value: f64) -> Self {
        let median = if value.is_finite() && value > 0.0 { value } else { 0.0 };
        Self { median, factors: Vec::new() }
    }

    /// A figure from an honest working band: the median is `best`, and nine cases in ten lie in a range as wide (in
    /// the logarithm) as `low` to `high`: spread = ln(high/low)/3.29.
    #[must_use]
    pub fn band(low: f64, best: f64, high: f64, name: FactorName) -> Self {
        let spread = if low > 0.0 && high > low { (high / low).ln() / (2.0 * NINETY) } else { 0.0 };
        Self::exact(best).with_factor(name, spread)
    }

    /// The same figure, uncertain by one more factor; `spread` is a standard deviation of the logarithm.
    #[must_use]
    pub fn with_factor(mut self, name: FactorName, spread: f64) -> Self {
        self.add_factor(name, spread);
        self
    }

    fn add_factor(&mut self, name: FactorName, spread: f64) {
        if !spread.is_finite() {
            return;
        }
        match self.factors.binary_search_by(|f| f.name.cmp(&name)) {
            Ok(at) => {
                if let Some(factor) = self.factors.get_mut(at) {
                    factor.spread += spread;
                }
            }
            Err(at) => self.factors.insert(at, Factor { name, spread }),
        }
        self.factors.retain(|f| f.spread.abs() > 1e-12);
    }

    /// The figure after first-order loss: × exp(−`rate`·`exposure`), the rate itself normal with `rate_sd` and known by
    /// `name`, so that the part left is log-normal and two times of one lot hang together.
    #[must_use]
    pub fn decayed(&self, rate: f64, rate_sd: f64, exposure: f64, name: FactorName) -> Self {
        let exposure = if exposure.is_finite() { exposure.max(0.0) } else { 0.0 };
        self.scaled((-rate * exposure).exp()).with_factor(name, -rate_sd * exposure)
    }

    /// The value with even chances either side.
    #[must_use]
    pub const fn median(&self) -> f64 {
        self.median
    }

    /// Standard deviation of the logarithm.
    #[must_use]
    pub fn spread(&self) -> f64 {
        self.factors.iter().map(|f| f.spread * f.spread).sum::<f64>().sqrt()
    }

    /// The value below which the share `probability` of cases lies.
    #[must_use]
    pub fn quantile(&self, probability: f64) -> f64 {
        self.median * (normal_quantile(probability) * self.spread()).exp()
    }

    /// The low end of the range that holds nine cases in ten.
    #[must_use]
    pub fn low(&self) -> f64 {
        self.median * (-NINETY * self.spread()).exp()
    }

    /// The high end of the range that holds nine cases in ten.
    #[must_use]
    pub fn high(&self) -> f64 {
        self.median * (NINETY * self.spread()).exp()
    }

    /// What is not known about it, by name.
    #[must_use]
    pub fn factors(&self) -> &[Factor] {
        &self.factors
    }

    /// The factor that, if it were known, would narrow the figure most.
    #[must_use]
    pub fn widest(&self) -> Option<&Factor> {
        self.factors.iter().max_by(|a, b| {
            a.spread.abs().partial_cmp(&b.spread.abs()).unwrap_or(Ordering::Equal).then(b.name.cmp(&a.name))
        })
    }

    /// Times a known number (not negative).
    #[must_use]
    pub fn scaled(&self, by: f64) -> Self {
        Self { median: Self::exact(self.median * by).median, factors: self.factors.clone() }
    }

    /// To a known power.
    #[must_use]
    pub fn powered(&self, exponent: f64) -> Self {
        let mut out = Self::exact(self.median.powf(exponent));
        out.factors = self.scaled_factors(exponent);
        out
    }

    /// A monotone function of the figure: the median goes through it, and the factors are scaled so that the range that
    /// holds nine cases in ten becomes the range between what the function makes of its two ends. Their signs turn where
    /// it falls.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let rate = Estimate::band(0.5, 1.0, 2.0, FactorName::new("rate", ""));
    /// let covered = rate.mapped(|x| 1.0 - (-x).exp());
    /// assert!((covered.median() - 0.632).abs() < 0.001 && covered.high() < 1.0);
    /// ```
    #[must_use]
    pub fn mapped(&self, function: impl Fn(f64) -> f64) -> Self {
        let mut out = Self::exact(function(self.median));
        let (low, high) = (function(self.low()), function(self.high()));
        let spread = self.spread();
        if low > 0.0 && high > 0.0 && spread > 0.0 && out.median > 0.0 {
            let by = (high / low).ln() / (2.0 * NINETY * spread);
            out.factors = self.scaled_factors(by);
        }
        out
    }

    fn scaled_factors(&self, by: f64) -> Vec<Factor> {
        self.factors
            .iter()
            .map(|f| Factor { name: f.name.clone(), spread: f.spread * by })
            .filter(|f| f.spread.is_finite() && f.spread.abs() > 1e-12)
            .collect()
    }

    /// Never above `cap`: the ends of the range are cut and the factors shrunk to what is left between them.
    #[must_use]
    pub fn capped(&self, cap: f64) -> Self {
        self.clamped(0.0, cap)
    }

    /// Never below `floor`, never above `cap`. All three of low, median and high are cut; the factors keep their
    /// proportions.
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
        let spread = ratio.spread();
        if spread <= 0.0 {
            return if ratio.median < 1.0 { 1.0 } else { 0.0 };
        }
        normal_share(-ratio.median.ln() / spread)
    }
}

impl Mul for Estimate {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        let mut out = self;
        out.median = Self::exact(out.median * other.median).median;
        for factor in other.factors {
            out.add_factor(factor.name, factor.spread);
        }
        out
    }
}

impl Div for Estimate {
    type Output = Self;
    /// Division by zero gives zero: a figure that nothing can be said of.
    fn div(self, other: Self) -> Self {
        let mut out = self;
        out.median = Self::exact(out.median / other.median).median;
        for factor in other.factors {
            out.add_factor(factor.name, -factor.spread);
        }
        out
    }
}

impl Sum for Estimate {
    /// Adds figures, each factor weighted by its figure's part of the whole. The median of a sum of skewed figures lies
    /// above the sum of their medians where they are independent; half the difference of the variances corrects for it.
    fn sum<I: Iterator<Item = Self>>(terms: I) -> Self {
        let terms: Vec<Self> = terms.filter(|t| t.median > 0.0).collect();
        if terms.len() == 1 {
            return terms.into_iter().next().unwrap_or(Self::exact(0.0));
        }
        let mean = |t: &Self| t.median * (t.spread().powi(2) / 2.0).exp();
        let total: f64 = terms.iter().map(mean).sum();
        let mut out = Self::exact(0.0);
        for term in &terms {
            let weight = mean(term) / total;
            for factor in &term.factors {
                out.add_factor(factor.name.clone(), factor.spread * weight);
            }
        }
        out.median = Self::exact(total * (-out.spread().powi(2) / 2.0).exp()).median;
        out
    }
}

/// The share of a standard normal that lies below `z`.
fn normal_share(z: f64) -> f64 {
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

#[cfg(test)]
mod tests {
    use super::*;

    fn name(of: &str) -> FactorName {
        FactorName::new("density", of)
    }

    #[test]
    fn products_of_independent_factors_add_in_quadrature() {
        let a = Estimate::exact(2.0).with_factor(name("a"), 0.3);
        let b = Estimate::exact(5.0).with_factor(name("b"), 0.4);
        let product = a * b;
        assert!((product.median() - 10.0).abs() < 1e-12);
        assert!((product.spread() - 0.5).abs() < 1e-12);
    }

    #[test]
    fn a_shared_factor_adds_before_squaring() {
        let a = Estimate::exact(2.0).with_factor(name("a"), 0.3);
        assert!(((a.clone() * a.clone()).spread() - 0.6).abs() < 1e-12);
        assert!((a.clone() / a).spread() < 1e-12);
    }

    #[test]
    fn quantiles_agree_with_the_range() {
        let a = Estimate::exact(2.0).with_factor(name("a"), 0.3);
        assert!((a.quantile(0.05) - a.low()).abs() < 1e-9);
        assert!((a.quantile(0.95) - a.high()).abs() < 1e-9);
        // Normal table: 97.5 % at 1.95996 (from memory, as every statistics book prints it).
        assert!((normal_quantile(0.975) - 1.959_964).abs() < 1e-5);
    }

    #[test]
    fn a_cap_cuts_the_range_and_keeps_the_order() {
        let a = Estimate::exact(0.9).with_factor(name("a"), 0.3).capped(1.0);
        let uncut = Estimate::exact(0.9).with_factor(name("a"), 0.3);
        assert!(a.high() < uncut.high() && a.low() < a.median() && a.median() <= 1.0);
    }

    #[test]
    fn odd_input_gives_zero_and_never_nan() {
        assert_eq!(Estimate::exact(f64::NAN).median(), 0.0);
        assert_eq!(Estimate::exact(-1.0).median(), 0.0);
        let zero = Estimate::exact(0.0);
        assert_eq!((Estimate::exact(1.0) / zero.clone()).median(), 0.0);
        assert_eq!(zero.chance_below(&Estimate::exact(1.0)), 1.0);
        assert_eq!(zero.spread(), 0.0);
    }
}
