use std::fmt;
use std::ops::RangeInclusive;

/// A value lies where a formula no longer holds; nothing is reckoned from it.
///
/// # Example
///
/// ```
/// use barm_quantity::{Gravity, Temperature};
/// use barm_zymology::gravity;
/// let hot = gravity::corrected(Gravity::specific(1.040), Temperature::celsius(71.0), Temperature::celsius(20.0));
/// let refused = hot.unwrap_err();
/// assert_eq!(refused.value, 71.0);
/// assert_eq!(refused.to_string(), "the sample's temperature is 71 °C; this holds from 0 °C to 60 °C");
/// ```
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct OutOfRange {
    /// What is out of range: "the sample's temperature".
    pub what: &'static str,
    /// Its value, in `unit`.
    pub value: f64,
    /// Where the formula holds, ends included, in `unit`.
    pub range: RangeInclusive<f64>,
    /// "°C", "°P"; empty for a bare number.
    pub unit: &'static str,
}

impl OutOfRange {
    /// `Ok` where `value` lies in `range`; NaN never does.
    pub(crate) fn unless(
        range: RangeInclusive<f64>,
        value: f64,
        what: &'static str,
        unit: &'static str,
    ) -> Result<(), Self> {
        if range.contains(&value) { Ok(()) } else { Err(Self { what, value, range, unit }) }
    }
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { what, value, range, unit } = self;
        let gap = if unit.is_empty() || *unit == "%" { "" } else { " " };
        // Three decimals tell any gravity; trailing zeros tell nothing.
        let shown = |x: f64| {
            let text = format!("{x:.3}");
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        };
        let (value, low, high) = (shown(*value), shown(*range.start()), shown(*range.end()));
        write!(f, "{what} is {value}{gap}{unit}; this holds from {low}{gap}{unit} to {high}{gap}{unit}")
    }
}

impl std::error::Error for OutOfRange {}
