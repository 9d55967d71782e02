//! Seasons of a few lines, and what is reckoned of them.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test ends by panicking")]

mod bank;
mod course;
mod culture;
mod fermentation;
mod files;
mod heat;
mod logger;
mod lots;
mod parting;
mod settings;

use barm_reckoning::{Batch, Season, Settings, Source};

fn source(path: &str, text: &str) -> Source {
    let log = barm_syntax::read(text);
    assert!(log.problems.is_empty(), "{path}: {:?}", log.problems);
    Source { path: path.into(), text: text.into(), log }
}

fn settled(text: &str, settings: Settings) -> Season {
    Season::reckon(vec![source("a.barm", text)], settings)
}

fn season(text: &str) -> Season {
    settled(text, Settings::default())
}

fn brew<'s>(season: &'s Season, name: &str) -> &'s Batch {
    let lot = season.names.lot(name).unwrap_or_else(|| panic!("no lot {name}"));
    season.batch(lot).unwrap_or_else(|| panic!("no batch {name}"))
}
