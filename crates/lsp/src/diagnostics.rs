//! Findings as the protocol has them, sent or asked for.

use std::collections::HashSet;
use std::hash::{DefaultHasher, Hash as _, Hasher as _};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;
use std::time::Duration;

use barm_ide::{Part, Path};
use barm_reckoning::SettingsError;
use barm_rules::{Finding, Level};
use barm_syntax::Span;
use tower_lsp::lsp_types::{
    Diagnostic, DiagnosticRelatedInformation, DiagnosticSeverity, DiagnosticTag, DocumentDiagnosticParams,
    DocumentDiagnosticReport, DocumentDiagnosticReportResult, FullDocumentDiagnosticReport, NumberOrString,
    RelatedFullDocumentDiagnosticReport, RelatedUnchangedDocumentDiagnosticReport,
    UnchangedDocumentDiagnosticReport, WorkspaceDiagnosticParams, WorkspaceDiagnosticReport,
    WorkspaceDiagnosticReportResult, WorkspaceDocumentDiagnosticReport,
    WorkspaceFullDocumentDiagnosticReport, WorkspaceUnchangedDocumentDiagnosticReport,
};

use crate::client::Abilities;
use crate::owner::{Event, Queue};
use crate::text::{Table, Text};
use crate::view::{Answer, View};

const SOURCE: &str = "barm";
/// After a keystroke an editor asks for a good deal, and wants it at once: what nobody looks at waits for so long.
const GIVES_WAY: Duration = Duration::from_millis(10);

/// What was found in one file.
pub(crate) struct Checked {
    pub(crate) path: Path,
    pub(crate) stamp: u64,
    pub(crate) version: Option<i32>,
    pub(crate) mark: u64,
    pub(crate) diagnostics: Vec<Diagnostic>,
}

/// What a round goes through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Of {
    /// What somebody looks at: said file by file, and stopped when the workspace has changed.
    Open,
    /// A few of the other files: said together, and slowly while somebody types.
    Rest,
}

/// A round through the files of which something is to be said.
pub(crate) struct Round {
    pub(crate) house: usize,
    pub(crate) of: Of,
    pub(crate) view: View,
    pub(crate) order: Vec<Path>,
    pub(crate) revision: Arc<AtomicU64>,
    pub(crate) queue: Queue,
}

impl Round {
    /// Looks at one file after the other.
    pub(crate) fn run(self) {
        let Self { house, of, view, order, revision, queue } = self;
        let begun = revision.load(Ordering::SeqCst);
        let is_stopped = || of == Of::Open && revision.load(Ordering::SeqCst) != begun;
        let mut ready = Vec::new();
        let mut files = order.into_iter();
        let mut seen = begun;
        while !is_stopped()
            && let Some(path) = files.next()
        {
            let before = std::mem::replace(&mut seen, revision.load(Ordering::SeqCst));
            if seen != before {
                thread::sleep(GIVES_WAY);
            }
            match catch_unwind(AssertUnwindSafe(|| check(&view, &path))) {
                Ok(checked) => ready.extend(checked),
                Err(_) => queue.send(Event::Panicked(format!("while looking at {path}"))),
            }
            if of == Of::Open {
                queue.send(Event::Checked(house, std::mem::take(&mut ready)));
            }
        }
        queue.send(Event::Checked(house, ready));
        queue.send(Event::RoundDone(house, of, files.collect()));
    }
}

fn check(view: &View, path: &Path) -> Option<Checked> {
    let stamp = view.world.stamp(path);
    let diagnostics = of_file(view, path)?;
    let mut mark = DefaultHasher::new();
    for diagnostic in &diagnostics {
        serde_json::to_string(diagnostic).unwrap_or_default().hash(&mut mark);
    }
    let version = view.version(path);
    Some(Checked { path: Arc::clone(path), stamp, version, mark: mark.finish(), diagnostics })
}

/// The diagnostics of a file.
fn of_file(view: &View, path: &str) -> Option<Vec<Diagnostic>> {
    let part = view.world.part(path)?;
    let findings = part.findings(path);
    if findings.is_empty() {
        return Some(Vec::new());
    }
    let text = Table::new(&view.world.file(path)?.text, view.client.encoding);
    Some(findings.iter().map(|finding| of_finding(view, &part, &text, finding)).collect())
}

/// A finding, in the words in which every output tells it.
fn of_finding(view: &View, part: &Part, text: &Table<'_>, finding: &Finding) -> Diagnostic {
    let mut message = finding.message.clone();
    for note in &finding.notes {
        message.push_str("\n• ");
        message.push_str(note);
    }
    let related = finding.labels.iter().filter_map(|label| {
        let location = view.location(part.path(label.place.file)?, label.place.span)?;
        Some(DiagnosticRelatedInformation { location, message: label.text.clone() })
    });
    let related: Vec<_> = if view.client.related { related.collect() } else { Vec::new() };
    Diagnostic {
        range: text.lines(finding.place.span),
        severity: Some(severity(finding.level)),
        code: Some(NumberOrString::String(finding.rule.to_owned())),
        source: Some(SOURCE.to_owned()),
        message,
        related_information: Some(related).filter(|related| !related.is_empty()),
        tags: (view.client.tags_unnecessary && finding.rule == "idle-acceptance")
            .then(|| vec![DiagnosticTag::UNNECESSARY]),
        ..Diagnostic::default()
    }
}

const fn severity(level: Level) -> DiagnosticSeverity {
    match level {
        Level::Error => DiagnosticSeverity::ERROR,
        Level::Warning => DiagnosticSeverity::WARNING,
        Level::Note => DiagnosticSeverity::INFORMATION,
        Level::Figure | Level::Off => DiagnosticSeverity::HINT,
    }
}

/// What is wrong with the settings.
pub(crate) fn of_settings(client: Abilities, text: &str, fault: &SettingsError) -> Diagnostic {
    Diagnostic {
        range: Text::new(text, client.encoding).lines(Span::of(fault.span.clone())),
        severity: Some(DiagnosticSeverity::ERROR),
        source: Some(SOURCE.to_owned()),
        message: fault.message.clone(),
        ..Diagnostic::default()
    }
}

// --- Asked for

fn stamped(view: &View, path: &str) -> String {
    // Stamps of two workspaces may be the same.
    format!("{}.{}", view.house, view.world.stamp(path))
}

/// `textDocument/diagnostic`
pub(crate) fn document(
    view: &View,
    params: &DocumentDiagnosticParams,
) -> Answer<Option<DocumentDiagnosticReportResult>> {
    let result_id = stamped(view, &view.path);
    if params.previous_result_id.as_ref() == Some(&result_id) {
        let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id };
        let report = RelatedUnchangedDocumentDiagnosticReport {
            related_documents: None,
            unchanged_document_diagnostic_report,
        };
        return Ok(Some(DocumentDiagnosticReportResult::Report(DocumentDiagnosticReport::Unchanged(report))));
    }
    let items = of_file(view, &view.path).unwrap_or_default();
    let full = FullDocumentDiagnosticReport { result_id: Some(result_id), items };
    Ok(Some(full_report(full)))
}

/// Nothing is said of a document that is not known, or with which the server has lost step.
pub(crate) fn none() -> DocumentDiagnosticReportResult {
    full_report(FullDocumentDiagnosticReport::default())
}

const fn full_report(
    full_document_diagnostic_report: FullDocumentDiagnosticReport,
) -> DocumentDiagnosticReportResult {
    let report =
        RelatedFullDocumentDiagnosticReport { related_documents: None, full_document_diagnostic_report };
    DocumentDiagnosticReportResult::Report(DocumentDiagnosticReport::Full(report))
}

/// `workspace/diagnostic`
pub(crate) fn workspace(
    views: &[View],
    params: &WorkspaceDiagnosticParams,
) -> WorkspaceDiagnosticReportResult {
    let mut items = Vec::new();
    let mut told = HashSet::new();
    for view in views {
        for (path, _) in view.world.files() {
            let Some(uri) = view.url(path) else { continue };
            told.insert(uri.clone());
            let version = view.version(path).map(i64::from);
            let result_id = stamped(view, path);
            let known =
                params.previous_result_ids.iter().any(|known| known.uri == uri && known.value == result_id);
            items.push(if known {
                WorkspaceDocumentDiagnosticReport::Unchanged(WorkspaceUnchangedDocumentDiagnosticReport {
                    uri,
                    version,
                    unchanged_document_diagnostic_report: UnchangedDocumentDiagnosticReport { result_id },
                })
            } else {
                let items = of_file(view, path).unwrap_or_default();
                WorkspaceDocumentDiagnosticReport::Full(WorkspaceFullDocumentDiagnosticReport {
                    uri,
                    version,
                    full_document_diagnostic_report: FullDocumentDiagnosticReport {
                        result_id: Some(result_id),
                        items,
                    },
                })
            });
        }
    }
    // What the client was told of a file that is gone is taken back.
    for gone in params.previous_result_ids.iter().filter(|known| !told.contains(&known.uri)) {
        items.push(WorkspaceDocumentDiagnosticReport::Full(WorkspaceFullDocumentDiagnosticReport {
            uri: gone.uri.clone(),
            version: None,
            full_document_diagnostic_report: FullDocumentDiagnosticReport::default(),
        }));
    }
    WorkspaceDiagnosticReportResult::Report(WorkspaceDiagnosticReport { items })
}
