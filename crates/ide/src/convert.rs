//! A quantity in the other units of its kind, as it would be written.

use barm_quantity::{CarbonDioxide, Dimension, Gravity, Measure, Plato, Unit, plain};
use barm_zymology::gravity;

use crate::piece::Of;

/// What mg/L of a flavour measure.
pub(crate) const CONCENTRATION: &str = "a concentration in beer";

/// A measure in the other units that a brewer may want, largest units first.
pub(crate) fn conversions(measure: &Measure, of: Of) -> Vec<String> {
    match (of, measure.dimension()) {
        (_, Dimension::Gravity) => vec![gravity_in_other(measure)],
        (Of::Gas, Dimension::Carbonation | Dimension::MassPerVolume) => vec![gas_in_other(measure)],
        // A pressure that bottles are rated for, as everything else.
        _ => by_factor(measure),
    }
}

fn by_factor(measure: &Measure) -> Vec<String> {
    // What is read and nobody asks for: a bottle is as well told in mL.
    let is_between = |unit| matches!(unit, Unit::Centilitre | Unit::Decilitre);
    let units = Unit::ALL
        .iter()
        .filter(|unit| **unit != measure.unit && !unit.symbol().is_empty() && !is_between(**unit));
    let others = units.filter_map(|unit| measure.converted(*unit));
    let told = others.filter(|other| {
        let size = other.high.abs().max(other.low.abs());
        // What nobody would say: 0.00002 hL, 400000 mg.
        (0.05..20_000.0).contains(&size) || measure.dimension() == Dimension::Temperature
    });
    told.map(|other| written(&other)).collect()
}

fn written(measure: &Measure) -> String {
    let decimals = match measure.high.abs().max(measure.low.abs()) {
        size if size >= 100.0 => 0,
        size if size >= 10.0 => 1,
        size if size >= 1.0 => 2,
        _ => 3,
    };
    let number = |x: f64| plain(x, decimals);
    let error = f64::from(measure.plus_minus);
    put_together(&number(measure.low), &number(measure.high), &number(error), measure)
}

/// A range, and what stands behind `±`.
fn put_together(low: &str, high: &str, error: &str, measure: &Measure) -> String {
    let range = if low == high { String::new() } else { format!("..{high}") };
    let error = if measure.plus_minus > 0.0 { format!(" ± {error}") } else { String::new() };
    let symbol = measure.unit.symbol();
    format!("{low}{range}{error}{}{symbol}", if symbol.is_empty() { "" } else { " " })
}

fn gravity_in_other(measure: &Measure) -> String {
    let error = f64::from(measure.plus_minus);
    if measure.unit == Unit::SpecificGravity {
        let plato = |sg| gravity::plato(Gravity::specific(sg)).as_degrees();
        let number = |sg| plain(plato(sg), 1);
        let error = plain(plato(measure.low + error) - plato(measure.low), 1);
        let as_plato = Measure { unit: Unit::DegreePlato, ..*measure };
        return put_together(&number(measure.low), &number(measure.high), &error, &as_plato);
    }
    let specific = |degrees| gravity::gravity(Plato::degrees(degrees)).as_specific();
    let number = |degrees| format!("{:.3}", specific(degrees));
    let error = plain(specific(measure.low + error) - specific(measure.low), 4);
    let as_specific = Measure { unit: Unit::SpecificGravity, ..*measure };
    put_together(&number(measure.low), &number(measure.high), &error, &as_specific)
}

fn gas_in_other(measure: &Measure) -> String {
    let (unit, in_other): (Unit, fn(f64) -> f64) = if measure.unit == Unit::Volumes {
        (Unit::GramPerLitre, |volumes| CarbonDioxide::volumes(volumes).as_grams_per_litre())
    } else {
        (Unit::Volumes, |grams| CarbonDioxide::grams_per_litre(grams).as_volumes())
    };
    #[expect(clippy::cast_possible_truncation, reason = "an error needs no more digits")]
    let plus_minus = in_other(f64::from(measure.plus_minus)) as f32;
    written(&Measure {
        low: in_other(measure.low),
        high: in_other(measure.high),
        plus_minus,
        unit,
        about: measure.about,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_is_turned_with_what_it_belongs_to() {
        let other = |low, plus_minus, unit, of| {
            conversions(&Measure { plus_minus, ..Measure::new(low, unit) }, of).join(" · ")
        };
        assert_eq!(
            other(180.0, 30.0, Unit::Millilitre, Of::Itself),
            "0.18 ± 0.03 L · 0.19 ± 0.032 qt · 0.38 ± 0.063 pt · 6.09 ± 1.01 fl-oz"
        );
        assert_eq!(other(68.0, 1.8, Unit::Fahrenheit, Of::Itself), "20 ± 1 °C");
        assert_eq!(other(1.048, 0.002, Unit::SpecificGravity, Of::Itself), "11.9 ± 0.5 °P");
        assert_eq!(other(12.0, 0.5, Unit::DegreePlato, Of::Itself), "1.048 ± 0.0021");
        // Of a gas 1.977 g in a litre are a volume; of sugar it is a dose.
        assert_eq!(other(2.4, 0.0, Unit::Volumes, Of::Gas), "4.74 g/L");
        assert_eq!(other(5.0, 0.0, Unit::GramPerLitre, Of::Gas), "2.53 vol");
        assert!(!other(5.0, 0.0, Unit::GramPerLitre, Of::Itself).contains("vol"));
    }
}
