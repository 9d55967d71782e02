//! The measures that something is said in: an answer in the house's, a finding in those of its line.

use barm_quantity::{Dimension, Gravity, Mass, Pressure, Temperature, Unit, Volume, plain, significant};
use barm_zymology::gravity;

use crate::{GravityScale, Place, Season, Settings, Source, advice};

/// Metric or US, and specific gravity or °P.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    us: bool,
    plato: bool,
}

impl Scale {
    /// The house's.
    #[must_use]
    pub fn house(settings: &Settings) -> Self {
        Self { us: settings.speaks_us(), plato: settings.gravity == GravityScale::Plato }
    }

    /// That of a line, where there is one; what does not stand in it is said as the house says it.
    #[must_use]
    pub fn of(season: &Season, place: Option<Place>) -> Self {
        Self::at(&season.sources, &season.settings, place)
    }

    pub(crate) fn at(sources: &[Source], settings: &Settings, place: Option<Place>) -> Self {
        let text = place.and_then(|place| Some((sources.get(place.file.0 as usize)?, place.span)));
        Self::of_text(text.map_or("", |(source, span)| span.text(&source.text)), settings)
    }

    fn of_text(text: &str, settings: &Settings) -> Self {
        let mut house = Self::house(settings);
        let has = |of: fn(Unit) -> bool| units(text).any(of);
        // Gas flows in litres a minute and yeast is weighed in grams wherever one brews.
        let tells = |unit: Unit| match unit.dimension() {
            Dimension::Temperature | Dimension::Volume | Dimension::Pressure => true,
            _ => unit == Unit::Kilogram,
        };
        if has(Unit::is_us) {
            house.us = true;
        } else if has(tells) {
            house.us = false;
        }
        if has(|unit| unit.dimension() == Dimension::Gravity) {
            house.plato = true;
        } else if has_specific_gravity(text) {
            house.plato = false;
        }
        house
    }

    /// Whether it is US measure.
    #[must_use]
    pub const fn is_us(self) -> bool {
        self.us
    }

    /// The unit of its temperatures.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        if self.us { "°F" } else { "°C" }
    }

    /// A temperature without its unit.
    #[must_use]
    pub fn point(self, celsius: f64) -> String {
        plain(if self.us { Temperature::celsius(celsius).as_fahrenheit() } else { celsius }, 1)
    }

    /// A temperature with its unit.
    #[must_use]
    pub fn temperature(self, celsius: f64) -> String {
        format!("{} {}", self.point(celsius), self.unit())
    }

    /// A range of temperatures with its unit.
    #[must_use]
    pub fn range(self, (low, high): (f64, f64)) -> String {
        format!("{}–{} {}", self.point(low), self.point(high), self.unit())
    }

    /// A difference between temperatures with its unit.
    #[must_use]
    pub fn distance(self, kelvin: f64) -> String {
        if self.us { format!("{} °F", plain(kelvin * 1.8, 1)) } else { format!("{} K", plain(kelvin, 1)) }
    }

    /// Degrees beyond a range for so long, with their unit and no more digits than are known.
    #[must_use]
    pub fn degree_hours(self, kelvin_hours: f64) -> String {
        let (factor, unit) = if self.us { (1.8, "°F·h") } else { (1.0, "K·h") };
        format!("{} {unit}", significant(kelvin_hours * factor, 2))
    }

    /// A gauge pressure with its unit.
    #[must_use]
    pub fn pressure(self, bar: f64) -> String {
        if self.us {
            format!("{} psi", plain(Pressure::bar(bar).as_psi(), 0))
        } else {
            format!("{} bar", plain(bar, 1))
        }
    }

    /// A volume as it is: "20.8 L", "450 mL"; "5.5 gal".
    #[must_use]
    pub fn volume(self, volume: Volume) -> String {
        let litres = volume.as_litres();
        said(litres, advice::volume_unit(litres, self.us))
    }

    /// Some volumes in the unit of the least that is anything, so that one sees how they compare.
    #[must_use]
    pub fn volumes<const N: usize>(self, volumes: [Volume; N]) -> [String; N] {
        let litres = volumes.map(Volume::as_litres);
        let least = litres.iter().copied().filter(|litres| *litres > 0.0).reduce(f64::min).unwrap_or(0.0);
        litres.map(|litres| said(litres, advice::volume_unit(least, self.us)))
    }

    /// A mass of what is weighed in a kitchen, as it is: "110 g", "1.25 kg"; "3.88 oz", "1.5 lb".
    #[must_use]
    pub fn mass(self, mass: Mass) -> String {
        let grams = mass.as_grams();
        said(grams, advice::kitchen_unit(grams, self.us))
    }

    /// A mass of yeast as it is, which is sold in grams everywhere: "11.5 g", "35 kg".
    #[must_use]
    pub fn yeast(self, mass: Mass) -> String {
        let grams = mass.as_grams();
        said(grams, advice::mass_unit(grams, self.us))
    }

    /// A gravity as it is read: "1.048", "11.9 °P".
    #[must_use]
    pub fn gravity(self, of: Gravity) -> String {
        if self.plato {
            format!("{:.1} °P", gravity::plato(of).as_degrees())
        } else {
            format!("{:.3}", of.as_specific())
        }
    }
}

/// An amount in a unit, to three digits and to no less than one of them.
fn said(base: f64, unit: Unit) -> String {
    let amount = unit.from_base(base);
    let decimals = if amount < 10.0 { 2 } else { usize::from(amount < 100.0) };
    format!("{} {}", plain(amount, decimals), unit.symbol())
}

/// The units behind the numbers of a text.
fn units(text: &str) -> impl Iterator<Item = Unit> {
    text.match_indices(|c: char| c.is_ascii_digit()).filter_map(|(at, _)| {
        let behind = text.get(at + 1..)?.trim_start();
        let end = behind.find(|c: char| !(c.is_alphabetic() || matches!(c, '-' | '/' | '°' | 'º')));
        Unit::read(behind.get(..end.unwrap_or(behind.len()))?)
    })
}

/// Whether a number of a text is written as specific gravities are.
fn has_specific_gravity(text: &str) -> bool {
    text.split(|c: char| !(c.is_ascii_digit() || c == '.')).any(|number| {
        number.len() >= "1.048".len() && number.parse().is_ok_and(|value: f64| (0.97..1.2).contains(&value))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_says_which_measure_it_speaks() {
        let us = Settings::read("units = \"us\"\ngravity = \"plato\"").unwrap_or_default();
        let metric = Settings::default();
        for (line, settings, is_us, plato) in [
            ("pitch p", &metric, false, false),
            ("pitch p", &us, true, true),
            ("temp 64 F", &metric, true, false),
            ("temp 18 °C", &us, false, true),
            ("wort 5.5 gal at 1.048", &us, true, false),
            ("wort 21 L at 12 °P", &metric, false, true),
            ("wort 21 L at 12P", &metric, false, true),
            ("aerate oxygen 60 s at 1 L/min", &us, true, true),
            ("pitch tide-f 11 g", &us, true, true),
            ("bottle 5 gal, 110 g sucrose", &metric, true, false),
        ] {
            assert_eq!(Scale::of_text(line, settings), Scale { us: is_us, plato }, "{line}");
        }
    }

    #[test]
    fn amounts_are_said_in_the_unit_that_one_measures_them_in() {
        let [metric, us] = [false, true].map(|us| Scale { us, plato: us });
        let litres = Volume::litres;
        assert_eq!([litres(20.82), litres(0.45)].map(|v| metric.volume(v)), ["20.8 L", "450 mL"]);
        assert_eq!([litres(20.82), litres(0.045)].map(|v| us.volume(v)), ["5.5 gal", "1.52 fl-oz"]);
        assert_eq!(metric.volumes([litres(1.2), litres(0.3)]), ["1200 mL", "300 mL"]);
        assert_eq!(us.volumes([litres(0.5), litres(0.0)]), ["0.53 qt", "0 qt"]);
        let grams = Mass::grams;
        assert_eq!([grams(110.0), grams(35_000.0)].map(|m| metric.mass(m)), ["110 g", "35 kg"]);
        assert_eq!([grams(110.0), grams(900.0)].map(|m| us.mass(m)), ["3.88 oz", "1.98 lb"]);
        assert_eq!([grams(11.5), grams(35_000.0)].map(|m| us.yeast(m)), ["11.5 g", "77.2 lb"]);
        let gravity = Gravity::specific(1.048);
        assert_eq!(
            (metric.gravity(gravity), us.gravity(gravity)),
            ("1.048".to_owned(), "11.9 °P".to_owned())
        );
        assert_eq!(
            (metric.temperature(18.0), us.temperature(18.0)),
            ("18 °C".to_owned(), "64.4 °F".to_owned())
        );
    }
}
