//! Amounts as a brewer would measure them out, rounded up so that they are enough.

use barm_quantity::{Cells, Estimate, Plato, Unit, plain, significant};
use barm_zymology::starter;

use crate::Moment;
use crate::lot::Supply;

/// Cells as text: "245 B".
#[must_use]
pub fn billions(cells: f64) -> String {
    format!("{} B", significant(cells / 1e9, if cells >= 1e11 { 3 } else { 2 }))
}

/// A range of cells as text: "82–118 B".
#[must_use]
pub fn billions_range(cells: &Estimate) -> String {
    let (low, high) = (significant(cells.low() / 1e9, 2), significant(cells.high() / 1e9, 2));
    if low == high { format!("{low} B") } else { format!("{low}–{high} B") }
}

/// Up to two significant digits, so that it is still enough.
#[must_use]
pub fn round_up(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 0.0;
    }
    let step = 10f64.powf(value.log10().floor() - 1.0);
    let steps = (value / step - 1e-6).ceil();
    // Written with few decimals the product would carry the dust of binary fractions.
    (steps * step * 1e9).round() / 1e9
}

/// An amount of a supply of which `left` is left: "3 packs", "180 mL", "23 g", "3/8".
pub(crate) fn amount(supply: &Supply, units: f64, left: f64, us: bool) -> String {
    match supply {
        Supply::Packs { .. } => {
            let packs = (units - 0.02).ceil().max(1.0);
            format!("{packs:.0} {}", if packs > 1.5 { "packs" } else { "pack" })
        }
        Supply::Vials { .. } => {
            let vials = (units - 0.02).ceil().max(1.0);
            format!("{vials:.0} {}", if vials > 1.5 { "vials" } else { "vial" })
        }
        Supply::Dry { .. } => format!("{} g", plain(round_up(units), 1)),
        Supply::Slurry { weighed: true, .. } => format!("{} g", plain(round_up(units), 0)),
        Supply::Slurry { weighed: false, .. } => volume(units, us),
        Supply::Slant | Supply::Wort | Supply::Unknown => share(units / left),
    }
}

/// A share of what is left, in the eighths that one can judge by eye, and so that it is enough: "1/2", "3/8", "all".
#[must_use]
pub fn share(part: f64) -> String {
    match (part * 8.0 - 1e-6).ceil().clamp(1.0, 8.0) {
        e if e >= 8.0 => "all".to_owned(),
        e if e.rem_euclid(4.0) < 0.5 => "1/2".to_owned(),
        e if e.rem_euclid(2.0) < 0.5 => format!("{:.0}/4", e / 2.0),
        e => format!("{e:.0}/8"),
    }
}

/// A volume rounded up, in the measure that is spoken: "2.1 L", "190 mL"; "0.6 gal", "6.5 fl-oz".
#[must_use]
pub fn volume(litres: f64, us: bool) -> String {
    let unit = match (us, litres) {
        (false, l) if l < 0.5 => Unit::Millilitre,
        (false, _) => Unit::Litre,
        (true, l) if l < 0.5 => Unit::UsFluidOunce,
        (true, l) if l < 2.0 => Unit::UsQuart,
        (true, _) => Unit::UsGallon,
    };
    format!("{} {}", plain(round_up(unit.from_base(litres)), 2), unit.symbol())
}

/// A starter that would make up for what is missing: "a starter of 2.1 L at 1.037 stirred, begun by 2026-09-12".
#[must_use]
pub fn starter_for(live: &Estimate, target: f64, at: Moment, us: bool) -> Option<String> {
    let strength = Plato::degrees(9.3);
    let target = Cells::each(target / 0.965);
    let size = |method| {
        starter::volume_for(target, live, strength, method).map(|v| volume(v.as_litres().max(0.1), us))
    };
    let begin = at.plus_hours(-48.0).date();
    match (size(starter::Method::Stirred), size(starter::Method::Still)) {
        (Some(stirred), Some(still)) => {
            Some(format!("a starter of {stirred} at 1.037 stirred, or {still} standing, begun by {begin}"))
        }
        (Some(stirred), None) => Some(format!("a stirred starter of {stirred} at 1.037, begun by {begin}")),
        (None, Some(still)) => Some(format!("a starter of {still} at 1.037 standing, begun by {begin}")),
        (None, None) => None,
    }
}

/// All of a lot is not enough.
pub(crate) fn too_little(name: &str, all: &Estimate, target: f64, at: Moment, us: bool) -> String {
    let have = billions_range(all);
    match starter_for(all, target, at, us) {
        Some(starter) => format!("all of {name} is too little ({have} live): {starter}"),
        None => format!(
            "all of {name} is too little ({have} live), and one starter cannot make up for it: grow it in two steps"
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::round_up;

    #[test]
    fn rounds_up_to_what_one_can_measure() {
        for (value, rounded) in
            [(181.2, 190.0), (180.0, 180.0), (0.0734, 0.074), (2.01, 2.1), (1234.0, 1300.0), (0.0, 0.0)]
        {
            assert!((round_up(value) - rounded).abs() < 1e-9, "{value}: {}", round_up(value));
        }
    }
}
