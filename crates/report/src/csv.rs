//! Log text in a cell of a table that a spreadsheet opens.

use std::borrow::Cow;

/// A text for a CSV cell, before the CSV writer quotes it: one that a spreadsheet would take for a formula gets an
/// apostrophe, and control and bidirectional characters are shown as pictures. `barm season --format csv` sends all its
/// texts through here; a number is no text and goes as it is.
///
/// A leading apostrophe gets one too, so that what was written can be told from what was added.
#[must_use]
pub fn csv_text(text: &str) -> Cow<'_, str> {
    let shown = crate::visible(text);
    // A tab or a carriage return is looked for in what was written: as shown it is a picture, and harmless. A spreadsheet
    // skips blanks before it looks.
    let opens = text
        .trim_start_matches(' ')
        .starts_with(['=', '+', '-', '@', '\t', '\r', '\'', '＝', '＋', '－', '＠']);
    if opens { Cow::Owned(format!("'{shown}")) } else { shown }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_cell_is_a_formula() {
        for opens in ["=1+1", "+1", "-1", "@a", "\t=1", "\r=1", "  =1", "'=1", "＝1"] {
            let cell = csv_text(opens);
            assert!(cell.starts_with('\''), "{opens:?} became {cell:?}");
            assert!(!cell.contains(['\t', '\r']), "{cell:?}");
        }
        for plain in ["fen-12", "18 °C", "a=b", "1+1", "", "Fen lager, run #12"] {
            assert_eq!(csv_text(plain), plain);
        }
    }
}
