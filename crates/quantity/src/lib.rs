//! Numbers with units, ranges and uncertainty.
//!
//! Three layers, each of them a plain value:
//!
//! * [`Unit`] — every unit that a log may use, its [`Dimension`], and the factor to that dimension's base unit;
//! * [`Measure`] — a number *as written*: `~18..20 °C`, `180 ± 30 mL`, with the unit that the brewer chose;
//! * the quantities that formulas take ([`Volume`], [`Temperature`], [`Cells`], …), each stored in one base unit, and
//!   [`Estimate`], a figure that knows how uncertain it is and why.
//!
//! Points and differences are different types: 20 °C is a [`Temperature`], "20 degrees warmer" is a
//! [`TemperatureDifference`], and the two do not add up by accident:
//!
//! ```compile_fail
//! use barm_quantity::Temperature;
//! let a = Temperature::celsius(20.0);
//! let nonsense = a + a; // a temperature is no distance
//! ```
//!
//! ```
//! use barm_quantity::{Temperature, TemperatureDifference};
//! let a = Temperature::celsius(20.0);
//! assert_eq!(a + TemperatureDifference::kelvin(2.0), Temperature::celsius(22.0));
//! assert_eq!((a - Temperature::celsius(18.0)).as_kelvin(), 2.0);
//! ```

mod estimate;
mod measure;
mod print;
mod scalar;
mod unit;

pub use estimate::{Estimate, Factor, FactorName, NINETY, normal_share};
pub use measure::Measure;
pub use print::{is_many_times, plain, share, share_range, significant};
pub use scalar::{
    Bitterness, CarbonDioxide, Cells, CellsPerGram, CellsPerMillilitre, Concentration, Density, Extract,
    Flow, Gravity, GravityDifference, HeatLoss, Mass, PitchRate, Plato, Power, Pressure, Share, Span,
    SpecificHeat, Temperature, TemperatureDifference, Volume,
};
pub use unit::{Dimension, Unit};
