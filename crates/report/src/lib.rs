//! Findings and figures as text and JSON.
//!
//! Everything here writes into what it is given and knows nothing of terminals or files. Whatever comes from a log is
//! made safe for a screen first; JSON leaves that to its own escaping.

mod excerpt;
mod figures;
mod json;
mod place;
mod screen;
mod settings;
mod tally;
mod text;

#[cfg(test)]
mod tests;

use barm_reckoning::Season;
use barm_rules::Report;

pub use codespan_reporting::term::termcolor;
pub use figures::{figures_json, figures_text};
pub use json::{json, rules_json};
pub use settings::settings_error;
pub use tally::Tally;
pub use text::{findings, short, text};

/// The rule that tells the usual cautions: they are no faults, so they are counted and shown apart.
pub(crate) const CAUTION: &str = "caution";

/// A workspace and what was found in it.
#[derive(Debug, Clone, Copy)]
pub struct Checked<'a> {
    /// The workspace.
    pub season: &'a Season,
    /// What was found.
    pub report: &'a Report,
    /// What stands before a file's path to reach it from the folder that the user stands in: "", "../", "season/".
    pub base: &'a str,
    /// How many of the workspace's logs were asked about.
    pub asked: usize,
}
