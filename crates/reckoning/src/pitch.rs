//! How much yeast a wort wants, and what it got.

use barm_quantity::{Cells, Estimate, Mass, PitchRate, Plato, Volume, plain};
use barm_syntax::ast::Organism;
use barm_zymology::pitching;
use barm_zymology::storage::TIRED;
use barm_zymology::supply::SLURRY_GRAMS_PER_ML;

use crate::batch::{Batch, Form, Missing, PitchFigures, Pitching, Wort};
use crate::strain::{Facts, Rate};
use crate::{Fact, Settings, fermentation};

/// Yeast given later than this after the first is no longer part of the pitch.
pub(crate) const COUNTS_FOR_HOURS: f64 = 48.0;

/// What a wort wants of a yeast.
#[derive(Debug, Clone)]
pub(crate) struct Wanted {
    /// Live cells; 0 where only a mass is stated.
    pub cells: f64,
    /// Grams of yeast: a rate by mass, or dry yeast's usual dose.
    pub grams: Option<f64>,
    /// A mass stated by the brewer holds for any yeast; dry yeast's usual dose only for its first use.
    pub grams_stated: bool,
    /// The rate and where it comes from.
    pub rate: String,
    /// The same of dry yeast at its first use, where that has one of its own.
    pub dose: Option<String>,
}

impl Wanted {
    /// The rate by which it is judged, by cells or by mass.
    pub(crate) fn rate_by(&self, mass: bool) -> &str {
        self.dose.as_deref().filter(|_| mass).unwrap_or(&self.rate)
    }

    /// The same of dry yeast of which so much of the weight counts: its dose is one of living yeast.
    pub(crate) fn of_dry(mut self, weighs: f64) -> Self {
        if weighs < 1.0 && weighs > 0.0 {
            self.grams = self.grams.map(|grams| grams / weighs);
            let rate = self.dose.as_mut().unwrap_or(&mut self.rate);
            rate.push_str(&format!(", {:.0} % of it alive", weighs * 100.0));
        }
        self
    }
}

/// The part of dry yeast that counts by its weight. What the label says of it holds until somebody looks, or until it is too
/// old for doubt.
pub(crate) fn weighs(alive: &Estimate, measured: bool) -> f64 {
    let counts = measured || alive.high() < TIRED.as_fraction();
    if counts { alive.median().min(1.0) } else { 1.0 }
}

impl Pitching {
    /// The part of its weight that counts, where it is dry yeast.
    #[must_use]
    pub fn weighs(&self) -> f64 {
        let alive = self.live_share.as_ref().filter(|_| self.first_use_dry);
        alive.map_or(1.0, |alive| weighs(alive, self.measured))
    }
}

/// How much of a yeast the wort of a batch wants; the batch's own `kind` comes before its yeast's.
///
/// # Errors
/// As [`wanted_by`].
pub(crate) fn wanted(
    settings: &Settings,
    batch: &Batch,
    yeast: &Facts,
    wort: &Wort,
) -> Result<Wanted, String> {
    let yeast = Facts { organism: batch.traits.organism.or(yeast.organism), ..*yeast };
    wanted_by(settings, batch.target.as_deref().map(|(rate, _)| *rate), &yeast, wort.volume, wort.strength)
}

/// The same of a yeast that was pitched.
fn wanted_of(settings: &Settings, batch: &Batch, pitch: &Pitching, wort: &Wort) -> Result<Wanted, String> {
    wanted(settings, batch, &pitch.traits, wort).map(|wanted| wanted.of_dry(pitch.weighs()))
}

/// How much of a yeast a wort wants: the brew's `target` first, then the strain's `rate`, then its kind's.
///
/// # Errors
/// Why it is not judged: wild yeast and bacteria have no rate, and what is neither ale nor lager none that is known.
pub(crate) fn wanted_by(
    settings: &Settings,
    target: Option<Rate>,
    yeast: &Facts,
    volume: Volume,
    strength: Plato,
) -> Result<Wanted, String> {
    let litres = volume.as_litres();
    let (stated, whose) = match (target, yeast.rate) {
        (Some(rate), _) => (Some(rate), "the brew's `target`"),
        (None, Some(rate)) => (Some(rate), "the strain's `rate`"),
        (None, None) => (None, ""),
    };
    match stated.map(|rate| rate.meant(yeast.organism)) {
        Some(Rate::PerPlato(rate)) => {
            let cells = pitching::target_stated(PitchRate::millions(rate / 1e6), strength, volume).as_each();
            let rate = format!("{} M/mL/°P ({whose})", plain(rate / 1e6, 2));
            return Ok(Wanted { cells, grams: None, grams_stated: false, rate, dose: None });
        }
        Some(Rate::PerMillilitre(rate)) => {
            let cells = rate * volume.as_millilitres();
            let rate = format!("{} M/mL ({whose})", plain(rate / 1e6, 2));
            return Ok(Wanted { cells, grams: None, grams_stated: false, rate, dose: None });
        }
        Some(Rate::MassPerLitre(rate)) => {
            let grams = rate * litres;
            let rate = format!("{} g/hL ({whose})", plain(rate * 100.0, 1));
            return Ok(Wanted { cells: 0.0, grams: Some(grams), grams_stated: true, rate, dose: None });
        }
        None => {}
    }
    let (rate, dose, kind) = match yeast.organism {
        Some(Organism::Ale) => (settings.ale_rate, settings.dry_ale, "ale"),
        Some(Organism::Lager) => (settings.lager_rate, settings.dry_lager, "lager"),
        Some(Organism::Wild) => return Err("wild yeast has no pitching rate".to_owned()),
        Some(Organism::Bacteria) => return Err("bacteria have no pitching rate".to_owned()),
        None => return Err("no `kind` (ale or lager) of its yeast".to_owned()),
    };
    let factor = pitching::strength_factor(strength);
    let stronger =
        if factor > 1.0 { format!(", × {} for its strength", plain(factor, 2)) } else { String::new() };
    Ok(Wanted {
        cells: pitching::target(rate, strength, volume).as_each(),
        grams: Some(pitching::dry_mass(dose, strength, volume).as_grams()),
        grams_stated: false,
        rate: format!("{} M/mL/°P for {kind}{stronger}", plain(rate.as_millions(), 2)),
        dose: Some(format!(
            "{} g/hL of dry yeast for {kind}{stronger}",
            plain(dose.as_grams_per_litre() * 100.0, 1)
        )),
    })
}

/// Adds up what was pitched, each lot as its part of its own target.
pub(crate) fn reckon(settings: &Settings, batch: &mut Batch) {
    batch.pitches.sort_by_key(|p| (p.at, p.place));
    match figures(settings, batch) {
        Ok(figures) => batch.pitch = figures.map(Box::new),
        // What is lacking of the yeast of a whole is told of that.
        Err((pitch, _)) if pitch.of_whole => {}
        Err((_, missing)) => batch.missing.push(missing),
    }
}

/// The same; or of which pitch something is not known, and what.
fn figures<'b>(
    settings: &Settings,
    batch: &'b Batch,
) -> Result<Option<PitchFigures>, (&'b Pitching, Missing)> {
    let (Some(first), Some(wort)) = (batch.pitches.first(), batch.pitched_for()) else { return Ok(None) };
    // How much goes in is still asked.
    if batch.asks_for_yeast {
        return Ok(None);
    }
    let third_gone = fermentation::third_gone(batch);
    let counted = batch
        .pitches
        .iter()
        .take_while(|p| p.at.hours_since(first.at) <= COUNTS_FOR_HOURS && third_gone.is_none_or(|t| p.at < t))
        .count();
    let mut parts: Vec<Estimate> = Vec::new();
    let mut live: Vec<Estimate> = Vec::new();
    let mut targets: Vec<f64> = Vec::new();
    let mut masses: Option<(f64, f64)> = None;
    let mut rate = String::new();
    for pitch in batch.pitches.iter().take(counted) {
        let missing = |fact, lacks, matters| (pitch, Missing { figure: "pitch", fact, lacks, matters });
        let wanted = wanted_of(settings, batch, pitch, wort).map_err(|fact| {
            // Of what was boiled nobody asks which kind it was.
            let is_dead = pitch.live.as_ref().is_some_and(|live| live.median() <= 0.0);
            let fact = if is_dead { format!("nothing of `{}` lives", pitch.name) } else { fact };
            missing(fact, Fact::Kind(pitch.lot), false)
        })?;
        match Given::of(batch, pitch, &wanted) {
            Some(Given::Mass { grams, wanted }) => {
                parts.push(Estimate::exact(grams / wanted));
                let (sum, before) = masses.unwrap_or((0.0, wanted));
                // Of yeasts of which not as much lives, what is wanted of them in these parts.
                let part = sum / before + grams / wanted;
                let as_before = (wanted - before).abs() < 1e-9;
                masses = Some((sum + grams, if as_before { wanted } else { (sum + grams) / part }));
            }
            Some(Given::Cells { live, wanted }) => {
                parts.push(live.scaled(1.0 / wanted.max(1.0)));
                targets.push(wanted);
            }
            // As where nothing else is pitched: nobody counts them.
            None if pitch.is_wild() => {
                let fact = format!("`{}` has no pitching rate", pitch.name);
                return Err(missing(fact, Fact::Kind(pitch.lot), false));
            }
            None if wanted.grams_stated && pitch.live.is_some() => {
                let fact =
                    format!("its rate is by mass, {}, and nobody weighed `{}`", wanted.rate, pitch.name);
                return Err(missing(fact, Fact::Supply(pitch.lot), true));
            }
            None => {
                let (why, lacks) = match pitch.unknown.as_deref() {
                    Some(unknown) => (unknown.to_string(), unknown.lacks),
                    None => ("they are not known".to_owned(), Fact::Supply(pitch.lot)),
                };
                let fact = format!("live cells of `{}` ({why})", pitch.name);
                // What is asked is told with its question, and what was frozen by the rule about old yeast.
                let is_told = pitch.form == Form::Starter && !pitch.from.is_empty();
                return Err(missing(fact, lacks, !is_told && pitch.history.frozen.is_none()));
            }
        }
        live.extend(pitch.live.clone());
        rate = wanted.rate_by(masses.is_some()).to_owned();
    }
    let whole_cake = batch.pitches.iter().take(counted).any(|p| p.form == Form::Cake && p.part >= 0.75);
    let live: Estimate = live.into_iter().sum();
    let one_target =
        targets.first().copied().filter(|t| masses.is_none() && targets.iter().all(|x| (x - t).abs() < 1.0));
    Ok(Some(PitchFigures {
        place: first.place,
        rate_pitched: live.scaled(1.0 / wort.plato_millilitres()),
        live,
        target: one_target,
        rate,
        ratio: parts.into_iter().sum(),
        mass: masses,
        whole_cake,
        counted,
    }))
}

/// What was pitched, in the measure that it is judged by, and what was wanted of it.
enum Given<'p> {
    Mass { grams: f64, wanted: f64 },
    Cells { live: &'p Estimate, wanted: f64 },
}

impl<'p> Given<'p> {
    fn of(batch: &Batch, pitch: &'p Pitching, wanted: &Wanted) -> Option<Self> {
        let dry = pitch.first_use_dry && !rate_in_cells(batch, &pitch.traits);
        match wanted.grams.filter(|_| wanted.grams_stated || dry) {
            Some(wanted) => {
                let weighed = match pitch.unit {
                    "g" => Some(pitch.taken),
                    "mL" => Some(pitch.taken * SLURRY_GRAMS_PER_ML),
                    _ => None,
                };
                Some(Self::Mass { grams: pitch.dry_grams.or(weighed)?, wanted })
            }
            None => Some(Self::Cells { live: pitch.live.as_ref()?, wanted: wanted.cells }),
        }
    }
}

/// The part of what a batch wants of it that a pitch gives; `None` where that is not known.
pub(crate) fn part(settings: &Settings, batch: &Batch, pitch: &Pitching) -> Option<f64> {
    let wanted = wanted_of(settings, batch, pitch, batch.pitched_for()?).ok()?;
    match Given::of(batch, pitch, &wanted)? {
        Given::Mass { grams, wanted } => Some(grams / wanted),
        Given::Cells { live, wanted } => Some(live.median() / wanted.max(1.0)),
    }
}

/// Whether the brew or the strain states its rate in cells: dry yeast is then judged by cells too.
fn rate_in_cells(batch: &Batch, yeast: &Facts) -> bool {
    matches!(batch.target.as_deref(), Some((Rate::PerPlato(_) | Rate::PerMillilitre(_), _)))
        || (batch.target.is_none() && matches!(yeast.rate, Some(Rate::PerPlato(_) | Rate::PerMillilitre(_))))
}

/// What a batch wants of its first yeast.
pub(crate) enum Target {
    /// Live cells.
    Cells(Cells),
    /// Dry yeast.
    Dry(Mass),
}

/// What a batch wants of its first yeast, and by which rate, for outputs that show the target alone.
pub(crate) fn target(settings: &Settings, batch: &Batch) -> Option<(Target, String)> {
    let first = batch.pitches.first();
    let wort = batch.pitched_for()?;
    let wanted = match first {
        Some(pitch) => wanted_of(settings, batch, pitch, wort),
        None => wanted(settings, batch, &batch.traits, wort),
    };
    let wanted = wanted.ok()?;
    let is_dry = first.is_some_and(|pitch| pitch.first_use_dry && !rate_in_cells(batch, &pitch.traits));
    let target = match wanted.grams.filter(|_| is_dry) {
        Some(grams) => Target::Dry(Mass::grams(grams)),
        None if wanted.cells > 0.0 => Target::Cells(Cells::each(wanted.cells)),
        None => return None,
    };
    Some((target, wanted.rate))
}
