//! What `barm.toml` may say of rules.

use barm_reckoning::{KnownRules, Settings, SettingsError};

/// The rules that have a limit to set; what it limits stands on the rule's page.
const LIMITED: &[&str] = &[
    "bottle-pressure",
    "crowded-starter",
    "fast-crash",
    "harsh-wash",
    "late-generation",
    "late-oxygen",
    "low-oxygen",
    "no-pitch",
    "old-line",
    "over-attenuated",
    "over-tolerance",
    "overpitched",
    "packaged-early",
    "pitch-shock",
    "self-heating",
    "slow-start",
    "stale-culture",
    "stalled",
    "strong-donor",
    "strong-starter",
    "thin-count",
    "too-cold",
    "too-much-oxygen",
    "too-warm",
    "underpitched",
    "warm-pitch",
    "warm-storage",
    "whole-cake",
    "young-starter",
];

/// Of those the ones whose limit is a part of what is wanted, and the most of it that anybody can mean.
const SHARES: &[(&str, f64)] = &[("overpitched", 50.0), ("underpitched", 5.0), ("whole-cake", 50.0)];

fn known<'a>(all: &'a [&'a str]) -> KnownRules<'a> {
    KnownRules { all, limited: LIMITED, shares: SHARES }
}

/// Reads a `barm.toml`.
///
/// # Errors
/// At the first key or rule that is unknown, or value that is of the wrong kind or out of range, with its place.
pub fn settings(text: &str) -> Result<Settings, SettingsError> {
    let all: Vec<&str> = crate::rules().iter().map(|rule| rule.name()).collect();
    Settings::read_knowing(text, known(&all))
}

/// The JSON schema of a `barm.toml`, for editors.
#[must_use]
pub fn settings_schema() -> serde_json::Value {
    let all: Vec<&str> = crate::rules().iter().map(|rule| rule.name()).collect();
    Settings::schema(known(&all))
}
