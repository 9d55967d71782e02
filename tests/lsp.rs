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

use std::collections::BTreeSet;
use std::fs;
use std::io::Read as _;
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

/// What was begun is ended, also where the client takes its leave in the middle of it, and no percentage falls.
#[test]
fn progress_is_ended_before_the_last_answer() {
    for (logs, hears) in [(0, true), (1, true), (70, true), (700, true), (700, false)] {
        let folder = tempfile::tempdir().unwrap();
        for n in 0..logs {
            let text = format!("brew b{n}\n  wort 21 L at 1.048\n  on 2026-09-12 temp 18 °C\n");
            fs::write(folder.path().join(format!("{n}.barm")), text).unwrap();
        }
        let mut client = Client::start(folder.path(), &capabilities("pull progress"));
        while hears && !client.said.iter().any(|message| message["method"] == "$/progress") {
            client.receive().unwrap();
        }
        if let Some(token) = client.said.back().map(|message| message["params"]["token"].clone()) {
            client.notify("window/workDoneProgress/cancel", json!({"token": token}));
        }
        client.request("shutdown", Value::Null);
        let told = client.said.iter().filter(|message| message["method"] == "$/progress");
        let told: Vec<&Value> = told.map(|message| &message["params"]["value"]).collect();
        let kinds: Vec<&str> = told.iter().map(|value| value["kind"].as_str().unwrap()).collect();
        assert!(
            kinds.is_empty() && !hears || kinds.first() == Some(&"begin") && kinds.last() == Some(&"end"),
            "{told:?}"
        );
        assert_eq!(
            kinds.iter().filter(|kind| **kind != "report").count(),
            if kinds.is_empty() { 0 } else { 2 }
        );
        let percentages: Vec<u64> = told.iter().filter_map(|value| value["percentage"].as_u64()).collect();
        assert!(percentages.is_sorted() && percentages.iter().all(|share| *share <= 100), "{told:?}");
        client.notify("exit", Value::Null);
        assert!(client.receive().is_none(), "nothing comes after the answer to `shutdown`");
        assert_eq!(client.wait().code(), Some(0));
    }
}

/// Editors crash. The server ends when what it has to say finds no reader, whether its input is still open or not.
#[test]
fn it_ends_when_nobody_reads_its_answers() {
    let folder = tempfile::tempdir().unwrap();
    let uri = "file:///nowhere/a.barm";
    let mut messages = vec![
        json!({"id": 0, "method": "initialize", "params": {"capabilities": {}, "rootUri": format!("file://{}", folder.path().display())}}),
        json!({"method": "initialized", "params": {}}),
        json!({"method": "textDocument/didOpen", "params": {"textDocument":
            {"uri": uri, "languageId": "barm", "version": 1, "text": "brew a\n  wort 21 L at 1.048\n"}}}),
    ];
    messages.extend((1..40).map(|id| {
        let method = ["codeLens", "documentSymbol", "inlayHint"][id % 3];
        let range = json!({"start": {"line": 0, "character": 0}, "end": {"line": 9, "character": 0}});
        let params = json!({"textDocument": {"uri": uri}, "range": range});
        json!({"id": id, "method": format!("textDocument/{method}"), "params": params})
    }));
    for run in 0..50 {
        let mut server = std::process::Command::new(env!("CARGO_BIN_EXE_barm"))
            .arg("serve")
            .stdin(std::process::Stdio::piped())
            .stdout(std::process::Stdio::piped())
            .stderr(std::process::Stdio::piped())
            .spawn()
            .unwrap();
        let (mut input, mut output) = (server.stdin.take().unwrap(), server.stdout.take());
        for (at, message) in messages.iter().enumerate() {
            if at == 1 {
                output.as_mut().unwrap().read_exact(&mut [0; 20]).unwrap();
            }
            // The reader goes away somewhere on the way, before the last request: a server that has said all of it before
            // that would rightly wait for more.
            if at > run || at + 1 == messages.len() {
                output = None;
            }
            // The server may be gone by now.
            let _ = say(&mut input, message);
        }
        drop(output);
        let input = Some(input).filter(|_| run % 2 == 0);
        // A test that begins a server of its own holds all ends of this one until that server runs: what is said meanwhile
        // finds a reader. So whoever keeps the input open asks until nobody takes it.
        for id in 40.. {
            let asked = json!({"id": id, "method": "textDocument/codeLens", "params": {"textDocument": {"uri": uri}}});
            if input.as_ref().is_none_or(|mut input| say(&mut input, &asked).is_err()) {
                break;
            }
        }
        let ended = server.wait_with_output().unwrap();
        drop(input);
        let told = String::from_utf8(ended.stderr).unwrap();
        assert!(told.lines().all(|line| line.starts_with("barm: ")) && !told.contains("fault"), "{told}");
        assert_eq!(ended.status.code(), Some(1), "it was not told to shut down");
    }
}

/// Sends a message to a server, if it still takes one.
fn say(mut input: impl std::io::Write, message: &Value) -> std::io::Result<()> {
    let mut message = message.clone();
    message["jsonrpc"] = json!("2.0");
    let body = message.to_string();
    write!(input, "Content-Length: {}\r\n\r\n{body}", body.len())
}

#[test]
fn what_it_has_to_say_of_itself_goes_where_it_is_told_to() {
    let folder = tempfile::tempdir().unwrap();
    let log = folder.path().join("server.log");
    fs::write(&log, "what stood there\n").unwrap();
    let mut client =
        Client::start_with(folder.path(), &[""], &capabilities("push"), &["--log", log.to_str().unwrap()]);
    client.notify("textDocument/didChange", json!({"nonsense": true}));
    assert!(client.end().success());
    let told = fs::read_to_string(&log).unwrap();
    let wanted = [
        "what stood there",
        " serves a test; columns in utf-16",
        "textDocument/didChange was not understood",
    ];
    assert!(wanted.iter().all(|wanted| told.contains(wanted)), "{told}");
}

/// The editor says of every file what the command line says of it, also after edits.
#[test]
fn editor_and_check_agree() {
    let folder = tempfile::tempdir().unwrap();
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-logs"), &folder.path().join("demo"));
    let put = |path: &str, text: &str| {
        let path = folder.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    };
    put("barm.toml", "");
    put(
        "yeast.barm",
        "strain tide\n  kind ale\n  range 17..20 °C\nculture tide-a of tide\n  pack 2 × 100 B\n  made 2026-09-01\n",
    );
    put(
        "brews/oak.barm",
        "# 𝛼 astral\nbrew oak\n  wort 21 L at 1.048\n  hold 18 °C\n  readings \"oak.csv\"\n  readings \"lost.csv\"\n  on 2026-09-12\n    aerate oxygen 60 s at 1 L/min\n    14:20 pitch tide-a 1 pack\n    bottel 19 L\n",
    );
    put("brews/oak.csv", "time,temp/°C\n2026-09-12 15:00,19\n2026-09-13 15:00,27\n2026-09-14 15:00,27\n");
    put(
        "brews/elm.barm",
        "brew elm\n  wort 5 L of oak\n  on 2026-09-20 pitch tide-b\n  on 2026-09-21 harvest tide-c 200 mL\n",
    );
    fs::write(folder.path().join("brews/latin.barm"), b"brew latin \"caf\xe9\"\n  on 2026-09-01 clean\n")
        .unwrap();
    let mut client = Client::start(folder.path(), &capabilities("pull utf-32"));
    let root = client.root.clone();
    let compare = |client: &mut Client| {
        let (editor, check) = (said_by_editor(client), said_by_check(&root));
        assert!(check.len() > 20, "{check:#?}");
        let missing: Vec<_> = check.difference(&editor).collect();
        let more: Vec<_> = editor.difference(&check).collect();
        assert!(missing.is_empty() && more.is_empty(), "the editor lacks {missing:#?}\nand has {more:#?}");
    };
    compare(&mut client);
    // The first to use oxygen, and the readings, are others; then a strain is told otherwise; then a file is gone.
    for (path, old, new) in [
        ("brews/oak.barm", "aerate oxygen 60 s at 1 L/min", "aerate shake"),
        ("brews/oak.barm", "lost.csv", "oak.csv"),
        ("brews/elm.barm", "tide-b", "tide-a"),
        ("yeast.barm", "kind ale", "kind lager"),
        ("yeast.barm", "2 × 100 B", "9 × 100 B"),
        ("brews/elm.barm", "of oak", "at 1.040"),
    ] {
        let text = client.text(path);
        if !client.documents.contains_key(path) {
            client.open(path, &text);
        }
        let at = text.find(old).unwrap();
        client.change(path, &[(at..at + old.len(), new.to_owned())]);
        fs::write(root.join(path), client.text(path)).unwrap();
        compare(&mut client);
    }
    fs::write(root.join("brews/oak.csv"), "time,temp/°C\n2026-09-12 15:00,8\n2026-09-13 15:00,8\n").unwrap();
    client.watched("brews/oak.csv", 2);
    compare(&mut client);
    client.close("yeast.barm");
    fs::remove_file(root.join("yeast.barm")).unwrap();
    client.watched("yeast.barm", 3);
    fs::write(root.join("barm.toml"), "[levels]\nunderpitched = \"error\"\n").unwrap();
    client.watched("barm.toml", 2);
    compare(&mut client);
    // What git ignores is no part of the workspace, and settings of its own make a folder a workspace.
    put(".gitignore", "old/\n");
    put("old/old.barm", "brew old\n  on 2020-01-01 clean\n");
    put("guest/guest.barm", "brew guest\n  on 2020-01-01 clean\n");
    put("guest/barm.toml", "");
    for path in ["old/old.barm", "guest/guest.barm", "guest/barm.toml"] {
        client.watched(path, 1);
    }
    compare(&mut client);
    fs::remove_file(root.join("guest/barm.toml")).unwrap();
    client.watched("guest/barm.toml", 3);
    compare(&mut client);
    assert!(client.end().success());
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &to);
        } else {
            fs::copy(entry.path(), to).unwrap();
        }
    }
}

/// Whatever stands in the demo logs can be asked about: every word, number and sign of every line. Only what is free text says
/// nothing but itself: comments, and what follows `note`.
#[test]
fn every_word_of_the_demo_logs_is_told_of() {
    let folder = tempfile::tempdir().unwrap();
    copy(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-logs"), folder.path());
    let mut client = Client::start(folder.path(), &capabilities("push"));
    let (mut asked, mut untold) = (0, Vec::new());
    for path in logs_below(folder.path()) {
        let name = path.strip_prefix(folder.path()).unwrap().to_str().unwrap().replace('\\', "/");
        let text = fs::read_to_string(&path).unwrap();
        client.open(&name, &text);
        for (number, line) in text.lines().enumerate() {
            for (at, word) in words_of(line) {
                let middle = word.char_indices().nth(word.chars().count() / 2).unwrap().0;
                let column = line[..at + middle].encode_utf16().count();
                let params = json!({"textDocument": {"uri": client.uri(&name)}, "position": {"line": number, "character": column}});
                asked += 1;
                let told = client.request("textDocument/hover", params);
                if told["result"]["contents"]["value"].as_str().is_none_or(str::is_empty) {
                    untold.push(format!("{name}:{}: {word} in {}", number + 1, line.trim()));
                }
            }
        }
    }
    assert!(asked > 3000, "{asked}");
    assert!(untold.is_empty(), "{} of {asked} words are not told of:\n{}", untold.len(), untold.join("\n"));
    assert!(client.end().success());
}

fn logs_below(folder: &Path) -> Vec<PathBuf> {
    let mut out = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            out.extend(logs_below(&path));
        } else if path.extension().is_some_and(|ending| ending == "barm") {
            out.push(path);
        }
    }
    out.sort();
    out
}

/// The words of a line that are no free text, and where they begin.
fn words_of(line: &str) -> Vec<(usize, &str)> {
    let comment =
        line.match_indices('#').map(|(at, _)| at).find(|at| line[..*at].trim_end().len() < *at || *at == 0);
    let read = &line[..comment.unwrap_or(line.len())];
    let read = read.find("note ").map_or(read, |note| &read[..note + 4]);
    let mut out = Vec::new();
    let mut at = 0;
    for word in read.split([' ', ',']) {
        if !word.is_empty() {
            out.push((at, word));
        }
        at += word.len() + 1;
    }
    out
}

/// Where a finding lies, its rule and level, and what it says.
type Said = (String, [u64; 4], String, String, String);

fn said_by_editor(client: &mut Client) -> BTreeSet<Said> {
    let report = client.request("workspace/diagnostic", json!({"previousResultIds": []}));
    let mut out = BTreeSet::new();
    for file in report["result"]["items"].as_array().unwrap() {
        let path = client.path(file["uri"].as_str().unwrap());
        for found in file["items"].as_array().unwrap() {
            let level = ["", "error", "warning", "note"]
                [usize::try_from(found["severity"].as_u64().unwrap()).unwrap()];
            let at = |end: &str, what: &str| found["range"][end][what].as_u64().unwrap() + 1;
            let range =
                [at("start", "line"), at("start", "character"), at("end", "line"), at("end", "character")];
            let text = |value: &Value| value.as_str().unwrap().to_owned();
            out.insert((
                path.clone(),
                range,
                text(&found["code"]),
                level.to_owned(),
                text(&found["message"]),
            ));
        }
    }
    out
}

fn said_by_check(root: &Path) -> BTreeSet<Said> {
    let ran = std::process::Command::new(env!("CARGO_BIN_EXE_barm"))
        .args(["check", "--format", "json", "."])
        .current_dir(root)
        .output()
        .unwrap();
    let report: Value = serde_json::from_slice(&ran.stdout).unwrap();
    let finding = |found: &Value| -> Said {
        let text = |value: &Value| value.as_str().unwrap().to_owned();
        let number = |what: &str| found[what].as_u64().unwrap();
        let range = [number("line"), number("column"), number("end_line"), number("end_column")];
        let mut message = text(&found["message"]);
        for note in found["notes"].as_array().unwrap() {
            message.push_str(&format!("\n• {}", note.as_str().unwrap()));
        }
        (text(&found["file"]), range, text(&found["rule"]), text(&found["severity"]), message)
    };
    report["findings"].as_array().unwrap().iter().map(finding).collect()
}

/// Edits, requests, cancellations and what is no message in one stream: exactly one answer each, no edit lost, and after `shutdown` no answer
/// but refusals.
#[test]
fn each_request_has_one_answer() {
    for (seed, encoding) in ["utf-8", "utf-16", "utf-32"].into_iter().enumerate() {
        one_answer_each(fastrand::Rng::with_seed(seed as u64), encoding);
    }
}

/// So many edits in each encoding.
const EDITS: usize = 5_000;

fn one_answer_each(mut random: fastrand::Rng, encoding: &str) {
    let folder = tempfile::tempdir().unwrap();
    let mut client = Client::start(folder.path(), &capabilities(encoding));
    assert_eq!(client.encoding, encoding);
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
        "diagnostic",
    ];
    let params = |random: &mut fastrand::Rng| {
        let position = json!({"line": random.u32(0..8), "character": random.u32(0..30)});
        let range = json!({"start": {"line": 0, "character": 0}, "end": position});
        let context = json!({"diagnostics": [], "triggerKind": 1});
        json!({"textDocument": {"uri": uri}, "position": position, "range": range, "context": context})
    };
    // What was asked, and whether it was taken back.
    let mut asked = std::collections::BTreeMap::new();
    let (mut edits, mut strays) = (0, 0_usize);
    while edits < EDITS {
        let mut text = client.documents["a.barm"].text.clone();
        let mut changes = Vec::new();
        for _ in 0..random.usize(1..4) {
            let place = |at: usize| (0..=at).rev().find(|at| text.is_char_boundary(*at)).unwrap();
            let start = place(random.usize(0..=text.len()));
            let end = place((start + random.usize(0..4)).min(text.len())).max(start);
            let new = ["\n", "𝛼", "brew x\n", " ", "21 L", "?", ""][random.usize(0..7)];
            let new = if text.len() > 2_000 { "" } else { new };
            text.replace_range(start..end, new);
            changes.push((start..end, new.to_owned()));
        }
        edits += changes.len();
        client.change("a.barm", &changes);
        if random.u32(0..20) == 0 {
            strays += 1;
            client.send_bodies(&[
                ["{not json", "[]", r#"{"jsonrpc":"1.0"}"#, "\u{0}"][random.usize(0..4)].to_owned()
            ]);
        }
        if random.bool() {
            let method = methods[random.usize(0..methods.len())];
            let id = client.ask(&format!("textDocument/{method}"), params(&mut random));
            let taken_back = random.bool();
            asked.insert(id, taken_back);
            if taken_back {
                client.notify("$/cancelRequest", json!({"id": id}));
            }
        }
    }
    let text = client.ask("barm/text", json!({"uri": uri}));
    asked.insert(text, false);
    let mut answered = std::collections::BTreeMap::new();
    assert!(strays > 10, "hardly anything that is no message: {strays}");
    while answered.len() < asked.len() || strays > 0 {
        let message = client.receive().expect("every request is answered");
        if message.get("method").is_none() && message["id"].is_null() {
            assert!(message["error"]["code"].is_i64(), "{message}");
            strays = strays.checked_sub(1).expect("one answer to each");
        } else if message.get("method").is_none() {
            let id = message["id"].as_i64().expect("an answer has its request's id");
            let taken_back = *asked.get(&id).unwrap_or_else(|| panic!("nobody asked {message}"));
            let error = &message["error"]["code"];
            assert!(error.is_null() || (taken_back && *error == -32800), "{message}");
            assert!(answered.insert(id, message).is_none(), "{id} was answered twice");
        }
    }
    assert_eq!(
        answered[&text]["result"], client.documents["a.barm"].text,
        "the server has the client's text"
    );
    let last = client.documents["a.barm"].version;
    assert!(client.request("shutdown", Value::Null).get("error").is_none());
    client.change("a.barm", &[(0..0, "x".to_owned())]);
    let mut late: Vec<i64> = methods
        .iter()
        .map(|method| client.ask(&format!("textDocument/{method}"), params(&mut random)))
        .collect();
    client.notify("exit", Value::Null);
    while let Some(message) = client.receive() {
        if message.get("method").is_some() {
            // What was under way when it was told to end.
            let version = message["params"]["version"].as_i64();
            assert!(version.is_some_and(|version| version <= last), "after shutdown: {message}");
            continue;
        }
        assert_eq!(message["error"]["code"], -32600, "{message}");
        let at = late.iter().position(|id| message["id"] == *id);
        late.remove(at.unwrap_or_else(|| panic!("nobody asked, or it was answered before: {message}")));
    }
    assert!(late.is_empty(), "not answered: {late:?}");
    assert_eq!(client.wait().code(), Some(0));
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
            client = Some(begin(folder.path(), rest));
            continue;
        }
        let client = client.get_or_insert_with(|| begin(folder.path(), "push"));
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

/// A client that can do so much, in the folders that it names, or in the one of the conversation.
fn begin(root: &Path, words: &str) -> Client {
    let folders: Vec<&str> = words.split_whitespace().filter_map(|word| word.strip_prefix("in:")).collect();
    let folders = match folders.as_slice() {
        [] => vec![""],
        ["nowhere"] => Vec::new(),
        folders => folders.to_vec(),
    };
    let able: Vec<&str> = words.split_whitespace().filter(|word| !word.starts_with("in:")).collect();
    Client::start_in(root, &folders, &capabilities(&able.join(" ")))
}

/// What a client can do, in a few words.
fn capabilities(words: &str) -> Value {
    let every_symbol = json!({"valueSet": (1..=26).collect::<Vec<u8>>()});
    let mut out = json!({
        "general": {"positionEncodings": ["utf-16"]},
        "textDocument": {
            "hover": {"contentFormat": ["markdown", "plaintext"]},
            "publishDiagnostics": {"relatedInformation": true, "tagSupport": {"valueSet": [1, 2]}},
            "documentSymbol": {"hierarchicalDocumentSymbolSupport": true, "symbolKind": every_symbol},
            "codeAction": {
                "codeActionLiteralSupport": {"codeActionKind": {"valueSet": ["quickfix"]}},
                "isPreferredSupport": true,
            },
            "rename": {"prepareSupport": true},
        },
        "workspace": {
            "workspaceEdit": {"documentChanges": true},
            "symbol": {"symbolKind": every_symbol},
        },
    });
    for word in words.split_whitespace() {
        match word {
            "pull" => out["textDocument"]["diagnostic"] = json!({}),
            "snippets" => {
                out["textDocument"]["completion"] = json!({"completionItem": {"snippetSupport": true}})
            }
            "old" => out = json!({}),
            "refresh" => {
                for kind in ["diagnostics", "inlayHint", "codeLens"] {
                    out["workspace"][kind] = json!({"refreshSupport": true});
                }
            }
            "progress" => out["window"] = json!({"workDoneProgress": true}),
            "watch" => {
                out["workspace"]["didChangeWatchedFiles"] = json!({"dynamicRegistration": true});
                out["workspace"]["didChangeConfiguration"] = json!({"dynamicRegistration": true});
            }
            "configuration" => out["workspace"]["configuration"] = json!(true),
            "plain-text" => out["textDocument"]["hover"] = json!({"contentFormat": ["plaintext"]}),
            "plain-edits" => out["workspace"]["workspaceEdit"] = json!({}),
            "push" => {}
            encoding => out["general"]["positionEncodings"] = json!([encoding]),
        }
    }
    out
}

/// What an answer says, or what was wrong.
fn told(answer: &Value) -> Result<Value, String> {
    match answer.get("error") {
        Some(error) => Err(format!("error {}: {}", error["code"], error["message"].as_str().unwrap_or(""))),
        None => Ok(answer["result"].clone()),
    }
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
        let quoted = quoted.replace("\\n", "\n");
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
        told(&self.client.request(method, params))
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
            "move" => self.rename_file(&path),
            "move-in-editor" => {
                let new = self.file().1.to_owned();
                fs::rename(self.client.root.join(&path), self.client.root.join(&new)).unwrap();
                let files = json!([{"oldUri": self.client.uri(&path), "newUri": self.client.uri(&new)}]);
                self.client.notify("workspace/didRenameFiles", json!({"files": files}));
                String::new()
            }
            "delete-in-editor" => {
                fs::remove_dir_all(self.client.root.join(&path)).unwrap();
                let files = json!([{"uri": self.client.uri(&path)}]);
                self.client.notify("workspace/didDeleteFiles", json!({"files": files}));
                String::new()
            }
            "enter" | "leave" => {
                let folder = json!([{"uri": self.client.uri(&path), "name": path}]);
                let (added, removed) =
                    if word == "enter" { (folder, json!([])) } else { (json!([]), folder) };
                let event = json!({"event": {"added": added, "removed": removed}});
                self.client.notify("workspace/didChangeWorkspaceFolders", event);
                String::new()
            }
            "settings" => {
                self.client.settings = serde_json::from_str(self.rest).unwrap();
                // Who is asked for them sends none along.
                let told = if self.client.asked_for_settings {
                    Value::Null
                } else {
                    json!({"barm": self.client.settings})
                };
                self.client.notify("workspace/didChangeConfiguration", json!({"settings": told}));
                String::new()
            }
            "raw" => {
                let message: Value = serde_json::from_str(
                    &self.rest.replace("{root}", self.client.uri("").trim_end_matches('/')),
                )
                .unwrap();
                self.client.send(&message);
                match message.get("id") {
                    Some(id) => told(&self.client.answer(id)).map_or_else(|error| error, |it| it.to_string()),
                    None => String::new(),
                }
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

    /// `move FILE FILE`
    fn rename_file(&mut self, path: &str) -> String {
        let new = self.file().1.to_owned();
        fs::rename(self.client.root.join(path), self.client.root.join(&new)).unwrap();
        self.client.watched(path, 3);
        self.client.watched(&new, 1);
        String::new()
    }

    /// The range of a quoted stretch.
    fn range(&self) -> Value {
        let (path, rest) = self.file();
        let text = self.client.text(path);
        let quoted: String = serde_json::from_str(rest).unwrap();
        let start = text.find(&quoted).unwrap_or_else(|| panic!("{quoted} is not in {path}:\n{text}"));
        let at = |offset| client::position(&text, offset, &self.client.encoding);
        json!({"start": at(start), "end": at(start + quoted.len())})
    }

    /// What is new since the tokens were told last, put into what was told.
    fn tokens_since(&mut self, path: &str) -> Result<String, String> {
        let (id, mut data) = self.client.tokens.get(path).cloned().expect("tokens were asked for before");
        let mut params = self.document();
        params["previousResultId"] = json!(id);
        let answer = self.ask("textDocument/semanticTokens/full/delta", params)?;
        let numbers = |value: &Value| -> Vec<u64> {
            value.as_array().unwrap().iter().map(|n| n.as_u64().unwrap()).collect()
        };
        let how = match answer["edits"].as_array() {
            None => {
                data = numbers(&answer["data"]);
                "all anew".to_owned()
            }
            Some(edits) => {
                for edit in edits.iter().rev() {
                    let number = |name: &str| usize::try_from(edit[name].as_u64().unwrap()).unwrap();
                    let start = number("start");
                    data.splice(start..start + number("deleteCount"), numbers(&edit["data"]));
                }
                let count = |edit: &Value| {
                    format!(
                        "{} for {}",
                        edit["data"].as_array().unwrap().len() / 5,
                        edit["deleteCount"].as_u64().unwrap() / 5
                    )
                };
                edits.iter().map(count).collect::<Vec<_>>().join(", ")
            }
        };
        self.client
            .tokens
            .insert(path.to_owned(), (answer["resultId"].as_str().unwrap().to_owned(), data.clone()));
        Ok(format!("{how}\n{}", picture::tokens(self.client, path, &json!(data))))
    }

    fn question(&mut self, word: &str, path: &str) -> Result<String, String> {
        Ok(match word {
            "hover" => {
                let answer = self.ask("textDocument/hover", self.at())?;
                picture::hover(self.client, path, &answer)
            }
            "taken-back" => {
                // Which of the two comes first is not told: there is one answer, and it is what was asked or says that it was
                // taken back. A second would be found where the next answer is awaited.
                let params = self.at();
                let answer = self.client.taken_back("textDocument/hover", params);
                let again = self.ask("textDocument/hover", self.at())?;
                assert!(answer["error"]["code"] == -32800 || answer["result"] == again, "{answer}");
                "one answer\n".to_owned()
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
                let data = answer["data"].as_array().unwrap().iter().map(|n| n.as_u64().unwrap()).collect();
                let id = answer["resultId"].as_str().unwrap().to_owned();
                self.client.tokens.insert(path.to_owned(), (id, data));
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
            "ended" => {
                let mut params = self.at();
                params["ch"] = json!("\n");
                params["options"] = json!({"tabSize": 2, "insertSpaces": true});
                let answer = self.ask("textDocument/onTypeFormatting", params)?;
                let uri = self.client.uri(path);
                picture::applied(self.client, &json!({"changes": {uri: answer}}))
            }
            "format-part" => {
                let mut params = self.document();
                params["range"] = self.range();
                params["options"] = json!({"tabSize": 2, "insertSpaces": true});
                let answer = self.ask("textDocument/rangeFormatting", params)?;
                let uri = self.client.uri(path);
                picture::applied(self.client, &json!({"changes": {uri: answer}}))
            }
            "tokens-part" => {
                let mut params = self.document();
                params["range"] = self.range();
                let answer = self.ask("textDocument/semanticTokens/range", params)?;
                picture::tokens(self.client, path, &answer["data"])
            }
            "tokens-since" => self.tokens_since(path)?,
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
                let known = std::mem::take(&mut self.client.results);
                let known: Vec<Value> =
                    known.into_iter().map(|(uri, value)| json!({"uri": uri, "value": value})).collect();
                let answer = self.ask("workspace/diagnostic", json!({"previousResultIds": known}))?;
                let mut told = String::new();
                for report in answer["items"].as_array().unwrap() {
                    let uri = report["uri"].as_str().unwrap().to_owned();
                    let path = self.client.path(&uri);
                    if report["kind"] == "unchanged" {
                        told.push_str(&format!("{path}: as before\n"));
                    } else {
                        told.push_str(&picture::diagnostics(self.client, &path, &report["items"]));
                    }
                    if let Some(id) = report["resultId"].as_str() {
                        self.client.results.push((uri, id.to_owned()));
                    }
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
