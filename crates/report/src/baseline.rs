//! The findings that a team has decided to live with: what was there when the logs were first checked.
//!
//! A baseline is a text of one JSON object a line, sorted, so that version control merges it and a person can take a line
//! out: `{"file":"ales/spring.barm","rule":"underpitched","fingerprint":"0123456789abcdef"}`. A finding is known by
//! its file, rule and fingerprint (see [`fingerprints`](crate::fingerprints)).

use std::collections::BTreeSet;
use std::io;

use serde::{Deserialize, Serialize};

/// Findings that are known.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Baseline {
    known: BTreeSet<Known>,
}

/// A finding as a baseline knows it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Known {
    /// Its log, from the folder that the baseline lies in.
    pub file: String,
    /// Its rule.
    pub rule: String,
    /// Its fingerprint.
    pub fingerprint: String,
}

impl Baseline {
    /// Reads a baseline.
    ///
    /// # Errors
    /// With the line, counted from 1, that is none of a baseline, and why.
    pub fn read(text: &str) -> Result<Self, (usize, String)> {
        let mut known = BTreeSet::new();
        for (number, line) in text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()) {
            let one = serde_json::from_str(line).map_err(|error| (number + 1, plainly(&error)))?;
            known.insert(one);
        }
        Ok(Self { known })
    }

    /// Whether a finding is known.
    #[must_use]
    pub fn knows(&self, finding: &Known) -> bool {
        self.known.contains(finding)
    }

    /// Writes it as [`Baseline::read`] reads it.
    ///
    /// # Errors
    /// When `out` cannot be written.
    pub fn write(&self, out: &mut dyn io::Write) -> io::Result<()> {
        self.known.iter().try_for_each(|one| crate::json::write_line(out, one))
    }

    /// How many are known.
    #[must_use]
    pub fn len(&self) -> usize {
        self.known.len()
    }

    /// Whether none is.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.known.is_empty()
    }
}

impl FromIterator<Known> for Baseline {
    fn from_iter<I: IntoIterator<Item = Known>>(known: I) -> Self {
        Self { known: known.into_iter().collect() }
    }
}

/// What is wrong, without the "at line 1" of a text that is one line.
fn plainly(error: &serde_json::Error) -> String {
    let said = error.to_string();
    said.split(" at line ").next().unwrap_or(&said).to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known(file: &str, fingerprint: &str) -> Known {
        Known { file: file.into(), rule: "underpitched".into(), fingerprint: fingerprint.into() }
    }

    #[test]
    fn what_is_written_is_read() {
        let odd = "a\n\u{1b}\u{202e} ##[x.barm";
        let baseline: Baseline =
            [known("b.barm", "02"), known(odd, "01"), known("b.barm", "01")].into_iter().collect();
        let mut text = Vec::new();
        baseline.write(&mut text).unwrap();
        let text = String::from_utf8(text).unwrap();
        assert_eq!(text.lines().count(), 3);
        assert!(!text.contains(['\u{1b}', '\u{202e}']), "{text}");
        assert_eq!(Baseline::read(&text).unwrap(), baseline);
        assert!(baseline.knows(&known("b.barm", "02")));
        assert!(!baseline.knows(&known("c.barm", "02")));
    }

    #[test]
    fn a_line_of_something_else_is_told() {
        let good = r#"{"file":"a","rule":"b","fingerprint":"c"}"#;
        let read = |line: &str| Baseline::read(&format!("{good}\n\n{line}\n")).unwrap_err();
        assert_eq!(read("<<<<<<< ours").0, 3);
        assert_eq!(read(r#"{"file":"a","rule":"b"}"#), (3, "missing field `fingerprint`".to_owned()));
        assert!(read(r#"{"file":"a","rule":"b","fingerprint":"c","x":1}"#).1.contains("unknown field `x`"));
    }
}
