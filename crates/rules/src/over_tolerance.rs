use barm_quantity::{Share, plain};
use barm_reckoning::{Batch, EndFrom, FermentationFigures, Figure, Season, still_since};
use barm_zymology::alcohol;
use barm_zymology::fermentation::ATTENUATES;

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, say};

const NAME: &str = "over-tolerance";
/// Alcohol by volume is reckoned to this.
const ALCOHOL_ERROR: f64 = alcohol::ERROR.as_percent();
/// A gravity stands still within this, and over so many hours, as `stalled` has it.
const STILL: f64 = 0.001;
const STILL_HOURS: f64 = 72.0;

rule! {
    /// More alcohol expected than the yeast stands.
    OverTolerance, "over-tolerance", Warning, "over_tolerance.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        match expected(batch) {
            Ok(expected) => judge(season, batch, &expected, report),
            Err(why) => report.silent(NAME, &batch.name, why),
        }
    }
}

/// Attenuation where no strain states one, least and most.
const fn usual() -> (f64, f64) {
    let [least, _, most] = ATTENUATES;
    (least.as_fraction(), most.as_fraction())
}

/// Alcohol to come, in % by volume.
struct Expected {
    alcohol: f64,
    /// What is in it by its last gravity, where that stands still.
    is_in_it: Option<f64>,
    error: f64,
    from: String,
    /// What its yeast stands.
    tolerates: f64,
}

fn expected(batch: &Batch) -> Result<Expected, Why<'static>> {
    let found = batch.fermentation.as_ref().ok_or("no yeast is pitched")?;
    if batch.record.stabilised.is_some() {
        return Err("it was stabilised: what was added holds its yeast back".into());
    }
    let tolerates = found.tolerates.ok_or("no `tolerates` of its yeast")? * 100.0;
    let last = batch.last_event.ok_or("it has no day")?;
    let given = found.given_at(last).ok_or("no `wort` stands in its lines")?;
    let by = |attenuation: f64| {
        let end = alcohol::present_gravity(given.gravity, Share::fraction(attenuation));
        alcohol::by_volume(given.gravity, end).as_percent()
    };
    let (low, high) = found.attenuates.unwrap_or_else(usual);
    let (low, high) = (given.attenuation(low), given.attenuation(high));
    if let Some(reached) = batch.last_gravity().and_then(|r| found.attenuation(r))
        && reached >= low
    {
        return Err(Why::of(move || format!("it is there already, at {:.0} % attenuation", reached * 100.0)));
    }
    let is_in_it = is_in_it(batch, found);
    if let Some(end) = found.expected(last).filter(|end| end.from == EndFrom::Forced) {
        let (alcohol, from) = (by(end.attenuation), end.from.to_string());
        return Ok(Expected { alcohol, is_in_it, error: ALCOHOL_ERROR, from, tolerates });
    }
    let from = match found.attenuates {
        Some(_) => format!("{:.0}–{:.0} % attenuation, sugar wholly", low * 100.0, high * 100.0),
        None => format!("{:.0}–{:.0} % attenuation, as is usual", low * 100.0, high * 100.0),
    };
    let error = ((by(high) - by(low)) / 2.0).hypot(ALCOHOL_ERROR);
    Ok(Expected { alcohol: by(f64::midpoint(low, high)), is_in_it, error, from, tolerates })
}

/// Alcohol by volume of a beer whose gravity stands still with all that it was given.
fn is_in_it(batch: &Batch, found: &FermentationFigures) -> Option<f64> {
    let first = still_since(&batch.gravities, STILL, STILL_HOURS)?;
    let last = batch.last_gravity()?;
    let given = found.given_at(batch.last_event?).filter(|given| given.from <= first.at)?;
    Some(alcohol::by_volume(given.gravity, last.gravity).as_percent())
}

/// Whether sugar was fed to it in parts once its yeast was in.
fn is_fed_in_parts(found: &FermentationFigures) -> bool {
    found.given.windows(2).filter(|pair| matches!(pair, [one, next] if next.sugar > one.sugar)).count() > 1
}

fn judge(season: &Season, batch: &Batch, expected: &Expected, report: &mut Report) {
    let Some(pitch) = batch.pitches.first() else { return };
    let limit = season.settings.limits.get(NAME).copied().unwrap_or(expected.tolerates);
    let (to_come, stands) = (|| plain(expected.alcohol, 1), || plain(limit, 1));
    // What is in it is known better than what may come.
    let there = expected.is_in_it.filter(|there| *there >= limit);
    let (alcohol, error) = there.map_or((expected.alcohol, expected.error), |there| (there, ALCOHOL_ERROR));
    let chance = say::chance_over(alcohol, error, limit);
    let message = || match expected.is_in_it.map(|is_in_it| plain(is_in_it, 1)) {
        Some(is_in_it) if there.is_some() => {
            format!("about {is_in_it} % alcohol is in it where its yeast stands {}", stands())
        }
        Some(is_in_it) => format!(
            "it stands still with about {is_in_it} % alcohol, of {} that its sugar would give, where its yeast stands {}",
            to_come(),
            stands()
        ),
        None => format!("about {} % alcohol to come where its yeast stands {}", to_come(), stands()),
    };
    let Some(finding) = Finding::likely(NAME, Level::Warning, pitch.place, chance, message) else {
        let why = || format!("about {} % alcohol to come; its yeast stands {}", to_come(), stands());
        report.silent(NAME, &batch.name, why);
        return;
    };
    let mut finding = finding.about(batch.name.to_string()).labelled("pitched here");
    if let Some(wort) = &batch.wort {
        finding = finding.pointing(wort.place, format!("{} °P at first", plain(wort.strength.as_degrees(), 1)));
    }
    report.found(
        finding
            .noting(format!("reckoned from: {}, ± {}", expected.from, plain(expected.error, 1)))
            .noting("near its limit yeast slows down and leaves sugar: the beer may end sweet, or go on in the bottle")
            .noting(if batch.fermentation.as_deref().is_some_and(is_fed_in_parts) {
                "a yeast that stands more, more of it and more oxygen, or less sugar (common practice)"
            } else {
                "a yeast that stands more, more of it and more oxygen, a lower gravity, or sugar fed in parts once it \
                 works (common practice)"
            })
            .showing(Figure::plain("expected-alcohol", expected.alcohol, expected.error, "%ABV", expected.from.clone()))
            .showing(Figure::plain("tolerates", limit, 0.0, "%ABV", "what its yeast stands".to_owned())),
    );
}
