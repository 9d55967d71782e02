use barm_quantity::{CarbonDioxide, plain};
use barm_reckoning::{Batch, PackageFigures, Scale, Season, Shown};
use barm_syntax::ast::PackageKind;
use barm_zymology::carbonation::{self, Sugar};

use crate::registry::rule;
use crate::{Finding, Level, Report, say};

const NAME: &str = "undercarbonated";
/// Less than this nobody tastes, vol (judgement).
const CLEARLY: f64 = 0.3;

rule! {
    /// What a beer is primed with gives clearly less carbon dioxide than its line asks for.
    Undercarbonated, "undercarbonated", Note, "undercarbonated.md", check
}

fn check(season: &Season, report: &mut Report) {
    for batch in say::brews(season) {
        let mut primed = batch.packages.iter().filter(|package| is_primed(package)).peekable();
        if primed.peek().is_none() {
            report.silent(NAME, &batch.name, "no line asks for a carbonation and says what gives it");
        }
        for package in primed {
            match judged(package) {
                Ok(_) if say::has_slip(season, package.place) => {
                    report.silent(NAME, &batch.name, "told with `unlikely-unit`");
                }
                Ok((gas, asked)) => report.found(told(NAME, season, batch, package, gas, asked)),
                Err(reason) => report.silent(NAME, &batch.name, reason),
            }
        }
    }
}

/// Whether a line says both what it aims at and what is to bring it there. A keg has a gas cylinder besides.
fn is_primed(package: &PackageFigures) -> bool {
    let is_weighed = !package.additions.is_empty() && !package.is_asked;
    package.kind != PackageKind::Keg && package.asked.is_some() && is_weighed
}

/// What comes to be in it and what was asked for, where that is clearly more; or why nothing is said.
fn judged(package: &PackageFigures) -> Result<(CarbonDioxide, CarbonDioxide), &'static str> {
    let (gas, asked) = reckoned(package)?;
    if !is_clear(package, asked.as_volumes() - gas.as_volumes()) {
        return Err("what comes to be in it is about what is asked for, or more");
    }
    Ok((gas, asked))
}

/// What comes to be in it and what was asked for; or why they are not held against each other.
fn reckoned(package: &PackageFigures) -> Result<(CarbonDioxide, CarbonDioxide), &'static str> {
    let asked = package.asked.ok_or("no carbonation is asked for")?;
    if package.read.is_some() {
        return Err("its carbonation was read");
    }
    if !package.unknown.is_empty() || package.unknown_before {
        return Err("it was given something of which nobody knows what it brings");
    }
    if package.shown == Shown::Not && package.counts_to_ferment().is_none() {
        return Err("how much still ferments in it is not known");
    }
    Ok((package.carbonation().0, asked))
}

/// Whether somebody would taste a difference, in volumes, and it is more than the figure may be off.
fn is_clear(package: &PackageFigures, volumes: f64) -> bool {
    let (_, error) = package.carbonation();
    volumes >= CLEARLY && volumes > error.as_volumes()
}

/// What comes to be in it and what was asked for, where what it is primed with is clearly too much for that. What still ferments is
/// no matter of the sugar.
pub(crate) fn passed(package: &PackageFigures) -> Option<(CarbonDioxide, CarbonDioxide)> {
    let is_weighed = !package.additions.is_empty() && !package.is_asked;
    let (gas, asked) = reckoned(package).ok().filter(|_| is_weighed)?;
    let is_primed_only = package.counts_to_ferment().is_none();
    (is_primed_only && is_clear(package, gas.as_volumes() - asked.as_volumes())).then_some((gas, asked))
}

/// That what comes to be in it is not what its line asks for.
pub(crate) fn told(
    rule: &'static str,
    season: &Season,
    batch: &Batch,
    package: &PackageFigures,
    gas: CarbonDioxide,
    asked: CarbonDioxide,
) -> Finding {
    let volumes = |gas: CarbonDioxide| plain(gas.as_volumes(), 1);
    let message = format!("{} vol of carbon dioxide to come where {} are asked for", volumes(gas), volumes(asked));
    let finding = Finding::new(rule, Level::Note, package.place, message)
        .about(batch.name.to_string())
        .labelled("packaged here")
        .noting(format!("reckoned from: {}", package.carbonation_figure().from))
        .showing(package.carbonation_figure());
    let (least, most, which) = match asked {
        asked if gas < asked => (gas, asked, "more"),
        // What fermentation left no less sugar takes away.
        asked if asked < package.residual => (package.residual, gas, "less"),
        asked => (asked, gas, "less"),
    };
    // When it is filled already nothing can be taken out of it again, or weighed anew.
    let to_fill = package.volume.filter(|_| package.primed_again.is_none());
    let amiss = to_fill.and_then(|beer| Some((beer, carbonation::sugar_for(least, most, beer, Sugar::Sucrose)?)));
    let scale = Scale::of(season, Some(package.place));
    match amiss {
        Some((beer, sugar)) => finding.noting(format!(
            "before it is filled: {} {which} of sucrose for {}; a `?` in place of an amount is answered with what it takes",
            scale.mass(sugar),
            scale.volume(beer)
        )),
        None => finding,
    }
}
