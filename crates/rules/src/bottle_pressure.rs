use barm_quantity::{CarbonDioxide, Gravity, plain};
use barm_reckoning::{Batch, COOL, PackageFigures, Place, Rated, Scale, Season};
use barm_syntax::ast::{Holder, PackageKind};

use crate::registry::rule;
use crate::{Finding, Level, Report, off_flavour, packaged_early, say, undercarbonated};

const NAME: &str = "bottle-pressure";
/// Volumes in glass of unknown make at which a note begins; a warning and an error stand above it.
const LIMIT: f64 = 3.0;
/// PET as of soda is made for so much more, vol (common practice: soda has 3 to 4 and more).
const PLASTIC_BEARS: f64 = 1.0;
const WARNING_ABOVE: f64 = 0.5;
const ERROR_ABOVE: f64 = 1.0;

rule! {
    /// More carbon dioxide than a bottle, or what is rated, should have to hold.
    BottlePressure, "bottle-pressure", Error, "bottle_pressure.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        let mut bottles = batch.packages.iter().filter(|p| p.is_closed()).peekable();
        if bottles.peek().is_none() {
            report.silent(NAME, &batch.name, "it is not in bottles, and no keg or cask of it says what it is `rated`");
        }
        let mut loudest = None;
        for package in bottles {
            if let Some(finding) = frozen(season, batch, package) {
                report.found(finding);
            }
            loudest = loudest.max(level(season, package)).max(packaged_early::level(season, batch, package));
            // Too much for what it aims at is a slip, though the glass may bear it.
            let is_told = packaged_early::level(season, batch, package).is_some();
            let aim = undercarbonated::passed(package).filter(|_| !is_told);
            match judge(season, package).filter(|(finding, _)| finding.level > Level::Figure || aim.is_none()) {
                // The cause is told instead where it is the worse of the two.
                Some((finding, _)) if packaged_early::level(season, batch, package) > Some(finding.level) => {
                    report.silent(NAME, &batch.name, "told with `packaged-early`");
                }
                Some((finding, _)) if thin_glass(package) > Some(finding.level) => report.found(in_thin_glass(batch, package)),
                Some((finding, limit)) => report.found(explained(season, batch, package, limit, finding)),
                None if thin_glass(package).is_some() => report.found(in_thin_glass(batch, package)),
                None if !package.unknown.is_empty() && !package.is_asked => report.found(unreckoned(batch, package)),
                None => {
                    if let Some((gas, asked)) = aim {
                        report.found(undercarbonated::told(NAME, season, batch, package, gas, asked));
                        continue;
                    }
                    let (gas, _) = package.carbonation();
                    let limit = match package.rated {
                        Some(rated) => format!("it is made for {} vol", plain(holds(package, rated), 1)),
                        None => {
                            let limit = season.settings.limit(NAME, LIMIT);
                            format!("a note begins at {} vol", plain(limit, 1))
                        }
                    };
                    let gas = plain(gas.as_volumes(), 1);
                    report.silent(NAME, &batch.name, format!("about {gas} vol in a {}; {limit}", say::vessel(package.kind)));
                }
            }
        }
        for package in batch.packages.iter().filter(|p| !p.is_closed()) {
            if let Some((gas, asked)) = undercarbonated::passed(package) {
                report.found(undercarbonated::told(NAME, season, batch, package, gas, asked));
            } else if let Some(finding) = vents(season, batch, package) {
                report.found(finding);
            }
        }
        // What they taste of is told where nothing else warns of them.
        if loudest < Some(Level::Warning)
            && let Some(finding) = gushing(season, batch)
        {
            report.found(finding);
        }
    }
}

/// So much sugar for a keg or cask that nobody serves beer with so much gas, whether it vents or not, vol (judgement).
const VENTS_ABOVE: f64 = 5.0;

/// A keg or cask that is primed far beyond what beer is served with.
fn vents(season: &Season, batch: &Batch, package: &PackageFigures) -> Option<Finding> {
    // What its own extract makes is let off as it comes.
    let gas = package.residual.as_volumes() + package.added.as_volumes();
    if package.additions.is_empty() || gas <= VENTS_ABOVE {
        return None;
    }
    let finding = Finding::new(NAME, Level::Note, package.place, message(season, package))
        .about(batch.name.to_string())
        .labelled("packaged here")
        .noting(format!("reckoned from: {}", package.carbonation_figure().from))
        .noting("a keg or cask vents, if its valve or peg does: above what it is made for that is all that holds it")
        .noting(say::full(package.kind))
        .showing(package.carbonation_figure());
    Some(finding)
}

/// The level that this rule speaks at of a package by itself.
pub(crate) fn level(season: &Season, package: &PackageFigures) -> Option<Level> {
    say::level(season, NAME, Level::Error)?;
    judge(season, package).map(|(finding, _)| finding.level).filter(|level| *level > Level::Figure)
}

/// The worst that holds, and the limit that it breaks: a possible error that is a sure warning is told as the warning.
fn judge(season: &Season, package: &PackageFigures) -> Option<(Finding, f64)> {
    if !package.is_closed() {
        return None;
    }
    let bears = if package.holder == Some(Holder::Plastic) { PLASTIC_BEARS } else { 0.0 };
    let limit = season.settings.limit(NAME, LIMIT) + bears;
    let (gas, error) = package.carbonation();
    let unrated = |above: f64| package.held_as_warm_as_kept(CarbonDioxide::volumes(limit + above)).as_volumes();
    let tiers: Vec<(Level, f64)> = match package.rated {
        Some(rated) => vec![(Level::Error, holds(package, rated))],
        None => vec![
            (Level::Error, unrated(ERROR_ABOVE)),
            (Level::Warning, unrated(WARNING_ABOVE)),
            (Level::Note, unrated(0.0)),
        ],
    };
    let (place, _) = since(season, package).unwrap_or((package.place, String::new()));
    let told = tiers.into_iter().filter_map(|(level, limit)| {
        let chance = say::chance_over(gas.as_volumes(), error.as_volumes(), limit);
        Some((Finding::likely(NAME, level, place, chance, || message(season, package))?, limit))
    });
    told.max_by_key(|(finding, _)| (finding.level, finding.certainty))
}

/// Still drink has no more than this over the air at [`COOL`], bar (Regulation (EU) No 1308/2013, Annex VII, from memory).
const STILL_BAR: f64 = 1.0;

/// How bad it is that beer is to make its gas in glass that is not made for it, if it is.
pub(crate) fn thin_glass(package: &PackageFigures) -> Option<Level> {
    let makes_gas = !package.additions.is_empty() || package.is_asked;
    let presses = || package.closed_pressure(package.carbonation().0, COOL).as_bar() > STILL_BAR;
    match package.holder.filter(|_| package.rated.is_none())? {
        Holder::Growler => makes_gas.then_some(Level::Note),
        Holder::Still if presses() => Some(Level::Warning),
        Holder::Still => makes_gas.then_some(Level::Note),
        Holder::Plastic => None,
    }
}

fn in_thin_glass(batch: &Batch, package: &PackageFigures) -> Finding {
    let (message, bears) = match package.holder {
        Some(Holder::Still) => (
            "gas in glass for still drink: it is not made for any pressure",
            "it gives way, or its cork does, below what a beer bottle bears",
        ),
        _ => (
            "sugar in growlers: they are made to be filled cold from the tap, and not to stand warm with what it makes",
            "large thin glass bursts below what a beer bottle bears",
        ),
    };
    let level = thin_glass(package).unwrap_or(Level::Note);
    Finding::new(NAME, level, package.place, message.to_owned())
        .about(batch.name.to_string())
        .labelled("packaged here")
        .noting(format!("{bears} (common practice); `rated 4 vol` says what it is made for, if its maker does"))
        .noting(say::FULL_BOTTLES)
        .showing(package.carbonation_figure())
}

/// What was done to it since it was packaged that makes it press more, and where.
fn since(season: &Season, package: &PackageFigures) -> Option<(Place, String)> {
    let hot = package.kept_hot().map(|(celsius, place)| {
        (place, format!("kept at {}", Scale::of(season, Some(place)).temperature(celsius)))
    });
    hot.or_else(|| Some((package.primed_again?, "added when it was bottled already".to_owned())))
}

/// Beer that becomes ice swells, whatever gas is in it.
fn frozen(season: &Season, batch: &Batch, package: &PackageFigures) -> Option<Finding> {
    let (celsius, place) = package.kept_frozen().filter(|_| package.kind == PackageKind::Bottle)?;
    let celsius = Scale::of(season, Some(place)).temperature(celsius);
    let message = format!("beer is ice at {celsius}: it swells by a tenth and bursts the bottle");
    let finding = Finding::new(NAME, Level::Warning, place, message)
        .about(batch.name.to_string())
        .pointing(package.place, "packaged here")
        .noting("what is frozen already thaws slowly in its closed crate, and what has a crack is not opened")
        .noting(say::FULL_BOTTLES);
    Some(finding)
}

/// What tasters call bottles with too much gas in them.
const GUSHES: &[&str] =
    &["gushing", "gushes", "gushed", "gusher", "gushers", "overcarbonated", "over carbonated", "too much carbonation"];

/// Bottles that gush hold more than was reckoned.
fn gushing(season: &Season, batch: &Batch) -> Option<Finding> {
    let mut bottles = batch.packages.iter().filter(|package| package.kind == PackageKind::Bottle);
    let bottled = bottles.next_back()?;
    let mut tasted = off_flavour::tasted(season, batch).into_iter();
    let (place, words) = tasted.rfind(|(_, words)| off_flavour::says(GUSHES, words))?;
    let gas = plain(bottled.carbonation().0.as_volumes(), 1);
    let finding = Finding::new(NAME, Level::Warning, place, format!("{words}: more gas in the bottles than the {gas} vol reckoned"))
        .about(batch.name.to_string())
        .pointing(bottled.place, "packaged here")
        .noting(
            "it may go on, by an infection or by what had not fermented: chill one, open it with care, let the gas out and write \
             its `gravity`",
        )
        .noting(say::FULL_BOTTLES);
    Some(finding)
}

/// Something goes into the bottle of which nobody knows how much gas it gives.
fn unreckoned(batch: &Batch, package: &PackageFigures) -> Finding {
    let gas = plain(package.carbonation().0.as_volumes(), 1);
    let what = package.unknown.join(", ");
    let message = format!("{gas} vol of carbon dioxide in the {}, and nobody knows how much from {what}", say::vessel(package.kind));
    Finding::new(NAME, Level::Note, package.place, message)
        .about(batch.name.to_string())
        .labelled("packaged here")
        .noting(
            "a weighed sugar is reckoned, as `with 110 g sucrose`, and so are wort, as `with 0.5 L wort at 1.040`, and \
             young beer of which a `gravity` was read",
        )
        .noting(say::full(package.kind))
        .showing(package.carbonation_figure())
}

/// What rated glass holds, in volumes, as warm as it is kept or may become.
fn holds(package: &PackageFigures, rated: Rated) -> f64 {
    match rated {
        Rated::Gas(gas) => package.held_as_warm_as_kept(gas).as_volumes(),
        Rated::Pressure(pressure) => package.gas_under(pressure, package.must_hold_at()).as_volumes(),
    }
}

fn message(season: &Season, package: &PackageFigures) -> String {
    let scale = Scale::of(season, Some(package.place));
    let (gas, _) = package.carbonation();
    let hot = package.must_hold_at();
    let [cool, warm] = [COOL, hot].map(|celsius| scale.pressure(package.closed_pressure(gas, celsius).as_bar()));
    let vessel = match package.kind {
        PackageKind::Bottle if package.holder == Some(Holder::Plastic) => "PET".to_owned(),
        PackageKind::Bottle if package.holder == Some(Holder::Growler) => "growlers".to_owned(),
        PackageKind::Bottle if package.holder == Some(Holder::Still) => "glass for still drink".to_owned(),
        PackageKind::Bottle => "glass".to_owned(),
        other => format!("a {}", say::vessel(other)),
    };
    let glass = match package.rated {
        None => format!("{vessel} of unknown make"),
        Some(Rated::Gas(gas)) => format!("{vessel} made for {} vol", plain(gas.as_volumes(), 1)),
        Some(Rated::Pressure(pressure)) => format!("{vessel} made for {}", scale.pressure(pressure.as_bar())),
    };
    format!(
        "{} vol of carbon dioxide to come in {glass}: {cool} at {}, {warm} at {}",
        plain(gas.as_volumes(), 1),
        scale.temperature(COOL),
        scale.temperature(hot)
    )
}

fn explained(
    season: &Season,
    batch: &Batch,
    package: &PackageFigures,
    limit: f64,
    finding: Finding,
) -> Finding {
    let scale = Scale::of(season, Some(package.place));
    let (warmest, read) = package.warmest;
    let finding = finding.about(batch.name.to_string());
    let finding = match since(season, package) {
        Some((_, label)) => finding.labelled(label).pointing(package.place, "packaged here"),
        None => finding.labelled("packaged here"),
    };
    let mut finding = finding
        .noting(format!(
            "reckoned from: {}; the beer was {} at its warmest{}",
            package.carbonation_figure().from,
            scale.temperature(warmest),
            if read { "" } else { " (taken: nothing was read)" }
        ));
    if let Some(more) = package.counts_to_ferment() {
        finding = finding.pointing(more.place, format!("{} here", scale.gravity(Gravity::specific(more.gravity))));
        if let Some(read) = more.went_on {
            finding = finding.pointing(read, "lower here");
        }
        let why = match package.goes_on {
            Some(what) => format!("{what} may take it on"),
            None if more.went_on.is_some() => "it went on after it was packaged".to_owned(),
            None => "nothing shows that it had stopped, as two readings two days apart or a `test forced` would".to_owned(),
        };
        finding = finding.noting(format!(
            "{} vol of it {}, from {} to {} ({}){}: {why}",
            plain(more.gas.as_volumes(), 1),
            if more.went_on.is_some() { "fermented since, or will" } else { "is still to ferment" },
            scale.gravity(Gravity::specific(more.gravity)),
            scale.gravity(more.end.gravity),
            more.end.from,
            if more.fed { ", with what was added since" } else { "" }
        ));
    }
    let before = package.unknown_before.then_some("the beer or fruit added before");
    let unknown: Vec<&str> = package.unknown.iter().map(String::as_str).chain(before).collect();
    if !unknown.is_empty() {
        finding = finding.noting(format!("not counted, as nobody knows what it brings: {}", unknown.join(", ")));
    }
    finding = finding.noting(match package.rated {
        Some(_) => format!("the limit is what it is made for, {} vol at {}", plain(limit, 1), scale.temperature(package.must_hold_at())),
        None => format!(
            "the limit is {} vol{}; no single one is agreed on, and used one-way bottles and swing-tops deserve less; `rated 5 \
             vol` or `rated {}` at the end of the line says what the glass is made for",
            plain(limit, 1),
            package.kept_hot().map_or_else(String::new, |(hot, _)| format!(" at {}", scale.temperature(hot))),
            if scale.is_us() { "100 psi" } else { "7 bar" }
        ),
    });
    let [cool, warm] = package.pressure_figures(scale);
    finding.noting(say::full(package.kind)).showing(package.carbonation_figure()).showing(cool).showing(warm)
}
