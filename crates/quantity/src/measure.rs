//! A number as it stands in a log.

use std::fmt;

use crate::{Dimension, Estimate, FactorName, NINETY, Unit, plain};

/// A number as written, in the unit that the brewer chose: `18 °C`, `17..20 °C`, `~180 ± 30 mL`.
///
/// ```
/// use barm_quantity::{Measure, Unit};
/// let written = Measure { about: true, plus_minus: 30.0, ..Measure::new(180.0, Unit::Millilitre) };
/// assert_eq!(written.to_string(), "~180 ± 30 mL");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measure {
    /// The value, or the low end of a range.
    pub low: f64,
    /// The high end of a range; equal to `low` where none was written.
    pub high: f64,
    /// What stands after `±`, in the same unit; 0 where nothing does.
    pub plus_minus: f32,
    /// The unit.
    pub unit: Unit,
    /// Whether a `~` stands before it.
    pub about: bool,
}

impl Measure {
    /// A plain value.
    ///
    /// ```
    /// use barm_quantity::{Measure, Unit};
    /// assert_eq!(Measure::new(18.0, Unit::Celsius).to_string(), "18 °C");
    /// ```
    #[must_use]
    pub const fn new(value: f64, unit: Unit) -> Self {
        Self { low: value, high: value, plus_minus: 0.0, unit, about: false }
    }

    /// A range.
    ///
    /// ```
    /// use barm_quantity::{Measure, Unit};
    /// assert_eq!(Measure::range(17.0, 20.0, Unit::Celsius).base(), 18.5);
    /// ```
    #[must_use]
    pub const fn range(low: f64, high: f64, unit: Unit) -> Self {
        Self { low, high, plus_minus: 0.0, unit, about: false }
    }

    /// What it measures.
    ///
    /// ```
    /// use barm_quantity::{Dimension, Measure, Unit};
    /// assert_eq!(Measure::new(18.0, Unit::Celsius).dimension(), Dimension::Temperature);
    /// ```
    #[must_use]
    pub const fn dimension(&self) -> Dimension {
        self.unit.dimension()
    }

    /// Whether two ends were written.
    ///
    /// ```
    /// use barm_quantity::{Measure, Unit};
    /// assert!(!Measure::new(18.0, Unit::Celsius).is_range());
    /// ```
    #[must_use]
    pub fn is_range(&self) -> bool {
        self.high > self.low
    }

    /// The value, or the middle of the range, in the base unit of its dimension.
    ///
    /// ```
    /// use barm_quantity::{Measure, Unit};
    /// assert_eq!(Measure::new(180.0, Unit::Millilitre).base(), 0.18);
    /// ```
    #[must_use]
    pub fn base(&self) -> f64 {
        self.unit.to_base(f64::midpoint(self.low, self.high))
    }

    /// The low end in the base unit.
    ///
    /// ```
    /// use barm_quantity::{Measure, Unit};
    /// assert_eq!(Measure::range(17.0, 20.0, Unit::Celsius).low_base(), 17.0);
    /// ```
    #[must_use]
    pub const fn low_base(&self) -> f64 {
        self.unit.to_base(self.low)
    }

    /// The high end in the base unit.
    ///
    /// ```
    /// use barm_quantity::{Measure, Unit};
    /// assert_eq!(Measure::range(17.0, 20.0, Unit::Celsius).high_base(), 20.0);
    /// ```
    #[must_use]
    pub const fn high_base(&self) -> f64 {
        self.unit.to_base(self.high)
    }

    /// What was written after `±`, or half the range, in the base unit; 0 where neither was.
    ///
    /// ```
    /// use barm_quantity::{Measure, Unit};
    /// assert_eq!(Measure::range(17.0, 20.0, Unit::Celsius).error_base(), 1.5);
    /// let degrees = Measure { plus_minus: 1.8, ..Measure::new(68.0, Unit::Fahrenheit) };
    /// assert!((degrees.error_base() - 1.0).abs() < 1e-6); // a difference: no offset
    /// ```
    #[must_use]
    pub fn error_base(&self) -> f64 {
        let half_range = (self.high - self.low) / 2.0;
        self.unit.distance_to_base(f64::from(self.plus_minus).max(half_range)).abs()
    }

    /// An amount as an estimate in base units: `±` and ranges hold nine cases in ten, a `~` alone means a tenth either
    /// way (judgement). Only for dimensions whose zero is nothing (volumes, masses, cells), not for temperatures.
    ///
    /// ```
    /// use barm_quantity::{FactorName, Measure, Unit};
    /// let about = Measure { about: true, ..Measure::new(200.0, Unit::Millilitre) };
    /// assert!((about.estimate(FactorName::new("volume", "jar-1")).high() - 0.22).abs() < 1e-9);
    /// ```
    #[must_use]
    pub fn estimate(&self, name: FactorName) -> Estimate {
        let best = self.base();
        let mut spread = if best > 0.0 { (self.error_base() / best).min(0.9) } else { 0.0 };
        if self.about && spread == 0.0 {
            spread = 0.1;
        }
        Estimate::exact(best).with_factor(name, spread.ln_1p() / NINETY)
    }

    /// So many of it, each as far off as the others.
    ///
    /// ```
    /// use barm_quantity::{Measure, Unit};
    /// let bottle = Measure { plus_minus: 5.0, ..Measure::new(330.0, Unit::Millilitre) };
    /// assert_eq!(bottle.times(40.0).to_string(), "13200 ± 200 mL");
    /// ```
    #[must_use]
    pub const fn times(&self, number: f64) -> Self {
        #[expect(clippy::cast_possible_truncation, reason = "an error needs no more digits")]
        let plus_minus = (self.plus_minus as f64 * number) as f32;
        Self { low: self.low * number, high: self.high * number, plus_minus, ..*self }
    }

    /// The same in another unit of the same dimension; `None` where the dimensions differ, or between gravities
    /// (specific gravity to °P is no matter of a factor: `barm-zymology` has it).
    ///
    /// ```
    /// use barm_quantity::{Measure, Unit};
    /// let cool = Measure::new(68.0, Unit::Fahrenheit).converted(Unit::Celsius).expect("a temperature");
    /// assert!((cool.low - 20.0).abs() < 1e-9);
    /// assert_eq!(Measure::new(1.0, Unit::Litre).converted(Unit::Gram), None);
    /// ```
    #[must_use]
    pub fn converted(&self, unit: Unit) -> Option<Self> {
        if unit.dimension() != self.dimension()
            || (unit != self.unit && unit.dimension() == Dimension::Gravity)
        {
            return None;
        }
        #[expect(clippy::cast_possible_truncation, reason = "an error needs no more digits")]
        let plus_minus =
            unit.distance_from_base(self.unit.distance_to_base(f64::from(self.plus_minus))) as f32;
        Some(Self {
            low: unit.from_base(self.low_base()),
            high: unit.from_base(self.high_base()),
            plus_minus,
            unit,
            about: self.about,
        })
    }
}

impl fmt::Display for Measure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let number =
            |x: f64| if self.unit == Unit::SpecificGravity { format!("{x:.3}") } else { plain(x, 3) };
        if self.about {
            f.write_str("~")?;
        }
        f.write_str(&number(self.low))?;
        if self.is_range() {
            write!(f, "..{}", number(self.high))?;
        }
        if self.plus_minus > 0.0 {
            write!(f, " ± {}", number(f64::from(self.plus_minus)))?;
        }
        match self.unit.symbol() {
            "" => Ok(()),
            symbol => write!(f, " {symbol}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prints_as_a_log_would_say_it() {
        assert_eq!(Measure::new(18.0, Unit::Celsius).to_string(), "18 °C");
        assert_eq!(Measure::range(17.0, 20.5, Unit::Celsius).to_string(), "17..20.5 °C");
        assert_eq!(Measure::new(1.05, Unit::SpecificGravity).to_string(), "1.050");
        let about = Measure { about: true, plus_minus: 30.0, ..Measure::new(180.0, Unit::Millilitre) };
        assert_eq!(about.to_string(), "~180 ± 30 mL");
    }

    #[test]
    fn an_error_becomes_a_spread() {
        let measure = Measure { plus_minus: 30.0, ..Measure::new(180.0, Unit::Millilitre) };
        let estimate = measure.estimate(FactorName::new("volume", "jar"));
        assert!((estimate.median() - 0.18).abs() < 1e-12);
        assert!((estimate.high() - 0.21).abs() < 1e-9);
    }

    #[test]
    fn converts_within_a_dimension_only() {
        let f = Measure::range(64.4, 68.0, Unit::Fahrenheit).converted(Unit::Celsius).unwrap();
        assert!((f.low - 18.0).abs() < 1e-9 && (f.high - 20.0).abs() < 1e-9);
        assert!(Measure::new(1.0, Unit::Litre).converted(Unit::Gram).is_none());
        assert!(Measure::new(1.048, Unit::SpecificGravity).converted(Unit::DegreePlato).is_none());
    }
}
