//! The quantities that formulas take: one number each, stored in one base unit, made and read by the unit's name.

use std::iter::Sum;
use std::ops::{Add, Div, Mul, Neg, Sub};

/// Declares a quantity: a type around one `f64` in a base unit, with a constructor and a reader for each unit.
macro_rules! quantity {
    (
        $(#[$doc:meta])* $name:ident {
            $( $(#[$unit_doc:meta])* $make:ident, $read:ident = $factor:expr; )+
        }
    ) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            $(
                $(#[$unit_doc])*
                #[doc = concat!(
                    "\n```\nuse barm_quantity::", stringify!($name), ";\nlet half = ", stringify!($name), "::",
                    stringify!($make), "(0.5);\nassert!((half.", stringify!($read), "() - 0.5).abs() < 1e-12);\n```",
                )]
                #[must_use]
                pub const fn $make(value: f64) -> Self { Self(value * $factor) }

                #[doc = concat!("The number that [`", stringify!($name), "::", stringify!($make), "`] would take.")]
                #[must_use]
                pub const fn $read(self) -> f64 { self.0 / $factor }
            )+

            /// The larger of two.
            #[must_use]
            pub const fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }

            /// The smaller of two.
            #[must_use]
            pub const fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }

            /// Whether the number is neither NaN nor infinite.
            #[must_use]
            pub const fn is_finite(self) -> bool { self.0.is_finite() }
        }
    };
}

/// Sums, differences and multiples, for quantities that are amounts (or distances) and not points on a scale.
macro_rules! amount {
    ($($name:ident),+ $(,)?) => { $(
        impl Add for $name { type Output = Self; fn add(self, other: Self) -> Self { Self(self.0 + other.0) } }
        impl Sub for $name { type Output = Self; fn sub(self, other: Self) -> Self { Self(self.0 - other.0) } }
        impl Neg for $name { type Output = Self; fn neg(self) -> Self { Self(-self.0) } }
        impl Mul<f64> for $name { type Output = Self; fn mul(self, by: f64) -> Self { Self(self.0 * by) } }
        impl Div<f64> for $name { type Output = Self; fn div(self, by: f64) -> Self { Self(self.0 / by) } }
        impl Div for $name { type Output = f64; fn div(self, by: Self) -> f64 { self.0 / by.0 } }
        impl Sum for $name { fn sum<I: Iterator<Item = Self>>(iter: I) -> Self { Self(iter.map(|x| x.0).sum()) } }
    )+ };
}

/// A scale whose points subtract to a distance and take a distance, and do nothing else.
macro_rules! scale {
    ($point:ident, $distance:ident) => {
        impl Sub for $point {
            type Output = $distance;
            fn sub(self, other: Self) -> $distance {
                $distance(self.0 - other.0)
            }
        }
        impl Add<$distance> for $point {
            type Output = Self;
            fn add(self, by: $distance) -> Self {
                Self(self.0 + by.0)
            }
        }
        impl Sub<$distance> for $point {
            type Output = Self;
            fn sub(self, by: $distance) -> Self {
                Self(self.0 - by.0)
            }
        }
    };
}

quantity! {
    /// A volume. US measure where the unit is a US one; a beer barrel is 31 US gallons.
    Volume {
        /// Litres, the base.
        litres, as_litres = 1.0;
        /// Millilitres.
        millilitres, as_millilitres = 0.001;
        /// Hectolitres.
        hectolitres, as_hectolitres = 100.0;
        /// US liquid gallons.
        us_gallons, as_us_gallons = 3.785_411_784;
    }
}
quantity! {
    /// A mass.
    Mass {
        /// Grams, the base.
        grams, as_grams = 1.0;
        /// Kilograms.
        kilograms, as_kilograms = 1000.0;
    }
}
quantity! {
    /// Mass per volume of a liquid, in vacuum (true density).
    Density {
        /// Kilograms per cubic metre, the base; the same number is grams per litre.
        kilograms_per_cubic_metre, as_kilograms_per_cubic_metre = 1.0;
        /// Grams per millilitre.
        grams_per_millilitre, as_grams_per_millilitre = 1000.0;
    }
}
quantity! {
    /// A temperature, a point on the scale. See [`TemperatureDifference`] for a distance.
    Temperature {
        /// Degrees Celsius, the base.
        celsius, as_celsius = 1.0;
    }
}
impl Temperature {
    /// Degrees Fahrenheit.
    ///
    /// ```
    /// use barm_quantity::Temperature;
    /// assert!((Temperature::fahrenheit(68.0).as_celsius() - 20.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub const fn fahrenheit(value: f64) -> Self {
        Self((value - 32.0) / 1.8)
    }
    /// The number that [`Temperature::fahrenheit`] would take.
    ///
    /// ```
    /// use barm_quantity::Temperature;
    /// assert!((Temperature::celsius(20.0).as_fahrenheit() - 68.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub const fn as_fahrenheit(self) -> f64 {
        self.0 * 1.8 + 32.0
    }
    /// Kelvins above absolute zero.
    ///
    /// ```
    /// use barm_quantity::Temperature;
    /// assert_eq!(Temperature::celsius(0.0).as_absolute(), 273.15);
    /// ```
    #[must_use]
    pub const fn as_absolute(self) -> f64 {
        self.0 + 273.15
    }
}
quantity! {
    /// A distance between two temperatures.
    TemperatureDifference {
        /// Kelvins, which are Celsius degrees of difference.
        kelvin, as_kelvin = 1.0;
        /// Fahrenheit degrees of difference.
        fahrenheit_degrees, as_fahrenheit_degrees = 5.0 / 9.0;
    }
}
quantity! {
    /// Apparent specific gravity 20/20 °C in air, a point on the scale: 1.048.
    Gravity {
        /// As the hydrometer says it: 1.048.
        specific, as_specific = 1.0;
    }
}
quantity! {
    /// A distance between two specific gravities.
    GravityDifference {
        /// In units of specific gravity: 0.002.
        specific, as_specific = 1.0;
        /// In brewers' points, a thousand to the unit.
        points, as_points = 0.001;
    }
}
quantity! {
    /// Degrees Plato: grams of sucrose in 100 g of a solution as dense as the wort. A point on the scale.
    Plato {
        /// Degrees Plato.
        degrees, as_degrees = 1.0;
    }
}
quantity! {
    /// Dissolved extract per volume.
    Extract {
        /// Grams per litre.
        grams_per_litre, as_grams_per_litre = 1.0;
    }
}
quantity! {
    /// A number of cells.
    Cells {
        /// Single cells, the base.
        each, as_each = 1.0;
        /// Millions (10⁶).
        millions, as_millions = 1e6;
        /// Thousand millions (10⁹), written `B` in a log.
        billions, as_billions = 1e9;
    }
}
quantity! {
    /// Cells in a volume.
    CellsPerMillilitre {
        /// Millions per millilitre.
        millions, as_millions = 1e6;
        /// Thousand millions per millilitre.
        billions, as_billions = 1e9;
    }
}
quantity! {
    /// Cells in a mass.
    CellsPerGram {
        /// Thousand millions per gram.
        billions, as_billions = 1e9;
    }
}
quantity! {
    /// Live cells wanted per millilitre of wort and degree Plato.
    PitchRate {
        /// Millions per millilitre and degree Plato.
        millions, as_millions = 1e6;
    }
}
quantity! {
    /// A gas flow at room conditions.
    Flow {
        /// Litres per minute.
        litres_per_minute, as_litres_per_minute = 1.0;
    }
}
quantity! {
    /// A length of time.
    Span {
        /// Hours, the base.
        hours, as_hours = 1.0;
        /// Minutes.
        minutes, as_minutes = 1.0 / 60.0;
        /// Seconds.
        seconds, as_seconds = 1.0 / 3600.0;
        /// Days of 24 hours.
        days, as_days = 24.0;
    }
}
quantity! {
    /// Mass dissolved in a volume, of oxygen or carbon dioxide or bitter acids.
    Concentration {
        /// Milligrams per litre; `ppm` in a log.
        milligrams_per_litre, as_milligrams_per_litre = 1.0;
        /// Grams per litre.
        grams_per_litre, as_grams_per_litre = 1000.0;
    }
}
quantity! {
    /// Bitterness.
    Bitterness {
        /// International bitterness units.
        ibu, as_ibu = 1.0;
    }
}
quantity! {
    /// Pressure above the air around (gauge), unless the place says absolute.
    Pressure {
        /// Bar, the base.
        bar, as_bar = 1.0;
        /// Pounds per square inch.
        psi, as_psi = 0.068_947_572_931_683_6;
        /// Kilopascals.
        kilopascals, as_kilopascals = 0.01;
    }
}
quantity! {
    /// Carbon dioxide in beer.
    CarbonDioxide {
        /// Volumes of gas at 0 °C and 1 atm (1.977 g/L each) in a volume of beer.
        volumes, as_volumes = 1.0;
        /// Grams per litre.
        grams_per_litre, as_grams_per_litre = 1.0 / 1.977;
    }
}
quantity! {
    /// Heat that a vessel loses for each kelvin between it and the air around.
    HeatLoss {
        /// Watts per kelvin.
        watts_per_kelvin, as_watts_per_kelvin = 1.0;
    }
}
quantity! {
    /// A rate of heat.
    Power {
        /// Watts.
        watts, as_watts = 1.0;
    }
}
quantity! {
    /// Heat that warms a mass by a kelvin.
    SpecificHeat {
        /// Joules per kilogram and kelvin.
        joules_per_kilogram_kelvin, as_joules_per_kilogram_kelvin = 1.0;
    }
}
quantity! {
    /// A part of a whole: viability, attenuation, alcohol by volume.
    Share {
        /// As a fraction of one.
        fraction, as_fraction = 1.0;
        /// In hundredths.
        percent, as_percent = 0.01;
    }
}

scale!(Temperature, TemperatureDifference);
scale!(Gravity, GravityDifference);

amount!(
    Volume,
    Mass,
    Density,
    TemperatureDifference,
    GravityDifference,
    Extract,
    Cells,
    CellsPerMillilitre,
    CellsPerGram,
    PitchRate,
    Flow,
    Span,
    Concentration,
    Bitterness,
    Pressure,
    CarbonDioxide,
    HeatLoss,
    Power,
    SpecificHeat,
    Share,
);

impl Mul<Volume> for CellsPerMillilitre {
    type Output = Cells;
    fn mul(self, volume: Volume) -> Cells {
        Cells(self.0 * volume.as_millilitres())
    }
}
impl Mul<Mass> for CellsPerGram {
    type Output = Cells;
    fn mul(self, mass: Mass) -> Cells {
        Cells(self.0 * mass.as_grams())
    }
}
impl Div<Volume> for Cells {
    type Output = CellsPerMillilitre;
    fn div(self, volume: Volume) -> CellsPerMillilitre {
        CellsPerMillilitre(self.0 / volume.as_millilitres())
    }
}
impl Mul<Volume> for Density {
    type Output = Mass;
    fn mul(self, volume: Volume) -> Mass {
        Mass::grams(self.0 * volume.as_litres())
    }
}
impl Mul<Volume> for Extract {
    type Output = Mass;
    fn mul(self, volume: Volume) -> Mass {
        Mass::grams(self.0 * volume.as_litres())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fahrenheit_points_and_degrees_are_not_the_same() {
        assert!((Temperature::fahrenheit(68.0).as_celsius() - 20.0).abs() < 1e-12);
        assert!((TemperatureDifference::fahrenheit_degrees(9.0).as_kelvin() - 5.0).abs() < 1e-12);
        assert!((Temperature::celsius(20.0).as_fahrenheit() - 68.0).abs() < 1e-12);
    }

    #[test]
    fn density_times_volume_is_cells() {
        let cells = CellsPerMillilitre::billions(1.2) * Volume::millilitres(100.0);
        assert!((cells.as_billions() - 120.0).abs() < 1e-9);
    }
}
