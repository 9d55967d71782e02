//! Counting cells under the microscope, and how far a count can be trusted.
//!
//! An improved Neubauer chamber: a ruled square millimetre, 0.1 mm deep, in 25 medium squares. Cells on two
//! of the borders count, on the other two not; a bud counts when it is at least half its mother. Dilute until
//! a medium square holds 5–20.

use barm_quantity::{CellsPerMillilitre, Estimate, FactorName, NINETY, Share};
use statrs::distribution::{ChiSquared, ContinuousCDF, StudentsT};

/// Which squares were counted.
///
/// # Example
///
/// ```
/// use barm_zymology::count::{Count, Square};
/// let field = Count { square: Square::Field, ..Count::total(100, 0, 1, 1.0) };
/// assert!((field.density("jar-1").median() / 1e6 - 1.0).abs() < 1e-9);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub enum Square {
    /// One of the 25 medium squares of the ruled square millimetre: 4 nL.
    #[default]
    Medium,
    /// A whole square millimetre: 100 nL.
    Field,
    /// One of the 16 squares, 0.25 mm wide, of a corner field: 6.25 nL.
    Corner,
}

impl Square {
    /// Millilitres above one square.
    const fn millilitres(self) -> f64 {
        match self {
            Self::Medium => 4e-6,
            Self::Field => 1e-4,
            Self::Corner => 6.25e-6,
        }
    }
}

/// A count in a chamber.
///
/// # Example
///
/// ```
/// use barm_zymology::count::Count;
/// // Five medium squares, 180 live and 20 dead, one part made up to a hundred.
/// let count = Count::total(180, 20, 5, 100.0);
/// let live = count.live_density("jar-1").scaled(1e-9); // B/mL
/// assert!(live.low() < 0.9 && 0.9 < live.high());
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Count {
    /// Cells that lived (did not take the stain).
    pub live: u64,
    /// Cells that were dead.
    pub dead: u64,
    /// How many squares were counted; zero counts as one.
    pub squares: u32,
    /// Which squares.
    pub square: Square,
    /// Millilitres of counted liquid in which one millilitre of sample ended, the stain counted in; below 1
    /// counts as 1.
    pub dilution: f64,
    /// Live cells square by square where they were noted so; empty otherwise.
    pub each: Vec<u64>,
}

/// Chamber and pipette, as a standard deviation of the logarithm: 7 % (5–15).
///
/// **Evidence:** derived.
const CHAMBER: f64 = 0.07;
/// Half the width, in standard deviations, of the range that holds 95 cases in 100.
const NINETY_FIVE: f64 = 1.959_963_984_540_054;

impl Count {
    /// A count of which only the sums are known, in medium squares.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::count::Count;
    /// let count = Count::total(180, 20, 5, 100.0);
    /// assert!((count.density("jar-1").median() / 1e9 - 1.0).abs() < 1e-9);
    /// ```
    #[must_use]
    pub const fn total(live: u64, dead: u64, squares: u32, dilution: f64) -> Self {
        Self { live, dead, squares, square: Square::Medium, dilution, each: Vec::new() }
    }

    /// A count noted square by square (live cells), in medium squares; only such a one can show clumps.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::count::Count;
    /// let count = Count::singly(vec![12, 11, 14, 10, 13], 3, 100.0);
    /// assert_eq!((count.live, count.squares, count.clumped()), (60, 5, Some(false)));
    /// ```
    #[must_use]
    pub fn singly(each: Vec<u64>, dead: u64, dilution: f64) -> Self {
        let live = each.iter().fold(0, |sum: u64, n| sum.saturating_add(*n));
        let squares = u32::try_from(each.len()).unwrap_or(u32::MAX);
        Self { live, dead, squares, square: Square::Medium, dilution, each }
    }

    /// Cells seen, living and dead; at most as many as the type can count.
    ///
    /// **Evidence:** definition.
    ///
    /// # Example
    ///
    /// ```
    /// assert_eq!(barm_zymology::count::Count::total(180, 20, 5, 1.0).seen(), 200);
    /// ```
    #[must_use]
    pub const fn seen(&self) -> u64 {
        self.live.saturating_add(self.dead)
    }

    /// Cells per millilitre of sample for each cell seen.
    fn per_cell(&self) -> f64 {
        let squares = f64::from(self.squares.max(1)) * self.square.millilitres();
        self.dilution.clamp(1.0, f64::MAX) / squares
    }

    /// Cells per millilitre of sample, living and dead, in single cells; one factor of `lot`: "count".
    ///
    /// Exact Poisson interval of the cells seen, or the scatter of the squares where they clump, and 7 % for
    /// chamber and pipette: a single count is never better than about ±12 %. No cells seen: exactly zero,
    /// about which no range is known.
    ///
    /// **Source:** geometry of the improved Neubauer chamber; ASBC Yeast-4. **Evidence:** published; the 7 %
    /// is a judgement (derived).
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::count::Count;
    /// let density = Count::total(180, 20, 5, 100.0).density("jar-1");
    /// assert!(density.low() / 1e9 > 0.8 && density.high() / 1e9 < 1.2);
    /// ```
    #[must_use]
    pub fn density(&self, lot: &str) -> Estimate {
        let spread = self.counting_spread().hypot(CHAMBER);
        Estimate::exact(self.seen() as f64 * self.per_cell())
            .with_factor(FactorName::new("count", lot), spread)
    }

    /// Live cells per millilitre of sample, in single cells: [`Count::density`] × [`Count::viability`].
    ///
    /// **Source and evidence:** those of the two.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::count::Count;
    /// let live = Count::total(180, 20, 5, 100.0).live_density("jar-1");
    /// assert!((live.median() / 1e9 - 0.9).abs() < 0.01);
    /// ```
    #[must_use]
    pub fn live_density(&self, lot: &str) -> Estimate {
        self.density(lot) * self.viability(lot)
    }

    /// Live share of the cells, at most 1; one factor of `lot`: "count of the dead".
    ///
    /// The median is what was seen, the range the Wilson interval. No cells seen: exactly 1, which replaces
    /// nothing; look at [`Count::seen`] first. Methylene blue reads high below 90 %: see
    /// [`Count::methylene_blue_reads_high`].
    ///
    /// **Source:** Wilson 1927. **Evidence:** published.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::count::Count;
    /// assert!((Count::total(190, 10, 5, 100.0).viability("jar-1").median() - 0.95).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn viability(&self, lot: &str) -> Estimate {
        if self.seen() == 0 {
            return Estimate::exact(1.0);
        }
        let share = self.live as f64 / self.seen() as f64;
        let (low, high) = wilson(self.live, self.seen(), NINETY);
        Estimate::band(low, share, high, FactorName::new("count of the dead", lot)).capped(1.0)
    }

    /// Range that holds the true live share in 95 cases of 100; 0–100 % where no cells were seen.
    ///
    /// **Source:** Wilson 1927. **Evidence:** published.
    ///
    /// # Example
    ///
    /// ```
    /// let (low, high) = barm_zymology::count::Count::total(190, 10, 5, 100.0).viability_range();
    /// assert!((low.as_fraction() - 0.9104).abs() < 1e-4 && (high.as_fraction() - 0.9726).abs() < 1e-4);
    /// ```
    #[must_use]
    pub fn viability_range(&self) -> (Share, Share) {
        let (low, high) = wilson(self.live, self.seen(), NINETY_FIVE);
        (Share::fraction(low), Share::fraction(high))
    }

    /// Range that holds the true density, as far as counting goes, in 95 cases of 100: exact Poisson.
    ///
    /// No cells seen: from zero to what 3.7 cells would be.
    ///
    /// **Source:** Garwood 1936. **Evidence:** published.
    ///
    /// # Example
    ///
    /// ```
    /// let (low, high) = barm_zymology::count::Count::total(100, 0, 25, 1.0).density_range();
    /// assert!((low.as_millions() - 0.8136).abs() < 1e-3 && (high.as_millions() - 1.2163).abs() < 1e-3);
    /// ```
    #[must_use]
    pub fn density_range(&self) -> (CellsPerMillilitre, CellsPerMillilitre) {
        let (low, high) = poisson(self.seen(), 0.95);
        let per_cell = self.per_cell() / 1e6;
        (CellsPerMillilitre::millions(low * per_cell), CellsPerMillilitre::millions(high * per_cell))
    }

    /// Whether the squares differ more than chance lets them (p < 0.05); `None` where they were not noted
    /// singly.
    ///
    /// **Source:** index of dispersion, (k − 1)·s²/mean, against χ² with k − 1 degrees of freedom.
    /// **Evidence:** published.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::count::Count;
    /// let clumps = Count::singly(vec![35, 41, 37, 47, 43, 45, 70, 46, 40, 29], 0, 1.0);
    /// assert_eq!(clumps.clumped(), Some(true));
    /// ```
    #[must_use]
    pub fn clumped(&self) -> Option<bool> {
        self.dispersion().map(|(_, p)| p < 0.05)
    }

    /// Index of dispersion of the squares and the chance of one as large without clumps; `None` below two
    /// squares or without cells.
    ///
    /// **Source:** as [`Count::clumped`]. **Evidence:** published.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::count::Count;
    /// let clumps = Count::singly(vec![35, 41, 37, 47, 43, 45, 70, 46, 40, 29], 0, 1.0);
    /// let (index, chance) = clumps.dispersion().expect("ten squares");
    /// assert!((index - 24.62).abs() < 0.01 && (chance - 0.0034).abs() < 0.0001);
    /// ```
    #[must_use]
    pub fn dispersion(&self) -> Option<(f64, f64)> {
        let (mean, variance, freedom) = self.squares_scatter()?;
        let index = freedom * variance / mean;
        let chance = ChiSquared::new(freedom).ok()?.sf(index);
        Some((index, chance))
    }

    /// Relative half-width of the range that holds 95 cases in 100, from the scatter of the squares; `None`
    /// as [`Count::dispersion`].
    ///
    /// **Source:** Student's t. **Evidence:** published.
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::count::Count;
    /// let clumps = Count::singly(vec![35, 41, 37, 47, 43, 45, 70, 46, 40, 29], 0, 1.0);
    /// assert!((clumps.scatter_half_width().expect("ten squares") - 0.180).abs() < 0.001);
    /// ```
    #[must_use]
    pub fn scatter_half_width(&self) -> Option<f64> {
        self.half_width(0.95)
    }

    fn half_width(&self, confidence: f64) -> Option<f64> {
        let (mean, variance, freedom) = self.squares_scatter()?;
        let t = StudentsT::new(0.0, 1.0, freedom).ok()?.inverse_cdf(0.5 + confidence / 2.0);
        Some(t * (variance / (freedom + 1.0)).sqrt() / mean)
    }

    /// Mean and variance of the squares, and their number less one.
    fn squares_scatter(&self) -> Option<(f64, f64, f64)> {
        let squares = self.each.len() as f64;
        let mean = self.each.iter().map(|n| *n as f64).sum::<f64>() / squares;
        if self.each.len() < 2 || mean <= 0.0 {
            return None;
        }
        let squared: f64 = self.each.iter().map(|n| (*n as f64 - mean).powi(2)).sum();
        Some((mean, squared / (squares - 1.0), squares - 1.0))
    }

    /// Standard deviation of the logarithm that counting so many cells brings.
    fn counting_spread(&self) -> f64 {
        if self.seen() == 0 {
            return 0.0;
        }
        let (low, high) = poisson(self.seen(), 0.90);
        let chance = (high / low).ln() / (2.0 * NINETY);
        match (self.clumped(), self.half_width(0.90)) {
            (Some(true), Some(half)) => {
                // Two wild squares can give a half-width above the mean itself; the range then begins near nothing.
                let half = half.min(0.95);
                (((1.0 + half) / (1.0 - half)).ln() / (2.0 * NINETY)).max(chance)
            }
            _ => chance,
        }
    }

    /// Further cells to count for a relative error of `error` (0.2: ±20 %, 95 cases in 100); zero where these
    /// are enough.
    ///
    /// `error` outside 0.01–1 is taken at the nearer end.
    ///
    /// **Source and evidence:** those of [`cells_for`].
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::count::Count;
    /// assert_eq!(Count::total(60, 5, 5, 100.0).still_to_count(0.20), 32);
    /// ```
    #[must_use]
    pub fn still_to_count(&self, error: f64) -> u64 {
        cells_for(error).saturating_sub(self.seen())
    }

    /// Further squares to count for a relative error of `error`, as full as those counted; `None` where no
    /// cells were seen.
    ///
    /// **Source and evidence:** those of [`cells_for`].
    ///
    /// # Example
    ///
    /// ```
    /// use barm_zymology::count::Count;
    /// assert_eq!(Count::total(60, 5, 5, 100.0).squares_to_count(0.20), Some(3));
    /// ```
    #[must_use]
    pub fn squares_to_count(&self, error: f64) -> Option<u64> {
        let per_square = self.seen() as f64 / f64::from(self.squares.max(1));
        (per_square > 0.0).then(|| (self.still_to_count(error) as f64 / per_square).ceil() as u64)
    }

    /// Whether methylene blue would show too many alive: below 90 % not all dead cells stain, and the true
    /// share is lower.
    ///
    /// **Source:** O'Connor-Cox et al. 1997 (MBAA TQ 34), Smart et al. 1999 (J. Am. Soc. Brew. Chem. 57,
    /// 18–23); the limit of 90 % is common practice. **Evidence:** published.
    ///
    /// # Example
    ///
    /// ```
    /// assert!(barm_zymology::count::Count::total(160, 40, 5, 100.0).methylene_blue_reads_high());
    /// ```
    #[must_use]
    pub fn methylene_blue_reads_high(&self) -> bool {
        (self.live as f64) < 0.9 * self.seen() as f64
    }
}

/// Cells to count for a relative error of `error` in 95 cases of 100: (1.96/error)².
///
/// `error` outside 0.01–1 is taken at the nearer end. Chamber and pipette come on top.
///
/// **Source:** Poisson. **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_zymology::count::cells_for;
/// assert_eq!((cells_for(0.20), cells_for(0.10), cells_for(0.05)), (97, 385, 1537));
/// ```
#[must_use]
pub fn cells_for(error: f64) -> u64 {
    (NINETY_FIVE / error.clamp(0.01, 1.0)).powi(2).ceil() as u64
}

/// Cells to grade, living or dead, for a live share near `share` known within ± `error`, in 95 cases of 100.
///
/// `error` below 0.1 % counts as that; `share` outside 0–100 % as the nearer end.
///
/// **Source:** binomial. **Evidence:** published.
///
/// # Example
///
/// ```
/// use barm_quantity::Share;
/// use barm_zymology::count::cells_for_viability;
/// assert_eq!(cells_for_viability(Share::percent(95.0), Share::percent(2.0)), 457);
/// ```
#[must_use]
pub fn cells_for_viability(share: Share, error: Share) -> u64 {
    let p = share.as_fraction().clamp(0.0, 1.0);
    (NINETY_FIVE.powi(2) * p * (1.0 - p) / error.as_fraction().max(0.001).powi(2)).ceil() as u64
}

/// Exact range for a Poisson count.
fn poisson(seen: u64, confidence: f64) -> (f64, f64) {
    let n = seen as f64;
    let tail = (1.0 - confidence) / 2.0;
    // Far beyond what anybody counts the normal range is exact enough, and the iteration for χ² slow.
    if seen > 100_000 {
        let half = if confidence > 0.92 { NINETY_FIVE } else { NINETY } * n.sqrt();
        return (n - half, n + half);
    }
    let quantile = |freedom: f64, p: f64| ChiSquared::new(freedom).map_or(0.0, |d| d.inverse_cdf(p) / 2.0);
    (if seen == 0 { 0.0 } else { quantile(2.0 * n, tail) }, quantile(2.0 * n + 2.0, 1.0 - tail))
}

/// Wilson's range for a share.
fn wilson(of: u64, seen: u64, z: f64) -> (f64, f64) {
    let (x, n) = (of as f64, seen as f64);
    if seen == 0 {
        return (0.0, 1.0);
    }
    let square = z * z;
    let centre = (x + square / 2.0) / (n + square);
    let half = z * (x * (n - x) / n + square / 4.0).sqrt() / (n + square);
    ((centre - half).max(0.0), (centre + half).min(1.0))
}

/// A live share that somebody read and wrote down, at most 1; one factor of `lot`: "viability as read".
///
/// `error`: what they say it is good to, nine times in ten; never taken as less than 5 % of it, which a hundred cells give.
///
/// **Source:** [`cells_for_viability`]. **Evidence:** derived (judgement).
///
/// # Example
///
/// ```
/// use barm_quantity::Share;
/// let read = barm_zymology::count::viability_as_read(Share::percent(80.0), Share::default(), "jar-1");
/// assert!((read.high() - 0.84).abs() < 0.002 && (read.low() - 0.76).abs() < 0.002);
/// ```
#[must_use]
pub fn viability_as_read(share: Share, error: Share, lot: &str) -> Estimate {
    let spread = (error.as_fraction() / share.as_fraction().max(0.01)).max(0.05) / NINETY;
    Estimate::exact(share.as_fraction())
        .with_factor(FactorName::new("viability as read", lot), spread)
        .capped(1.0)
}
