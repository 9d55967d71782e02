//! Figures as people read them.

/// Less than the last of twelve decimals shows.
const NOTHING: f64 = 5e-13;

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
    // What no decimal shows is nothing; to write it out takes long where it is all but zero.
    if value.abs() < NOTHING {
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
    let text = fixed(rounded, decimals);
    // What no decimal shows is nothing.
    if text.bytes().any(|digit| matches!(digit, b'1'..=b'9')) { text } else { "0".to_owned() }
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
    let mut text = fixed(value, decimals);
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// `format!("{value:.decimals$}")`, in a fraction of the time: the standard library works out every binary digit, which
/// matters only where the next decimal is a five.
fn fixed(value: f64, decimals: usize) -> String {
    const POWERS: [f64; 7] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6];
    let scaled = POWERS.get(decimals).map(|power| value.abs() * power).filter(|scaled| *scaled < 1e9);
    let Some(scaled) = scaled.filter(|scaled| (scaled.fract() - 0.5).abs() > 1e-6) else {
        return format!("{value:.decimals$}");
    };
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "positive and below 1e9")]
    let mut digits = scaled.round() as u32;
    let mut text = Vec::with_capacity(decimals + 4);
    // From the last digit to the first.
    while digits > 0 || text.len() <= decimals + usize::from(decimals > 0) {
        text.push(b'0' + (digits % 10) as u8);
        digits /= 10;
        if text.len() == decimals {
            text.push(b'.');
        }
    }
    if value.is_sign_negative() {
        text.push(b'-');
    }
    text.reverse();
    String::from_utf8(text).unwrap_or_default()
}

/// From so many times on a share is no longer told in per cent.
const MANY_TIMES: f64 = 10.0;

/// A share as a person says it: in per cent to two digits, and what is ten times as much or more in times.
///
/// ```
/// use barm_quantity::share;
/// assert_eq!((share(0.736), share(2.94), share(14.82)), ("74 %".into(), "290 %".into(), "15 times".into()));
/// ```
#[must_use]
pub fn share(ratio: f64) -> String {
    share_range(ratio, ratio, ratio)
}

/// The same with its range, both ends alike: `180–450 %`, `9.2–24 times`.
///
/// ```
/// use barm_quantity::share_range;
/// assert_eq!(share_range(1.8, 2.9, 4.5), "180–450 %");
/// assert_eq!(share_range(9.23, 15.0, 24.0), "9.2–24 times");
/// ```
#[must_use]
pub fn share_range(low: f64, best: f64, high: f64) -> String {
    let (scale, unit) = if is_many_times(best) { (1.0, "times") } else { (100.0, "%") };
    let [low, high] = [low, high].map(|end| significant(end * scale, 2));
    if low == high { format!("{low} {unit}") } else { format!("{low}–{high} {unit}") }
}

/// Whether a share is told in times and not in per cent.
///
/// ```
/// assert!(barm_quantity::is_many_times(14.8) && !barm_quantity::is_many_times(2.9));
/// ```
#[must_use]
pub fn is_many_times(ratio: f64) -> bool {
    ratio >= MANY_TIMES
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
    fn written_as_the_standard_library_writes_it() {
        let mut state = 1_u64;
        let mut random = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 53) as f64
        };
        for round in 0..200_000_u32 {
            let decimals = (round % 8) as usize;
            let wide = (random() - 0.5) * 10_f64.powf(random() * 14.0 - 4.0);
            // As a log has them: a few decimals, fives among them.
            for value in [wide, (wide * 100.0).round() / 100.0, (wide * 8.0).round() / 8.0, wide.trunc()] {
                assert_eq!(fixed(value, decimals), format!("{value:.decimals$}"), "{value} to {decimals}");
            }
        }
        assert_eq!((fixed(-0.0, 1), fixed(0.0, 0)), ("-0.0".to_owned(), "0".to_owned()));
    }

    #[test]
    fn plain_numbers_drop_idle_zeros() {
        assert_eq!(plain(18.0, 1), "18");
        assert_eq!(plain(18.25, 1), "18.2");
        assert_eq!(plain(100.0, 0), "100");
        assert_eq!(plain(-0.01, 1), "0");
    }
}
