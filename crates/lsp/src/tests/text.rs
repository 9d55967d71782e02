//! A hundred thousand edits to a text in each encoding, against a plain `String`.

use tower_lsp::lsp_types::{Position, Range};

use super::oracle;
use crate::text::{Encoding, Text};

const EDITS: usize = 100_000;
/// A text that has grown longer is cut down.
const LONG: usize = 600;

const PUT: [&str; 18] = [
    "",
    "a",
    "é",
    "𝛼",
    "e\u{301}",
    "\n",
    "\r\n",
    "\r",
    "\n\r",
    "\u{feff}",
    "\u{85}",
    "\u{2028}",
    "21 °C",
    "👩‍🔬",
    "\t",
    "\0",
    "brew one\r\n  wort 21 L at 1.048\r\n",
    "\u{b}\u{c}x",
];

/// A place that may lie anywhere, also outside the text and within a character.
fn anywhere(random: &mut fastrand::Rng, text: &str, encoding: Encoding) -> Position {
    if random.u8(..) < 8 {
        let far = [u32::MAX, 1 << 31, 1_000, 40];
        return Position {
            line: far[random.usize(..far.len())].min(random.u32(..)),
            character: far[random.usize(..far.len())],
        };
    }
    let at = (0..=random.usize(..=text.len())).rev().find(|at| text.is_char_boundary(*at)).unwrap();
    let mut position = oracle::position(text, at, encoding);
    if random.u8(..) < 40 {
        position.character += random.u32(..4);
    }
    position
}

fn storm(encoding: Encoding) {
    let mut random = fastrand::Rng::with_seed(20_261_125);
    let mut whole = String::new();
    let mut text = Text::new("", encoding);
    for nth in 0..EDITS {
        let start = anywhere(&mut random, &whole, encoding);
        let end = if random.bool() { start } else { anywhere(&mut random, &whole, encoding) };
        let range = (random.u16(..) > 60).then_some(Range { start, end });
        let new = if whole.len() > LONG { "" } else { PUT[random.usize(..PUT.len())] };
        let before = whole.clone();
        oracle::change(&mut whole, range, new, encoding);
        text.change(range, new);
        assert_eq!(text.whole(), whole, "edit {nth}, {encoding:?}: {range:?} of {before:?} becomes {new:?}");
        let place = anywhere(&mut random, &whole, encoding);
        let at = oracle::offset(&whole, place, encoding);
        assert_eq!(text.offset(place), at, "edit {nth}, {encoding:?}: {place:?} in {whole:?}");
        let place = oracle::position(&whole, at, encoding);
        assert_eq!(text.position(at), place, "edit {nth}, {encoding:?}: byte {at} of {whole:?}");
    }
}

#[test]
fn edits_in_bytes() {
    storm(Encoding::Utf8);
}

#[test]
fn edits_in_utf_16_units() {
    storm(Encoding::Utf16);
}

#[test]
fn edits_in_characters() {
    storm(Encoding::Utf32);
}
