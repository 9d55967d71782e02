//! Figures as every output shows them.

use barm_quantity::{Estimate, Gravity, Unit, is_many_times, plain, significant};
use barm_zymology::gravity;

use crate::{GravityScale, Place, Settings, advice};

/// A share that is told as a multiple.
const TIMES: &str = "times";
/// Less than this part of the top of its range is written as 0.
const NOTHING: f64 = 1e-4;

/// A number as it is written, with its unit: "19 L", "2 packs", "1 pack".
#[must_use]
pub fn with_unit(number: &str, unit: &str) -> String {
    format!("{number} {}", unit_of(number, unit))
}

/// The unit behind a number as it is written: one of "packs" is a "pack".
#[must_use]
pub fn unit_of<'u>(number: &str, unit: &'u str) -> &'u str {
    match unit {
        "packs" | "sachets" | "vials" | "loops" if number == "1" => unit.trim_end_matches('s'),
        _ => unit,
    }
}

/// A number that was reckoned or measured, with its range and where it came from.
///
/// The unit is a word of the language (`B`, `mL`, `mg/L`, `°C`, `%`, `K·h`, `d`, …), chosen once, here, so that text, JSON
/// and editor show the same number.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// A stable name, as in JSON: `live-cells`, `target-cells`, `pitch-ratio`, `dissolved-oxygen`.
    pub name: &'static str,
    /// The best value.
    pub value: f64,
    /// Nine cases in ten lie at or above this.
    pub low: f64,
    /// Nine cases in ten lie at or below this.
    pub high: f64,
    /// The unit; empty for a ratio or a count.
    pub unit: &'static str,
    /// How it was reckoned, or what measured it: "label × 0.97, less 20 %/month since 2026-08-14 at 4 °C".
    pub from: String,
    /// What would narrow it most, where something would: "cell density of tide-b".
    pub narrowed_by: Option<String>,
    /// The line it stands on or belongs to.
    pub place: Option<Place>,
}

impl Figure {
    /// From an estimate in base units, shown in a unit of `per_unit` base units.
    #[must_use]
    pub fn of(
        name: &'static str,
        estimate: &Estimate,
        per_unit: f64,
        unit: &'static str,
        from: String,
    ) -> Self {
        Self {
            name,
            value: estimate.median() / per_unit,
            low: estimate.low() / per_unit,
            high: estimate.high() / per_unit,
            unit,
            from,
            narrowed_by: estimate.widest().map(|f| f.name.to_string()),
            place: None,
        }
    }

    /// A plain value with an error either way; 0 for a count or a date's arithmetic, which are exact.
    #[must_use]
    pub const fn plain(name: &'static str, value: f64, error: f64, unit: &'static str, from: String) -> Self {
        Self {
            name,
            value,
            low: value - error,
            high: value + error,
            unit,
            from,
            narrowed_by: None,
            place: None,
        }
    }

    /// The same, belonging to a place.
    #[must_use]
    pub const fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// The same in the measures that the house speaks; what has no counterpart there stays as it is.
    #[must_use]
    pub fn spoken(mut self, settings: &Settings) -> Self {
        let us = settings.speaks_us();
        // From how it is kept here to the base of a unit, and the unit that it is spoken in.
        let (base, spoken) = match self.unit {
            "L" if us => (1.0, Unit::UsGallon),
            "mL" => (0.001, advice::volume_unit(self.value.round() / 1000.0, us)),
            "g" => (1.0, advice::mass_unit(self.value.round(), us)),
            "°C" if us => (1.0, Unit::Fahrenheit),
            "bar" if us => (1.0, Unit::Psi),
            "SG" if settings.gravity == GravityScale::Plato => {
                self.unit = "°P";
                return self.each(|gravity| gravity::plato(Gravity::specific(gravity)).as_degrees());
            }
            "%" if is_many_times(self.value / 100.0) => {
                self.unit = TIMES;
                return self.each(|percent| percent / 100.0);
            }
            _ => return self,
        };
        if spoken.symbol() == self.unit {
            return self;
        }
        self.unit = spoken.symbol();
        self.each(|value| spoken.from_base(value * base))
    }

    fn each(mut self, to: impl Fn(f64) -> f64) -> Self {
        (self.value, self.low, self.high) = (to(self.value), to(self.low), to(self.high));
        self
    }

    /// The value without its unit, as every output writes it: `1.048`, `18.2`, `98`.
    #[must_use]
    pub fn value_text(&self) -> String {
        self.number(self.value)
    }

    /// The range without its unit, `82–118`; `None` where the figure is exact, or its ends read the same.
    #[must_use]
    pub fn range_text(&self) -> Option<String> {
        let (low, high) = (self.number(self.low), self.number(self.high));
        (low != high).then(|| format!("{low}–{high}"))
    }

    /// The range, else the value, with its unit: `82–118 B`, `1.048`, `73–77 %`. What a sentence begins with.
    #[must_use]
    pub fn text(&self) -> String {
        let number = self.range_text().unwrap_or_else(|| self.value_text());
        if matches!(self.unit, "" | "SG") { number } else { with_unit(&number, self.unit) }
    }

    /// Two significant digits, except where the trade reads a scale otherwise or the number is an exact count.
    fn number(&self, value: f64) -> String {
        let exact = self.low.to_bits() == self.high.to_bits();
        match self.unit {
            "SG" => format!("{value:.3}"),
            "°C" | "°F" | "°P" | "Bx" | "K" | "pH" | "vol" | "%ABV" => format!("{value:.1}"),
            "%" if value.abs() < 10.0 => plain(value, 1),
            "%" | TIMES => significant(value, 2),
            _ if exact && value.fract() == 0.0 => plain(value, 0),
            // What was weighed or measured out is known to more than two digits.
            "kg" | "L" if exact && value >= 1.0 => plain(value, if value < 10.0 { 2 } else { 1 }),
            "d" | "h" | "min" if value.abs() >= 10.0 => plain(value, 0),
            // Beside the top of its range it is nothing.
            _ if value.abs() < self.high.abs() * NOTHING => "0".to_owned(),
            _ => significant(value, 2),
        }
    }
}

/// The figures of one lot: a culture, harvest, starter or brew.
#[derive(Debug, Clone, PartialEq)]
pub struct LotFigures {
    /// Its name.
    pub lot: String,
    /// What it is: "brew", "starter", "culture", "harvest".
    pub kind: &'static str,
    /// Where it is declared.
    pub place: Place,
    /// Its title, without quotes.
    pub title: Option<String>,
    /// Its figures, in a fixed order.
    pub figures: Vec<Figure>,
    /// What could not be reckoned, and the fact that is missing: "oxygen (no `aerate`)".
    pub missing: Vec<String>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_house_reads_its_own_measures() {
        let us = Settings::read("units = \"us\"\ngravity = \"plato\"\n").unwrap();
        for (unit, value, error, text) in [
            ("L", 20.0, 0.0, "5.3 gal"),
            ("mL", 300.0, 30.0, "9.1–11 fl-oz"),
            ("°C", 18.0, 0.5, "63.5–65.3 °F"),
            ("SG", 1.048, 0.001, "11.7–12.2 °P"),
            ("mL", 1843.0, 0.0, "1.9 qt"),
            ("g", 11.0, 0.0, "11 g"),
            ("g", 2400.0, 0.0, "5.3 lb"),
            ("B", 98.0, 18.0, "80–120 B"),
        ] {
            let figure = Figure::plain("x", value, error, unit, String::new());
            assert_eq!(figure.clone().spoken(&us).text(), text);
            if figure.value < 1000.0 {
                assert_eq!(figure.clone().spoken(&Settings::default()), figure);
            }
        }
    }

    #[test]
    fn what_is_large_is_told_in_the_larger_measure() {
        for (unit, value, error, text) in [
            ("mL", 999.0, 0.0, "999 mL"),
            ("mL", 1843.0, 0.0, "1.84 L"),
            ("mL", 1843.0, 200.0, "1.6–2.0 L"),
            ("g", 12_000.0, 0.0, "12 kg"),
            ("g", 999.0, 0.0, "999 g"),
            ("%", 290.4, 0.0, "290 %"),
            ("%", 1482.0, 0.0, "15 times"),
            ("%", 1482.0, 600.0, "8.8–21 times"),
        ] {
            let figure = Figure::plain("x", value, error, unit, String::new());
            assert_eq!(figure.spoken(&Settings::default()).text(), text);
        }
    }

    #[test]
    fn each_scale_is_written_as_it_is_read() {
        for (unit, value, error, text) in [
            ("B", 98.4, 18.3, "80–120 B"),
            ("SG", 1.0482, 0.0, "1.048"),
            ("SG", 1.0482, 0.001, "1.047–1.049"),
            ("°C", 18.0, 0.0, "18.0 °C"),
            ("%", 73.6, 2.0, "72–76 %"),
            ("%", 4.25, 0.0, "4.2 %"),
            ("d", 31.0, 0.0, "31 d"),
            ("packs", 2.0, 0.0, "2 packs"),
            ("packs", 1.0, 0.0, "1 pack"),
            ("packs", 1.5, 0.5, "1.0–2.0 packs"),
            ("mL", 1843.0, 0.0, "1843 mL"),
            ("mL", 1843.5, 0.0, "1800 mL"),
            ("", 0.404, 0.1, "0.30–0.50"),
            ("B", 0.95, 0.95 - 3e-14, "0–1.9 B"),
            ("mL", 1e-14, 0.0, "0 mL"),
            ("mg/L", f64::NAN, 0.0, "? mg/L"),
        ] {
            assert_eq!(Figure::plain("x", value, error, unit, String::new()).text(), text);
        }
    }
}
