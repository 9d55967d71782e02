//! Every unit that a log may use.

/// What a unit measures.
///
/// ```
/// use barm_quantity::{Dimension, Unit};
/// assert_eq!(Unit::Litre.dimension(), Dimension::Volume);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[expect(missing_docs, reason = "each name says it")]
pub enum Dimension {
    Temperature,
    Volume,
    Mass,
    Gravity,
    Cells,
    CellsPerVolume,
    CellsPerMass,
    PitchRate,
    MassPerVolume,
    Flow,
    Duration,
    Oxygen,
    Bitterness,
    Pressure,
    Carbonation,
    HeatLoss,
    Share,
    LossRate,
    Alcohol,
    Generations,
    Length,
    /// No unit at all: a pH, a bare number, a specific gravity such as 1.048.
    Number,
}

impl Dimension {
    /// As a brewer calls it, with its article: "a temperature".
    ///
    /// ```
    /// use barm_quantity::Dimension;
    /// assert_eq!(Dimension::Temperature.described(), "a temperature");
    /// ```
    #[must_use]
    pub const fn described(self) -> &'static str {
        match self {
            Self::Temperature => "a temperature",
            Self::Volume => "a volume",
            Self::Mass => "a mass",
            Self::Gravity => "a gravity",
            Self::Cells => "a number of cells",
            Self::CellsPerVolume => "cells in a volume",
            Self::CellsPerMass => "cells in a mass",
            Self::PitchRate => "a pitching rate",
            Self::MassPerVolume => "a dose",
            Self::Flow => "a gas flow",
            Self::Duration => "a length of time",
            Self::Oxygen => "dissolved oxygen",
            Self::Bitterness => "a bitterness",
            Self::Pressure => "a pressure",
            Self::Carbonation => "a carbonation",
            Self::HeatLoss => "a vessel's heat loss",
            Self::Share => "a share in per cent",
            Self::LossRate => "a loss by the month",
            Self::Alcohol => "an alcohol content",
            Self::Generations => "a number of generations",
            Self::Length => "a height",
            Self::Number => "a number",
        }
    }
}

/// Declares the units: variant, spelling in output, other spellings, dimension, factor to the dimension's base.
macro_rules! units {
    ($( $variant:ident, $symbol:literal $(| $other:literal)*, $dimension:ident, $factor:expr; )+) => {
        /// A unit as written in a log.
        ///
        /// ```
        /// use barm_quantity::Unit;
        /// assert_eq!(Unit::read("°C"), Some(Unit::Celsius));
        /// ```
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[repr(u8)]
        #[expect(missing_docs, reason = "`symbol` says each")]
        pub enum Unit { $( $variant, )+ }

        impl Unit {
            /// Every unit.
            ///
            /// ```
            /// use barm_quantity::Unit;
            /// assert!(Unit::ALL.contains(&Unit::Litre) && Unit::ALL.len() > 40);
            /// ```
            pub const ALL: &'static [Unit] = &[$( Unit::$variant, )+];

            /// As barm writes it: "°C", "mL", "M/mL/°P"; empty for a bare number.
            ///
            /// ```
            /// use barm_quantity::Unit;
            /// assert_eq!(Unit::Millilitre.symbol(), "mL");
            /// ```
            #[must_use]
            pub const fn symbol(self) -> &'static str { match self { $( Self::$variant => $symbol, )+ } }

            /// What it measures.
            ///
            /// ```
            /// use barm_quantity::{Dimension, Unit};
            /// assert_eq!(Unit::Fahrenheit.dimension(), Dimension::Temperature);
            /// ```
            #[must_use]
            pub const fn dimension(self) -> Dimension { match self { $( Self::$variant => Dimension::$dimension, )+ } }

            /// Factor to the base unit of its dimension (see [`Unit::to_base`]).
            #[must_use]
            const fn factor(self) -> f64 { match self { $( Self::$variant => $factor, )+ } }

            /// Every spelling that is read, in any letter case.
            ///
            /// ```
            /// use barm_quantity::Unit;
            /// assert!(Unit::Litre.spellings().contains(&"L"));
            /// ```
            #[must_use]
            pub const fn spellings(self) -> &'static [&'static str] {
                match self { $( Self::$variant => &[$symbol $(, $other)*], )+ }
            }
        }
    };
}

units! {
    Celsius, "°C" | "C" | "º C" | "ºC" | "℃" | "degC", Temperature, 1.0;
    Fahrenheit, "°F" | "F" | "ºF" | "℉" | "degF", Temperature, 5.0 / 9.0;
    Litre, "L" | "l", Volume, 1.0;
    Millilitre, "mL" | "ml", Volume, 0.001;
    Centilitre, "cL" | "cl", Volume, 0.01;
    Decilitre, "dL" | "dl", Volume, 0.1;
    Hectolitre, "hL" | "hl", Volume, 100.0;
    UsGallon, "gal", Volume, 3.785_411_784;
    UsQuart, "qt", Volume, 0.946_352_946;
    UsPint, "pt", Volume, 0.473_176_473;
    UsFluidOunce, "fl-oz" | "fl oz" | "floz", Volume, 0.029_573_529_562_5;
    UsBeerBarrel, "bbl", Volume, 31.0 * 3.785_411_784;
    ImperialGallon, "imp-gal", Volume, 4.546_09;
    Gram, "g", Mass, 1.0;
    Milligram, "mg", Mass, 0.001;
    Kilogram, "kg", Mass, 1000.0;
    Ounce, "oz", Mass, 28.349_523_125;
    Pound, "lb", Mass, 453.592_37;
    SpecificGravity, "", Gravity, 1.0;
    DegreePlato, "°P" | "P" | "ºP", Gravity, 1.0;
    Brix, "Bx" | "°Bx" | "Brix", Gravity, 1.0;
    BillionCells, "B", Cells, 1e9;
    MillionCells, "M", Cells, 1e6;
    BillionPerMillilitre, "B/mL", CellsPerVolume, 1e9;
    MillionPerMillilitre, "M/mL", CellsPerVolume, 1e6;
    BillionPerGram, "B/g", CellsPerMass, 1e9;
    MillionPerMillilitrePerPlato, "M/mL/°P" | "M/mL/P", PitchRate, 1e6;
    GramPerHectolitre, "g/hL", MassPerVolume, 0.01;
    KilogramPerHectolitre, "kg/hL", MassPerVolume, 10.0;
    PoundPerBarrel, "lb/bbl", MassPerVolume, 453.592_37 / (31.0 * 3.785_411_784);
    GramPerLitre, "g/L", MassPerVolume, 1.0;
    OuncePerGallon, "oz/gal", MassPerVolume, 28.349_523_125 / 3.785_411_784;
    LitrePerMinute, "L/min", Flow, 1.0;
    MillilitrePerMinute, "mL/min", Flow, 0.001;
    Second, "s" | "sec", Duration, 1.0 / 3600.0;
    Minute, "min", Duration, 1.0 / 60.0;
    Hour, "h" | "hr" | "hours" | "hour", Duration, 1.0;
    Day, "d" | "days" | "day", Duration, 24.0;
    Week, "wk" | "weeks" | "week", Duration, 168.0;
    PartsPerMillion, "ppm", Oxygen, 1.0;
    MilligramPerLitre, "mg/L", Oxygen, 1.0;
    InternationalBitternessUnit, "IBU", Bitterness, 1.0;
    Bar, "bar", Pressure, 1.0;
    Psi, "psi", Pressure, 0.068_947_572_931_683_6;
    Kilopascal, "kPa", Pressure, 0.01;
    Volumes, "vol", Carbonation, 1.0;
    WattPerKelvin, "W/K", HeatLoss, 1.0;
    Percent, "%", Share, 0.01;
    PercentPerMonth, "%/month", LossRate, 0.01;
    PercentAlcoholByVolume, "%ABV" | "% ABV", Alcohol, 0.01;
    Generation, "generations" | "generation", Generations, 1.0;
    Metre, "m", Length, 1.0;
    Foot, "ft", Length, 0.3048;
    Bare, "", Number, 1.0;
}

impl Unit {
    /// Reads a unit in any of its spellings and any letter case. `None` for what is no unit; an empty text is none.
    ///
    /// ```
    /// use barm_quantity::Unit;
    /// assert_eq!(Unit::read("ML"), Some(Unit::Millilitre));
    /// assert_eq!(Unit::read("furlong"), None);
    /// ```
    #[must_use]
    pub fn read(text: &str) -> Option<Self> {
        if text.is_empty() || text.len() > 12 {
            return None;
        }
        // Letter case tells nothing apart in a log, but a spelling in its own case wins (`m` against `M`).
        let exact = Self::ALL.iter().find(|u| u.spellings().contains(&text));
        exact.or_else(|| Self::ALL.iter().find(|u| u.spellings().iter().any(|s| same(s, text)))).copied()
    }

    /// A number of this unit in the base unit of its dimension: °C, L, g, cells, cells/mL, h, mg/L, bar, a fraction.
    ///
    /// ```
    /// use barm_quantity::Unit;
    /// assert!((Unit::Fahrenheit.to_base(68.0) - 20.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub const fn to_base(self, value: f64) -> f64 {
        match self {
            Self::Fahrenheit => (value - 32.0) / 1.8,
            _ => value * self.factor(),
        }
    }

    /// The inverse of [`Unit::to_base`].
    ///
    /// ```
    /// use barm_quantity::Unit;
    /// assert!((Unit::Millilitre.from_base(0.18) - 180.0).abs() < 1e-9);
    /// ```
    #[must_use]
    pub const fn from_base(self, base: f64) -> f64 {
        match self {
            Self::Fahrenheit => base * 1.8 + 32.0,
            _ => base / self.factor(),
        }
    }

    /// A distance (an error, a difference) of this unit in the base unit: no offset for Fahrenheit.
    ///
    /// ```
    /// use barm_quantity::Unit;
    /// assert!((Unit::Fahrenheit.distance_to_base(9.0) - 5.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub const fn distance_to_base(self, value: f64) -> f64 {
        value * self.factor()
    }

    /// The inverse of [`Unit::distance_to_base`].
    ///
    /// ```
    /// use barm_quantity::Unit;
    /// assert!((Unit::Fahrenheit.distance_from_base(5.0) - 9.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub const fn distance_from_base(self, base: f64) -> f64 {
        base / self.factor()
    }

    /// Whether it belongs to US customary measure.
    ///
    /// ```
    /// use barm_quantity::Unit;
    /// assert!(Unit::UsGallon.is_us() && !Unit::Litre.is_us());
    /// ```
    #[must_use]
    pub const fn is_us(self) -> bool {
        matches!(
            self,
            Self::Fahrenheit
                | Self::UsGallon
                | Self::UsQuart
                | Self::UsPint
                | Self::UsFluidOunce
                | Self::UsBeerBarrel
                | Self::Ounce
                | Self::Pound
                | Self::PoundPerBarrel
                | Self::OuncePerGallon
                | Self::Psi
                | Self::Foot
        )
    }
}

/// Equal but for letter case, beyond ASCII too (`°c`).
fn same(a: &str, b: &str) -> bool {
    a.eq_ignore_ascii_case(b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::f64::{Mass, Pressure, Volume};
    use uom::si::{mass, pressure, volume};

    /// Factors against the uom crate, a reference library that we did not write.
    #[test]
    fn factors_agree_with_a_reference_library() {
        let volumes = [
            (Unit::UsGallon, Volume::new::<volume::gallon>(1.0)),
            (Unit::UsQuart, Volume::new::<volume::quart_liquid>(1.0)),
            (Unit::UsPint, Volume::new::<volume::pint_liquid>(1.0)),
            (Unit::UsFluidOunce, Volume::new::<volume::fluid_ounce>(1.0)),
            (Unit::ImperialGallon, Volume::new::<volume::gallon_imperial>(1.0)),
            (Unit::Hectolitre, Volume::new::<volume::hectoliter>(1.0)),
            (Unit::Millilitre, Volume::new::<volume::milliliter>(1.0)),
            (Unit::Centilitre, Volume::new::<volume::centiliter>(1.0)),
            (Unit::Decilitre, Volume::new::<volume::deciliter>(1.0)),
        ];
        for (unit, reference) in volumes {
            let litres = reference.get::<volume::liter>();
            assert!((unit.to_base(1.0) / litres - 1.0).abs() < 1e-6, "{unit:?}");
        }
        let masses = [
            (Unit::Ounce, Mass::new::<mass::ounce>(1.0)),
            (Unit::Pound, Mass::new::<mass::pound>(1.0)),
            (Unit::Kilogram, Mass::new::<mass::kilogram>(1.0)),
            (Unit::Milligram, Mass::new::<mass::milligram>(1.0)),
        ];
        for (unit, reference) in masses {
            assert!((unit.to_base(1.0) / reference.get::<mass::gram>() - 1.0).abs() < 1e-6, "{unit:?}");
        }
        let psi = Pressure::new::<pressure::pound_force_per_square_inch>(1.0).get::<pressure::bar>();
        assert!((Unit::Psi.to_base(1.0) / psi - 1.0).abs() < 1e-6);
        let kilopascal = Pressure::new::<pressure::kilopascal>(1.0).get::<pressure::bar>();
        assert!((Unit::Kilopascal.to_base(1.0) / kilopascal - 1.0).abs() < 1e-9);
    }

    /// A US beer barrel is 31 gallons, 117.35 L (27 CFR 25.11); the reference library's barrel is petroleum's 42.
    #[test]
    fn a_beer_barrel_is_no_oil_barrel() {
        assert!((Unit::UsBeerBarrel.to_base(1.0) - 117.35).abs() < 0.005);
        let oil = Volume::new::<volume::barrel>(1.0).get::<volume::liter>();
        assert!((oil - 158.99).abs() < 0.01);
    }

    #[test]
    fn every_spelling_reads_as_its_unit_in_any_case() {
        for &unit in Unit::ALL {
            for spelling in unit.spellings().iter().filter(|s| !s.is_empty()) {
                assert_eq!(Unit::read(spelling), Some(unit), "{spelling}");
                let upper = spelling.to_ascii_uppercase();
                // `m` (metre) and `M` (million) are the one pair that case tells apart.
                if upper != "M" {
                    assert_eq!(Unit::read(&upper), Some(unit), "{upper}");
                }
            }
        }
    }

    #[test]
    fn base_and_back() {
        for &unit in Unit::ALL {
            for value in [-40.0, 0.0, 1.0, 68.0, 1000.0] {
                assert!((unit.from_base(unit.to_base(value)) - value).abs() < 1e-9, "{unit:?} {value}");
            }
        }
        assert!((Unit::Fahrenheit.to_base(64.4) - 18.0).abs() < 1e-9);
        assert!((Unit::Fahrenheit.distance_to_base(9.0) - 5.0).abs() < 1e-9);
    }
}
