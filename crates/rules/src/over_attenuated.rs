use barm_reckoning::{Batch, Figure, Pitching, Scale, Season};

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, say};

const NAME: &str = "over-attenuated";
/// Points of attenuation above the top of its yeast, in per cent.
const LIMIT: f64 = 5.0;

rule! {
    /// Further down than its yeast can take it.
    OverAttenuated, "over-attenuated", Note, "over_attenuated.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        match judge(season, batch) {
            Ok(finding) => {
                report.found(finding);
                continue;
            }
            Err(why) => report.silent(NAME, &batch.name, why),
        }
        // Whatever took the one so far goes along in its yeast.
        let first = batch.pitches.iter().find_map(|pitch| Some((pitch, handed_on(season, pitch)?)));
        if let Some((pitch, finding)) = first {
            report.found(finding.about(batch.name.to_string()).labelled(format!("{} pitched here", pitch.name)));
        }
    }
}

/// Yeast that comes of a beer that went further than it should.
fn handed_on(season: &Season, pitch: &Pitching) -> Option<Finding> {
    let donor = season.batch(pitch.history.donor?.lot)?;
    let of = judge(season, donor).ok()?;
    let message = format!("`{}` comes of `{}`: {}", pitch.name, donor.name, of.message);
    let finding = Finding::new(NAME, of.level, pitch.place, message).pointing(of.place, "read here");
    Some(finding.noting(
        "wild yeast in it would take this beer as far, in the bottle too: plate it, or watch this beer longer before it is packaged",
    ))
}

fn judge(season: &Season, batch: &Batch) -> Result<Finding, Why<'static>> {
    let limit = season.settings.limit(NAME, LIMIT);
    let found = batch.fermentation.as_ref().ok_or("no yeast is pitched")?;
    let guest = || batch.last_gravity().and_then(|last| batch.guest_that_goes_on(last.at, last.place));
    if let Some(what) = found.goes_further().or_else(guest) {
        return Err(Why::of(move || format!("{what} may go as far as it likes")));
    }
    if found.mixture {
        return Err("a mixture has no top of its own".into());
    }
    let last = batch.last_gravity().ok_or("no gravity is on record")?;
    let (_, top) = found.attenuates.ok_or("no `attenuates` of its yeast")?;
    if !found.extract_is_known(last.at) {
        return Err("its extract is not known".into());
    }
    let given = found.given_by((last.at, last.place)).ok_or("no `wort` stands in its lines")?;
    let top = given.attenuation(top) * 100.0;
    let reached = found.attenuation(last).ok_or("no `wort` stands in its lines")? * 100.0;
    let error = found.attenuation_error(last, batch.wort.as_ref()) * 100.0;
    let chance = say::chance_over(reached - top, error, limit);
    let message = || format!("{reached:.0} % attenuation where its yeast tops out at {top:.0} %");
    let finding = Finding::likely(NAME, Level::Note, last.place, chance, message)
        .ok_or_else(|| Why::of(move || format!("{reached:.0} % attenuation; the top of its yeast is {top:.0} %")))?;
    let mut finding = finding.about(batch.name.to_string()).labelled("the last gravity");
    if let Some(wort) = &batch.wort {
        finding = finding.pointing(wort.place, format!("from {}", Scale::of(season, Some(wort.place)).gravity(wort.gravity)));
    }
    if given.sugar.as_grams() > 0.0 {
        let sugar = Scale::of(season, Some(last.place)).mass(given.sugar);
        finding = finding.noting(format!("{sugar} of sugar are counted as wholly fermented"));
    }
    let other = batch.record.other_yeast.as_deref().filter(|(at, _, place)| (*at, *place) < (last.at, last.place));
    if let Some((_, name, place)) = other {
        finding = finding.pointing(*place, format!("{name} went in here"));
    }
    let why = if other.is_some() {
        "likely the yeast that was added to it takes it further than what was pitched"
    } else if found.suspect.is_some() {
        "it is infected or suspect: wild yeast and bacteria eat what brewing yeast leaves"
    } else {
        "a gravity read wrongly, a mash that left little dextrin, or wild or diastatic yeast that got in"
    };
    let finding = finding.noting(why).noting(
        "read it again; if it holds, taste for clove and sourness, keep its yeast out of other beers, and expect it to go on in \
         the bottle",
    );
    Ok(finding.showing(Figure::plain("attenuation", reached, error, "%", "by the last gravity".to_owned())))
}
