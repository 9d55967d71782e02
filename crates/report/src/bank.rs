//! What yeast there is on a day, as a table and as JSON.

use std::io;

use barm_reckoning::{Bank, Banked, Figure, Season, Settings, with_unit};
use serde::Serialize;

use crate::place::Files;
use crate::{Base, json, screen};

/// The yeast of one workspace.
#[derive(Debug, Clone, Copy)]
pub struct SeasonBank<'a> {
    /// The workspace.
    pub season: &'a Season,
    /// The folder that the user stands in.
    pub base: &'a Base,
    /// Its yeast.
    pub bank: &'a Bank,
}

/// What was asked for.
#[derive(Debug, Clone, Copy, Default)]
pub struct BankQuestion<'a> {
    /// Whether a day was given; otherwise it is the last dated event of the workspace.
    pub day_given: bool,
    /// The wort, as typed.
    pub wort: Option<&'a str>,
}

/// A table of the lots, each with its descent below it, the worst worry first.
///
/// # Errors
/// When `out` cannot be written.
pub fn bank_text(
    out: &mut dyn io::Write,
    question: &BankQuestion<'_>,
    banks: &[SeasonBank<'_>],
) -> io::Result<()> {
    for (index, one) in banks.iter().enumerate() {
        if index > 0 {
            writeln!(out)?;
        }
        let day = one.bank.on;
        let why = if question.day_given { "" } else { ", the day of the last dated event" };
        if one.bank.lots.is_empty() {
            writeln!(out, "No yeast is left on {day}{why}.")?;
            continue;
        }
        writeln!(out, "Yeast on {day}{why}; cells in B (thousand million).\n")?;
        table(out, question, &one.season.settings, &one.bank.lots)?;
    }
    Ok(())
}

/// The titles of the columns of [`bank_row`].
pub const BANK_COLUMNS: [&str; 9] = ["", "", "left", "live", "alive", "age", "generation", "use by", ""];

fn table(
    out: &mut dyn io::Write,
    question: &BankQuestion<'_>,
    settings: &Settings,
    lots: &[Banked],
) -> io::Result<()> {
    let rows: Vec<[String; 9]> = lots.iter().map(|lot| bank_row(settings, lot)).collect();
    let mut widths = BANK_COLUMNS.map(|title| title.chars().count());
    for row in &rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = (*width).max(cell.chars().count());
        }
    }
    line(out, &widths, &BANK_COLUMNS.map(str::to_owned))?;
    for (row, lot) in rows.iter().zip(lots) {
        line(out, &widths, row)?;
        if let Some(enough) = enough_for(settings, lot) {
            writeln!(out, "    enough for {enough}")?;
        }
        if let (Some(fit), Some(wort)) = (&lot.fit, question.wort) {
            writeln!(out, "    for {}: {}", screen::visible(wort), screen::visible(&fit.text))?;
        }
        let lineage = lineage(lot);
        if !lineage.is_empty() {
            writeln!(out, "    {}", screen::visible(&lineage))?;
        }
    }
    Ok(())
}

fn line(out: &mut dyn io::Write, widths: &[usize; 9], cells: &[String; 9]) -> io::Result<()> {
    let mut line = String::from(" ");
    for (width, cell) in widths.iter().zip(cells) {
        line.push_str(&format!(" {cell:width$} "));
    }
    writeln!(out, "{}", line.trim_end())
}

/// A lot of yeast in a line: name, form, what is left, live cells, live share, age, generation, last good day, advice.
#[must_use]
pub fn bank_row(settings: &Settings, lot: &Banked) -> [String; 9] {
    let shown =
        |figure: &Option<Figure>| figure.as_ref().map_or_else(|| "?".to_owned(), |f| with_range(settings, f));
    [
        screen::visible(&lot.name).into_owned(),
        lot.form.to_owned(),
        shown(&lot.left),
        shown(&lot.live_cells),
        shown(&lot.live_share),
        shown(&lot.age),
        lot.generation.map_or_else(|| "?".to_owned(), |generation| generation.to_string()),
        lot.use_by.map_or_else(String::new, |day| {
            let whose = if lot.by_label { ", its best-before" } else { "" };
            format!("{day}{whose}")
        }),
        lot.advice.words().to_owned(),
    ]
}

/// `7.3 (6.5–8.2) L of ale at 1.048 or 3.4 (3.0–3.8) L of lager at 1.052`
#[must_use]
pub fn enough_for(settings: &Settings, lot: &Banked) -> Option<String> {
    let beers =
        lot.enough_for.iter().map(|figure| format!("{} of {}", with_range(settings, figure), figure.name));
    let beers: Vec<String> = beers.collect();
    (!beers.is_empty()).then(|| beers.join(" or "))
}

/// A figure in the measures of the house, with its range and unit: `780 (430–1400) B`.
#[must_use]
pub fn with_range(settings: &Settings, figure: &Figure) -> String {
    let figure = figure.clone().spoken(settings);
    let value = figure.value_text();
    match figure.range_text() {
        Some(range) => format!("{value} ({range}) {}", figure.unit),
        None => with_unit(&value, figure.unit),
    }
}

/// Its strains, and what it was grown from, the nearest first: `tidemill-ale ← slack-water-3 ← tide-s1 ← tide-a`.
#[must_use]
pub fn lineage(lot: &Banked) -> String {
    /// Names of ancestors told one by one; between these and the first of all stands a number.
    const TOLD: usize = 6;
    let mut out = lot.strains.join(" + ");
    let more = lot.descent.len().saturating_sub(TOLD);
    for (step, names) in lot.descent.iter().enumerate() {
        if more > 1 && step == TOLD - 1 {
            out.push_str(&format!(" ← {more} more"));
        }
        if more <= 1 || step < TOLD - 1 || step + 1 == lot.descent.len() {
            out.push_str(" ← ");
            out.push_str(&names.join(" + "));
        }
    }
    out.trim_start().to_owned()
}

#[derive(Serialize)]
struct Document<'a> {
    version: u32,
    banks: Vec<JsonBank<'a>>,
}

#[derive(Serialize)]
struct JsonBank<'a> {
    on: String,
    last_dated_event: bool,
    wort: Option<&'a str>,
    lots: Vec<JsonBanked<'a>>,
}

/// A lot of yeast, as JSON has it.
#[derive(Debug, Serialize)]
pub struct JsonBanked<'a> {
    lot: &'a str,
    form: &'a str,
    file: String,
    line: u32,
    column: u32,
    strains: &'a [String],
    left: Option<json::JsonFigure<'a>>,
    live_cells: Option<json::JsonFigure<'a>>,
    live_share: Option<json::JsonFigure<'a>>,
    age: Option<json::JsonFigure<'a>>,
    generation: Option<u32>,
    descent: &'a [Vec<String>],
    enough_for: Vec<json::JsonFigure<'a>>,
    enough: Option<bool>,
    answer: Option<&'a str>,
    use_by: Option<String>,
    by_label: bool,
    advice: &'a str,
}

/// The same as JSON: `{version, banks: [{on, last_dated_event, wort, lots: [{lot, form, file, line, column, strains, left,
/// live_cells, live_share, age, generation, descent, enough_for, enough, answer, use_by, by_label, advice}]}]}`; `enough`
/// and `answer` are about the wort asked for, `by_label` says that `use_by` is its `best-before`.
///
/// # Errors
/// When `out` cannot be written.
pub fn bank_json(
    out: &mut dyn io::Write,
    question: &BankQuestion<'_>,
    banks: &[SeasonBank<'_>],
) -> io::Result<()> {
    let banks = banks.iter().map(|one| {
        let files = Files::new(&one.season.sources, one.base);
        JsonBank {
            on: one.bank.on.to_string(),
            last_dated_event: !question.day_given,
            wort: question.wort,
            lots: one.bank.lots.iter().map(|lot| json_banked(&files, lot)).collect(),
        }
    });
    json::write(out, &Document { version: json::VERSION, banks: banks.collect() })
}

/// A lot of yeast, as JSON has it.
#[must_use]
pub fn json_banked<'a>(files: &Files<'_>, lot: &'a Banked) -> JsonBanked<'a> {
    let figure = |figure: &'a Option<Figure>| json::figures(figure.as_slice()).pop();
    let at = files.start(lot.place);
    JsonBanked {
        lot: &lot.name,
        form: lot.form,
        file: files.path(lot.place.file),
        line: at.line,
        column: at.column,
        strains: &lot.strains,
        left: figure(&lot.left),
        live_cells: figure(&lot.live_cells),
        live_share: figure(&lot.live_share),
        age: figure(&lot.age),
        generation: lot.generation,
        descent: &lot.descent,
        enough_for: json::figures(&lot.enough_for),
        enough: lot.fit.as_ref().and_then(|fit| fit.enough),
        answer: lot.fit.as_ref().map(|fit| fit.text.as_str()),
        use_by: lot.use_by.map(|day| day.to_string()),
        by_label: lot.by_label,
        advice: lot.advice.words(),
    }
}
