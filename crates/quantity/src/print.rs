//! Figures as people read them.

/// A figure with so many significant digits, never in scientific notation: `significant(0.0374, 2)` is "0.037",
/// `significant(1843.0, 2)` is "1800". What is not finite prints as "?".
///
/// ```
/// use barm_quantity::significant;
/// assert_eq!((significant(0.0374, 2), significant(1843.0, 2)), ("0.037".to_owned(), "1800".to_owned()));
/// ```
#[must_use]
pub fn significant(value: f64, digits: u32) -> String {
    if !value.is_finite() {
        return "?".to_owned();
    }
    if value == 0.0 {
        return "0".to_owned();
    }
    let magnitude = value.abs().log10().floor();
    let decimals = f64::from(digits) - 1.0 - magnitude;
    let step = 10f64.powf(-decimals);
    let rounded = (value / step).round() * step;
    // Rounding can reach the next power of ten (0.999 to 1.0): one decimal fewer then.
    let decimals = if rounded.abs().log10().floor() > magnitude { decimals - 1.0 } else { decimals };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a few decimals")]
    let decimals = decimals.clamp(0.0, 12.0) as usize;
    let text = format!("{rounded:.decimals$}");
    if text == "-0" { "0".to_owned() } else { text }
}

/// A number as short as it can be written with at most `decimals` decimals: `plain(18.0, 1)` is "18".
///
/// ```
/// use barm_quantity::plain;
/// assert_eq!((plain(18.0, 1), plain(18.25, 2)), ("18".to_owned(), "18.25".to_owned()));
/// ```
#[must_use]
pub fn plain(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "?".to_owned();
    }
    let text = format!("{value:.decimals$}");
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text };
    if text == "-0" { "0".to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_significant_digits() {
        for (value, text) in [
            (82.4, "82"),
            (1843.0, "1800"),
            (0.0374, "0.037"),
            (9.96, "10"),
            (0.999, "1.0"),
            (0.0, "0"),
            (99.6, "100"),
            (-3.24, "-3.2"),
            (f64::NAN, "?"),
            (1.0, "1.0"),
        ] {
            assert_eq!(significant(value, 2), text, "{value}");
        }
    }

    #[test]
    fn plain_numbers_drop_idle_zeros() {
        assert_eq!(plain(18.0, 1), "18");
        assert_eq!(plain(18.25, 1), "18.2");
        assert_eq!(plain(100.0, 0), "100");
        assert_eq!(plain(-0.01, 1), "0");
    }
}
