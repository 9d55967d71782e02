//! `barm.toml`: what is true of the brewhouse and not of one log.

use std::collections::BTreeMap;
use std::ops::Range;

use barm_quantity::{Dimension, PitchRate, Share, Temperature, TemperatureDifference, Unit};
use serde::Deserialize;
use toml::Spanned;

/// Which measures tables and answers use; a finding speaks the units of its line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Litres, grams, °C.
    #[default]
    Metric,
    /// US gallons, ounces, °F.
    Us,
}

/// Which gravity scale tables and answers use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum GravityScale {
    /// Specific gravity.
    #[default]
    Sg,
    /// Degrees Plato.
    Plato,
}

/// Whether `check` tells the cautions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
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
    /// Named places and their temperatures; `refrigerator` and `room` are always there.
    pub places: BTreeMap<String, Temperature>,
    /// The rate that an ale wants.
    pub ale_rate: PitchRate,
    /// The rate that a lager wants.
    pub lager_rate: PitchRate,
    /// A rule's limit, by the rule's name.
    pub limits: BTreeMap<String, f64>,
    /// A rule's level, by the rule's name: `off`, `note`, `warning`, `error`.
    pub levels: BTreeMap<String, String>,
    /// What a liquid pack loses in a month.
    pub pack_loss: Option<Share>,
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
            wort_factor: 1.04,
            thermometer_error: TemperatureDifference::kelvin(0.5),
            places: BTreeMap::from([
                ("refrigerator".to_owned(), Temperature::celsius(4.0)),
                ("room".to_owned(), Temperature::celsius(20.0)),
            ]),
            ale_rate: PitchRate::millions(0.75),
            lager_rate: PitchRate::millions(1.5),
            limits: BTreeMap::new(),
            levels: BTreeMap::new(),
            pack_loss: None,
            cautions: Cautions::Shown,
        }
    }
}

/// Why a `barm.toml` could not be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SettingsError {
    /// Where in the file.
    pub span: Range<usize>,
    /// What is wrong, and what was expected.
    pub message: String,
}

#[derive(Deserialize, Default)]
#[serde(rename_all = "kebab-case", deny_unknown_fields, default)]
struct Raw {
    units: Units,
    gravity: GravityScale,
    elevation: Option<Spanned<String>>,
    instruments: Instruments,
    places: BTreeMap<String, Spanned<String>>,
    rates: Rates,
    limits: BTreeMap<String, Spanned<f64>>,
    levels: BTreeMap<String, Spanned<String>>,
    models: Models,
    cautions: Cautions,
}

#[derive(Deserialize, Default)]
#[serde(rename_all = "kebab-case", deny_unknown_fields, default)]
struct Instruments {
    hydrometer: Hydrometer,
    refractometer: Refractometer,
    thermometer: Thermometer,
}

#[derive(Deserialize, Default)]
#[serde(rename_all = "kebab-case", deny_unknown_fields, default)]
struct Hydrometer {
    calibrated: Option<Spanned<String>>,
    error: Option<Spanned<String>>,
}

#[derive(Deserialize, Default)]
#[serde(rename_all = "kebab-case", deny_unknown_fields, default)]
struct Refractometer {
    wort_factor: Option<Spanned<f64>>,
}

#[derive(Deserialize, Default)]
#[serde(rename_all = "kebab-case", deny_unknown_fields, default)]
struct Thermometer {
    error: Option<Spanned<String>>,
}

#[derive(Deserialize, Default)]
#[serde(rename_all = "kebab-case", deny_unknown_fields, default)]
struct Rates {
    ale: Option<Spanned<String>>,
    lager: Option<Spanned<String>>,
}

#[derive(Deserialize, Default)]
#[serde(rename_all = "kebab-case", deny_unknown_fields, default)]
struct Models {
    pack_loss: Option<Spanned<String>>,
}

/// Reads `"340 m"`: a number and a unit.
fn quantity(text: &str) -> Option<(f64, Unit)> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-'))).unwrap_or(text.len());
    let (number, unit) = text.split_at_checked(end)?;
    let value = number.parse().ok().filter(|v: &f64| v.is_finite())?;
    let unit = unit.trim();
    Some((value, if unit.is_empty() { Unit::Bare } else { Unit::read(unit)? }))
}

/// One value in the base unit of `dimension`, within `range` (in base units).
fn value(
    raw: &Spanned<String>,
    dimension: Dimension,
    range: (f64, f64),
    distance: bool,
    example: &str,
) -> Result<f64, SettingsError> {
    let wrong =
        |what: String| SettingsError { span: raw.span(), message: format!("{what}; write {example}") };
    let text = raw.get_ref();
    let (number, unit) = quantity(text)
        .ok_or_else(|| wrong(format!("`{text}` is not {} with its unit", dimension.described())))?;
    if unit.dimension() != dimension {
        return Err(wrong(match unit {
            Unit::Bare => format!("`{text}` has no unit"),
            _ => format!("`{text}` is {}, not {}", unit.dimension().described(), dimension.described()),
        }));
    }
    let base = if distance { unit.distance_to_base(number) } else { unit.to_base(number) };
    if base < range.0 || base > range.1 {
        return Err(wrong(format!("`{text}` is outside of what can be")));
    }
    Ok(base)
}

impl Settings {
    /// Reads a `barm.toml`.
    ///
    /// # Errors
    /// At the first key that is unknown, or value that is of the wrong kind or out of range, with its place.
    pub fn read(text: &str) -> Result<Self, SettingsError> {
        let raw: Raw = toml::from_str(text).map_err(|error| SettingsError {
            span: error.span().unwrap_or(0..0),
            message: error.message().to_owned(),
        })?;
        let mut out =
            Self { units: raw.units, gravity: raw.gravity, cautions: raw.cautions, ..Self::default() };
        if let Some(raw) = &raw.elevation {
            out.elevation_metres = value(raw, Dimension::Length, (-500.0, 6000.0), false, "\"340 m\"")?;
        }
        let hydrometer = &raw.instruments.hydrometer;
        if let Some(raw) = &hydrometer.calibrated {
            out.hydrometer_calibrated =
                Temperature::celsius(value(raw, Dimension::Temperature, (0.0, 60.0), false, "\"20 °C\"")?);
        }
        if let Some(raw) = &hydrometer.error {
            out.hydrometer_error = value(raw, Dimension::Number, (0.0, 0.02), true, "\"0.001\"")?;
        }
        if let Some(factor) = &raw.instruments.refractometer.wort_factor {
            if !(0.9..=1.2).contains(factor.get_ref()) {
                return Err(SettingsError {
                    span: factor.span(),
                    message: "a wort factor lies between 0.9 and 1.2; write 1.04".to_owned(),
                });
            }
            out.wort_factor = *factor.get_ref();
        }
        if let Some(raw) = &raw.instruments.thermometer.error {
            let error = value(raw, Dimension::Temperature, (0.0, 5.0), true, "\"0.5 °C\"")?;
            out.thermometer_error = TemperatureDifference::kelvin(error);
        }
        for (name, raw) in &raw.places {
            let temperature = value(raw, Dimension::Temperature, (-40.0, 60.0), false, "\"4 °C\"")?;
            out.places.insert(name.clone(), Temperature::celsius(temperature));
        }
        for (raw, slot) in [(&raw.rates.ale, &mut out.ale_rate), (&raw.rates.lager, &mut out.lager_rate)] {
            if let Some(raw) = raw {
                let rate = value(raw, Dimension::PitchRate, (1e4, 2e7), false, "\"0.75 M/mL/°P\"")?;
                *slot = PitchRate::millions(rate / 1e6);
            }
        }
        if let Some(raw) = &raw.models.pack_loss {
            let loss = value(raw, Dimension::LossRate, (0.0, 0.9), false, "\"20 %/month\"")?;
            out.pack_loss = Some(Share::fraction(loss));
        }
        out.limits = raw.limits.into_iter().map(|(rule, limit)| (rule, limit.into_inner())).collect();
        for (rule, level) in raw.levels {
            if !["off", "note", "warning", "error"].contains(&level.get_ref().as_str()) {
                return Err(SettingsError {
                    span: level.span(),
                    message: format!("`{}` is no level; write off, note, warning or error", level.get_ref()),
                });
            }
            out.levels.insert(rule, level.into_inner());
        }
        Ok(out)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_every_key() {
        let settings = Settings::read(
            "units = \"us\"\ngravity = \"plato\"\nelevation = \"340 m\"\ncautions = \"read\"\n\
             [instruments]\nhydrometer = { calibrated = \"68 °F\", error = \"0.002\" }\n\
             refractometer = { wort-factor = 1.02 }\nthermometer = { error = \"1 °F\" }\n\
             [places]\nrefrigerator = \"3 °C\"\ncellar = \"12 °C\"\n\
             [rates]\nale = \"0.9 M/mL/°P\"\n[limits]\nunderpitched = 0.5\n[levels]\nlate-generation = \"off\"\n\
             [models]\npack-loss = \"15 %/month\"\n",
        )
        .unwrap();
        assert_eq!(settings.units, Units::Us);
        assert_eq!(settings.elevation_metres, 340.0);
        assert!((settings.hydrometer_calibrated.as_celsius() - 20.0).abs() < 1e-9);
        assert!((settings.thermometer_error.as_kelvin() - 5.0 / 9.0).abs() < 1e-9);
        assert_eq!(settings.refrigerator(), Temperature::celsius(3.0));
        assert_eq!(settings.limit("underpitched", 0.67), 0.5);
        assert_eq!(settings.levels["late-generation"], "off");
    }

    #[test]
    fn a_wrong_value_is_told_at_its_place() {
        let text = "elevation = \"340\"\n";
        let error = Settings::read(text).unwrap_err();
        assert_eq!(text.get(error.span.clone()), Some("\"340\""));
        assert!(error.message.contains("has no unit"), "{}", error.message);
        let error = Settings::read("[levels]\nlow-oxygen = \"loud\"\n").unwrap_err();
        assert!(error.message.contains("no level"), "{}", error.message);
        assert!(Settings::read("elevatoin = \"340 m\"\n").is_err());
    }
}
