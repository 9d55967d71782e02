//! What the client said that it can do.

use tower_lsp::lsp_types::{
    ClientCapabilities, CompletionItemKind, DiagnosticTag, InitializeParams, MarkupKind, SymbolKind,
    SymbolKindCapability,
};

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
    pub(crate) tags_unnecessary: bool,
    pub(crate) versioned_edits: bool,
    pub(crate) snippets: bool,
    /// It knows the kinds that came after the protocol's first version; without, only those of the first may be said.
    pub(crate) late_completion_kinds: bool,
    pub(crate) late_symbol_kinds: bool,
    pub(crate) late_workspace_symbol_kinds: bool,
    pub(crate) markdown: bool,
    pub(crate) outline: bool,
    pub(crate) literal_actions: bool,
    pub(crate) preferred_actions: bool,
    pub(crate) prepares_renames: bool,
    pub(crate) registers_watchers: bool,
    pub(crate) registers_configuration: bool,
    /// It can be asked for its user's settings.
    pub(crate) configuration: bool,
    pub(crate) progress: bool,
    pub(crate) lines_only_folding: bool,
}

/// Those of the later kinds that we have a use for.
const LATE_COMPLETION_KINDS: [CompletionItemKind; 3] =
    [CompletionItemKind::STRUCT, CompletionItemKind::ENUM_MEMBER, CompletionItemKind::CONSTANT];
const LATE_SYMBOL_KINDS: [SymbolKind; 3] = [SymbolKind::OBJECT, SymbolKind::STRUCT, SymbolKind::EVENT];

impl Abilities {
    pub(crate) fn of(params: &InitializeParams) -> Self {
        let ClientCapabilities { workspace, text_document, window, general, .. } = &params.capabilities;
        let (workspace, text, window) = (workspace.as_ref(), text_document.as_ref(), window.as_ref());
        let offered = general.as_ref().and_then(|general| general.position_encodings.as_deref());
        let yes = |flag: Option<bool>| flag.unwrap_or(false);
        let item = text.and_then(|t| t.completion.as_ref()?.completion_item.as_ref());
        let kinds =
            text.and_then(|t| t.completion.as_ref()?.completion_item_kind.as_ref()?.value_set.as_ref());
        let late = |kinds: Option<&SymbolKindCapability>| {
            let known = kinds.and_then(|kinds| kinds.value_set.as_ref());
            known.is_some_and(|known| LATE_SYMBOL_KINDS.iter().all(|kind| known.contains(kind)))
        };
        let published = text.and_then(|t| t.publish_diagnostics.as_ref());
        let formats = text.and_then(|t| t.hover.as_ref()?.content_format.as_ref());
        Self {
            encoding: Encoding::negotiated(offered),
            pulls: text.is_some_and(|t| t.diagnostic.is_some()),
            refreshes_diagnostics: yes(workspace.and_then(|w| w.diagnostic.as_ref()?.refresh_support)),
            refreshes_hints: yes(workspace.and_then(|w| w.inlay_hint.as_ref()?.refresh_support)),
            refreshes_lenses: yes(workspace.and_then(|w| w.code_lens.as_ref()?.refresh_support)),
            related: yes(published.and_then(|p| p.related_information)),
            tags_unnecessary: published
                .and_then(|p| p.tag_support.as_ref())
                .is_some_and(|tags| tags.value_set.contains(&DiagnosticTag::UNNECESSARY)),
            versioned_edits: yes(workspace.and_then(|w| w.workspace_edit.as_ref()?.document_changes)),
            snippets: yes(item.and_then(|item| item.snippet_support)),
            late_completion_kinds: kinds
                .is_some_and(|known| LATE_COMPLETION_KINDS.iter().all(|kind| known.contains(kind))),
            late_symbol_kinds: late(text.and_then(|t| t.document_symbol.as_ref()?.symbol_kind.as_ref())),
            late_workspace_symbol_kinds: late(
                workspace.and_then(|w| w.symbol.as_ref()?.symbol_kind.as_ref()),
            ),
            markdown: formats.is_some_and(|f| f.contains(&MarkupKind::Markdown)),
            outline: yes(text.and_then(|t| t.document_symbol.as_ref()?.hierarchical_document_symbol_support)),
            literal_actions: text.is_some_and(|t| {
                t.code_action.as_ref().is_some_and(|a| a.code_action_literal_support.is_some())
            }),
            preferred_actions: yes(text.and_then(|t| t.code_action.as_ref()?.is_preferred_support)),
            prepares_renames: yes(text.and_then(|t| t.rename.as_ref()?.prepare_support)),
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
