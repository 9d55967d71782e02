//! The state of a lot between two events: what is left in it, how much of it lives, where it came from.

use std::sync::Arc;

use barm_quantity::{Estimate, FactorName, NINETY, Span as Hours, Temperature};
use barm_zymology::storage::{self, Loss, Store};
use barm_zymology::supply::SLURRY_GRAMS_PER_ML;
use jiff::civil::Date;

use crate::blends::Mix;
use crate::history::{Donor, Frozen, Unknown, Warm};
use crate::names::LotId;
use crate::{Moment, Place, StrainId};

/// What a lot holds, in the unit that it was declared in: stock is never kept in cells, because cells less cells is noise.
#[derive(Debug, Clone)]
pub(crate) enum Supply {
    /// Declared, but nothing says how much.
    Unknown,
    /// Liquid packs; `each` is what the label says of one.
    Packs { each: Estimate },
    /// Dry yeast in grams; cells per gram, and the mass of one sachet.
    Dry { per_gram: Estimate, sachet: f64 },
    /// Slurry in litres, or in grams where it was weighed; total cells per mL.
    Slurry { density: Estimate, weighed: bool },
    /// A share of a cake, in parts of what was taken: all its cells, and how many are in a mL of it.
    Part { cells: Estimate, density: Box<Estimate> },
    /// Vials of so many litres; total cells per mL where they were counted.
    Vials { litres: f64, density: Option<Estimate> },
    /// A slant: loops are taken from it, none counted.
    Slant,
    /// A wort with its yeast: a starter, or a brew whose cake is pitched. In parts of a whole.
    Wort,
}

impl Supply {
    /// The unit that outputs show: what `left` counts.
    pub(crate) const fn unit(&self) -> &'static str {
        match self {
            Self::Packs { .. } => "packs",
            Self::Dry { .. } => "g",
            Self::Slurry { weighed: false, .. } => "mL",
            Self::Slurry { weighed: true, .. } => "g",
            Self::Vials { .. } => "vials",
            Self::Slant => "loops",
            Self::Part { .. } | Self::Wort | Self::Unknown => "",
        }
    }

    /// A number of the supply's own unit in the unit shown.
    pub(crate) const fn shown(&self, amount: f64) -> f64 {
        match self {
            Self::Slurry { weighed: false, .. } => amount * 1000.0,
            _ => amount,
        }
    }

    /// The same for lists: parts of a whole in per cent.
    pub(crate) const fn listed(&self, amount: f64) -> (f64, &'static str) {
        match self {
            Self::Part { .. } | Self::Wort => (amount * 100.0, "%"),
            _ => (self.shown(amount), self.unit()),
        }
    }

    /// Yeast in a jar, as it came out of a brew.
    pub(crate) const fn is_slurry(&self) -> bool {
        matches!(self, Self::Slurry { .. } | Self::Part { .. })
    }

    /// All cells in one of the supply's own unit; `None` where that is not a matter of its label or density.
    pub(crate) fn cells_per_unit(&self) -> Option<Estimate> {
        match self {
            Self::Packs { each } => Some(each.clone()),
            Self::Dry { per_gram, .. } => Some(per_gram.clone()),
            Self::Slurry { density, weighed: false } => Some(density.scaled(1000.0)),
            Self::Slurry { density, weighed: true } => Some(density.scaled(1.0 / SLURRY_GRAMS_PER_ML)),
            Self::Part { cells, .. } => Some(cells.clone()),
            Self::Vials { litres, density } => density.as_ref().map(|d| d.scaled(litres * 1000.0)),
            Self::Slant | Self::Wort | Self::Unknown => None,
        }
    }
}

/// A time at one temperature.
#[derive(Debug, Clone, Copy)]
struct Spell {
    temperature: Temperature,
    time: Hours,
    place: Option<Place>,
}

/// The part of a lot's cells that lives, and how it falls.
#[derive(Debug, Clone)]
pub(crate) struct LiveShare {
    /// At `since`.
    pub start: Estimate,
    /// From when it falls; `None`: no date is known.
    pub since: Option<Moment>,
    /// How many days `since` may be out, either way.
    pub days_either_way: f64,
    /// When it was made or harvested, and how many days that may be out; whoever looks at it makes it no younger.
    pub begun: Option<(Moment, f64)>,
    /// `since` is reckoned back from a `best-before`: it may be fresher than that, so nothing is held against its use.
    pub reckoned_back: bool,
    /// The end of its `best-before`.
    pub best_before: Option<Date>,
    /// At which rate.
    pub loss: Loss,
    /// By which law of temperature.
    pub store: Store,
    /// When it was kept at which temperature, in order, and where that is written; before the first, at `first`.
    pub first: Temperature,
    pub kept: Vec<(Moment, Temperature, Place)>,
    /// A count or a viability has replaced the estimate at `since`.
    pub measured: bool,
}

impl LiveShare {
    /// The spells from `since` to `at`: how warm, how long, and where that is written.
    fn spells(&self, at: Moment) -> Vec<Spell> {
        let Some(since) = self.since else { return Vec::new() };
        let mut out = Vec::with_capacity(self.kept.len() + 1);
        let mut from = since;
        let mut spell = Spell { temperature: self.first, time: Hours::default(), place: None };
        for &(when, temperature, place) in self.kept.iter().take_while(|(when, ..)| *when <= at) {
            if when > from {
                out.push(Spell { time: when.since(from), ..spell });
                from = when;
            }
            spell = Spell { temperature, place: Some(place), ..spell };
        }
        out.push(Spell { time: at.since(from), ..spell });
        out
    }

    /// Equivalent days at 4 °C from `since` to `at`: spells at different temperatures add.
    fn exposure(&self, at: Moment) -> f64 {
        self.spells(at).iter().map(|spell| storage::exposure(self.store, spell.temperature, spell.time)).sum()
    }

    /// How long it was kept warm between `since` and `at`; `None` where no date is known.
    pub(crate) fn warm(&self, at: Moment) -> Option<Warm> {
        self.since?;
        let mut out = Warm { hours: 0.0, as_cold_days: 0.0, warmest: self.first, place: None };
        for spell in self.spells(at).iter().filter(|spell| spell.temperature > storage::WARM) {
            if out.hours <= 0.0 || spell.temperature.as_celsius() > out.warmest.as_celsius() {
                (out.warmest, out.place) = (spell.temperature, spell.place);
            }
            out.hours += spell.time.as_hours();
            out.as_cold_days += storage::exposure(self.store, spell.temperature, spell.time);
        }
        Some(out)
    }

    /// How it was frozen between `since` and `at`, at its coldest; without a date, at any time before.
    pub(crate) fn frozen(&self, at: Moment) -> Option<Frozen> {
        let all = std::iter::once(self.first).chain(self.kept.iter().map(|(_, kept, _)| *kept));
        // Hardly any yeast is.
        if all.min_by(|a, b| a.as_celsius().total_cmp(&b.as_celsius()))? >= storage::ICE {
            return None;
        }
        let kept: Vec<(Temperature, Option<Place>)> = match self.since {
            Some(_) => {
                let spells = self.spells(at).into_iter().filter(|spell| spell.time > Hours::default());
                spells.map(|spell| (spell.temperature, spell.place)).collect()
            }
            None => {
                let later = self.kept.iter().take_while(|(when, ..)| *when < at);
                let later = later.map(|(_, kept, place)| (*kept, Some(*place)));
                std::iter::once((self.first, None)).chain(later).collect()
            }
        };
        let coldest = kept.into_iter().min_by(|(a, _), (b, _)| a.as_celsius().total_cmp(&b.as_celsius()));
        let (temperature, place) = coldest.filter(|(kept, _)| *kept < storage::ICE)?;
        Some(Frozen { temperature, place })
    }

    /// The live share at a moment, at most 1.
    pub(crate) fn at(&self, at: Moment, lot: &Arc<str>) -> Estimate {
        let (exposure, days_either_way) = match self.since {
            Some(_) => (self.exposure(at), self.days_either_way),
            // Nothing says how old it is: somewhere up to twice the usual age, said so by the widest band.
            None => (storage::UNKNOWN_AGE.as_days(), storage::UNKNOWN_AGE.as_days()),
        };
        let left = storage::left(self.loss, exposure, lot);
        let mut share = self.start.clone() * left;
        if days_either_way > 0.0 {
            let spread = self.loss.per_day * days_either_way / NINETY;
            share = share.with_factor(FactorName::new("age", Arc::clone(lot)), -spread);
        }
        share.capped(1.0)
    }

    /// Days since it was made or harvested.
    pub(crate) fn age_days(&self, at: Moment) -> Option<f64> {
        self.begun.map(|(begun, _)| at.hours_since(begun).max(0.0) / 24.0)
    }

    /// Days over which its live share has fallen: those since it was measured last.
    pub(crate) fn falling_days(&self, at: Moment) -> Option<f64> {
        self.since.map(|since| at.hours_since(since).max(0.0) / 24.0)
    }

    /// Replaced by a measurement. `thawed`: where it is kept from then on if that took it out of the ice.
    pub(crate) fn measured(&mut self, share: Estimate, at: Moment, thawed: Option<Temperature>) {
        self.start = share;
        self.since = Some(at);
        self.days_either_way = 0.0;
        if self.reckoned_back {
            self.begun = None;
        }
        self.reckoned_back = false;
        self.best_before = None;
        let kept = self.temperature_at(at).unwrap_or(self.first);
        self.first = thawed.filter(|_| kept < storage::ICE).unwrap_or(kept);
        self.kept.retain(|(when, ..)| *when > at);
        self.measured = true;
    }

    /// The coldest and the warmest that it was kept between `since` and `at`.
    pub(crate) fn kept_between(&self, at: Moment) -> Option<(Temperature, Temperature)> {
        let spells = self.spells(at);
        let kept = spells.iter().filter(|spell| spell.time > Hours::default()).map(|spell| spell.temperature);
        kept.fold(None, |range, kept| match range {
            None => Some((kept, kept)),
            Some((low, high)) => Some((low.min(kept), high.max(kept))),
        })
    }

    /// Where it was kept at a moment.
    pub(crate) fn temperature_at(&self, at: Moment) -> Option<Temperature> {
        self.kept.iter().rev().find(|(when, ..)| *when <= at).map(|(_, t, _)| *t).or(Some(self.first))
    }
}

/// A lot between two events.
#[derive(Debug, Clone)]
pub(crate) struct State {
    pub supply: Supply,
    /// What is left, in the supply's own unit: packs, grams, litres, vials, or parts of a whole.
    pub left: f64,
    /// What there was to begin with, for the same unit.
    pub declared: f64,
    /// Named factor for the amount, where it is not exact.
    pub amount_factor: Option<Box<Estimate>>,
    /// What lives of it; for [`Supply::Wort`] reckoned from the batch instead.
    pub live: Option<Box<LiveShare>>,
    /// Generations since the lab.
    pub generation: Option<u32>,
    /// When it left the lab, where known.
    pub lab: Option<Moment>,
    /// Strains and their shares of the live cells.
    pub shares: Vec<(StrainId, f64)>,
    /// Of a batch: how much those shares are of.
    pub mix: Mix,
    /// Brews since the shares of its strains were known; `None`: they never were. Of one strain it says nothing.
    pub rounds: Option<u32>,
    /// When the line that it belongs to was first pitched out of the lab's own pack, vial or slant.
    pub line: Option<Moment>,
    /// The brew that it was harvested from.
    pub donor: Option<Donor>,
    /// When it came to be; a culture from outside is there from the start.
    pub made: Option<(Moment, Place)>,
    /// The last event that drew on it.
    pub last_draw: Option<Place>,
    /// Of a cake: the jar that was filled out of it and may hold all of it.
    pub jarred: Option<LotId>,
    /// Liquid in a starter, where it is known: less than its wort once some was poured off.
    pub litres: Option<f64>,
    /// The cells of a slurry were counted.
    pub counted: bool,
    /// All cells of a starter as they were counted.
    pub counted_cells: Option<Box<Estimate>>,
    /// For [`Supply::Wort`]: when it was put away at which temperature, in order. At the first a starter has stopped growing.
    pub put_away: Vec<(Moment, Temperature, Place)>,
    /// Why nobody knows how much lives of what was taken out of a starter.
    pub unknown: Option<Box<Unknown>>,
}

impl State {
    /// The part of it that lives, where that is known at a moment.
    pub(crate) fn living(&self, at: Moment) -> Option<&LiveShare> {
        self.live.as_deref().filter(|_| self.frozen(at).is_none())
    }

    /// What its amount is known to: a factor about one.
    pub(crate) fn known_to(&self) -> Estimate {
        self.amount_factor.as_deref().map_or(Estimate::exact(1.0), normalised)
    }

    /// How a slurry or a pack was frozen before a moment; vials and slants of a bank are made for it.
    pub(crate) fn frozen(&self, at: Moment) -> Option<Frozen> {
        let unprotected = self.supply.is_slurry() || matches!(self.supply, Supply::Packs { .. });
        self.live.as_ref().filter(|_| unprotected)?.frozen(at)
    }

    pub(crate) fn unknown() -> Self {
        Self {
            supply: Supply::Unknown,
            left: 0.0,
            declared: 0.0,
            amount_factor: None,
            live: None,
            generation: None,
            lab: None,
            shares: Vec::new(),
            mix: Mix::default(),
            rounds: Some(0),
            line: None,
            donor: None,
            made: None,
            last_draw: None,
            jarred: None,
            litres: None,
            counted: false,
            counted_cells: None,
            put_away: Vec::new(),
            unknown: None,
        }
    }
}

/// The same uncertainty around one.
pub(crate) fn normalised(estimate: &Estimate) -> Estimate {
    if estimate.median() > 0.0 { estimate.scaled(1.0 / estimate.median()) } else { Estimate::exact(1.0) }
}
