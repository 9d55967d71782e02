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

/// Reads a `barm.toml`.
///
/// # Errors
/// At the first key or rule that is unknown, or value that is of the wrong kind or out of range, with its place.
pub fn settings(text: &str) -> Result<Settings, SettingsError> {
    let all: Vec<&str> = crate::rules().iter().map(|rule| rule.name()).collect();
    Settings::read_knowing(text, KnownRules { all: &all, limited: LIMITED })
}

/// The JSON schema of a `barm.toml`, for editors.
#[must_use]
pub fn settings_schema() -> serde_json::Value {
    let all: Vec<&str> = crate::rules().iter().map(|rule| rule.name()).collect();
    Settings::schema(KnownRules { all: &all, limited: LIMITED })
}
