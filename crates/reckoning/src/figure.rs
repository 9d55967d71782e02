//! Figures as every output shows them.

use barm_quantity::Estimate;

use crate::Place;

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
    pub fn of(name: &'static str, estimate: &Estimate, per_unit: f64, unit: &'static str, from: String) -> Self {
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
        Self { name, value, low: value - error, high: value + error, unit, from, narrowed_by: None, place: None }
    }

    /// The same, belonging to a place.
    #[must_use]
    pub const fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
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
