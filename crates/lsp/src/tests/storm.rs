//! An edit storm: after whatever is done, a server that lived through it says what one says that has just begun.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs;

use serde_json::{Value, json};

use super::client::Client;
use super::oracle;
use super::script::{FILES, Step, script};
use crate::text::Encoding;

/// Scripts of so many edits each; six kinds of clients make a hundred thousand edits and some.
const EDITS: usize = 2_400;
const SCRIPTS: usize = 7;
const COMPARED_EVERY: usize = 60;
/// A failure is shrunk by so many runs at most.
const RUNS: usize = 400;
/// What a server says unasked has come before so many of its answers about the whole workspace, or it never comes.
const LONGER: usize = 300;

/// How the client is.
#[derive(Debug, Clone, Copy)]
struct Kind {
    encoding: Encoding,
    pulls: bool,
}

/// A document as the client sees it.
struct Document {
    version: i32,
    text: String,
}

/// A client, the server that it has, and a workspace on disk.
struct Session {
    kind: Kind,
    folder: tempfile::TempDir,
    client: Client,
    open: BTreeMap<&'static str, Document>,
    /// Versions go on where a document is closed and opened again.
    version: i32,
    asked: Vec<i64>,
    /// What was pulled last of a file: the result's name and its diagnostics.
    pulled: BTreeMap<&'static str, (Value, Value)>,
    /// The tokens of a file as they were given last, with their name.
    tokens: BTreeMap<&'static str, (Value, Vec<Value>)>,
}

impl Session {
    async fn start(kind: Kind) -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("deep")).unwrap();
        fs::write(folder.path().join("barm.toml"), "").unwrap();
        let client = Client::start(folder.path(), kind.encoding, kind.pulls).await;
        Self {
            kind,
            folder,
            client,
            open: BTreeMap::new(),
            version: 0,
            asked: Vec::new(),
            pulled: BTreeMap::new(),
            tokens: BTreeMap::new(),
        }
    }

    fn document(&self, path: &str) -> Value {
        json!({"uri": self.client.uri(path)})
    }

    async fn watched(&mut self, path: &str, kind: u8) {
        let changes = json!([{"uri": self.client.uri(path), "type": kind}]);
        self.client.notify("workspace/didChangeWatchedFiles", json!({"changes": changes})).await;
    }

    async fn write(&mut self, path: &str, text: &str) {
        let file = self.folder.path().join(path);
        let kind = if file.exists() { 2 } else { 1 };
        fs::write(file, text).unwrap();
        self.watched(path, kind).await;
    }

    async fn take(&mut self, step: &Step) -> Result<(), String> {
        match step {
            Step::Open(path) => {
                if !self.open.contains_key(path) {
                    let text = fs::read_to_string(self.folder.path().join(path)).unwrap_or_default();
                    self.version += 1;
                    open(&mut self.client, path, self.version, &text).await;
                    self.open.insert(path, Document { version: self.version, text });
                }
            }
            Step::Close(path) => {
                if self.open.remove(path).is_some() {
                    let params = json!({"textDocument": self.document(path)});
                    self.client.notify("textDocument/didClose", params).await;
                }
            }
            Step::Edit(path, changes) => {
                let Some(document) = self.open.get_mut(path) else { return Ok(()) };
                self.version += 1;
                document.version = self.version;
                let mut sent = Vec::new();
                for (range, new) in changes {
                    oracle::change(&mut document.text, *range, new, self.kind.encoding);
                    sent.push(match range {
                        Some(range) => json!({"range": range, "text": new}),
                        None => json!({"text": new}),
                    });
                }
                let document = json!({"uri": self.client.uri(path), "version": self.version});
                let params = json!({"textDocument": document, "contentChanges": sent});
                self.client.notify("textDocument/didChange", params).await;
            }
            Step::Write(path, text) => self.write(path, text).await,
            Step::Settings(text) => self.write("barm.toml", text).await,
            Step::Delete(path) => {
                if fs::remove_file(self.folder.path().join(path)).is_ok() {
                    self.watched(path, 3).await;
                }
            }
            Step::Ask(method, path, place) => {
                let range = json!({"start": {"line": 0, "character": 0}, "end": place});
                let params = json!({"textDocument": self.document(path), "position": place, "range": range,
                    "context": {"diagnostics": [], "includeDeclaration": true, "triggerKind": 1},
                    "options": {"tabSize": 2, "insertSpaces": true}});
                let id = self.client.ask(&format!("textDocument/{method}"), params).await;
                self.asked.push(id);
            }
            Step::Compare => self.compare().await?,
        }
        Ok(())
    }

    /// All that was asked is answered, and what is known now is what a server that has just begun knows.
    async fn compare(&mut self) -> Result<(), String> {
        for id in std::mem::take(&mut self.asked) {
            self.client.answer(id).await?;
        }
        for (path, document) in &self.open {
            let id = self.client.ask("barm/text", json!({"uri": self.client.uri(path)})).await;
            let text = self.client.answer(id).await?;
            same(&format!("the text of {path}"), &text, &json!(document.text))?;
        }
        let mut fresh = Client::start(self.folder.path(), self.kind.encoding, self.kind.pulls).await;
        for (path, document) in &self.open {
            open(&mut fresh, path, document.version, &document.text).await;
        }
        let here =
            |path: &&'static str| self.open.contains_key(path) || self.folder.path().join(path).exists();
        let files: Vec<&'static str> = FILES.into_iter().filter(here).collect();
        for path in &files {
            self.compare_file(&mut fresh, path).await?;
        }
        let reports = self.compare_workspace(&mut fresh).await?;
        if !self.kind.pulls {
            self.await_published(&reports).await?;
        }
        fresh.end().await?;
        self.client.faults()
    }

    async fn compare_file(&mut self, fresh: &mut Client, path: &'static str) -> Result<(), String> {
        let whole = json!({"start": {"line": 0, "character": 0}, "end": {"line": u32::MAX, "character": 0}});
        let params = json!({"textDocument": self.document(path), "range": whole});
        let methods = [
            "diagnostic",
            "semanticTokens/full",
            "documentSymbol",
            "inlayHint",
            "codeLens",
            "foldingRange",
            "documentLink",
        ];
        let mut asked = Vec::new();
        for method in methods {
            let method = format!("textDocument/{method}");
            asked.push((
                self.client.ask(&method, params.clone()).await,
                fresh.ask(&method, params.clone()).await,
                method,
            ));
        }
        for (mine, theirs, method) in asked {
            let (mine, theirs) = (self.client.answer(mine).await?, fresh.answer(theirs).await?);
            let (mine, theirs) = (nameless(mine), nameless(theirs));
            same(&format!("{method} of {path}"), &mine, &theirs)?;
            match &*method {
                "textDocument/diagnostic" => self.follow_diagnostics(path, &theirs["items"]).await?,
                "textDocument/semanticTokens/full" => self.follow_tokens(path, &theirs["data"]).await?,
                _ => {}
            }
        }
        Ok(())
    }

    /// Where the server says that what it said last still holds, it holds.
    async fn follow_diagnostics(&mut self, path: &'static str, items: &Value) -> Result<(), String> {
        let before = self.pulled.get(path).cloned();
        let known = before.as_ref().map(|(name, _)| name);
        let params = json!({"textDocument": self.document(path), "previousResultId": known});
        let id = self.client.ask("textDocument/diagnostic", params).await;
        let answer = self.client.answer(id).await?;
        let now = match (&answer["kind"], before) {
            (Value::String(kind), Some((_, items))) if kind == "unchanged" => items,
            _ => answer["items"].clone(),
        };
        same(&format!("the diagnostics of {path}, followed from answer to answer"), &now, items)?;
        self.pulled.insert(path, (answer["resultId"].clone(), now));
        Ok(())
    }

    /// What changed since the tokens were asked for last, put into those, makes those of now.
    async fn follow_tokens(&mut self, path: &'static str, data: &Value) -> Result<(), String> {
        let (name, mut tokens) = self.tokens.remove(path).unwrap_or((json!("none"), Vec::new()));
        let params = json!({"textDocument": self.document(path), "previousResultId": name});
        let id = self.client.ask("textDocument/semanticTokens/full/delta", params).await;
        let answer = self.client.answer(id).await?;
        if let Some(whole) = answer["data"].as_array() {
            tokens.clone_from(whole);
        }
        // Every edit counts in the tokens of before: the last one first.
        let mut edits = answer["edits"].as_array().cloned().unwrap_or_default();
        edits.sort_by_key(|edit| std::cmp::Reverse(edit["start"].as_u64()));
        for edit in edits {
            let number = |key: &str| usize::try_from(edit[key].as_u64().unwrap()).unwrap();
            let (start, count) = (number("start"), number("deleteCount"));
            tokens.splice(start..start + count, edit["data"].as_array().cloned().unwrap_or_default());
        }
        same(&format!("the tokens of {path}, followed by what changed"), &json!(tokens), data)?;
        self.tokens.insert(path, (answer["resultId"].clone(), tokens));
        Ok(())
    }

    async fn compare_workspace(&mut self, fresh: &mut Client) -> Result<Value, String> {
        let mut reports = Value::Null;
        for (method, params) in [
            ("workspace/symbol", json!({"query": ""})),
            ("workspace/diagnostic", json!({"previousResultIds": []})),
        ] {
            let (mine, theirs) =
                (self.client.ask(method, params.clone()).await, fresh.ask(method, params).await);
            let (mine, theirs) = (self.client.answer(mine).await?, fresh.answer(theirs).await?);
            reports = nameless(theirs);
            same(method, &nameless(mine), &reports)?;
        }
        Ok(reports)
    }

    /// What is sent unasked comes to what there is to be said. A server that says nothing more is not waited for: it is
    /// asked other things until it would have said it.
    async fn await_published(&mut self, reports: &Value) -> Result<(), String> {
        let mut wanted: BTreeMap<&str, (&Value, &Value)> = BTreeMap::new();
        for report in reports["items"].as_array().into_iter().flatten() {
            wanted.insert(report["uri"].as_str().unwrap_or_default(), (&report["version"], &report["items"]));
        }
        let mut asked = 0;
        loop {
            let told = |path: &&str| {
                let uri = self.client.uri(path);
                let nothing = json!([]);
                let (version, items) = wanted.get(&*uri).copied().unwrap_or((&Value::Null, &nothing));
                match self.client.published.get(&uri) {
                    Some((told_version, told)) => told_version == version && told == items,
                    None => version.is_null() && *items == nothing,
                }
            };
            let Some(missing) = FILES.iter().find(|path| !told(path)) else { return Ok(()) };
            if asked == LONGER {
                let uri = self.client.uri(missing);
                let (told, there_is) = (self.client.published.get(&uri), wanted.get(&*uri));
                return Err(format!(
                    "{missing} was told otherwise.\n  said last: {told:?}\n  to be said: {there_is:?}"
                ));
            }
            let id = self.client.ask("workspace/diagnostic", json!({"previousResultIds": []})).await;
            self.client.answer(id).await?;
            asked += 1;
        }
    }
}

async fn open(client: &mut Client, path: &str, version: i32, text: &str) {
    let document = json!({"uri": client.uri(path), "languageId": "barm", "version": version, "text": text});
    client.notify("textDocument/didOpen", json!({"textDocument": document})).await;
}

/// An answer without the names by which its server knows it.
fn nameless(mut answer: Value) -> Value {
    if let Value::Object(fields) = &mut answer {
        fields.remove("resultId");
        fields
            .remove("version")
            .filter(|version| !version.is_null())
            .map(|version| fields.insert("version".to_owned(), version));
        if let Some(items) = fields.get_mut("items") {
            *items = items.as_array().cloned().unwrap_or_default().into_iter().map(nameless).collect();
        }
    }
    answer
}

fn same(what: &str, mine: &Value, theirs: &Value) -> Result<(), String> {
    if mine == theirs {
        return Ok(());
    }
    Err(format!("{what} differs.\n  lived through it: {mine}\n  has just begun:   {theirs}"))
}

/// Takes the steps, and compares at the end.
fn run(kind: Kind, steps: &[Step]) -> Result<(), String> {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    runtime.block_on(async {
        let mut session = Session::start(kind).await;
        let mut edits = 0;
        for step in steps {
            edits += if let Step::Edit(_, changes) = step { changes.len() } else { 0 };
            session.take(step).await.map_err(|why| format!("after {edits} edits {why}"))?;
        }
        session.compare().await?;
        session.client.end().await
    })
}

/// Leaves out halves, quarters and so on down to single steps while what is left still `fails`.
fn shrunk<T: Clone>(mut steps: Vec<T>, mut fails: impl FnMut(&[T]) -> bool) -> Vec<T> {
    let mut size = steps.len().div_ceil(2);
    while size > 0 {
        let mut at = 0;
        while at < steps.len() {
            let mut fewer = steps.clone();
            fewer.drain(at..(at + size).min(steps.len()));
            if fails(&fewer) {
                steps = fewer;
            } else {
                at += size;
            }
        }
        size /= 2;
    }
    steps
}

fn storm(first_seed: u64, kind: Kind) {
    for seed in (first_seed..).take(SCRIPTS) {
        let steps = script(seed, kind.encoding, EDITS, COMPARED_EVERY);
        let Err(first) = run(kind, &steps) else { continue };
        let (mut why, mut runs) = (first, 0);
        let least = shrunk(steps, |steps| {
            runs += 1;
            let failed = if runs > RUNS { None } else { run(kind, steps).err() };
            failed.inspect(|error| why.clone_from(error)).is_some()
        });
        let mut told = String::new();
        for step in &least {
            let _ = writeln!(told, "    {step:?},");
        }
        panic!("seed {seed}, {kind:?}: {why}\nafter\n{told}");
    }
}

#[test]
fn a_failure_is_shrunk_to_what_it_takes() {
    let steps: Vec<u32> = (0..1_000).collect();
    assert_eq!(shrunk(steps, |steps| steps.contains(&17) && steps.contains(&801)), [17, 801]);
}

/// A server that should have said something and did not is not waited for until somebody loses patience.
#[test]
fn what_is_never_said_is_told() {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
    runtime.block_on(async {
        let mut session = Session::start(Kind { encoding: Encoding::Utf8, pulls: false }).await;
        session.write("a.barm", "brwe\n").await;
        let reports =
            json!({"items": [{"uri": session.client.uri("a.barm"), "version": null, "items": ["more"]}]});
        let why = session.await_published(&reports).await.unwrap_err();
        assert!(why.contains("a.barm") && why.contains("brwe") && why.contains("more"), "{why}");
        session.client.end().await.unwrap();
    });
}

macro_rules! storms {
    ($($name:ident: $seed:expr, $encoding:ident, $pulls:expr;)+) => {$(
        #[test]
        fn $name() {
            storm($seed, Kind { encoding: Encoding::$encoding, pulls: $pulls });
        }
    )+};
}

storms! {
    in_bytes_asked_for: 100, Utf8, true;
    in_bytes_told: 200, Utf8, false;
    in_utf_16_units_asked_for: 300, Utf16, true;
    in_utf_16_units_told: 400, Utf16, false;
    in_characters_asked_for: 500, Utf32, true;
    in_characters_told: 600, Utf32, false;
}
