//! The rules, and how they are run: levels from the settings, acceptances from the log.

use barm_reckoning::Season;

use crate::{Finding, Level};

/// A rule. Each lives in a file of its own, beside the page that explains it.
pub trait Rule: Sync {
    /// Its name: the trade's word for the bad thing, kebab-case, reads well after "accept".
    fn name(&self) -> &'static str;
    /// The level that it speaks at, before certainty and settings.
    fn level(&self) -> Level;
    /// Its page, in Markdown: what, why, what to do, source, examples that the tests run.
    fn page(&self) -> &'static str;
    /// Looks at a season and says what it found.
    fn check(&self, season: &Season, report: &mut Report);
}

/// What rules write into.
#[derive(Debug, Default)]
pub struct Report {
    /// What was found.
    pub findings: Vec<Finding>,
    /// Why a rule had nothing to say of a lot: (rule, lot, reason). Filled for `why RULE --lot NAME`.
    pub silent: Vec<(&'static str, String, String)>,
    /// How many findings an acceptance silenced.
    pub accepted: usize,
    /// The rules that the settings switched off.
    pub switched_off: Vec<&'static str>,
    /// How many findings were left out to keep the output bounded (100 a file, 20 a line).
    pub left_out: usize,
}

impl Report {
    /// Something was found.
    pub fn found(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    /// A rule looked at a lot and has nothing to say.
    pub fn silent(&mut self, rule: &'static str, lot: &str, reason: impl Into<String>) {
        self.silent.push((rule, lot.to_owned(), reason.into()));
    }
}

/// How to check.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// Only these rules; empty: all.
    pub select: Vec<String>,
    /// Not these rules.
    pub ignore: Vec<String>,
    /// Show what an acceptance silences.
    pub no_accept: bool,
}

/// All rules, in the order of their names.
#[must_use]
pub fn rules() -> &'static [&'static dyn Rule] {
    &[]
}

/// The rule of a name.
#[must_use]
pub fn find(name: &str) -> Option<&'static dyn Rule> {
    rules().iter().copied().find(|rule| rule.name() == name)
}

/// Checks a season with every rule that is asked for; findings in order of file and place.
#[must_use]
pub fn check(_season: &Season, _options: &Options) -> Report {
    Report::default()
}
