//! Findings counted by rule.

use std::collections::{BTreeMap, BTreeSet};
use std::io;

use barm_rules::Level;
use codespan_reporting::term::termcolor::WriteColor;
use serde::Serialize;

use crate::json::{self, Summary, VERSION};
use crate::{Checked, Tally, shown};

/// How often a rule spoke.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
struct Spoken {
    rule: &'static str,
    errors: usize,
    warnings: usize,
    notes: usize,
    logs: usize,
}

impl Spoken {
    const fn findings(&self) -> usize {
        self.errors + self.warnings + self.notes
    }
}

/// Rules that spoke, the most talkative first; of equals in order of names.
fn spoken(checked: &[Checked<'_>]) -> Vec<Spoken> {
    let mut rules: BTreeMap<&'static str, Spoken> = BTreeMap::new();
    for one in checked {
        let mut logs = BTreeSet::new();
        for finding in shown(one) {
            let spoken = rules.entry(finding.rule).or_default();
            match finding.level {
                Level::Error => spoken.errors += 1,
                Level::Warning => spoken.warnings += 1,
                Level::Note | Level::Figure | Level::Off => spoken.notes += 1,
            }
            if logs.insert((finding.rule, finding.place.file)) {
                spoken.logs += 1;
            }
        }
    }
    let mut out: Vec<Spoken> = rules.into_iter().map(|(rule, spoken)| Spoken { rule, ..spoken }).collect();
    out.sort_by_key(|one| std::cmp::Reverse(one.findings()));
    out
}

/// A table of the rules that spoke, and the line that counts all.
///
/// # Errors
/// When `out` cannot be written.
pub fn statistics_text(out: &mut dyn WriteColor, checked: &[Checked<'_>]) -> io::Result<()> {
    let spoken = spoken(checked);
    if !spoken.is_empty() {
        let width = spoken.iter().map(|one| one.rule.len()).max().unwrap_or(0);
        writeln!(out, "{:width$}  errors  warnings  notes  logs", "rule")?;
        for one in &spoken {
            let Spoken { rule, errors, warnings, notes, logs } = one;
            writeln!(out, "{rule:width$}  {errors:>6}  {warnings:>8}  {notes:>5}  {logs:>4}")?;
        }
        writeln!(out)?;
    }
    writeln!(out, "{}", Tally::of(checked).sentence())
}

#[derive(Serialize)]
struct Document<'a> {
    version: u32,
    rules: Vec<Spoken>,
    summary: Summary<'a>,
}

/// The same for other programs: `{version, rules: [{rule, errors, warnings, notes, logs}], summary}`.
///
/// # Errors
/// When `out` cannot be written.
pub fn statistics_json(out: &mut dyn io::Write, checked: &[Checked<'_>]) -> io::Result<()> {
    let tally = Tally::of(checked);
    json::write(out, &Document { version: VERSION, rules: spoken(checked), summary: Summary::of(&tally) })
}
