//! What sees every message first.
//!
//! Notifications go from here into the owner's queue, in the order in which they came; requests go on to tower-lsp, whose
//! handlers do nothing but put them into the same queue. `exit` ends the input, so that all replies are still written.

use std::future::Future;
use std::pin::Pin;
use std::task::{Context, Poll};

use serde::de::DeserializeOwned;
use tower::Service;
use tower_lsp::jsonrpc::{Error, Request, Response};
use tower_lsp::lsp_types::{self as lsp, FileChangeType, Url};
use tower_lsp::{ExitedError, LspService};

use crate::backend::Backend;
use crate::frames::Unreadable;
use crate::gate::{Close, UnderWay};
use crate::owner::{Event, Queue};

/// A thin layer before tower-lsp's service.
pub(crate) struct Front {
    inner: LspService<Backend>,
    queue: Queue,
    close: Close,
    under_way: UnderWay,
}

type Answer = Pin<Box<dyn Future<Output = Result<Option<Response>, ExitedError>> + Send>>;

impl Front {
    pub(crate) const fn new(
        inner: LspService<Backend>,
        queue: Queue,
        close: Close,
        under_way: UnderWay,
    ) -> Self {
        Self { inner, queue, close, under_way }
    }
}

impl Service<Request> for Front {
    type Response = Option<Response>;
    type Error = ExitedError;
    type Future = Answer;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), ExitedError>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: Request) -> Answer {
        if let Some(unreadable) = Unreadable::of(&request) {
            let queue = self.queue.clone();
            return Box::pin(async move {
                let answer = request.id().map(|id| Response::from_error(id.clone(), unreadable.error()));
                let Unreadable { method, uri, why, .. } = unreadable;
                queue.send(Event::Unreadable { method, uri: document(uri), why });
                Ok(answer)
            });
        }
        let request = readable(request);
        // All that begins so are notifications; tower-lsp leaves a request among them unanswered.
        if let Some(id) = request.id().filter(|_| request.method().starts_with("$/")).cloned() {
            let answer = Response::from_error(id, Error::method_not_found());
            return Box::pin(async move { Ok(Some(answer)) });
        }
        if request.id().is_some() || request.method() == "$/cancelRequest" {
            let method = request.method().to_owned();
            let mut under_way = self.under_way.clone();
            let answer = self.inner.call(request);
            return match &*method {
                "initialize" => Box::pin(async move { Ok(answer.await?.map(with_type_hierarchy)) }),
                "shutdown" => Box::pin(async move {
                    let answer = answer.await;
                    // What was begun is ended before the answer; it fails only where nothing is written any more.
                    let _ = under_way.wait_for(|count| *count == 0).await;
                    answer
                }),
                _ => answer,
            };
        }
        let queue = self.queue.clone();
        let exit = (request.method() == "exit").then(|| self.close.clone());
        if exit.is_some() {
            queue.ends();
        }
        // Requests before this one reach the queue when they are first polled, and so does this.
        Box::pin(async move {
            if let Some(close) = exit {
                queue.send(Event::Exit);
                close.close();
                return Ok(None);
            }
            if let Some(event) = event(request) {
                queue.send(event);
            }
            Ok(None)
        })
    }
}

/// A request as tower-lsp and the types that it uses read it: parameters that are `null` are none, and
/// `workspace.diagnostics` of a client's capabilities has another name there.
fn readable(request: Request) -> Request {
    let initializing = request.method() == "initialize";
    if !initializing && request.params().is_none_or(|params| !params.is_null()) {
        return request;
    }
    let (method, id, params) = request.into_parts();
    let mut built = Request::build(method);
    if let Some(mut params) = params.filter(|params| !params.is_null()) {
        if let Some(workspace) =
            params.pointer_mut("/capabilities/workspace").and_then(|it| it.as_object_mut())
            && let Some(diagnostics) = workspace.remove("diagnostics")
        {
            workspace.insert("diagnostic".to_owned(), diagnostics);
        }
        built = built.params(params);
    }
    match id {
        Some(id) => built.id(id).finish(),
        None => built.finish(),
    }
}

/// Says that there is a type hierarchy: tower-lsp has its requests, but the types that it uses have no field to say so.
fn with_type_hierarchy(response: Response) -> Response {
    let (id, mut body) = response.into_parts();
    if let Ok(result) = &mut body
        && let Some(capabilities) = result.get_mut("capabilities").and_then(serde_json::Value::as_object_mut)
    {
        capabilities.insert("typeHierarchyProvider".to_owned(), true.into());
    }
    Response::from_parts(id, body)
}

/// The event that a notification is; `None` for those that tell us nothing.
fn event(request: Request) -> Option<Event> {
    let (method, _, params) = request.into_parts();
    let params = params.unwrap_or_default();
    let uri = params.pointer("/textDocument/uri").and_then(|uri| uri.as_str()).map(str::to_owned);
    let read = match &*method {
        "initialized" => return Some(Event::Initialized),
        "textDocument/didOpen" => parsed(params, Event::Opened),
        "textDocument/didChange" => parsed(params, Event::Changed),
        "textDocument/didClose" => parsed(params, Event::Closed),
        "textDocument/didSave" => {
            parsed(params, |saved: lsp::DidSaveTextDocumentParams| Event::Saved(saved.text_document.uri))
        }
        "workspace/didChangeWatchedFiles" => {
            parsed(params, |watched: lsp::DidChangeWatchedFilesParams| Event::Watched(watched.changes))
        }
        "workspace/didDeleteFiles" => parsed(params, |deleted: lsp::DeleteFilesParams| {
            moved(deleted.files.iter().map(|file| (&file.uri, FileChangeType::DELETED)))
        }),
        "workspace/didRenameFiles" => parsed(params, |renamed: lsp::RenameFilesParams| {
            let old = renamed.files.iter().map(|file| (&file.old_uri, FileChangeType::DELETED));
            moved(old.chain(renamed.files.iter().map(|file| (&file.new_uri, FileChangeType::CREATED))))
        }),
        "workspace/didChangeWorkspaceFolders" => {
            parsed(params, |folders: lsp::DidChangeWorkspaceFoldersParams| Event::Folders(folders.event))
        }
        "workspace/didChangeConfiguration" => {
            parsed(params, |told: lsp::DidChangeConfigurationParams| Event::ConfigurationTold(told.settings))
        }
        // Traces and progress tokens, and whatever else may be left unsaid.
        _ => return None,
    };
    Some(read.unwrap_or_else(|why| Event::Unreadable {
        method: method.into_owned(),
        uri: document(uri),
        why,
    }))
}

fn document(uri: Option<String>) -> Option<Url> {
    Url::parse(&uri?).ok()
}

/// What an editor did to folders, as if it had been seen on disk.
fn moved<'u>(changes: impl Iterator<Item = (&'u String, FileChangeType)>) -> Event {
    let change = |(uri, typ): (&'u String, _)| Some(lsp::FileEvent { uri: Url::parse(uri).ok()?, typ });
    Event::Watched(changes.filter_map(change).collect())
}

fn parsed<P: DeserializeOwned>(
    params: serde_json::Value,
    event: impl FnOnce(P) -> Event,
) -> Result<Event, String> {
    serde_json::from_value(params).map(event).map_err(|error| error.to_string())
}
