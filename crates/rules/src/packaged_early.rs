use barm_quantity::{Gravity, plain};
use barm_reckoning::{
    Batch, COOL, EndFrom, Figure, GravityReading, PRIMING_HOURS, PackageFigures, RISK, Scale, Season, Shown, Suspicion, ToFerment, WARM, advice,
};
use barm_syntax::ast::PackageKind;

use crate::registry::{Why, rule};
use crate::{Finding, Level, Report, bottle_pressure, say};

const NAME: &str = "packaged-early";
/// Volumes of carbon dioxide beyond what was asked for.
const LIMIT: f64 = 0.7;
/// What has long gone unread may well have ended: possible, and no more.
const AT_MOST_POSSIBLE: f64 = 0.79;
/// Two weeks on, most beers have stopped whether anybody read them or not (common practice).
const SOON_DAYS: f64 = 14.0;
/// Cask beer that gets no sugar is conditioned to so much by its own extract, vol (common practice: 1 to 2).
const CONDITIONED: f64 = 2.0;
/// Readings so soon after the pitch, h, tell of the wort (judgement).
const WORT_HOURS: f64 = 12.0;
/// What falls so fast in a day, in specific gravity, is in the middle of it (judgement).
const FALLS_FAST: f64 = 0.002;
/// Nobody plans to bottle so soon (judgement): it was done.
const NO_PLAN_DAYS: f64 = 7.0;
/// Hardly any beer is done so soon, d (judgement).
const TOO_SOON_DAYS: f64 = 4.5;

rule! {
    /// Beer in glass before it was seen to have stopped.
    PackagedEarly, "packaged-early", Warning, "packaged_early.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        if batch.packages.is_empty() {
            report.silent(NAME, &batch.name, "it is not packaged");
        }
        for package in &batch.packages {
            match judge(season, batch, package) {
                // What comes of it is told instead where that is as bad.
                Ok(finding)
                    if package.counts_to_ferment().is_some()
                        && bottle_pressure::level(season, package) >= Some(finding.level) =>
                {
                    report.silent(NAME, &batch.name, "told with `bottle-pressure`");
                }
                Ok(finding) => report.found(finding),
                Err(why) => report.silent(NAME, &batch.name, why),
            }
        }
    }
}

/// The level that this rule speaks at of a package by itself.
pub(crate) fn level(season: &Season, batch: &Batch, package: &PackageFigures) -> Option<Level> {
    say::level(season, NAME, Level::Warning)?;
    let finding = judge(season, batch, package).ok()?;
    Some(finding.level).filter(|level| *level > Level::Figure)
}

fn judge(season: &Season, batch: &Batch, package: &PackageFigures) -> Result<Finding, Why<'static>> {
    let by_end = by_end(season, batch, package);
    let falling = falling(batch, package);
    match (by_end, falling) {
        (Ok(finding), Some(falling)) if finding.level < falling.level => Ok(falling),
        (Err(_), Some(falling)) => Ok(falling),
        (by_end, _) => by_end,
    }
}

/// Beer in glass that was last read falling, wherever it ends.
fn falling(batch: &Batch, package: &PackageFigures) -> Option<Finding> {
    let falls = package.falls.filter(|_| package.kind == PackageKind::Bottle)?;
    let level = if falls.a_day() >= FALLS_FAST - 1e-9 { Level::Warning } else { Level::Note };
    let message = format!(
        "it fell by {} in {} and nothing shows that it has stopped",
        plain(falls.by, 3),
        advice::days(falls.hours / 24.0)
    );
    let finding = Finding::new(NAME, level, package.place, message)
        .about(batch.name.to_string())
        .labelled("packaged here")
        .pointing(falls.from, "from here")
        .pointing(falls.to, "to here")
        .noting("each point of gravity is half a volume of carbon dioxide more; two readings two days apart that agree, or a `test forced`, show that it is done")
        .noting(say::FULL_BOTTLES);
    Some(finding)
}

/// What its last reading says, by where it is expected to end.
fn by_end(season: &Season, batch: &Batch, package: &PackageFigures) -> Result<Finding, Why<'static>> {
    if let Some(finding) = goes_on_untold(batch, package).or_else(|| unread(batch, package)) {
        return Ok(finding);
    }
    if let Some(finding) = unknown_since(batch, package) {
        return Ok(finding);
    }
    let more = package.to_ferment.as_ref().ok_or("no gravity is on record, or no end of it is known")?;
    let glass = package.kind == PackageKind::Bottle;
    let pressure = batch.fermentation.as_ref().and_then(|found| found.pressure);
    if !glass && pressure.is_some() {
        return Err("a keg or cask under pressure vents".into());
    }
    let stuck = match package.shown {
        Shown::Not => None,
        Shown::Still { stuck: Some(points), .. } => Some(points),
        Shown::Still { .. } | Shown::Settled { .. } if more.went_on.is_some() => {
            return Err("it had stopped and went on: `bottle-pressure` counts that".into());
        }
        Shown::Still { .. } => return Err("two readings show that it had stopped".into()),
        Shown::Settled { days, .. } => {
            return Err(Why::of(move || format!("it was where its yeast takes it {} after pitching", advice::days(days))));
        }
    };
    let extra = beyond(package, more);
    let limit = season.settings.limit(NAME, LIMIT);
    let mut chance = say::chance_over(extra, more.error.as_volumes(), limit);
    if stuck.is_none() && more.stale {
        chance = chance.min(AT_MOST_POSSIBLE);
    }
    let level = if glass && stuck.is_none() { Level::Warning } else { Level::Note };
    Finding::likely(NAME, level, package.place, chance, || message(season, package, more, extra, stuck))
        .map(|finding| explained(season, batch, package, more, (extra, limit), stuck, finding))
        .ok_or_else(|| Why::of(move || format!("at most {} vol would still come of it", plain(extra, 1))))
}

/// Closed beer that goes on where others end, and of which nobody knows how far it had come.
fn goes_on_untold(batch: &Batch, package: &PackageFigures) -> Option<Finding> {
    // Where sugar is asked for the answer says so.
    let is_untold = package.is_closed() && !package.is_asked && package.to_ferment.is_none() && package.read.is_none();
    let what = package.goes_on.filter(|_| is_untold)?;
    let is_read = batch.gravities.iter().any(|read| read.at <= package.at);
    let untold = if is_read { "how strong its wort was is not written" } else { "nobody read how far it had come" };
    // What only stood beside an infected beer may well be sound.
    let suspect = batch.fermentation.as_ref().and_then(|found| found.suspect).filter(|_| what == RISK);
    let level = if suspect.is_some_and(|suspect| suspect != Suspicion::Infected) { Level::Note } else { Level::Warning };
    let finding = Finding::new(NAME, level, package.place, format!("{what} may take it on, and {untold}"))
        .about(batch.name.to_string())
        .labelled("packaged here")
        .noting("what still ferments may give several volumes more: two gravities weeks apart that agree, near where it ends, show that it is done")
        .noting(say::full(package.kind));
    Some(finding)
}

/// Beer in glass that was seen to work, or so soon that it may, of which nobody read the gravity.
fn unread(batch: &Batch, package: &PackageFigures) -> Option<Finding> {
    let found = batch.fermentation.as_ref()?;
    let pitched = batch.pitched_at()?;
    // What is read as the yeast goes in is the wort.
    let of_beer = |read: &GravityReading| read.at <= package.at && read.at.hours_since(pitched) >= WORT_HOURS;
    let is_read = !found.forced.is_empty() || batch.gravities.iter().any(of_beer);
    let days = package.at.hours_since(pitched) / 24.0;
    // Of a plan nothing is on record but what is to be done, and nothing after it.
    let is_watched = found.began.is_some() || batch.temperatures.iter().any(|(at, ..)| *at > pitched);
    let is_plan = !is_watched && (days >= NO_PLAN_DAYS && !package.is_followed || package.is_asked);
    let is_unknown = !is_read && !is_plan && days < SOON_DAYS;
    if package.kind != PackageKind::Bottle || days < 0.0 || !is_unknown && package.foams.is_none() {
        return None;
    }
    let since = if is_read { " since" } else { "" };
    let shows = if package.foams.is_some() {
        format!("while it still worked, and no gravity was read{since}")
    } else {
        "and no gravity was read: nothing shows that it had stopped".to_owned()
    };
    let level = if package.foams.is_some() || days < TOO_SOON_DAYS { Level::Warning } else { Level::Note };
    let when = match days.round() {
        days if days < 1.0 => "on the day of pitching".to_owned(),
        days if days < 2.0 => "a day after pitching".to_owned(),
        days => format!("{} after pitching", advice::days(days)),
    };
    let comma = if package.foams.is_some() { "" } else { "," };
    let mut finding = Finding::new(NAME, level, package.place, format!("bottled {when}{comma} {shows}"))
        .about(batch.name.to_string())
        .labelled("packaged here");
    if let Some((_, seen)) = package.foams {
        finding = finding.pointing(seen, "it worked here");
    }
    let finding = finding
        .noting("two readings two days apart that agree, or a `test forced`, show that it is done")
        .noting(say::FULL_BOTTLES);
    Some(finding)
}

/// Beer in glass soon after fruit or other beer went in, of which nobody read the gravity since.
fn unknown_since(batch: &Batch, package: &PackageFigures) -> Option<Finding> {
    let (at, place) = package.unknown_since.filter(|_| package.kind == PackageKind::Bottle)?;
    let days = package.at.hours_since(at) / 24.0;
    // Of what went in to carbonate it `bottle-pressure` says as much.
    let is_told = days * 24.0 <= PRIMING_HOURS && !package.unknown.is_empty();
    if !(0.0..SOON_DAYS).contains(&days) || package.read.is_some() || is_told {
        return None;
    }
    let message = "more went in of which nobody knows how much still ferments, and no gravity was read since".to_owned();
    let finding = Finding::new(NAME, Level::Note, package.place, message)
        .about(batch.name.to_string())
        .labelled("packaged here")
        .pointing(place, "this went in")
        .noting("two readings two days apart that agree show that it is done")
        .noting(say::FULL_BOTTLES);
    Some(finding)
}

/// Volumes beyond what was asked for: with nothing asked, all that is still to ferment.
fn beyond(package: &PackageFigures, more: &ToFerment) -> f64 {
    let gas = more.gas.as_volumes();
    match package.asked {
        Some(asked) => {
            let all = package.residual.as_volumes() + package.added.as_volumes() + gas;
            gas.min(all - asked.as_volumes()).max(0.0)
        }
        // Cask beer works on by what its own extract left.
        None if package.kind == PackageKind::Cask && package.additions.is_empty() => {
            (package.residual.as_volumes() + gas - CONDITIONED).clamp(0.0, gas.max(0.0))
        }
        None => gas,
    }
}

fn message(
    season: &Season,
    package: &PackageFigures,
    more: &ToFerment,
    extra: f64,
    stuck: Option<f64>,
) -> String {
    let into = format!("in the {}", say::vessel(package.kind));
    let when = match (more.hours_before / 24.0).round() {
        days if days < 1.0 => "on the same day".to_owned(),
        days if days < 2.0 => "the day before".to_owned(),
        days => format!("{} before", advice::days(days)),
    };
    let extra = plain(extra, 1);
    let scale = Scale::of(season, Some(package.place));
    let (last, end) = (scale.gravity(Gravity::specific(more.gravity)), scale.gravity(more.end.gravity));
    match stuck {
        None => format!(
            "{extra} vol more {into} than was asked: {last} at the last reading, {when}, {}and {end} to be expected",
            if more.fed { "more added since, " } else { "" }
        ),
        Some(points) => {
            let yeast = match more.end.from {
                EndFrom::Usual(_) => "what yeast usually reaches",
                _ => "what its yeast reaches",
            };
            format!(
                "{extra} vol more {into} if it wakes up: it stands still at {last}, {points:.0} points of attenuation \
                 below {yeast}"
            )
        }
    }
}

fn explained(
    season: &Season,
    batch: &Batch,
    package: &PackageFigures,
    more: &ToFerment,
    (extra, limit): (f64, f64),
    stuck: Option<f64>,
    finding: Finding,
) -> Finding {
    let scale = Scale::of(season, Some(package.place));
    let mut finding = finding
        .about(batch.name.to_string())
        .labelled("packaged here")
        .pointing(more.place, format!("{} here", scale.gravity(Gravity::specific(more.gravity))));
    if let Some(place) = more.end.place {
        finding = finding.pointing(place, "what this wort can reach");
    }
    finding = finding
        .noting(format!(
            "the end is expected at {}, from {}; the limit is {} vol beyond what was asked",
            scale.gravity(more.end.gravity),
            more.end.from,
            plain(limit, 1)
        ))
        .noting(if stuck.is_some() {
            "a `test forced` tells a beer that is done from one that sleeps"
        } else {
            "two readings two days apart that agree, or a `test forced`, show that it is done"
        });
    if batch.record.stabilised.is_some_and(|at| at <= package.at) {
        finding = finding.noting("sorbate and sulphite hold yeast back and do not kill it: of what they leave in glass nobody is sure");
    }
    if package.kind == PackageKind::Bottle {
        let all = package.carbonation_with(more);
        let [cool, warm] = [COOL, WARM].map(|celsius| scale.pressure(package.closed_pressure(all, celsius).as_bar()));
        finding = finding
            .noting(format!(
                "{} vol in all: {cool} at {}, {warm} at {}",
                plain(all.as_volumes(), 1),
                scale.temperature(COOL),
                scale.temperature(WARM)
            ))
            .noting(say::FULL_BOTTLES);
    }
    finding
        .showing(Figure::plain(
            "beyond-asked",
            extra,
            more.error.as_volumes(),
            "vol",
            format!("extract from {:.3} to {:.3}", more.gravity, more.end.gravity.as_specific()),
        ))
        .showing(more.end.figure())
}
