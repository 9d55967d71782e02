//! Findings as JSON, for other programs.
//!
//! Lines and columns count from 1, a column is a Unicode character; an end is one past the last character. `start` and
//! `end` of an edit are byte offsets in the file. Numbers are finite, with
//! six significant digits; keys stand in a fixed order.

use std::collections::BTreeSet;
use std::io;

use barm_reckoning::Place;
use barm_rules::quote::hidden;
use barm_rules::{Finding, Fix, Rule};
use serde::Serialize;
use serde_json::ser::{CompactFormatter, Formatter, PrettyFormatter, Serializer};

use crate::place::Files;
use crate::{Checked, Tally, shown};

/// Counts up when a key changes its meaning or goes away; a new key may come at any time.
pub const VERSION: u32 = 1;

#[derive(Serialize)]
struct Document<'a> {
    version: u32,
    findings: Vec<JsonFinding<'a>>,
    summary: Summary<'a>,
}

#[derive(Serialize)]
struct LastLine<'a> {
    version: u32,
    summary: Summary<'a>,
}

/// What was counted, as all forms for programs have it.
#[derive(Serialize)]
pub(crate) struct Summary<'a> {
    logs: usize,
    read: usize,
    errors: usize,
    warnings: usize,
    notes: usize,
    cautions: usize,
    accepted: usize,
    known: usize,
    unchanged: usize,
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
    write(out, &Document { version: VERSION, findings, summary: Summary::of(&tally) })
}

/// The same a line at a time, for programs that do not want to wait for the end: each finding an object on a line of
/// its own, as in [`json()`], then `{version, summary}`.
///
/// # Errors
/// When `out` cannot be written.
pub fn ndjson(out: &mut dyn io::Write, checked: &[Checked<'_>]) -> io::Result<()> {
    for one in checked {
        let files = Files::new(&one.season.sources, one.base);
        shown(one).try_for_each(|one| write_line(out, &finding(&files, one)))?;
    }
    let tally = Tally::of(checked);
    write_line(out, &LastLine { version: VERSION, summary: Summary::of(&tally) })
}

impl<'a> Summary<'a> {
    pub(crate) fn of(tally: &'a Tally) -> Self {
        Self {
            logs: tally.logs,
            read: tally.read,
            errors: tally.errors,
            warnings: tally.warnings,
            notes: tally.notes,
            cautions: tally.cautions,
            accepted: tally.accepted,
            known: tally.known,
            unchanged: tally.unchanged,
            switched_off: &tally.switched_off,
            left_out: tally.left_out,
        }
    }
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
    let safe = Safe(PrettyFormatter::new());
    document.serialize(&mut Serializer::with_formatter(&mut *out, safe))?;
    writeln!(out)
}

/// Writes a document on one line.
pub(crate) fn write_line(out: &mut dyn io::Write, document: &impl Serialize) -> io::Result<()> {
    document.serialize(&mut Serializer::with_formatter(&mut *out, Safe(CompactFormatter)))?;
    writeln!(out)
}

/// JSON that says the same and may be shown on a terminal, or go through the log of a CI service: characters that are
/// not seen are written as `\u` escapes, and so is the second sign of `##`, which opens a command there.
struct Safe<F>(F);

impl<F: Formatter> Formatter for Safe<F> {
    fn write_string_fragment<W: ?Sized + io::Write>(&mut self, out: &mut W, text: &str) -> io::Result<()> {
        let mut rest = text;
        let mut before = '\0';
        for (at, c) in text.char_indices() {
            if hidden(c) || (before == '#' && c == '#') {
                let (plain, from) = text.split_at(at);
                out.write_all(plain.get(text.len() - rest.len()..).unwrap_or("").as_bytes())?;
                let mut units = [0; 2];
                for unit in c.encode_utf16(&mut units) {
                    write!(out, "\\u{unit:04x}")?;
                }
                rest = from.get(c.len_utf8()..).unwrap_or("");
            }
            before = c;
        }
        out.write_all(rest.as_bytes())
    }

    fn begin_array<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.begin_array(out)
    }
    fn end_array<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.end_array(out)
    }
    fn begin_array_value<W: ?Sized + io::Write>(&mut self, out: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_array_value(out, first)
    }
    fn end_array_value<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.end_array_value(out)
    }
    fn begin_object<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.begin_object(out)
    }
    fn end_object<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.end_object(out)
    }
    fn begin_object_key<W: ?Sized + io::Write>(&mut self, out: &mut W, first: bool) -> io::Result<()> {
        self.0.begin_object_key(out, first)
    }
    fn begin_object_value<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.begin_object_value(out)
    }
    fn end_object_value<W: ?Sized + io::Write>(&mut self, out: &mut W) -> io::Result<()> {
        self.0.end_object_value(out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_seen_is_escaped_and_nothing_is_lost() {
        let text = "a\u{1b}\u{7f}\u{9b}[2J \u{202e}b\u{e0041} ###[x] \"é\\ 麦";
        for pretty in [true, false] {
            let mut out = Vec::new();
            if pretty { write(&mut out, &text) } else { write_line(&mut out, &text) }.unwrap();
            let json = String::from_utf8(out).unwrap();
            assert_eq!(
                json,
                "\"a\\u001b\\u007f\\u009b[2J \\u202eb\\udb40\\udc41 #\\u0023\\u0023[x] \\\"é\\\\ 麦\"\n"
            );
            assert_eq!(serde_json::from_str::<String>(&json).unwrap(), text);
        }
    }
}
