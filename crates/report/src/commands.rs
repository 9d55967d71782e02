//! Findings as workflow commands, which GitHub shows beside the lines of a change.
//!
//! Encoded as its own `@actions/core` does, which is the reference: the tests compare with it byte by byte.

use std::fmt::Write as _;
use std::io;

use barm_rules::{Finding, Level};

use crate::place::Files;
use crate::{Checked, Tally, screen, shown};

/// One command a finding, and a line that counts them.
///
/// # Errors
/// When `out` cannot be written.
pub fn commands(out: &mut dyn io::Write, checked: &[Checked<'_>]) -> io::Result<()> {
    for one in checked {
        let files = Files::new(&one.season.sources, one.base);
        shown(one).try_for_each(|finding| writeln!(out, "{}", command(&files, finding)))?;
    }
    writeln!(out, "{}", Tally::of(checked).sentence())
}

fn command(files: &Files<'_>, finding: &Finding) -> String {
    let word = match finding.level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Note | Level::Figure | Level::Off => "notice",
    };
    let path = files.path(finding.place.file);
    let (start, end) =
        (files.start(finding.place), files.position(finding.place.file, finding.place.span.end));
    let mut out = format!(
        "::{word} title={},file={},line={},endLine={}",
        property(finding.rule),
        property(&screen::visible(&path)),
        start.line,
        end.line,
    );
    // Columns mean something on one line only.
    if start.line == end.line {
        // Writing to a string cannot fail.
        let _ = write!(out, ",col={},endColumn={}", start.column, end.column);
    }
    let mut message = screen::visible(&finding.message).into_owned();
    for note in finding.notes.iter().flat_map(|note| note.lines()) {
        message.push('\n');
        message.push_str(&screen::visible(note));
    }
    out.push_str("::");
    out.push_str(&data(&message));
    out
}

/// The words of a command.
fn data(text: &str) -> String {
    text.replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A")
}

/// A value in the head of a command, which ends at a comma, and the head at a colon.
fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_would_end_a_value_is_encoded() {
        // What @actions/core 1.11.1 makes of the same.
        assert_eq!(property("x, y: z"), "x%2C y%3A z");
        assert_eq!(property("dir/a b,c.txt"), "dir/a b%2Cc.txt");
        assert_eq!(data("100% bad: a,b\nsecond"), "100%25 bad: a,b%0Asecond");
        assert_eq!(data("%0A\r"), "%250A%0D");
    }
}
