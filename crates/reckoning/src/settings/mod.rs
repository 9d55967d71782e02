//! `barm.toml`: what is true of the brewhouse and not of one log.

mod keys;
mod models;
mod range;
mod read;
mod schema;

use std::collections::BTreeMap;
use std::ops::Range;

use barm_quantity::{Concentration, PitchRate, Temperature, TemperatureDifference};
use barm_zymology::pitching;
use barm_zymology::refractometer::WORT_FACTOR;

pub use models::Models;

/// Which measures tables and answers use; a finding speaks the units of its line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Units {
    /// Litres, grams, °C.
    #[default]
    Metric,
    /// US gallons, ounces, °F.
    Us,
}

/// Which gravity scale tables and answers use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum GravityScale {
    /// Specific gravity.
    #[default]
    Sg,
    /// Degrees Plato.
    Plato,
}

/// Whether `check` tells the cautions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Cautions {
    /// Told.
    #[default]
    Shown,
    /// Read and known: left out of `check`.
    Read,
}

/// The settings of a workspace. [`Settings::default`] is what holds without a `barm.toml`.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Measures of tables and answers.
    pub units: Units,
    /// Gravity scale of tables and answers.
    pub gravity: GravityScale,
    /// Metres above the sea.
    pub elevation_metres: f64,
    /// What the hydrometer is calibrated at.
    pub hydrometer_calibrated: Temperature,
    /// Error of a gravity reading, in specific gravity.
    pub hydrometer_error: f64,
    /// What a refractometer reads too high in wort.
    pub wort_factor: f64,
    /// Error of a temperature reading.
    pub thermometer_error: TemperatureDifference,
    /// How warm it is in the `refrigerator` and in the `room`.
    pub places: BTreeMap<String, Temperature>,
    /// The rate that an ale wants.
    pub ale_rate: PitchRate,
    /// The rate that a lager wants.
    pub lager_rate: PitchRate,
    /// Dry yeast that an ale wants at its first use.
    pub dry_ale: Concentration,
    /// Dry yeast that a lager wants at its first use.
    pub dry_lager: Concentration,
    /// A rule's limit, by the rule's name.
    pub limits: BTreeMap<String, f64>,
    /// A rule's level, by the rule's name: `off`, `note`, `warning`, `error`.
    pub levels: BTreeMap<String, String>,
    /// What the house has measured for itself.
    pub models: Models,
    /// Whether the cautions are told.
    pub cautions: Cautions,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            units: Units::Metric,
            gravity: GravityScale::Sg,
            elevation_metres: 0.0,
            hydrometer_calibrated: Temperature::celsius(20.0),
            hydrometer_error: 0.001,
            wort_factor: WORT_FACTOR,
            thermometer_error: TemperatureDifference::kelvin(0.5),
            places: BTreeMap::from([
                ("refrigerator".to_owned(), Temperature::celsius(4.0)),
                ("room".to_owned(), Temperature::celsius(20.0)),
            ]),
            ale_rate: pitching::ALE,
            lager_rate: pitching::LAGER,
            dry_ale: pitching::DRY_ALE,
            dry_lager: pitching::DRY_LAGER,
            limits: BTreeMap::new(),
            levels: BTreeMap::new(),
            models: Models::default(),
            cautions: Cautions::Shown,
        }
    }
}

/// The rules that settings may name.
#[derive(Debug, Clone, Copy)]
pub struct KnownRules<'a> {
    /// All of them.
    pub all: &'a [&'a str],
    /// Those that have a limit.
    pub limited: &'a [&'a str],
    /// Of those the ones whose limit is a part of something, and the most that can be meant: more was thought of in per cent.
    pub shares: &'a [(&'a str, f64)],
}

/// Why a `barm.toml` could not be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SettingsError {
    /// Where in the file.
    pub span: Range<usize>,
    /// What is wrong, and what was expected.
    pub message: String,
}

impl Settings {
    /// Reads a `barm.toml`.
    ///
    /// # Errors
    /// At the first key that is unknown, or value that is of the wrong kind or out of range, with its place.
    pub fn read(text: &str) -> Result<Self, SettingsError> {
        read::read(text, None)
    }

    /// Reads a `barm.toml` and refuses names that are no rule's.
    ///
    /// # Errors
    /// As [`Settings::read`], and at the first rule that is not known, or that has no limit to set.
    pub fn read_knowing(text: &str, rules: KnownRules<'_>) -> Result<Self, SettingsError> {
        read::read(text, Some(rules))
    }

    /// The JSON schema of a `barm.toml`.
    #[must_use]
    pub fn schema(rules: KnownRules<'_>) -> serde_json::Value {
        schema::schema(rules)
    }

    /// Every key with its meaning and with what holds without it, as a `barm.toml`.
    #[must_use]
    pub fn explained() -> String {
        schema::explained()
    }

    /// The limit of a rule: the workspace's own, else `default`.
    #[must_use]
    pub fn limit(&self, rule: &str, default: f64) -> f64 {
        self.limits.get(rule).copied().unwrap_or(default)
    }

    /// Whether tables and answers use US measure.
    #[must_use]
    pub fn speaks_us(&self) -> bool {
        self.units == Units::Us
    }

    /// Where packs and jars are kept when the log does not say.
    #[must_use]
    pub fn refrigerator(&self) -> Temperature {
        self.places.get("refrigerator").copied().unwrap_or(Temperature::celsius(4.0))
    }
}
