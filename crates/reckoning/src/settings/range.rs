//! Ranges of numbers as patterns, for a schema that sees a number and its unit only as text.

use barm_quantity::plain;

/// So many decimals of a limit are looked at; it is drawn in by less than anybody would write.
const DECIMALS: usize = 9;

/// Patterns that a text must match, each of them, to be a number from `low` to `high`. Numbers are written as `340`,
/// `12.5`, `.5` or `-3`.
pub(super) fn patterns(low: f64, high: f64) -> Vec<String> {
    if low < 0.0 {
        let below = at_most(&plain(-low, DECIMALS));
        return vec![if high < 0.0 {
            format!("-({below})")
        } else {
            format!("(-({below})|{})", at_most(&plain(high, DECIMALS)))
        }];
    }
    let mut out = vec![at_most(&plain(high, DECIMALS))];
    if low > 0.0 {
        out.push(at_least(&plain(low, DECIMALS)));
    }
    out
}

/// The digits before and behind the point, without idle noughts.
fn digits(number: &str) -> (&str, &str) {
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    (whole.trim_start_matches('0'), part.trim_end_matches('0'))
}

const ANY_PART: &str = r"(\.[0-9]*)?";

/// No sign, and no more than `limit`.
fn at_most(limit: &str) -> String {
    let (whole, part) = digits(limit);
    let mut ways = Vec::new();
    if !whole.is_empty() {
        ways.push(format!("[0-9]{{0,{}}}{ANY_PART}", whole.len() - 1));
    }
    for (at, digit) in whole.bytes().enumerate().filter(|(_, digit)| *digit > b'0') {
        let (same, behind) = (head(whole, at), whole.len() - at - 1);
        ways.push(format!("{same}[0-{}][0-9]{{{behind}}}{ANY_PART}", char::from(digit - 1)));
    }
    // All before the point is the same: no more behind it.
    let mut parts = vec!["0*".to_owned()];
    for (at, digit) in part.bytes().enumerate() {
        if digit > b'0' {
            parts.push(format!("{}[0-{}][0-9]*", head(part, at), char::from(digit - 1)));
        }
        parts.push(format!("{}0*", head(part, at + 1)));
    }
    ways.push(format!(r"{whole}(\.({}))?", parts.join("|")));
    format!("0*({})", ways.join("|"))
}

/// No sign, and no less than `limit`, which is more than nothing.
fn at_least(limit: &str) -> String {
    let (whole, part) = digits(limit);
    let mut ways = vec![format!("[1-9][0-9]{{{},}}{ANY_PART}", whole.len())];
    for (at, digit) in whole.bytes().enumerate().filter(|(_, digit)| *digit < b'9') {
        let (same, behind) = (head(whole, at), whole.len() - at - 1);
        ways.push(format!("{same}[{}-9][0-9]{{{behind}}}{ANY_PART}", char::from(digit + 1)));
    }
    if part.is_empty() {
        ways.push(format!("{whole}{ANY_PART}"));
    } else {
        let mut parts = vec![format!("{part}[0-9]*")];
        for (at, digit) in part.bytes().enumerate().filter(|(_, digit)| *digit < b'9') {
            parts.push(format!("{}[{}-9][0-9]*", head(part, at), char::from(digit + 1)));
        }
        ways.push(format!(r"{whole}\.({})", parts.join("|")));
    }
    format!("0*({})", ways.join("|"))
}

fn head(digits: &str, length: usize) -> &str {
    digits.get(..length).unwrap_or(digits)
}
