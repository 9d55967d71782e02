//! What was found, counted.

use std::collections::BTreeSet;

use barm_rules::Level;

use crate::{CAUTION, Checked};

/// The findings of a run, counted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally {
    /// Logs that were asked about.
    pub logs: usize,
    /// Logs that were read to answer.
    pub read: usize,
    /// Findings of level error.
    pub errors: usize,
    /// Findings of level warning.
    pub warnings: usize,
    /// Findings of level note, cautions aside.
    pub notes: usize,
    /// Cautions.
    pub cautions: usize,
    /// Findings that an acceptance covers, shown or not.
    pub accepted: usize,
    /// Findings that a baseline knows.
    pub known: usize,
    /// Findings on lines that have not changed, where only changes were asked about.
    pub unchanged: usize,
    /// Rules that the settings switched off, in order of their names.
    pub switched_off: BTreeSet<&'static str>,
    /// Findings left out to keep the output bounded.
    pub left_out: usize,
}

impl Tally {
    /// Counts.
    #[must_use]
    pub fn of(checked: &[Checked<'_>]) -> Self {
        let mut out = Self::default();
        for Checked { season, report, asked, .. } in checked {
            out.logs += asked.len();
            out.read += season.sources.len();
            out.accepted += report.accepted.len();
            out.known += report.known;
            out.unchanged += report.unchanged;
            out.left_out += report.left_out.values().sum::<usize>();
            out.switched_off.extend(&report.switched_off);
            for finding in &report.findings {
                match finding.level {
                    _ if finding.rule == CAUTION => out.cautions += 1,
                    Level::Error => out.errors += 1,
                    Level::Warning => out.warnings += 1,
                    Level::Note => out.notes += 1,
                    Level::Figure | Level::Off => {}
                }
            }
        }
        out
    }

    /// The worst level that was found; a caution is no fault, so it does not count.
    #[must_use]
    pub fn worst(&self) -> Option<Level> {
        if self.errors > 0 {
            Some(Level::Error)
        } else if self.warnings > 0 {
            Some(Level::Warning)
        } else if self.notes > 0 {
            Some(Level::Note)
        } else {
            None
        }
    }

    /// The last line of the text output.
    #[must_use]
    pub fn sentence(&self) -> String {
        let mut found: Vec<String> =
            [(self.errors, "error"), (self.warnings, "warning"), (self.notes, "note")]
                .into_iter()
                .filter(|&(count, _)| count > 0)
                .map(|(count, what)| counted(count, what))
                .collect();
        if found.is_empty() {
            found.push("Nothing to mend".to_owned());
        }
        let mut out = format!("{} in {}", found.join(", "), counted(self.logs, "log"));
        if self.read > self.logs {
            out.push_str(&format!(" ({} read)", self.read));
        }
        if self.left_out > 0 {
            out.push_str(&format!(
                "; {} more left out (at most 20 a line and 100 a file are shown)",
                self.left_out
            ));
        }
        if self.cautions > 0 {
            out.push_str(&format!("; {}", counted(self.cautions, "caution")));
        }
        if self.accepted > 0 {
            out.push_str(&format!("; {} accepted", self.accepted));
        }
        if self.known > 0 {
            out.push_str(&format!("; {} known from the baseline", self.known));
        }
        if self.unchanged > 0 {
            out.push_str(&format!("; {} on unchanged lines not shown", self.unchanged));
        }
        if !self.switched_off.is_empty() {
            let rules: Vec<&str> = self.switched_off.iter().copied().collect();
            out.push_str(&format!("; switched off: {}", rules.join(", ")));
        }
        out.push('.');
        out
    }
}

/// `1 log`, `2 logs`
pub(crate) fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_line_counts_everything() {
        let mut tally = Tally { logs: 3, read: 3, ..Tally::default() };
        assert_eq!(tally.sentence(), "Nothing to mend in 3 logs.");
        assert_eq!(tally.worst(), None);
        tally = Tally { logs: 1, read: 14, warnings: 1, notes: 2, accepted: 1, ..Tally::default() };
        tally.switched_off.insert("late-generation");
        assert_eq!(
            tally.sentence(),
            "1 warning, 2 notes in 1 log (14 read); 1 accepted; switched off: late-generation."
        );
        assert_eq!(tally.worst(), Some(Level::Warning));
        tally = Tally { logs: 2, read: 2, cautions: 3, left_out: 7, ..Tally::default() };
        assert_eq!(
            tally.sentence(),
            "Nothing to mend in 2 logs; 7 more left out (at most 20 a line and 100 a file are shown); 3 cautions."
        );
        assert_eq!(tally.worst(), None);
    }
}
