//! The season as JSON, for other programs.

use std::io;

use barm_quantity::Estimate;
use barm_reckoning::{Figure, Moment};
use barm_report::{
    JSON_VERSION, JsonBanked, JsonFigure, JsonFinding, json_banked, json_figures, json_finding, six_digits,
    write_json,
};
use serde::Serialize;

use crate::Part;
use crate::glance::{Brew, Glance, courses};

#[derive(Serialize)]
struct Document<'a> {
    version: u32,
    workspaces: Vec<Workspace<'a>>,
}

#[derive(Serialize)]
struct Workspace<'a> {
    folder: String,
    brews: Vec<JsonBrew<'a>>,
    stocks: Vec<Stock<'a>>,
    descent: Vec<Descendant<'a>>,
    findings_by_month: Months<'a>,
    on: Option<String>,
    bank: Vec<JsonBanked<'a>>,
}

#[derive(Serialize)]
struct JsonBrew<'a> {
    lot: &'a str,
    title: Option<&'a str>,
    file: String,
    line: u32,
    column: u32,
    pitched: Option<String>,
    yeasts: Vec<&'a str>,
    verdict: Option<&'static str>,
    taste: &'a [String],
    figures: Vec<JsonFigure<'a>>,
    missing: &'a [String],
    findings: Vec<JsonFinding<'a>>,
    temperatures: Vec<Reading>,
    temperature_range: Vec<Corner>,
    gravities: Vec<Reading>,
    acidity: Vec<Reading>,
}

#[derive(Serialize)]
struct Reading {
    at: String,
    value: f64,
}

#[derive(Serialize)]
struct Corner {
    at: String,
    low: f64,
    high: f64,
}

#[derive(Serialize)]
struct Stock<'a> {
    lot: &'a str,
    live_share: Vec<Share>,
    draws: Vec<Draw<'a>>,
    emptied: Option<String>,
}

/// Percent.
#[derive(Serialize)]
struct Share {
    at: String,
    value: f64,
    low: f64,
    high: f64,
}

#[derive(Serialize)]
struct Draw<'a> {
    at: String,
    into: Option<&'a str>,
    taken: f64,
    left: f64,
    unit: &'a str,
    live_share: Share,
}

#[derive(Serialize)]
struct Descendant<'a> {
    lot: &'a str,
    kind: &'static str,
    from: Vec<&'a str>,
    generation: Option<u32>,
    begun: Option<String>,
    went_wrong: &'a [String],
}

#[derive(Serialize)]
struct Months<'a> {
    months: &'a [String],
    rules: Vec<Row<'a>>,
}

#[derive(Serialize)]
struct Row<'a> {
    rule: &'a str,
    counts: &'a [usize],
    undated: usize,
}

/// `{version, workspaces: [{folder, brews, stocks, descent, findings_by_month, on, bank}]}`.
///
/// A brew has `lot, title, file, line, column, pitched, yeasts, verdict, taste`, its `figures` and what is `missing` as
/// `barm figures --format json` has them, its `findings` as `barm check --format json` has them, `temperatures` (°C),
/// the corners of its `temperature_range` (°C), `gravities` (specific) and `acidity` (pH). A stock has its `live_share` over time and at
/// each of its `draws`, in percent. `descent` lists each lot below what it came from. `bank` is the yeast `on` that day as
/// `barm bank --format json` has it. Moments are `2026-03-14 18:00`; what is not known is `null`.
///
/// # Errors
/// When `out` cannot be written.
pub fn json(out: &mut dyn io::Write, parts: &[Part<'_>]) -> io::Result<()> {
    let courses = courses(parts);
    let glances: Vec<Glance<'_>> =
        parts.iter().zip(&courses).map(|(part, course)| Glance::of(part, course)).collect();
    let workspaces = parts.iter().zip(&glances).map(|(part, glance)| workspace(part, glance)).collect();
    write_json(out, &Document { version: JSON_VERSION, workspaces })
}

fn workspace<'g>(part: &Part<'_>, glance: &'g Glance<'_>) -> Workspace<'g> {
    let stocks = glance.stocks.iter().map(|stock| Stock {
        lot: glance.name(stock.lot),
        live_share: stock.stretches.iter().flatten().map(|(at, live)| share(*at, live)).collect(),
        draws: stock
            .draws
            .iter()
            .filter(|draw| draw.taken.is_finite() && draw.left.is_finite())
            .map(|draw| Draw {
                at: draw.at.to_string(),
                into: draw.into.map(|lot| glance.name(lot)),
                taken: six_digits(draw.taken),
                left: six_digits(draw.left),
                unit: draw.unit,
                live_share: share(draw.at, &draw.live_share),
            })
            .collect(),
        emptied: stock.emptied.map(|at| at.to_string()),
    });
    let descent = glance.family.iter().map(|member| Descendant {
        lot: glance.name(member.lot),
        kind: glance.season.lot(member.lot).map_or("", |lot| lot.kind.word()),
        from: member.from.iter().map(|lot| glance.name(*lot)).collect(),
        generation: member.generation,
        begun: member.begun.map(|at| at.to_string()),
        went_wrong: &member.wrong,
    });
    let rules =
        glance.months.rows.iter().map(|(rule, counts, undated)| Row { rule, counts, undated: *undated });
    let bank = glance.bank.as_ref();
    Workspace {
        folder: part.checked.base.path(""),
        brews: glance.brews.iter().map(|one| brew(glance, one)).collect(),
        stocks: stocks.collect(),
        descent: descent.collect(),
        findings_by_month: Months { months: &glance.months.columns, rules: rules.collect() },
        on: bank.map(|bank| bank.on.to_string()),
        bank: bank
            .into_iter()
            .flat_map(|bank| &bank.lots)
            .map(|lot| json_banked(&glance.files, lot))
            .collect(),
    }
}

fn brew<'g>(glance: &'g Glance<'_>, brew: &'g Brew<'_>) -> JsonBrew<'g> {
    let at = glance.files.start(brew.figures.place);
    let reading = |at: Moment, value: f64| Reading { at: at.to_string(), value: six_digits(value) };
    let range = glance.course.ranges.get(&brew.batch.lot);
    JsonBrew {
        lot: &brew.figures.lot,
        title: brew.figures.title.as_deref(),
        file: glance.files.path(brew.figures.place.file),
        line: at.line,
        column: at.column,
        pitched: brew.pitched.map(|at| at.to_string()),
        yeasts: brew.yeasts(),
        verdict: brew.taste.verdict.map(|verdict| verdict.word()),
        taste: &brew.taste.words,
        figures: json_figures(&brew.figures.figures),
        missing: &brew.figures.missing,
        findings: brew.findings.iter().map(|finding| json_finding(&glance.files, finding)).collect(),
        temperatures: brew.batch.temperatures.iter().map(|(at, celsius, _)| reading(*at, *celsius)).collect(),
        temperature_range: range
            .into_iter()
            .flat_map(|range| &range.corners)
            .map(|(at, (low, high))| Corner {
                at: at.to_string(),
                low: six_digits(*low),
                high: six_digits(*high),
            })
            .collect(),
        gravities: brew
            .batch
            .gravities
            .iter()
            .map(|one| reading(one.at, one.gravity.as_specific()))
            .collect(),
        acidity: glance.season.acidity_of(brew.batch.lot).iter().map(|one| reading(one.at, one.ph)).collect(),
    }
}

fn share(at: Moment, live: &Estimate) -> Share {
    let figure = Figure::of("live-share", live, 0.01, "%", String::new());
    Share {
        at: at.to_string(),
        value: six_digits(figure.value),
        low: six_digits(figure.low),
        high: six_digits(figure.high.min(100.0)),
    }
}
