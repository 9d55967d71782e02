//! The scale of the line that a finding stands on: temperatures and pressures are told as they are written there.

use barm_quantity::{Pressure, plain};
use barm_reckoning::{Place, Season};

/// Metric or US.
#[derive(Clone, Copy)]
pub(crate) struct Scale {
    us: bool,
}

impl Scale {
    pub(crate) fn of(season: &Season, place: Option<Place>) -> Self {
        Self { us: place.is_some_and(|p| season.speaks_us(p)) }
    }

    pub(crate) const fn unit(self) -> &'static str {
        if self.us { "°F" } else { "°C" }
    }

    /// A temperature without its unit.
    pub(crate) fn point(self, celsius: f64) -> String {
        plain(if self.us { celsius * 1.8 + 32.0 } else { celsius }, 1)
    }

    /// A temperature with its unit.
    pub(crate) fn temperature(self, celsius: f64) -> String {
        format!("{} {}", self.point(celsius), self.unit())
    }

    /// A range of temperatures with its unit.
    pub(crate) fn range(self, (low, high): (f64, f64)) -> String {
        format!("{}–{} {}", self.point(low), self.point(high), self.unit())
    }

    /// A difference between temperatures with its unit.
    pub(crate) fn distance(self, kelvin: f64) -> String {
        if self.us { format!("{} °F", plain(kelvin * 1.8, 1)) } else { format!("{} K", plain(kelvin, 1)) }
    }

    /// A gauge pressure with its unit.
    pub(crate) fn pressure(self, bar: f64) -> String {
        if self.us {
            format!("{} psi", plain(Pressure::bar(bar).as_psi(), 0))
        } else {
            format!("{} bar", plain(bar, 1))
        }
    }
}
