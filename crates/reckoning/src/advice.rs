//! Amounts as a brewer would measure them out, rounded up so that they are enough.

use barm_quantity::{Cells, Estimate, Plato, Unit, Volume, plain, significant};
use barm_zymology::{fermentation, gravity, starter};

use crate::lot::Supply;
use crate::{Moment, Scale, Settings};

/// Cells as text: "245 B".
#[must_use]
pub fn billions(cells: f64) -> String {
    format!("{} B", significant(cells / 1e9, if cells >= 1e11 { 3 } else { 2 }))
}

/// A range as text: "2.0–5.6", or one figure where both ends are told alike.
#[must_use]
pub fn range(estimate: &Estimate) -> String {
    let (low, high) = (significant(estimate.low(), 2), significant(estimate.high(), 2));
    if low == high { low } else { format!("{low}–{high}") }
}

/// A range of cells as text: "82–118 B".
#[must_use]
pub fn billions_range(cells: &Estimate) -> String {
    let (low, high) = (significant(cells.low() / 1e9, 2), significant(cells.high() / 1e9, 2));
    if low == high { format!("{low} B") } else { format!("{low}–{high} B") }
}

/// Whole days as text: "1 day", "12 days".
#[must_use]
pub fn days(days: f64) -> String {
    format!("{days:.0} {}", if days.round() == 1.0 { "day" } else { "days" })
}

/// Days to a tenth as text: "1 day", "2.5 days".
#[must_use]
pub fn days_to_a_tenth(days: f64) -> String {
    let days = plain(days, 1);
    format!("{days} {}", if days == "1" { "day" } else { "days" })
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

/// Down to one significant digit.
pub(crate) fn round_down(value: f64) -> f64 {
    let step = 10f64.powf(value.log10().floor());
    // Written with few decimals the product would carry the dust of binary fractions.
    ((value / step + 1e-6).floor() * step * 1e9).round() / 1e9
}

/// An amount as one would measure it out.
pub(crate) struct Measured {
    /// As a log has it: "3 packs", "180 mL", "23 g", "3/8".
    pub text: String,
    /// The same in the supply's own unit.
    pub units: f64,
}

/// How what comes in whole packs is rounded.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Packs {
    /// Up, so that no less is there than was asked.
    Up,
    /// Up, but for what is hardly missed.
    Enough,
    /// To the nearest, where another lot makes up for it.
    Nearest,
}

/// So much of a target is as good as all of it: published targets differ by half either way (judgement).
pub const ENOUGH: f64 = 0.9;

/// So much of a target is near it, where all that there is gives no more (judgement: a brew with two thirds of it is not yet
/// told to be short).
pub(crate) const NEARLY: f64 = 0.8;

impl Packs {
    fn count(self, units: f64) -> f64 {
        let count = match self {
            Self::Up => (units - 0.02).ceil(),
            Self::Enough => (units * ENOUGH - 1e-9).ceil(),
            Self::Nearest => units.round(),
        };
        count.max(1.0)
    }
}

/// Of packs that hold more than so many times what is wanted only a part is taken.
const TOO_LARGE: f64 = 4.0;

/// The same for a house that wants less, or more, of them.
pub(crate) fn too_large(settings: &Settings) -> f64 {
    settings.limit("overpitched", TOO_LARGE)
}

/// An amount of a supply of which `left` is left, so that it is enough.
pub(crate) fn amount(supply: &Supply, units: f64, left: f64, packs: Packs, settings: &Settings) -> Measured {
    let us = settings.speaks_us();
    let parted = |units: f64| {
        let (part, text) = parted(units / left);
        Measured { text, units: left * part }
    };
    let whole = |name: &str| {
        let count = packs.count(units);
        if count > too_large(settings) * units {
            // Of one pack a share is taken, of many a part of one; less than a hundredth nobody weighs out.
            let least = units.max(0.01);
            if left <= 1.0 {
                return parted(least);
            }
            let units = (least * 100.0 - 1e-6).ceil() / 100.0;
            return Measured { text: format!("{} {name}s", plain(units, 2)), units };
        }
        Measured { text: format!("{count:.0} {name}{}", if count > 1.5 { "s" } else { "" }), units: count }
    };
    match supply {
        Supply::Packs { .. } => whole("pack"),
        Supply::Vials { .. } => whole("vial"),
        Supply::Dry { .. } | Supply::Slurry { weighed: true, .. } => {
            measured(mass_unit(round_up(units), us), units)
        }
        Supply::Slurry { weighed: false, .. } => measured(volume_unit(round_up(units), us), units),
        Supply::Part { .. } | Supply::Slant | Supply::Wort | Supply::Unknown => parted(units),
    }
}

/// A starter's wort as one would measure it out: no less than a tenth of a litre.
pub(crate) fn starter_wort(litres: f64, us: bool) -> Measured {
    measured(volume_unit(round_up(litres), us), litres.max(0.1))
}

/// Beer as one would pour it out, so that it is enough.
pub(crate) fn beer(litres: f64, us: bool) -> Measured {
    measured(volume_unit(round_up(litres), us), litres)
}

/// An amount in a unit as one would measure it out.
fn measured(unit: Unit, base: f64) -> Measured {
    let rounded = round_up(unit.from_base(base));
    Measured { text: format!("{} {}", plain(rounded, 3), unit.symbol()), units: unit.to_base(rounded) }
}

/// Into how many parts something is divided by weight: tens, hundreds and so on of them likewise.
const PARTS: [f64; 10] = [10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0];

/// A part that is enough, but for what is hardly missed, and how it is written: in the eighths that one can judge by eye, and
/// of less than a tenth as a whole number of parts, of which one is weighed out.
fn parted(part: f64) -> (f64, String) {
    if part > 0.0 && part <= 0.1 {
        let tens = 10f64.powf((1.0 / part + 1e-6).log10().floor() - 1.0);
        let fits = |parts: &f64| parts * tens <= 1.0 / part + 1e-6;
        let parts = tens * PARTS.into_iter().rev().find(fits).unwrap_or(PARTS[0]);
        return (1.0 / parts, format!("1/{parts:.0}"));
    }
    let eighths = (part * ENOUGH * 8.0 - 1e-6).ceil().clamp(1.0, 8.0);
    let text = match eighths {
        e if e >= 8.0 => "all".to_owned(),
        e if e.rem_euclid(4.0) < 0.5 => "1/2".to_owned(),
        e if e.rem_euclid(2.0) < 0.5 => format!("{:.0}/4", e / 2.0),
        e => format!("{e:.0}/8"),
    };
    (eighths / 8.0, text)
}

/// A share of what is left, so that it is enough: "1/2", "3/8", "1/20", "all".
#[must_use]
pub fn share(part: f64) -> String {
    parted(part).1
}

/// A volume rounded up, in the measure that is spoken: "2.1 L", "190 mL"; "0.6 gal", "6.5 fl-oz".
#[must_use]
pub fn volume(litres: f64, us: bool) -> String {
    let unit = volume_unit(round_up(litres), us);
    format!("{} {}", plain(round_up(unit.from_base(litres)), 2), unit.symbol())
}

/// A mass rounded up, in the measure that is spoken: "23 g", "1.8 kg".
#[must_use]
pub fn mass(grams: f64, us: bool) -> String {
    let unit = mass_unit(round_up(grams), us);
    format!("{} {}", plain(round_up(unit.from_base(grams)), 2), unit.symbol())
}

/// A share of something, by the words of `barm_quantity::share`: "74 % of the target", "15 times the target".
#[must_use]
pub fn part_of(share: &str, whole: &str) -> String {
    let of = if share.ends_with("times") { "" } else { "of " };
    format!("{share} {of}{whole}")
}

/// The unit that such a mass is weighed in.
pub(crate) fn mass_unit(grams: f64, us: bool) -> Unit {
    match (us, grams) {
        (_, g) if g < 1000.0 => Unit::Gram,
        (false, _) => Unit::Kilogram,
        (true, _) => Unit::Pound,
    }
}

/// The unit that so much sugar, hops and the like is weighed in.
pub(crate) fn kitchen_unit(grams: f64, us: bool) -> Unit {
    match (us, grams) {
        (true, g) if g < Unit::Pound.to_base(1.0) => Unit::Ounce,
        (true, _) => Unit::Pound,
        (false, _) => mass_unit(grams, false),
    }
}

/// The unit that such a volume is measured in: for every output the same.
pub(crate) fn volume_unit(litres: f64, us: bool) -> Unit {
    match (us, litres) {
        (false, l) if l < 1.0 => Unit::Millilitre,
        (false, _) => Unit::Litre,
        (true, l) if l < 0.5 => Unit::UsFluidOunce,
        (true, l) if l < 2.0 => Unit::UsQuart,
        (true, _) => Unit::UsGallon,
    }
}

/// Of less than this a tenth of a gram counts.
pub(crate) const LITTLE_GRAMS: f64 = 10.0;

/// So much of what is weighed, to a gram or less.
pub(crate) fn weighed(grams: f64, scale: Scale) -> String {
    let unit = kitchen_unit(grams, scale.is_us());
    let (amount, decimals) = match unit {
        Unit::Gram if grams < LITTLE_GRAMS => (grams, 1),
        Unit::Gram => (grams, 0),
        Unit::Ounce => (unit.from_base(grams), 2),
        _ => (unit.from_base(grams), 3),
    };
    let step = 10f64.powi(decimals);
    let amount = (amount * step).round() / step;
    format!("{} {}", plain(amount, usize::try_from(decimals).unwrap_or(0)), unit.symbol())
}

/// So much of what is poured, to a hundredth of it or less.
pub(crate) fn poured(litres: f64, scale: Scale) -> String {
    let unit = volume_unit(litres, scale.is_us());
    let decimals = match unit {
        Unit::Millilitre => 0,
        Unit::UsFluidOunce => 1,
        Unit::UsGallon => 3,
        _ => 2,
    };
    format!("{} {}", plain(unit.from_base(litres), decimals), unit.symbol())
}

/// More steps than this nobody takes.
const MOST_STEPS: u32 = 4;

/// The least wort of a starter that so many cells do not crowd.
pub(crate) fn roomy(settings: &Settings, cells: f64) -> Volume {
    let limit = settings.limit("crowded-starter", starter::CROWDED.as_millions());
    Volume::litres(if limit > 0.0 { cells / 1e9 / limit } else { 0.0 })
}

/// The worts of a chain of starters, the first first, that raises yeast to a target in as few steps as can do it, each
/// growing it as many times as the others.
pub(crate) fn steps(
    settings: &Settings,
    live: &Estimate,
    target: Cells,
    strength: Plato,
    method: starter::Method,
) -> Option<Vec<Volume>> {
    let times = target.as_each() / live.median();
    (1..=MOST_STEPS).find_map(|count| {
        let mut worts = Vec::new();
        let mut cells = live.clone();
        for step in 1..=count {
            let reached = live.median() * times.powf(f64::from(step) / f64::from(count));
            let volume = starter::volume_for(Cells::each(reached), &cells, strength, method)?;
            let volume = volume.max(roomy(settings, cells.median()));
            cells = starter::grown(&cells, volume, strength, method, fermentation::UNREAD, None, "");
            worts.push(volume);
        }
        Some(worts)
    })
}

/// No smaller one is told.
fn size_of(wort: Volume, us: bool) -> String {
    volume(wort.as_litres().max(0.1), us)
}

/// "1.1 L begun on 2026-09-08, then 4 L on 2026-09-10", so that the last is two days old at a moment.
pub(crate) fn chain(worts: &[Volume], at: Moment, us: bool) -> String {
    let mut begun = at;
    let mut out: Vec<String> = Vec::new();
    for wort in worts.iter().rev() {
        begun = begun.plus_hours(-starter::AHEAD.as_hours());
        out.push(format!("{} begun on {}", size_of(*wort, us), begun.date()));
    }
    out.reverse();
    out.join(", then ")
}

/// What such starters are made of.
const STARTER: Plato = Plato::degrees(9.3);

/// When what a starter that would make up for what is missing is for can be pitched, if that is begun at once: each step takes
/// its time.
pub(crate) fn starter_ready(settings: &Settings, live: &Estimate, target: f64, begun: Moment) -> Moment {
    let target = Cells::each(target / starter::FRESH.as_fraction());
    let does = |method| starter::volume_for(target, live, STARTER, method).is_some();
    let in_steps =
        || steps(settings, live, target, STARTER, starter::Method::Stirred).map_or(1, |worts| worts.len());
    let steps = if does(starter::Method::Stirred) || does(starter::Method::Still) { 1 } else { in_steps() };
    begun.plus_hours(starter::AHEAD.as_hours() * steps as f64)
}

/// A starter that stands is named up to so much, and up to so much of the wort that it is for (judgement): a larger one nobody
/// has a vessel for, and it goes into the beer.
const STANDING: (Volume, f64) = (Volume::litres(10.0), 0.25);

/// A starter that would make up for what is missing: "a starter of 2.1 L at 1.037 stirred, begun by 2026-09-12". Before its yeast
/// is there, where that is `since` a day, nobody can begin it.
#[must_use]
pub fn starter_for(
    settings: &Settings,
    live: &Estimate,
    (target, wort): (f64, Volume),
    at: Moment,
    since: Option<Moment>,
    scale: Scale,
) -> Option<String> {
    let strength = STARTER;
    let (us, strong) = (scale.is_us(), scale.gravity(gravity::gravity(strength)));
    let target = Cells::each(target / starter::FRESH.as_fraction());
    let roomy = roomy(settings, live.median());
    let size = |method| {
        let wanted = starter::volume_for(target, live, strength, method)?.max(roomy);
        let (most, of_wort) = STANDING;
        let is_too_large = method == starter::Method::Still && wanted > most.min(wort * of_wort);
        (!is_too_large).then(|| size_of(wanted, us))
    };
    let too_early = |begun: Moment| since.is_some_and(|since| begun.day_number() < since.day_number());
    let begun = at.plus_hours(-starter::AHEAD.as_hours());
    let begin = if too_early(begun) {
        format!(
            "begun once there is yeast for it, and {} before it is pitched",
            days(starter::AHEAD.as_days())
        )
    } else {
        format!("begun by {}", begun.date())
    };
    match (size(starter::Method::Stirred), size(starter::Method::Still)) {
        (Some(stirred), Some(still)) => {
            Some(format!("a starter of {stirred} at {strong} stirred, or {still} standing, {begin}"))
        }
        (Some(stirred), None) => Some(format!("a stirred starter of {stirred} at {strong}, {begin}")),
        (None, Some(still)) => Some(format!("a starter of {still} at {strong} standing, {begin}")),
        (None, None) => {
            let worts = steps(settings, live, target, strength, starter::Method::Stirred)?;
            let ahead = starter::AHEAD.as_days() * worts.len() as f64;
            let steps = if too_early(at.plus_hours(-24.0 * ahead)) {
                let sizes: Vec<String> = worts.iter().map(|wort| size_of(*wort, us)).collect();
                let days = days(ahead);
                format!(
                    "{}, begun once there is yeast for them, and {days} before they are pitched",
                    sizes.join(", then ")
                )
            } else {
                chain(&worts, at, us)
            };
            Some(format!("{} stirred starters at {strong}: {steps}", worts.len()))
        }
    }
}

/// All of a lot is not enough.
pub(crate) fn too_little(
    settings: &Settings,
    name: &str,
    all: &Estimate,
    (target, wort): (f64, Volume),
    at: Moment,
    since: Option<Moment>,
) -> String {
    let have = billions_range(all);
    match starter_for(settings, all, (target, wort), at, since, Scale::house(settings)) {
        Some(starter) => format!("all of {name} is too little ({have} live): {starter}"),
        None => format!(
            "all of {name} is too little ({have} live), and no starter can make up for it: begin with more"
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::{ENOUGH, days, days_to_a_tenth, parted, round_up};

    #[test]
    fn rounds_up_to_what_one_can_measure() {
        for (value, rounded) in
            [(181.2, 190.0), (180.0, 180.0), (0.0734, 0.074), (2.01, 2.1), (1234.0, 1300.0), (0.0, 0.0)]
        {
            assert!((round_up(value) - rounded).abs() < 1e-9, "{value}: {}", round_up(value));
        }
    }

    #[test]
    fn one_day_is_no_days() {
        assert_eq!([days(1.2), days(12.0)], ["1 day", "12 days"]);
        assert_eq!([0.96, 2.5, 0.4].map(days_to_a_tenth), ["1 day", "2.5 days", "0.4 days"]);
    }

    #[test]
    fn a_part_is_enough_and_not_far_too_much() {
        for (part, written) in [
            (1.0, "all"),
            (0.4, "3/8"),
            (0.3, "3/8"),
            (0.27, "1/4"),
            (0.26, "1/4"),
            (0.2, "1/4"),
            (0.15, "1/4"),
            (0.13, "1/8"),
            (0.11, "1/8"),
            (0.1, "1/10"),
            (0.09, "1/10"),
            (0.034, "1/25"),
            (0.0101, "1/80"),
            (0.01, "1/100"),
            (0.0011, "1/800"),
        ] {
            let (taken, text) = parted(part);
            assert_eq!(text, written, "{part}");
            assert!(taken >= ENOUGH * part - 1e-9 && taken < 1.7 * part, "{part}: {taken}");
        }
    }
}
