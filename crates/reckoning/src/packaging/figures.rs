//! What outputs show of a package.

use barm_quantity::{CarbonDioxide, Pressure, Temperature, Volume, plain};
use barm_syntax::ast::{Holder, PackageKind};
use barm_zymology::carbonation;

use super::priming::Priming;
use super::still::ToFerment;
use super::{COOL, WARM, held};
use crate::fermentation::{Falls, Shown};
use crate::{Figure, Moment, Place, Scale, degrees};

/// What a vessel is made for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rated {
    /// So much carbon dioxide.
    Gas(CarbonDioxide),
    /// So much pressure.
    Pressure(Pressure),
}

/// What says how much carbon dioxide comes to be in a package.
enum Said {
    /// A reading.
    Read(Place),
    /// What was asked for.
    Asked,
    /// The sum of all that is known.
    Reckoned,
}

/// One `bottle`, `keg` or `cask`, and the carbon dioxide that comes to be in it.
#[derive(Debug, Clone, PartialEq)]
pub struct PackageFigures {
    /// The statement.
    pub place: Place,
    /// When.
    pub at: Moment,
    /// Into what.
    pub kind: PackageKind,
    /// How much beer.
    pub volume: Option<Volume>,
    /// What fermentation left in it.
    pub residual: CarbonDioxide,
    /// What says so: "left from fermentation".
    pub residual_from: &'static str,
    /// What a `co2` later than this line says that came to be in it, and where.
    pub read: Option<(CarbonDioxide, Place)>,
    /// The warmest that the beer has been since it worked, °C, and whether that was stated or read.
    pub warmest: (f64, bool),
    /// What the sugar and the wort added give.
    pub added: CarbonDioxide,
    /// Give or take.
    pub added_error: CarbonDioxide,
    /// Where more of it was added when all was bottled, last.
    pub primed_again: Option<Place>,
    /// What it is kept at since, from the coldest to the warmest, °C, and where that stands.
    pub kept: Vec<(Moment, (f64, f64), Place)>,
    /// In words, each.
    pub additions: Vec<String>,
    /// What yeast that came in besides may make of what the beer's own left, in words: half of it is counted.
    pub taken_up: Option<String>,
    /// Fruit or beer of unknown extract was added before to what goes on all the same.
    pub unknown_before: bool,
    /// The last addition since a gravity was read of which nobody knows how much ferments.
    pub unknown_since: Option<(Moment, Place)>,
    /// What of what is added could not be reckoned: "cherries".
    pub unknown: Vec<String>,
    /// A sugar is still to be weighed: its line, or one shortly before it, holds a `?`.
    pub is_asked: bool,
    /// By so much less the air presses on the glass than at the sea.
    pub thinner_air: Pressure,
    /// What is still to ferment; `None` where no gravity was read or no end is known.
    pub to_ferment: Option<ToFerment>,
    /// Foam that was seen on it shortly before, where no gravity was ever read.
    pub foams: Option<(Moment, Place)>,
    /// Whether the log shows that the beer had stopped.
    pub shown: Shown,
    /// It was last read falling.
    pub falls: Option<Falls>,
    /// What makes it go on all the same: "a diastatic strain".
    pub goes_on: Option<&'static str>,
    /// The log of the beer goes on another day: it is no plan.
    pub is_followed: bool,
    /// The carbonation asked for.
    pub asked: Option<CarbonDioxide>,
    /// What the bottle, keg or cask is made for.
    pub rated: Option<Rated>,
    /// What bottles they are.
    pub holder: Option<Holder>,
}

impl PackageFigures {
    /// Whether what comes to be in it stays in it: a keg or cask vents unless its line says what it is made for.
    #[must_use]
    pub fn is_closed(&self) -> bool {
        self.kind == PackageKind::Bottle || self.rated.is_some()
    }

    /// What is still to ferment counts where a fresh reading does not show that the beer had stopped, or where it goes on
    /// all the same or went on.
    #[must_use]
    pub fn counts_to_ferment(&self) -> Option<&ToFerment> {
        let works = |more: &&ToFerment| self.shown == Shown::Not && !more.stale;
        self.to_ferment
            .as_ref()
            .filter(|more| more.went_on.is_some() || works(more) || self.goes_on.is_some())
    }

    /// All carbon dioxide that comes to be in it, and give or take.
    #[must_use]
    pub fn carbonation(&self) -> (CarbonDioxide, CarbonDioxide) {
        let (gas, error, _) = self.comes();
        (gas, error)
    }

    /// The same, and what says so.
    fn comes(&self) -> (CarbonDioxide, CarbonDioxide, Said) {
        let (gas, error) = self.reckoned();
        match (self.read, self.asked) {
            // What goes on may still pass what was read.
            (Some((read, place)), _) if self.goes_on.is_none() || read > gas => {
                (read, carbonation::READ_ERROR, Said::Read(place))
            }
            // With no sugar on record it is brought to that in another way.
            (None, Some(asked)) if self.additions.is_empty() && asked > gas => {
                (asked, carbonation::READ_ERROR, Said::Asked)
            }
            _ => (gas, error, Said::Reckoned),
        }
    }

    /// What is in it by itself and by what was added, or as read or asked for: without what its beer may still ferment, which
    /// that does wherever it is.
    pub(super) fn holds(&self) -> CarbonDioxide {
        match self.comes() {
            (gas, _, Said::Read(_) | Said::Asked) => gas,
            (.., Said::Reckoned) => {
                CarbonDioxide::volumes(self.residual.as_volumes() + self.added.as_volumes())
            }
        }
    }

    /// The same without a reading of it.
    fn reckoned(&self) -> (CarbonDioxide, CarbonDioxide) {
        let (more, error) =
            self.counts_to_ferment().map_or((0.0, 0.0), |t| (t.gas.as_volumes(), t.error.as_volumes()));
        let error =
            carbonation::RESIDUAL_ERROR.as_volumes().hypot(self.added_error.as_volumes()).hypot(error);
        (
            CarbonDioxide::volumes(self.residual.as_volumes() + self.added.as_volumes() + more),
            CarbonDioxide::volumes(error),
        )
    }

    /// The same if all that may still ferment does, whether it counts or not.
    #[must_use]
    pub fn carbonation_with(&self, more: &ToFerment) -> CarbonDioxide {
        let (gas, _) = self.carbonation();
        if self.counts_to_ferment().is_some() { gas } else { gas + more.gas }
    }

    /// All carbon dioxide that comes to be in it, as outputs show it.
    #[must_use]
    pub fn carbonation_figure(&self) -> Figure {
        let (gas, error, said) = self.comes();
        let (from, place) = match said {
            Said::Read(place) => ("as read".to_owned(), place),
            Said::Asked => ("as asked for, by whatever means".to_owned(), self.place),
            Said::Reckoned => (self.reckoned_from(), self.place),
        };
        Figure::plain("carbonation", gas.as_volumes(), error.as_volumes(), "vol", from).at(place)
    }

    fn reckoned_from(&self) -> String {
        let mut from = vec![format!("{} vol {}", plain(self.residual.as_volumes(), 2), self.residual_from)];
        from.extend(self.additions.iter().chain(&self.taken_up).cloned());
        if let Some(more) = self.counts_to_ferment() {
            from.push(format!("{} vol still to ferment", plain(more.gas.as_volumes(), 2)));
        }
        from.join(", ")
    }

    /// More was added when it was bottled already; what was read before tells no more of it.
    pub(super) fn is_primed_again(&mut self, more: Priming, place: Place) {
        self.added = CarbonDioxide::volumes(self.added.as_volumes() + more.added);
        self.added_error = CarbonDioxide::volumes(self.added_error.as_volumes() + more.error);
        self.additions.extend(more.additions);
        self.primed_again = Some(place);
        self.read = None;
    }

    /// The warmest that it is kept, °C, where that is warmer than a bottle must bear anyhow, and where that stands.
    #[must_use]
    pub fn kept_hot(&self) -> Option<(f64, Place)> {
        let hot = self.kept.iter().map(|(_, (_, warmest), place)| (*warmest, *place));
        hot.filter(|(celsius, _)| *celsius > WARM)
            .reduce(|hottest, next| if next.0 > hottest.0 { next } else { hottest })
    }

    /// The coldest that it is kept, °C, where beer is ice, and where that stands.
    #[must_use]
    pub fn kept_frozen(&self) -> Option<(f64, Place)> {
        let ice = self.kept.iter().map(|(_, (coldest, _), place)| (*coldest, *place));
        ice.filter(|(celsius, _)| *celsius < degrees::ICE.as_celsius())
            .reduce(|coldest, next| if next.0 < coldest.0 { next } else { coldest })
    }

    /// How warm it must hold, °C.
    #[must_use]
    pub fn must_hold_at(&self) -> f64 {
        self.kept_hot().map_or(WARM, |(celsius, _)| celsius)
    }

    /// The gas that presses as much where it must hold as so much does at [`WARM`].
    #[must_use]
    pub fn held_as_warm_as_kept(&self, gas: CarbonDioxide) -> CarbonDioxide {
        self.kept_hot().map_or(gas, |(celsius, _)| self.gas_under(self.closed_pressure(gas, WARM), celsius))
    }

    /// Gauge pressure over beer with so much gas in a closed bottle, in balance at a temperature in °C.
    #[must_use]
    pub fn closed_pressure(&self, gas: CarbonDioxide, celsius: f64) -> Pressure {
        let at_sea = carbonation::pressure_at(gas, Temperature::celsius(celsius));
        // Beer with less gas than air presses on it draws none in through its closure.
        Pressure::bar((at_sea.as_bar() + self.thinner_air.as_bar()).max(0.0))
    }

    /// The gas in beer that is in balance with a gauge pressure at a temperature in °C.
    #[must_use]
    pub fn gas_under(&self, pressure: Pressure, celsius: f64) -> CarbonDioxide {
        held::under(pressure - self.thinner_air, celsius)
    }

    /// The pressure in the closed bottle at [`COOL`] and at [`WARM`], as outputs show it.
    #[must_use]
    pub fn pressure_figures(&self, scale: Scale) -> [Figure; 2] {
        let (gas, error) = self.carbonation();
        [("pressure-20", COOL), ("pressure-30", WARM)].map(|(name, celsius)| {
            let at = |gas| self.closed_pressure(gas, celsius).as_bar();
            let from = format!("gauge, in balance with its beer at {}", scale.temperature(celsius));
            let figure = Figure::plain(name, at(gas), 0.0, "bar", from).at(self.place);
            Figure { low: at(gas - error), high: at(gas + error), ..figure }
        })
    }
}
