//! What in a brew's figures makes a fermentation slow, stuck or ill-tasting. Figures only: no rule sees another's findings.

use barm_quantity::{Estimate, plain, significant};
use barm_reckoning::{
    Air, Batch, FermentationFigures, Form, GravityReading, Moment, Pitching, Place, Scale, Season, Shown,
    advice,
};
use barm_syntax::ast::{Flocculation, Organism};
use barm_zymology::{alcohol, oxygen, storage};

use crate::{Finding, low_oxygen, say, underpitched};

/// Yeast of which less than this lives is tired.
const TIRED: f64 = storage::TIRED.as_fraction();
/// Degree-hours outside the range in the first three days, and later, from which on they count.
const EARLY_KELVIN_HOURS: f64 = 12.0;
const LATE_KELVIN_HOURS: f64 = 24.0;
/// A strong wort, °P.
const STRONG: f64 = oxygen::STRONG.as_degrees();
/// Yeast and wort further apart than this.
const SHOCK_KELVIN: f64 = 10.0;
/// Cooling by more than this in six hours.
const FAST_KELVIN: f64 = 5.0;
/// Within this of what its yeast stands, alcohol slows it.
const NEAR_TOLERANCE: f64 = 0.005;
/// Longer than this on its yeast, d.
const LONG_DAYS: f64 = 28.0;

/// Something that the log shows, and where.
pub(crate) struct Cause {
    /// As it goes on after a colon: "about 40 % of the yeast that it wanted".
    pub text: String,
    /// Where it is to be seen.
    pub place: Option<Place>,
}

/// One way in which a brew can have gone wrong; `None` where the log does not show it.
pub(crate) type Look = fn(&Season, &Batch) -> Option<Cause>;

/// What makes yeast slow, or stop early.
pub(crate) const WEAK: &[Look] =
    &[few_cells, tired, little_oxygen, too_cold, shock, near_tolerance, cooled_fast];

/// All of them that the log shows.
pub(crate) fn shown(looks: &[Look], season: &Season, batch: &Batch) -> Vec<Cause> {
    looks.iter().filter_map(|look| look(season, batch)).collect()
}

/// The causes in one phrase.
pub(crate) fn phrase(causes: &[Cause]) -> String {
    let texts: Vec<&str> = causes.iter().map(|cause| cause.text.as_str()).collect();
    texts.join("; ")
}

/// A finding with the causes that the log shows: a note that names them, and a label where each is to be seen.
pub(crate) fn told(finding: Finding, causes: &[Cause]) -> Finding {
    if causes.is_empty() {
        return finding.noting("nothing else in this log tells why");
    }
    let finding = finding.noting(format!("likely causes in this log: {}", phrase(causes)));
    pointed(finding, causes)
}

/// A finding with a label where each cause is to be seen.
pub(crate) fn pointed(finding: Finding, causes: &[Cause]) -> Finding {
    causes.iter().fold(finding, |finding, cause| match cause.place {
        Some(place) if place != finding.place => finding.pointing(place, cause.text.clone()),
        _ => finding,
    })
}

fn at(place: Place, text: String) -> Option<Cause> {
    Some(Cause { text, place: Some(place) })
}

pub(crate) fn few_cells(season: &Season, batch: &Batch) -> Option<Cause> {
    let few = underpitched::limit(season);
    let pitch = batch.pitch.as_ref().filter(|pitch| pitch.ratio.median() < few)?;
    at(pitch.place, say::about_part(pitch.ratio.median(), "the yeast that it wanted"))
}

pub(crate) fn tired(_: &Season, batch: &Batch) -> Option<Cause> {
    let alive = |p: &Pitching| p.live_share.as_ref().map(Estimate::median);
    let direct = batch.pitches.iter().filter(|p| matches!(p.form, Form::Pack | Form::Slurry | Form::Cake));
    let (worst, alive) = direct
        .filter_map(|p| Some((p, alive(p)?)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .filter(|(_, a)| *a < TIRED)?;
    at(worst.place, format!("{} was {} alive", worst.name, say::about_percent(alive)))
}

pub(crate) fn little_oxygen(_: &Season, batch: &Batch) -> Option<Cause> {
    let judged = low_oxygen::not_judged(batch).is_none();
    let found = batch.oxygen.as_ref().filter(|o| judged && o.dissolved.median() < o.wanted.0)?;
    let (dissolved, wanted) = (significant(found.dissolved.median(), 1), plain(found.wanted.0, 1));
    at(found.place, format!("about {dissolved} mg/L of oxygen where {wanted} are wanted"))
}

pub(crate) fn too_warm(season: &Season, batch: &Batch) -> Option<Cause> {
    if let Some(found) = &batch.temperature {
        let [read, ..] = &*found.warm;
        let over = read.early >= EARLY_KELVIN_HOURS || read.late >= LATE_KELVIN_HOURS;
        if let Some((place, _, celsius)) = read.worst.filter(|_| over) {
            let scale = Scale::of(season, Some(place));
            let (warmest, over) = (scale.temperature(celsius), scale.distance(read.furthest));
            return at(place, format!("{warmest} at its warmest, {over} above its range"));
        }
    }
    let over =
        |peak: &&barm_reckoning::Peak| peak.air != Air::AsTheWort && peak.warmest[1] > peak.range.1 + 1.0;
    let peak = batch.heat.peak.as_deref().filter(over)?;
    let warmest = Scale::of(season, Some(peak.place)).temperature(peak.warmest[1]);
    at(peak.place, format!("reckoned {warmest} at its warmest by its own heat"))
}

pub(crate) fn too_cold(season: &Season, batch: &Batch) -> Option<Cause> {
    let [read, ..] = &*batch.temperature.as_ref()?.cold;
    let under = read.early >= EARLY_KELVIN_HOURS || read.late >= LATE_KELVIN_HOURS;
    let (place, _, celsius) = read.worst.filter(|_| under)?;
    let scale = Scale::of(season, Some(place));
    let (coldest, under) = (scale.temperature(celsius), scale.distance(read.furthest));
    at(place, format!("{coldest} at its coldest, {under} below its range"))
}

fn shock(season: &Season, batch: &Batch) -> Option<Cause> {
    let shock = batch.heat.shocks.iter().find(|s| (s.yeast - s.wort).abs() > SHOCK_KELVIN)?;
    let scale = Scale::of(season, Some(shock.place));
    let (yeast, wort) = (scale.temperature(shock.yeast), scale.temperature(shock.wort));
    at(shock.place, format!("yeast of {yeast} went into wort of {wort}"))
}

fn near_tolerance(_: &Season, batch: &Batch) -> Option<Cause> {
    let found = batch.fermentation.as_ref()?;
    let (tolerates, last) = (found.tolerates?, batch.last_gravity()?);
    let alcohol =
        alcohol::by_volume(found.given_by((last.at, last.place))?.gravity, last.gravity).as_fraction();
    if alcohol < tolerates - NEAR_TOLERANCE {
        return None;
    }
    let is = if alcohol > tolerates + NEAR_TOLERANCE { "more than" } else { "about what" };
    let (alcohol, stands) = (plain(alcohol * 100.0, 1), plain(tolerates * 100.0, 1));
    at(last.place, format!("{alcohol} % alcohol is {is} its yeast stands ({stands} %)"))
}

pub(crate) fn cooled_fast(season: &Season, batch: &Batch) -> Option<Cause> {
    let cooled = batch.heat.cooled.as_deref().filter(|cooled| cooled.kelvin > FAST_KELVIN)?;
    let fall = Scale::of(season, Some(cooled.place)).distance(cooled.kelvin);
    at(cooled.place, format!("cooled by {fall} in six hours while it worked"))
}

pub(crate) fn strong(_: &Season, batch: &Batch) -> Option<Cause> {
    let wort = batch.wort.as_ref().filter(|wort| wort.strength.as_degrees() > STRONG)?;
    at(wort.place, format!("a strong wort, {} °P", plain(wort.strength.as_degrees(), 1)))
}

/// A lager that was cooled or packaged without any warm rest, and whose diacetyl no test showed to be gone.
pub(crate) fn no_rest(season: &Season, batch: &Batch) -> Option<Cause> {
    if batch.traits.organism != Some(Organism::Lager) {
        return None;
    }
    let found = batch.fermentation.as_ref()?;
    let (when, place, what) = match (found.crashed.as_deref().copied(), batch.packages.first()) {
        (Some((when, Some(to), place)), _) => {
            (when, place, format!("cooled to {}", Scale::of(season, Some(place)).temperature(to)))
        }
        (Some((when, None, place)), _) => (when, place, "cooled".to_owned()),
        (None, Some(package)) => (package.at, package.place, "packaged".to_owned()),
        (None, None) => return None,
    };
    let rested = found.rested.is_some_and(|rested| rested <= when);
    let passed = found.vdk.is_some_and(|(tested, passed)| passed && tested <= when);
    if rested || passed { None } else { at(place, format!("{what} without a warm rest")) }
}

/// Cooled or packaged before its gravity stood still.
pub(crate) fn taken_early(_: &Season, batch: &Batch) -> Option<Cause> {
    let found = batch.fermentation.as_ref().filter(|_| !batch.gravities.is_empty())?;
    let (when, place, what) = match (found.crashed.as_deref().copied(), batch.packages.first()) {
        (Some((when, _, place)), _) => (when, place, "cooled"),
        (None, Some(package)) => (package.at, package.place, "packaged"),
        (None, None) => return None,
    };
    let shown = found.shown_stable(batch, when, when);
    if shown == Shown::Not {
        at(place, format!("{what} before its gravity was seen to stand still"))
    } else {
        None
    }
}

/// Read below its range while it stood still, however briefly.
pub(crate) fn cold_between(season: &Season, batch: &Batch, (from, to): (Moment, Moment)) -> Option<Cause> {
    if too_cold(season, batch).is_some() {
        return None;
    }
    let (low, _) = batch.temperature.as_ref()?.range;
    let within =
        |(at, celsius, _): &&(Moment, f64, Place)| *at >= from && *at <= to && *celsius < low - COLDER;
    let read = batch.temperatures.iter().find(within);
    let (_, celsius, place) = read.or_else(|| batch.air.iter().find(within))?;
    let scale = Scale::of(season, Some(*place));
    let (cold, under) = (scale.temperature(*celsius), scale.distance(low - celsius));
    at(*place, format!("{cold}, {under} below its range, while it stood still"))
}

/// So far below its range yeast slows down, K (judgement).
const COLDER: f64 = 2.0;

/// Too cold to work on.
pub(crate) fn chilled(found: &FermentationFigures, last: &GravityReading) -> Option<Cause> {
    let cold = found.cold.filter(|cold| *cold <= last.at)?;
    let text = format!("it is chilled since {}: warm it before anything else", cold.date());
    Some(Cause { text, place: found.crashed.as_deref().map(|(.., place)| *place) })
}

/// Yeast that drops out before it is done (common practice).
pub(crate) fn settles_early(_: &Season, batch: &Batch) -> Option<Cause> {
    let high = batch.traits.flocculation == Some(Flocculation::High);
    high.then(|| Cause { text: "its yeast settles early (`flocculates high`)".to_owned(), place: None })
}

pub(crate) fn infected(_: &Season, batch: &Batch) -> Option<Cause> {
    if let Some(place) = batch.record.infected {
        return at(place, "it is infected".to_owned());
    }
    let place = batch.fermentation.as_ref().filter(|f| f.suspect.is_some()).and(batch.pitches.first())?.place;
    at(place, "its yeast or its vessel may be infected".to_owned())
}

/// Wild yeast, bacteria or a diastatic strain in it.
pub(crate) fn goes_on(_: &Season, batch: &Batch) -> Option<Cause> {
    let what = batch.fermentation.as_ref()?.goes_on?;
    at(batch.pitches.first()?.place, format!("{what} is in it"))
}

/// A month or more between its first sign of work and its packaging.
pub(crate) fn long_on_yeast(_: &Season, batch: &Batch) -> Option<Cause> {
    let (began, _) = batch.fermentation.as_ref()?.began?;
    let package = batch.packages.first()?;
    let days = package.at.hours_since(began) / 24.0;
    if days > LONG_DAYS { at(package.place, format!("{} on its yeast", advice::days(days))) } else { None }
}
