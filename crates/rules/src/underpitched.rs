use barm_quantity::{Estimate, Mass, Volume};
use barm_reckoning::{Batch, Form, LotId, Moment, Pitching, Scale, Season, advice};

use crate::registry::rule;
use crate::{Finding, Level, Report, say, stale_culture, thin_count};

const NAME: &str = "underpitched";
/// Live cells as a part of the target. The literature's own targets differ by a factor of 1.5 either way.
const LIMIT: f64 = 0.67;
/// Of how many old jars in one brew it is said that they are old.
const MOST_STALE: usize = 3;

rule! {
    /// Live cells at pitching well under the target.
    Underpitched, "underpitched", Warning, "underpitched.md", check
}

fn check(season: &Season, report: &mut Report) {
    let limit = limit(season);
    for batch in say::brews(season) {
        if batch.asks_for_yeast {
            report.silent(NAME, &batch.name, "how much yeast it gets is asked, and not answered yet");
            continue;
        }
        let Some(pitch) = &batch.pitch else {
            let why = batch.missing.iter().map(|m| m.fact.as_str()).next().unwrap_or("no yeast is pitched");
            report.silent(NAME, &batch.name, || format!("the pitch is not reckoned: {why}"));
            continue;
        };
        if is_unread(season, batch) {
            report.silent(NAME, &batch.name, "a line of this brew could not be read: it may be one more pitch");
            continue;
        }
        let chance = chance(batch, &pitch.ratio, limit);
        let stale = stale_culture::of(season, batch);
        if level(season, batch).is_some_and(|own| stale.iter().any(|s| s.level > own)) {
            report.silent(NAME, &batch.name, || format!("told with stale-culture: {}", message(season, batch)));
            continue;
        }
        let Some(finding) = Finding::likely(NAME, Level::Warning, pitch.place, chance, || message(season, batch)) else {
            report.silent(
                NAME,
                &batch.name,
                || format!(
                    "{} was pitched ({}); the chance that it is under {:.0} % is {:.0} %",
                    say::about_part(pitch.ratio.median(), "the target"),
                    barm_quantity::share_range(pitch.ratio.low(), pitch.ratio.median(), pitch.ratio.high()),
                    limit * 100.0,
                    chance * 100.0
                ),
            );
            continue;
        };
        report.found(explained(season, batch, finding, limit, &stale));
    }
}

/// The part of the target that is enough.
pub(crate) fn limit(season: &Season) -> f64 {
    season.settings.limit(NAME, LIMIT)
}

/// The level that it speaks of a brew at; `None` where `check` shows nothing of it.
pub(crate) fn level(season: &Season, batch: &Batch) -> Option<Level> {
    if is_unread(season, batch) {
        return None;
    }
    let limit = limit(season);
    let chance = chance(batch, &batch.pitch.as_ref()?.ratio, limit);
    say::speaks(season, NAME, Level::Warning, chance)
}

/// The chance that what went in is under the limit. Where a jar may hold all of the cake, or not, it is possible at the most.
fn chance(batch: &Batch, ratio: &Estimate, limit: f64) -> f64 {
    let chance = ratio.chance_below(&Estimate::exact(limit));
    if jarred(batch).is_some() { chance.min(0.5) } else { chance }
}

/// What a jar left of a cake that went in, and that jar.
fn jarred(batch: &Batch) -> Option<(&Pitching, LotId)> {
    let counted = batch.pitch.as_ref().map_or(0, |pitch| pitch.counted);
    batch.pitches.iter().take(counted).find_map(|pitch| Some((pitch, pitch.jarred?)))
}

/// Whether a pitch of a brew could not be read: what went in is not all known.
fn is_unread(season: &Season, batch: &Batch) -> bool {
    season.has_lost(batch.lot, &["pitch"])
}

/// Whether even the low end of what went in is enough.
pub(crate) fn is_enough_at_worst(season: &Season, batch: &Batch) -> bool {
    let limit = limit(season);
    batch.pitch.as_ref().is_some_and(|pitch| pitch.ratio.low() >= limit)
}

/// One sentence, figure first.
pub(crate) fn message(season: &Season, batch: &Batch) -> String {
    let Some(pitch) = &batch.pitch else { return String::new() };
    let weighed = |grams| Scale::of(season, Some(pitch.place)).yeast(Mass::grams(grams));
    let wants = say::about_part(pitch.ratio.median(), &format!("what {} wants", say::beer(batch)));
    if let Some(empty) = emptied(batch) {
        return format!("nothing was left of {} to pitch: {wants}", empty.name);
    }
    if let (Some((_, jar)), Some(target), 1) = (jarred(batch), pitch.target, pitch.counted) {
        // Down to none: that something always sticks is all that its low end tells.
        let most = barm_quantity::significant(pitch.live.high() / 1e9, 2);
        let most = format!("{most} {}", say::THOUSAND_MILLION);
        let target = advice::billions(target);
        let jar = season.lot(jar).map_or_else(String::new, |jar| jar.name.to_string());
        return format!("0–{most} live cells for a target of {target}: {jar} may hold all of the cake");
    }
    match (pitch.mass, pitch.target) {
        (Some((grams, wanted)), _) => format!(
            "{} of yeast where {} are wanted: {wants}",
            weighed(grams),
            weighed(wanted)
        ),
        (None, Some(target)) => {
            format!("{} live cells for a target of {}: {wants}", say::cells(&pitch.live), advice::billions(target))
        }
        (None, None) => format!("{} live cells: {wants}", say::cells(&pitch.live)),
    }
}

/// The lot of which nothing was left, where nothing else went in.
fn emptied(batch: &Batch) -> Option<&Pitching> {
    batch.pitches.first().filter(|pitch| batch.pitches.len() == 1 && pitch.emptied_by.is_some())
}

fn explained(season: &Season, batch: &Batch, finding: Finding, limit: f64, stale: &[Finding]) -> Finding {
    let Some(pitch) = &batch.pitch else { return finding };
    let mut finding = finding.about(batch.name.to_string()).labelled("pitched here");
    if let Some(wort) = &batch.wort {
        let scale = Scale::of(season, Some(wort.place));
        let text = match (pitch.mass, pitch.target) {
            (Some((_, wanted)), _) => {
                let dose = wanted / wort.volume.as_hectolitres();
                format!("wants {}, {} g/hL", scale.yeast(Mass::grams(wanted)), barm_quantity::significant(dose, 2))
            }
            (None, Some(target)) => format!("wants {} at {}", advice::billions(target), pitch.rate),
            (None, None) => format!("wants {}", pitch.rate),
        };
        finding = finding.pointing(wort.place, text);
    }
    if let Some(place) = emptied(batch).and_then(|pitched| pitched.emptied_by) {
        finding = finding.pointing(place, "the last of it was taken here");
    }
    if let Some(jar) = jarred(batch).and_then(|(_, jar)| season.lot(jar)) {
        finding = finding.pointing(jar.place, "this jar was filled out of its cake");
    }
    for pitched in batch.pitches.iter().take(pitch.counted) {
        if let (Some(place), Some(age)) = (pitched.since, pitched.age_days)
            && matches!(pitched.form, Form::Pack | Form::Slurry)
            && age >= 1.0
        {
            let word = say::dated(season, pitched, place);
            finding = finding.pointing(place, format!("{word} {} before", advice::days(age)));
        }
        if pitch.mass.is_none() {
            finding = finding.noting(say::reckoned(pitched));
        }
    }
    finding.notes.extend(say::left_to_pitch(season, batch));
    // An old culture is why there are so few: said here, and not once more.
    for stale in stale.iter().take(MOST_STALE) {
        finding = finding.noting(format!("stale: {}", stale.message));
        finding.notes.extend(stale.notes.iter().filter(|n| !finding.notes.contains(n)).cloned().collect::<Vec<_>>());
    }
    for pitched in batch.pitches.iter().take(pitch.counted) {
        finding.notes.extend(thin_count::doubt(season, pitched));
    }
    finding = finding.noting(format!(
        "the limit is {:.0} % of the target; published targets differ by half either way",
        limit * 100.0
    ));
    if let Some(narrowing) = say::narrowing(&pitch.ratio) {
        finding = finding.noting(narrowing);
    }
    for advice in mending(season, batch) {
        finding = finding.noting(advice);
    }
    for figure in say::pitch_figures(batch) {
        finding = finding.showing(figure);
    }
    finding
}

/// What would have been, or still is, enough: packs, millilitres of this jar, a starter.
pub(crate) fn mending(season: &Season, batch: &Batch) -> Vec<String> {
    let Some(pitch) = &batch.pitch else { return Vec::new() };
    let when = if say::is_young(batch) { "now" } else { "next time" };
    if let Some((grams, wanted)) = pitch.mass {
        let missing = advice::mass(advice::round_up(wanted - grams), season.speaks_us(pitch.place));
        return vec![match stale_culture::worn(season, batch) {
            Some((stale, _)) => format!("{when}: fresh yeast, rather than {missing} more of {}", stale.name),
            None => format!("{when}: {missing} more"),
        }];
    }
    if let Some((rest, jar)) = jarred(batch).and_then(|(rest, jar)| Some((rest, season.lot(jar)?))) {
        let (jar, cake) = (&jar.name, &rest.name);
        return vec![format!("{when}: pitch out of {jar}: how much of the cake of {cake} was left behind nobody can tell")];
    }
    let Some(target) = pitch.target else { return Vec::new() };
    let missing = (target - pitch.live.median()).max(0.0);
    if let Some(worn) = stale_culture::worn(season, batch) {
        return vec![instead(season, batch, worn, missing)];
    }
    let mut out = Vec::new();
    for pitched in batch.pitches.iter().take(pitch.counted) {
        let Some(per_unit) = &pitched.live_per_unit else { continue };
        if per_unit.median() <= 0.0 || pitched.unit.is_empty() {
            continue;
        }
        // Of packs, which come whole, no more are told than a question would be answered with.
        let spared = if pitched.unit == "packs" { target * (1.0 - advice::ENOUGH) } else { 0.0 };
        let units = (missing - spared) / per_unit.median();
        let us = season.speaks_us(pitched.place);
        let more = say::amount(units, pitched.unit, us);
        let is_whole = matches!(pitched.unit, "packs" | "vials");
        let stock = if units <= pitched.left_after && is_whole && units.ceil() > pitched.left_after {
            format!("{when}: what is left of {}", pitched.name)
        } else if units <= pitched.left_after {
            format!("{when}: {more} more of {}", pitched.name)
        } else if pitched.left_after > 0.0 {
            let left = match pitched.left_after {
                left if is_whole && left < 1.0 => format!("{} of a {}", advice::share(left), pitched.unit.trim_end_matches('s')),
                left => say::amount(left, pitched.unit, us),
            };
            format!("{more} more of {} would have done; left of it: {left}", pitched.name)
        } else {
            format!("{more} more like {} would have done; none of it is left", pitched.name)
        };
        out.push(stock);
        break;
    }
    let scale = Scale::of(season, batch.wort.map(|wort| wort.place));
    let volume = volume_of(batch);
    let starters_already = batch.pitches.iter().any(|p| p.form == Form::Starter);
    // Nobody grows dry yeast in a starter: a second sachet is cheaper (common practice).
    let dry = batch.pitches.iter().take(pitch.counted).any(|p| p.form == Form::Dry);
    if !starters_already && !dry && let Some(starter) = batch.pitches.first().and_then(|p| advice::starter_for(&season.settings, &pitch.live, (target, volume), p.at, there_since(batch), scale)) {
        out.push(format!("{}: {starter}", if when == "now" { "or, before pitching" } else { "next time, from the same yeast" }));
    } else if starters_already {
        out.push("next time: a larger starter, or two steps".to_owned());
    }
    out
}

fn volume_of(batch: &Batch) -> Volume {
    batch.pitched_for().map_or(Volume::default(), |wort| wort.volume)
}

/// Since when there was all the yeast that was pitched as one.
fn there_since(batch: &Batch) -> Option<Moment> {
    let counted = batch.pitch.as_ref().map_or(0, |pitch| pitch.counted);
    batch.pitches.iter().take(counted).filter_map(Pitching::there_since).max()
}

/// What to do where the yeast is stale: more of it brings more dead cells, so one thing is said and no amount of it.
fn instead(season: &Season, batch: &Batch, (stale, spent): (&Pitching, bool), missing: f64) -> String {
    let name = &stale.name;
    let missing = advice::billions(missing);
    let young = say::is_young(batch);
    if spent && young {
        return format!("now: fresh yeast for the {missing} that are missing; more of {name} is mostly dead cells");
    } else if spent {
        return "next time: fresh yeast, or count first what lives in yeast so old".to_owned();
    }
    let scale = Scale::of(season, batch.wort.map(|wort| wort.place));
    let grown = batch.pitch.as_ref().and_then(|pitch| Some((&pitch.live, pitch.target?)));
    let starter = grown
        .filter(|_| batch.pitches.iter().all(|pitch| pitch.form != Form::Starter))
        .and_then(|(live, target)| advice::starter_for(&season.settings, live, (target, volume_of(batch)), stale.at, there_since(batch), scale));
    match (starter, young) {
        (Some(starter), true) => {
            format!("before pitching, and rather than more of {name}: {starter}; if it is in already, fresh yeast for the {missing} that are missing")
        }
        (Some(starter), false) => format!("next time, and rather than more of {name}: {starter}"),
        (None, true) => format!("now: fresh yeast for the {missing} that are missing, and no more of {name}"),
        (None, false) => format!("next time: fresh yeast rather than more of {name}"),
    }
}
