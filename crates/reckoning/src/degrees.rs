//! Degrees of the one scale where those of the other were meant: told only where what is written is out of all sense, and
//! makes sense in the other.

use barm_quantity::{Measure, Temperature, Unit};

use crate::{Fault, Place};

/// Colder than this the strongest of usual beers is ice.
pub(crate) const ICE: Temperature = Temperature::fahrenheit(25.0);
/// No yeast lives in wort so hot, nor ferments it.
pub(crate) const DEADLY: Temperature = Temperature::celsius(45.0);
/// Nobody keeps yeast so warm, and nobody calls this or less cold who keeps it in °F.
const TROPICAL: Temperature = Temperature::celsius(33.0);
const COLD: Temperature = Temperature::fahrenheit(50.0);

/// Nobody crashes beer to this or warmer.
const ROOM: Temperature = Temperature::celsius(20.0);

/// What has the temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Of {
    /// Wort, or a sample that was read.
    Wort,
    /// Beer, with its yeast in it.
    Beer,
    /// Beer that is crashed.
    Crashed,
    /// Beer in its packages.
    Packaged,
    /// Yeast that is kept.
    Yeast,
}

/// What is likely meant, where that is not what is written; and why.
fn meant(written: &Measure, of: Of) -> Option<(Measure, String)> {
    let within = |low: Temperature, high: Temperature, measure: &Measure| {
        measure.low_base() > low.as_celsius() && measure.high_base() <= high.as_celsius()
    };
    let in_unit = |unit: Unit| Measure { unit, ..*written };
    match (of, written.unit) {
        (Of::Wort | Of::Beer | Of::Crashed, Unit::Fahrenheit) if written.high_base() < ICE.as_celsius() => {
            let likely = in_unit(Unit::Celsius);
            let why = format!("beer is ice below {:.0} °F", ICE.as_fahrenheit());
            within(Temperature::celsius(0.0), DEADLY, &likely).then_some((likely, why))
        }
        (Of::Beer, Unit::Celsius) if written.low_base() > DEADLY.as_celsius() => {
            let likely = in_unit(Unit::Fahrenheit);
            within(ICE, DEADLY, &likely).then(|| (likely, "no yeast ferments".to_owned()))
        }
        (Of::Crashed, Unit::Celsius) if written.low_base() > ROOM.as_celsius() => {
            let likely = in_unit(Unit::Fahrenheit);
            within(ICE, COLD, &likely).then(|| (likely, "no beer is crashed".to_owned()))
        }
        (Of::Packaged, Unit::Celsius) if written.low_base() > DEADLY.as_celsius() => {
            let likely = in_unit(Unit::Fahrenheit);
            within(ICE, DEADLY, &likely).then(|| (likely, "no beer is kept".to_owned()))
        }
        (Of::Yeast, Unit::Celsius) if written.low_base() > TROPICAL.as_celsius() => {
            let likely = in_unit(Unit::Fahrenheit);
            within(ICE, COLD, &likely).then(|| (likely, "no yeast is kept".to_owned()))
        }
        _ => None,
    }
}

/// A temperature as it is likely meant; what is doubtful is told.
pub(crate) fn read(written: Measure, of: Of, place: Place, faults: &mut Vec<Fault>) -> Measure {
    let Some((likely, why)) = meant(&written, of) else { return written };
    faults.push(Fault::UnlikelyUnit { place, written, likely, why, impossible: false });
    likely
}

/// Whether beer cannot be so warm or cold, and would be well in the other scale: as it is likely meant, and why.
pub(crate) fn of_beer(written: &Measure) -> Option<(Measure, String)> {
    meant(written, Of::Beer)
}

/// A temperature as it is likely meant, where that is told elsewhere.
pub(crate) fn as_meant(written: Measure, of: Of) -> Measure {
    meant(&written, of).map_or(written, |(likely, _)| likely)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_out_of_all_sense_is_taken_for_the_other_scale() {
        for (of, number, unit, meant) in [
            (Of::Beer, 18.0, Unit::Fahrenheit, Unit::Celsius),
            (Of::Wort, 4.0, Unit::Fahrenheit, Unit::Celsius),
            (Of::Beer, 64.0, Unit::Celsius, Unit::Fahrenheit),
            (Of::Yeast, 38.0, Unit::Celsius, Unit::Fahrenheit),
            (Of::Crashed, 38.0, Unit::Celsius, Unit::Fahrenheit),
            (Of::Crashed, 2.0, Unit::Fahrenheit, Unit::Celsius),
            (Of::Packaged, 68.0, Unit::Celsius, Unit::Fahrenheit),
            // A cold crash, a hot wort, a warm farmhouse yeast, a bank, a jar in the summer's heat.
            (Of::Beer, 30.0, Unit::Fahrenheit, Unit::Fahrenheit),
            (Of::Wort, 64.0, Unit::Celsius, Unit::Celsius),
            (Of::Crashed, 12.0, Unit::Celsius, Unit::Celsius),
            (Of::Crashed, 30.0, Unit::Fahrenheit, Unit::Fahrenheit),
            (Of::Packaged, 38.0, Unit::Celsius, Unit::Celsius),
            (Of::Packaged, 14.0, Unit::Fahrenheit, Unit::Fahrenheit),
            (Of::Beer, 40.0, Unit::Celsius, Unit::Celsius),
            (Of::Yeast, -80.0, Unit::Celsius, Unit::Celsius),
            (Of::Yeast, 0.0, Unit::Fahrenheit, Unit::Fahrenheit),
            (Of::Yeast, 30.0, Unit::Celsius, Unit::Celsius),
            // In the other scale it is no better.
            (Of::Beer, -4.0, Unit::Fahrenheit, Unit::Fahrenheit),
            (Of::Yeast, 65.0, Unit::Celsius, Unit::Celsius),
        ] {
            let read = as_meant(Measure::new(number, unit), of);
            assert_eq!((read.unit, read.low), (meant, number), "{of:?} {number} {unit:?}");
        }
    }
}
