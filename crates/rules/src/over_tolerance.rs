use barm_quantity::{Share, plain};
use barm_reckoning::{Batch, EndFrom, Figure, Season};
use barm_zymology::alcohol;
use barm_zymology::fermentation::ATTENUATES;

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, say};

const NAME: &str = "over-tolerance";
/// Alcohol by volume is reckoned to this.
const ALCOHOL_ERROR: f64 = alcohol::ERROR.as_percent();

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
    if let Some(end) = found.expected(last).filter(|end| end.from == EndFrom::Forced) {
        return Ok(Expected { alcohol: by(end.attenuation), error: ALCOHOL_ERROR, from: end.from.to_string(), tolerates });
    }
    let from = match found.attenuates {
        Some(_) => format!("{:.0}–{:.0} % attenuation, sugar wholly", low * 100.0, high * 100.0),
        None => format!("{:.0}–{:.0} % attenuation, as is usual", low * 100.0, high * 100.0),
    };
    let error = ((by(high) - by(low)) / 2.0).hypot(ALCOHOL_ERROR);
    Ok(Expected { alcohol: by(f64::midpoint(low, high)), error, from, tolerates })
}

fn judge(season: &Season, batch: &Batch, expected: &Expected, report: &mut Report) {
    let Some(pitch) = batch.pitches.first() else { return };
    let limit = season.settings.limits.get(NAME).copied().unwrap_or(expected.tolerates);
    let (to_come, stands) = (|| plain(expected.alcohol, 1), || plain(limit, 1));
    let chance = say::chance_over(expected.alcohol, expected.error, limit);
    let message = || format!("about {} % alcohol to come where its yeast stands {}", to_come(), stands());
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
            .noting(
                "a yeast that stands more, more of it and more oxygen, a lower gravity, or sugar fed in parts once it \
                 works (common practice)",
            )
            .showing(Figure::plain("expected-alcohol", expected.alcohol, expected.error, "%ABV", expected.from.clone()))
            .showing(Figure::plain("tolerates", limit, 0.0, "%ABV", "what its yeast stands".to_owned())),
    );
}
