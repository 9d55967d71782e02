//! What yeast there is on a day, what it is good for, and how long it will keep.

use std::collections::{BTreeMap, BTreeSet};

use barm_quantity::{Estimate, Gravity, Volume, plain};
use barm_syntax::ast::{Organism, Wort as WrittenWort};
use barm_zymology::storage;
use jiff::civil::Date;

use crate::advice::Packs;
use crate::context::Context;
use crate::fault::Fault;
use crate::fold::{Fold, Holding, units_for};
use crate::lot::Supply;
use crate::names::{LotId, LotKind};
use crate::strain::Facts;
use crate::{Figure, Moment, Place, Scale, Season, advice, pitch, suspicion, wort};

/// Live share under which yeast wants a starter first, and under which it is hardly worth one.
const TIRED: f64 = storage::TIRED.as_fraction();
const HALF_DEAD: f64 = storage::HALF_DEAD.as_fraction();
/// Days after which slurry is stale unless it was looked at.
const STALE_DAYS: f64 = storage::STALE_AFTER.as_days();
/// Nothing is followed further into the future than this.
const HORIZON_DAYS: f64 = 3650.0;
/// The beers that a lot is measured by.
const ALE: f64 = 1.048;
const LAGER: f64 = 1.052;

/// What to do with a lot, the worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Advice {
    /// Infected, or descended from what was.
    Suspect,
    /// It only shared a vessel with what was, or descends from what did: it may well be sound.
    PlateFirst,
    /// It lay in ice: nobody knows how much lives, and it is hardly much.
    Frozen,
    /// Too little lives, or nobody knows how much.
    CountOrThrowAway,
    /// Dry yeast of which so little lives by its age that more of it is wanted.
    PitchMore,
    /// It lives, and wants waking or multiplying first.
    MakeAStarter,
    /// Dry yeast whose label says that its day is past, and of which enough lives all the same.
    PastItsLabel,
    /// It will be stale within a week.
    UseThisWeek,
    /// Good as it is.
    Fine,
}

impl Advice {
    /// As outputs write it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Suspect => "suspect: throw away",
            Self::PlateFirst => "suspect: plate before use",
            Self::Frozen => "was frozen: count or throw away",
            Self::CountOrThrowAway => "count or throw away",
            Self::PitchMore => "make sure: pitch more",
            Self::MakeAStarter => "make a starter",
            Self::PastItsLabel => "past its best-before: use it soon",
            Self::UseThisWeek => "use this week",
            Self::Fine => "fine",
        }
    }
}

/// Whether a lot is enough for the wort that was asked about.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// `None` where it cannot be known.
    pub enough: Option<bool>,
    /// "210 mL", or why it is not enough or not known, and what would help.
    pub text: String,
}

/// A lot that there is.
#[derive(Debug, Clone, PartialEq)]
pub struct Banked {
    /// The lot.
    pub lot: LotId,
    /// Its name.
    pub name: String,
    /// In which form: "packs", "slurry", "cake", …
    pub form: &'static str,
    /// Where it comes from.
    pub place: Place,
    /// Its strains, the largest share first.
    pub strains: Vec<String>,
    /// What is left of it.
    pub left: Option<Figure>,
    /// How many of its cells live.
    pub live_cells: Option<Figure>,
    /// Which part of its cells.
    pub live_share: Option<Figure>,
    /// Days since it was made, harvested, or counted alive.
    pub age: Option<Figure>,
    /// Generations since the lab.
    pub generation: Option<u32>,
    /// What it was grown from, the nearest first; a blend has several in one step.
    pub descent: Vec<Vec<String>>,
    /// How much of an ale of 1.048 and of a lager of 1.052 it is enough for.
    pub enough_for: Vec<Figure>,
    /// Whether it is enough for the wort asked about.
    pub fit: Option<Fit>,
    /// The last day on which it is good as it is; `None` where no end is in sight, or no date is known.
    pub use_by: Option<Date>,
    /// That is its `best-before`, and not reckoned.
    pub by_label: bool,
    /// What to do with it.
    pub advice: Advice,
}

/// The yeast of a workspace on a day, the worst worry first.
#[derive(Debug, Clone, PartialEq)]
pub struct Bank {
    /// The day, all of whose events count.
    pub on: Date,
    /// The lots.
    pub lots: Vec<Banked>,
}

impl Season {
    /// The yeast that there is at the end of a day: events after it are not counted. `None`: no day was given and
    /// nothing in the workspace is dated.
    #[must_use]
    pub fn bank(&self, on: Option<Date>, for_wort: Option<&WrittenWort>) -> Option<Bank> {
        let on = on.or(self.last_day.map(Moment::date))?;
        let at = Moment::new(on, 24 * 60 - 1);
        let mut faults = Vec::new();
        let (mut context, mut order) =
            Context::new(&self.sources, &self.loggers, &self.settings, &self.names, &mut faults);
        // What is known to be infected stays so, on whatever day it was found out.
        let infected = suspicion::infected(&context, &mut Vec::new());
        let mut suspects: BTreeMap<LotId, Advice> =
            infected.living().map(|lot| (lot, Advice::Suspect)).collect();
        context.cut_off(at);
        order.retain(|entry| entry.at <= at);
        let fold = Fold::run(&context, order, faults);
        suspects.extend(self.faults.iter().filter_map(|fault| match fault {
            Fault::Suspect { lot, vessel: None, .. } => Some((*lot, Advice::Suspect)),
            Fault::Suspect { lot, vessel: Some(_), .. } => Some((*lot, Advice::PlateFirst)),
            _ => None,
        }));
        let wanted = for_wort.and_then(asked);
        let lots = (0..self.names.lots.len()).filter_map(|index| {
            let lot = LotId(u32::try_from(index).ok()?);
            let holding = fold.holding(lot, at)?;
            let keeper = Keeper { season: self, fold: &fold, lot, at, holding };
            Some(keeper.banked(wanted, suspects.get(&lot).copied()))
        });
        let mut lots: Vec<Banked> = lots.collect();
        lots.sort_by_key(|lot| (lot.advice, lot.use_by.is_none(), lot.use_by, lot.lot));
        Some(Bank { on, lots })
    }
}

/// The wort asked about.
fn asked(wort: &WrittenWort) -> Option<(Volume, Gravity)> {
    let (volume, gravity) = (wort.volume.known()?, wort.gravity.known()?);
    Some((Volume::litres(volume.measure.base()), wort::as_gravity(&gravity.measure)))
}

/// What is not to be pitched as it is is enough for nothing.
fn advised(fit: Fit, advice: Advice) -> Fit {
    let told = |enough, text: &str| Fit { enough, text: text.to_owned() };
    match advice {
        Advice::Suspect => told(Some(false), "no: it is suspect"),
        Advice::PlateFirst => told(None, "not known: it is suspect until a plate of it passes"),
        Advice::CountOrThrowAway if fit.enough == Some(true) => told(None, "not known: count it first"),
        _ => fit,
    }
}

/// Looks after one lot.
struct Keeper<'s, 'f> {
    season: &'s Season,
    fold: &'s Fold<'f, 'f>,
    lot: LotId,
    at: Moment,
    holding: Holding,
}

impl Keeper<'_, '_> {
    fn banked(&self, wort: Option<(Volume, Gravity)>, suspect: Option<Advice>) -> Banked {
        let holding = &self.holding;
        let declared = self.season.lot(self.lot);
        let live = self.live();
        let stale_on = self.stale_on();
        let reckoned = self.use_by(stale_on);
        let label = self.holding.best_before.filter(|_| !self.holding.frozen);
        let by_label = label.is_some_and(|label| reckoned.is_none_or(|reckoned| label < reckoned));
        let use_by = if by_label { label } else { reckoned };
        let live_share = holding.live_share.as_ref().map(|share| {
            let how =
                if holding.counted { "counted, and aged since" } else { "by its age and where it was kept" };
            let mut figure = Figure::of("live-share", share, 0.01, "%", how.to_owned());
            figure.high = figure.high.min(100.0);
            figure
        });
        let advice = suspect.unwrap_or_else(|| self.advice(stale_on, use_by));
        Banked {
            lot: self.lot,
            name: declared.map_or_else(String::new, |lot| lot.name.to_string()),
            form: self.form(),
            place: holding.place,
            strains: holding.strains.clone(),
            left: self.left(),
            live_cells: live.as_ref().map(|live| {
                let from = "what is left × cells in it × the live share".to_owned();
                Figure::of("live-cells", live, 1e9, "B", from)
            }),
            live_share,
            age: holding.age_days.map(|days| {
                let from = format!("whole days to {}", self.at.date());
                Figure::plain("age", days.floor().max(0.0), 0.0, "d", from)
            }),
            generation: holding.generation,
            descent: self.descent(),
            enough_for: self.enough_for(live.as_ref()),
            fit: wort.map(|wort| advised(self.fit(live.as_ref(), wort), advice)),
            use_by,
            by_label,
            advice,
        }
    }

    fn form(&self) -> &'static str {
        match &self.holding.supply {
            Supply::Packs { .. } => "packs",
            Supply::Dry { .. } => "dry yeast",
            Supply::Slurry { .. } | Supply::Part { .. } => "slurry",
            Supply::Vials { .. } => "vials",
            Supply::Slant => "slant",
            Supply::Wort => match self.season.lot(self.lot).map(|lot| lot.kind) {
                Some(LotKind::Starter) => "starter",
                _ => "cake",
            },
            Supply::Unknown => "unknown",
        }
    }

    fn left(&self) -> Option<Figure> {
        let Holding { supply, left, known_to, .. } = &self.holding;
        if !left.is_finite() || matches!(supply, Supply::Unknown) {
            return None;
        }
        let (shown, unit) = supply.listed(*left);
        let from = "what there was less what was drawn".to_owned();
        let mut figure = Figure::plain("left", shown, 0.0, unit, from);
        (figure.low, figure.high) = (shown * known_to.low(), shown * known_to.high());
        Some(figure)
    }

    /// All live cells of the lot.
    fn live(&self) -> Option<Estimate> {
        let Holding { left, known_to, live_per_unit, .. } = &self.holding;
        let live = live_per_unit.as_ref().filter(|_| left.is_finite())?;
        Some(live.scaled(*left) * known_to.clone())
    }

    /// The part of its weight that counts, where it is dry yeast.
    fn weighs(&self) -> f64 {
        let is_dry = matches!(self.holding.supply, Supply::Dry { .. });
        let alive = self.holding.live_share.as_ref().filter(|_| is_dry);
        alive.map_or(1.0, |alive| pitch::weighs(alive, self.holding.counted))
    }

    fn is_slurry(&self) -> bool {
        matches!(self.form(), "slurry" | "cake")
    }

    /// When slurry that nobody looked at is too old by the days.
    fn stale_on(&self) -> Option<Moment> {
        let goes_stale = self.is_slurry() && !self.holding.counted && !self.holding.frozen;
        let age = self.holding.age_days.filter(|_| goes_stale)?;
        Some(self.at.plus_hours(24.0 * (self.stale_days() - age)))
    }

    fn stale_days(&self) -> f64 {
        self.season.settings.limit("stale-culture", STALE_DAYS)
    }

    /// The last day before it is stale, or before too little of it lives.
    fn use_by(&self, stale_on: Option<Moment>) -> Option<Date> {
        let falling = self.holding.falling_days.filter(|_| self.holding.live_share.is_some());
        let tired_on = falling.and_then(|days| {
            let alive =
                |at: Moment| self.fold.live_share_at(self.lot, at).is_some_and(|share| share >= TIRED);
            let mut good = self.at.plus_hours(-24.0 * days.max(0.0));
            let mut tired = self.at.plus_hours(24.0 * HORIZON_DAYS);
            if alive(tired) {
                return None;
            }
            while tired.hours_since(good) > 1.0 {
                let middle = good.plus_hours(tired.hours_since(good) / 2.0);
                if alive(middle) {
                    good = middle;
                } else {
                    tired = middle;
                }
            }
            Some(good)
        });
        [stale_on, tired_on].into_iter().flatten().min().map(Moment::date)
    }

    fn advice(&self, stale_on: Option<Moment>, use_by: Option<Date>) -> Advice {
        let share = self.holding.live_share.as_ref().map_or(0.0, Estimate::median);
        let stale = stale_on.is_some_and(|stale| stale < self.at);
        let old = stale_on.is_some_and(|stale| stale.plus_hours(24.0 * self.stale_days()) < self.at);
        let undated =
            self.holding.falling_days.is_none() && !matches!(self.holding.supply, Supply::Dry { .. });
        let soon = self.at.plus_hours(7.0 * 24.0).date();
        // What its maker still vouches for is woken, and not thrown away for its age alone.
        let label_holds = self.holding.best_before.is_some_and(|label| label >= self.at.date());
        let vouched_for = label_holds && !self.holding.counted;
        match self.holding.supply {
            _ if self.holding.frozen => Advice::Frozen,
            Supply::Unknown => Advice::CountOrThrowAway,
            Supply::Slant | Supply::Vials { density: None, .. } => Advice::MakeAStarter,
            // Nobody counts dry yeast, nor wakes it in a starter: it is judged by what lives of it at its age.
            Supply::Dry { .. } if share < TIRED => Advice::PitchMore,
            Supply::Dry { .. } if use_by.is_some_and(|day| day < self.at.date()) => Advice::PastItsLabel,
            Supply::Dry { .. } if use_by.is_some_and(|day| day <= soon) => Advice::UseThisWeek,
            Supply::Packs { .. } if share < HALF_DEAD && vouched_for => Advice::MakeAStarter,
            _ if share < HALF_DEAD || old || (undated && self.is_slurry()) => Advice::CountOrThrowAway,
            _ if share < TIRED || stale || undated => Advice::MakeAStarter,
            _ if use_by.is_some_and(|day| day < self.at.date()) => Advice::MakeAStarter,
            _ if use_by.is_some_and(|day| day <= soon) => Advice::UseThisWeek,
            _ => Advice::Fine,
        }
    }

    /// How much beer it is enough for, by the strain's rate, else the settings'.
    fn enough_for(&self, live: Option<&Estimate>) -> Vec<Figure> {
        let beers = [("ale at 1.048", Organism::Ale, ALE), ("lager at 1.052", Organism::Lager, LAGER)];
        let own = &*self.holding.traits;
        if matches!(own.organism, Some(Organism::Wild | Organism::Bacteria)) {
            return Vec::new();
        }
        let figures = beers.into_iter().filter_map(|(name, organism, gravity)| {
            let traits = Facts { organism: Some(organism), ..*own };
            let strength = barm_zymology::gravity::plato(Gravity::specific(gravity));
            let wanted =
                pitch::wanted_by(&self.season.settings, None, &traits, Volume::litres(1.0), strength).ok()?;
            let wanted = wanted.of_dry(self.weighs());
            match (&self.holding.supply, wanted.grams) {
                (Supply::Dry { .. }, Some(grams)) => {
                    let dose = plain(grams * 100.0, 0);
                    let from = format!("{dose} g/hL of dry yeast");
                    Some(Figure::plain(name, self.holding.left / grams, 0.0, "L", from))
                }
                _ if wanted.cells > 0.0 => {
                    Some(Figure::of(name, &live?.scaled(1.0 / wanted.cells), 1.0, "L", wanted.rate))
                }
                _ => None,
            }
        });
        figures.collect()
    }

    /// Whether it is enough for a wort, and how much of it.
    fn fit(&self, live: Option<&Estimate>, (volume, gravity): (Volume, Gravity)) -> Fit {
        let settings = &self.season.settings;
        let strength = barm_zymology::gravity::plato(gravity);
        let Holding { supply, left, live_per_unit, traits, .. } = &self.holding;
        let unknown = |text: String| Fit { enough: None, text };
        if self.holding.frozen {
            return unknown("not known: it was frozen".to_owned());
        }
        let wanted = match pitch::wanted_by(settings, None, traits, volume, strength) {
            Ok(wanted) => wanted.of_dry(self.weighs()),
            Err(why) => return unknown(format!("not known: {why}")),
        };
        let by_mass = matches!(supply, Supply::Dry { .. }) && wanted.grams.is_some();
        let (units, sure) = match units_for(supply, live_per_unit.as_ref(), &wanted, 1.0) {
            Ok(units) => units,
            Err(why) => return unknown(format!("not known: {why}")),
        };
        if units * advice::NEARLY > *left {
            let begun = live.filter(|_| !by_mass && wanted.cells > 0.0);
            let starter = begun.and_then(|live| {
                let ready = advice::starter_ready(settings, live, wanted.cells, self.at);
                let scale = Scale::house(settings);
                let starter =
                    advice::starter_for(settings, live, (wanted.cells, volume), ready, None, scale)?;
                Some(format!("{starter}, for a wort of {}", ready.date()))
            });
            let help = match (starter, begun) {
                (Some(starter), _) => starter,
                (None, Some(_)) => "no starter can make up for it".to_owned(),
                (None, None) => {
                    format!("{} wanted", advice::amount(supply, units, units, Packs::Up, settings).text)
                }
            };
            return Fit { enough: Some(false), text: format!("no: {help}") };
        }
        let amount =
            |units: f64, packs| advice::amount(supply, units.min(*left), *left, packs, settings).text;
        if units * advice::ENOUGH > *left {
            let part = barm_quantity::share(left / units);
            let text = format!("nearly: all of it, {}", advice::part_of(&part, "what is wanted"));
            return Fit { enough: Some(true), text };
        }
        let enough = amount(units, Packs::Enough);
        let text = match (sure > units * 1.01, sure <= left * 1.001) {
            (false, _) => enough,
            (true, true) => format!("{enough}; {} to be sure", amount(sure, Packs::Up)),
            (true, false) => format!("{enough}; all of it is not sure to do"),
        };
        Fit { enough: Some(true), text: format!("yes: {text}") }
    }

    /// What it was grown from, step by step. A blend goes on with its first part.
    fn descent(&self) -> Vec<Vec<String>> {
        let mut out = Vec::new();
        let mut seen = BTreeSet::from([self.lot]);
        let mut parents = self.fold.parents(self.lot);
        while let Some(&first) = parents.first() {
            let name = |id: &LotId| self.season.lot(*id).map(|lot| lot.name.to_string());
            out.push(parents.iter().filter_map(name).collect());
            if !seen.insert(first) {
                break;
            }
            parents = self.fold.parents(first);
        }
        out
    }
}
