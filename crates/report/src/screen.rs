//! What a log says, made safe for a terminal.
//!
//! A log is anybody's: an escape sequence in it could recolour, move or rewrite what stands on the screen, and a
//! bidirectional mark could show a line in another order than it has. Everything that comes from a log, file names too,
//! goes through here before it is printed.

use std::borrow::Cow;
use std::fmt::Write as _;

use barm_rules::quote::hidden;

/// The longest sentence that is printed, in characters; a longer one is cut. A log cannot flood the screen.
const LONGEST: usize = 600;

/// How wide a tab stands, in columns.
pub(crate) const TAB: usize = 4;

/// The columns that a character takes as [`push`] shows it. Wide and combining characters count as one: this only
/// decides where a long line is cut.
pub(crate) fn width(c: char) -> usize {
    match c {
        '\u{80}'.. if hidden(c) => "<U+0000>".len(),
        _ => 1,
    }
}

/// One character as it is shown: itself, a control picture, or `<U+202E>`. A CI service takes `##[name]` and `##name[`
/// anywhere in a line for a command, so that bracket stands as its picture.
pub(crate) fn push(out: &mut String, c: char) {
    match c {
        '[' if out.trim_end_matches(|c: char| c.is_ascii_alphanumeric()).ends_with("##") => out.push('⟦'),
        '\0'..='\u{1F}' => out.push(char::from_u32(0x2400 + u32::from(c)).unwrap_or('\u{FFFD}')),
        '\u{7F}' => out.push('\u{2421}'),
        c if hidden(c) => {
            // Writing to a string cannot fail.
            let _ = write!(out, "<U+{:04X}>", u32::from(c));
        }
        c => out.push(c),
    }
}

/// A sentence, or a file's name, on one line and safe to print: control and bidirectional characters shown as pictures,
/// and no longer than 600 characters.
#[must_use]
pub fn visible(text: &str) -> Cow<'_, str> {
    // Fewer bytes than allowed characters: certainly short enough.
    if text.len() <= LONGEST && !text.contains("##") && !text.chars().any(hidden) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len().min(4 * LONGEST));
    for (count, c) in text.chars().enumerate() {
        if count == LONGEST {
            out.push('…');
            break;
        }
        push(&mut out, c);
    }
    Cow::Owned(out)
}

/// A file's name at the beginning of a line: as [`visible`], and never read by a CI service as a command (`::error …`).
pub(crate) fn name(path: &str) -> Cow<'_, str> {
    let shown = visible(path);
    if shown.starts_with("::") || shown.starts_with('#') { Cow::Owned(format!("./{shown}")) } else { shown }
}

/// A note of several lines, each wrapped to a width that is read without turning the head.
pub(crate) fn wrapped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for line in text.lines() {
        for piece in textwrap::wrap(&visible(line), 96) {
            if !out.is_empty() {
                out.push('\n');
            }
            // A CI service takes a line that begins with two colons, blanks before them or not, for a command.
            match piece.trim_start().strip_prefix("::") {
                Some(rest) => {
                    out.push_str(": :");
                    out.push_str(rest);
                }
                None => out.push_str(&piece),
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn control_and_bidirectional_characters_become_visible() {
        assert_eq!(visible("a\u{1b}[31mb"), "a␛[31mb");
        assert_eq!(visible("a\u{7f}\u{9b}\u{202e}b\n"), "a␡<U+009B><U+202E>b␊");
        assert!(matches!(visible("plain: 18 °C, naïve 麦"), Cow::Borrowed(_)));
    }

    #[test]
    fn a_flood_is_cut() {
        assert_eq!(visible(&"x".repeat(1 << 20)).chars().count(), LONGEST + 1);
        assert_eq!(visible(&"°".repeat(LONGEST)).chars().count(), LONGEST);
    }

    #[test]
    fn no_line_looks_like_a_command_of_a_ci_service() {
        assert_eq!(name("::error::x.barm"), "./::error::x.barm");
        assert_eq!(visible("a ##[debug]b ##task[c #[d] ##e"), "a ##⟦debug]b ##task⟦c #[d] ##e");
        for line in wrapped("one\n::set-output x\n   ::warning y").lines() {
            assert!(!line.trim_start().starts_with("::"), "{line}");
        }
    }
}
