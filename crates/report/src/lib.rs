//! Findings and figures, for people and for programs.
//!
//! Everything here writes into what it is given and knows nothing of terminals or files. Whatever comes from a log is
//! made safe for a screen first; JSON leaves that to its own escaping.

mod bank;
mod baseline;
mod commands;
mod csv;
mod excerpt;
mod figures;
mod fingerprint;
mod json;
mod junit;
mod place;
mod sarif;
mod screen;
mod settings;
mod statistics;
mod tally;
mod text;

#[cfg(test)]
mod tests;

use barm_reckoning::{FileId, Season};
use barm_rules::{Finding, Level, Report, Rule};

pub use bank::{
    BANK_COLUMNS, BankQuestion, JsonBanked, SeasonBank, bank_json, bank_row, bank_text, enough_for,
    json_banked, lineage, with_range,
};
pub use baseline::{Baseline, Known};
pub use codespan_reporting::term::termcolor;
pub use commands::commands;
pub use csv::csv_text;
pub use figures::{SeasonFigures, figures_json, figures_text};
pub use fingerprint::fingerprints;
pub use json::{
    JsonFigure, JsonFinding, VERSION as JSON_VERSION, figures as json_figures, finding as json_finding, json,
    ndjson, rules_json, six_digits, write as write_json,
};
pub use junit::junit;
pub use place::{Files, Position};
pub use sarif::sarif;
pub use screen::visible;
pub use settings::settings_error;
pub use statistics::{statistics_json, statistics_text};
pub use tally::Tally;
pub use text::{findings, short, text};

/// The rule that tells the usual cautions: they are no faults, so they are counted and shown apart.
pub const CAUTION: &str = "caution";

/// A workspace and what was found in it.
#[derive(Debug, Clone, Copy)]
pub struct Checked<'a> {
    /// The workspace.
    pub season: &'a Season,
    /// What was found.
    pub report: &'a Report,
    /// The folder that the user stands in.
    pub base: &'a Base,
    /// The logs of the workspace that were asked about, in order.
    pub asked: &'a [FileId],
}

/// What `check` shows: figures belong to the editor.
fn is_shown(finding: &Finding) -> bool {
    finding.level >= Level::Note
}

/// The findings that `check` shows.
fn shown<'a>(checked: &Checked<'a>) -> impl Iterator<Item = &'a Finding> + use<'a> {
    checked.report.findings.iter().filter(|finding| is_shown(finding))
}

/// What a rule finds, in a sentence: the first of its page.
#[must_use]
pub fn summary(rule: &dyn Rule) -> String {
    let paragraph: Vec<&str> = rule
        .page()
        .lines()
        .skip_while(|line| line.starts_with('#') || line.trim().is_empty())
        .take_while(|line| !line.trim().is_empty())
        .collect();
    let paragraph = paragraph.join(" ");
    match paragraph.split_once(". ") {
        Some((sentence, _)) => format!("{sentence}."),
        None => paragraph,
    }
}

/// How the paths of a workspace look from the folder that the user stands in.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Base {
    /// From that folder to the workspace's: "", "../", "season/".
    pub up: String,
    /// From the workspace's folder to that one, where it lies within: "", "autumn/".
    pub down: String,
}

impl Base {
    /// A workspace's path as the user would type it.
    #[must_use]
    pub fn path(&self, path: &str) -> String {
        match path.strip_prefix(&self.down) {
            Some(rest) if !self.down.is_empty() => rest.to_owned(),
            _ => format!("{}{path}", self.up),
        }
    }
}
