//! Lines of a file, one at a time, none longer than it may be.

use std::io::{self, BufRead};

/// The longest line that is read.
const LONGEST: usize = 64 << 10;

/// Reads line by line; what is beyond 64 KiB of a line is passed over.
pub(super) struct Lines<R> {
    from: R,
    /// The line, without its end.
    pub(super) line: Vec<u8>,
    /// Its number, from 1.
    pub(super) number: u64,
    /// It was longer than what is kept of it.
    pub(super) cut: bool,
}

impl<R: BufRead> Lines<R> {
    pub(super) const fn new(from: R) -> Self {
        Self { from, line: Vec::new(), number: 0, cut: false }
    }

    /// Goes on to the next line; `false` after the last.
    pub(super) fn advance(&mut self) -> io::Result<bool> {
        self.line.clear();
        self.cut = false;
        let mut any = false;
        loop {
            let bytes = self.from.fill_buf()?;
            if bytes.is_empty() {
                break;
            }
            any = true;
            let end = bytes.iter().position(|byte| *byte == b'\n');
            let piece = bytes.get(..end.unwrap_or(bytes.len())).unwrap_or(&[]);
            let room = LONGEST - self.line.len();
            self.cut |= piece.len() > room;
            self.line.extend(piece.iter().take(room));
            let used = piece.len() + usize::from(end.is_some());
            self.from.consume(used);
            if end.is_some() {
                break;
            }
        }
        if !any {
            return Ok(false);
        }
        self.number += 1;
        if self.number == 1 && self.line.starts_with(b"\xEF\xBB\xBF") {
            self.line.drain(..3);
        }
        if self.line.last() == Some(&b'\r') {
            self.line.pop();
        }
        Ok(true)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_end_as_they_do_and_long_ones_are_cut() {
        let long = "x".repeat(LONGEST + 10);
        let text = format!("\u{FEFF}a\r\n\n{long}\nlast");
        // A small buffer, so that lines span several of its fillings.
        let mut lines = Lines::new(io::BufReader::with_capacity(7, text.as_bytes()));
        let mut seen = Vec::new();
        while lines.advance().unwrap() {
            seen.push((lines.number, lines.line.len(), lines.cut));
        }
        assert_eq!(seen, [(1, 1, false), (2, 0, false), (3, LONGEST, true), (4, 4, false)]);
    }
}
