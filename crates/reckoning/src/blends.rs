//! Several strains in one beer: their shares by live cells, how far they go together, and what they taste of.

use std::collections::BTreeMap;
use std::sync::Arc;

use barm_quantity::{Concentration, Estimate, Share};
use barm_zymology::blend::{self, Band};
use barm_zymology::fermentation::EARLY;
use barm_zymology::flavour::{Compound, Noticeable, SAME_WARMTH, by_note};

use crate::batch::{Batch, Pitching};
use crate::context::Context;
use crate::strain::{Makes, StrainId, Strains};
use crate::{Moment, Place};

/// More strains in one beer are not told apart.
const MOST_STRAINS: usize = 32;

/// The strains of a batch, and what is to be expected of them.
#[derive(Debug, Clone)]
pub struct Blend {
    /// Its strains, the largest share first.
    pub parts: Vec<Part>,
    /// Why the shares are not known, where they are not.
    pub unknown: Option<String>,
    /// Strains that went in later than what counts as the pitch, and in no share.
    pub later: Vec<Arc<str>>,
    /// Apparent attenuation to expect; `None` for one strain alone, or where a share or an attenuation is not known.
    pub attenuation: Option<Box<Band<Share>>>,
    /// The least and the most of it, before anything went in later: the mean of what its strains reach at the least, and what
    /// the furthest of them reaches at the most.
    pub attenuates: Option<Box<(f64, f64)>>,
    /// Flavours that its strains are said to make, in order of words.
    pub flavours: Vec<Flavour>,
}

/// A strain in a batch.
#[derive(Debug, Clone)]
pub struct Part {
    /// The strain.
    pub strain: StrainId,
    /// Its name.
    pub name: Arc<str>,
    /// Its part of the live cells when it was pitched.
    pub share: Option<Estimate>,
}

/// A flavour that the strains of a batch are said to make.
#[derive(Debug, Clone)]
pub struct Flavour {
    /// What it tastes of, or the word as written.
    pub word: String,
    /// The strains that make it.
    pub strains: Vec<Arc<str>>,
    /// Flavour units, where every level and share is known.
    pub units: Option<Estimate>,
    /// What they amount to.
    pub noticeable: Option<Noticeable>,
}

/// How much was poured together.
#[derive(Debug, Clone, Default)]
pub(crate) struct Mix {
    /// Live cells, as long as those of every pitch are known.
    cells: Option<f64>,
    pitches: f64,
}

impl Mix {
    /// What of it is in a part of the beer.
    pub(crate) fn part(&self, share: f64) -> Self {
        Self { cells: self.cells.map(|cells| cells * share), pitches: self.pitches }
    }

    /// One more pitch joins the strains and their shares of all before it (together one): weighed by its live cells, or,
    /// where those of one are not known, as much as any other.
    pub(crate) fn pour(&mut self, shares: &mut Vec<(StrainId, f64)>, pitch: &Pitching) {
        let live = pitch.live.as_ref().map(Estimate::median).filter(|live| *live > 0.0);
        let cells = if self.pitches > 0.0 { self.cells } else { Some(0.0) };
        let (had, comes) = match (cells, live) {
            (Some(cells), Some(live)) => (cells, live),
            _ => (self.pitches, 1.0),
        };
        let total = had + comes;
        for (_, share) in shares.iter_mut() {
            *share *= had / total;
        }
        if shares.is_empty() {
            shares.reserve_exact(pitch.shares.len());
        }
        for (strain, share) in &pitch.shares {
            let share = share * comes / total;
            let known = shares.len();
            match shares.iter_mut().find(|(s, _)| s == strain) {
                Some((_, sum)) => *sum += share,
                None if known < MOST_STRAINS => shares.push((*strain, share)),
                None => {}
            }
        }
        self.cells = cells.zip(live).map(|(cells, live)| cells + live);
        self.pitches += 1.0;
    }
}

/// The share that stands for some cells of which nobody knows how many they are, or will be: never the most.
const SOME: f64 = 0.01;

/// A strain comes in with other beer.
pub(crate) fn join(shares: &mut Vec<(StrainId, f64)>, strain: StrainId) {
    if shares.len() < MOST_STRAINS {
        let some = if shares.is_empty() { 1.0 } else { SOME };
        shares.iter_mut().for_each(|(_, share)| *share *= 1.0 - some);
        shares.push((strain, some));
    }
}

/// Reckons the strains of a batch.
pub(crate) fn reckon(context: &Context<'_>, strains: &Strains, batch: &mut Batch) {
    let counted = batch.pitch.as_ref().map_or(batch.pitches.len(), |pitch| pitch.counted);
    let (pitches, after) = batch.pitches.split_at(counted.min(batch.pitches.len()));
    let mut mix = Mix::default();
    let mut weights = Vec::new();
    pitches.iter().for_each(|pitch| mix.pour(&mut weights, pitch));
    if weights.is_empty() {
        return;
    }
    weights.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let name = |strain: StrainId| strains.get(strain).map_or_else(|| Arc::from(""), |s| Arc::clone(&s.name));
    let mut later: Vec<StrainId> = Vec::new();
    for (strain, _) in after.iter().flat_map(|pitch| &pitch.shares) {
        if later.len() < MOST_STRAINS && !later.contains(strain) && weights.iter().all(|(s, _)| s != strain) {
            later.push(*strain);
        }
    }
    let known = if weights.len() == 1 {
        Ok(vec![Estimate::exact(1.0)])
    } else {
        known_shares(pitches, &weights, name)
    };
    let (known, unknown) = match known {
        Ok(shares) => (Some(shares), None),
        Err(why) => (None, Some(why)),
    };
    let share = |index: usize| known.as_ref().and_then(|k| k.get(index)).cloned();
    let parts: Vec<Part> = weights
        .iter()
        .enumerate()
        .map(|(index, (strain, _))| Part { strain: *strain, name: name(*strain), share: share(index) })
        .collect();
    let together = |of: fn((f64, f64)) -> f64| {
        if parts.len() > 1 { attenuation(strains, &parts, of) } else { None }
    };
    let attenuation =
        together(|(low, high)| f64::midpoint(low, high)).filter(|_| later.is_empty()).map(Box::new);
    let least = together(|(low, _)| low).map(|band| band.low.as_fraction());
    let attenuates = least.zip(together(|(_, high)| high).map(|band| band.high.as_fraction())).map(Box::new);
    let own = context.home(batch.lot).map(|home| Makes::of(home.block)).unwrap_or_default();
    let flavours = flavours(strains, &parts, (&batch.name, own), worked_at(batch));
    let later: Vec<Arc<str>> = later.into_iter().map(name).collect();
    batch.one_strain = parts.len() == 1 && later.is_empty();
    if !batch.one_strain || !flavours.is_empty() {
        batch.blend = Some(Box::new(Blend { parts, unknown, later, attenuation, attenuates, flavours }));
    }
}

/// The share of each strain with its range, or why it is not known.
fn known_shares(
    pitches: &[Pitching],
    strains: &[(StrainId, f64)],
    name: impl Fn(StrainId) -> Arc<str>,
) -> Result<Vec<Estimate>, String> {
    let mut cells: Vec<Vec<Estimate>> = vec![Vec::new(); strains.len()];
    for pitch in pitches {
        let live = match &pitch.live {
            // What is pitched alone is the whole of it, however much that is.
            _ if pitches.len() == 1 => Estimate::exact(1.0),
            Some(live) => live.clone(),
            None => return Err(format!("the live cells of `{}` are not known", pitch.name)),
        };
        let rounds = match pitch.rounds {
            _ if !pitch.mixture => 0,
            None => return Err(format!("nobody stated the shares in `{}`", pitch.name)),
            Some(rounds) => rounds,
        };
        for (strain, share) in &pitch.shares {
            let Some(slot) = strains.iter().position(|(s, _)| s == strain).and_then(|i| cells.get_mut(i))
            else {
                continue;
            };
            let Some(share) = blend::drifted(*share, rounds, &name(*strain)) else {
                return Err(format!(
                    "`{}` is {rounds} brews from where its strains were brought together",
                    pitch.name
                ));
            };
            slot.push(live.clone() * share);
        }
    }
    let cells: Vec<Estimate> = cells.into_iter().map(|parts| parts.into_iter().sum()).collect();
    Ok(if pitches.len() == 1 { cells } else { blend::shares(&cells) })
}

/// What the strains reach together, each taken at one end of its attenuation or at the middle.
fn attenuation(strains: &Strains, parts: &[Part], of: fn((f64, f64)) -> f64) -> Option<Band<Share>> {
    let parts: Option<Vec<(f64, Share)>> = parts
        .iter()
        .map(|part| {
            let attenuates = strains.traits(part.strain).attenuates?;
            Some((part.share.as_ref()?.median(), Share::fraction(of(attenuates))))
        })
        .collect();
    blend::attenuation(&parts?)
}

/// How warm a beer was while it made its flavour, °C: as read, else as it was meant to be.
fn worked_at(batch: &Batch) -> Option<f64> {
    let pitched = batch.pitched_at()?;
    let of = |celsius: &[(Moment, f64, Place)]| {
        let (sum, count) = celsius.iter().fold((0.0, 0.0), |(sum, count), (_, t, _)| (sum + t, count + 1.0));
        (count > 0.0).then(|| sum / count)
    };
    let from = batch.temperatures.partition_point(|(at, ..)| *at < pitched);
    let to = batch.temperatures.partition_point(|(at, ..)| at.since(pitched) <= EARLY);
    let read = batch.temperatures.get(from..to).and_then(of);
    read.or(batch.hold.map(|((low, high), _)| f64::midpoint(low, high)))
}

/// Of what a strain makes, that which holds at a temperature: what is stated of none, and of each flavour the line
/// whose temperature is nearest, unless it is far. Where no temperature is known all of it may be.
fn at_temperature(makes: &[Makes], celsius: Option<f64>) -> Vec<&Makes> {
    let Some(celsius) = celsius else { return makes.iter().collect() };
    let mut out = Vec::new();
    let mut nearest: BTreeMap<String, (f64, &Makes)> = BTreeMap::new();
    for one in makes {
        let Some(kelvin) = one.at.map(|at| (at - celsius).abs()) else {
            out.push(one);
            continue;
        };
        let best = nearest.entry(one.flavour.to_lowercase()).or_insert((kelvin, one));
        if kelvin < best.0 {
            *best = (kelvin, one);
        }
    }
    out.extend(
        nearest.into_values().filter(|(kelvin, _)| *kelvin <= SAME_WARMTH.as_kelvin()).map(|(_, one)| one),
    );
    out
}

/// What the strains make, note by note; what a brew says of itself holds for all of it.
fn flavours(
    strains: &Strains,
    parts: &[Part],
    own: (&Arc<str>, Vec<Makes>),
    celsius: Option<f64>,
) -> Vec<Flavour> {
    /// Who makes it, and the levels of its compounds by share, where known.
    #[derive(Default)]
    struct Made {
        by: Vec<Arc<str>>,
        levels: BTreeMap<Compound, Vec<(f64, Concentration)>>,
        unknown: bool,
    }
    let mut found: BTreeMap<String, Made> = BTreeMap::new();
    let mut tell = |by: &Arc<str>, share: Option<f64>, makes: &Makes| {
        let compound = Compound::read(&makes.flavour);
        let word = compound.map_or_else(|| makes.flavour.to_lowercase(), |c| c.note().name().to_owned());
        let made = found.entry(word).or_default();
        if !made.by.contains(by) {
            made.by.push(Arc::clone(by));
        }
        // A level that holds at another temperature than nobody knows which is none.
        let level = makes.level.filter(|_| makes.at.is_none() || celsius.is_some());
        match (compound, share, level) {
            (Some(compound), Some(share), Some(level)) => {
                made.levels.entry(compound).or_default().push((share, level));
            }
            _ => made.unknown = true,
        }
    };
    for part in parts {
        for makes in at_temperature(strains.get(part.strain).map_or(&[][..], |s| &s.makes), celsius) {
            tell(&part.name, part.share.as_ref().map(Estimate::median), makes);
        }
    }
    for makes in at_temperature(&own.1, celsius) {
        tell(own.0, Some(1.0), makes);
    }
    found
        .into_iter()
        .map(|(word, made)| {
            let levels: Vec<(Compound, Concentration)> = made
                .levels
                .into_iter()
                .filter_map(|(compound, mut levels)| {
                    // The rest of the cells make none of it.
                    let rest = 1.0 - levels.iter().map(|(share, _)| share).sum::<f64>();
                    levels.push((rest.max(0.0), Concentration::milligrams_per_litre(0.0)));
                    Some((compound, blend::level(&levels)?.best))
                })
                .collect();
            let units = if made.unknown { None } else { by_note(&levels).into_values().next() };
            Flavour { word, strains: made.by, noticeable: units.as_ref().map(Noticeable::of), units }
        })
        .collect()
}
