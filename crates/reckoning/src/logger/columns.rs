//! Which column of a logger's file is what.

use barm_quantity::{Dimension, Measure, Unit};

use super::thin::Thinned;
use super::time::Ahead;
use crate::wort;

/// A column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Column {
    /// The time, and how far the brewhouse's clock is ahead of UTC where that is stated.
    Time(Option<Ahead>),
    /// The beer's temperature.
    Temperature(Unit),
    /// The temperature of the air around it.
    Ambient(Unit),
    /// The pressure above it.
    Pressure(Unit),
    /// The beer's gravity.
    Gravity(Unit),
    /// The beer's pH.
    Acidity,
    /// Something that no figure needs.
    Other,
}

impl Column {
    /// Reads `time`, `time/+02:00`, `temp/°C`, `gravity`, as a log and the heading of a file may have them. `None`: a
    /// time or reading that lacks what it needs.
    pub(super) fn read(text: &str) -> Option<Self> {
        let text = text.trim();
        let end = text.find(['/', ' ', '(', '[']).unwrap_or(text.len());
        let (word, unit) = text.split_at_checked(end)?;
        let unit = unit.trim_matches(|c: char| matches!(c, '/' | '(' | ')' | '[' | ']') || c.is_whitespace());
        let unit_of = |dimension| Unit::read(unit).filter(|unit| unit.dimension() == dimension);
        match word.to_ascii_lowercase().as_str() {
            "time" | "timestamp" | "datetime" if unit.is_empty() => Some(Self::Time(None)),
            "time" | "timestamp" | "datetime" => Some(Self::Time(Some(Ahead::read(unit)?))),
            "temp" | "temperature" => Some(Self::Temperature(unit_of(Dimension::Temperature)?)),
            "ambient" => Some(Self::Ambient(unit_of(Dimension::Temperature)?)),
            "pressure" => Some(Self::Pressure(unit_of(Dimension::Pressure)?)),
            "sg" | "density" if unit.is_empty() => Some(Self::Gravity(Unit::SpecificGravity)),
            "specific" if unit.to_ascii_lowercase().starts_with("gravity") => {
                Some(Self::Gravity(Unit::SpecificGravity))
            }
            "plato" | "°p" if unit.is_empty() => Some(Self::Gravity(Unit::DegreePlato)),
            "gravity" if unit.is_empty() || unit.eq_ignore_ascii_case("sg") => {
                Some(Self::Gravity(Unit::SpecificGravity))
            }
            "gravity" => Some(Self::Gravity(unit_of(Dimension::Gravity)?)),
            "ph" if unit.is_empty() => Some(Self::Acidity),
            _ => Some(Self::Other),
        }
    }

    /// A number of this column in °C, bar, as specific gravity or pH; `None`: nobody could have measured it.
    pub(super) fn value(self, number: f64) -> Option<f64> {
        let (value, (low, high)) = match self {
            Self::Temperature(unit) => (unit.to_base(number), (-20.0, 110.0)),
            Self::Ambient(unit) => (unit.to_base(number), (-40.0, 60.0)),
            Self::Pressure(unit) => (unit.to_base(number), (-1.0, 10.0)),
            Self::Gravity(unit) => (wort::as_gravity(&Measure::new(number, unit)).as_specific(), (0.97, 1.2)),
            Self::Acidity => (number, (0.0, 14.0)),
            Self::Time(_) | Self::Other => return None,
        };
        (low..=high).contains(&value).then_some(value)
    }

    /// Where its readings go.
    pub(super) const fn kept(self) -> Option<Thinned> {
        match self {
            Self::Temperature(_) | Self::Ambient(_) | Self::Pressure(_) => Some(Thinned::new(1, 0.1)),
            Self::Gravity(_) => Some(Thinned::new(12 * 60, 0.0)),
            Self::Acidity => Some(Thinned::new(1, 0.05)),
            Self::Time(_) | Self::Other => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_what_a_log_and_what_a_heading_says() {
        for (text, column) in [
            ("time", Some(Column::Time(None))),
            ("Timestamp", Some(Column::Time(None))),
            ("time/+02:00", Some(Column::Time(Ahead::read("+02:00")))),
            ("time/CEST", None),
            ("temp/°C", Some(Column::Temperature(Unit::Celsius))),
            ("Temperature (°F)", Some(Column::Temperature(Unit::Fahrenheit))),
            ("temp [C]", Some(Column::Temperature(Unit::Celsius))),
            ("temp", None),
            ("temp/L", None),
            ("gravity", Some(Column::Gravity(Unit::SpecificGravity))),
            ("Gravity (SG)", Some(Column::Gravity(Unit::SpecificGravity))),
            ("gravity/°P", Some(Column::Gravity(Unit::DegreePlato))),
            ("SG", Some(Column::Gravity(Unit::SpecificGravity))),
            ("Specific Gravity", Some(Column::Gravity(Unit::SpecificGravity))),
            ("Plato", Some(Column::Gravity(Unit::DegreePlato))),
            ("ambient/°F", Some(Column::Ambient(Unit::Fahrenheit))),
            ("Pressure (psi)", Some(Column::Pressure(Unit::Psi))),
            ("ambient", None),
            ("pH", Some(Column::Acidity)),
            ("ph/mV", Some(Column::Other)),
            ("battery (V)", Some(Column::Other)),
            ("-", Some(Column::Other)),
        ] {
            assert_eq!(Column::read(text), column, "{text}");
        }
    }

    #[test]
    fn values_in_one_unit_and_within_reason() {
        let close = |column: Column, number: f64, value: f64| {
            assert!((column.value(number).unwrap() - value).abs() < 0.0005, "{column:?} {number}");
        };
        close(Column::Temperature(Unit::Fahrenheit), 68.0, 20.0);
        close(Column::Gravity(Unit::DegreePlato), 12.0, 1.0484);
        close(Column::Ambient(Unit::Fahrenheit), 50.0, 10.0);
        close(Column::Pressure(Unit::Psi), 14.504, 1.0);
        for number in [-40.0, 180.0, f64::NAN, f64::INFINITY] {
            assert_eq!(Column::Temperature(Unit::Celsius).value(number), None);
        }
        assert_eq!(Column::Gravity(Unit::SpecificGravity).value(0.0), None);
    }
}
