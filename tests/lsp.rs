//! Conversations between an editor and the server: one file each in `tests/lsp/conversations`, its answers beside it.
//!
//! A conversation holds files (`=== NAME`, then their text) and steps (`> STEP`). A place is written as a piece of text that
//! stands in the file, with `|` where the cursor is. What comes back is drawn into the text that it speaks of.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "a test ends by panicking"
)]

#[path = "lsp/client.rs"]
mod client;
#[path = "lsp/picture.rs"]
mod picture;

use std::fs;
use std::path::{Path, PathBuf};

use client::Client;
use serde_json::{Value, json};

#[test]
fn conversations() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/lsp/conversations");
    let mut files: Vec<PathBuf> = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "talk"));
    files.sort();
    assert!(!files.is_empty());
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path(&folder);
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    for file in files {
        let name = file.file_stem().unwrap().to_str().unwrap();
        let told = talk(&fs::read_to_string(&file).unwrap());
        settings.bind(|| insta::assert_snapshot!(name, told));
    }
}

#[test]
fn it_ends_when_told_to_with_its_input_open() {
    let folder = tempfile::tempdir().unwrap();
    let mut client = Client::start(folder.path(), &capabilities("push"));
    assert!(client.request("shutdown", Value::Null)["result"].is_null());
    let refused = client.request("textDocument/hover", json!({}));
    assert_eq!(refused["error"]["code"], -32600, "nothing is answered after shutdown: {refused}");
    client.notify("exit", Value::Null);
    assert_eq!(client.wait().code(), Some(0));

    let mut client = Client::start(folder.path(), &capabilities("push"));
    client.notify("exit", Value::Null);
    assert_eq!(client.wait().code(), Some(1), "exit without shutdown");
}

#[test]
fn it_ends_when_its_input_does() {
    let folder = tempfile::tempdir().unwrap();
    let client = Client::start(folder.path(), &capabilities("push"));
    assert_eq!(client.hang_up().code(), Some(1));
}

/// Edits, requests and cancellations in one stream: exactly one answer each, no edit lost.
#[test]
fn each_request_has_one_answer() {
    let folder = tempfile::tempdir().unwrap();
    let mut client = Client::start(folder.path(), &capabilities("utf-8"));
    let mut random = fastrand::Rng::with_seed(7);
    let text = "culture tide-a\n  pack 2 × 100 B\n  made 2026-09-01\nbrew slack-3\n  wort 21 L at 1.048\n  on 2026-09-12 14:20 pitch tide-a\n";
    client.open("a.barm", text);
    let uri = client.uri("a.barm");
    let methods = [
        "hover",
        "inlayHint",
        "codeLens",
        "semanticTokens/full",
        "documentSymbol",
        "codeAction",
        "completion",
    ];
    let mut asked = Vec::new();
    for _ in 0..5_000 {
        let length = client.documents["a.barm"].text.len();
        let text = client.documents["a.barm"].text.clone();
        let place = |at: usize| (0..=at).rev().find(|at| text.is_char_boundary(*at)).unwrap();
        let start = place(random.usize(0..=length));
        let end = place((start + random.usize(0..4)).min(length)).max(start);
        let new = ["\n", "𝛼", "brew x\n", " ", "21 L", "?", ""][random.usize(0..7)];
        client.change("a.barm", &[(start..end, if length > 2_000 { "" } else { new }.to_owned())]);
        if random.u8(0..4) == 0 {
            let method = methods[random.usize(0..methods.len())];
            let position = json!({"line": random.u32(0..8), "character": random.u32(0..30)});
            let range = json!({"start": {"line": 0, "character": 0}, "end": position});
            let params = json!({"textDocument": {"uri": uri}, "position": position, "range": range, "context": {"diagnostics": []}});
            let id = client.ask(&format!("textDocument/{method}"), params);
            asked.push(id);
            if random.bool() {
                client.notify("$/cancelRequest", json!({"id": id}));
            }
        }
    }
    let text = client.ask("barm/text", json!({"uri": uri}));
    asked.push(text);
    let mut answered = std::collections::BTreeMap::new();
    while answered.len() < asked.len() {
        let message = client.receive().expect("every request is answered");
        if message.get("method").is_none() {
            let id = message["id"].as_i64().expect("an answer has its request's id");
            assert!(asked.contains(&id), "nobody asked {message}");
            assert!(answered.insert(id, message).is_none(), "{id} was answered twice");
        }
    }
    assert_eq!(
        answered[&text]["result"], client.documents["a.barm"].text,
        "the server has the client's text"
    );
    assert!(client.end().success());
}

/// Holds a conversation and writes down what is answered.
fn talk(script: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    let mut steps: Vec<&str> = Vec::new();
    let mut file: Option<PathBuf> = None;
    for line in script.split_inclusive('\n') {
        if let Some(name) = line.strip_prefix("=== ") {
            let path = folder.path().join(name.trim());
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(&path, "").unwrap();
            file = Some(path);
        } else if let Some(step) = line.strip_prefix("> ") {
            steps.push(step.trim_end());
            file = None;
        } else if let Some(path) = &file {
            let text = fs::read_to_string(path).unwrap() + line;
            fs::write(path, text).unwrap();
        }
    }
    let mut client = None;
    let mut told = String::new();
    for step in steps {
        told.push_str(&format!("> {step}\n"));
        let (word, rest) = step.split_once(' ').unwrap_or((step, ""));
        if word == "client" {
            client = Some(Client::start(folder.path(), &capabilities(rest)));
            continue;
        }
        let client = client.get_or_insert_with(|| Client::start(folder.path(), &capabilities("push")));
        let answer = Step { client, rest }.take(word);
        told.push_str(&answer);
        if !answer.is_empty() && !answer.ends_with('\n') {
            told.push('\n');
        }
    }
    let client = client.expect("a conversation has steps");
    assert!(client.end().success());
    told
}

/// What a client can do, in a few words.
fn capabilities(words: &str) -> Value {
    let mut out = json!({
        "general": {"positionEncodings": ["utf-16"]},
        "textDocument": {
            "hover": {"contentFormat": ["markdown", "plaintext"]},
            "publishDiagnostics": {"relatedInformation": true},
            "documentSymbol": {"hierarchicalDocumentSymbolSupport": true},
            "codeAction": {"codeActionLiteralSupport": {"codeActionKind": {"valueSet": ["quickfix"]}}},
        },
        "workspace": {"workspaceEdit": {"documentChanges": true}},
    });
    for word in words.split_whitespace() {
        match word {
            "pull" => out["textDocument"]["diagnostic"] = json!({}),
            "snippets" => {
                out["textDocument"]["completion"] = json!({"completionItem": {"snippetSupport": true}})
            }
            "old" => out = json!({}),
            "refresh" => out["workspace"]["diagnostics"] = json!({"refreshSupport": true}),
            "push" => {}
            encoding => out["general"]["positionEncodings"] = json!([encoding]),
        }
    }
    out
}

struct Step<'c> {
    client: &'c mut Client,
    rest: &'c str,
}

impl Step<'_> {
    /// The file that a step speaks of, and what else it says.
    fn file(&self) -> (&str, &str) {
        self.rest.split_once(' ').unwrap_or((self.rest, ""))
    }

    /// Where `"before|behind"` stands, and what the step says besides.
    fn place(&self) -> (usize, &str) {
        let (path, rest) = self.file();
        let text = self.client.text(path);
        let rest = rest.strip_prefix('"').unwrap_or_else(|| panic!("a place is wanted in {}", self.rest));
        let (quoted, rest) = rest.split_once('"').expect("an end of the place");
        let (before, behind) = quoted.split_once('|').expect("a cursor");
        let found = text
            .find(&format!("{before}{behind}"))
            .unwrap_or_else(|| panic!("{quoted} is not in {path}:\n{text}"));
        (found + before.len(), rest.trim())
    }

    /// The document and the place, as most requests want them.
    fn at(&self) -> Value {
        let (path, _) = self.file();
        let (offset, _) = self.place();
        let position = client::position(&self.client.text(path), offset, &self.client.encoding);
        json!({"textDocument": {"uri": self.client.uri(path)}, "position": position})
    }

    fn document(&self) -> Value {
        json!({"textDocument": {"uri": self.client.uri(self.file().0)}})
    }

    fn whole(&self) -> Value {
        let text = self.client.text(self.file().0);
        let end = client::position(&text, text.len(), &self.client.encoding);
        json!({"start": {"line": 0, "character": 0}, "end": end})
    }

    fn ask(&mut self, method: &str, params: Value) -> Result<Value, String> {
        let answer = self.client.request(method, params);
        match answer.get("error") {
            Some(error) => {
                Err(format!("error {}: {}", error["code"], error["message"].as_str().unwrap_or("")))
            }
            None => Ok(answer["result"].clone()),
        }
    }

    fn take(mut self, word: &str) -> String {
        let path = self.file().0.to_owned();
        match word {
            "open" => {
                let text = self.client.text(&path);
                self.client.open(&path, &text);
                String::new()
            }
            "close" => {
                self.client.close(&path);
                String::new()
            }
            "edit" => self.edit(&path),
            "write" => self.write(&path),
            "delete" => {
                fs::remove_file(self.client.root.join(&path)).unwrap();
                self.client.watched(&path, 3);
                String::new()
            }
            "diagnostics" => {
                let found = self.client.diagnostics(&path);
                picture::diagnostics(self.client, &path, &found)
            }
            "await" => {
                let found = self.client.await_diagnostics(&path);
                picture::diagnostics(self.client, &path, &found)
            }
            "hear" => picture::heard(self.client, self.rest),
            "raw" => {
                let message: Value = serde_json::from_str(
                    &self.rest.replace("{root}", self.client.uri("").trim_end_matches('/')),
                )
                .unwrap();
                self.client.send(&message);
                String::new()
            }
            _ => self.question(word, &path).unwrap_or_else(|error| error),
        }
    }

    /// `edit FILE "old" => "new"; "old" => "new"`: several changes go in one message.
    fn edit(&mut self, path: &str) -> String {
        let (_, rest) = self.file();
        let mut text = self.client.text(path);
        let mut changes = Vec::new();
        for change in rest.split("; ") {
            let (old, new) = change.split_once(" => ").expect("`=>`");
            let plain =
                |quoted: &str| serde_json::from_str::<String>(quoted).unwrap_or_else(|_| panic!("{quoted}"));
            let (old, new) = (plain(old), plain(new));
            let at = text.find(&old).unwrap_or_else(|| panic!("{old} is not in {path}:\n{text}"));
            text.replace_range(at..at + old.len(), &new);
            changes.push((at..at + old.len(), new));
        }
        self.client.change(path, &changes);
        String::new()
    }

    fn write(&mut self, path: &str) -> String {
        let (_, rest) = self.file();
        let text: String = serde_json::from_str(rest).unwrap();
        let file = self.client.root.join(path);
        let kind = if file.exists() { 2 } else { 1 };
        fs::write(file, text).unwrap();
        self.client.watched(path, kind);
        String::new()
    }

    fn question(&mut self, word: &str, path: &str) -> Result<String, String> {
        Ok(match word {
            "hover" => {
                let answer = self.ask("textDocument/hover", self.at())?;
                picture::hover(self.client, path, &answer)
            }
            "complete" => picture::completions(&self.ask("textDocument/completion", self.at())?),
            "hints" => {
                let mut params = self.document();
                params["range"] = self.whole();
                let answer = self.ask("textDocument/inlayHint", params)?;
                picture::hints(self.client, path, &answer)
            }
            "lenses" => {
                let answer = self.ask("textDocument/codeLens", self.document())?;
                picture::ranges(self.client, path, &answer, |lens| {
                    lens["command"]["title"].as_str().unwrap_or("").to_owned()
                })
            }
            "actions" => picture::actions(&self.actions()?),
            "apply" => {
                let (_, title) = self.place();
                let title = title.to_owned();
                let actions = self.actions()?;
                let list = actions.as_array().unwrap();
                let action = list.iter().find(|action| action["title"].as_str().unwrap().starts_with(&title));
                let action =
                    action.unwrap_or_else(|| panic!("no action {title}: {}", picture::actions(&actions)));
                picture::applied(self.client, &action["edit"])
            }
            "fix-all" => {
                let mut params = self.document();
                params["range"] = self.whole();
                params["context"] = json!({"diagnostics": [], "only": ["source.fixAll"]});
                let actions = self.ask("textDocument/codeAction", params)?;
                picture::applied(self.client, &actions[0]["edit"])
            }
            "definition" => {
                let answer = self.ask("textDocument/definition", self.at())?;
                picture::locations(self.client, &answer)
            }
            "references" => {
                let mut params = self.at();
                params["context"] = json!({"includeDeclaration": true});
                let answer = self.ask("textDocument/references", params)?;
                picture::locations(self.client, &answer)
            }
            "highlight" => {
                let answer = self.ask("textDocument/documentHighlight", self.at())?;
                picture::ranges(self.client, path, &answer, |h| {
                    if h["kind"] == 3 { "declared" } else { "used" }.to_owned()
                })
            }
            "prepare-rename" => {
                let answer = self.ask("textDocument/prepareRename", self.at())?;
                let name = answer["placeholder"].as_str().unwrap_or("nothing to rename").to_owned();
                if answer.is_null() {
                    name
                } else {
                    picture::ranges(self.client, path, &json!([answer]), |_| name.clone())
                }
            }
            "rename" => {
                let mut params = self.at();
                params["newName"] = json!(self.place().1);
                let answer = self.ask("textDocument/rename", params)?;
                picture::applied(self.client, &answer)
            }
            "symbols" => picture::symbols(&self.ask("textDocument/documentSymbol", self.document())?, 0),
            "find" => {
                let answer = self.ask("workspace/symbol", json!({"query": self.rest}))?;
                picture::found(self.client, &answer)
            }
            "folds" => {
                let answer = self.ask("textDocument/foldingRange", self.document())?;
                picture::folds(&self.client.text(path), &answer)
            }
            "grow" => {
                let mut params = self.document();
                params["positions"] = json!([self.at()["position"]]);
                let answer = self.ask("textDocument/selectionRange", params)?;
                picture::growing(self.client, path, &answer[0])
            }
            "links" => {
                let answer = self.ask("textDocument/documentLink", self.document())?;
                let client = &*self.client;
                picture::ranges(client, path, &answer, |link| {
                    client.path(link["target"].as_str().unwrap_or("nowhere"))
                })
            }
            "tokens" => {
                let answer = self.ask("textDocument/semanticTokens/full", self.document())?;
                picture::tokens(self.client, path, &answer["data"])
            }
            "family" => {
                let items = self.ask("textDocument/prepareTypeHierarchy", self.at())?;
                let item = &items[0];
                let parents = self.ask("typeHierarchy/supertypes", json!({"item": item}))?;
                let children = self.ask("typeHierarchy/subtypes", json!({"item": item}))?;
                let names = |list: &Value| {
                    let names = list.as_array().into_iter().flatten();
                    names
                        .map(|item| {
                            format!("{} {}", item["detail"].as_str().unwrap(), item["name"].as_str().unwrap())
                        })
                        .collect::<Vec<_>>()
                        .join(", ")
                };
                format!("{} <- {} <- {}", names(&parents), names(&json!([item])), names(&children))
            }
            "format" => {
                let mut params = self.document();
                params["options"] = json!({"tabSize": 2, "insertSpaces": true});
                let edits = self.ask("textDocument/formatting", params)?;
                let uri = self.client.uri(path);
                picture::applied(self.client, &json!({"changes": {uri: edits}}))
            }
            "text" => {
                let uri = self.client.uri(path);
                self.ask("barm/text", json!({"uri": uri}))?.as_str().unwrap_or("not open").to_owned()
            }
            "workspace-diagnostics" => {
                let answer = self.ask("workspace/diagnostic", json!({"previousResultIds": []}))?;
                let mut told = String::new();
                for report in answer["items"].as_array().unwrap() {
                    let path = self.client.path(report["uri"].as_str().unwrap());
                    told.push_str(&picture::diagnostics(self.client, &path, &report["items"]));
                }
                told
            }
            _ => panic!("what is `{word}`?"),
        })
    }

    fn actions(&mut self) -> Result<Value, String> {
        let at = self.at();
        let position = at["position"].clone();
        let context = json!({"diagnostics": []});
        let params = json!({"textDocument": at["textDocument"], "range": {"start": position, "end": position}, "context": context});
        self.ask("textDocument/codeAction", params)
    }
}
