//! Packaging: the carbon dioxide that comes to be in the beer, and questions there and in the kettle.

use barm_quantity::{CarbonDioxide, Dimension, Mass, Pressure, Share, Temperature, Volume, plain};
use barm_syntax::ast::{Add, AmountKind, Kind, Organism, Package, PackageKind, Quantity};
use barm_zymology::carbonation::{self, Sugar};
use barm_zymology::fermentation::{ATTENUATES, UNREAD, tells_for};
use barm_zymology::{alcohol, gravity};

use crate::additions::{self, Addition};
use crate::answer::Answer;
use crate::batch::Batch;
use crate::context::Context;
use crate::fermentation::{ExpectedEnd, Shown, fermented_part};
use crate::names::LotKind;
use crate::{Figure, Moment, Place, wort};

/// Sugar or wort added so shortly before packaging is meant to carbonate, h.
const PRIMING_HOURS: f64 = 24.0;
/// Of more packages than anybody fills of one beer the rest is not reckoned.
const MOST_PACKAGES: usize = 100;

/// Extract that is still to ferment.
#[derive(Debug, Clone, PartialEq)]
pub struct ToFerment {
    /// The carbon dioxide that it gives.
    pub gas: CarbonDioxide,
    /// Give or take.
    pub error: CarbonDioxide,
    /// The gravity that it is reckoned from, and where it was read.
    pub gravity: f64,
    /// Where it was read.
    pub place: Place,
    /// How long before packaging, h.
    pub hours_before: f64,
    /// So long that most of it may have gone unread.
    pub stale: bool,
    /// Where it is expected to end.
    pub end: ExpectedEnd,
}

/// What a vessel is made for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rated {
    /// So much carbon dioxide.
    Gas(CarbonDioxide),
    /// So much pressure.
    Pressure(Pressure),
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
    /// The warmest that the beer has been since it worked, °C, and whether that was stated or read.
    pub warmest: (f64, bool),
    /// What the sugar and the wort added give.
    pub added: CarbonDioxide,
    /// Give or take.
    pub added_error: CarbonDioxide,
    /// In words, each.
    pub additions: Vec<String>,
    /// What of it could not be reckoned: "honey without a mass".
    pub unknown: Vec<String>,
    /// What is still to ferment; `None` where no gravity was read or no end is known.
    pub to_ferment: Option<ToFerment>,
    /// Whether the log shows that the beer had stopped.
    pub shown: Shown,
    /// What makes it go on all the same: "a diastatic strain".
    pub goes_on: Option<&'static str>,
    /// The carbonation asked for.
    pub asked: Option<CarbonDioxide>,
    /// What the glass is made for.
    pub rated: Option<Rated>,
}

impl PackageFigures {
    /// What is still to ferment counts where a fresh reading does not show that the beer had stopped, or where it goes on
    /// all the same.
    #[must_use]
    pub fn counts_to_ferment(&self) -> Option<&ToFerment> {
        let works = |more: &&ToFerment| self.shown == Shown::Not && !more.stale;
        self.to_ferment.as_ref().filter(|more| works(more) || self.goes_on.is_some())
    }

    /// All carbon dioxide that comes to be in it, and give or take.
    #[must_use]
    pub fn carbonation(&self) -> (CarbonDioxide, CarbonDioxide) {
        let (more, error) =
            self.counts_to_ferment().map_or((0.0, 0.0), |t| (t.gas.as_volumes(), t.error.as_volumes()));
        let error =
            carbonation::RESIDUAL_ERROR.as_volumes().hypot(self.added_error.as_volumes()).hypot(error);
        (
            CarbonDioxide::volumes(self.residual.as_volumes() + self.added.as_volumes() + more),
            CarbonDioxide::volumes(error),
        )
    }

    /// All carbon dioxide that comes to be in it, as outputs show it.
    #[must_use]
    pub fn carbonation_figure(&self) -> Figure {
        let (gas, error) = self.carbonation();
        let mut from = vec![format!("{} vol left from fermentation", plain(self.residual.as_volumes(), 2))];
        from.extend(self.additions.iter().cloned());
        if let Some(more) = self.counts_to_ferment() {
            from.push(format!("{} vol still to ferment", plain(more.gas.as_volumes(), 2)));
        }
        Figure::plain("carbonation", gas.as_volumes(), error.as_volumes(), "vol", from.join(", "))
            .at(self.place)
    }

    /// The pressure in the closed bottle at 20 and 30 °C, as outputs show it.
    #[must_use]
    pub fn pressure_figures(&self) -> [Figure; 2] {
        [("pressure-20", 20.0), ("pressure-30", 30.0)].map(|(name, celsius)| {
            let (gas, error) = self.carbonation();
            let at = |gas| carbonation::pressure_at(gas, Temperature::celsius(celsius)).as_bar();
            let from = format!("gauge, in balance with its beer at {celsius} °C");
            let figure = Figure::plain(name, at(gas), 0.0, "bar", from).at(self.place);
            Figure { low: at(gas - error), high: at(gas + error), ..figure }
        })
    }
}

/// Reckons what a batch was packaged in.
pub(crate) fn reckon(context: &Context<'_>, batch: &mut Batch) {
    if batch.kind != LotKind::Brew {
        return;
    }
    let mut out = Vec::new();
    let mut adds: Vec<(Moment, &Add)> = Vec::new();
    for (at, shelved, statement) in context.events(batch.lot) {
        match &statement.kind {
            Kind::Add(add) => adds.push((at, add)),
            Kind::Package(package) if out.len() < MOST_PACKAGES => {
                let place = shelved.place(statement.span);
                out.push(packaged(context, batch, package, place, at, &adds));
            }
            _ => {}
        }
    }
    out.shrink_to_fit();
    batch.packages = out;
}

fn packaged(
    context: &Context<'_>,
    batch: &Batch,
    package: &Package,
    place: Place,
    at: Moment,
    adds: &[(Moment, &Add)],
) -> PackageFigures {
    let fermentation = batch.fermentation.as_ref();
    let volume = beer_volume(batch, package);
    let warmest = warmest(batch, package, at);
    let residual = carbonation::residual(Temperature::celsius(warmest.unwrap_or(UNREAD.as_celsius())));
    let asked = package.for_co2.as_deref().map(asked_for);
    // Of what is not known the most: here too much gas is the danger.
    let [_, _, usual_most] = ATTENUATES;
    let attenuates =
        fermentation.and_then(|f| f.attenuates).map_or(usual_most.as_fraction(), |(_, most)| most);
    let mut gas = Priming { attenuates, added: 0.0, error: 0.0, additions: Vec::new(), unknown: Vec::new() };
    for priming in &package.with {
        // A question is answered by what the carbonation asked for needs.
        if let (AmountKind::Asked, Some(asked)) = (priming.amount.kind, asked) {
            let wanted = (asked - residual).as_volumes().max(0.0);
            let of_error = Sugar::read(&priming.what.text).map_or(carbonation::EXTRACT_ERROR, Sugar::error);
            gas.added += wanted;
            gas.error += wanted * of_error.as_fraction();
            gas.additions.push(format!("{} as asked", priming.what.text));
            continue;
        }
        gas.add(context, priming.amount.kind, &priming.what.text, priming.at.as_ref(), volume);
    }
    let primed_from = at.plus_hours(-PRIMING_HOURS);
    let whole = batch.wort.map(|w| w.volume).or(volume);
    for (_, add) in adds.iter().rev().take_while(|(when, _)| *when > primed_from) {
        gas.add(context, add.amount.kind, &add.what.text, add.at.as_ref(), whole);
    }
    let reading = before(batch, at);
    let lager = batch.traits.organism == Some(Organism::Lager);
    let to_ferment = fermentation.zip(reading).and_then(|(fermentation, reading)| {
        // What was given as priming is counted as such.
        let (extract, end) = fermentation.still_to_ferment(reading, primed_from)?;
        let litre = Volume::litres(1.0);
        let of_error = gravity::plato(barm_quantity::Gravity::specific(1.0 + reading.error));
        let of_error = gravity::extract(alcohol::extract_fermented(of_error, Share::percent(100.0))) * litre;
        Some(ToFerment {
            gas: carbonation::from_extract(extract, litre),
            error: carbonation::from_extract(of_error, litre),
            gravity: reading.gravity.as_specific(),
            place: reading.place,
            hours_before: at.hours_since(reading.at),
            stale: at.since(reading.at) > tells_for(lager),
            end,
        })
    });
    PackageFigures {
        place,
        at,
        kind: package.kind,
        volume,
        residual,
        warmest: (warmest.unwrap_or(UNREAD.as_celsius()), warmest.is_some()),
        added: CarbonDioxide::volumes(gas.added),
        added_error: CarbonDioxide::volumes(gas.error),
        additions: gas.additions,
        unknown: gas.unknown,
        to_ferment,
        shown: fermentation.map_or(Shown::Not, |f| f.shown_stable(batch, at, primed_from)),
        goes_on: fermentation
            .and_then(|f| f.goes_on.or(f.suspect.then_some("an infection, or the risk of one"))),
        asked,
        rated: package.rated.as_deref().map(|q| match q.measure.dimension() {
            Dimension::Pressure => Rated::Pressure(Pressure::bar(q.measure.base())),
            _ => Rated::Gas(asked_for(q)),
        }),
    }
}

/// The last gravity read by a moment.
fn before(batch: &Batch, at: Moment) -> Option<&crate::batch::GravityReading> {
    let after = batch.gravities.partition_point(|r| r.at <= at);
    batch.gravities.get(after.checked_sub(1)?)
}

/// What is added at packaging, or on the day before.
struct Priming {
    attenuates: f64,
    added: f64,
    error: f64,
    additions: Vec<String>,
    unknown: Vec<String>,
}

impl Priming {
    fn add(
        &mut self,
        context: &Context<'_>,
        amount: AmountKind,
        what: &str,
        at: Option<&Quantity>,
        beer: Option<Volume>,
    ) {
        let addition = Addition::read(what);
        let is_lot = context.names.lot(what).is_some() || additions::is_fruit(what);
        let Some(beer) = beer.filter(|b| b.as_litres() > 0.0) else {
            if matches!(addition, Addition::Sugar(_) | Addition::Wort) || is_lot {
                self.unknown.push(format!("{what}, for how much beer is not known"));
            }
            return;
        };
        let measure = additions::measured(amount, beer);
        let (gas, error) = match (addition, measure) {
            (Addition::Sugar(sugar), Some(m)) if m.dimension() == Dimension::Mass => {
                (sugar.carbonates(Mass::grams(m.base()), beer), sugar.error())
            }
            (Addition::Wort, Some(m)) if m.dimension() == Dimension::Volume && at.is_some() => {
                let strength = gravity::plato(
                    at.map_or(barm_quantity::Gravity::specific(1.0), |q| wort::as_gravity(&q.measure)),
                );
                let extract = gravity::extract(strength) * Volume::litres(m.base());
                let gas =
                    carbonation::from_extract(extract * fermented_part(strength, self.attenuates), beer);
                (gas, carbonation::EXTRACT_ERROR)
            }
            (Addition::Water, _) => return,
            (Addition::Other, _) if !is_lot => return,
            _ => {
                self.unknown.push(what.to_owned());
                return;
            }
        };
        self.added += gas.as_volumes();
        self.error += gas.as_volumes() * error.as_fraction();
        self.additions.push(format!("{} vol from {what}", plain(gas.as_volumes(), 2)));
    }
}

/// The figures of it that outputs list.
pub(crate) fn figures(batch: &Batch, out: &mut Vec<Figure>) {
    for package in batch.packages.iter().filter(|p| p.kind == PackageKind::Bottle) {
        out.push(package.carbonation_figure());
        out.extend(package.pressure_figures());
    }
}

/// Answers the questions of a batch's `bottle`, `keg`, `cask` and `add` lines.
pub(crate) fn answer(context: &Context<'_>, batch: &Batch, answers: &mut Vec<Answer>) {
    for (at, shelved, statement) in context.events(batch.lot) {
        match &statement.kind {
            Kind::Package(package) => {
                for priming in package.with.iter().filter(|p| p.amount.kind == AmountKind::Asked) {
                    let place = shelved.place(priming.amount.span);
                    answers.push(sugar(batch, package, &priming.what.text, place, at));
                }
            }
            Kind::Add(add) if add.amount.kind == AmountKind::Asked => {
                let place = shelved.place(add.amount.span);
                let wanted = add.for_gravity.map(|q| wort::as_gravity(&q.measure));
                answers.push(water(context, batch, &add.what.text, wanted, place, at));
            }
            _ => {}
        }
    }
}

fn unanswered(batch: &Batch, place: Place, text: String) -> Answer {
    Answer { place, lot: batch.lot, text, edit: None, notes: Vec::new(), figures: Vec::new() }
}

/// A carbonation as written.
fn asked_for(q: &Quantity) -> CarbonDioxide {
    match q.measure.dimension() {
        Dimension::MassPerVolume => CarbonDioxide::grams_per_litre(q.measure.base()),
        _ => CarbonDioxide::volumes(q.measure.base()),
    }
}

/// How much beer a line packages; all of the wort where it does not say.
fn beer_volume(batch: &Batch, package: &Package) -> Option<Volume> {
    let whole = batch.wort.map(|wort| wort.volume);
    let written =
        package.amount.as_ref().and_then(|a| additions::measured(a.kind, whole.unwrap_or_default()));
    written.filter(|m| m.dimension() == Dimension::Volume).map(|m| Volume::litres(m.base())).or(whole)
}

/// The warmest that the beer has been since it worked, °C: stated, else read in the last half, else read at all.
fn warmest(batch: &Batch, package: &Package, at: Moment) -> Option<f64> {
    let half = batch.pitched_at().map(|p| p.plus_hours(at.hours_since(p) / 2.0));
    let read = |from: Option<Moment>| {
        let within = |when: Moment| when <= at && from.is_none_or(|from| when >= from);
        let readings = batch.temperatures.iter().filter(|(when, ..)| within(*when));
        readings.map(|(_, t, _)| *t).reduce(f64::max)
    };
    package.at_temperature.as_ref().map(|q| q.measure.base()).or_else(|| read(half)).or_else(|| read(None))
}

fn sugar(batch: &Batch, package: &Package, what: &str, place: Place, at: Moment) -> Answer {
    let Addition::Sugar(sugar) = Addition::read(what) else {
        return unanswered(
            batch,
            place,
            format!("what {what} ferments to is not known: name a sugar, as `sucrose`"),
        );
    };
    let Some(wanted) = &package.for_co2 else {
        return unanswered(batch, place, "how much carbonation? add `for 2.3 vol`".to_owned());
    };
    let wanted = asked_for(wanted);
    let Some(beer) = beer_volume(batch, package) else {
        return unanswered(batch, place, "how much beer? write `bottle 19 L, …`".to_owned());
    };
    let Some(warmest) = warmest(batch, package, at) else {
        return unanswered(batch, place, "how warm was the beer since it worked? add `at 18 °C`".to_owned());
    };
    let residual = carbonation::residual(Temperature::celsius(warmest));
    match carbonation::sugar_for(residual, wanted, beer, sugar) {
        Some(mass) => {
            let grams = (mass.as_grams()).floor().max(0.0);
            let text = format!("{grams:.0} g");
            let edit = barm_syntax::Edit { span: place.span, text: text.clone() };
            let mut notes = vec![format!(
                "{} vol left in beer that was {} °C at its warmest (± 0.1); {} vol wanted in {} L.",
                plain(residual.as_volumes(), 2),
                plain(warmest, 1),
                plain(wanted.as_volumes(), 2),
                plain(beer.as_litres(), 1)
            )];
            if let (Some(last), Some((low, _)), Some(w)) =
                (batch.last_gravity(), batch.traits.attenuates, &batch.wort)
            {
                let reached =
                    barm_zymology::alcohol::apparent_attenuation(w.gravity, last.gravity).as_fraction();
                if reached < low - 0.02 {
                    notes.push("It may not have finished: what still ferments adds to this.".to_owned());
                }
            }
            Answer {
                place,
                lot: batch.lot,
                text: format!("{text} of {}", sugar.name()),
                edit: Some(edit),
                notes,
                figures: Vec::new(),
            }
        }
        None => unanswered(
            batch,
            place,
            if sugar_is_left(sugar) {
                format!("{} does not ferment", sugar.name())
            } else {
                format!("none: the beer holds {} vol already", plain(residual.as_volumes(), 2))
            },
        ),
    }
}

fn sugar_is_left(sugar: Sugar) -> bool {
    sugar.carbonates(Mass::grams(100.0), Volume::litres(1.0)).as_volumes() <= 0.0
}

fn water(
    context: &Context<'_>,
    batch: &Batch,
    what: &str,
    wanted: Option<barm_quantity::Gravity>,
    place: Place,
    at: Moment,
) -> Answer {
    let Some(home) = context.home(batch.lot) else { return unanswered(batch, place, "no wort".to_owned()) };
    let Some(wanted) = wanted else {
        return unanswered(batch, place, "for which gravity? add `for 1.044`".to_owned());
    };
    let Ok(wort) = wort::at_pitching(context, batch.lot, home, Some(at), 0) else {
        return unanswered(batch, place, "no `wort` to add to: add `wort 21 L at 1.048`".to_owned());
    };
    let litres = wort.volume.as_litres();
    let per_litre = |p| gravity::extract(p).as_grams_per_litre();
    let (have, want) = (per_litre(wort.strength), per_litre(gravity::plato(wanted)));
    let answer = match Addition::read(what) {
        Addition::Water if want < have && want > 0.0 => {
            Some(format!("{} L", plain(litres * (have / want - 1.0), 2)))
        }
        Addition::Sugar(sugar) if want > have => {
            // Each gram of extract takes its own room.
            let extract = litres * (want - have) / (1.0 - gravity::room(Mass::grams(want)).as_litres());
            Some(format!("{} g", plain(extract / sugar.extract_share().max(0.01), 0)))
        }
        _ => None,
    };
    match answer {
        Some(text) => {
            let edit = barm_syntax::Edit { span: place.span, text: text.clone() };
            let notes = vec![format!(
                "{} L at {:.3} to {:.3}",
                plain(litres, 2),
                wort.gravity.as_specific(),
                wanted.as_specific()
            )];
            Answer { place, lot: batch.lot, text, edit: Some(edit), notes, figures: Vec::new() }
        }
        None => unanswered(
            batch,
            place,
            format!("{what} cannot bring {:.3} to {:.3}", wort.gravity.as_specific(), wanted.as_specific()),
        ),
    }
}
