//! The figures of lots, as a table and as JSON.

use std::io;

use barm_reckoning::{Figure, LotFigures, Season, unit_of};
use serde::Serialize;

use crate::place::{Files, Position};
use crate::{Base, json, screen};

/// Lots of one workspace.
#[derive(Debug, Clone, Copy)]
pub struct SeasonFigures<'a> {
    /// The workspace.
    pub season: &'a Season,
    /// The folder that the user stands in.
    pub base: &'a Base,
    /// Their figures.
    pub lots: &'a [LotFigures],
}

/// A table for each lot: figure, value, range, unit, how it was reckoned.
///
/// # Errors
/// When `out` cannot be written.
pub fn figures_text(out: &mut dyn io::Write, seasons: &[SeasonFigures<'_>]) -> io::Result<()> {
    let mut all = seasons.iter().flat_map(|one| one.lots).flat_map(|lot| &lot.figures);
    if all.any(|figure| counts_cells(figure.unit)) {
        writeln!(out, "Cells are counted in B (thousand million).\n")?;
    }
    let mut first = true;
    for (season, lot) in seasons.iter().flat_map(|one| one.lots.iter().map(move |lot| (one, lot))) {
        let files = Files::new(&season.season.sources, season.base);
        if !std::mem::take(&mut first) {
            writeln!(out)?;
        }
        let title = lot.title.as_deref().map(|title| format!(" \"{}\"", screen::visible(title)));
        let path = files.path(lot.place.file);
        let (name, title) = (screen::visible(&lot.lot), title.unwrap_or_default());
        let line = files.start(lot.place).line;
        writeln!(out, "{} {name}{title}, {}:{line}", lot.kind, screen::visible(&path))?;
        let spoken = lot.figures.iter().map(|figure| figure.clone().spoken(&season.season.settings));
        table(out, &spoken.collect::<Vec<Figure>>())?;
        for missing in &lot.missing {
            writeln!(out, "  not reckoned: {}", screen::visible(missing))?;
        }
    }
    Ok(())
}

/// `B`, `B/mL`, `B/g`
fn counts_cells(unit: &str) -> bool {
    unit.split('/').next() == Some("B")
}

fn table(out: &mut dyn io::Write, figures: &[Figure]) -> io::Result<()> {
    let rows: Vec<[String; 5]> = figures.iter().map(row).collect();
    let mut widths = [0; 4];
    for row in &rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = (*width).max(cell.chars().count());
        }
    }
    let [name, value, range, unit] = widths;
    for [a, b, c, d, how] in &rows {
        let line = format!("  {a:name$}  {b:>value$}  {c:range$}  {d:unit$}  {how}");
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(())
}

fn row(figure: &Figure) -> [String; 5] {
    let mut how = screen::visible(&figure.from).into_owned();
    // Worth a measurement only where the range is wide.
    if let Some(by) = &figure.narrowed_by
        && figure.high > 1.5 * figure.low
    {
        how.push_str(&format!("; least known: {}", screen::visible(by)));
    }
    let value = figure.value_text();
    let unit = unit_of(&value, figure.unit).to_owned();
    [figure.name.replace('-', " "), value, figure.range_text().unwrap_or_default(), unit, how]
}

#[derive(Serialize)]
struct Document<'a> {
    version: u32,
    lots: Vec<Lot<'a>>,
}

#[derive(Serialize)]
struct Lot<'a> {
    lot: &'a str,
    kind: &'a str,
    title: Option<&'a str>,
    file: String,
    line: u32,
    column: u32,
    figures: Vec<json::JsonFigure<'a>>,
    missing: &'a [String],
}

/// The same as JSON: `{version, lots: [{lot, kind, title, file, line, column, figures, missing}]}`.
///
/// # Errors
/// When `out` cannot be written.
pub fn figures_json(out: &mut dyn io::Write, seasons: &[SeasonFigures<'_>]) -> io::Result<()> {
    let mut lots = Vec::new();
    for SeasonFigures { season, base, lots: of_season } in seasons {
        let files = Files::new(&season.sources, base);
        lots.extend(of_season.iter().map(|lot| {
            let Position { line, column } = files.start(lot.place);
            Lot {
                lot: &lot.lot,
                kind: lot.kind,
                title: lot.title.as_deref(),
                file: files.path(lot.place.file),
                line,
                column,
                figures: json::figures(&lot.figures),
                missing: &lot.missing,
            }
        }));
    }
    json::write(out, &Document { version: json::VERSION, lots })
}
