use barm_quantity::plain;
use barm_reckoning::{Figure, LotKind, Scale, Season, Washed, advice};
use barm_zymology::{alcohol, storage};

use crate::registry::rule;
use crate::{Finding, Level, Report};

const NAME: &str = "harsh-wash";
/// Hours in acid.
const LIMIT: f64 = storage::WASHED_FOR.as_hours();

rule! {
    /// An acid wash that costs yeast as well as bacteria.
    HarshWash, "harsh-wash", Note, "harsh_wash.md", check,
    Anything "it was never washed with acid"
}

fn check(season: &Season, report: &mut Report) {
    for washed in &season.washes {
        let Some(lot) = season.lot(washed.lot) else { continue };
        if let Some(finding) = kept(season, washed) {
            report.found(finding.about(lot.name.to_string()));
        }
        let harsh = harsh(season, washed);
        if harsh.is_empty() {
            report.silent(NAME, &lot.name, "as cold, short and mild as it should be, as far as the log says");
        } else if season.is_measured_since(washed.lot, washed.at) {
            report.silent(NAME, &lot.name, "it was counted since");
        } else {
            report.found(finding(season, washed, &harsh).about(lot.name.to_string()));
        }
    }
}

/// Yeast that was washed with acid, and kept before it first went into a brew without a look.
fn kept(season: &Season, washed: &Washed) -> Option<Finding> {
    let brews = season.batches.iter().filter(|batch| batch.kind == LotKind::Brew);
    let pitches = brews.flat_map(|batch| &batch.pitches).filter(|pitch| pitch.lot == washed.lot);
    let first = pitches.filter(|pitch| pitch.at >= washed.at).min_by_key(|pitch| (pitch.at, pitch.place))?;
    let hours = first.at.hours_since(washed.at) - first.hours_either_way;
    if hours <= storage::WASHED_KEEPS.as_hours() || season.is_measured_since(washed.lot, washed.at) {
        return None;
    }
    let days = advice::days(first.at.hours_since(washed.at) / 24.0);
    let finding = Finding::new(NAME, Level::Note, first.place, format!("washed with acid {days} before it was pitched"));
    Some(
        finding
            .labelled("the yeast goes in here")
            .pointing(washed.place, "washed here")
            .noting("washed yeast is pitched at once: what acid has weakened starves sooner")
            .noting("a count or a `viability` line settles how much of it lives; next time wash it on the day that it is pitched"),
    )
}

/// What was harsh about a wash; what nobody wrote down was not.
fn harsh(season: &Season, washed: &Washed) -> Vec<String> {
    let mut out = Vec::new();
    if washed.ph.high_base() < storage::WASHED_IN {
        out.push(format!("at pH {}", plain(washed.ph.base(), 1)));
    }
    if let Some(time) = washed.time.filter(|time| time.low_base() > season.settings.limit(NAME, LIMIT)) {
        out.push(format!("for {} h", plain(time.base(), 1)));
    }
    let warmest = storage::WASHED_AT.as_celsius() + season.settings.thermometer_error.as_kelvin();
    if let Some(at) = washed.temperature.filter(|at| at.low_base() > warmest) {
        out.push(format!("at {}", Scale::of(season, Some(washed.place)).temperature(at.base())));
    }
    let alcohol = washed.donor.as_ref().and_then(|donor| donor.alcohol).map(|alcohol| alcohol.as_percent());
    let strongest = storage::WASHED_OUT_OF.as_percent() + alcohol::ERROR.as_percent();
    if let Some(alcohol) = alcohol.filter(|alcohol| *alcohol > strongest) {
        out.push(format!("out of a beer of {} %ABV", plain(alcohol, 1)));
    }
    out
}

fn finding(season: &Season, washed: &Washed, harsh: &[String]) -> Finding {
    let coldest = Scale::of(season, Some(washed.place)).temperature(storage::WASHED_AT.as_celsius());
    let message = format!("washed {}: that costs yeast as well as bacteria", harsh.join(", "));
    let mut finding = Finding::new(NAME, Level::Note, washed.place, message)
        .labelled("washed here")
        .noting(format!(
            "healthy yeast takes pH 2.0–2.5 for two hours where it and the acid are no warmer than {coldest} (Simpson & Hammond \
             1989; The Oxford Companion to Beer, 2012)"
        ))
        .noting("a count or a `viability` line settles how much of it lives; washed yeast is pitched at once")
        .noting(
            "acids burn: goggles and gloves, acid into water, and follow the maker's instructions, your local codes and \
             licensed practice",
        );
    let stated = "as the log states it".to_owned();
    finding = finding.showing(Figure::plain("acidity", washed.ph.base(), washed.ph.error_base(), "pH", stated.clone()));
    if let Some(time) = washed.time {
        finding = finding.showing(Figure::plain("time", time.base(), time.error_base(), "h", stated));
    }
    finding
}
