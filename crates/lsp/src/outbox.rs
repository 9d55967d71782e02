//! What goes to the client unasked, in order, from whichever thread.

use std::sync::Arc;
use std::sync::atomic::{AtomicU8, Ordering};

use tokio::sync::mpsc;
use tower_lsp::Client;
use tower_lsp::lsp_types::notification::Progress;
use tower_lsp::lsp_types::request::WorkDoneProgressCreate;
use tower_lsp::lsp_types::{
    ConfigurationItem, Diagnostic, MessageType, NumberOrString, ProgressParams, ProgressParamsValue,
    Registration, Url, WorkDoneProgress, WorkDoneProgressBegin, WorkDoneProgressCreateParams,
    WorkDoneProgressEnd, WorkDoneProgressReport,
};

use crate::house::Step;
use crate::owner::{Event, Queue};
use crate::preferences::SECTION;

/// One thing to send.
pub(crate) enum Out {
    Publish {
        uri: Url,
        diagnostics: Vec<Diagnostic>,
        version: Option<i32>,
    },
    Message(MessageType, String),
    /// What was pulled may be pulled again.
    Refresh(Refresh),
    Register(Vec<Registration>),
    /// The user's settings are asked for; what comes is put into the queue.
    Configuration(Queue),
    /// Something takes long: what it is, and how far it is until nobody sends any more.
    Progress {
        token: String,
        title: String,
        steps: mpsc::UnboundedReceiver<Step>,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Refresh {
    Diagnostics,
    Hints,
    Lenses,
}

/// Takes what is to be sent.
#[derive(Clone)]
pub(crate) struct Outbox {
    queue: mpsc::UnboundedSender<Out>,
}

impl Outbox {
    /// Must be called within the runtime that serves the client.
    pub(crate) fn new(client: Client) -> Self {
        let (queue, taken) = mpsc::unbounded_channel();
        tokio::spawn(send_all(client, taken));
        Self { queue }
    }

    pub(crate) fn send(&self, out: Out) {
        // The queue is closed only when the server ends.
        let _ = self.queue.send(out);
    }
}

/// How far a refresh is.
const IDLE: u8 = 0;
const ASKED: u8 = 1;
const ASKED_AGAIN: u8 = 2;

async fn send_all(client: Client, mut taken: mpsc::UnboundedReceiver<Out>) {
    let refreshing: [Arc<AtomicU8>; 3] = Default::default();
    while let Some(out) = taken.recv().await {
        match out {
            Out::Publish { uri, diagnostics, version } => {
                client.publish_diagnostics(uri, diagnostics, version).await
            }
            Out::Message(kind, text) => client.show_message(kind, text).await,
            Out::Refresh(what) => {
                let [diagnostics, hints, lenses] = &refreshing;
                let state = match what {
                    Refresh::Diagnostics => diagnostics,
                    Refresh::Hints => hints,
                    Refresh::Lenses => lenses,
                };
                // A second one waits until the client has answered the first.
                if state.swap(ASKED_AGAIN, Ordering::SeqCst) == IDLE {
                    tokio::spawn(refresh(client.clone(), what, Arc::clone(state)));
                }
            }
            Out::Register(registrations) => {
                let client = client.clone();
                tokio::spawn(async move {
                    // A client that refuses tells of no files; they are read again when they are opened.
                    let _ = client.register_capability(registrations).await;
                });
            }
            Out::Configuration(queue) => {
                tokio::spawn(configuration(client.clone(), queue));
            }
            Out::Progress { token, title, steps } => {
                tokio::spawn(progress(client.clone(), token, title, steps));
            }
        }
    }
}

async fn refresh(client: Client, what: Refresh, state: Arc<AtomicU8>) {
    while state.swap(ASKED, Ordering::SeqCst) == ASKED_AGAIN {
        // A client that refuses goes without.
        let _ = match what {
            Refresh::Diagnostics => client.workspace_diagnostic_refresh().await,
            Refresh::Hints => client.inlay_hint_refresh().await,
            Refresh::Lenses => client.code_lens_refresh().await,
        };
        if state.compare_exchange(ASKED, IDLE, Ordering::SeqCst, Ordering::SeqCst).is_ok() {
            return;
        }
    }
}

async fn configuration(client: Client, queue: Queue) {
    let item = ConfigurationItem { scope_uri: None, section: Some(SECTION.to_owned()) };
    // A client that refuses goes on with what it has.
    if let Ok(values) = client.configuration(vec![item]).await {
        queue.send(Event::Configured(values.into_iter().next().unwrap_or_default()));
    }
}

async fn progress(client: Client, token: String, title: String, mut steps: mpsc::UnboundedReceiver<Step>) {
    let token = NumberOrString::String(token);
    let create = WorkDoneProgressCreateParams { token: token.clone() };
    if client.send_request::<WorkDoneProgressCreate>(create).await.is_err() {
        return;
    }
    let say = async |value| {
        let value = ProgressParamsValue::WorkDone(value);
        client.send_notification::<Progress>(ProgressParams { token: token.clone(), value }).await;
    };
    say(WorkDoneProgress::Begin(WorkDoneProgressBegin {
        title,
        cancellable: Some(false),
        message: None,
        percentage: Some(0),
    }))
    .await;
    while let Some((message, percentage)) = steps.recv().await {
        let report = WorkDoneProgressReport {
            cancellable: Some(false),
            message: Some(message),
            percentage: Some(percentage),
        };
        say(WorkDoneProgress::Report(report)).await;
    }
    say(WorkDoneProgress::End(WorkDoneProgressEnd { message: None })).await;
}
