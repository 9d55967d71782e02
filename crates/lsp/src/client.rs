//! What the client said that it can do.

use tower_lsp::lsp_types::{ClientCapabilities, InitializeParams};

use crate::text::Encoding;

/// What the client said that it can do, as far as it makes a difference to us.
#[derive(Debug, Clone, Copy)]
#[expect(clippy::struct_excessive_bools, reason = "each is a capability of the protocol")]
pub(crate) struct Abilities {
    pub(crate) encoding: Encoding,
    /// It asks for diagnostics; otherwise they are sent.
    pub(crate) pulls: bool,
    pub(crate) refreshes_diagnostics: bool,
    pub(crate) refreshes_hints: bool,
    pub(crate) refreshes_lenses: bool,
    pub(crate) related: bool,
    pub(crate) versioned_edits: bool,
    pub(crate) snippets: bool,
    pub(crate) markdown: bool,
    pub(crate) outline: bool,
    pub(crate) literal_actions: bool,
    pub(crate) registers_watchers: bool,
    pub(crate) registers_configuration: bool,
    /// It can be asked for its user's settings.
    pub(crate) configuration: bool,
    pub(crate) progress: bool,
    pub(crate) lines_only_folding: bool,
}

impl Abilities {
    pub(crate) fn of(params: &InitializeParams) -> Self {
        let ClientCapabilities { workspace, text_document, window, general, .. } = &params.capabilities;
        let (workspace, text, window) = (workspace.as_ref(), text_document.as_ref(), window.as_ref());
        let offered = general.as_ref().and_then(|general| general.position_encodings.as_deref());
        let yes = |flag: Option<bool>| flag.unwrap_or(false);
        let item = text.and_then(|t| t.completion.as_ref()?.completion_item.as_ref());
        let formats = text.and_then(|t| t.hover.as_ref()?.content_format.as_ref());
        Self {
            encoding: Encoding::negotiated(offered),
            pulls: text.is_some_and(|t| t.diagnostic.is_some()),
            refreshes_diagnostics: yes(workspace.and_then(|w| w.diagnostic.as_ref()?.refresh_support)),
            refreshes_hints: yes(workspace.and_then(|w| w.inlay_hint.as_ref()?.refresh_support)),
            refreshes_lenses: yes(workspace.and_then(|w| w.code_lens.as_ref()?.refresh_support)),
            related: yes(text.and_then(|t| t.publish_diagnostics.as_ref()?.related_information)),
            versioned_edits: yes(workspace.and_then(|w| w.workspace_edit.as_ref()?.document_changes)),
            snippets: yes(item.and_then(|item| item.snippet_support)),
            markdown: formats.is_some_and(|f| f.contains(&tower_lsp::lsp_types::MarkupKind::Markdown)),
            outline: yes(text.and_then(|t| t.document_symbol.as_ref()?.hierarchical_document_symbol_support)),
            literal_actions: text.is_some_and(|t| {
                t.code_action.as_ref().is_some_and(|a| a.code_action_literal_support.is_some())
            }),
            registers_watchers: yes(
                workspace.and_then(|w| w.did_change_watched_files.as_ref()?.dynamic_registration)
            ),
            registers_configuration: yes(
                workspace.and_then(|w| w.did_change_configuration.as_ref()?.dynamic_registration)
            ),
            configuration: yes(workspace.and_then(|w| w.configuration)),
            progress: yes(window.and_then(|w| w.work_done_progress)),
            lines_only_folding: yes(text.and_then(|t| t.folding_range.as_ref()?.line_folding_only)),
        }
    }
}
