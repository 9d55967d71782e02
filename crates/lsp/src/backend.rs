//! The handlers that tower-lsp calls. None does anything but put its request into the owner's queue, before it waits for
//! anything, so that requests and edits keep their order.

use std::future::Future;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::pin::Pin;

use serde::Deserialize;
use tokio::sync::oneshot;
use tower_lsp::jsonrpc::{Error, Result};
use tower_lsp::lsp_types::{self as lsp, Url};
use tower_lsp::{LanguageServer, async_trait};

use crate::client::Abilities;
use crate::owner::{Event, Queue};
use crate::view::{Answer, View};
use crate::{actions, diagnostics, features, tokens};

/// What tower-lsp calls.
pub(crate) struct Backend {
    queue: Queue,
}

/// `barm/text`: a document's name.
#[derive(Debug, Deserialize)]
pub(crate) struct TextParams {
    uri: Url,
}

impl Backend {
    pub(crate) const fn new(queue: Queue) -> Self {
        Self { queue }
    }

    /// `barm/text`: what the server takes a document's text to be, for whoever suspects that the two differ.
    pub(crate) async fn text(&self, params: TextParams) -> Result<Option<String>> {
        let (reply, replied) = oneshot::channel();
        self.queue.send(Event::Text(params.uri, reply));
        replied.await.map_err(|_| Error::internal_error())
    }

    /// Works something out around a document, from everything as it stands now; `nothing` where it is not known.
    fn ask<P, T>(
        &self,
        uri: Url,
        params: P,
        nothing: T,
        work: fn(&View, &P) -> Answer<T>,
    ) -> impl Future<Output = Result<T>> + Send + use<P, T>
    where
        P: Send + 'static,
        T: Send + 'static,
    {
        let (reply, replied) = oneshot::channel();
        let work = answering(&self.queue, reply, move |view: &View| work(view, &params));
        self.queue.send(Event::Ask(uri, Box::new(move |view| work(&view))));
        async move { replied.await.unwrap_or(Ok(nothing)) }
    }

    fn ask_all<P, T>(
        &self,
        params: P,
        work: fn(&[View], &P) -> Answer<T>,
    ) -> impl Future<Output = Result<T>> + Send + use<P, T>
    where
        P: Send + 'static,
        T: Send + 'static,
    {
        let (reply, replied) = oneshot::channel();
        let work = answering(&self.queue, reply, move |views: &[View]| work(views, &params));
        self.queue.send(Event::AskAll(Box::new(move |views| work(&views))));
        async move { replied.await.unwrap_or_else(|_| Err(Error::content_modified())) }
    }
}

/// Work that replies, unless nobody waits for it any more; a panic in it is an error reply.
fn answering<V: ?Sized, T: Send + 'static>(
    queue: &Queue,
    reply: oneshot::Sender<Result<T>>,
    work: impl FnOnce(&V) -> Answer<T> + Send + 'static,
) -> impl FnOnce(&V) + Send + 'static {
    let queue = queue.clone();
    move |view| {
        if reply.is_closed() || queue.has_ended() {
            return;
        }
        let answer = catch_unwind(AssertUnwindSafe(|| work(view)));
        let _ = reply.send(answer.unwrap_or_else(|_| {
            let message = "a fault in the server; it goes on".into();
            Err(Error { message, ..Error::internal_error() })
        }));
    }
}

/// What the server can do, of what the client can use.
pub(crate) fn initialize_result(client: Abilities) -> lsp::InitializeResult {
    lsp::InitializeResult {
        capabilities: features::capabilities(client),
        server_info: Some(lsp::ServerInfo {
            name: "barm".to_owned(),
            version: Some(env!("CARGO_PKG_VERSION").to_owned()),
        }),
    }
}

type Reply<'a, T> = Pin<Box<dyn Future<Output = Result<T>> + Send + 'a>>;

/// Handlers of requests about one document: the method, its parameters and result, where the document's name stands,
/// and what works it out. Written as `async_trait` writes them, so that the queue is reached when they are called.
macro_rules! about_a_document {
    ($( $name:ident, $params:ty => $result:ty, $($uri:ident).+, $work:path; )+) => {$(
        fn $name<'s, 'a>(&'s self, params: $params) -> Reply<'a, Option<$result>>
        where
            's: 'a,
            Self: 'a,
        {
            Box::pin(self.ask(params.$($uri).+.clone(), params, None, $work))
        }
    )+};
}

#[async_trait]
impl LanguageServer for Backend {
    async fn initialize(&self, params: lsp::InitializeParams) -> Result<lsp::InitializeResult> {
        let (reply, replied) = oneshot::channel();
        self.queue.send(Event::Initialize(Box::new(params), reply));
        replied.await.map_err(|_| Error::internal_error())
    }

    async fn shutdown(&self) -> Result<()> {
        let (reply, replied) = oneshot::channel();
        self.queue.send(Event::Shutdown(reply));
        replied.await.map_err(|_| Error::internal_error())
    }

    async fn diagnostic(
        &self,
        params: lsp::DocumentDiagnosticParams,
    ) -> Result<lsp::DocumentDiagnosticReportResult> {
        let asked = self.ask(params.text_document.uri.clone(), params, None, diagnostics::document);
        Ok(asked.await?.unwrap_or_else(diagnostics::none))
    }

    async fn workspace_diagnostic(
        &self,
        params: lsp::WorkspaceDiagnosticParams,
    ) -> Result<lsp::WorkspaceDiagnosticReportResult> {
        self.ask_all(params, |views, params| Ok(diagnostics::workspace(views, params))).await
    }

    async fn symbol(
        &self,
        params: lsp::WorkspaceSymbolParams,
    ) -> Result<Option<Vec<lsp::SymbolInformation>>> {
        self.ask_all(params, features::workspace_symbols).await
    }

    about_a_document! {
        hover, lsp::HoverParams => lsp::Hover, text_document_position_params.text_document.uri, features::hover;
        completion, lsp::CompletionParams => lsp::CompletionResponse, text_document_position.text_document.uri, features::completion;
        inlay_hint, lsp::InlayHintParams => Vec<lsp::InlayHint>, text_document.uri, features::inlay_hints;
        code_lens, lsp::CodeLensParams => Vec<lsp::CodeLens>, text_document.uri, features::code_lenses;
        code_action, lsp::CodeActionParams => lsp::CodeActionResponse, text_document.uri, actions::code_actions;
        goto_definition, lsp::GotoDefinitionParams => lsp::GotoDefinitionResponse, text_document_position_params.text_document.uri, features::definition;
        references, lsp::ReferenceParams => Vec<lsp::Location>, text_document_position.text_document.uri, features::references;
        document_highlight, lsp::DocumentHighlightParams => Vec<lsp::DocumentHighlight>, text_document_position_params.text_document.uri, features::highlights;
        prepare_rename, lsp::TextDocumentPositionParams => lsp::PrepareRenameResponse, text_document.uri, features::prepare_rename;
        rename, lsp::RenameParams => lsp::WorkspaceEdit, text_document_position.text_document.uri, features::rename;
        document_symbol, lsp::DocumentSymbolParams => lsp::DocumentSymbolResponse, text_document.uri, features::document_symbols;
        folding_range, lsp::FoldingRangeParams => Vec<lsp::FoldingRange>, text_document.uri, features::folding;
        selection_range, lsp::SelectionRangeParams => Vec<lsp::SelectionRange>, text_document.uri, features::selection;
        document_link, lsp::DocumentLinkParams => Vec<lsp::DocumentLink>, text_document.uri, features::links;
        semantic_tokens_full, lsp::SemanticTokensParams => lsp::SemanticTokensResult, text_document.uri, tokens::full;
        semantic_tokens_full_delta, lsp::SemanticTokensDeltaParams => lsp::SemanticTokensFullDeltaResult, text_document.uri, tokens::delta;
        semantic_tokens_range, lsp::SemanticTokensRangeParams => lsp::SemanticTokensRangeResult, text_document.uri, tokens::in_range;
        formatting, lsp::DocumentFormattingParams => Vec<lsp::TextEdit>, text_document.uri, features::formatting;
        range_formatting, lsp::DocumentRangeFormattingParams => Vec<lsp::TextEdit>, text_document.uri, features::range_formatting;
        on_type_formatting, lsp::DocumentOnTypeFormattingParams => Vec<lsp::TextEdit>, text_document_position.text_document.uri, features::on_type;
        prepare_type_hierarchy, lsp::TypeHierarchyPrepareParams => Vec<lsp::TypeHierarchyItem>, text_document_position_params.text_document.uri, features::family;
        supertypes, lsp::TypeHierarchySupertypesParams => Vec<lsp::TypeHierarchyItem>, item.uri, features::parents;
        subtypes, lsp::TypeHierarchySubtypesParams => Vec<lsp::TypeHierarchyItem>, item.uri, features::children;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_in_a_feature_is_an_error_reply() {
        let (reply, replied) = oneshot::channel::<Result<u8>>();
        answering(&Queue::default(), reply, |_: &u8| panic!("a fault"))(&0);
        let answer = replied.blocking_recv().expect("every request is answered");
        assert_eq!(answer.expect_err("it failed").message, "a fault in the server; it goes on");
    }

    #[test]
    fn nothing_is_worked_out_for_nobody() {
        let (reply, replied) = oneshot::channel::<Result<u8>>();
        drop(replied);
        answering(&Queue::default(), reply, |_: &u8| panic!("nobody waits"))(&0);
    }
}
