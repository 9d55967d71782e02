use barm_quantity::Estimate;
use barm_reckoning::{Acidity, Batch, Figure, Form, Frozen, Pitching, Scale, Season, advice};
use barm_zymology::storage;

use crate::registry::{Reason as _, Why, rule};
use crate::{Finding, Level, Report, say, underpitched, warm_storage};

const NAME: &str = "stale-culture";
/// Days after which slurry is stale unless it was looked at, and after which about half of it lives.
const STALE_DAYS: f64 = storage::STALE_AFTER.as_days();
const OLD_DAYS: f64 = storage::OLD_AFTER.as_days();
/// Live share under which any culture is stale.
const TIRED: f64 = storage::TIRED.as_fraction();
const HALF_DEAD: f64 = storage::HALF_DEAD.as_fraction();
/// A pH that rises by less than this has not risen: two readings good to a tenth (judgement).
const RISEN: f64 = 0.2;
/// Below this no beer is, and a slurry has been washed with acid.
const NO_BEER: f64 = 3.5;

rule! {
    /// Old slurry, or a culture of which too little lives, pitched directly.
    StaleCulture, "stale-culture", Note, "stale_culture.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        let short = underpitched::level(season, batch);
        // Told with the first that is worse than that there is little of it, and not with each.
        let mut shortage_told = false;
        for (index, pitch) in batch.pitches.iter().enumerate() {
            let counts = batch.pitch.as_ref().is_some_and(|p| index < p.counted);
            match judged(season, batch, pitch) {
                Ok(finding) => match short.filter(|_| counts) {
                    Some(short) if short >= level(season, &finding) => {
                        report.silent(NAME, &batch.name, || format!("told with underpitched: {}", finding.message));
                    }
                    Some(_) if !std::mem::replace(&mut shortage_told, true) => {
                        report.found(with_shortage(season, batch, finding));
                    }
                    _ => report.found(advised(season, pitch, finding)),
                },
                Err(reason) => report.silent(NAME, &batch.name, || format!("{}: {}", pitch.name, reason.words())),
            }
        }
        if batch.pitches.is_empty() {
            report.silent(NAME, &batch.name, "no yeast is pitched");
        }
    }
}

/// The level that a finding of this rule has after the settings.
fn level(season: &Season, finding: &Finding) -> Level {
    let level = say::level(season, NAME, finding.level).unwrap_or(Level::Off);
    if season.settings.levels.contains_key(NAME) {
        finding.certainty.map_or(level, |certainty| certainty.tempers(level))
    } else {
        level
    }
}

/// What it finds of the pitches of a brew that count, whoever says it.
pub(crate) fn of(season: &Season, batch: &Batch) -> Vec<Finding> {
    let counted = batch.pitch.as_ref().map_or(0, |pitch| pitch.counted);
    let found = batch.pitches.iter().take(counted).filter_map(|pitch| judged(season, batch, pitch).ok());
    let found = found.map(|finding| Finding { level: level(season, &finding), ..finding });
    found.filter(|finding| finding.level > Level::Figure).collect()
}

/// Whether it finds a pitch stale, whoever says it.
pub(crate) fn is_stale(season: &Season, batch: &Batch, pitch: &Pitching) -> bool {
    judged(season, batch, pitch).is_ok_and(|finding| level(season, &finding) > Level::Figure)
}

/// It is worse than that there is little of it: both are said here.
fn with_shortage(season: &Season, batch: &Batch, finding: Finding) -> Finding {
    let mut finding = finding.noting(format!("and little of it: {}", underpitched::message(season, batch)));
    finding.notes.extend(underpitched::mending(season, batch));
    finding
}

/// What to do about stale yeast of which there is enough.
fn advised(season: &Season, pitch: &Pitching, finding: Finding) -> Finding {
    if pitch.form == Form::Dry {
        return finding.noting("fresh yeast is surer; dry yeast is not woken in a starter");
    }
    finding.noting(if is_spent(season, pitch) {
        "a count or a `viability` line settles whether enough lives; fresh yeast is surer"
    } else {
        "a small starter wakes it and shows that it lives; a count or a `viability` line settles it"
    })
}

/// Whether stale yeast is so old, or so much of it dead, that it is hardly worth a starter.
fn is_spent(season: &Season, pitch: &Pitching) -> bool {
    let stale_days = season.settings.limit(NAME, STALE_DAYS);
    let slurry = matches!(pitch.form, Form::Slurry | Form::Cake);
    let old = |age: f64| slurry && !pitch.measured && age.round() > stale_days * OLD_DAYS / STALE_DAYS;
    let dead = pitch.live_share.as_ref().is_some_and(|share| share.median() < HALF_DEAD);
    dead || pitch.history.frozen.is_some() || pitch.age_days.is_some_and(old)
}

/// The first pitch of a brew that counts and is stale, and whether it is spent. More of it is no help: that brings more
/// dead cells.
pub(crate) fn worn<'b>(season: &Season, batch: &'b Batch) -> Option<(&'b Pitching, bool)> {
    let counted = batch.pitch.as_ref().map_or(0, |pitch| pitch.counted);
    let stale = batch.pitches.iter().take(counted).find(|pitch| is_stale(season, batch, pitch))?;
    Some((stale, is_spent(season, stale)))
}

/// The lowest and the last pH of a slurry, where it has risen above what beer ends at.
fn risen<'s>(season: &'s Season, pitch: &Pitching) -> Option<(&'s Acidity, &'s Acidity)> {
    let read = season.acidity_of(pitch.lot);
    let read = read.get(..read.partition_point(|one| one.at <= pitch.at))?;
    let last = read.last().filter(|last| last.ph > storage::DYING_ABOVE)?;
    let of_beer = read.iter().filter(|one| one.ph > NO_BEER);
    let first = of_beer.min_by(|a, b| a.ph.total_cmp(&b.ph))?;
    (last.ph - first.ph >= RISEN + first.error + last.error).then_some((first, last))
}

/// Less than would be told as one in a hundred.
fn is_dead(share: &Estimate) -> bool {
    share.high() < 0.005
}

fn alive(share: &Estimate) -> String {
    if is_dead(share) {
        return "nothing of it alive".to_owned();
    }
    let percent = |x: f64| format!("{:.0}", (x * 100.0).min(100.0));
    format!("{}–{} % of it alive", percent(share.low()), percent(share.high()))
}

/// No age tells how much outlives ice.
fn thawed(season: &Season, batch: &Batch, pitch: &Pitching, frozen: &Frozen) -> Finding {
    let scale = Scale::of(season, frozen.place.or(Some(pitch.place)));
    let kept = scale.temperature(frozen.temperature.as_celsius());
    let message = format!("frozen at {kept} before it was pitched: how much of it lives is not known");
    let mut finding = Finding::new(NAME, Level::Warning, pitch.place, message)
        .about(batch.name.to_string())
        .labelled(format!("{} pitched here", pitch.name));
    if let Some(place) = frozen.place {
        finding = finding.pointing(place, "frozen here");
    }
    finding.noting("ice kills most yeast that no glycerol protects (common practice)")
}

fn judged<'b>(season: &Season, batch: &Batch, pitch: &'b Pitching) -> Result<Finding, Why<'b>> {
    if batch.asks_for_yeast && pitch.live.is_none() {
        return Err("how much of it is pitched is asked: how much lives is told with the question".into());
    }
    let stale_days = season.settings.limit(NAME, STALE_DAYS);
    if let Some(frozen) = &pitch.history.frozen {
        return Ok(thawed(season, batch, pitch, frozen));
    }
    if say::has_wild(season, pitch) {
        return Err("how long wild yeast and bacteria keep nobody knows".into());
    }
    let slurry = matches!(pitch.form, Form::Slurry | Form::Cake);
    if !slurry && !matches!(pitch.form, Form::Pack | Form::Dry) {
        return Err("only slurry, cakes, packs and dry yeast go stale by this rule".into());
    }
    if pitch.form == Form::Dry && pitch.weighs() >= 1.0 {
        return Err("dry yeast keeps: nobody looked at it, and its age leaves a doubt".into());
    }
    // In whole days, as they are told.
    let age = pitch.age_days.filter(|_| slurry && !pitch.measured).map(f64::round);
    let old = age.filter(|age| *age > stale_days);
    // The chance that too little lives; an age is known, and so is what it means.
    let share = pitch.live_share.as_ref();
    let tired = share.map_or(0.0, |s| s.chance_below(&Estimate::exact(TIRED)));
    let half_dead = share.map_or(0.0, |s| s.chance_below(&Estimate::exact(HALF_DEAD)));
    let risen = if slurry && !pitch.measured { risen(season, pitch) } else { None };
    let message = match (old, share, risen) {
        (Some(age), Some(share), _) => {
            let what = if pitch.form == Form::Cake { "under its old beer" } else { "since its harvest" };
            format!("{} {what}: {}", advice::days(age), alive(share))
        }
        (Some(age), None, _) => format!("{} old", advice::days(age)),
        (None, Some(share), _) if is_dead(share) => format!("{} when it was pitched", alive(share)),
        (None, Some(share), _) if tired >= 0.5 => format!("only {} when it was pitched", alive(share)),
        (None, _, Some((first, last))) => {
            format!("pH {:.1} when it was pitched, up from {:.1}: yeast that dies lets it rise", last.ph, first.ph)
        }
        _ => {
            return Err(Why::of(move || {
                let age = pitch.age_days.map_or_else(|| "of unknown age".to_owned(), |a| format!("{} old", advice::days(a)));
                format!("{age}, {}", share.map_or_else(|| "live share not known".to_owned(), alive))
            }));
        }
    };
    // The worst that is sure is said, rather than something worse that is only possible.
    let old_enough = old.is_some_and(|age| age > stale_days * OLD_DAYS / STALE_DAYS);
    let (level, chance) = match (old_enough, old) {
        (true, _) => (Level::Warning, 1.0),
        (false, Some(_)) => (Level::Note, 1.0),
        (false, None) if half_dead >= 0.8 => (Level::Warning, half_dead),
        (false, None) if tired < 0.5 && risen.is_some() => (Level::Note, 1.0),
        (false, None) => (Level::Note, tired),
    };
    let finding = Finding::new(NAME, level, pitch.place, message).with_chance(chance).filter(|f| f.level >= Level::Note);
    let Some(finding) = finding else { return Err("it is not sure enough".into()) };
    let mut finding = finding.about(batch.name.to_string()).labelled(format!("{} pitched here", pitch.name));
    if let Some(place) = pitch.since {
        let age = pitch.age_days.unwrap_or(0.0);
        finding = finding.pointing(place, format!("{} {} before", say::dated(season, pitch, place), advice::days(age)));
    }
    finding = finding.noting(say::reckoned(pitch));
    if let Some((first, last)) = risen {
        finding = finding
            .pointing(first.place, format!("pH {:.1}", first.ph))
            .pointing(last.place, format!("risen to {:.1}", last.ph))
            .noting("slurry above the 4.1–4.4 at which beer ends, and rising, has yeast dying in it (Kallmeyer 2004)");
    }
    if slurry {
        finding = finding.noting(
            "slurry in the cold is best within three days, good to two weeks, about half alive at four (common practice)",
        );
    }
    if let Some(note) = warm_storage::note(season, pitch) {
        finding = finding.noting(note);
    }
    if let Some(age) = pitch.age_days {
        finding = finding.showing(Figure::plain("age", age.round(), 0.0, "d", "to its pitch".to_owned()));
    }
    if let Some(share) = share {
        let mut figure = Figure::of("live-share", share, 0.01, "%", pitch.from.clone());
        figure.high = figure.high.min(100.0);
        finding = finding.showing(figure);
    }
    Ok(finding)
}
