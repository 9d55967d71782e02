use barm_reckoning::{Batch, Figure, Form, GravityReading, Moment, Pitching, Place, Season};
use barm_syntax::ast::Krausen;
use barm_zymology::fermentation::ATTENUATES;

use crate::registry::{Reason as _, Why, rule};
use crate::{Finding, Level, Report, say};

const NAME: &str = "young-starter";
/// Hours from the starter's own pitch; about two days is liked (common practice).
const LIMIT: f64 = 36.0;
/// So long foam that was seen on a starter stands, h (judgement: a starter works out within two days).
const STANDS_HIGH: f64 = 24.0;

rule! {
    /// A starter pitched before it had worked out.
    YoungStarter, "young-starter", Note, "young_starter.md", check
}

fn check(season: &Season, report: &mut Report) {
    let limit = season.settings.limit(NAME, LIMIT);
    for batch in say::brews(season) {
        let mut any = false;
        for pitch in batch.pitches.iter().filter(|pitch| pitch.form == Form::Starter) {
            any = true;
            match judged(season, pitch, limit) {
                Ok(finding) => report.found(finding.about(batch.name.to_string())),
                Err(reason) => report.silent(NAME, &batch.name, || format!("{}: {}", pitch.name, reason.words())),
            }
        }
        if !any {
            report.silent(NAME, &batch.name, "no starter is pitched");
        }
    }
}

/// How the foam on a starter was last seen.
fn foam(starter: &Batch, by: Moment) -> Option<&(Moment, Krausen, Place)> {
    let krausens = &starter.record.krausens;
    krausens.get(..krausens.partition_point(|(at, ..)| *at <= by)).and_then(<[_]>::last)
}

/// Whether a gravity between two moments showed a starter worked out.
fn was_read_out(starter: &Batch, (from, by): (Moment, Moment)) -> bool {
    let Some(found) = starter.fermentation.as_ref() else { return false };
    let [usual, ..] = ATTENUATES;
    let least = found.attenuates.map_or(usual.as_fraction(), |(least, _)| least);
    let is_out = |read: &GravityReading| {
        let error = found.attenuation_error(read, starter.wort.as_ref());
        found.attenuation(read).is_some_and(|reached| reached + error >= least)
    };
    starter.gravities.iter().any(|read| read.at >= from && read.at <= by && is_out(read))
}

/// Where the foam on a starter was last seen high, unless it fell, was put into the cold or was read worked out since.
fn stands_high(starter: &Batch, by: Moment) -> Option<Place> {
    let (seen, _, place) = foam(starter, by)
        .filter(|(at, height, _)| *height == Krausen::High && by.hours_since(*at) < STANDS_HIGH)?;
    let chilled = starter.record.chilled.is_some_and(|at| at >= *seen && at <= by);
    (!chilled && !was_read_out(starter, (*seen, by))).then_some(*place)
}

fn judged(season: &Season, pitch: &Pitching, limit: f64) -> Result<Finding, Why<'static>> {
    let starter = season.batch(pitch.lot).ok_or("it is not reckoned")?;
    let began = starter.pitches.first().ok_or("when it was pitched is not known")?;
    let hours = pitch.at.hours_since(began.at);
    let unsure = pitch.hours_either_way + began.hours_either_way;
    let high = stands_high(starter, pitch.at);
    let message = match high {
        Some(_) => format!("pitched at high krausen, {hours:.0} h after the starter was"),
        None if hours < limit => {
            // What was seen of it tells more than its hours.
            if foam(starter, pitch.at).is_some_and(|(_, height, _)| *height == Krausen::Fallen) {
                return Err("its foam had fallen".into());
            }
            if was_read_out(starter, (began.at, pitch.at)) {
                return Err("it was read worked out".into());
            }
            format!("pitched {hours:.0} h after the starter was: about two days is liked")
        }
        None => {
            let why = move || format!("pitched {hours:.0} h after the starter was; the limit is {limit:.0}");
            return Err(Why::of(why));
        }
    };
    // An hour that nobody wrote down may make it older than it looks.
    let chance = if high.is_some() || hours + unsure < limit { 1.0 } else { 0.5 };
    let mut finding = Finding::new(NAME, Level::Note, pitch.place, message)
        .with_chance(chance)
        .ok_or("it is not sure enough")?
        .labelled("the starter goes in here")
        .pointing(began.place, "the starter was pitched here");
    if let Some(place) = high {
        finding = finding.pointing(place, "and stood high here");
    }
    finding = finding
        .noting("two days let it ferment out and settle: more cells, rested ones, and little of its wort goes along (common practice)")
        .noting(say::reckoned(pitch))
        .noting("some like to pitch at high krausen: if that is why, accept it")
        .showing(Figure::plain("starter-age", hours, unsure, "h", "from its own pitch".to_owned()));
    Ok(finding)
}
