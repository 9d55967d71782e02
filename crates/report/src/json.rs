//! Findings as JSON, for other programs.
//!
//! Lines and columns count from 1, a column is a Unicode character; an end is one past the last character. `start` and
//! `end` of an edit are byte offsets in the file. Numbers are finite, with
//! six significant digits; keys stand in a fixed order.

use std::collections::BTreeSet;
use std::io;

use barm_reckoning::Place;
use barm_rules::{Finding, Fix, Rule};
use serde::Serialize;

use crate::place::Files;
use crate::text::shown;
use crate::{Checked, Tally};

/// Counts up when a key changes its meaning or goes away; a new key may come at any time.
pub const VERSION: u32 = 1;

#[derive(Serialize)]
struct Document<'a> {
    version: u32,
    findings: Vec<JsonFinding<'a>>,
    summary: Summary<'a>,
}

#[derive(Serialize)]
struct Summary<'a> {
    logs: usize,
    read: usize,
    errors: usize,
    warnings: usize,
    notes: usize,
    cautions: usize,
    accepted: usize,
    switched_off: &'a BTreeSet<&'static str>,
    left_out: usize,
}

/// A finding, as JSON has it.
#[derive(Debug, Serialize)]
pub struct JsonFinding<'a> {
    rule: &'a str,
    severity: &'a str,
    certainty: Option<&'a str>,
    lot: Option<&'a str>,
    #[serde(flatten)]
    at: Stretch,
    message: &'a str,
    label: &'a str,
    labels: Vec<JsonLabel<'a>>,
    notes: &'a [String],
    figures: Vec<JsonFigure<'a>>,
    fixes: Vec<JsonFix<'a>>,
}

#[derive(Debug, Serialize)]
struct Stretch {
    file: String,
    line: u32,
    column: u32,
    end_line: u32,
    end_column: u32,
}

#[derive(Debug, Serialize)]
struct JsonLabel<'a> {
    #[serde(flatten)]
    at: Stretch,
    text: &'a str,
}

/// A figure, as JSON has it.
#[derive(Debug, Serialize)]
pub struct JsonFigure<'a> {
    name: &'a str,
    value: f64,
    low: f64,
    high: f64,
    unit: &'a str,
    from: &'a str,
    narrowed_by: Option<&'a str>,
}

#[derive(Debug, Serialize)]
struct JsonFix<'a> {
    title: &'a str,
    safe: bool,
    edits: Vec<JsonEdit<'a>>,
}

#[derive(Debug, Serialize)]
struct JsonEdit<'a> {
    #[serde(flatten)]
    at: Stretch,
    start: u32,
    end: u32,
    text: &'a str,
}

/// Every finding, and the counts: `{version, findings: [{rule, severity, certainty, lot, file, line, column, end_line,
/// end_column, message, label, labels, notes, figures, fixes}], summary}`.
///
/// # Errors
/// When `out` cannot be written.
pub fn json(out: &mut dyn io::Write, checked: &[Checked<'_>]) -> io::Result<()> {
    let tally = Tally::of(checked);
    let mut findings = Vec::new();
    for one in checked {
        let files = Files::new(&one.season.sources, one.base);
        findings.extend(shown(one).map(|one| finding(&files, one)));
    }
    let summary = Summary {
        logs: tally.logs,
        read: tally.read,
        errors: tally.errors,
        warnings: tally.warnings,
        notes: tally.notes,
        cautions: tally.cautions,
        accepted: tally.accepted,
        switched_off: &tally.switched_off,
        left_out: tally.left_out,
    };
    write(out, &Document { version: VERSION, findings, summary })
}

/// A finding, as JSON has it.
#[must_use]
pub fn finding<'a>(files: &Files<'_>, finding: &'a Finding) -> JsonFinding<'a> {
    JsonFinding {
        rule: finding.rule,
        severity: finding.level.word(),
        certainty: finding.certainty.map(|certainty| certainty.word()),
        lot: finding.lot.as_deref(),
        at: stretch(files, finding.place),
        message: &finding.message,
        label: &finding.label,
        labels: finding
            .labels
            .iter()
            .map(|label| JsonLabel { at: stretch(files, label.place), text: &label.text })
            .collect(),
        notes: &finding.notes,
        figures: figures(&finding.figures),
        fixes: finding.fixes.iter().map(|one| fix(files, one)).collect(),
    }
}

fn fix<'a>(files: &Files<'_>, fix: &'a Fix) -> JsonFix<'a> {
    let edits = fix
        .edits
        .iter()
        .map(|edit| JsonEdit {
            at: stretch(files, Place { file: fix.file, span: edit.span }),
            start: edit.span.start,
            end: edit.span.end,
            text: &edit.text,
        })
        .collect();
    JsonFix { title: &fix.title, safe: fix.safe, edits }
}

fn stretch(files: &Files<'_>, place: Place) -> Stretch {
    let (start, end) = (files.start(place), files.position(place.file, place.span.end));
    Stretch {
        file: files.path(place.file),
        line: start.line,
        column: start.column,
        end_line: end.line,
        end_column: end.column,
    }
}

/// Figures whose numbers JSON can write.
#[must_use]
pub fn figures(figures: &[barm_reckoning::Figure]) -> Vec<JsonFigure<'_>> {
    figures
        .iter()
        .filter(|figure| [figure.value, figure.low, figure.high].iter().all(|number| number.is_finite()))
        .map(|figure| JsonFigure {
            name: figure.name,
            value: six_digits(figure.value),
            low: six_digits(figure.low),
            high: six_digits(figure.high),
            unit: figure.unit,
            from: &figure.from,
            narrowed_by: figure.narrowed_by.as_deref(),
        })
        .collect()
}

/// Six significant digits: no figure of a brew is known better, and 1.0490000000000002 is nothing to read.
#[must_use]
pub fn six_digits(value: f64) -> f64 {
    format!("{value:.5e}").parse().unwrap_or(value)
}

#[derive(Serialize)]
struct JsonRules<'a> {
    version: u32,
    rules: Vec<JsonRule<'a>>,
}

#[derive(Serialize)]
struct JsonRule<'a> {
    rule: &'a str,
    severity: &'a str,
    page: &'a str,
}

/// The rules and their pages: `{version, rules: [{rule, severity, page}]}`.
///
/// # Errors
/// When `out` cannot be written.
pub fn rules_json(out: &mut dyn io::Write, rules: &[&dyn Rule]) -> io::Result<()> {
    let rules = rules
        .iter()
        .map(|rule| JsonRule { rule: rule.name(), severity: rule.level().word(), page: rule.page() })
        .collect();
    write(out, &JsonRules { version: VERSION, rules })
}

/// Writes a document, indented, a line's end behind it.
///
/// # Errors
/// When `out` cannot be written.
pub fn write(out: &mut dyn io::Write, document: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer_pretty(&mut *out, document)?;
    writeln!(out)
}
