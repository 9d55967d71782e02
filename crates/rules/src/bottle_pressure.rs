use barm_quantity::{Gravity, plain};
use barm_reckoning::{Batch, COOL, PackageFigures, Rated, Scale, Season, WARM};
use barm_syntax::ast::PackageKind;

use crate::registry::rule;
use crate::{Finding, Level, Report, packaged_early, say};

const NAME: &str = "bottle-pressure";
/// Volumes in glass of unknown make at which a note begins; a warning and an error stand above it.
const LIMIT: f64 = 3.0;
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
        for package in bottles {
            match judge(season, package) {
                // The cause is told instead where it is the worse of the two.
                Some((finding, _)) if packaged_early::level(season, batch, package) > Some(finding.level) => {
                    report.silent(NAME, &batch.name, "told with `packaged-early`");
                }
                Some((finding, limit)) => report.found(explained(season, batch, package, limit, finding)),
                None if !package.unknown.is_empty() && !package.is_asked => report.found(unreckoned(batch, package)),
                None => {
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
    }
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
    let limit = season.settings.limit(NAME, LIMIT);
    let (gas, error) = package.carbonation();
    let tiers: Vec<(Level, f64)> = match package.rated {
        Some(rated) => vec![(Level::Error, holds(package, rated))],
        None => vec![
            (Level::Error, limit + ERROR_ABOVE),
            (Level::Warning, limit + WARNING_ABOVE),
            (Level::Note, limit),
        ],
    };
    let told = tiers.into_iter().filter_map(|(level, limit)| {
        let chance = say::chance_over(gas.as_volumes(), error.as_volumes(), limit);
        let message = message(season, package);
        Some((Finding::new(NAME, level, package.place, message).with_chance(chance)?, limit))
    });
    told.max_by_key(|(finding, _)| (finding.level, finding.certainty))
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

/// What rated glass holds, in volumes, however warm it becomes.
fn holds(package: &PackageFigures, rated: Rated) -> f64 {
    match rated {
        Rated::Gas(gas) => gas.as_volumes(),
        Rated::Pressure(pressure) => package.gas_under(pressure, WARM).as_volumes(),
    }
}

fn message(season: &Season, package: &PackageFigures) -> String {
    let scale = Scale::of(season, Some(package.place));
    let [cool, warm] = package.pressure_figures(scale).map(|figure| scale.pressure(figure.value));
    let vessel = match package.kind {
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
        plain(package.carbonation().0.as_volumes(), 1),
        scale.temperature(COOL),
        scale.temperature(WARM)
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
    let mut finding = finding
        .about(batch.name.to_string())
        .labelled("packaged here")
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
        Some(_) => format!("the limit is what it is made for, {} vol at {}", plain(limit, 1), scale.temperature(WARM)),
        None => format!(
            "the limit is {} vol; no single one is agreed on, and used one-way bottles and swing-tops deserve less; `rated 5 \
             vol` or `rated {}` at the end of the line says what the glass is made for",
            plain(limit, 1),
            if scale.is_us() { "100 psi" } else { "7 bar" }
        ),
    });
    let [cool, warm] = package.pressure_figures(scale);
    finding.noting(say::full(package.kind)).showing(package.carbonation_figure()).showing(cool).showing(warm)
}
