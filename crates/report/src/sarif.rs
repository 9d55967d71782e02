//! Findings as SARIF 2.1.0 (OASIS Standard, 27 March 2020), for services that collect what linters say.
//!
//! The structs are our own: barm writes some thirty of the standard's three hundred properties, and a library that is
//! generated from the schema is longer to build than all of this is to read. The schema itself has the last word: the
//! output is checked against it.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io;

use barm_reckoning::Place;
use barm_rules::{Finding, Fix, Level, Rule, quote};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Serialize;

use crate::fingerprint::{SCHEME, fingerprints};
use crate::json::{self, JsonFigure, Summary};
use crate::place::Files;
use crate::{Checked, Tally, screen, summary};

const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// What a path keeps as it is in a URI; a colon would make a scheme of what stands before it.
const IN_PATH: &AsciiSet = &NON_ALPHANUMERIC.remove(b'/').remove(b'-').remove(b'.').remove(b'_').remove(b'~');

#[derive(Serialize)]
struct Log<'a> {
    #[serde(rename = "$schema")]
    schema: &'static str,
    version: &'static str,
    runs: [Run<'a>; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Run<'a> {
    tool: Tool<'a>,
    column_kind: &'static str,
    results: Vec<SarifResult<'a>>,
    properties: RunProperties<'a>,
}

#[derive(Serialize)]
struct RunProperties<'a> {
    summary: Summary<'a>,
}

#[derive(Serialize)]
struct Tool<'a> {
    driver: Driver<'a>,
}

#[derive(Serialize)]
struct Driver<'a> {
    name: &'static str,
    version: &'static str,
    rules: Vec<Descriptor<'a>>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Descriptor<'a> {
    id: &'a str,
    short_description: Message<'a>,
    help: Message<'a>,
    default_configuration: Configuration,
}

#[derive(Serialize)]
struct Configuration {
    level: &'static str,
}

#[derive(Serialize)]
struct Message<'a> {
    text: Cow<'a, str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    markdown: Option<Cow<'a, str>>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct SarifResult<'a> {
    rule_id: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    rule_index: Option<usize>,
    level: &'static str,
    message: Message<'a>,
    locations: [Location; 1],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    related_locations: Vec<Location>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    fixes: Vec<SarifFix<'a>>,
    partial_fingerprints: BTreeMap<&'static str, String>,
    properties: Properties<'a>,
}

#[derive(Serialize)]
struct Properties<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    certainty: Option<&'static str>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    figures: Vec<JsonFigure<'a>>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Location {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<usize>,
    physical_location: PhysicalLocation,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    logical_locations: Vec<LogicalLocation>,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<Message<'static>>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct PhysicalLocation {
    artifact_location: ArtifactLocation,
    region: Region,
}

#[derive(Serialize)]
struct LogicalLocation {
    name: String,
}

#[derive(Serialize)]
struct ArtifactLocation {
    uri: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Region {
    start_line: u32,
    start_column: u32,
    end_line: u32,
    end_column: u32,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct SarifFix<'a> {
    description: Message<'static>,
    artifact_changes: [Change<'a>; 1],
    properties: FixProperties,
}

#[derive(Serialize)]
struct FixProperties {
    safe: bool,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Change<'a> {
    artifact_location: ArtifactLocation,
    replacements: Vec<Replacement<'a>>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Replacement<'a> {
    deleted_region: Region,
    inserted_content: Content<'a>,
}

#[derive(Serialize)]
struct Content<'a> {
    text: &'a str,
}

/// Every finding, with the rules that can speak; the counts stand in the run's properties.
///
/// # Errors
/// When `out` cannot be written.
pub fn sarif(out: &mut dyn io::Write, checked: &[Checked<'_>]) -> io::Result<()> {
    let tally = Tally::of(checked);
    let rules = barm_rules::rules();
    let mut results = Vec::new();
    for one in checked {
        let files = Files::new(&one.season.sources, one.base);
        let prints = fingerprints(one.season, &one.report.findings);
        let shown = one.report.findings.iter().zip(prints).filter(|(finding, _)| crate::is_shown(finding));
        results.extend(shown.map(|(finding, print)| result(&files, rules, finding, print)));
    }
    let run = Run {
        tool: Tool {
            driver: Driver {
                name: "barm",
                version: env!("CARGO_PKG_VERSION"),
                rules: rules.iter().map(|rule| descriptor(*rule)).collect(),
            },
        },
        column_kind: "unicodeCodePoints",
        results,
        properties: RunProperties { summary: Summary::of(&tally) },
    };
    json::write(out, &Log { schema: SCHEMA, version: "2.1.0", runs: [run] })
}

fn descriptor(rule: &dyn Rule) -> Descriptor<'_> {
    Descriptor {
        id: rule.name(),
        short_description: Message { text: Cow::Owned(summary(rule)), markdown: None },
        help: Message { text: Cow::Borrowed(rule.page()), markdown: Some(Cow::Borrowed(rule.page())) },
        default_configuration: Configuration { level: level(rule.level()) },
    }
}

fn result<'a>(
    files: &Files<'_>,
    rules: &[&dyn Rule],
    finding: &'a Finding,
    print: String,
) -> SarifResult<'a> {
    let lot = finding.lot.iter().map(|lot| LogicalLocation { name: screen::visible(lot).into_owned() });
    let related = finding.labels.iter().enumerate().map(|(id, label)| Location {
        id: Some(id),
        physical_location: place(files, label.place),
        logical_locations: Vec::new(),
        message: Some(message(&label.text, &[])),
    });
    SarifResult {
        rule_id: finding.rule,
        rule_index: rules.iter().position(|rule| rule.name() == finding.rule),
        level: level(finding.level),
        message: message(&finding.message, &finding.notes),
        locations: [Location {
            id: None,
            physical_location: place(files, finding.place),
            logical_locations: lot.collect(),
            message: if finding.label.is_empty() { None } else { Some(message(&finding.label, &[])) },
        }],
        related_locations: related.collect(),
        fixes: finding.fixes.iter().map(|one| fix(files, one)).collect(),
        partial_fingerprints: BTreeMap::from([(SCHEME, print)]),
        properties: Properties {
            certainty: finding.certainty.map(|certainty| certainty.word()),
            figures: json::figures(&finding.figures),
        },
    }
}

/// A sentence and what is to be said below it, for viewers that know Markdown and for those that do not.
fn message(sentence: &str, notes: &[String]) -> Message<'static> {
    // In plain text, too, SARIF takes `[words](place)` for a link (section 3.11.6); log text must not make one.
    let mut text = screen::visible(sentence).replace("](", "] (");
    let mut markdown = quote::plain(&screen::visible(sentence));
    for (count, note) in notes.iter().flat_map(|note| note.lines()).enumerate() {
        let note = screen::visible(note);
        text.push('\n');
        text.push_str(&note.replace("](", "] ("));
        markdown.push_str(if count == 0 { "\n\n- " } else { "\n- " });
        markdown.push_str(&quote::plain(&note));
    }
    Message { text: Cow::Owned(text), markdown: Some(Cow::Owned(markdown)) }
}

fn fix<'a>(files: &Files<'_>, fix: &'a Fix) -> SarifFix<'a> {
    let replacement = |edit: &'a barm_syntax::Edit| Replacement {
        deleted_region: region(files, Place { file: fix.file, span: edit.span }),
        inserted_content: Content { text: &edit.text },
    };
    SarifFix {
        description: message(&fix.title, &[]),
        artifact_changes: [Change {
            artifact_location: ArtifactLocation { uri: uri(&files.path(fix.file)) },
            replacements: fix.edits.iter().map(replacement).collect(),
        }],
        properties: FixProperties { safe: fix.safe },
    }
}

fn place(files: &Files<'_>, place: Place) -> PhysicalLocation {
    PhysicalLocation {
        artifact_location: ArtifactLocation { uri: uri(&files.path(place.file)) },
        region: region(files, place),
    }
}

fn region(files: &Files<'_>, place: Place) -> Region {
    let (start, end) = (files.start(place), files.position(place.file, place.span.end));
    Region { start_line: start.line, start_column: start.column, end_line: end.line, end_column: end.column }
}

/// A relative path stays one, so that a service finds the file in its checkout.
fn uri(path: &str) -> String {
    let scheme = if path.starts_with('/') { "file://" } else { "" };
    format!("{scheme}{}", utf8_percent_encode(path, IN_PATH))
}

fn level(level: Level) -> &'static str {
    match level {
        Level::Error => "error",
        Level::Warning => "warning",
        Level::Note => "note",
        Level::Figure | Level::Off => "none",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_is_no_scheme_and_no_query() {
        assert_eq!(uri("ales/fen 12?.barm"), "ales/fen%2012%3F.barm");
        assert_eq!(uri("x:y#z%.barm"), "x%3Ay%23z%25.barm");
        assert_eq!(uri("../naïve\n.barm"), "../na%C3%AFve%0A.barm");
        assert_eq!(uri("/srv/a.barm"), "file:///srv/a.barm");
    }

    #[test]
    fn log_text_makes_no_link() {
        let message = message("there is no jar `[a](b)` or [c](command:d)", &["![e](f)\n<g>".to_owned()]);
        assert_eq!(message.text, "there is no jar `[a] (b)` or [c] (command:d)\n![e] (f)\n<g>");
        assert_eq!(
            message.markdown.as_deref(),
            Some("there is no jar `[a](b)` or \\[c\\](command:d)\n\n- \\!\\[e\\](f)\n- \\<g\\>")
        );
    }
}
