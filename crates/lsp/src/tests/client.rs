//! A client within the process: the whole server serves it, over a pipe in memory.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use serde_json::{Value, json};
use tokio::io::{
    AsyncBufReadExt as _, AsyncRead, AsyncReadExt as _, AsyncWriteExt as _, BufReader, DuplexStream,
};
use tokio::sync::mpsc;
use tower_lsp::lsp_types::Url;

use crate::disk::Disk;
use crate::text::Encoding;

/// No answer takes so long; a server that hangs must not hang the tests.
const TOO_LONG: Duration = Duration::from_secs(120);
/// What fits into a pipe.
const PIPE: usize = 64 * 1024;

/// What the server's people would read.
#[derive(Clone, Default)]
struct Journal(Arc<Mutex<String>>);

impl std::io::Write for Journal {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.lock().unwrap().push_str(&String::from_utf8_lossy(bytes));
        Ok(bytes.len())
    }
    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// A server under way, and what it has said.
pub(super) struct Client {
    input: DuplexStream,
    messages: mpsc::UnboundedReceiver<Value>,
    journal: Journal,
    root: PathBuf,
    next_id: i64,
    answers: HashMap<i64, Value>,
    answered: HashSet<i64>,
    /// The last diagnostics sent for a document, with their version.
    pub(super) published: BTreeMap<String, (Value, Value)>,
    /// What its user is shown.
    pub(super) shown: Vec<String>,
}

impl Client {
    /// Starts a server for a workspace.
    pub(super) async fn start(root: &Path, encoding: Encoding, pulls: bool) -> Self {
        Self::start_from(Disk::OURS, root, encoding, pulls).await
    }

    /// Starts a server that reads a workspace in a way of its own.
    pub(super) async fn start_from(disk: Disk, root: &Path, encoding: Encoding, pulls: bool) -> Self {
        let (input, server_input) = tokio::io::duplex(PIPE);
        let (output, server_output) = tokio::io::duplex(PIPE);
        let journal = Journal::default();
        tokio::spawn(crate::serve_from(disk, server_input, server_output, Box::new(journal.clone())));
        let (sender, messages) = mpsc::unbounded_channel();
        tokio::spawn(async move {
            let mut output = BufReader::new(output);
            while let Some(message) = read_message(&mut output).await {
                if sender.send(message).is_err() {
                    break;
                }
            }
        });
        let root = root.canonicalize().unwrap();
        let mut client = Self {
            input,
            messages,
            journal,
            root,
            next_id: 0,
            answers: HashMap::new(),
            answered: HashSet::new(),
            published: BTreeMap::new(),
            shown: Vec::new(),
        };
        let mut text = json!({
            "publishDiagnostics": {"relatedInformation": true, "versionSupport": true},
            "documentSymbol": {"hierarchicalDocumentSymbolSupport": true},
            "codeAction": {"codeActionLiteralSupport": {"codeActionKind": {"valueSet": ["quickfix"]}}},
        });
        if pulls {
            text["diagnostic"] = json!({});
        }
        let folder = client.uri("");
        let capabilities = json!({
            "general": {"positionEncodings": [encoding.kind()]},
            "textDocument": text,
            "workspace": {"workspaceEdit": {"documentChanges": true}, "diagnostics": {"refreshSupport": true}},
        });
        let params = json!({"processId": null, "rootUri": folder, "capabilities": capabilities,
            "workspaceFolders": [{"uri": folder, "name": "logs"}]});
        let id = client.ask("initialize", params).await;
        let result = client.answer(id).await.unwrap();
        assert_eq!(result["capabilities"]["positionEncoding"], json!(encoding.kind()));
        client.notify("initialized", json!({})).await;
        client
    }

    pub(super) fn uri(&self, path: &str) -> String {
        Url::from_file_path(self.root.join(path)).unwrap().to_string()
    }

    async fn send(&mut self, message: Value) {
        let body = message.to_string();
        self.send_body(body.as_bytes()).await;
    }

    /// Sends what may be no message.
    pub(super) async fn send_body(&mut self, body: &[u8]) {
        let head = format!("Content-Length: {}\r\n\r\n", body.len());
        self.input.write_all(&[head.as_bytes(), body].concat()).await.unwrap();
    }

    pub(super) async fn notify(&mut self, method: &str, params: Value) {
        self.send(json!({"jsonrpc": "2.0", "method": method, "params": params})).await;
    }

    /// Sends a request and does not wait.
    pub(super) async fn ask(&mut self, method: &str, params: Value) -> i64 {
        self.next_id += 1;
        self.send(json!({"jsonrpc": "2.0", "id": self.next_id, "method": method, "params": params})).await;
        self.next_id
    }

    /// The answer to a request: its result, or what was wrong.
    pub(super) async fn answer(&mut self, id: i64) -> Result<Value, String> {
        loop {
            if let Some(message) = self.answers.remove(&id) {
                return match message.get("error") {
                    Some(error) => Err(error.to_string()),
                    None => Ok(message["result"].clone()),
                };
            }
            self.receive().await?;
        }
    }

    /// Takes in the next message; requests of the server are answered.
    pub(super) async fn receive(&mut self) -> Result<(), String> {
        let next = tokio::time::timeout(TOO_LONG, self.messages.recv()).await;
        let message = next.map_err(|_| "the server hangs")?.ok_or("the server is gone")?;
        let Some(method) = message["method"].as_str() else {
            if message["id"].is_null() && message["error"].is_object() {
                // Nobody knows who asked.
                return Ok(());
            }
            let id = message["id"].as_i64().ok_or_else(|| format!("an answer to nobody: {message}"))?;
            if !self.answered.insert(id) {
                return Err(format!("request {id} was answered twice"));
            }
            self.answers.insert(id, message);
            return Ok(());
        };
        let params = &message["params"];
        if method == "textDocument/publishDiagnostics" {
            let said = (params["version"].clone(), params["diagnostics"].clone());
            self.published.insert(params["uri"].as_str().unwrap_or_default().to_owned(), said);
        }
        if method == "window/showMessage" {
            self.shown.push(params["message"].as_str().unwrap_or_default().to_owned());
        }
        if let Some(id) = message.get("id").cloned() {
            self.send(json!({"jsonrpc": "2.0", "id": id, "result": null})).await;
        }
        Ok(())
    }

    /// Whether the server told of a fault of its own, or of a text with which it lost step.
    pub(super) fn faults(&self) -> Result<(), String> {
        let journal = self.journal.0.lock().unwrap();
        let bad =
            |line: &&str| line.contains("fault") || line.contains("lost step") || line.contains("left out");
        journal.lines().find(bad).map_or(Ok(()), |line| Err(line.to_owned()))
    }

    /// Says goodbye in good order.
    pub(super) async fn end(mut self) -> Result<(), String> {
        let id = self.ask("shutdown", Value::Null).await;
        self.answer(id).await?;
        self.send(json!({"jsonrpc": "2.0", "method": "exit"})).await;
        self.faults()
    }
}

async fn read_message(output: &mut BufReader<impl AsyncRead + Unpin>) -> Option<Value> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).await.ok()? == 0 {
            return None;
        }
        match line.trim_end() {
            "" => break,
            header => {
                if let Some(value) = header.strip_prefix("Content-Length: ") {
                    length = value.parse().ok()?;
                }
            }
        }
    }
    let mut body = vec![0; length];
    output.read_exact(&mut body).await.ok()?;
    serde_json::from_slice(&body).ok()
}
