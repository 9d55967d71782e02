//! A client of the server, as independent of it as a test can be: its own framing, positions and texts.

use std::collections::{BTreeMap, HashMap, VecDeque};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, Command, ExitStatus, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use serde_json::{Value, json};

/// No answer takes so long; a server that hangs must not hang the tests.
const TOO_LONG: Duration = Duration::from_secs(120);

/// A server under way and what it has said.
pub(crate) struct Client {
    child: Child,
    input: Option<ChildStdin>,
    messages: Receiver<Value>,
    next_id: i64,
    /// Last diagnostics sent for a document, with their version.
    pub(crate) published: BTreeMap<String, (Option<i64>, Value)>,
    /// Notifications and requests of the server, in order.
    pub(crate) said: VecDeque<Value>,
    pub(crate) documents: HashMap<String, Document>,
    pub(crate) encoding: String,
    pub(crate) capabilities: Value,
    pub(crate) root: PathBuf,
    /// The user's settings, and whether the server has asked for them.
    pub(crate) settings: Value,
    pub(crate) asked_for_settings: bool,
    /// What the client was last told of each file of a workspace, by the name of that answer.
    pub(crate) results: Vec<(String, String)>,
    /// The tokens last told of a document, by the name of that answer.
    pub(crate) tokens: HashMap<String, (String, Vec<u64>)>,
}

/// A document as an editor has it.
#[derive(Clone)]
pub(crate) struct Document {
    pub(crate) version: i64,
    pub(crate) text: String,
}

impl Client {
    /// Starts a server for a workspace.
    pub(crate) fn start(root: &Path, capabilities: &Value) -> Self {
        Self::start_in(root, &[""], capabilities)
    }

    /// Starts a server for some folders below one.
    pub(crate) fn start_in(root: &Path, folders: &[&str], capabilities: &Value) -> Self {
        Self::start_with(root, folders, capabilities, &["--stdio", "--clientProcessId=1"])
    }

    /// Starts a server with arguments of its own.
    pub(crate) fn start_with(root: &Path, folders: &[&str], capabilities: &Value, args: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_barm"))
            .arg("serve")
            .args(args)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the server starts");
        let input = child.stdin.take();
        let output = child.stdout.take().expect("its output is ours");
        let (sender, messages) = channel();
        std::thread::spawn(move || {
            let mut output = BufReader::new(output);
            while let Some(message) = read_message(&mut output) {
                if sender.send(message).is_err() {
                    break;
                }
            }
        });
        let root = root.canonicalize().expect("the workspace is there");
        let mut client = Self {
            child,
            input,
            messages,
            next_id: 0,
            published: BTreeMap::new(),
            said: VecDeque::new(),
            documents: HashMap::new(),
            encoding: String::new(),
            capabilities: Value::Null,
            root,
            settings: Value::Null,
            asked_for_settings: false,
            results: Vec::new(),
            tokens: HashMap::new(),
        };
        let folders: Vec<Value> =
            folders.iter().map(|folder| json!({"uri": client.uri(folder), "name": "logs"})).collect();
        let root = folders.first().map(|folder| folder["uri"].clone());
        let result = client.request(
            "initialize",
            json!({"processId": null, "rootUri": root, "capabilities": capabilities,
                "clientInfo": {"name": "a test"}, "workspaceFolders": folders}),
        );
        client.capabilities = result["result"]["capabilities"].clone();
        client.encoding = client.capabilities["positionEncoding"].as_str().unwrap_or("utf-16").to_owned();
        client.notify("initialized", json!({}));
        client
    }

    /// The name of a file.
    pub(crate) fn uri(&self, path: &str) -> String {
        let mut out = String::from("file://");
        for byte in self.root.join(path).to_str().expect("a plain path").bytes() {
            match byte {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'/' | b'.' | b'-' | b'_' => {
                    out.push(char::from(byte))
                }
                _ => out.push_str(&format!("%{byte:02X}")),
            }
        }
        out
    }

    /// The file of a name.
    pub(crate) fn path(&self, uri: &str) -> String {
        let root = self.uri("");
        uri.strip_prefix(root.trim_end_matches('/'))
            .map_or(uri, |path| path.trim_start_matches('/'))
            .to_owned()
    }

    pub(crate) fn send(&mut self, message: &Value) {
        self.send_at_once(std::slice::from_ref(message));
    }

    /// Sends several messages in one breath.
    fn send_at_once(&mut self, messages: &[Value]) {
        let bodies: Vec<String> = messages.iter().map(Value::to_string).collect();
        self.send_bodies(&bodies);
    }

    /// Sends what may be no messages, in one breath.
    pub(crate) fn send_bodies(&mut self, bodies: &[String]) {
        let framed = |body: &String| format!("Content-Length: {}\r\n\r\n{body}", body.len());
        let framed: String = bodies.iter().map(framed).collect();
        let input = self.input.as_mut().expect("the input is open");
        input.write_all(framed.as_bytes()).expect("the server listens");
        input.flush().expect("the server listens");
    }

    pub(crate) fn notify(&mut self, method: &str, params: Value) {
        self.send(&json!({"jsonrpc": "2.0", "method": method, "params": params}));
    }

    /// Sends a request and does not wait.
    pub(crate) fn ask(&mut self, method: &str, params: Value) -> i64 {
        self.next_id += 1;
        let mut message = json!({"jsonrpc": "2.0", "id": self.next_id, "method": method});
        if !params.is_null() {
            message["params"] = params;
        }
        self.send(&message);
        self.next_id
    }

    /// Sends a request and waits for its answer.
    pub(crate) fn request(&mut self, method: &str, params: Value) -> Value {
        let id = self.ask(method, params);
        self.answer(&json!(id))
    }

    /// Sends a request, takes it back in the same breath, and waits for its answer.
    pub(crate) fn taken_back(&mut self, method: &str, params: Value) -> Value {
        self.next_id += 1;
        let id = json!(self.next_id);
        self.send_at_once(&[
            json!({"jsonrpc": "2.0", "id": id, "method": method, "params": params}),
            json!({"jsonrpc": "2.0", "method": "$/cancelRequest", "params": {"id": id}}),
        ]);
        self.answer(&id)
    }

    /// The answer to the one request that has none yet.
    pub(crate) fn answer(&mut self, id: &Value) -> Value {
        loop {
            let message = self.receive().unwrap_or_else(|| panic!("no answer to {id}"));
            if message.get("method").is_none() {
                assert_eq!(message["id"], *id, "nobody asked, or it was answered before: {message}");
                return message;
            }
        }
    }

    /// The next message; requests of the server are answered, and all it says unasked is kept.
    pub(crate) fn receive(&mut self) -> Option<Value> {
        let message = self.messages.recv_timeout(TOO_LONG).ok()?;
        if let Some(method) = message["method"].as_str() {
            if method == "textDocument/publishDiagnostics" {
                let params = &message["params"];
                let path = self.path(params["uri"].as_str().unwrap_or(""));
                self.published.insert(path, (params["version"].as_i64(), params["diagnostics"].clone()));
            }
            if let Some(id) = message.get("id") {
                let answer = match method {
                    "workspace/configuration" => {
                        self.asked_for_settings = true;
                        json!({"jsonrpc": "2.0", "id": id, "result": [self.settings]})
                    }
                    // Some clients say that they can, and refuse.
                    "client/registerCapability" => {
                        json!({"jsonrpc": "2.0", "id": id, "error": {"code": -32601, "message": "not here"}})
                    }
                    _ => json!({"jsonrpc": "2.0", "id": id, "result": null}),
                };
                self.send(&answer);
            }
            self.said.push_back(message.clone());
        }
        Some(message)
    }

    /// The diagnostics of a document, sent or asked for, of its present version.
    pub(crate) fn diagnostics(&mut self, path: &str) -> Value {
        if !self.capabilities["diagnosticProvider"].is_null() {
            let uri = self.uri(path);
            let report = self.request("textDocument/diagnostic", json!({"textDocument": {"uri": uri}}));
            return report["result"]["items"].clone();
        }
        let wanted = self.documents.get(path).map(|document| document.version);
        loop {
            if let Some((version, diagnostics)) = self.published.get(path)
                && *version >= wanted
            {
                return diagnostics.clone();
            }
            self.receive().unwrap_or_else(|| panic!("no diagnostics of {path}"));
        }
    }

    /// Waits until something new is sent of a document.
    pub(crate) fn await_diagnostics(&mut self, path: &str) -> Value {
        loop {
            let message = self.receive().unwrap_or_else(|| panic!("nothing new of {path}"));
            let uri = message["params"]["uri"].as_str().unwrap_or("");
            if message["method"] == "textDocument/publishDiagnostics" && self.path(uri) == path {
                return message["params"]["diagnostics"].clone();
            }
        }
    }

    pub(crate) fn open(&mut self, path: &str, text: &str) {
        let document = Document { version: 1, text: text.to_owned() };
        self.documents.insert(path.to_owned(), document);
        self.published.remove(path);
        let uri = self.uri(path);
        let document = json!({"uri": uri, "languageId": "barm", "version": 1, "text": text});
        self.notify("textDocument/didOpen", json!({"textDocument": document}));
    }

    /// Says that a file was created (1), changed (2) or deleted (3) on disk.
    pub(crate) fn watched(&mut self, path: &str, kind: u8) {
        let changes = json!([{"uri": self.uri(path), "type": kind}]);
        self.notify("workspace/didChangeWatchedFiles", json!({"changes": changes}));
    }

    pub(crate) fn close(&mut self, path: &str) {
        self.documents.remove(path);
        let uri = self.uri(path);
        self.notify("textDocument/didClose", json!({"textDocument": {"uri": uri}}));
    }

    /// Changes a document, each change in what the one before left: byte ranges, and what is put there.
    pub(crate) fn change(&mut self, path: &str, changes: &[(std::ops::Range<usize>, String)]) {
        let uri = self.uri(path);
        let encoding = self.encoding.clone();
        let document = self.documents.get_mut(path).expect("the document is open");
        document.version += 1;
        let mut sent = Vec::new();
        for (range, new) in changes {
            let at = |offset| position(&document.text, offset, &encoding);
            sent.push(json!({"range": {"start": at(range.start), "end": at(range.end)}, "text": new}));
            document.text.replace_range(range.clone(), new);
        }
        let version = document.version;
        self.notify(
            "textDocument/didChange",
            json!({"textDocument": {"uri": uri, "version": version}, "contentChanges": sent}),
        );
    }

    /// The text of a file: the editor's, else the disk's.
    pub(crate) fn text(&self, path: &str) -> String {
        match self.documents.get(path) {
            Some(document) => document.text.clone(),
            None => std::fs::read_to_string(self.root.join(path)).unwrap_or_default(),
        }
    }

    /// The bytes of a range of the protocol's.
    pub(crate) fn range(&self, path: &str, range: &Value) -> std::ops::Range<usize> {
        let text = self.text(path);
        offset(&text, &range["start"], &self.encoding)..offset(&text, &range["end"], &self.encoding)
    }

    /// Says goodbye in good order.
    pub(crate) fn end(mut self) -> ExitStatus {
        let answer = self.request("shutdown", Value::Null);
        assert!(answer.get("error").is_none(), "{answer}");
        self.send(&json!({"jsonrpc": "2.0", "method": "exit"}));
        self.wait()
    }

    /// Waits for the end of the server, its input still open.
    pub(crate) fn wait(mut self) -> ExitStatus {
        let status = self.child.wait().expect("the server ends");
        self.input.take();
        status
    }

    /// Closes the input.
    pub(crate) fn hang_up(mut self) -> ExitStatus {
        self.input.take();
        self.child.wait().expect("the server ends")
    }
}

fn read_message(output: &mut impl BufRead) -> Option<Value> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).ok()? == 0 {
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
    output.read_exact(&mut body).ok()?;
    serde_json::from_slice(&body).ok()
}

fn width(c: char, encoding: &str) -> usize {
    match encoding {
        "utf-8" => c.len_utf8(),
        "utf-32" => 1,
        _ => c.len_utf16(),
    }
}

/// Line and column of a byte.
pub(crate) fn position(text: &str, offset: usize, encoding: &str) -> Value {
    let before = &text[..offset];
    let line = before.matches('\n').count();
    let start = before.rfind('\n').map_or(0, |at| at + 1);
    let column: usize = before[start..].chars().map(|c| width(c, encoding)).sum();
    json!({"line": line, "character": column})
}

/// The byte of a line and column.
pub(crate) fn offset(text: &str, position: &Value, encoding: &str) -> usize {
    let line = usize::try_from(position["line"].as_u64().expect("a line")).expect("a small one");
    let mut column = usize::try_from(position["character"].as_u64().expect("a column")).expect("a small one");
    let start: usize = text.split_inclusive('\n').take(line).map(str::len).sum();
    let mut at = start;
    for c in text[start..].chars() {
        if column == 0 || c == '\n' {
            break;
        }
        column = column.checked_sub(width(c, encoding)).expect("no place within a character");
        at += c.len_utf8();
    }
    assert_eq!(column, 0, "a column past its line's end");
    at
}
