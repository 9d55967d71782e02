//! How figures come together: functions of one and of two, products, powers and sums.

use std::cmp::Ordering;
use std::iter::Sum;
use std::ops::{Add, Div, Mul};
use std::sync::Arc;

use super::{Estimate, Factor, NINETY};

/// So many figures are added one by one, the largest first.
const FEW: usize = 16;
/// No factor spreads further than this: a hundred orders of magnitude tell no more than nothing.
const WIDEST: f64 = 100.0;
/// Mean of |z|, √(2/π).
const MEAN_ABSOLUTE: f64 = 0.797_884_560_802_865_4;

impl Estimate {
    /// A monotone function of the figure: the median and both ends of the range that holds nine cases in ten go through
    /// it. Where it falls, the factors change their signs.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let rate = Estimate::band(0.5, 1.0, 2.0, FactorName::new("rate", ""));
    /// let covered = rate.mapped(|x| 1.0 - (-x).exp());
    /// assert!((covered.median() - 0.632).abs() < 0.001 && covered.high() < 1.0);
    /// ```
    #[must_use]
    pub fn mapped(&self, function: impl Fn(f64) -> f64) -> Self {
        self.through(function(self.median), |z| function(self.at(z)))
    }

    pub(super) fn scaled_factors(&self, by: f64) -> Vec<Factor> {
        let scaled = self.factors.iter().map(|f| Factor { name: f.name.clone(), spread: f.spread * by });
        kept(scaled.collect())
    }

    /// Covariance of the logarithms, without their bends.
    fn covariance(&self, other: &Self) -> f64 {
        let (mut sum, mut theirs) = (0.0, other.factors.iter().peekable());
        for mine in self.factors.iter() {
            while theirs.next_if(|f| f.name < mine.name).is_some() {}
            if let Some(same) = theirs.next_if(|f| f.name == mine.name) {
                sum += mine.spread * same.spread;
            }
        }
        sum
    }

    /// Correlation of the logarithms, without their bends; zero where either is known.
    fn correlation(&self, other: &Self) -> f64 {
        let scale = self.spread() * other.spread();
        if scale > 0.0 { (self.covariance(other) / scale).clamp(-1.0, 1.0) } else { 0.0 }
    }

    /// A smooth positive function of two figures; what they share is counted.
    ///
    /// Its logarithm gets the mean, variance and third moment of the true one's, found by Gauss–Hermite quadrature over
    /// the two figures' common plane; where all hangs on one thing it is exact as [`Estimate::mapped`] is.
    ///
    /// ```
    /// use barm_quantity::{Estimate, FactorName};
    /// let a = Estimate::band(0.5, 1.0, 2.0, FactorName::new("a", ""));
    /// let b = Estimate::band(0.5, 1.0, 2.0, FactorName::new("b", ""));
    /// let mean = a.joined(&b, |a, b| 0.5 * (a + b));
    /// assert!(mean.spread() < a.spread());
    /// ```
    #[must_use]
    pub fn joined(&self, other: &Self, function: impl Fn(f64, f64) -> f64) -> Self {
        /// Five nodes and weights for a standard normal (Abramowitz & Stegun 1964, Table 25.10, scaled).
        const NODES: [(f64, f64); 5] = [
            (-2.856_970_013_872_805_6, 0.011_257_411_327_720_69),
            (-1.355_626_179_974_265_7, 0.222_075_922_005_612_6),
            (0.0, 0.533_333_333_333_333_3),
            (1.355_626_179_974_265_7, 0.222_075_922_005_612_6),
            (2.856_970_013_872_805_6, 0.011_257_411_327_720_69),
        ];
        let middle = function(self.median, other.median);
        let (mine, theirs) = (self.spread(), other.spread());
        let along = self.correlation(other);
        let across = (1.0 - along * along).max(0.0).sqrt();
        if theirs == 0.0 || (mine > 0.0 && across * theirs < 1e-9) {
            let with = |z: f64| other.at(along * z);
            return self.through(middle, |z| function(self.at(z), with(z)));
        }
        if mine < 1e-9 {
            return other.through(middle, |z| function(self.median, other.at(z)));
        }
        // Logarithm over that of the middle, weight, and the two directions at each node.
        let mut points = [(0.0, 0.0, 0.0, 0.0); 25];
        for (i, point) in points.iter_mut().enumerate() {
            let node = |i: usize| NODES.get(i).copied().unwrap_or_default();
            let ((u, weight_u), (v, weight_v)) = (node(i / 5), node(i % 5));
            let there = function(self.at(u), other.at(along * u + across * v));
            *point = (logarithm(there / middle), weight_u * weight_v, u, v);
        }
        let expected = |of: &dyn Fn(f64, f64, f64) -> f64| {
            points.iter().map(|&(y, weight, u, v)| weight * of(y, u, v)).sum::<f64>()
        };
        let mean = expected(&|y, _, _| y);
        let variance = expected(&|y, _, _| (y - mean).powi(2));
        let (spread, bend) = bent(variance, expected(&|y, _, _| (y - mean).powi(3)));
        let (by_u, by_v) = (expected(&|y, u, _| y * u), expected(&|y, _, v| y * v));
        let scale = spread / by_u.hypot(by_v).max(1e-12);
        let b = by_v / (across * theirs);
        let a = (by_u - b * theirs * along) / mine;
        let median = middle * (mean - MEAN_ABSOLUTE * bend).exp();
        Self::shaped(median, together(&self.factors, a * scale, &other.factors, b * scale), bend)
    }

    /// What a function of the standard normal makes of it, by its values at both ends of the range.
    fn through(&self, median: f64, at: impl Fn(f64) -> f64) -> Self {
        let side = |z: f64| logarithm(at(z) / median) / NINETY;
        let (below, above) = (side(-NINETY), side(NINETY));
        let spread = self.spread();
        let by = if spread > 0.0 { (above - below) / (2.0 * spread) } else { 0.0 };
        Self::shaped(median, self.scaled_factors(by), 0.5 * (above + below))
    }

    /// A figure of these parts; the bend is held to the spread, so that a larger draw is never a smaller figure.
    fn shaped(median: f64, factors: impl Into<Arc<[Factor]>>, bend: f64) -> Self {
        let mut out = Self { factors: factors.into(), ..Self::exact(median) };
        if out.median > 0.0 {
            let spread = out.spread();
            out.bend = if bend.is_finite() { bend.clamp(-spread, spread) } else { 0.0 };
        } else {
            out.factors = Arc::default();
        }
        out
    }
}

/// The logarithm of a ratio; what falls to nothing has none, and a thousand millionth is little enough.
fn logarithm(ratio: f64) -> f64 {
    if ratio.is_finite() { ratio.max(1e-9).ln() } else { 0.0 }
}

/// Factors of any account, in the order in which they came.
pub(super) fn kept(factors: Vec<Factor>) -> Vec<Factor> {
    let mut factors = factors;
    factors.retain(|f| f.spread.is_finite() && f.spread.abs() > 1e-12);
    for factor in &mut factors {
        factor.spread = factor.spread.clamp(-WIDEST, WIDEST);
    }
    factors
}

/// `a` × each factor of one and `b` × each of another, those of one name put together.
fn together(one: &[Factor], a: f64, other: &[Factor], b: f64) -> Vec<Factor> {
    let (mut one, mut other) = (one.iter().peekable(), other.iter().peekable());
    let mut all = Vec::with_capacity(one.len() + other.len());
    loop {
        let order = match (one.peek(), other.peek()) {
            (Some(x), Some(y)) => x.name.cmp(&y.name),
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (None, None) => return kept(all),
        };
        let mine = if order.is_le() { one.next() } else { None };
        let theirs = if order.is_ge() { other.next() } else { None };
        let spread = mine.map_or(0.0, |f| f.spread * a) + theirs.map_or(0.0, |f| f.spread * b);
        all.extend(mine.or(theirs).map(|f| Factor { name: f.name.clone(), spread }));
    }
}

impl Mul for Estimate {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        // Times a known number: nothing to put together.
        if other.factors.is_empty() && other.bend == 0.0 {
            return self.scaled(other.median);
        }
        if self.factors.is_empty() && self.bend == 0.0 && self.median > 0.0 {
            return other.scaled(self.median);
        }
        let factors = together(&self.factors, 1.0, &other.factors, 1.0);
        let product = Self { median: 1.0, factors: factors.into(), bend: 0.0 };
        if self.bend == 0.0 && other.bend == 0.0 {
            return Self::shaped(self.median * other.median, product.factors, 0.0);
        }
        // Of each bend stays what its figure has to do with the product: that keeps the third moment. What goes moves
        // the median, because the mean of the logarithm is the sum of the means.
        let part = |of: &Self| of.bend * product.correlation(of).powi(2);
        let spread = product.spread();
        let bend = (part(&self) + part(&other)).clamp(-spread, spread);
        let shift = MEAN_ABSOLUTE * (self.bend + other.bend - bend);
        Self::shaped(self.median * other.median * shift.exp(), product.factors, bend)
    }
}

impl Div for Estimate {
    type Output = Self;
    /// Division by zero gives zero: a figure that nothing can be said of.
    fn div(self, other: Self) -> Self {
        self * other.powered(-1.0)
    }
}

impl Add for Estimate {
    type Output = Self;
    /// The sum, see [`Estimate::joined`].
    fn add(self, other: Self) -> Self {
        self.joined(&other, |a, b| a + b)
    }
}

/// Spread and bend of a logarithm with this variance and third central moment; the bend at most the spread.
fn bent(variance: f64, third: f64) -> (f64, f64) {
    if !variance.is_finite() || !third.is_finite() {
        return (0.0, 0.0);
    }
    // Moments of z² and |z|³ in S·z + B·|z|: variance S² + 0.3634·B², third 2.394·S²·B + 0.218·B³.
    let (mut square, mut bend) = (variance.max(0.0), 0.0_f64);
    for _ in 0..6 {
        let slope = 2.394 * square + 0.218 * bend * bend;
        bend = if slope > 1e-18 { third / slope } else { 0.0 };
        bend = bend.clamp(-square.sqrt(), square.sqrt());
        square = (variance - 0.3634 * bend * bend).max(0.2 * variance);
    }
    (square.sqrt(), bend)
}

impl Sum for Estimate {
    /// Adds figures, the largest first, so that their order does not matter.
    fn sum<I: Iterator<Item = Self>>(terms: I) -> Self {
        let mut terms: Vec<Self> = terms.collect();
        terms.sort_by(|a, b| b.median.total_cmp(&a.median));
        // Each sum names all that its parts do: adding thousands one by one would take the square of their number.
        while terms.len() > FEW {
            let mut pairs = terms.into_iter();
            terms = Vec::new();
            while let Some(first) = pairs.next() {
                terms.push(match pairs.next() {
                    Some(second) => first + second,
                    None => first,
                });
            }
        }
        terms.into_iter().reduce(Self::add).unwrap_or(Self::exact(0.0))
    }
}
